//! The road through a chart, rule by rule: jumps, codas, repeats that are counted,
//! pickups, two-bar repeats, titles. What the signs mean is common practice, no
//! published source.

use super::tests::{read, starts};
use super::*;
use crate::pitch::NoteNames;

/// The roots of the bars as played, `-` where a bar has no change of its own.
fn played(text: &str) -> String {
    let chart = read(text);
    let root = |bar: usize| {
        let mut its = chart.changes.iter().filter(|c| c.bar == bar);
        let chord = its.next().and_then(|change| change.chord);
        chord.map_or("-".to_owned(), |chord| chord.root.to_string())
    };
    (0..chart.bars.len()).map(root).collect()
}

/// The bar, the text in trouble and the problem of each error.
fn errors(text: &str) -> Vec<(u32, &str, ChartProblem)> {
    let errors = parse(text).expect_err(text).into_iter();
    errors
        .map(|e| {
            let words = e.to_string();
            assert!(words.contains("expected "), "{words}");
            (e.bar, &text[e.source], e.problem)
        })
        .collect()
}

const fn jump(from: Start, until: Until) -> Jump {
    Jump { from, until }
}

#[test]
fn da_capo_goes_back_to_the_beginning_once() {
    assert_eq!(played("| C | D | E | F D.C. |"), "CDEFCDEF");
    assert_eq!(played("| C | D Fine | E | F D.C. al Fine |"), "CDEFCD");
    assert_eq!(
        played("| C | D To Coda | E | F D.C. al Coda | Coda G | A |"),
        "CDEFCDGA"
    );
    // A jump without further words follows whichever sign comes first.
    assert_eq!(played("| C Fine | D To Coda | E D.C. |"), "CDEC");
    assert_eq!(played("| C To Coda | D Fine | E D.C. | Coda G |"), "CDECG");
    // A sign that the jump does not name is not followed.
    let text = "| C Fine | D To Coda | E D.C. al Coda | Coda G |";
    assert_eq!(played(text), "CDECDG");
    let text = "| C | D Fine | E D.C. al Fine | F | G |";
    assert!(
        matches!(errors(text)[..], [(4, "F", ChartProblem::NeverPlayed)]),
        "what follows is never heard"
    );
    assert_eq!(played("| C | D D.C. | E |"), "CDCDE");
}

#[test]
fn dal_segno_goes_back_to_the_sign_before_it() {
    assert_eq!(played("| C | Segno D | E | F D.S. |"), "CDEFDEF");
    assert_eq!(
        played("| C | Segno D | E Fine | F D.S. al Fine |"),
        "CDEFDE"
    );
    let coda = "| C | Segno D | E To Coda | F D.S. al Coda |\nCoda | G | A |";
    assert_eq!(played(coda), "CDEFDEGA");
    // Of two signs, the last one before the jump counts.
    assert_eq!(played("Segno C | Segno D | E D.S. | Segno F"), "CDEDEF");
    let twice = "Segno C | D D.S. | Segno E | F D.S. |";
    assert_eq!(played(twice), "CDCDEFEF");
    let both = "C | Segno D Fine | E D.S. al Coda | F D.C. al Fine";
    assert!(matches!(
        errors(both)[..],
        [(3, "D.S. al Coda", ChartProblem::NoWayToCoda(_))]
    ));
}

#[test]
fn signs_are_written_in_many_ways() {
    let same = "CDEFDEG";
    for text in [
        "| C | Segno D | E To Coda | F D.S. al Coda | Coda G |",
        "| C | \u{1d10b} D | E \u{1d10c} | F D.S. al \u{1d10c} | \u{1d10c} G |",
        "| C | Segno: D | E to coda | F Dal Segno al Coda | Coda: G |",
        "| C | SEGNO | D | E | To Coda | F | DS al coda || Coda | G |]",
        "| C | segno D | E To Coda| F d.s. alla Coda|Coda G",
        "| C | Segno\nD | E  To  Coda | F D.S.  al  Coda |\n\nCoda\n| G |",
    ] {
        assert_eq!(played(text), same, "{text}");
    }
    assert_eq!(played("| C Fine | D DC al fine |"), "CDC");
    assert_eq!(played("| C Fine. | D Da Capo al Fine |"), "CDC");
    assert_eq!(played("| C Fine | D D.C. |"), "CDC");
    // Signs that nothing leads to only name places.
    assert_eq!(played("| Segno C | D Fine | Coda E |"), "CDE");
}

#[test]
fn the_way_back_has_no_repeats() {
    let text = "|: C | D :| E | F D.C. |";
    assert_eq!(played(text), "CDCDEFCDEF");
    let endings = "|: C |[1 D :|[2 E :|[3 F | G Fine | A D.C. al Fine |";
    assert_eq!(played(endings), "CDCECFGACFG");
    let coda = "Segno |: C | D :| x3 E To Coda | F D.S. al Coda | Coda |: G :| A |";
    assert_eq!(played(coda), "CDCDCDEFCDEGGA");
    // A jump at the end of a repeat waits until it has been played.
    assert_eq!(played("C Fine |: D | E D.C. al Fine :|"), "CDEDEC");
    // In the last ending it is taken at once.
    let last = "|: C To Coda |[1 D :|[2 E D.C. al Coda | Coda | F |";
    assert_eq!(played(last), "CDCECF");
    let recalled = "[A] |: C :| D | [B] E | [A] D.C. al Fine";
    assert!(matches!(
        errors(recalled)[..],
        [(3, "D.C. al Fine", ChartProblem::NoFine(_))]
    ));
    let recalled = "[A] |: C :| D | [B] E Fine | [A] [C] F D.C. al Fine";
    assert_eq!(played(recalled), "CCDECCDFCDE");
    let recalled = "[A] |: C :| D | [B] E | [A] | [C] F Fine | G D.C. al Fine";
    assert_eq!(played(recalled), "CCDECCDFGCDECDF");
}

#[test]
fn a_repeat_is_played_as_often_as_it_says() {
    assert_eq!(played("|: C | D :| x3 | E"), "CDCDCDE");
    assert_eq!(played("|: C :|x2 D :| 3x"), "CCDDD");
    assert_eq!(played("C :| ×4\n| D |"), "CCCCD");
    let chart = read("|: C :| x99 D");
    assert_eq!(chart.bars.len(), 100);
    assert_eq!(chart.written[0].times, 99);
    let times = |text: &str| ChartProblem::Times(text.to_owned());
    assert_eq!(errors("C :| x1 D"), [(1, "x1", times("x1"))]);
    assert_eq!(errors("C :| x100 D"), [(1, "x100", times("x100"))]);
    assert_eq!(errors("C | x3 D"), [(1, "x3", times("x3"))]);
    assert_eq!(errors("C :| D x3 | E"), [(1, "x3", times("x3"))]);
    let of_endings = ChartProblem::TimesOfEndings("x3".to_owned());
    assert_eq!(errors("|: C |[1 D :| x3 [2 E"), [(2, "x3", of_endings)]);
}

#[test]
fn endings_have_dots_too() {
    assert_eq!(played("|: C |1. D :|2. E | F |"), "CDCEF");
    assert_eq!(played("|: C | 1. D :| [2 E | F |"), "CDCEF");
}

#[test]
fn two_bars_are_repeated_together() {
    assert_eq!(played("| C | D | %% | E |"), "CDCDE");
    assert_eq!(played("| C | D | %% | %% |"), "CDCDCD");
    assert_eq!(played("|: C | D | %% :| E"), "CDCDCDCDE");
    // One chord through both bars is prolonged.
    assert_eq!(
        starts("| C | % | %% | D |"),
        [(0, 4 * 3840), (15_360, 3840)]
    );
    // A chord that goes on into the second bar goes on there again.
    let held = starts("| C / / D | / / E / | %% |");
    let once = [(0, 2880), (2880, 2880), (5760, 1920)];
    let again = once.map(|(at, length)| (at + 7680, length));
    assert_eq!(held, [once, again].concat());
    let chart = read("| C | D | %% | E |");
    let numbers: Vec<_> = chart.written.iter().map(|w| w.number).collect();
    assert_eq!(numbers, [1, 2, 3, 5]);
    let order: Vec<_> = chart.bars.iter().map(|bar| bar.written).collect();
    assert_eq!(order, [0, 1, 2, 2, 3]);
    let nothing = ChartProblem::NothingToRepeat("%%");
    assert_eq!(errors("| C | %% |"), [(2, "%%", nothing)]);
    assert!(matches!(
        errors("3/4 C | 4/4 D | %% |")[..],
        [(3, "%%", ChartProblem::PercentLength(..))]
    ));
    let alone = ChartProblem::PercentNotAlone;
    assert_eq!(errors("| C | D | %% E |"), [(3, "%%", alone)]);
}

#[test]
fn an_empty_bar_repeats_the_one_before() {
    assert_eq!(starts("| C | | D |"), [(0, 7680), (7680, 3840)]);
    assert_eq!(starts("| C D |  |").len(), 4);
    assert_eq!(played("|: C | :| D"), "C-C-D");
    // Doubled bar lines have no bar between them.
    assert_eq!(played("| C || D |\n| E |]"), "CDE");
    assert_eq!(played("| C |] D ||"), "CD");
}

#[test]
fn a_pickup_is_as_long_as_its_beats_and_played_once() {
    assert_eq!(
        starts("| Pickup G7 | C | F |"),
        [(0, 960), (960, 3840), (4800, 3840)]
    );
    assert_eq!(
        starts("Pickup Dm7 G7 / | C |"),
        [(0, 960), (960, 1920), (2880, 3840)]
    );
    assert_eq!(starts("3/4 | Pickup N.C. | C |"), [(0, 960), (960, 2880)]);
    assert_eq!(played("Pickup G | C | D :|"), "GCDCD");
    assert_eq!(played("Pickup G |: C | D :| E"), "GCDCDE");
    assert_eq!(played("|: Pickup G | C | D :| E"), "GCDCDE");
    assert_eq!(played("Pickup G | C | D D.C. |"), "GCDCD");
    assert_eq!(played("[A] Pickup G | C | [B] D | [A]"), "GCDC");
    let chart = read("6/8 | Pickup G7 / | C | F |");
    assert_eq!(chart.meter(), Meter { beats: 6, unit: 8 });
    assert_eq!((chart.pickup_ticks(), chart.has_pickup()), (960, true));
    assert_eq!(chart.length_ticks(), 960 + 2 * 2880);
    // It has the last beats of its meter, and bar 1 is the one after it.
    let at = |ticks| chart.bar_and_beat(ticks);
    assert_eq!(at(0), (0, 5.0));
    assert_eq!(at(480), (0, 6.0));
    assert_eq!(at(960), (1, 1.0));
    assert_eq!(at(960 + 2880), (2, 1.0));
    assert_eq!(read("| C | F |").pickup_ticks(), 0);
    use ChartProblem::{PickupAlone, PickupLength, PickupPlace};
    assert_eq!(errors("| C | Pickup G | D |"), [(2, "Pickup", PickupPlace)]);
    assert_eq!(errors("| Pickup G |"), [(1, "G", PickupAlone)]);
    let whole = "G / / /";
    let long = PickupLength(4, Meter::COMMON);
    assert_eq!(errors("| Pickup G / / / | C |"), [(1, whole, long)]);
    assert!(matches!(
        errors("| Pickup G | % |")[..],
        [(1, "%", ChartProblem::PercentLength(..))]
    ));
    assert_eq!(errors("Pickup G | C | D q |").len(), 1);
    assert_eq!(errors("Pickup G | C | D q |")[0].0, 2);
}

#[test]
fn dots_are_beats() {
    assert_eq!(starts("| C . . D |"), starts("| C / / D |"));
    assert_eq!(starts("| C . / D |"), starts("| C / / D |"));
}

#[test]
fn sections_have_colons_and_words_too() {
    assert_eq!(played("A: C | D | B: E | A: |"), "CDECD");
    assert_eq!(played("A2: | C | [B'] D | [A2] |"), "CDC");
    let text = "Intro: | C |\nVerse: | D |\nBRIDGE: | E |\n[Verse] | [Outro] F";
    assert_eq!(played(text), "CDEDF");
    let chart = read(text);
    let names = chart.written.iter().filter_map(|w| w.section);
    let names: Vec<_> = names.map(|s| s.to_string()).collect();
    assert_eq!(names, ["[Intro]", "[Verse]", "[Bridge]", "[Outro]"]);
    assert_eq!(played("[Solo] C | [Solos] D | Solo2: E | [Solo]"), "CDEC");
}

#[test]
fn a_title_stands_above_the_bars() {
    for (text, title) in [
        ("Low Tide\n| C | D |", "Low Tide"),
        ("\n  Low Tide \n\n| C |", "Low Tide"),
        ("Title: Am\n| C |", "Am"),
        ("TITLE:  C | D\nC | D", "C | D"),
        ("Am I Late\n| C |", "Am I Late"),
        ("| C |", ""),
        ("C\n| D |", ""),
        ("[A]\n| D |", ""),
        ("3/4\n| D |", ""),
        ("Am7 N.C.\n| D |", ""),
    ] {
        assert_eq!(read(text).title, title, "{text:?}");
    }
    assert_eq!(played("Low Tide\nA: | C |\n| D |"), "CD");
    // A line without bars below it is not a title.
    assert_eq!(errors("Low Tide").len(), 2);
    assert_eq!(errors("Dm7 q").len(), 1);
}

#[test]
fn a_symbol_may_have_spaces_before_what_alters_it() {
    for (text, joined) in [
        ("| C7 b9 |", "C7b9"),
        ("| C7 alt |", "C7alt"),
        ("| C7 (b9) |", "C7(b9)"),
        ("| C7 #9 b13 |", "C7#9b13"),
        ("| Bb 7 |", "Bb7"),
        ("| C /E |", "C/E"),
        ("| C/ E |", "C/E"),
        ("| C/bass E |", "C/E"),
    ] {
        let chart = read(text);
        let chord = crate::symbol::parse(joined).unwrap();
        let [change] = &chart.changes[..] else {
            panic!("{text}: {:?}", chart.changes);
        };
        assert_eq!(change.chord, Some(chord), "{text}");
        assert_eq!(text[change.source.clone()], text[2..text.len() - 2]);
    }
    // Two chords stay two. Words that make no chord are reported.
    assert_eq!(played("| C7 Bb9 |"), "C");
    assert_eq!(starts("| C7 Bb9 |").len(), 2);
    assert_eq!(starts("| C7 b9 F7 |"), [(0, 1920), (1920, 1920)]);
    assert_eq!(errors("| C7\nb9 |").len(), 1);
    assert_eq!(errors("| C7 q |").len(), 1);
}

#[test]
fn silence_has_many_words() {
    for word in [
        "N.C.", "NC", "n.c.", "N.C", "No Chord", "NO CHORD", "Tacet", "tacet",
    ] {
        let chart = read(&format!("| C | {word} | {word} D |"));
        let chords: Vec<_> = chart.changes.iter().map(|c| c.chord.is_some()).collect();
        assert_eq!(chords, [true, false, false, true], "{word}");
    }
}

#[test]
fn signs_that_lead_nowhere_have_places() {
    use ChartProblem::*;
    let (capo, segno) = (Start::Beginning, Start::Segno);
    let fine = |from| jump(from, Until::Fine);
    let coda = |from| jump(from, Until::Coda);
    let cases: Vec<(&str, (u32, &str, ChartProblem))> = vec![
        (
            "C | D D.S. |",
            (2, "D.S.", NoSegno(jump(segno, Until::End))),
        ),
        (
            "C | D D.S. | Segno E",
            (2, "D.S.", NoSegno(jump(segno, Until::End))),
        ),
        (
            "C | D D.C. al Fine |",
            (2, "D.C. al Fine", NoFine(fine(capo))),
        ),
        (
            "C Fine | Segno D | E D.S. al Fine |",
            (3, "D.S. al Fine", NoFine(fine(segno))),
        ),
        (
            "C | D D.C. al Coda | Coda E",
            (2, "D.C. al Coda", NoWayToCoda(coda(capo))),
        ),
        ("C To Coda | D D.C. al Coda |", (1, "To Coda", NoCoda)),
        ("C To Coda | D | Coda E", (1, "To Coda", ToCodaUnused)),
        (
            "C To Coda | D Fine | E D.C. al Fine | Coda F",
            (1, "To Coda", ToCodaUnused),
        ),
        (
            "C To Coda | D D.C. al Coda | E | Coda F",
            (3, "E", NeverPlayed),
        ),
        ("C Fine | D D.C. al Fine | E |", (3, "E", NeverPlayed)),
        (
            "[A] C Fine | [B] D D.C. al Fine | [A]",
            (3, "[A]", NeverPlayed),
        ),
        (
            "|: C D.C. | D :|",
            (1, "D.C.", JumpInRepeat(jump(capo, Until::End))),
        ),
        (
            "|: C |[1 D D.C. :|[2 E",
            (2, "D.C.", JumpInRepeat(jump(capo, Until::End))),
        ),
        ("C | D D.C. D.S. |", (2, "D.S.", JumpTwice)),
        ("C | Fine D |", (2, "Fine", TurnPlace("Fine".to_owned()))),
        ("Fine | C |", (1, "Fine", TurnPlace("Fine".to_owned()))),
        ("C Segno | D", (1, "Segno", MarkPlace("Segno".to_owned()))),
        ("C Coda | D", (1, "Coda", MarkPlace("Coda".to_owned()))),
        ("| even C / / D |", (1, "even", Even)),
        ("| C | even % |", (2, "even", Even)),
    ];
    for (text, expected) in cases {
        let found = errors(text);
        assert!(found.contains(&expected), "{text}: {found:?}");
    }
    let many: String = (0..12).map(|_| "C D.C. |").collect();
    assert_eq!(errors(&many), [(10, "D.C.", TooManyJumps)]);
}

/// Every road ends, within the bounds.
#[test]
fn roads_end() {
    let nine = format!("Segno {}", "C D.S. |".repeat(9));
    assert_eq!(read(&nine).bars.len(), 9 + (1..=9).sum::<usize>());
    let long = format!("[A] {}{} D.C.", "C|".repeat(9_000), "[A]".repeat(2));
    let found = parse(&long).unwrap_err();
    assert!(matches!(found[0].problem, ChartProblem::TooManyBars));
    for signs in [
        "C D.C.|",
        "Segno C D.S.|",
        "Coda C To Coda|",
        "[A]C D.C.|[A]",
    ] {
        let text = signs.repeat(LONGEST_TEXT / signs.len());
        let _ends = parse(&text);
    }
}

/// The shares of a bar without marks depend only on its meter.
#[test]
fn the_places_of_shares_are_told_for_any_text() {
    let text = "| C D E | q | F / / G | even C D E | 3/4 C D | %% | |";
    let bars = written(text, NoteNames::English);
    let at = |bar: usize| -> Vec<u32> { bars[bar].shares.iter().map(|s| s.at_ticks).collect() };
    assert_eq!(at(0), [0, 1920, 2880]);
    assert_eq!(at(1), [0]);
    assert_eq!(at(2), [0, 960, 1920, 2880]);
    assert_eq!(at(3), [0, 1280, 2560]);
    assert_eq!(at(4), [0, 1920]);
    assert_eq!((at(5), bars[5].two_bars), (vec![0], true));
    assert_eq!((at(6), bars[6].source.is_empty()), (vec![], true));
}
