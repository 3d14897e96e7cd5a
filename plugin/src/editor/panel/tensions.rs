//! The tensions by family: what is asked of open dominants, what sounds, and where
//! that comes from. Imports `params`, `view`, `desk`, `widgets` and `mark`.

use crate::editor::view::families::{self, Tension};
use crate::editor::widgets::mark;
use crate::editor::window::desk::Desk;
use crate::editor::{theme, view, widgets};
use crate::engine::settings::Settings;
use crate::engine::snapshot::Snapshot;
use crate::params::{EleventhParam, NinthParam, ThirteenthParam};
use egui::{Align2, Role, Sense, Ui, WidgetInfo, vec2};
use guidehand_theory::degree::Family;
use nice_plug::prelude::{Enum, EnumParam};

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

/// The height of the region, in points.
pub const HEIGHT: f32 = 3.0 * theme::CONTROL + 2.0 * GAP;
const GAP: f32 = 5.0;
/// The width of the names in front of the choices, in points.
const NAMES: f32 = 72.0;
/// The least width of a choice, in points.
const CELL: f32 = 43.0;
/// The size of a label of a sounding tension, in points.
const SOUNDING: f32 = 12.0;

/// Lays the region out.
pub fn region(ui: &mut Ui, snapshot: &Snapshot, settings: &Settings, desk: &Desk) {
    ui.spacing_mut().item_spacing.y = GAP;
    let sounds = |family| {
        let sounding = view::on_show(snapshot)?;
        Some(families::tensions(&sounding, settings, family))
    };
    let past = snapshot.sounding.is_none();
    let params = desk.params;
    let sound = |ui: &mut Ui, family| sounding(ui, &sounds(family).unwrap_or_default(), past);
    row(ui, desk, "Ninth", &params.ninth, &NINTHS, |ui| {
        sound(ui, Family::Ninth);
    });
    row(ui, desk, "Eleventh", &params.eleventh, &ELEVENTHS, |ui| {
        sound(ui, Family::Eleventh);
    });
    let (param, options) = (&params.thirteenth, &THIRTEENTHS);
    row(ui, desk, "Thirteenth", param, options, |ui| {
        sound(ui, Family::Thirteenth);
    });
}

/// A family: its name, its choices, and what sounds of it.
fn row<T: Enum + Copy + PartialEq + 'static>(
    ui: &mut Ui,
    desk: &Desk,
    name: &str,
    param: &EnumParam<T>,
    options: &[(T, &str)],
    sounding: impl FnOnce(&mut Ui),
) {
    let tip = "What you ask of dominants without written tensions, from the next chord on.";
    ui.horizontal(|ui| {
        widgets::row_name(ui, name, NAMES);
        widgets::choice(ui, desk, param, name, options, CELL, tip);
        sounding(ui);
    });
}

/// The marks of the tensions that sound, and where they come from.
fn sounding(ui: &mut Ui, tensions: &[Tension], past: bool) {
    let palette = theme::palette(ui.ctx());
    ui.add_space(2.0);
    for tension in tensions {
        let size = mark::size(SOUNDING) + vec2(4.0, 0.0);
        let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
        let on = if past {
            mark::On::Past
        } else {
            mark::On::Ground
        };
        let painter = ui.painter();
        mark::paint(
            painter,
            rect.center(),
            &tension.label,
            tension.kind,
            SOUNDING,
            on,
        );
        let words = format!("{}: {}", tension.label, tension.reason);
        response.widget_info(|| WidgetInfo::labeled(Role::Label, true, &words));
        response.on_hover_text(words);
    }
    if let [.., last] = tensions {
        let (rect, _) = ui.allocate_exact_size(vec2(44.0, theme::CONTROL), Sense::hover());
        let font = theme::text(theme::SMALL);
        let colour = if past { palette.faint } else { palette.soft };
        let at = rect.left_center();
        ui.painter()
            .text(at, Align2::LEFT_CENTER, last.origin, font, colour);
    }
}
