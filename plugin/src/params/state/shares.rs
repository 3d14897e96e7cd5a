//! Rewrites charts from the time when chords without marks shared their bar evenly, so that they
//! sound as they did. The host's main thread runs it. Imports the theory, and nothing of the
//! crate; only `migrations` imports it.

use guidehand_theory::chart::{self, Written};
use guidehand_theory::pitch::NoteNames;

/// A chart in which chords without marks share their bar evenly, in the notation of
/// today: bars that are shared by beats now get their slashes, or where beats do not
/// come out even the word `even`. Everything else stays as it was typed, errors too.
///
/// A text that would grow longer than a chart can be stays as it is.
pub fn written_out(text: &str) -> String {
    let mut out = text.to_owned();
    // Songs of that time name their notes in English.
    for bar in chart::written(text, NoteNames::English).iter().rev() {
        put_marks(&mut out, bar);
    }
    let grown = out.len() > chart::LONGEST_TEXT && text.len() <= chart::LONGEST_TEXT;
    if grown { text.to_owned() } else { out }
}

/// Marks one bar of a text.
fn put_marks(text: &mut String, bar: &Written) {
    let Ok(count) = u32::try_from(bar.shares.len()) else {
        return;
    };
    let even: Vec<u32> = bar.meter.even_shares(count).collect();
    let now = bar.shares.iter().map(|share| share.at_ticks);
    let mut words = bar.shares.iter().map(|s| text.get(s.source.clone()));
    let by_beats = words.any(|word| matches!(word, Some("/" | ".")));
    if by_beats || bar.pickup || now.eq(even.iter().copied()) {
        return;
    }
    let beat = bar.meter.beat_ticks();
    if even.iter().all(|at| at % beat == 0) {
        let beats_each = bar.meter.bar_ticks() / beat / count.max(1);
        let slashes = " /".repeat(usize::try_from(beats_each).unwrap_or(1).saturating_sub(1));
        for share in bar.shares.iter().rev() {
            if text.is_char_boundary(share.source.end) {
                text.insert_str(share.source.end, &slashes);
            }
        }
    } else if let Some(first) = bar.shares.first()
        && text.is_char_boundary(first.source.start)
    {
        text.insert_str(first.source.start, "even ");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Where the chords of a bar that is shared evenly begin, by arithmetic alone.
    fn evenly(bar_ticks: u32, count: u32) -> Vec<u32> {
        (0..count).map(|nth| bar_ticks * nth / count).collect()
    }

    #[test]
    fn only_bars_that_would_sound_otherwise_are_marked() {
        for (before, after) in [
            ("| Dm7 G7 Cmaj7 | F6 |", "| even Dm7 G7 Cmaj7 | F6 |"),
            ("|Dm7 G7|Cmaj7 A7 D7 G7|", "|Dm7 G7|Cmaj7 A7 D7 G7|"),
            (
                "3/4 | Dm7 G7 | C6 F6 C6 |",
                "3/4 | even Dm7 G7 | C6 F6 C6 |",
            ),
            ("5/4 C6 F6 |: G7 :|", "5/4 even C6 F6 |: G7 :|"),
            (
                "12/8 C6 F6  G7 | C6 F6",
                "12/8 C6 / / / F6 / / /  G7 / / / | C6 F6",
            ),
            ("9/8 [A] C6 F6 |", "9/8 [A] even C6 F6 |"),
            ("2/2 | C6 F6 G7 |", "2/2 | even C6 F6 G7 |"),
            ("| C6 F6 / G7 | % | N.C. |", "| C6 F6 / G7 | % | N.C. |"),
            (
                "| C6 F6 N.C. | q F6 G7 |",
                "| even C6 F6 N.C. | even q F6 G7 |",
            ),
            ("[A] C6 | [1 C♭6 F6 G7 :|", "[A] C6 | [1 even C♭6 F6 G7 :|"),
            ("", ""),
        ] {
            assert_eq!(written_out(before), after);
            assert_eq!(written_out(after), after, "once is enough");
        }
    }

    /// Every meter and every number of chords: they begin where they began.
    #[test]
    fn every_bar_sounds_as_it_did() {
        for unit in [2_u32, 4, 8, 16] {
            for beats in 1..=16_u32 {
                for count in 1..=16_u32 {
                    let chords = vec!["C6"; usize::try_from(count).unwrap()].join(" ");
                    let text = written_out(&format!("{beats}/{unit} | {chords} |"));
                    let chart = chart::parse(&text).unwrap_or_else(|e| panic!("{text}: {e:?}"));
                    let starts: Vec<u32> = chart.changes.iter().map(|c| c.start_ticks).collect();
                    let bar_ticks = 3840 / unit * beats;
                    assert_eq!(starts, evenly(bar_ticks, count), "{text}");
                    assert_eq!(chart.length_ticks(), bar_ticks, "{text}");
                }
            }
        }
    }

    #[test]
    fn a_chart_that_would_be_too_long_stays() {
        let bar = "C6 F6 G7|";
        let long = bar.repeat(chart::LONGEST_TEXT / bar.len());
        assert_eq!(written_out(&long), long);
        assert_ne!(written_out(bar), bar);
    }
}
