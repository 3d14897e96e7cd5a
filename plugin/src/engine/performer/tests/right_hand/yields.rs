//! Chords that yield to the right hand.

use super::*;
use guidehand_theory::degree::Degree;
use guidehand_theory::key::{Key, Mode};
use guidehand_theory::pitch::PitchClass;
use guidehand_theory::tension::{Outcome, ThirteenthRequest};
use guidehand_theory::{pin, pipeline};

const MINOR: &str = "| Dm7b5 | G7 | Cm6 |";
/// Where the second bar begins.
const SECOND: u32 = 4 * BEAT;

/// What the second chord holds, with these steps.
fn second(settings: Settings, song: &PlannedChart, steps: &[(u32, Step)]) -> Vec<u8> {
    play_steps(settings, Some(song), steps, SECOND + BEAT, &[4096]).starts_at(SECOND)
}

/// G7 to C minor has b9 and b13. Under A it has the 9, and under E the 13.
#[test]
fn a_tension_yields_to_a_held_note() {
    let song = chart_of(MINOR);
    let (off, on) = (charted(), yielding(charted(), Yielding::Tensions));
    for (melody, degree, other) in [(81, 8, 9), (76, 3, 4)] {
        let steps = [(SECOND - 100, Step::On(melody))];
        let as_planned = second(off, &song, &steps);
        assert!(classes(&as_planned).contains(&degree), "{as_planned:?}");
        assert_eq!(second(on, &song, &[]), as_planned, "without a melody");
        let yields = second(on, &song, &steps);
        assert!(!classes(&yields).contains(&degree), "{melody}: {yields:?}");
        assert!(classes(&yields).contains(&other), "{melody}: {yields:?}");
    }
}

/// A note that is struck at the very sample of the chord counts, also where the song starts.
#[test]
fn a_note_at_the_sample_of_the_chord_counts() {
    let song = chart_of(MINOR);
    let settings = yielding(charted(), Yielding::Tensions);
    let steps = [(SECOND, Step::On(81))];
    assert!(!classes(&second(settings, &song, &steps)).contains(&8));
    let song = chart_of("| G7b9 | Cm6 |");
    let steps = [(0, Step::On(81))];
    for size in [1, 64, 4096] {
        let frames = size.max(64);
        let played = play_steps(settings, Some(&song), &steps, frames, &[size]);
        let chord = classes(&played.starts_at(0));
        assert!(!chord.contains(&8), "{size}: {chord:?}");
        assert!(chord.contains(&11) && chord.contains(&5), "{chord:?}");
    }
}

/// What was struck within the last quarter note counts, though it has ended; what was struck before
/// does not, unless it is held.
#[test]
fn a_note_counts_for_a_beat_after_it_was_struck() {
    let song = chart_of(MINOR);
    let settings = yielding(charted(), Yielding::Tensions);
    let flat_nine = |at: u32, until: u32| {
        let steps = [(at, Step::On(81)), (until, Step::Off(81))];
        classes(&second(settings, &song, &steps)).contains(&8)
    };
    assert!(!flat_nine(SECOND - BEAT + 1, SECOND - BEAT + 50));
    assert!(flat_nine(SECOND - BEAT, SECOND - BEAT + 50));
    assert!(!flat_nine(SECOND - 2 * BEAT, SECOND + 50));
    assert!(flat_nine(SECOND - 2 * BEAT, SECOND - 50));
}

/// The third yields to a fourth that is held, and not to one that has passed.
#[test]
fn a_third_yields_to_a_held_note_alone() {
    let song = chart_of("| Dm7 | G7 | Cmaj7 |");
    let settings = yielding(charted(), Yielding::Tensions);
    let chord = |until: u32| {
        let steps = [(SECOND - 5000, Step::On(84)), (until, Step::Off(84))];
        classes(&second(settings, &song, &steps))
    };
    let (held, passed) = (chord(SECOND + 50), chord(SECOND - 50));
    assert!(held.contains(&0) && !held.contains(&11), "{held:?}");
    assert!(passed.contains(&11) && !passed.contains(&0), "{passed:?}");
}

/// Keys below the split are no melody, wherever the split was when they went down.
#[test]
fn only_the_right_hand_is_heard() {
    let song = chart_of(MINOR);
    let settings = yielding(charted(), Yielding::Tensions);
    let mut high = settings;
    high.split = 90;
    let below = [(SECOND - 100, Step::On(81))];
    assert!(classes(&second(high, &song, &below)).contains(&8));
    let moved = [(SECOND - 100, Step::On(81)), (SECOND - 50, Step::Set(high))];
    assert!(classes(&second(settings, &song, &moved)).contains(&8));
    let moved = [
        (SECOND - 100, Step::On(81)),
        (SECOND - 50, Step::Set(settings)),
    ];
    assert!(!classes(&second(high, &song, &moved)).contains(&8));
}

/// A root that is played makes a chord that agrees.
#[test]
fn a_played_root_agrees() {
    let minor = Key::usual(PitchClass::wrapping(0), Mode::Minor);
    let chord = |to, melody: Option<u8>| {
        let mut settings = yielding(Settings::plain(Source::Roots), to);
        settings.key = minor;
        let melody = melody.map(|key| (40, Step::On(key)));
        let steps: Vec<_> = melody.into_iter().chain([(50, Step::On(43))]).collect();
        let played = play_steps(settings, None, &steps, 512, &[64]);
        classes(&played.starts_at(50))
    };
    assert!(chord(Yielding::Off, Some(81)).contains(&8));
    assert!(chord(Yielding::Tensions, None).contains(&8));
    assert!(!chord(Yielding::Tensions, Some(81)).contains(&8));
}

/// In a rhythm each strike agrees with what the right hand plays then. A chord never changes while it
/// sounds.
#[test]
fn each_strike_agrees_and_nothing_moves_in_between() {
    let song = chart_of("| G7b9 | G7b9 | Cm6 |");
    let settings = in_rhythm(yielding(charted(), Yielding::Tensions), Rhythm::TwoAndFour);
    let steps = [(BEAT + 500, Step::On(81)), (BEAT + 900, Step::Off(81))];
    let played = play_steps(settings, Some(&song), &steps, 4 * BEAT, &[777]);
    assert_eq!(played.strikes(), [BEAT, 3 * BEAT]);
    let (first, second) = (played.starts_at(BEAT), played.starts_at(3 * BEAT));
    assert!(classes(&first).contains(&8));
    // The note is over, and was struck more than a beat ago.
    assert_eq!(first, second);
    let steps = [(BEAT + 500, Step::On(81))];
    let played = play_steps(settings, Some(&song), &steps, 8 * BEAT, &[777]);
    assert_eq!(played.strikes(), [BEAT, 3 * BEAT, 5 * BEAT, 7 * BEAT]);
    assert!(!classes(&played.starts_at(3 * BEAT)).contains(&8));
}

/// A melody that has spoken against a chord while it sounded moves that one note at the next strike, and
/// there it stays until the chord changes.
#[test]
fn one_note_is_moved_at_the_next_strike() {
    let song = chart_of("| G7b9 | Cm6 |");
    let mut settings = in_rhythm(
        yielding(charted(), Yielding::Tensions),
        Rhythm::FourToTheBar,
    );
    let steps = [(500, Step::On(81)), (900, Step::Off(81))];
    let chords = |settings| {
        let played = play_steps(settings, Some(&song), &steps, 8 * BEAT, &[500]);
        let beats = (0..8).map(|beat| beat * BEAT);
        let chords: Vec<_> = beats.map(|at| played.starts_at(at)).collect();
        (chords, played)
    };
    settings.groove.rhythm = Rhythm::TwoBeat;
    let steps_of = |settings| chords(settings).0;
    let fresh = steps_of(settings);
    settings.right_hand.revoices = true;
    let kept = steps_of(settings);
    assert!(classes(&fresh[0]).contains(&8), "{fresh:?}");
    assert_eq!(fresh[0], fresh[2], "the note was over for more than a beat");
    assert_eq!(kept[0], fresh[0]);
    let moved: Vec<_> = kept[2]
        .iter()
        .filter(|key| !kept[0].contains(key))
        .collect();
    assert_eq!(moved.len(), 1, "{kept:?}");
    assert!(!classes(&kept[2]).contains(&8), "{kept:?}");
    assert_eq!(kept[2].len(), kept[0].len());
    assert_eq!(kept[4], fresh[4], "another chord");
    // Nothing happened while the first chord sounded.
    let (_, played) = chords(settings);
    let between = |time: u32| time > 0 && time < 2 * BEAT - 1;
    assert!(starts(&played.events).iter().all(|(at, _)| !between(*at)));
}

/// A chord that is struck again keeps its moved note; after a jump it is the planned one.
#[test]
fn a_moved_note_stays_until_the_chord_changes_or_time_jumps() {
    let song = chart_of("| G7b9 | G7b9 | Cm6 |");
    let mut settings = in_rhythm(
        yielding(charted(), Yielding::Tensions),
        Rhythm::FourToTheBar,
    );
    settings.right_hand.revoices = true;
    let steps = [
        (500, Step::On(81)),
        (900, Step::Off(81)),
        (4 * BEAT - 1000, Step::Play(0.0)),
    ];
    let played = play_steps(settings, Some(&song), &steps, 5 * BEAT, &[500]);
    let first = played.starts_at(0);
    let [second, third, fourth] = [1, 2, 3].map(|beat| played.starts_at(beat * BEAT));
    assert_ne!(first, second);
    assert_eq!((&second, &second), (&third, &fourth));
    assert_eq!(played.starts_at(4 * BEAT - 1000), first);
}

/// The top of the chord stays below the melody, where the register has room.
#[test]
fn a_chord_stays_below_the_melody() {
    let song = chart_of("| Dm7 | Gm7 |");
    let settings = Settings {
        split: 55,
        ..charted()
    };
    let planned = second(settings, &song, &[]);
    let top = *planned.last().unwrap();
    let steps = [(SECOND - 100, Step::On(top))];
    let chord = |to| second(yielding(settings, to), &song, &steps);
    // The top is joined, for a finger is on it.
    assert_eq!(chord(Yielding::Tensions), planned[..planned.len() - 1]);
    let lower = chord(Yielding::TensionsAndRegister);
    assert_eq!(lower.len(), planned.len());
    assert!(lower.iter().all(|key| *key < top), "{lower:?} below {top}");
}

/// What is pinned sounds as it is.
#[test]
fn a_pinned_voicing_does_not_yield() {
    let parsed = chart::parse(MINOR).unwrap();
    let mut song = PlannedChart::placed(&parsed, PlanFor::default(), 0);
    let placed = song.changes[1].placed.unwrap();
    let notes = [53, 56, 59, 63].map(MidiNote::clamp);
    let voicing = pin::by_degree(&notes, &placed.chord, song.plan_for.register.hand).unwrap();
    song.pin(vec![(1, pipeline::pinned(&placed, &voicing))]);
    let song = song.planned();
    let mut settings = yielding(charted(), Yielding::Tensions);
    for revoices in [false, true] {
        settings.right_hand.revoices = revoices;
        let steps = [(SECOND - 100, Step::On(81))];
        assert_eq!(second(settings, &song, &steps), [53, 56, 59, 63]);
    }
}

/// The panel is told what yields, to what, and why.
#[test]
fn what_yields_is_told() {
    let song = chart_of(MINOR);
    let settings = yielding(charted(), Yielding::Tensions);
    let steps = [(SECOND - 100, Step::On(81))];
    let told = |frames| {
        let played = play_steps(settings, Some(&song), &steps, frames, &[4096]);
        played.shown.yielded.yields
    };
    assert!(told(SECOND - 1).is_empty());
    let yields = told(SECOND + BEAT);
    assert_eq!(yields.len(), 1);
    let told = yields[0];
    assert_eq!(told.degree, Degree::Flat9);
    assert_eq!(told.outcome, Outcome::To(Degree::Nine));
    assert_eq!(told.melody.to_string(), "A");
}

/// A line that would move a voice into the melody stays.
#[test]
fn an_inner_line_does_not_move_into_the_melody() {
    // 13 goes to b13 while the dominant sounds.
    let song = chart_of("| Dm7 | G7 | Cmaj7 |");
    let mut settings = charted();
    settings.chart.inner_lines = true;
    let moves = |to, melody: u8| {
        let steps = [(SECOND + BEAT, Step::On(melody))];
        let played = play_steps(
            yielding(settings, to),
            Some(&song),
            &steps,
            2 * SECOND - 10,
            &[4096],
        );
        let moved = played.strikes();
        moved.iter().any(|at| *at > SECOND)
    };
    assert!(moves(Yielding::Off, 76));
    // E speaks against Eb; G does not.
    assert!(!moves(Yielding::Tensions, 76));
    assert!(moves(Yielding::Tensions, 79));
}

/// A parameter that moves while a chord sounds, and is heard at once, does not let the melody into it.
#[test]
fn a_parameter_does_not_let_the_melody_into_a_chord_that_sounds() {
    let minor = Key::usual(PitchClass::wrapping(0), Mode::Minor);
    let song = chart_of(MINOR);
    for source in [Source::Roots, Source::Chart] {
        let mut settings = yielding(charted(), Yielding::Tensions);
        (settings.source, settings.key, settings.at_once) = (source, minor, true);
        let mut softer = settings;
        softer.velocity = 0.4;
        let mut other = settings;
        other.taste.requests.thirteenth = ThirteenthRequest::Thirteen;
        let steps = [
            (100, Step::On(43)),
            (SECOND + 500, Step::On(81)),
            (SECOND + 1000, Step::Set(softer)),
            (SECOND + 2000, Step::Set(other)),
        ];
        let played = play_steps(settings, Some(&song), &steps, SECOND + 3000, &[512]);
        let after = |time: u32| played.starts_at(time);
        assert!(after(SECOND + 1000).is_empty(), "{source:?}");
        // Another tension is another chord, and agrees.
        let chord = after(SECOND + 2000);
        assert!(
            !chord.is_empty() && !classes(&chord).contains(&8),
            "{source:?}: {chord:?}"
        );
    }
}
