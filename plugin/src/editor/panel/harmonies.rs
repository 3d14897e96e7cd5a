//! Other harmonies for the chords at the text's cursor, tried from a bar line on,
//! flipped, kept and dropped; the melody that they must bear; and bars dressed up. The
//! panel's thread; `panel` imports it.

mod list;
#[cfg(test)]
mod tests;

use crate::editor::model::action::{Action, Actions};
use crate::editor::model::harmonies::{Harmonies, HarmoniesAction, offers};
use crate::editor::panel::view::View;
use crate::editor::view::with_signs;
use crate::editor::widgets::Choices;
use crate::editor::{theme, widgets};
use egui::{Label, RichText, Role, ScrollArea, TextEdit, Ui, WidgetInfo, vec2};
use guidehand_theory::chart::Chart;
use guidehand_theory::reharm::Dress;

const DRESSES: [Dress; 4] = [Dress::Written, Dress::Plain, Dress::Dressed, Dress::Rich];
/// The height kept for words about a harmony that cannot be written, in points.
const SAID: f32 = 30.0;
/// The most chords that are told by name above the list.
const TOLD: usize = 3;

/// Lays the region out.
pub fn region(ui: &mut Ui, view: &View, actions: &mut Actions) {
    let palette = theme::palette(ui.ctx());
    let harmonies = &view.pages.harmonies;
    let mut push = |action| actions.push(Action::Harmonies(action));
    let Some(chart) = harmonies.chart() else {
        widgets::remark(
            ui,
            "Fix the chart, and its other harmonies show here.",
            palette.soft,
        );
        return;
    };
    if !harmonies.asks() {
        let words = "Put the cursor on a chord of the chart, or select several.";
        widgets::remark(ui, words, palette.soft);
        return;
    }
    heading(ui, harmonies, chart, &mut push);
    melody_line(ui, harmonies, &mut push);
    let spacing = ui.spacing().item_spacing.y;
    let mut below = theme::CONTROL + spacing;
    if !harmonies.said().is_empty() {
        below += SAID + spacing;
    }
    let height = (ui.available_height() - below).max(theme::CONTROL);
    let scroll = ScrollArea::vertical()
        .id_salt("harmonies")
        .max_height(height);
    let pressed = scroll
        .min_scrolled_height(height)
        .auto_shrink(false)
        .show(ui, |ui| {
            list::rows(ui, harmonies.offers(), harmonies.tried())
        });
    if let Some(offer) = pressed.inner {
        push(HarmoniesAction::Press(offer.clone()));
    }
    if !harmonies.said().is_empty() {
        let size = vec2(ui.available_width(), SAID);
        ui.allocate_ui(size, |ui| {
            widgets::remark(ui, harmonies.said(), palette.wrong)
        });
    }
    dress(ui, harmonies, chart, &mut push);
}

/// What is asked about, and what is done with what is tried.
fn heading(
    ui: &mut Ui,
    harmonies: &Harmonies,
    chart: &Chart,
    push: &mut impl FnMut(HarmoniesAction),
) {
    let palette = theme::palette(ui.ctx());
    let Some(at) = harmonies.at() else { return };
    ui.horizontal(|ui| {
        ui.set_height(theme::CONTROL);
        let whole = offers::names(chart, &at);
        let short = if at.len() > TOLD {
            let last = at.end - 1..at.end;
            let first = at.start..at.start + 1;
            let [first, last] = [first, last].map(|at| offers::names(chart, &at));
            format!("{first} … {last}")
        } else {
            whole.clone()
        };
        let text = RichText::new(short)
            .font(theme::bold(theme::TEXT))
            .color(palette.bright);
        let label = ui.add(Label::new(text).truncate());
        label.widget_info(|| WidgetInfo::labeled(Role::Label, true, format!("For {whole}")));
        label.on_hover_text(whole);
        widgets::at_the_right(ui, "tried", |ui| tried(ui, harmonies, push));
    });
}

/// Flip, keep, drop.
fn tried(ui: &mut Ui, harmonies: &Harmonies, push: &mut impl FnMut(HarmoniesAction)) {
    let tried = harmonies.tried();
    let (is_tried, sounds) = (tried.is_some(), tried.is_some_and(|t| t.sounds));
    let what = tried.map_or_else(|| "nothing is tried".to_owned(), |t| t.name.clone());
    ui.add_enabled_ui(is_tried, |ui| {
        let choices = Choices::new(
            "Sounds",
            &["as written", "trial"],
            "The chart as written, or what is tried, from the next bar line.",
        );
        if let Some(chosen) = widgets::choices(ui, &choices, Some(usize::from(sounds))) {
            push(HarmoniesAction::Flip(chosen == 1));
        }
        let tip = "Writes what is tried into the chart, as one step that can be undone.";
        if widgets::button(ui, "Keep", &format!("Keep: {what}"), tip) {
            push(HarmoniesAction::Keep);
        }
        let tip = "Forgets what is tried; the chart stays as it is written.";
        if widgets::button(ui, "Drop", &format!("Drop: {what}"), tip) {
            push(HarmoniesAction::Drop);
        }
    });
}

/// The notes of the melody over these chords.
fn melody_line(ui: &mut Ui, harmonies: &Harmonies, push: &mut impl FnMut(HarmoniesAction)) {
    let palette = theme::palette(ui.ctx());
    ui.horizontal(|ui| {
        widgets::name(ui, "Melody");
        let listens = harmonies.listens();
        let mut line = harmonies.line().to_owned();
        let edit = TextEdit::singleline(&mut line)
            .id(egui::Id::unique("the melody"))
            .font(theme::text(theme::TEXT))
            .hint_text("note for each chord: E -")
            .min_size(vec2(0.0, theme::CONTROL))
            .align(egui::Align2::LEFT_CENTER)
            .desired_width(ui.available_width() - 158.0);
        let response = ui.add(edit);
        ui.ctx().accesskit_node_builder(response.id, |node| {
            node.set_label("Melody");
        });
        widgets::focus(ui, response.rect, &response);
        if response.changed() {
            push(HarmoniesAction::Melody(line));
        }
        let tip = "A harmony must hold these notes as chord tones or tensions; - is no note.";
        response.on_hover_text(tip);
        let name = "Melody from the right hand";
        let tip = "The highest key that you hold at or above the split is the melody.";
        let lamp = widgets::lamp(ui, "from the right hand", name, listens);
        if lamp.on_hover_text(tip).clicked() {
            push(HarmoniesAction::Listen(!listens));
        }
    });
    if !harmonies.line_error().is_empty() {
        let words = with_signs(harmonies.line_error());
        widgets::remark(ui, &words, palette.wrong);
    }
}

/// Bars as a tasteful player would dress them.
fn dress(
    ui: &mut Ui,
    harmonies: &Harmonies,
    chart: &Chart,
    push: &mut impl FnMut(HarmoniesAction),
) {
    ui.horizontal(|ui| {
        let choices = Choices::new(
            "Dress",
            &["these bars", "all bars"],
            "Which bars are dressed: those of the chords above, or all.",
        );
        let current = usize::from(harmonies.all_bars());
        if let Some(chosen) = widgets::choices(ui, &choices, Some(current)) {
            push(HarmoniesAction::AllBars(chosen == 1));
        }
        let choices = Choices::new(
            "Bars",
            &["as written", "basic", "with ii-Vs", "full"],
            "As written, the skeleton, its cadences dressed, or richly; from the next bar line.",
        );
        let wish = harmonies.wish(chart);
        let current = wish.and_then(|wish| DRESSES.iter().position(|dress| *dress == wish));
        let chosen = widgets::choices(ui, &choices, current);
        if let Some(dress) = chosen.and_then(|at| DRESSES.get(at)) {
            push(HarmoniesAction::Dress(*dress));
        }
    });
}
