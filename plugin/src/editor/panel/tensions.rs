//! The tensions by family: what is asked of open dominants, what sounds, and where that
//! comes from. The panel's thread; `panel` imports it.

use crate::editor::model::action::Actions;
use crate::editor::model::parameters::ParameterId;
use crate::editor::panel::view::View;
use crate::editor::view::families::{self, SoundingTension};
use crate::editor::widgets::{Choices, mark};
use crate::editor::{theme, view, widgets};
use egui::{Align2, Role, Sense, Ui, WidgetInfo, vec2};
use guidehand_theory::degree::Family;

pub const NINTHS: [&str; 4] = ["by context", "9", "♭9", "♯9"];
pub const ELEVENTHS: [&str; 3] = ["by context", "none", "♯11"];
pub const THIRTEENTHS: [&str; 4] = ["by context", "none", "13", "♭13"];

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
pub fn region(ui: &mut Ui, view: &View, actions: &mut Actions) {
    let (snapshot, settings) = (&view.snapshot, &view.settings);
    ui.spacing_mut().item_spacing.y = GAP;
    let sounds = |family| {
        let sounding = view::on_show(snapshot)?;
        Some(families::tensions(&sounding, settings, family))
    };
    let past = snapshot.sounding.is_none();
    for (what, id, words, family) in [
        ("Ninth", ParameterId::Ninth, &NINTHS[..], Family::Ninth),
        (
            "Eleventh",
            ParameterId::Eleventh,
            &ELEVENTHS,
            Family::Eleventh,
        ),
        (
            "Thirteenth",
            ParameterId::Thirteenth,
            &THIRTEENTHS,
            Family::Thirteenth,
        ),
    ] {
        let choices = Choices {
            what,
            words,
            narrowest: CELL,
            tip: "What you ask of dominants without written tensions, from the next chord on.",
        };
        ui.horizontal(|ui| {
            widgets::row_name(ui, what, NAMES);
            widgets::choice(ui, view.control(id), &choices, actions);
            sounding(ui, &sounds(family).unwrap_or_default(), past);
        });
    }
}

/// The marks of the tensions that sound, and where they come from.
fn sounding(ui: &mut Ui, tensions: &[SoundingTension], past: bool) {
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
