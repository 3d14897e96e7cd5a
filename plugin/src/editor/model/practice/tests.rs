//! What is done to the exercise and to the record, and undone.

use super::*;
use crate::editor::model::action::Action;
use crate::editor::model::apply::apply;
use crate::editor::model::chart::ChartAction;
use crate::editor::model::files::FilesAction;
use crate::editor::model::files::kind::FileKind;
use crate::editor::model::recorder::{OutsideCall, Recorder};
use crate::editor::model::state::Model;
use crate::editor::view::record::tests::{answered, at, cell, sessions};
use crate::engine::snapshot::Snapshot;
use guidehand_practice::Help;
use guidehand_theory::own_shape::ShapeFamily;

const TEXT: &str = "|: Dm7 | G7 :| Cmaj7 | Am7 D7 |";

fn with(record: Record) -> (Model, Recorder) {
    let mut outside = Recorder::default();
    outside.set_chart(&TEXT.into());
    outside.practice.set_record(record);
    outside.told.clear();
    (Model::new(outside.chart()), outside)
}

fn ask(model: &mut Model, outside: &mut Recorder, action: PracticeAction) {
    apply(model, Action::Practice(action), outside);
    model.refresh(&Snapshot::default(), outside);
}

fn kept(outside: &Recorder) -> usize {
    outside.practice.read().record.sessions().len()
}

fn can_bring_back(model: &Model, outside: &Recorder) -> bool {
    let record = outside.practice.read().record;
    model.pages.practice.can_bring_back(&record)
}

/// One session more, on a day far ahead.
fn practise_on(outside: &Recorder, day: u64) {
    let mut record = outside.practice.read().record.as_ref().clone();
    let grip = cell(
        ShapeFamily::MinorSixth,
        DegreeSet::EMPTY,
        2,
        Position::Third,
    );
    record
        .add(&answered(true, 1), grip, None, at(day, 0))
        .unwrap();
    outside.practice.set_record(record);
}

#[test]
fn another_exercise_is_handed_on_and_the_same_is_not() {
    let (mut model, mut outside) = with(Record::default());
    let same = outside.practice.read().exercise.as_ref().clone();
    let action = PracticeAction::Exercise(Box::new(same.clone()));
    ask(&mut model, &mut outside, action);
    assert_eq!(outside.told, []);
    let other = Exercise {
        help: Help::Everything,
        ..same
    };
    let action = PracticeAction::Exercise(Box::new(other.clone()));
    ask(&mut model, &mut outside, action);
    assert_eq!(*outside.practice.read().exercise, other);
    assert_eq!(outside.told, [OutsideCall::SavedFieldChanged]);
}

#[test]
fn the_drill_is_asked_to_go_on() {
    let (mut model, mut outside) = with(Record::default());
    let asks = [
        PracticeAsk::Begin,
        PracticeAsk::More,
        PracticeAsk::Skip,
        PracticeAsk::End,
    ];
    for one in asks {
        ask(&mut model, &mut outside, PracticeAction::Ask(one));
    }
    assert_eq!(outside.told, asks.map(OutsideCall::Practised));
}

#[test]
fn the_selected_chords_tell_the_bars() {
    let (mut model, mut outside) = with(Record::default());
    for (from, to, bars) in [
        ("G7", "G7", (2, 2)),
        ("Cmaj7", "D7", (5, 6)),
        ("Dm7", "G7", (1, 2)),
    ] {
        let from = TEXT.find(from).unwrap();
        let to = TEXT.find(to).unwrap() + to.len();
        let select = ChartAction::Select(from..to);
        apply(&mut model, Action::Chart(select), &mut outside);
        ask(&mut model, &mut outside, PracticeAction::SelectedBars);
        assert_eq!(outside.practice.read().exercise.bars, Some(bars));
    }
}

#[test]
fn a_record_that_is_emptied_comes_back_with_what_was_practised_since() {
    let (mut model, mut outside) = with(sessions(5));
    let chart = model.chart.document().clone();
    assert!(!can_bring_back(&model, &outside));
    ask(&mut model, &mut outside, PracticeAction::Reset);
    assert_eq!(kept(&outside), 0);
    assert!(can_bring_back(&model, &outside));
    practise_on(&outside, 90);
    assert!(can_bring_back(&model, &outside));
    ask(&mut model, &mut outside, PracticeAction::BringBack);
    assert_eq!(kept(&outside), 6);
    assert!(!can_bring_back(&model, &outside));
    // A second press does nothing, and the chart has no step to undo.
    ask(&mut model, &mut outside, PracticeAction::BringBack);
    assert_eq!(kept(&outside), 6);
    apply(&mut model, Action::Chart(ChartAction::Undo), &mut outside);
    assert_eq!(*model.chart.document(), chart);
}

#[test]
fn a_record_that_came_in_is_undone_until_something_is_practised() {
    let (mut model, mut outside) = with(sessions(3));
    let mut came = sessions(3);
    let grip = cell(ShapeFamily::Altered, DegreeSet::EMPTY, 0, Position::Third);
    came.add(&answered(false, 9), grip, None, at(30, 0))
        .unwrap();
    let said = |said: Said| said.words;
    let practice = &mut model.pages.practice;
    let words = said(practice.join("student.json", &came, &mut outside));
    assert_eq!(
        words,
        "1 session came in from student.json; Bring back undoes it."
    );
    assert_eq!(kept(&outside), 4);
    ask(&mut model, &mut outside, PracticeAction::BringBack);
    assert_eq!(kept(&outside), 3);
    let practice = &mut model.pages.practice;
    let _said = practice.join("student.json", &came, &mut outside);
    let again = said(practice.join("student.json", &came, &mut outside));
    assert_eq!(
        again,
        "student.json brings nothing new: its sessions are in your record."
    );
    assert!(can_bring_back(&model, &outside), "it is still the same");
    practise_on(&outside, 60);
    assert!(!can_bring_back(&model, &outside));
    ask(&mut model, &mut outside, PracticeAction::BringBack);
    assert_eq!(kept(&outside), 5, "nothing is lost");
}

#[test]
fn a_record_goes_to_a_file_and_comes_from_it() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("student");
    let (mut student, mut theirs) = with(sessions(4));
    let typed = FilesAction::Path(path.display().to_string());
    let work = |model: &mut Model, outside: &mut Recorder, action: FilesAction| {
        apply(model, Action::Files(action), outside);
        outside.do_work();
        model.refresh(&Snapshot::default(), outside);
        model.pages.files.said().unwrap().clone()
    };
    apply(&mut student, Action::Files(typed), &mut theirs);
    let write = || FilesAction::Write(FileKind::Record);
    let said = work(&mut student, &mut theirs, write());
    assert!(!said.failed, "{said:?}");
    // Another press asks before the file is replaced.
    let said = work(&mut student, &mut theirs, write());
    assert!(
        said.words.ends_with("press export to replace it."),
        "{said:?}"
    );
    let (mut teacher, mut ours) = with(sessions(2));
    let file = folder.path().join("student.json");
    let typed = FilesAction::Path(file.display().to_string());
    apply(&mut teacher, Action::Files(typed), &mut ours);
    let said = work(&mut teacher, &mut ours, FilesAction::ReadRecord);
    assert!(
        said.words.starts_with("2 sessions came in from"),
        "{said:?}"
    );
    assert_eq!(kept(&ours), 4);
    std::fs::write(&file, "{\"format\":").unwrap();
    let said = work(&mut teacher, &mut ours, FilesAction::ReadRecord);
    assert!(said.failed && said.words.contains("holds no record that can be read"));
    assert_eq!(kept(&ours), 4);
}

#[test]
fn the_look_of_the_record_follows_it_while_it_is_shown() {
    let (mut model, mut outside) = with(sessions(2));
    let answers = |model: &Model| model.pages.practice.look().answers;
    model.refresh(&Snapshot::default(), &mut outside);
    assert_eq!(answers(&model), 0, "nobody looks");
    let face = PracticeAction::Face(Face::Record);
    ask(&mut model, &mut outside, face);
    assert_eq!(answers(&model), 40);
    practise_on(&outside, 90);
    model.refresh(&Snapshot::default(), &mut outside);
    assert_eq!(answers(&model), 41);
    let filter = Filter {
        position: Some(Position::Seventh),
        ..Filter::default()
    };
    ask(&mut model, &mut outside, PracticeAction::Filter(filter));
    let rows = &model.pages.practice.look().rows;
    let asked = rows.iter().flat_map(|row| &row.spots);
    assert_eq!(asked.filter(|spot| spot.right.is_some()).count(), 10);
}
