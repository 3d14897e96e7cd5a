//! Charts, rule by rule. What repeats, endings and sections mean is common
//! practice, no published source.

use super::*;
use std::ops::Range;

pub(super) fn read(text: &str) -> Chart {
    parse(text).unwrap_or_else(|errors| panic!("{text}: {errors:?}"))
}

pub(super) fn starts(text: &str) -> Vec<(u32, u32)> {
    let changes = read(text).changes.into_iter();
    changes.map(|c| (c.start_ticks, c.length_ticks)).collect()
}

/// The symbols as played, with `|` between bars.
fn played(text: &str) -> String {
    let chart = read(text);
    let symbols = |bar: usize| -> Vec<&str> {
        let its = chart.changes.iter().filter(|c| c.bar == bar);
        its.map(|c| &text[c.source.clone()]).collect()
    };
    let bars: Vec<String> = (0..chart.bars.len())
        .map(|bar| symbols(bar).join(" "))
        .collect();
    bars.join("|")
}

fn meters(text: &str) -> String {
    let bars = read(text).bars.into_iter();
    let meters: Vec<String> = bars.map(|bar| bar.meter.to_string()).collect();
    meters.join(" ")
}

/// The bar, the text in trouble and the problem of each error.
fn errors(text: &str) -> Vec<(u32, &str, ChartProblem)> {
    let errors = parse(text).expect_err(text).into_iter();
    errors
        .map(|e| (e.bar, &text[e.source], e.problem))
        .collect()
}

fn places(text: &str) -> Vec<(u32, Range<usize>)> {
    let errors = parse(text).unwrap_err().into_iter();
    errors.map(|e| (e.bar, e.source)).collect()
}

#[test]
fn chords_share_a_bar_by_its_beats() {
    assert_eq!(
        starts("| Dm7 G7 | Cmaj7 |"),
        [(0, 1920), (1920, 1920), (3840, 3840)]
    );
    assert_eq!(starts("Dm7|G7"), [(0, 3840), (3840, 3840)]);
    assert_eq!(starts("3/4 | C6 | F6 G7 A7 |").last(), Some(&(4800, 960)));
    let long_short_short = [(0, 1920), (1920, 960), (2880, 960)];
    assert_eq!(starts("| Dm7 G7 C6 |"), long_short_short);
    assert_eq!(starts("6/8 | C6 F6 |"), [(0, 1440), (1440, 1440)]);
    let even = [(0, 1280), (1280, 1280), (2560, 1280)];
    assert_eq!(starts("| even Dm7 G7 C6 |"), even);
    assert_eq!(starts("| even Dm7 N.C. C6 | % |").len(), 6);
}

#[test]
fn brackets_hold_spaces_until_the_bar_ends() {
    assert_eq!(starts("| G7(b9, b13) C6 |"), [(0, 1920), (1920, 1920)]);
    assert_eq!(places("| C7(b9 | G7(b9"), [(1, 7..7), (2, 15..15)]);
}

#[test]
fn slashes_are_beats_and_percent_repeats() {
    assert_eq!(starts("| Dm7 / / G7 |"), [(0, 2880), (2880, 960)]);
    assert_eq!(
        starts("| Cmaj7 | % | / / / F6 |"),
        [(0, 10560), (10560, 960)]
    );
    assert_eq!(starts("| Dm7 G7 | % |").len(), 4);
    let held = starts("| C6 | / / / F6 | % |");
    assert_eq!(held.get(2..), Some(&[(7680, 2880), (10560, 960)][..]));
    assert_eq!(starts("| C6 || F6 |\n| G7 |").len(), 3);
    assert_eq!(read("| C6 | N.C. |").changes[1].chord, None);
}

#[test]
fn a_repeat_is_played_twice() {
    assert_eq!(played("|: C6 | F6 :| G7 |"), "C6|F6|C6|F6|G7");
    assert_eq!(played("C6 |: F6 :| G7"), "C6|F6|F6|G7");
    let line = "C6|F6|C6|F6|G7|G7";
    for between in [":|:", ":||:", ":| |:", ":|\n|:", ":| ||:"] {
        let text = format!("|: C6 | F6 {between} G7 :|");
        assert_eq!(played(&text), line, "{text:?}");
    }
    assert_eq!(played("||: C6 :|| F6 |]| G7 |]"), "C6|C6|F6|G7");
}

#[test]
fn a_repeat_without_a_start_goes_back_to_the_last_one_or_to_a_letter() {
    assert_eq!(played("| C6 | F6 :|"), "C6|F6|C6|F6");
    assert_eq!(played("| C6 :| F6 :|"), "C6|C6|F6|F6");
    assert_eq!(played("[A] C6 | [B] F6 :| G7"), "C6|F6|F6|G7");
}

#[test]
fn endings_are_played_in_turn() {
    let two = "|: C6 | [1 F6 :| [2 G7 | A7 |";
    assert_eq!(played(two), "C6|F6|C6|G7|A7");
    assert_eq!(played("|: C6 |[1 F6 :|[2 G7 :| A7"), "C6|F6|C6|G7|A7");
    let three = "|: C6 | [1 F6 :| [2 G7 :| [3 A7 | D7 |: E7 :|";
    assert_eq!(played(three), "C6|F6|C6|G7|C6|A7|D7|E7|E7");
    // Without a start: from the beginning, or from the end of the last repeat.
    assert_eq!(played("C6 | [1 F6 :| [2 G7"), "C6|F6|C6|G7");
    let after = "C6 | [1 F6 :| [2 G7 :| A7 | [1 D7 :| [2 E7";
    assert_eq!(played(after), "C6|F6|C6|G7|A7|D7|A7|E7");
    // An ending may be longer than a bar. It holds until its sign.
    let long = "|: C6 | [1 F6 | % :| [2 G7 | A7 :| D7";
    assert_eq!(played(long), "C6|F6||C6|G7|A7|D7");
    let nine: String = (2..=9).map(|n| format!("[{n} F6 :|")).collect();
    let chart = read(&format!("|: C6 |[1 F6 :|{nine}"));
    assert_eq!(chart.bars.len(), 18);
}

#[test]
fn a_letter_without_bars_plays_its_section_again() {
    let aaba = "[A] | Dm7 | G7 | [A] [B] | Gm7 | C7 | [A]";
    assert_eq!(played(aaba), "Dm7|G7|Dm7|G7|Gm7|C7|Dm7|G7");
    assert_eq!(played("[A] C6 :| [B] F6 | [A] |"), "C6|C6|F6|C6|C6");
    let endings = "[A] |: C6 | [1 F6 :| [2 G7 | [B] A7 | [A]";
    assert_eq!(played(endings), "C6|F6|C6|G7|A7|C6|F6|C6|G7");
    assert_eq!(played("|: [A] C6 :| [B] F6 | [A]"), "C6|C6|F6|C6|C6");
    let names = "[A] C6 | [A2] F6 | [A'] G7 | [A’’] A7 | [A2] [A''] [A′] [A]";
    assert_eq!(played(names), "C6|F6|G7|A7|F6|A7|G7|C6");
    // A section that is written again is replaced.
    assert_eq!(played("[A] C6 | [A] F6 | [B] G7 | [A]"), "C6|F6|G7|F6");
    assert_eq!(played("C6 | [A] F6 | [A]"), "C6|F6|F6");
}

#[test]
fn meters_hold_from_their_bar_on_and_stay_with_it() {
    assert_eq!(meters("| C6 | 3/4 F6 | % | 4/4 G7 |"), "4/4 3/4 3/4 4/4");
    assert_eq!(meters("|: C6 | 3/4 F6 :| G7 |"), "4/4 3/4 4/4 3/4 3/4");
    assert_eq!(
        meters("[A] 6/8 C6 | [B] 2/2 F6 | [A] [C] G7"),
        "6/8 2/2 6/8 2/2"
    );
    assert_eq!(meters("3/4 [A] | C6 | [B] | 5/4 | F6 |"), "3/4 5/4");
    assert_eq!(
        starts("|: C6 | 3/4 F6 / G7 :|"),
        [
            (0, 3840),
            (3840, 1920),
            (5760, 960),
            (6720, 3840),
            (10560, 1920),
            (12480, 960)
        ]
    );
}

#[test]
fn percent_and_slash_take_what_was_heard_before() {
    assert_eq!(
        played("|: C6 F6 | G7 A7 :| % |").matches("G7 A7").count(),
        3
    );
    let recalled = "[A] C6 F6 | [B] G7 | [A] [C] % |";
    assert_eq!(played(recalled), "C6 F6|G7|C6 F6|C6 F6");
    // The bar before is another one each time round.
    assert_eq!(
        played("C6 F6 |: % | G7 A7 :|"),
        "C6 F6|C6 F6|G7 A7|G7 A7|G7 A7"
    );
    let slash = starts("C6 |: / / / F6 | G7 :|");
    assert_eq!(
        slash,
        [
            (0, 6720),
            (6720, 960),
            (7680, 3840 + 2880),
            (14400, 960),
            (15360, 3840)
        ]
    );
    // Another meter of the same length counts as the same length.
    assert_eq!(starts("6/8 | C6 | 3/4 % |"), [(0, 5760)]);
}

#[test]
fn bars_are_told_by_their_ticks() {
    let chart = read("|: C6 | 3/4 F6 :|");
    assert_eq!(chart.meter(), Meter::COMMON);
    assert_eq!(chart.length_ticks(), 2 * (3840 + 2880));
    let at = |ticks| (chart.bar_at(ticks), chart.bar_and_beat(ticks));
    assert_eq!(at(0), (0, (1, 1.0)));
    assert_eq!(at(3839), (0, (1, 1.0 + 3839.0 / 960.0)));
    assert_eq!(at(3840), (1, (2, 1.0)));
    assert_eq!(at(6720 + 480), (2, (3, 1.5)));
    assert_eq!(at(13439), (3, (4, 1.0 + 2879.0 / 960.0)));
    assert_eq!(at(13440), (3, (5, 1.0)));
    assert_eq!(at(13440 + 2880 + 960), (3, (6, 2.0)));
    let _ = at(u32::MAX);
}

#[test]
fn the_text_is_kept_bar_for_bar() {
    let text = "[A] |: C6 / / F6 | [1 3/4 G7 :| [2 D7 :| [B] A7 | [A] |]";
    let chart = read(text);
    let kept: Vec<&str> = chart
        .written
        .iter()
        .map(|w| &text[w.source.clone()])
        .collect();
    assert_eq!(kept, ["C6 / / F6", "G7", "D7", "A7"]);
    let flags: Vec<_> = chart
        .written
        .iter()
        .map(|w| (w.section.map(|s| s.name), w.opens, w.closes, w.ending))
        .collect();
    assert_eq!(
        flags,
        [
            (Some(SectionName::Letter('A')), true, false, None),
            (None, false, true, Some(1)),
            (None, false, true, Some(2)),
            (Some(SectionName::Letter('B')), false, false, None),
        ]
    );
    let order: Vec<usize> = chart.bars.iter().map(|bar| bar.written).collect();
    assert_eq!(order, [0, 1, 0, 2, 3, 0, 1, 0, 2]);
    let [recall] = chart.recalls.as_slice() else {
        panic!("{:?}", chart.recalls);
    };
    assert_eq!(
        (recall.section.to_string(), recall.before),
        ("[A]".to_owned(), 4)
    );
    assert!(text[..recall.source.start].ends_with("A7 | "));
}

#[test]
fn errors_have_places() {
    assert_eq!(places("| Dm7 | H7 |"), [(2, 8..10)]);
    assert_eq!(places("| Dm7 q | G7x |"), [(1, 6..7), (2, 12..13)]);
    assert_eq!(places("| Dm7 / |"), [(1, 2..7)]);
    assert_eq!(places("| % |"), [(1, 2..3)]);
    assert_eq!(places("| % C6 |"), [(1, 2..3)]);
    assert_eq!(places("| / / / C6 |"), [(1, 2..3)]);
    assert_eq!(places("| | F6 |"), [(1, 2..2)]);
    assert_eq!(places("3/5 | C6 |"), [(1, 0..3)]);
    assert_eq!(places(""), [(1, 0..0)]);
    assert_eq!(places("3/4"), [(1, 0..3)]);
}

#[test]
fn wrong_repeats_have_places() {
    use ChartProblem::{NeverClosed, NothingToRepeat, RepeatInRepeat};
    let nothing = || NothingToRepeat(":|");
    assert_eq!(errors("C6 |: F6 | G7 |"), [(2, "|:", NeverClosed)]);
    assert_eq!(errors("|: C6 | [A] F6 :|"), [(1, "|:", NeverClosed)]);
    assert_eq!(errors("[A] C6 |: [A] [B] F6 :|"), [(2, "|:", NeverClosed)]);
    assert_eq!(errors("C6 |:"), [(2, "|:", NeverClosed)]);
    assert_eq!(errors("|: C6 |[1 F6 | G7"), [(1, "|:", NeverClosed)]);
    assert_eq!(errors("|: C6 |: F6 :|"), [(2, "|:", RepeatInRepeat)]);
    assert_eq!(errors("|: C6 |[1 F6 |: G7 :|"), [(3, "|:", RepeatInRepeat)]);
    assert_eq!(errors("|:\n:| C6"), [(1, ":|", nothing())]);
    assert_eq!(errors(":| C6"), [(1, ":|", nothing())]);
    assert_eq!(
        errors("C6 :|:| F6"),
        [(1, ":|:|", ChartProblem::BarLine(":|:|".to_owned()))]
    );
    // What stands between two of them is an empty bar.
    assert_eq!(played("C6 :| :| F6"), "C6|C6|||F6");
    assert_eq!(errors("[A] C6 | [A] :|"), [(1, ":|", nothing())]);
}

#[test]
fn wrong_endings_have_places() {
    use ChartProblem::{EndingAlone, EndingEmpty, EndingOpen, EndingOrder, EndingOutside};
    assert_eq!(
        errors("[1 C6 :| [2 F6"),
        [(1, "[1", EndingOutside(1)), (2, "[2", EndingOutside(2))]
    );
    assert_eq!(errors("C6 | [2 F6"), [(2, "[2", EndingOutside(2))]);
    assert_eq!(errors("C6 | [1 F6 | G7"), [(2, "[1", EndingOutside(1))]);
    assert_eq!(errors("C6 | [1 F6 | [A] G7"), [(2, "[1", EndingOutside(1))]);
    assert_eq!(errors("|: C6 | [2 F6 :|"), [(2, "[2", EndingOrder(2, 1))]);
    assert_eq!(
        errors("|: C6 |[1 F6 :|[3 G7"),
        [(3, "[3", EndingOrder(3, 2))]
    );
    assert_eq!(
        errors("|: C6 |[1 F6 :|[1 G7"),
        [(3, "[1", EndingOrder(1, 2))]
    );
    assert_eq!(errors("|: C6 |[1 F6 |[2 G7 :|"), [(3, "[2", EndingOpen(2))]);
    assert_eq!(errors("|: C6 |[1 F6 :| G7"), [(2, "[1", EndingAlone)]);
    assert_eq!(errors("|: C6 |[1 F6 :|[2"), [(3, "[2", EndingEmpty(2))]);
    assert_eq!(errors("|: C6 |[1 :|[2 F6"), [(2, "[1", EndingEmpty(1))]);
    let ten: String = (1..=9).chain([9]).map(|n| format!("[{n} F6 :|")).collect();
    assert_eq!(
        errors(&format!("|: C6 |{ten}")),
        [(11, "[9", EndingOrder(9, 10))]
    );
}

#[test]
fn wrong_marks_and_meters_have_places() {
    use ChartProblem::{Mark, MarkPlace, Meter as Time, NotWritten, PercentLength};
    for mark in [
        "[a]",
        "[AB]",
        "[A0]",
        "[",
        "[]",
        "[0",
        "[10",
        "[1]",
        "[A'''']",
        "[A",
        "0.",
        "10.",
        "[Bridges]",
        "[Bridge0]",
    ] {
        let text = format!("C6 | {mark} | F6");
        assert_eq!(errors(&text), [(2, mark, Mark(mark.to_owned()))]);
    }
    for mark in ["[A]", "[2"] {
        let text = format!("C6 {mark} | F6");
        assert_eq!(errors(&text), [(1, mark, MarkPlace(mark.to_owned()))]);
    }
    for line in ["::|", "|::", "|:|"] {
        let text = format!("C6 {line} F6");
        assert_eq!(
            errors(&text),
            [(1, line, ChartProblem::BarLine(line.to_owned()))]
        );
    }
    let a = Section {
        name: SectionName::Letter('A'),
        digit: 0,
        primes: 0,
    };
    assert_eq!(errors("[A] [B] C6 | [A] D7"), [(1, "[A]", NotWritten(a))]);
    let time = |text: &str| Time(text.to_owned());
    assert_eq!(errors("| C6 | F6 3/4 |"), [(2, "3/4", time("3/4"))]);
    assert_eq!(errors("| C6 | 17/4 F6 |"), [(2, "17/4", time("17/4"))]);
    assert_eq!(errors("2/4 3/4 | F6 |"), [(1, "3/4", time("3/4"))]);
    assert_eq!(errors("| F6 | 3/4"), [(1, "3/4", time("3/4"))]);
    let (four, three) = (Meter::COMMON, Meter { beats: 3, unit: 4 });
    assert_eq!(
        errors("C6 | 3/4 % |"),
        [(2, "%", PercentLength(four, three))]
    );
    // It fits as written, but not the second time round.
    assert_eq!(
        errors("C6 |: % | 3/4 F6 :|"),
        [(2, "%", PercentLength(three, four))]
    );
}

#[test]
fn errors_say_what_was_expected() {
    for text in [
        "C6 |: F6",
        "|: C6 |: F6 :|",
        ":| C6",
        "C6 | [2 F6",
        "|: C6 | [2 F6 :|",
        "|: C6 |[1 F6 |[2 G7 :|",
        "|: C6 |[1 F6 :| G7",
        "|: C6 |[1 F6 :|[2",
        "C6 [A]",
        "[x] C6",
        "[A] [B] C6",
        "C6 ::| F6",
        "C6 | 3/4 %",
        "C6 | 3/4",
    ] {
        for error in parse(text).expect_err(text) {
            let words = error.to_string();
            assert!(words.contains("; expected "), "{text}: {words}");
            assert!(
                words.starts_with(&format!("bar {}: ", error.bar)),
                "{words}"
            );
        }
    }
}

#[test]
fn a_chart_cannot_grow_without_bounds() {
    let problems = |text: &str| -> Vec<ChartProblem> {
        let errors = parse(text).unwrap_err().into_iter();
        errors.map(|e| e.problem).collect()
    };
    let bar = "C6 ".repeat(16);
    let percents = format!("{bar}|{}", "%|".repeat(10_000));
    assert_eq!(problems(&percents), [ChartProblem::TooMany]);
    let most = format!("{bar}|{}", "%|".repeat(MOST_CHANGES / 16 - 1));
    assert_eq!(read(&most).changes.len(), MOST_CHANGES);
    assert_eq!(problems(&format!("{most}C6|")), [ChartProblem::TooMany]);

    let half = format!("[A]16/2 C6|{}", "%|".repeat(MOST_BARS / 2 - 1));
    let full = read(&format!("{half}[A]"));
    assert_eq!(full.bars.len(), MOST_BARS);
    assert_eq!(full.length_ticks(), 16 * 1920 * 20_000);
    for more in ["[A][B]C6", "[A][A]", "[B]C6|[A]", "[A][B]C6:|"] {
        let text = format!("{half}{more}");
        assert_eq!(problems(&text), [ChartProblem::TooManyBars], "{more}");
    }
    // A long section that is recalled without end.
    let text = format!("[A] {}{}", "C6|".repeat(9_000), "[A]".repeat(70_000));
    assert_eq!(problems(&text), [ChartProblem::TooManyBars]);
}
