//! The melody that is written over the chart: what is planned under it, which one is in force, and
//! that it is saved and loaded.

use super::*;
use crate::document::Document;
use guidehand_theory::comping::Yielding;
use guidehand_theory::melody::Melody;

const TEXT: &str = "| Dm7 | G7b9 | Cmaj7 | Cmaj7 |";

/// An A over G7(b9), and a C over Cmaj7.
const MELODY: &str = "| D5/1 | A5/1 | C5/1 | G5/1 |";

fn document(melody: &str) -> Document {
    Document::from(TEXT).with_melody(melody)
}

/// A cell that plans for this much yielding.
fn yielding(yielding: Yielding) -> (ChartCell, PlannedReceiver) {
    let (cell, receiver) = ChartCell::new();
    cell.look_up(move || {
        let plan_for = PlanFor {
            yielding,
            ..PlanFor::default()
        };
        (plan_for, Shapes::default())
    });
    (cell, receiver)
}

fn classes(chart: &PlannedChart, change: usize, texture: Texture) -> HashSet<u8> {
    let (_, voiced) = chart.voiced(change, &taste(texture)).unwrap();
    let notes = voiced.voicing.notes();
    notes.map(|note| note.number() % 12).collect()
}

fn taste(texture: Texture) -> Taste {
    Taste {
        texture,
        ..Taste::default()
    }
}

fn keys(melody: &Melody) -> Vec<u8> {
    let notes = melody.notes().iter();
    notes.map(|note| note.note.number()).collect()
}

/// The melody that the newest chart was planned under.
fn planned_under(cell: &ChartCell) -> Vec<u8> {
    let planned = cell.latest().planned.clone();
    keys(planned.unwrap().melody())
}

/// A is a half step above the b9, and C a half step above the major seventh (common practice, no
/// published source).
#[test]
fn chords_yield_to_what_is_written() {
    const A_FLAT: u8 = 8;
    const B: u8 = 11;
    let (cell, mut receiver) = yielding(Yielding::Tensions);
    cell.set_text(document(""));
    let plain = receiver.take().unwrap();
    cell.set_text(document(MELODY));
    let under = receiver.take().unwrap();
    assert_eq!(under.enters, Enters::AtTheBarLine);
    for texture in Texture::ALL {
        let [b9, no_b9] = [&plain, &under].map(|chart| classes(chart, 1, texture));
        assert!(!no_b9.contains(&A_FLAT), "{texture:?}: {no_b9:?}");
        let [_, no_seventh] = [&plain, &under].map(|chart| classes(chart, 2, texture));
        assert!(!no_seventh.contains(&B), "{texture:?}: {no_seventh:?}");
        if texture == Texture::FourNotes {
            assert!(b9.contains(&A_FLAT), "{b9:?}");
        }
    }
    let taste = taste(Texture::FourNotes);
    let (_, told) = under.agreeing(1, &taste, Yielding::Tensions).unwrap();
    assert_eq!(told.yields.len(), 1, "{:?}", told.yields);
    let (_, told) = under.agreeing(0, &taste, Yielding::Tensions).unwrap();
    assert!(told.yields.is_empty(), "{:?}", told.yields);
    // It is the cheapest way under the melody, and not one that was bent afterwards.
    let chart = cell.latest().chart.clone().unwrap();
    let melody = cell.latest().melody.clone().unwrap();
    let above = pipeline::under(&chart, &melody, Yielding::Tensions);
    let (register, ends) = (Register::DEFAULT, Ends::Cyclic);
    let chords = under.chords();
    for texture in Texture::ALL {
        let own = guidehand_theory::own_shape::Own::NONE;
        let plan = pipeline::plan_under(&chords, texture, register, ends, &[], own, &above);
        let plan: Vec<Voiced> = plan.into_iter().flatten().map(|a| a.voiced).collect();
        assert_eq!(under.plan_of(texture).unwrap()[..], plan, "{texture:?}");
    }
}

#[test]
fn chords_that_do_not_yield_are_planned_as_without_a_melody() {
    let (cell, mut receiver) = yielding(Yielding::Off);
    cell.set_text(document(""));
    let plain = receiver.take().unwrap();
    cell.set_text(document(MELODY));
    let under = receiver.take().unwrap();
    for texture in Texture::ALL {
        assert_eq!(under.plan_of(texture), plain.plan_of(texture));
    }
    assert_eq!(keys(under.melody()), [74, 81, 72, 79]);
}

/// Automation sounds alike before and after the worker has planned for it: nothing clashes.
#[test]
fn until_it_is_planned_anew_a_chord_is_adapted() {
    let (cell, mut receiver) = yielding(Yielding::Off);
    cell.set_text(document(MELODY));
    let chart = receiver.take().unwrap();
    let taste = taste(Texture::FourNotes);
    let told = |yielding| chart.agreeing(1, &taste, yielding).unwrap().1;
    assert!(told(Yielding::Off).yields.is_empty());
    assert_eq!(
        told(Yielding::Off).voiced,
        chart.voiced(1, &taste).unwrap().1
    );
    assert_eq!(told(Yielding::Tensions).yields.len(), 1);
}

#[test]
fn a_melody_with_errors_is_kept_and_the_last_good_one_stays() {
    for typed in [false, true] {
        let (cell, _receiver) = yielding(Yielding::Tensions);
        let edit = |document: Document| {
            if typed {
                cell.type_text(document);
                cell.settle();
            } else {
                cell.set_text(document);
            }
        };
        edit(document(MELODY));
        let wrong = "| D5/1 | A5/1 | C5/1 | G5/2 x |";
        edit(document(wrong));
        let latest = cell.latest();
        assert_eq!(latest.document(), document(wrong));
        assert!(latest.chart.is_ok());
        let [error] = latest.melody_errors() else {
            panic!("{:?}", latest.melody_errors());
        };
        assert_eq!((error.bar, &wrong[error.source.clone()]), (4, "x"));
        assert_eq!(planned_under(&cell), [74, 81, 72, 79]);

        // The chart may change meanwhile.
        edit(Document::from("| Dm7 | G7 | C6 | C6 | F6 |").with_melody(wrong));
        assert_eq!(planned_under(&cell), [74, 81, 72, 79]);
        // Of a shorter one it is what is left.
        edit(Document::from("| Dm7 | G7 | C6 |").with_melody(wrong));
        assert_eq!(planned_under(&cell), [74, 81, 72]);

        let saved = serde_json::to_string(&cell.saved()).unwrap();
        let (other, _receiver) = yielding(Yielding::Tensions);
        other.set_text(document("| B4/1 | | | |"));
        other.load(serde_json::from_str(&saved).unwrap());
        assert_eq!(other.latest().document(), cell.latest().document());
        assert_eq!(planned_under(&other), [74, 81, 72]);
        assert_eq!(serde_json::to_string(&other.saved()).unwrap(), saved);

        edit(Document::from("| Dm7 | G7 | C6 |"));
        assert!(planned_under(&cell).is_empty());
    }
}

#[test]
fn a_melody_over_a_text_with_errors_stays_in_force_with_its_chart() {
    let (cell, _receiver) = yielding(Yielding::Tensions);
    cell.set_text(document(MELODY));
    let wrong = Document::from("| Dm7 | H7 |").with_melody("| E5/1 |");
    cell.set_text(&wrong);
    let latest = cell.latest();
    assert_eq!(latest.document(), wrong);
    assert_eq!(latest.melody_errors(), [], "nothing is known of it");
    let saved = cell.saved();
    assert_eq!(saved.sounding.as_deref(), Some(TEXT));
    assert_eq!(saved.sounding_melody.as_deref(), Some(MELODY));

    let (other, mut receiver) = yielding(Yielding::Tensions);
    assert!(receiver.take().is_some());
    other.load(saved);
    assert_eq!(keys(receiver.take().unwrap().melody()), [74, 81, 72, 79]);
    assert_eq!(other.latest().document(), wrong);
}

/// Of texts that were finished and never read, the last good melody counts.
#[test]
fn texts_that_were_never_read_hand_their_melodies_on() {
    let (cell, work, mut receiver) = by_hand();
    cell.set_text(document(MELODY));
    cell.set_text(document("| E5/1 | | | |"));
    cell.set_text(document("| x |"));
    cell.set_text(Document::from("| H |").with_melody("| B5 |"));
    while work.step(Depth::All) {}
    assert_eq!(keys(receiver.take().unwrap().melody()), [76]);
}

#[test]
fn another_harmony_is_tried_and_kept_under_the_same_melody() {
    let (cell, mut receiver) = yielding(Yielding::Tensions);
    cell.set_text(document(MELODY));
    let wrong = "| D5/1 | A5/1 | C5/1 | G5/2 x |";
    for (melody, errors) in [(MELODY, 0), (wrong, 1)] {
        cell.set_text(document(melody));
        cell.try_out(Some("| Dm7 | Db7 | Cmaj7 | Cmaj7 |"));
        assert_eq!(keys(receiver.take().unwrap().melody()), [74, 81, 72, 79]);
        cell.keep();
        let latest = cell.latest();
        assert_eq!(&*latest.melody_text, melody, "as it was typed");
        assert_eq!(latest.melody_errors().len(), errors);
        assert_eq!(planned_under(&cell), [74, 81, 72, 79]);
        assert_eq!(cell.saved().original_melody.as_deref(), Some(melody));
        cell.restore();
        assert_eq!(cell.latest().document(), document(melody));
    }
    // No melody is none to go back to.
    cell.set_text(document(""));
    cell.try_out(Some("| Dm7 | Db7 | Cmaj7 | Cmaj7 |"));
    cell.keep();
    let kept = cell.latest().document();
    cell.set_text(kept.with_melody(MELODY));
    cell.restore();
    assert_eq!(cell.latest().document(), document(MELODY));
}

#[test]
fn a_saved_chart_brings_its_melody_and_an_old_one_has_none() {
    let (cell, _receiver) = yielding(Yielding::Tensions);
    cell.set_text(document(MELODY));
    let saved = serde_json::to_string(&cell.saved()).unwrap();
    let (other, mut receiver) = yielding(Yielding::Tensions);
    other.load(serde_json::from_str(&saved).unwrap());
    assert_eq!(other.latest().document(), document(MELODY));
    assert_eq!(serde_json::to_string(&other.saved()).unwrap(), saved);
    assert_eq!(keys(receiver.take().unwrap().melody()), [74, 81, 72, 79]);
    let old = r#"{"text":"| C6 | F6 |"}"#;
    other.load(serde_json::from_str(old).unwrap());
    assert_eq!(serde_json::to_string(&other.saved()).unwrap(), old);
    assert!(receiver.take().unwrap().melody().is_empty());
}

#[test]
fn notes_are_named_as_those_of_the_chart() {
    let (cell, _receiver) = yielding(Yielding::Tensions);
    let document = Document::from("| C6 |").with_melody("| H4/1 |");
    cell.set_text(&document);
    assert_eq!(cell.latest().melody_errors().len(), 1);
    cell.set_names(NoteNames::German);
    assert_eq!(cell.latest().melody_errors(), []);
    assert_eq!(planned_under(&cell), [71]);
}
