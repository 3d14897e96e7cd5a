//! A take from its beginning to the melody that comes of it.

use super::*;
use crate::editor::model::action::Action;
use crate::editor::model::apply::apply;
use crate::editor::model::chart::ChartAction;
use crate::editor::model::recorder::Recorder;
use crate::editor::model::state::Model;
use crate::engine::snapshot::Snapshot;
use crate::engine::taken::{TakenBar, TakenNote};
use guidehand_theory::chart;

fn note(key: u8, start: u32) -> Taken {
    Taken::Note(TakenNote {
        key,
        pass: 1,
        start_ticks: start,
        ended_pass: 1,
        end_ticks: start + 950,
        off_beat: 0.5,
        bar: TakenBar {
            start_ticks: start / 3840 * 3840,
            length_ticks: 3840,
        },
    })
}

fn chart_of() -> Chart {
    chart::parse("| Dm7 | G7 |").unwrap()
}

/// The audio thread sees what is wanted and begins or ends it.
fn block(outside: &mut Recorder, notes: &[Taken]) {
    let (wanted, audio) = (outside.take_there.wanted(), &mut outside.take_there);
    notes.iter().for_each(|note| audio.send(*note));
    if wanted != outside.taking {
        outside.taking = wanted;
        if wanted != 0 {
            audio.send(Taken::Begun(wanted));
        }
        audio.tell(wanted);
    }
}

#[test]
fn a_take_becomes_the_melody_when_it_has_ended() {
    let (chart, none) = (chart_of(), Melody::default());
    let (mut takes, mut outside) = (Takes::default(), Recorder::default());
    takes.apply(TakeAction::End, &mut outside);
    assert_eq!(
        (takes.stage(), takes.ended(&chart, &none, &mut outside)),
        (Stage::Idle, None)
    );
    takes.apply(TakeAction::Begin, &mut outside);
    block(&mut outside, &[]);
    block(&mut outside, &[note(72, 0), note(74, 960)]);
    takes.take_in(&mut outside);
    assert_eq!((takes.stage(), takes.notes()), (Stage::On, 2));
    assert_eq!(takes.ended(&chart, &none, &mut outside), None);
    takes.apply(TakeAction::Begin, &mut outside);
    assert_eq!(takes.notes(), 2, "it is under way");
    takes.apply(TakeAction::End, &mut outside);
    takes.take_in(&mut outside);
    assert_eq!(
        takes.ended(&chart, &none, &mut outside),
        None,
        "the last note is held"
    );
    block(&mut outside, &[note(76, 1920)]);
    let melody = takes.ended(&chart, &none, &mut outside).unwrap();
    assert_eq!(melody.text(&chart), "| C5 D5 E5 |");
    let became = Became {
        notes: 3,
        bars: vec![1],
        ..Became::default()
    };
    assert_eq!(
        (takes.stage(), takes.became()),
        (Stage::Idle, Some(&became))
    );
    assert_eq!(takes.ended(&chart, &none, &mut outside), None, "once");
}

#[test]
fn what_a_take_has_become_is_told() {
    let told = |bars: &[usize], without_bar, lost| {
        let became = Became {
            notes: 9,
            bars: bars.to_vec(),
            without_bar,
            lost,
        };
        became.words()
    };
    assert_eq!(told(&[], 0, 0), "Nothing was played over the chart.");
    assert_eq!(told(&[0], 0, 0), "The pickup is new.");
    assert_eq!(
        told(&[7], 1, 0),
        "Bar 7 is new. The chart no longer has the bars of 1 note."
    );
    assert_eq!(
        told(&[0, 1, 2, 5, 7, 8], 0, 3),
        "Bars 0 to 2, 5, 7 to 8 are new. There was no room for 3 notes while the panel was closed."
    );
}

/// A take in which nothing is played leaves the melody as it is.
#[test]
fn an_empty_take_changes_nothing() {
    let chart = chart_of();
    let melody = guidehand_theory::melody::parse("| C5/1 |", &chart).unwrap();
    let (mut takes, mut outside) = (Takes::default(), Recorder::default());
    takes.apply(TakeAction::Begin, &mut outside);
    block(&mut outside, &[]);
    takes.apply(TakeAction::End, &mut outside);
    block(&mut outside, &[]);
    assert_eq!(takes.ended(&chart, &melody, &mut outside), None);
    assert_eq!(takes.became(), Some(&Became::default()));
}

/// What is still on its way from an earlier take does not belong to a new one.
#[test]
fn notes_of_an_earlier_take_do_not_count() {
    let (mut takes, mut outside) = (Takes::default(), Recorder::default());
    takes.apply(TakeAction::Begin, &mut outside);
    block(&mut outside, &[]);
    block(&mut outside, &[note(72, 0)]);
    let mut other = Takes::default();
    other.apply(TakeAction::Begin, &mut outside);
    other.take_in(&mut outside);
    assert_eq!(other.notes(), 0);
    block(&mut outside, &[note(74, 0)]);
    block(&mut outside, &[note(76, 960)]);
    other.take_in(&mut outside);
    assert_eq!(other.notes(), 1);
}

/// Notes for which there was no room are told.
#[test]
fn notes_that_are_lost_are_told() {
    let (chart, none) = (chart_of(), Melody::default());
    let (mut takes, mut outside) = (Takes::default(), Recorder::default());
    takes.apply(TakeAction::Begin, &mut outside);
    block(&mut outside, &[]);
    // The window is closed for a long time. The beginning has a place of its own in the queue.
    (0..8200).for_each(|_| outside.take_there.send(note(72, 0)));
    takes.apply(TakeAction::End, &mut outside);
    block(&mut outside, &[]);
    takes.take_in(&mut outside);
    takes.ended(&chart, &none, &mut outside);
    let became = takes.became().unwrap();
    assert_eq!((became.notes, became.lost), (8191, 9));
}

/// The panel with a chart, and a take that is under way and has these notes.
fn taking(text: &str, notes: &[Taken]) -> (Model, Recorder) {
    let mut outside = Recorder::default();
    outside.set_chart(&text.into());
    let mut model = Model::new(outside.chart());
    apply(&mut model, Action::Take(TakeAction::Begin), &mut outside);
    block(&mut outside, &[]);
    block(&mut outside, notes);
    (model, outside)
}

fn end(model: &mut Model, outside: &mut Recorder) {
    apply(model, Action::Take(TakeAction::End), outside);
    block(outside, &[]);
    model.refresh(&Snapshot::default(), outside);
}

fn type_melody(model: &mut Model, outside: &mut Recorder, text: &str) {
    let typed = ChartAction::Melody {
        text: text.to_owned(),
        now_seconds: 0.0,
        finished: true,
    };
    apply(model, Action::Chart(typed), outside);
    outside.read();
    model.refresh(&Snapshot::default(), outside);
}

/// The bars of a take come into the document as one step, with the names of the key. The melody before
/// comes back with one undo.
#[test]
fn a_take_is_one_step_of_the_document() {
    let (mut model, mut outside) =
        taking("| Bbm7 | Eb7 | Abmaj7 |", &[note(73, 3840), note(75, 4800)]);
    type_melody(&mut model, &mut outside, "| F5/1 | G5 | C5 |");
    end(&mut model, &mut outside);
    assert_eq!(
        &*model.chart.document().melody,
        "| F5/1 | Db5/4 Eb5 r/2 | C5/1 |"
    );
    apply(&mut model, Action::Chart(ChartAction::Undo), &mut outside);
    assert_eq!(&*model.chart.document().melody, "| F5/1 | G5 | C5 |");
    apply(&mut model, Action::Chart(ChartAction::Redo), &mut outside);
    assert_eq!(
        &*model.chart.document().melody,
        "| F5/1 | Db5/4 Eb5 r/2 | C5/1 |"
    );
}

/// What cannot be read keeps a take waiting, and nothing is lost.
#[test]
fn a_take_waits_for_a_text_that_can_be_read() {
    let (mut model, mut outside) = taking("| Dm7 | G7 |", &[note(72, 0)]);
    type_melody(&mut model, &mut outside, "| F5/1 | H5? |");
    end(&mut model, &mut outside);
    assert_eq!(&*model.chart.document().melody, "| F5/1 | H5? |");
    assert_eq!(model.pages.takes.stage(), Stage::Ending);
    type_melody(&mut model, &mut outside, "| F5/1 | B5 |");
    model.refresh(&Snapshot::default(), &mut outside);
    assert_eq!(&*model.chart.document().melody, "| C5 r/2. | B5/1 |");
    assert_eq!(model.pages.takes.stage(), Stage::Idle);
}

/// The chart is edited while the take is under way: bars that are still there have what was played.
#[test]
fn a_chart_may_be_edited_during_a_take() {
    let (mut model, mut outside) = taking("| Dm7 | G7 |", &[note(72, 0), note(74, 3840)]);
    let put = ChartAction::Put("| Em7 | 3/4 A7 | D6 |".to_owned());
    apply(&mut model, Action::Chart(put), &mut outside);
    outside.read();
    model.refresh(&Snapshot::default(), &mut outside);
    end(&mut model, &mut outside);
    assert_eq!(&*model.chart.document().melody, "| C5 |");
    let became = model.pages.takes.became().unwrap();
    assert_eq!((became.without_bar, became.bars.as_slice()), (1, &[1][..]));
}
