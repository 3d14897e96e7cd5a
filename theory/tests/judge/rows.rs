//! Answers and what a teacher says of them, written by hand. Common practice, no published source.

use crate::asked::{four, judged, notes, text, wrong};
use guidehand_theory::judge::{Accepts, Finding, Question, Told};
use guidehand_theory::symbol::Sign;
use guidehand_theory::voicing::Position::{self, Seventh, Third};
use guidehand_theory::words::InWords;

/// A chord, its position, the voicing that is asked for, an answer, and what is wrong with it.
type Row = (
    &'static str,
    Position,
    &'static str,
    &'static str,
    &'static [&'static str],
);

#[track_caller]
fn check(rows: &[Row], accepts: Accepts) {
    let mut mistaken = Vec::new();
    for (symbol, position, asked, answer, expected) in rows {
        let question = four(symbol, *position);
        if text(&question) != *asked {
            mistaken.push(format!("{symbol}: {}, expected {asked}", text(&question)));
            continue;
        }
        let told = wrong(&question, answer, accepts);
        if told != *expected {
            mistaken.push(format!(
                "{answer} for {symbol}: {told:?}, expected {expected:?}"
            ));
        }
    }
    assert!(mistaken.is_empty(), "{}", mistaken.join("\n"));
}

const G7: (&str, Position, &str) = ("G7(b9,13)", Seventh, "F3 Ab3 B3 E4");

fn of_g7(rows: &[(&'static str, &'static [&'static str])], accepts: Accepts) {
    let (symbol, position, asked) = G7;
    let row = |(answer, expected): &(&'static str, &'static [&'static str])| {
        (symbol, position, asked, *answer, *expected)
    };
    let rows: Vec<Row> = rows.iter().map(row).collect();
    check(&rows, accepts);
}

#[test]
fn note_for_note() {
    of_g7(
        &[
            ("F3 Ab3 B3 E4", &[]),
            // The names of the keys make no difference, and neither does their order.
            ("E4 B3 G#3 E#3", &[]),
            // Half steps and whole steps.
            (
                "F3 A3 B3 E4",
                &["ninth: A is 9, asked b9, Ab; a half step too high"],
            ),
            (
                "F#3 Ab3 B3 E4",
                &["seventh: F# is 7, asked b7, F; a half step too high"],
            ),
            (
                "E3 Ab3 B3 E4",
                &["seventh: E is 13, asked b7, F; a half step too low"],
            ),
            (
                "F3 Ab3 Bb3 E4",
                &["third: Bb is b3, asked 3, B; a half step too low"],
            ),
            (
                "F3 Ab3 C4 E4",
                &["third: C is 4, asked 3, B; a half step too high"],
            ),
            (
                "F3 Ab3 B3 Eb4",
                &["thirteenth: Eb is b13, asked 13, E; a half step too low"],
            ),
            (
                "F3 Ab3 B3 D4",
                &["thirteenth: D is 5, asked 13, E; a whole step too low"],
            ),
            (
                "F3 Ab3 B3 F4",
                &["thirteenth: F is b7, asked 13, E; a half step too high"],
            ),
            (
                "F3 Bb3 B3 E4",
                &["ninth: A# is #9, asked b9, Ab; a whole step too high"],
            ),
            // The whole hand a half step too high.
            (
                "F#3 A3 C4 F4",
                &[
                    "seventh: F# is 7, asked b7, F; a half step too high",
                    "ninth: A is 9, asked b9, Ab; a half step too high",
                    "third: C is 4, asked 3, B; a half step too high",
                    "thirteenth: F is b7, asked 13, E; a half step too high",
                ],
            ),
            // Octaves.
            (
                "F3 Ab3 E4 B4",
                &["third: B4 is an octave too high, asked B3"],
            ),
            (
                "E3 Ab3 B3 F4",
                &[
                    "seventh: F4 is an octave too high, asked F3",
                    "thirteenth: E3 is an octave too low, asked E4",
                ],
            ),
            ("F4 Ab4 B4 E5", &["the whole hand is an octave too high"]),
            ("F1 Ab1 B1 E2", &["the whole hand is two octaves too low"]),
            (
                "F4 A4 B4 E5",
                &[
                    "the whole hand is an octave too high",
                    "ninth: A is 9, asked b9, Ab; a half step too high",
                ],
            ),
            // Missing notes.
            ("F3 Ab3 B3", &["thirteenth: 13, E, is missing"]),
            (
                "F3 B3",
                &["ninth: b9, Ab, is missing", "thirteenth: 13, E, is missing"],
            ),
            (
                "",
                &[
                    "seventh: b7, F, is missing",
                    "ninth: b9, Ab, is missing",
                    "third: 3, B, is missing",
                    "thirteenth: 13, E, is missing",
                ],
            ),
            (
                "E4",
                &[
                    "seventh: b7, F, is missing",
                    "ninth: b9, Ab, is missing",
                    "third: 3, B, is missing",
                ],
            ),
            // Notes that were not asked for.
            ("F3 Ab3 B3 D4 E4", &["D: the fifth, left out here"]),
            ("F3 Ab3 B3 C#4 E4", &["C#: the #11, not asked for"]),
            ("F3 F#3 Ab3 B3 E4", &["F#: 7 has no place in this chord"]),
            ("F3 Ab3 B3 E4 F4", &["F4: the seventh is there already, F3"]),
            ("F3 G3 Ab3 B3 E4", &["G is the root: the bass has it"]),
            // The root in the place of the ninth.
            (
                "F3 G3 B3 E4",
                &[
                    "ninth: b9, Ab, is missing",
                    "G is the root: the bass has it",
                ],
            ),
            // Positions.
            (
                "B3 E4 F4 Ab4",
                &["right notes, third lowest; asked seventh lowest"],
            ),
            (
                "B2 E3 F3 Ab3",
                &["right notes, third lowest; asked seventh lowest"],
            ),
            (
                "Ab3 B3 E4 F4",
                &["right notes, ninth lowest; asked seventh lowest"],
            ),
            (
                "E3 F3 Ab3 B3",
                &["right notes, fifth lowest; asked seventh lowest"],
            ),
        ],
        Accepts::Exact,
    );
}

#[test]
fn chords_of_every_family_note_for_note() {
    check(
        &[
            ("Dm9", Third, "F3 A3 C4 E4", "F3 A3 C4 E4", &[]),
            (
                "Dm9",
                Third,
                "F3 A3 C4 E4",
                "F#3 A3 C4 E4",
                &["third: F# is 3, asked b3, F; a half step too high"],
            ),
            (
                "Dm9",
                Third,
                "F3 A3 C4 E4",
                "F3 A3 C#4 E4",
                &["seventh: C# is 7, asked b7, C; a half step too high"],
            ),
            (
                "Dm9",
                Third,
                "F3 A3 C4 E4",
                "F3 G3 C4 E4",
                &["fifth: G is 11, asked 5, A; a whole step too low"],
            ),
            (
                "Dm9",
                Third,
                "F3 A3 C4 E4",
                "F3 Ab3 C4 E4",
                &["fifth: Ab is b5, asked 5, A; a half step too low"],
            ),
            (
                "Dm9",
                Third,
                "F3 A3 C4 E4",
                "F3 A3 C4 Eb4",
                &["ninth: Eb is b9, asked 9, E; a half step too low"],
            ),
            (
                "Cmaj9",
                Third,
                "E3 G3 B3 D4",
                "E3 G3 Bb3 D4",
                &["seventh: Bb is b7, asked 7, B; a half step too low"],
            ),
            (
                "Cmaj9",
                Third,
                "E3 G3 B3 D4",
                "E3 G3 C4 D4",
                &[
                    "seventh: 7, B, is missing",
                    "C is the root: the bass has it",
                ],
            ),
            (
                "C6/9",
                Third,
                "E3 G3 A3 D4",
                "E3 G3 Bb3 D4",
                &["sixth: Bb is b7, asked 6, A; a half step too high"],
            ),
            (
                "C6/9",
                Third,
                "E3 G3 A3 D4",
                "A3 D4 E4 G4",
                &["right notes, seventh lowest; asked third lowest"],
            ),
            (
                "Cm6/9",
                Third,
                "Eb3 G3 A3 D4",
                "E3 G3 A3 D4",
                &["third: E is 3, asked b3, Eb; a half step too high"],
            ),
            (
                "Cm(maj7)",
                Third,
                "Eb3 G3 B3 D4",
                "Eb3 G3 Bb3 D4",
                &["seventh: Bb is b7, asked 7, B; a half step too low"],
            ),
            (
                "G13sus4",
                Seventh,
                "F3 A3 C4 E4",
                "F3 A3 B3 E4",
                &["fourth: B is 3, asked 4, C; a half step too low"],
            ),
            // Half-diminished and diminished chords keep their root.
            (
                "Bm7b5",
                Third,
                "D3 F3 A3 B3",
                "D3 F3 A3 C4",
                &["root: C is b9, asked 1, B; a half step too high"],
            ),
            (
                "Bm7b5",
                Third,
                "D3 F3 A3 B3",
                "D3 F3 A3 C#4",
                &["root: C# is 9, asked 1, B; a whole step too high"],
            ),
            (
                "Bm7b5",
                Third,
                "D3 F3 A3 B3",
                "D3 F3 A3",
                &["root: 1, B, is missing"],
            ),
            (
                "Bm7b5",
                Third,
                "D3 F3 A3 B3",
                "D3 F#3 A3 B3",
                &["fifth: F# is 5, asked b5, F; a half step too high"],
            ),
            (
                "Bdim7",
                Third,
                "D3 F3 Ab3 B3",
                "D3 F3 A3 B3",
                &["seventh: A is b7, asked bb7, Ab; a half step too high"],
            ),
            // Everyday names beside unusual ones.
            (
                "B7(#11)",
                Seventh,
                "A3 C#4 D#4 E#4",
                "A3 C#4 D#4",
                &["eleventh: #11, E# (F), is missing"],
            ),
            (
                "B7(#11)",
                Seventh,
                "A3 C#4 D#4 E#4",
                "A3 C#4 D#4 F#4",
                &["eleventh: F# is 5, asked #11, E# (F); a half step too high"],
            ),
            (
                "Gb7(b9,13)",
                Seventh,
                "Fb3 Abb3 Bb3 Eb4",
                "E3 Ab3 Bb3 Eb4",
                &["ninth: Ab is 9, asked b9, Abb (G); a half step too high"],
            ),
            (
                "Gb7(b9,13)",
                Seventh,
                "Fb3 Abb3 Bb3 Eb4",
                "E3 G3 Bb3 Eb4",
                &[],
            ),
            // Two names of one key.
            ("C#7(#9,b13)", Third, "E#3 A3 B3 D##4", "F3 A3 B3 E4", &[]),
            ("Db7(#9,b13)", Third, "F3 Bbb3 Cb4 E4", "F3 A3 B3 E4", &[]),
            // Another bass than the root.
            (
                "G7(b9,13)/B",
                Seventh,
                "F3 Ab3 B3 E4",
                "F3 G3 Ab3 B3 E4",
                &["G is the root: left out here"],
            ),
        ],
        Accepts::Exact,
    );
}

#[test]
fn either_position_counts_if_it_is_asked_so() {
    let mut question = four("G7(b9,13)", Seventh);
    question.either_position = true;
    let told = |answer| wrong(&question, answer, Accepts::Exact);
    assert!(told("F3 Ab3 B3 E4").is_empty());
    assert!(told("B3 E4 F4 Ab4").is_empty());
    // A mistake is told against the position that was played.
    let words = ["ninth: A is 9, asked b9, Ab; a half step too high"];
    assert_eq!(told("B3 E4 F4 A4"), words);
    assert_eq!(told("F3 A3 B3 E4"), words);
    assert_eq!(
        told("B4 E5 F5 Ab5"),
        ["the whole hand is an octave too high"]
    );
    let words = ["right notes, ninth lowest; asked seventh lowest"];
    assert_eq!(told("Ab3 B3 E4 F4"), words);
}

#[test]
fn the_same_tensions() {
    of_g7(
        &[
            ("F3 Ab3 B3 E4", &[]),
            ("B3 E4 F4 Ab4", &[]),
            ("E4 F4 Ab4 B4", &[]),
            ("Ab3 B3 E4 F4", &[]),
            // The second note from the top an octave down.
            (
                "B2 F3 Ab3 E4",
                &[
                    "it spans an eleventh, more than a tenth, and takes two hands; never force a stretch",
                ],
            ),
            ("F3 B3 E4 Ab4", &[]),
            (
                "F3 A3 B3 E4",
                &["ninth: A is 9, asked b9, Ab; a half step too high"],
            ),
            (
                "E4 F4 A4 B4",
                &["ninth: A is 9, asked b9, Ab; a half step too high"],
            ),
            ("F3 B3 E4", &["ninth: b9, Ab, is missing"]),
            ("F3 Ab3 B3 E4 F4", &["F4: the seventh is there already, F3"]),
            ("F3 Ab3 B3 D4 E4", &["D: the fifth, left out here"]),
            ("F3 G3 Ab3 B3 E4", &["G is the root: the bass has it"]),
            ("F2 Ab2 B2 E3", &["the whole hand is an octave too low"]),
            ("F4 Ab4 B4 E5", &["the whole hand is an octave too high"]),
            (
                "F3 Ab3 B3 E5",
                &[
                    "it spans 23 half steps, more than a tenth, and takes two hands; never force a \
                     stretch",
                    "E5 lies above the register",
                ],
            ),
            ("E3 B3 F4 Ab4", &["E3 and F4 lie a minor ninth apart"]),
        ],
        Accepts::SameTensions,
    );
}

/// G7 leaves its tensions open, and the context puts 9 and 13 into it.
#[test]
fn any_good_voicing() {
    let question = four("G7", Seventh);
    assert_eq!(text(&question), "F3 A3 B3 E4");
    for (answer, expected) in [
        ("F3 A3 B3 E4", &[][..]),
        ("F3 Ab3 B3 Eb4", &[]),
        ("F3 A3 B3 D4", &[]),
        ("B3 F4", &[]),
        ("F3 B3 E4", &[]),
        ("B3 E4 F4 Ab4", &[]),
        (
            "F3 A3 C4 E4",
            &["third: C is 4, asked 3, B; a half step too high"],
        ),
        ("B3", &["seventh: b7, F, is missing"]),
        ("F3 Ab3 A3 B3", &["A3, the 9, rubs against the b9"]),
        ("F3 G3 B3 E4", &["G is the root: the bass has it"]),
        (
            "F#3 A3 B3 E4",
            &["seventh: F# is 7, asked b7, F; a half step too high"],
        ),
        ("E3 B3 F4", &["E3 and F4 lie a minor ninth apart"]),
        ("F4 A4 B4 E5", &["the whole hand is an octave too high"]),
    ] {
        assert_eq!(
            wrong(&question, answer, Accepts::AnyGood),
            expected,
            "{answer}"
        );
    }
}

/// More keys than a voicing has notes, up to all of them.
#[test]
fn a_fistful_of_keys() {
    let question = four("G7(b9,13)", Seventh);
    let all: Vec<_> = (0..=127)
        .filter_map(guidehand_theory::pitch::MidiNote::new)
        .collect();
    for accepts in [Accepts::Exact, Accepts::SameTensions, Accepts::AnyGood] {
        let judgement = judged(&question, &all, accepts);
        let wrong = judgement.findings().iter().filter(|f| !f.is_right());
        assert!(wrong.eq([&Finding::TooMany(128)]));
        assert!(!judgement.is_right() && !judgement.lacks_only());
        assert_eq!(judgement.played().voices().len(), 8);
    }
    let twenty = &all[48..68];
    let judgement = judged(&question, twenty, Accepts::Exact);
    let words: Vec<String> = judgement.told(&question).map(|t| t.to_string()).collect();
    let expected = [
        "20 keys are held: a voicing has at most 8",
        "seventh: F, right",
        "ninth: Ab, right",
        "third: B, right",
        "thirteenth: E, right",
    ];
    assert_eq!(words, expected);
}

#[test]
fn the_signs_of_music_are_written_on_request() {
    let question: Question = four("G7(b9,13)", Seventh);
    let judgement = judged(&question, &notes("F3 A3 B3 Eb4"), Accepts::Exact);
    let words = |told: Told| InWords(&told, Sign::Unicode).to_string();
    let words: Vec<String> = judgement.told(&question).map(words).collect();
    let expected = [
        "seventh: F, right",
        "ninth: A is 9, asked ♭9, A♭; a half step too high",
        "third: B, right",
        "thirteenth: E♭ is ♭13, asked 13, E; a half step too low",
    ];
    assert_eq!(words, expected);
}
