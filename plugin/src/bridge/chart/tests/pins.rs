//! Pins and scales: what of them sounds, when it does, and that a saved chart brings them back.

use super::*;
use crate::document::{ChordAt, Document, Pass, PinNotes, ScaleName};
use guidehand_theory::tension::TensionRequests;
use std::num::NonZeroU16;

const TEXT: &str = "| Dm7 | G7 | Cmaj7 |";

/// G13 in the A form, an octave too low for the register.
const LOW: [u8; 4] = [41, 45, 47, 52];

fn at(index: usize, symbol: &str) -> ChordAt {
    ChordAt {
        index,
        symbol: symbol.to_owned(),
    }
}

/// A document with the second chord pinned.
fn pinned(text: &str, symbol: &str, pass: Pass) -> Document {
    let document = Document::from(text);
    let notes = LOW.iter().map(|key| MidiNote::new(*key).unwrap());
    let notes = PinNotes::new(notes).unwrap();
    document.with(document.picks.pin(at(1, symbol), pass, notes))
}

fn scale(name: &str) -> ScaleName {
    ScaleName {
        name: name.to_owned(),
        above: 0,
    }
}

/// The keys of a change.
fn keys(chart: &PlannedChart, change: usize, taste: &Taste) -> Vec<u8> {
    let (_, voiced) = chart.voiced(change, taste).unwrap();
    voiced.voicing.notes().map(MidiNote::number).collect()
}

/// Everything that a chart plays, in every texture.
fn all_keys(chart: &PlannedChart) -> Vec<Vec<u8>> {
    let taste = |texture| Taste {
        texture,
        ..Taste::default()
    };
    let of = |texture| (0..chart.changes.len()).map(move |at| keys(chart, at, &taste(texture)));
    Texture::ALL.into_iter().flat_map(of).collect()
}

#[test]
fn every_texture_bends_around_a_pin_and_automation_leaves_it_alone() {
    let (cell, mut receiver) = ChartCell::new();
    cell.set_text(TEXT);
    let free = receiver.take().unwrap();
    cell.set_text(pinned(TEXT, "G7", Pass::Every));
    let chart = receiver.take().unwrap();
    assert_eq!(chart.enters, Enters::AtTheBarLine);
    assert_eq!(chart.unplanned(), None);
    let asked = TensionRequests {
        ninth: guidehand_theory::tension::NinthRequest::Flat9,
        ..TensionRequests::default()
    };
    let high = Register::new(MidiNote::clamp(60), MidiNote::clamp(80));
    for texture in Texture::ALL {
        let plan = chart.plan_of(texture).unwrap();
        let planned: Vec<u8> = plan[1].voicing.notes().map(MidiNote::number).collect();
        assert_eq!(planned, LOW, "{texture:?}");
        for requests in [TensionRequests::default(), asked] {
            for register in [Register::DEFAULT, high] {
                let taste = Taste {
                    texture,
                    register,
                    requests,
                    ..Taste::default()
                };
                assert_eq!(keys(&chart, 1, &taste), LOW, "{texture:?}");
            }
        }
        let free = free.plan_of(texture).unwrap();
        assert_ne!(free[1].voicing, plan[1].voicing);
    }
    let other = |texture| {
        let [free, bent] = [&free, &chart].map(|c| c.plan_of(texture).unwrap()[2].voicing);
        free != bent
    };
    assert!(Texture::ALL.into_iter().any(other), "the plan bends");
    // Under another register the rest is planned anew, and the pin stays.
    cell.look_up(move || {
        let plan_for = PlanFor {
            register: high,
            ..PlanFor::default()
        };
        (plan_for, Shapes::default())
    });
    cell.settle();
    let higher = receiver.take().unwrap();
    assert_eq!(higher.plan_for.register, high);
    assert_eq!(keys(&higher, 1, &Taste::default()), LOW);
}

#[test]
fn a_pin_may_be_for_one_time_only() {
    let (cell, mut receiver) = ChartCell::new();
    let second = Pass::Only(NonZeroU16::new(2).unwrap());
    cell.set_text(pinned("|: Dm7 | G7 :|", "G7", second));
    let chart = receiver.take().unwrap();
    assert_ne!(keys(&chart, 1, &Taste::default()), LOW);
    assert_eq!(keys(&chart, 3, &Taste::default()), LOW);
    assert_eq!((chart.pinned(1), chart.pinned_voicings().len()), (None, 1));
}

#[test]
fn a_scale_changes_nothing_that_sounds() {
    let (cell, mut receiver) = ChartCell::new();
    let document = pinned(TEXT, "G7", Pass::Every);
    cell.set_text(&document);
    assert!(receiver.take().is_some());
    let before = cell.latest();
    let picks = document.picks.choose(at(1, "G7"), Some(scale("altered")));
    let chosen = document.with(picks);
    cell.set_text(&chosen);
    assert!(receiver.take().is_none(), "nothing enters anew");
    let now = cell.latest();
    assert_eq!(now.document(), chosen);
    assert!(now.edition > before.edition);
    let [before, now] = [before, now].map(|read| read.chart.clone().unwrap());
    assert!(Arc::ptr_eq(&before, &now), "nothing is read anew");
    let other = ChartCell::new().0;
    other.load(cell.saved());
    assert_eq!(other.latest().document(), chosen);
}

/// A pin is no other chart: what the panel knows of the chart stays.
#[test]
fn a_pin_is_planned_for_the_chart_that_was_read() {
    let (cell, mut receiver) = ChartCell::new();
    cell.set_text(TEXT);
    let before = cell.latest().chart.clone().unwrap();
    assert!(receiver.take().is_some());
    cell.set_text(pinned(TEXT, "G7", Pass::Every));
    let now = cell.latest().chart.clone().unwrap();
    assert!(Arc::ptr_eq(&before, &now));
    assert_eq!(
        receiver.take().map(|chart| chart.pinned_voicings().len()),
        Some(1)
    );
    cell.set_text(TEXT);
    assert_eq!(
        receiver.take().map(|chart| chart.pinned_voicings().len()),
        Some(0)
    );
}

/// Where the text has errors, the one before sounds with its own pins; the original has its own,
/// too.
#[test]
fn a_saved_chart_plays_the_same() {
    let (cell, mut receiver) = ChartCell::new();
    cell.set_text(pinned(TEXT, "G7", Pass::Every));
    cell.try_out(Some("| Dm7 | Db7 | Cmaj7 |"));
    cell.keep();
    let kept = cell.latest().document();
    assert_eq!(kept.picks.pins().len(), 1, "the notes fit Db7, too");
    cell.set_text("| Dm7 | Db7 | H |");
    let plays = receiver.take().unwrap();
    assert_eq!(keys(&plays, 1, &Taste::default()), LOW);

    let saved = serde_json::to_string(&cell.saved()).unwrap();
    let (other, mut receiver) = ChartCell::new();
    other.load(serde_json::from_str(&saved).unwrap());
    assert_eq!(serde_json::to_string(&other.saved()).unwrap(), saved);
    let loaded = receiver.take().unwrap();
    assert_eq!(all_keys(&loaded), all_keys(&plays));
    other.restore();
    assert_eq!(
        other.latest().document(),
        pinned(TEXT, "G7", Pass::Every),
        "{saved}"
    );
    let restored = receiver.take().unwrap();
    assert_eq!(keys(&restored, 1, &Taste::default()), LOW);
}

/// States from before there were pins are written as they were.
#[test]
fn a_chart_without_picks_is_saved_as_before() {
    for saved in [
        r#"{"text":"| C6 |"}"#,
        r#"{"text":"| X |","sounding":"| C6 |","original":"| F6 |","names":"german"}"#,
        r#"{"text":"| C6 |","lyrics":[1,2]}"#,
    ] {
        let cell = ChartCell::new().0;
        cell.load(serde_json::from_str(saved).unwrap());
        let again = serde_json::to_string(&cell.saved()).unwrap();
        assert_eq!(again, saved);
    }
}

#[test]
fn picks_that_are_no_picks_cost_no_chart() {
    let (cell, mut receiver) = ChartCell::new();
    let odd = r#"{"text":"| C6 | F6 |","pins":{"a":1},"scales":7,"sounding_picks":3,"melody":[1],"sounding_melody":2}"#;
    cell.load(serde_json::from_str(odd).unwrap());
    assert_eq!(receiver.take().map(|chart| chart.changes.len()), Some(2));
}

#[test]
fn a_tried_harmony_keeps_the_pins_of_the_chords_that_stay() {
    let (cell, mut receiver) = ChartCell::new();
    cell.set_text(pinned(TEXT, "G7", Pass::Every));
    assert!(receiver.take().is_some());
    cell.try_out(Some("| Dm7 Am7 | G7 | C6 |"));
    let tried = receiver.take().unwrap();
    assert_eq!(keys(&tried, 2, &Taste::default()), LOW);
    cell.try_out(Some("| Dm7 | Gmaj7 | C6 |"));
    assert_eq!(
        receiver.take().map(|chart| chart.pinned_voicings().len()),
        Some(0)
    );
    cell.try_out(None);
    assert_eq!(
        receiver.take().map(|chart| chart.pinned_voicings().len()),
        Some(1)
    );
}

/// B7 is B flat 7 in German (common practice, no published source).
#[test]
fn in_another_language_a_pin_stays_where_its_chord_holds_it() {
    let (cell, mut receiver) = ChartCell::new();
    for (text, symbol, left) in [("| Dm7 | G7 |", "G7", 1), ("| Dm7 | B7 |", "B7", 0)] {
        cell.set_names(NoteNames::English);
        cell.set_text(pinned(text, symbol, Pass::Every));
        cell.set_names(NoteNames::German);
        let chart = receiver.take().unwrap();
        assert_eq!(chart.pinned_voicings().len(), left, "{text}");
        assert_eq!(cell.latest().picks.pins().len(), left, "{text}");
    }
}
