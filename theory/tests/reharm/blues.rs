//! The stock of the blues. Common practice, no published source.

use crate::common::{KEYS, all, beats, find, in_key, motions, named, qualities, root, roots};
use guidehand_theory::quality::Quality;
use guidehand_theory::reharm::{Part, Substitution};

const TWELVE: &str = "C7:4 C7:4 C7:4 C7:4 F7:4 F7:4 C7:4 C7:4 G7:4 F7:4 C7:4 G7:4";
const WITH_TWO: &str = "C7:4 F7:4 C7:4 C7:4 F7:4 F7:4 C7:4 C7:4 Dm7:4 G7:4 C7:4 G7:4";

#[test]
fn the_quick_change_is_iv_in_the_second_bar() {
    for fifths in KEYS {
        let spans = in_key(TWELVE, "C blues", fifths);
        let tonic = root(&spans[0].chord.unwrap());
        let new = named(&spans, 1..2, "quick change");
        assert_eq!(roots(&new), [(tonic + 5) % 12]);
        assert_eq!(qualities(&new), [Quality::Dominant]);
        for at in (0..12).filter(|at| *at != 1) {
            assert_eq!(find(&spans, at..at + 1, "quick change"), None, "bar {at}");
        }
        let held = in_key("C7:16 F7:8 C7:8", "C blues", fifths);
        let new = named(&held, 0..1, "quick change");
        assert_eq!(roots(&new), [tonic, (tonic + 5) % 12, tonic]);
        assert_eq!(beats(&new), [4, 4, 8]);
    }
}

#[test]
fn the_fourth_bar_leads_to_four() {
    for fifths in KEYS {
        let spans = in_key(TWELVE, "C blues", fifths);
        let four = root(&spans[4].chord.unwrap());
        let two = named(&spans, 3..4, "ii before its V");
        assert_eq!(motions(&two, four), [5, 5]);
        assert_eq!(qualities(&two), [Quality::MinorSeventh, Quality::Dominant]);
        let away = named(&spans, 3..4, "tritone substitute");
        assert_eq!(motions(&away, four), [11]);
    }
}

#[test]
fn the_eighth_bar_leads_to_the_ii() {
    for fifths in KEYS {
        let spans = in_key(WITH_TWO, "C blues", fifths);
        let two = root(&spans[8].chord.unwrap());
        let six = named(&spans, 7..8, "VI7 for I7");
        assert_eq!(motions(&six, two), [5]);
        let pair = named(&spans, 7..8, "ii-V of ii for I7");
        assert_eq!(motions(&pair, two), [5, 5]);
        assert_eq!(qualities(&pair)[0], Quality::HalfDiminished);
        let slide = named(&spans, 7..8, "dominants by half steps down to VI7");
        assert_eq!(motions(&slide, two), [11, 11, 11, 5]);
        assert_eq!(roots(&slide)[0], root(&spans[7].chord.unwrap()));
        assert_eq!(qualities(&slide), [Quality::Dominant; 4]);
    }
}

/// Over two bars the ii comes down from the third degree by half steps, each time with its V.
#[test]
fn two_bars_lead_down_to_the_ii() {
    for fifths in KEYS {
        let spans = in_key(WITH_TWO, "C blues", fifths);
        let two = root(&spans[8].chord.unwrap());
        let down = named(&spans, 6..8, "ii-Vs by half steps down to ii");
        assert_eq!(motions(&down, two), [5, 6, 5, 6]);
        assert_eq!(roots(&down)[0], (two + 2) % 12);
        let pair = [Quality::MinorSeventh, Quality::Dominant];
        assert_eq!(qualities(&down), [pair, pair].concat());
        assert_eq!(beats(&down), [2, 2, 2, 2]);
        let name = "ii-Vs by half steps down to ii";
        assert_eq!(find(&spans, 7..8, name), None, "one bar");
        assert_eq!(find(&spans, 2..4, name), None, "on the way to IV");
    }
}

#[test]
fn the_ii_and_its_five_give_way_to_five_and_four() {
    for fifths in KEYS {
        let spans = in_key(WITH_TWO, "C blues", fifths);
        let home = root(&spans[10].chord.unwrap());
        let back = named(&spans, 8..10, "V-IV for ii-V");
        assert_eq!(motions(&back, home), [10, 7]);
        assert_eq!(qualities(&back), [Quality::Dominant; 2]);
        assert_eq!(beats(&back), [4, 4]);
    }
}

/// I7 and IV7 rest: a ii before them is no habit, and neither is an ending that deceives.
#[test]
fn chords_that_rest_need_no_ii() {
    let spans = in_key(TWELVE, "C blues", 0);
    let part = |at: usize, name| named(&spans, at..at + 1, name).rank.part;
    assert_eq!(part(3, "ii before its V"), Part::Usual, "on the way to IV");
    assert_eq!(part(11, "ii before its V"), Part::Usual);
    assert_eq!(part(4, "ii before its V"), Part::Colourful);
    let with_two = in_key(WITH_TWO, "C blues", 0);
    let deceptive = named(&with_two, 10..11, "deceptive: vi");
    assert_eq!(deceptive.rank.part, Part::Bold);
}

#[test]
fn five_and_four_give_way_to_another_road() {
    for fifths in KEYS {
        let spans = in_key(TWELVE, "C blues", fifths);
        let home = root(&spans[10].chord.unwrap());
        let two = named(&spans, 8..10, "ii-V for V-IV");
        assert_eq!(motions(&two, home), [5, 5]);
        let slide = named(&spans, 8..10, "bVI7-V7 for V-IV");
        assert_eq!(motions(&slide, home), [11, 5]);
        assert_eq!(beats(&slide), [4, 4]);
    }
}

/// Outside of the blues its stock is not offered.
#[test]
fn the_stock_stays_in_the_blues() {
    for (text, key) in [
        ("Cmaj7:4 Cmaj7:4 Cmaj7:4 Dm7:4 G7:4 F7:4", "C"),
        ("Cm7:4 Cm7:4 Cm7:4 Dm7b5:4 G7:4 Fm7:4", "Cm"),
    ] {
        let spans = in_key(text, key, 0);
        let offers = all(&spans, 0..spans.len());
        assert!(offers.iter().all(|p| p.substitution != Substitution::Blues));
    }
}
