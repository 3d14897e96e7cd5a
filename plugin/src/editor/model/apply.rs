//! The one place where what a player asks for is carried out. The panel's thread,
//! between two frames; `window` imports it.

use crate::editor::model::action::{Action, PanelAction};
use crate::editor::model::audition;
use crate::editor::model::chart::ChartAction;
use crate::editor::model::files::FilesAction;
use crate::editor::model::harmonies::HarmoniesAction;
use crate::editor::model::in_hand::InHandAction;
use crate::editor::model::outside::Outside;
use crate::editor::model::page::Page;
use crate::editor::model::parameters::ParameterId;
use crate::editor::model::state::Model;
use crate::editor::model::ways::WaysAction;
use crate::params::{PanelView, SavedPanel};
use std::sync::Arc;

/// Carries out an action.
pub fn apply(model: &mut Model, action: Action, outside: &mut dyn Outside) {
    learn(&action, outside);
    match action {
        Action::Parameter(one) => outside.move_parameter(&one),
        Action::Play(plays) => outside.play(plays),
        Action::Hear(request) => {
            outside.audition(&request);
        }
        Action::StopHearing => outside.stop_audition(),
        Action::Chart(action) => model.chart.apply(action, outside),
        Action::InHand(action) => {
            let Model {
                in_hand,
                chart,
                pages,
                ..
            } = model;
            in_hand.apply(action, chart, &pages.ways, outside);
        }
        Action::Ways(action) => ways(model, action, outside),
        Action::Own(action) => {
            let Model { chart, pages, .. } = model;
            pages.own.apply(action, chart, &pages.ways, outside);
        }
        Action::RestoreOriginal => outside.restore_original(),
        Action::Draw(drawn) => outside.set_drawn(drawn),
        Action::Page(page) => model.pages.open = page,
        Action::Scale(choice) => model.pages.scale = Some(choice),
        Action::Harmonies(action) => harmonies(model, action, outside),
        Action::Practice(action) => model.practise(action, outside),
        Action::Take(action) => model.pages.takes.apply(action, outside),
        Action::Files(action) => files(model, action, outside),
        Action::Panel(action) => panel(model, action, outside),
    }
}

/// Whoever does a thing for the first time need not be told of it any more.
fn learn(action: &Action, outside: &mut dyn Outside) {
    let before = outside.panel();
    let mut panel = before;
    match action {
        Action::Parameter(one) => {
            let tensions = [
                ParameterId::Ninth,
                ParameterId::Eleventh,
                ParameterId::Thirteenth,
            ];
            panel.knows_tensions |= tensions.contains(&one.id);
        }
        Action::Chart(ChartAction::Type { .. } | ChartAction::Put(_))
        | Action::InHand(InHandAction::Take { .. }) => panel.knows_chart = true,
        _ => {}
    }
    if panel != before {
        outside.set_panel(panel);
    }
}

fn harmonies(model: &mut Model, action: HarmoniesAction, outside: &mut dyn Outside) {
    let harmonies = &mut model.pages.harmonies;
    let shown = harmonies.chart().zip(model.chart.shared());
    // What was asked for is about the chart that was shown.
    let same = shown.is_some_and(|(shown, now)| Arc::ptr_eq(shown, now));
    if same && !model.chart.is_unread() {
        let melody = harmonies.apply(action, model.chart.written(), outside);
        if let Some(text) = melody {
            model.chart.write_melody(&text, true, outside);
        }
    }
}

fn ways(model: &mut Model, action: WaysAction, outside: &mut dyn Outside) {
    let Model {
        chart,
        pages,
        in_hand,
        ..
    } = model;
    let ways = &mut pages.ways;
    // What was asked for is about the chart that was shown.
    let held = in_hand.held(chart).filter(|_| !chart.is_under_way());
    let played = held.and_then(|held| held.played().copied());
    match action {
        WaysAction::Show(shows) => ways.show(shows),
        WaysAction::Try(row) => {
            let repeats = outside.settings().chart.repeats;
            if ways.set_tried(Some(row))
                && let Some(request) = ways.in_context(repeats)
            {
                outside.audition(&request.also_while_playing(true));
            }
        }
        WaysAction::Lay(keys) => {
            if ways.lay(keys)
                && let Some(heard) = ways.heard()
            {
                outside.audition(&audition::chord(&heard).also_while_playing(true));
            }
        }
        WaysAction::Keep(pass) => {
            let Some((held, played)) = held.zip(played) else {
                return;
            };
            let action = if let Some(notes) = ways.notes(pass) {
                let at = played.at();
                Some(ChartAction::Pin { at, pass, notes })
            } else {
                let written = ways.written(chart.written(), &held, played.index);
                written.map(|kept| ChartAction::Write(kept.text, kept.pins))
            };
            if let Some(action) = action {
                let before = chart.document().clone();
                chart.apply(action, outside);
                // What stood there already needs no plan, which would end the trial.
                if *chart.document() == before {
                    ways.set_tried(None);
                }
            }
        }
        WaysAction::Drop => {
            ways.set_tried(None);
        }
        WaysAction::Unpin(pass) => {
            if let Some(played) = played {
                let at = played.at();
                chart.apply(ChartAction::Unpin { at, pass }, outside);
            }
        }
    }
}

fn files(model: &mut Model, action: FilesAction, outside: &mut dyn Outside) {
    if matches!(action, FilesAction::Drop(_)) {
        // What comes of the file shows on its page, and pages show in the full view.
        model.pages.open = Page::InAndOut;
        let panel = outside.panel();
        if panel.view == PanelView::Small {
            let view = PanelView::Full;
            reshape(SavedPanel { view, ..panel }, outside);
        }
    }
    model.work_on_files(action, outside);
}

fn panel(model: &mut Model, action: PanelAction, outside: &mut dyn Outside) {
    let panel = outside.panel();
    match action {
        PanelAction::Look(look) => outside.set_panel(SavedPanel { look, ..panel }),
        PanelAction::View(view) => reshape(SavedPanel { view, ..panel }, outside),
        PanelAction::LargePrint(large_print) => {
            let larger = SavedPanel {
                large_print,
                ..panel
            };
            reshape(larger, outside);
        }
        PanelAction::Zoom(zoom) => outside.ask_for_zoom(zoom),
        PanelAction::Size(size) => outside.ask_for_size(size),
        PanelAction::KeepKeys(keys) => model.keys_kept = keys,
        PanelAction::ScaleOnKeys(scale_on_keys) => {
            outside.set_panel(SavedPanel {
                scale_on_keys,
                ..panel
            });
        }
    }
}

/// Takes another view or another print, and asks for a window of its size.
fn reshape(panel: SavedPanel, outside: &mut dyn Outside) {
    let panel = panel.limited();
    outside.set_panel(panel);
    // The zoom that is drawn may be a smaller one, which the other view does not need.
    outside.ask_for_zoom(panel.zoom);
    outside.ask_for_size(panel.size());
}

#[cfg(test)]
mod tests {
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
    fn twelve_keys_take_the_place_of_the_chart_in_one_step() {
        let (mut model, mut outside) = with(TEXT);
        let practise = FilesAction::Practise(Order::HalfSteps);
        apply(&mut model, Action::Files(practise), &mut outside);
        assert!(
            outside.chart().text.contains("Ebm7"),
            "{:?}",
            outside.chart()
        );
        let undo = Action::Chart(ChartAction::Undo);
        apply(&mut model, undo, &mut outside);
        assert_eq!(&*outside.chart().text, TEXT);
    }

    /// The A form of G13 and a scale for the G7 of the chart.
    fn pick(model: &mut Model, outside: &mut Recorder) {
        let chart = chart::parse(TEXT).unwrap();
        let at = ChordPlayed::of(&chart)[1].unwrap().at();
        let notes = PinNotes::new([53, 57, 59, 64].map(MidiNote::clamp)).unwrap();
        let pass = Pass::Every;
        let pin = ChartAction::Pin {
            at: at.clone(),
            pass,
            notes,
        };
        let scale = Some(ScaleName {
            name: "altered".to_owned(),
            above: 0,
        });
        for action in [pin, ChartAction::ChooseScale { at, scale }] {
            apply(model, Action::Chart(action), outside);
        }
    }

    /// The chords that are pinned, with the lowest note of each, and those with a chosen scale.
    fn picked(model: &Model) -> (Vec<(usize, String, u8)>, Vec<String>) {
        let picks = &model.chart.document().picks;
        let pins = picks.pins().iter().map(|pin| {
            let lowest = pin.notes.notes()[0].number();
            (pin.at.index, pin.at.symbol.clone(), lowest)
        });
        let scales = picks.scales().iter().map(|scale| scale.at.symbol.clone());
        (pins.collect(), scales.collect())
    }

    #[test]
    fn what_was_picked_goes_through_twelve_keys_and_back_in_one_step() {
        let (mut model, mut outside) = with(TEXT);
        pick(&mut model, &mut outside);
        let before = model.chart.document().clone();
        let practise = FilesAction::Practise(Order::HalfSteps);
        apply(&mut model, Action::Files(practise), &mut outside);
        let (pins, scales) = picked(&model);
        let roots = [
            "G", "Ab", "A", "Bb", "B", "C", "Db", "D", "Eb", "E", "F", "F#",
        ];
        // From F3 up to a tritone higher, then from a fourth lower on. No octave of B, C or Db lies
        // within the register, from D3 to A4.
        let lowest = [53, 54, 55, 56, 57, 58, 59, 48, 49, 50, 51, 52];
        assert_eq!(pins.len(), 12);
        for (nth, ((index, symbol, note), (root, expected))) in
            pins.iter().zip(roots.iter().zip(lowest)).enumerate()
        {
            assert_eq!((*index, note), (3 * nth + 1, &expected), "{symbol}");
            assert_eq!(symbol, &format!("{root}7"));
        }
        assert_eq!(scales.len(), 12);
        apply(&mut model, Action::Chart(ChartAction::Undo), &mut outside);
        assert_eq!(*model.chart.document(), before);
    }

    /// Pins and scales come from the file in one step, and nothing that was picked before stays.
    #[test]
    fn what_was_picked_comes_from_a_page_and_is_undone_in_one_step() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("chart.musicxml");
        let (mut model, mut outside) = with(TEXT);
        pick(&mut model, &mut outside);
        let written = model.chart.document().clone();
        let path = FilesAction::Path(path.display().to_string());
        for action in [path, FilesAction::Write(FileKind::MusicXml)] {
            apply(&mut model, Action::Files(action), &mut outside);
        }
        outside.do_work();
        model.refresh(&Snapshot::default(), &mut outside);
        let put = ChartAction::Put("| Gm7 | G7 |".to_owned());
        apply(&mut model, Action::Chart(put), &mut outside);
        let at = model.chart.document().picks.pins()[0].at.clone();
        let unpinned = ChartAction::Unpin {
            at,
            pass: Pass::Every,
        };
        apply(&mut model, Action::Chart(unpinned), &mut outside);
        let other = model.chart.document().clone();
        assert_ne!(other, written);
        apply(&mut model, Action::Files(FilesAction::Read), &mut outside);
        outside.do_work();
        model.refresh(&Snapshot::default(), &mut outside);
        assert_eq!(*model.chart.document(), written);
        apply(&mut model, Action::Chart(ChartAction::Undo), &mut outside);
        assert_eq!(*model.chart.document(), other);
    }

    #[test]
    fn a_chart_that_was_edited_while_a_file_was_read_comes_back_with_one_undo() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("chart.txt");
        std::fs::write(&path, "| F6 | Bb6 |").unwrap();
        let (mut model, mut outside) = with(TEXT);
        let path = FilesAction::Path(path.display().to_string());
        for action in [path, FilesAction::Read] {
            apply(&mut model, Action::Files(action), &mut outside);
        }
        let edited = format!("{TEXT} F6 |");
        let typed = ChartAction::Type {
            text: edited.clone(),
            cursor: edited.len()..edited.len(),
            now_seconds: 0.0,
            finished: false,
        };
        apply(&mut model, Action::Chart(typed), &mut outside);
        model.refresh(&Snapshot::default(), &mut outside);
        assert_eq!(&*outside.chart().text, edited, "nothing has come yet");
        outside.do_work();
        model.refresh(&Snapshot::default(), &mut outside);
        assert_eq!(&*outside.chart().text, "| F6 | Bb6 |");
        let undo = Action::Chart(ChartAction::Undo);
        apply(&mut model, undo, &mut outside);
        assert_eq!(&*outside.chart().text, edited);
        assert!(model.chart.can_redo());
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

    /// What the other harmonies say of the melody is the document's own, and is undone like it.
    #[test]
    fn the_line_of_the_melody_is_written_into_the_document() {
        let (mut model, mut outside) = with(TEXT);
        ask(&mut model, &mut outside, "G7");
        let line = HarmoniesAction::Melody("D".to_owned());
        apply(&mut model, Action::Harmonies(line), &mut outside);
        assert_eq!(&*model.chart.document().melody, "| | D5/1 |");
        model.refresh(&Snapshot::default(), &mut outside);
        assert_eq!(model.pages.harmonies.line(), "D", "as it was typed");
        let undo = Action::Chart(ChartAction::Undo);
        apply(&mut model, undo, &mut outside);
        assert_eq!(&*model.chart.document().melody, "");
        model.refresh(&Snapshot::default(), &mut outside);
        assert_eq!(model.pages.harmonies.line(), "");
        // What has errors is not written over.
        let wrong = ChartAction::Melody {
            text: "| x".to_owned(),
            now_seconds: 0.0,
            finished: true,
        };
        apply(&mut model, Action::Chart(wrong), &mut outside);
        model.refresh(&Snapshot::default(), &mut outside);
        let line = HarmoniesAction::Melody("D".to_owned());
        apply(&mut model, Action::Harmonies(line), &mut outside);
        assert_eq!(&*model.chart.document().melody, "| x");
        assert!(!model.pages.harmonies.line_error().is_empty());
    }

    /// The melody of an older version waits for a chart that can be read.
    #[test]
    fn an_old_melody_comes_into_the_document() {
        let (mut model, mut outside) = with("| Dm7 | H |");
        outside.old_melody = Some("F 0 3840 E 3840 1920".to_owned());
        model.refresh(&Snapshot::default(), &mut outside);
        assert!(outside.old_melody.is_some(), "not lost");
        let put = ChartAction::Put(TEXT.to_owned());
        apply(&mut model, Action::Chart(put), &mut outside);
        model.refresh(&Snapshot::default(), &mut outside);
        assert_eq!(&*model.chart.document().melody, "| F5/1 | E5/2 |");
        assert_eq!(outside.old_melody, None);
    }

    fn melody(text: &str) -> Action {
        Action::Chart(ChartAction::Melody {
            text: text.to_owned(),
            now_seconds: 0.0,
            finished: true,
        })
    }

    /// Chart and melody go out, come back, and are undone in one step; block chords go with them.
    #[test]
    fn a_melody_goes_to_a_file_and_comes_back_with_its_chart() {
        let folder = tempfile::tempdir().unwrap();
        for (kind, name) in [(FileKind::Midi, "one.mid"), (FileKind::MusicXml, "two.xml")] {
            for under in [None, Some(Style::FourWayClose)] {
                let (mut model, mut outside) = with(TEXT);
                outside.settings.right_hand.under = under;
                let typed = "| F5/8 E5 D5 C5 r/2 | B4/4t C5 D5 G4/2~ | G4 E5 | Eb5/1 |";
                apply(&mut model, melody(typed), &mut outside);
                let written = model.chart.document().clone();
                let name = format!("{}-{name}", under.is_some());
                let path = folder.path().join(name).display().to_string();
                for action in [FilesAction::Path(path), FilesAction::Write(kind)] {
                    apply(&mut model, Action::Files(action), &mut outside);
                }
                outside.do_work();
                model.refresh(&Snapshot::default(), &mut outside);
                let said = &model.pages.files.said().unwrap().words;
                assert!(said.ends_with("is written."), "{said}");
                let put = ChartAction::Put("| F6 |".to_owned());
                apply(&mut model, Action::Chart(put), &mut outside);
                apply(&mut model, melody("| A5/1 |"), &mut outside);
                let other = model.chart.document().clone();
                apply(&mut model, Action::Files(FilesAction::Read), &mut outside);
                outside.do_work();
                model.refresh(&Snapshot::default(), &mut outside);
                let said = model.pages.files.said().unwrap();
                assert!(
                    said.lines.iter().any(|l| l.contains("10 notes")),
                    "{said:?}"
                );
                let read = model.chart.document().clone();
                assert_eq!(read.melody, written.melody, "{kind:?} {under:?}");
                apply(&mut model, Action::Chart(ChartAction::Undo), &mut outside);
                assert_eq!(*model.chart.document(), other);
            }
        }
    }

    /// Chords that were written are no melody. A line that is asked for by its name is one.
    #[test]
    fn notes_are_a_melody_where_they_say_so_or_the_player_does() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("chords.mid").display().to_string();
        let (mut model, mut outside) = with(TEXT);
        for action in [FilesAction::Path(path), FilesAction::Write(FileKind::Midi)] {
            apply(&mut model, Action::Files(action), &mut outside);
        }
        outside.do_work();
        model.refresh(&Snapshot::default(), &mut outside);
        let mut read = |action| {
            apply(&mut model, Action::Files(action), &mut outside);
            outside.do_work();
            model.refresh(&Snapshot::default(), &mut outside);
            let files = &model.pages.files;
            let lines: Vec<String> = files.other_lines().map(ToOwned::to_owned).collect();
            let melody = model.chart.document().melody.as_ref().to_owned();
            (files.said().unwrap().clone(), lines, melody)
        };
        let (said, lines, melody) = read(FilesAction::Read);
        assert_eq!((said.failed, melody.as_str()), (false, ""), "{said:?}");
        assert_eq!(lines, ["Chords", "Bass"]);
        let (said, lines, melody) = read(FilesAction::ReadLine("Bass".to_owned()));
        assert!(!said.failed, "{said:?}");
        assert_eq!(lines, ["Chords"]);
        assert!(melody.starts_with("| D"), "{melody}");
    }

    #[test]
    fn a_melody_with_errors_is_not_written_as_silence() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("one.mid");
        let (mut model, mut outside) = with(TEXT);
        apply(&mut model, melody("| F5/2 x |"), &mut outside);
        let to = FilesAction::Path(path.display().to_string());
        for action in [to, FilesAction::Write(FileKind::Midi)] {
            apply(&mut model, Action::Files(action), &mut outside);
        }
        outside.do_work();
        model.refresh(&Snapshot::default(), &mut outside);
        let said = model.pages.files.said().unwrap();
        assert!(said.failed && said.words.contains("bar 1"), "{said:?}");
        assert!(!path.exists());
    }
}
