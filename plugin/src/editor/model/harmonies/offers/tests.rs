//! Offers over progressions of our own, in all keys.

use super::*;
use crate::editor::model::harmonies::melody;
use guidehand_theory::chart::{TICKS_PER_QUARTER, parse};
use guidehand_theory::key::Mode;
use guidehand_theory::melody::Melody;
use guidehand_theory::pitch::PitchClass;
use guidehand_theory::symbol;

/// ii, V, I and VI in a major key, a bar each.
fn cadence(key: Key) -> String {
    let name = |semitones: i8| key.name(key.tonic.class().up(semitones));
    format!(
        "| {}m7 | {}7 | {}maj7 | {}7 |",
        name(2),
        name(7),
        name(0),
        name(9)
    )
}

fn keys() -> impl Iterator<Item = Key> {
    (0..12).map(|class| Key::usual(PitchClass::wrapping(class), Mode::Major))
}

fn find<'a>(offers: &'a Offers, name: &str) -> &'a Offer {
    let found = offers.fits.iter().find(|offer| offer.name == name);
    found.unwrap_or_else(|| panic!("no {name} in {:?}", offers.fits))
}

#[test]
fn the_substitute_of_a_dominant_is_written_in_its_place_in_all_keys() {
    for key in keys() {
        let text = cadence(key);
        let chart = parse(&text).unwrap();
        let offers = offers(&chart, &(1..2), &[], None);
        let row = find(&offers, "tritone substitute");
        let five = chart.changes[1].chord.unwrap();
        assert_eq!(row.instead_of, view::symbol(&five), "{text}");
        let new = row.write(&text, &chart).unwrap();
        let read = parse(&new).unwrap();
        for (at, change) in read.changes.iter().enumerate() {
            let (new, old) = (change.chord.unwrap(), chart.changes[at].chord.unwrap());
            if at == 1 {
                let (new, old) = (new.root.class(), old.root.class());
                assert_eq!(new.above(old), 6, "{text}");
                assert_eq!(view::symbol(&change.chord.unwrap()), row.chords);
            } else {
                assert_eq!(new, old, "{text}");
            }
        }
    }
}

#[test]
fn every_row_that_is_listed_can_be_written_and_says_what_it_writes() {
    for key in keys() {
        let text = cadence(key);
        let chart = parse(&text).unwrap();
        for at in [0..1, 1..2, 0..2, 1..3, 0..4] {
            let offers = offers(&chart, &at, &[], None);
            assert!(!offers.fits.is_empty(), "{text} {at:?}");
            assert_eq!(offers.ruled_out, []);
            let parts = offers.fits.iter().map(|row| row.part);
            assert!(parts.is_sorted(), "{text} {at:?}");
            for row in &offers.fits {
                let new = row.write(&text, &chart);
                let new = new.unwrap_or_else(|| panic!("{text}: {row:?}"));
                let read = parse(&new).unwrap();
                assert_eq!(read.length_ticks(), chart.length_ticks());
                let count = read.changes.len() + row.at.len() - chart.changes.len();
                let written = names(&read, &(row.at.start..row.at.start + count));
                let shown = row.chords.split([' ', '|', '/']);
                let chords: Vec<_> = row.parts.iter().map(|(chord, _)| word(*chord)).collect();
                assert_eq!(written, chords.join(" "), "{text}: {row:?}");
                for chord in &chords {
                    let over_bass = chord.contains('/') && row.chords.contains(chord);
                    assert!(over_bass || shown.clone().any(|w| w == chord), "{row:?}");
                }
            }
        }
    }
}

#[test]
fn the_melody_rules_out_with_a_reason_in_all_keys() {
    for key in keys() {
        let text = cadence(key);
        let chart = parse(&text).unwrap();
        // The root of V lies a half step above the 7th of the substitute's own ii.
        let five = chart.changes[1].chord.unwrap();
        let melody = melody::with_line(&Melody::default(), &chart, &(1..2), &[Some(five.root)]);
        let free = offers(&chart, &(1..2), &[], None);
        let bound = offers(&chart, &(1..2), &melody::notes(&melody, &chart), None);
        let name = "ii-V of the tritone substitute";
        find(&free, name);
        let out = bound.ruled_out.iter().find(|out| out.offer.name == name);
        let out = out.unwrap_or_else(|| panic!("{text}: {bound:?}"));
        assert!(out.why.contains("a half step above its ♭7"), "{}", out.why);
        assert!(bound.fits.iter().all(|row| row.name != name));
        find(&bound, "tritone substitute");
        let count = bound.fits.len() + bound.ruled_out.len();
        assert_eq!(count, free.fits.len(), "nothing is lost");
    }
}

/// Each chord is divided in the meter of its own bar, whatever meter the selection begins in.
#[test]
fn new_chords_follow_the_meter_of_their_bar() {
    let chart = parse("| Dm7 | G7 | 3/4 Cmaj7 | Am7 | Dm7 | G7 |").unwrap();
    let all = offers(&chart, &(0..chart.changes.len()), &[], None);
    let halved = |at: usize| {
        let name = "secondary dominant before the next chord";
        let mut rows = all.fits.iter().filter(|row| row.name == name);
        let row = rows.find(|row| row.place() == (at..at + 1));
        row.unwrap_or_else(|| panic!("none at {at}")).chords.clone()
    };
    assert_eq!(halved(0), "Dm7 D7");
    assert_eq!(halved(3), "Am7 / A7");
}

#[test]
fn chords_are_told_as_the_chart_writes_them() {
    let chart = parse("| Dm7 | G7 | Cmaj7 | % |").unwrap();
    let all = offers(&chart, &(0..2), &[], None);
    let two = all
        .fits
        .iter()
        .find(|row| row.name == "ii-V before the next chord");
    assert_eq!(two.unwrap().chords, "Dm7 / Am7 D7");
    assert_eq!(two.unwrap().instead_of, "Dm7");
    assert_eq!(find(&all, "dominant pedal").chords, "Dm7/G | G7");
    assert_eq!(find(&all, "dominant pedal").instead_of, "Dm7 G7");
    let slip = find(&all, "side-slip from below");
    assert_eq!(slip.reason, "D♭m7 G♭7 lie a half step beside the key");
}

#[test]
fn a_repeated_bar_that_would_differ_is_not_written() {
    let text = "|: Dm7 | G7 :| Cmaj7 | % |";
    let chart = parse(text).unwrap();
    // The second playing leads home.
    let offers = offers(&chart, &(3..4), &[], None);
    let substitute = find(&offers, "tritone substitute");
    // Through the end of the repeat, with another chord before it than after.
    let parts = ["Db7", "Dm7", "G7"].map(|word| (symbol::parse(word).ok(), 4 * TICKS_PER_QUARTER));
    let through = Offer {
        at: 1..4,
        parts: parts.to_vec(),
        ..substitute.clone()
    };
    assert_eq!(through.write(text, &chart), None);
    let new = substitute.write(text, &chart);
    assert_eq!(new.as_deref(), Some("|: Dm7 | Db7 :| Cmaj7 | % |"));
}

#[test]
fn a_long_selection_is_answered_for_its_first_chords() {
    let text = "| Dm7 | G7 | Cmaj7 | A7 |\n".repeat(20);
    let chart = parse(&text).unwrap();
    let offers = offers(&chart, &(8..80), &[], None);
    assert_eq!(offers.fits.len(), MOST_ROWS);
    assert!(offers.unlisted > 0);
    assert!(offers.fits.iter().all(|row| row.at.end <= 8 + place::MOST));
}
