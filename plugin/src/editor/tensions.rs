//! The tensions: those that sound, and what the player asks of open dominants.
//! Imports `params`, `view`, `desk`, `widgets` and `mark`.

use crate::editor::desk::Desk;
use crate::editor::{mark, theme, view, widgets};
use crate::params::{EleventhParam, NinthParam, ThirteenthParam};
use crate::snapshot::Snapshot;
use egui::{Align, Layout, Ui, vec2};

const NINTHS: [(NinthParam, &str); 4] = [
    (NinthParam::ByContext, "by context"),
    (NinthParam::Nine, "9"),
    (NinthParam::Flat9, "♭9"),
    (NinthParam::Sharp9, "♯9"),
];
const ELEVENTHS: [(EleventhParam, &str); 3] = [
    (EleventhParam::ByContext, "by context"),
    (EleventhParam::None, "none"),
    (EleventhParam::Sharp11, "♯11"),
];
const THIRTEENTHS: [(ThirteenthParam, &str); 4] = [
    (ThirteenthParam::ByContext, "by context"),
    (ThirteenthParam::None, "none"),
    (ThirteenthParam::Thirteen, "13"),
    (ThirteenthParam::Flat13, "♭13"),
];

/// The width of the names in front of the choices, in points.
const NAMES: f32 = 72.0;
/// The least width of a choice, in points.
const CELL: f32 = 48.0;
/// The size of a label in the row of sounding tensions, in points.
const SOUNDING: f32 = 12.0;

/// Lays the region out.
pub fn region(ui: &mut Ui, snapshot: &Snapshot, desk: &Desk) {
    ui.horizontal(|ui| {
        ui.heading("Tensions");
        ui.add_space(8.0);
        sounding(ui, snapshot);
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            widgets::remark(ui, "for dominants left open", theme::FAINT);
        });
    });
    let params = desk.params;
    row(ui, "Ninth", |ui| {
        let chosen = widgets::choices(ui, "Ninth", &NINTHS, params.ninth.value(), CELL);
        chosen
            .into_iter()
            .for_each(|c| desk.choose(&params.ninth, c));
    });
    row(ui, "Eleventh", |ui| {
        let chosen = widgets::choices(ui, "Eleventh", &ELEVENTHS, params.eleventh.value(), CELL);
        chosen
            .into_iter()
            .for_each(|c| desk.choose(&params.eleventh, c));
    });
    row(ui, "Thirteenth", |ui| {
        let value = params.thirteenth.value();
        let chosen = widgets::choices(ui, "Thirteenth", &THIRTEENTHS, value, CELL);
        chosen
            .into_iter()
            .for_each(|c| desk.choose(&params.thirteenth, c));
    });
}

fn row(ui: &mut Ui, name: &str, contents: impl FnOnce(&mut Ui)) {
    ui.horizontal(|ui| {
        let (rect, _) = ui.allocate_exact_size(vec2(NAMES, theme::CONTROL), egui::Sense::hover());
        ui.painter().text(
            rect.left_center(),
            egui::Align2::LEFT_CENTER,
            name,
            theme::text(theme::TEXT),
            theme::SOFT,
        );
        contents(ui);
    });
}

/// The marks of the tensions that sound.
fn sounding(ui: &mut Ui, snapshot: &Snapshot) {
    let tensions = snapshot.sounding.as_ref().map(view::active_tensions);
    let size = mark::size(SOUNDING);
    for (label, kind) in tensions.unwrap_or_default() {
        let (rect, _) = ui.allocate_exact_size(size + vec2(4.0, 0.0), egui::Sense::hover());
        mark::paint(
            ui.painter(),
            rect.center(),
            &label,
            kind,
            SOUNDING,
            mark::On::Ground,
        );
    }
}
