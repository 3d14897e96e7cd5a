//! What a player asks for is carried out as it was asked for, on a panel whose outside is recorded.

mod files;
mod melody;

use super::*;
use crate::document::{ChordPlayed, ScaleName};
use crate::document::{Pass, PinNotes};
use crate::editor::model::files::kind::FileKind;
use crate::editor::model::parameters::{Gesture, Move, ParameterId, Value};
use crate::editor::model::recorder::{OutsideCall, Recorder};
use crate::editor::model::transpose::Direction;
use crate::engine::settings::Source;
use crate::engine::snapshot::Snapshot;
use crate::engine::trial::{Pace, Request, Step};
use crate::params::Look;
use guidehand_exchange::practice::Order;
use guidehand_theory::chart;
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::under::Style;

const TEXT: &str = "| Dm7 | G7 | Cmaj7 | % |";

/// A panel with a chart and what lies around it.
fn with(text: &str) -> (Model, Recorder) {
    let mut outside = Recorder::default();
    outside.set_chart(&text.into());
    outside.told.clear();
    (Model::new(outside.chart()), outside)
}

/// Opens the page of other harmonies, with the cursor on a chord.
fn ask(model: &mut Model, outside: &mut Recorder, chord: &str) {
    let at = TEXT.find(chord).unwrap();
    apply(model, Action::Page(Page::Harmonies), outside);
    let cursor = ChartAction::Select(at..at);
    apply(model, Action::Chart(cursor), outside);
    model.refresh(&Snapshot::default(), outside);
}

fn offer(model: &Model, name: &str) -> Action {
    let offers = model.pages.harmonies.offers();
    let offer = offers.fits.iter().find(|offer| offer.name == name);
    Action::Harmonies(HarmoniesAction::Press(offer.unwrap().clone()))
}

#[test]
fn parameters_and_the_panel_are_told_as_they_are_asked_for() {
    let (mut model, mut outside) = with(TEXT);
    let moves = [Gesture::Begin, Gesture::Change, Gesture::End].map(|gesture| Move {
        id: ParameterId::Swing,
        value: Value::Plain(0.6),
        gesture,
    });
    for one in &moves {
        apply(&mut model, Action::Parameter(one.clone()), &mut outside);
    }
    let look = Action::Panel(PanelAction::Look(Look::Light));
    apply(&mut model, look, &mut outside);
    let saved = SavedPanel {
        look: Look::Light,
        ..outside.panel()
    };
    let moved = moves.map(OutsideCall::Moved);
    assert_eq!(outside.told[..3], moved);
    assert_eq!(outside.told[3..], [OutsideCall::Panel(saved)]);
}

#[test]
fn what_is_to_be_heard_is_asked_for_and_stopped() {
    let (mut model, mut outside) = with(TEXT);
    let requests = [MidiNote::MIN, MidiNote::MAX].map(|note| {
        let steps = [Step::note(note)];
        Box::new(Request::new(Pace::Free, steps))
    });
    for request in &requests {
        apply(&mut model, Action::Hear(request.clone()), &mut outside);
    }
    apply(&mut model, Action::StopHearing, &mut outside);
    let [first, second] = requests.map(OutsideCall::Auditioned);
    assert_eq!(outside.told, [first, second, OutsideCall::AuditionStopped]);
}

#[test]
fn an_edit_is_handed_on_and_undone_and_done_again() {
    let (mut model, mut outside) = with(TEXT);
    let longer = format!("{TEXT} F6 |");
    let typed = ChartAction::Type {
        text: longer.clone(),
        cursor: longer.len()..longer.len(),
        now_seconds: 0.0,
        finished: false,
    };
    for action in [typed, ChartAction::Undo, ChartAction::Redo] {
        apply(&mut model, Action::Chart(action), &mut outside);
    }
    let told = [
        OutsideCall::Typed(longer.clone()),
        OutsideCall::Chart(TEXT.to_owned()),
        OutsideCall::Chart(longer.clone()),
    ];
    assert_eq!(outside.told, told);
    assert_eq!(model.chart.written(), longer);
}

/// Of all edits only typing waits until it rests.
#[test]
fn what_is_no_typing_is_finished() {
    let (mut model, mut outside) = with(TEXT);
    let broken = format!("{TEXT}\n");
    let line_break = ChartAction::Type {
        text: broken.clone(),
        cursor: broken.len()..broken.len(),
        now_seconds: 0.0,
        finished: true,
    };
    for action in [
        line_break,
        ChartAction::Undo,
        ChartAction::Redo,
        ChartAction::Transpose(Direction::Up),
        ChartAction::Put("| F6 |".to_owned()),
    ] {
        apply(&mut model, Action::Chart(action), &mut outside);
    }
    let practise = FilesAction::Practise(Order::HalfSteps);
    apply(&mut model, Action::Files(practise), &mut outside);
    assert_eq!(outside.told.len(), 6);
    let finished = |told: &OutsideCall| matches!(told, OutsideCall::Chart(_));
    assert!(outside.told.iter().all(finished), "{:?}", outside.told);
}

#[test]
fn a_harmony_is_tried_and_kept() {
    let (mut model, mut outside) = with(TEXT);
    ask(&mut model, &mut outside, "G7");
    let press = offer(&model, "tritone substitute");
    outside.told.clear();
    apply(&mut model, press, &mut outside);
    apply(
        &mut model,
        Action::Harmonies(HarmoniesAction::Keep),
        &mut outside,
    );
    let other = "| Dm7 | Db7 | Cmaj7 | % |".to_owned();
    let told = [
        OutsideCall::Tried(Some(other.clone())),
        OutsideCall::Kept(other),
    ];
    assert_eq!(outside.told, told);
}

#[test]
fn what_was_asked_for_about_another_chart_is_not_done() {
    let (mut model, mut outside) = with(TEXT);
    ask(&mut model, &mut outside, "G7");
    let press = offer(&model, "tritone substitute");
    let put = ChartAction::Put("| F6 |".to_owned());
    apply(&mut model, Action::Chart(put), &mut outside);
    outside.told.clear();
    apply(&mut model, press, &mut outside);
    assert_eq!(outside.told, []);
}

#[test]
fn the_page_of_the_bass_opens_and_closes_with_its_source() {
    let (mut model, mut outside) = with(TEXT);
    for (source, page) in [
        (Source::Bass, Page::Bass),
        (Source::Chart, Page::Chart),
        (Source::Roots, Page::Chart),
    ] {
        outside.settings.source = source;
        model.refresh(&Snapshot::default(), &mut outside);
        assert_eq!(model.pages.open, page);
    }
    apply(&mut model, Action::Page(Page::Voicing), &mut outside);
    outside.settings.source = Source::Chart;
    model.refresh(&Snapshot::default(), &mut outside);
    assert_eq!(model.pages.open, Page::Voicing);
}
