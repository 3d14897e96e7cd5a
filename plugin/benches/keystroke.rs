//! What one character costs: the frame in which it is typed into a chart, from the
//! input event through layout to tessellation, the slowest frame until everything
//! around it is up to date again, and the time until the new chart is planned in the
//! texture in use and could play. Goals: 2 ms for 99 of 100 frames, and 50 ms for the plan of 1,000
//! chords. Words on the command line choose the sizes that hold one of them.

use guidehand::{Keystroke, Typing};
use std::time::Duration;

/// The sizes of the charts, in chords.
const SIZES: [usize; 3] = [32, 1_000, 10_000];
/// Keystrokes of which the frames are measured, for each place.
const STROKES: usize = 220;
/// Keystrokes of which the plan is waited for, for each place.
const PLANS: usize = 11;

/// What is typed, and taken away again: letters of a symbol with a slip, the bar line after
/// it.
const TYPED: [Keystroke; 22] = {
    use Keystroke::{Backspace, Letter};
    [
        Letter(" "),
        Letter("G"),
        Letter("m"),
        Letter("a"),
        Letter("j"),
        Letter("7"),
        Letter("x"),
        Backspace,
        Letter(" "),
        Letter("|"),
        Letter(" "),
        Letter("C"),
        Backspace,
        Backspace,
        Backspace,
        Backspace,
        Backspace,
        Backspace,
        Backspace,
        Backspace,
        Backspace,
        Backspace,
    ]
};

fn main() {
    // Cargo hands `--bench` on to every benchmark.
    let words: Vec<String> = std::env::args()
        .skip(1)
        .filter(|word| !word.starts_with("--"))
        .collect();
    println!(
        "                     the frame of a keystroke       slowest after it       plan to be there"
    );
    println!(
        "chords  at           median      99 %   longest      99 %   longest      median   longest"
    );
    for chords in SIZES {
        let name = chords.to_string();
        if words.is_empty() || words.iter().any(|word| name.contains(word.as_str())) {
            size(chords);
        }
    }
}

/// Types into a chart of one size, at its start, in the middle and at its end.
fn size(chords: usize) {
    let mut all = Times::default();
    for (place, part) in [("start", 0.0), ("middle", 0.5), ("end", 1.0)] {
        let mut typing = Typing::new(chords);
        typing.go_to(part);
        let mut times = Times::default();
        // Fonts and layouts that stay are made by the first strokes.
        for stroke in TYPED {
            typing.press(stroke);
            typing.settle();
        }
        for stroke in TYPED.iter().cycle().take(STROKES) {
            times.frames.push(typing.press(*stroke));
            times.after.push(typing.settle());
        }
        for stroke in TYPED.iter().cycle().take(PLANS) {
            times.plans.extend(typing.press_and_plan(*stroke));
            typing.settle();
        }
        println!("{chords:<7} {place:<7} {times}");
        all.frames.append(&mut times.frames);
        all.after.append(&mut times.after);
        all.plans.append(&mut times.plans);
    }
    println!("{chords:<7} all     {all}");
}

#[derive(Default)]
struct Times {
    /// The frames in which a character was typed.
    frames: Vec<Duration>,
    /// The slowest frame after each, until the panel was up to date.
    after: Vec<Duration>,
    /// From each keystroke to its plan, where the text could be read.
    plans: Vec<Duration>,
}

impl std::fmt::Display for Times {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let part = |times: &[Duration], hundredths: usize| {
            let mut sorted = times.to_vec();
            sorted.sort_unstable();
            let at = (sorted.len() * hundredths / 100).min(sorted.len().saturating_sub(1));
            sorted.get(at).copied().unwrap_or_default()
        };
        let [median, most, longest] = [50, 99, 100].map(|h| part(&self.frames, h));
        write!(f, "{median:>11.2?} {most:>9.2?} {longest:>9.2?}")?;
        let [most, longest] = [99, 100].map(|h| part(&self.after, h));
        write!(f, " {most:>9.2?} {longest:>9.2?}")?;
        let [median, longest] = [50, 100].map(|h| part(&self.plans, h));
        write!(f, "   {median:>9.2?} {longest:>9.2?}")
    }
}
