//! A take from its beginning to the melody that comes of it.

use super::*;
use crate::editor::model::recorder::Recorder;
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
    let read = Some((&chart, &none));
    let (mut takes, mut outside) = (Takes::default(), Recorder::default());
    takes.apply(TakeAction::End, &mut outside);
    assert_eq!((takes.stage(), takes.ended(read, &mut outside)), (Stage::Idle, None));
    takes.apply(TakeAction::Begin, &mut outside);
    block(&mut outside, &[]);
    block(&mut outside, &[note(72, 0), note(74, 960)]);
    takes.take_in(&mut outside);
    assert_eq!((takes.stage(), takes.notes()), (Stage::On, 2));
    assert_eq!(takes.ended(read, &mut outside), None);
    takes.apply(TakeAction::Begin, &mut outside);
    assert_eq!(takes.notes(), 2, "it is under way");
    takes.apply(TakeAction::End, &mut outside);
    takes.take_in(&mut outside);
    assert_eq!(takes.ended(read, &mut outside), None, "the last note is held");
    block(&mut outside, &[note(76, 1920)]);
    // A text that cannot be read keeps it waiting.
    assert_eq!(takes.ended(None, &mut outside), None);
    assert_eq!(takes.stage(), Stage::Ending);
    let melody = takes.ended(read, &mut outside).unwrap();
    assert_eq!(melody.text(&chart), "| C5 D5 E5 |");
    let became = Became {
        notes: 3,
        bars: vec![0],
        ..Became::default()
    };
    assert_eq!((takes.stage(), takes.became()), (Stage::Idle, Some(&became)));
    assert_eq!(takes.ended(read, &mut outside), None, "once");
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
    assert_eq!(takes.ended(Some((&chart, &melody)), &mut outside), None);
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
    takes.ended(Some((&chart, &none)), &mut outside);
    let became = takes.became().unwrap();
    assert_eq!((became.notes, became.lost), (8191, 9));
}
