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
mod tests;
