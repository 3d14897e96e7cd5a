//! The tensions by family: what is asked of open dominants, what sounds, and where that
//! comes from. The panel's thread; `panel` imports it.

use crate::editor::model::action::Actions;
use crate::editor::model::parameters::ParameterId;
use crate::editor::panel::set::Set;
use crate::editor::panel::view::View;
use crate::editor::view::families::{self, SoundingTension};
use crate::editor::widgets::{Choices, mark};
use crate::editor::{theme, widgets};
use egui::{Align2, Role, Sense, Ui, WidgetInfo, vec2};
use guidehand_theory::degree::Family;

pub const NINTHS: [&str; 4] = ["by context", "9", "♭9", "♯9"];
pub const ELEVENTHS: [&str; 3] = ["by context", "none", "♯11"];
pub const THIRTEENTHS: [&str; 4] = ["by context", "none", "13", "♭13"];

const GAP: f32 = 5.0;
/// The width of the names in front of the choices, in points.
const NAMES: f32 = 72.0;
/// The least width of a choice, in points.
const CELL: f32 = 40.0;
/// The same where there is little room.
const TIGHT_CELL: f32 = 26.0;
/// The width of a word that says where a tension comes from, in points.
const ORIGIN: f32 = 44.0;
/// The size of a label of a sounding tension, in points.
const SOUNDING: f32 = 12.0;

/// What is asked of a family of tensions.
struct Row {
    what: &'static str,
    id: ParameterId,
    words: &'static [&'static str],
    /// The same where there is little room.
    short: &'static [&'static str],
    family: Family,
}

const ROWS: [Row; 3] = [
    Row {
        what: "Ninth",
        id: ParameterId::Ninth,
        words: &NINTHS,
        short: &["auto", "9", "♭9", "♯9"],
        family: Family::Ninth,
    },
    Row {
        what: "Eleventh",
        id: ParameterId::Eleventh,
        words: &ELEVENTHS,
        short: &["auto", "no 11", "♯11"],
        family: Family::Eleventh,
    },
    Row {
        what: "Thirteenth",
        id: ParameterId::Thirteenth,
        words: &THIRTEENTHS,
        short: &["auto", "no 13", "13", "♭13"],
        family: Family::Thirteenth,
    },
];

/// Lays the region out: a row for each family, or all in one row.
pub fn region(ui: &mut Ui, set: Set, view: &View, actions: &mut Actions) {
    if set.is_tight() {
        ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = 6.0 * theme::print(ui);
            for row in &ROWS {
                let choices = Choices {
                    short: Some(row.short),
                    narrowest: TIGHT_CELL,
                    ..row.choices()
                };
                widgets::choice(ui, view.control(row.id), &choices, actions);
            }
        });
        return;
    }
    ui.spacing_mut().item_spacing.y = GAP;
    let past = view.snapshot.sounding.is_none();
    for row in &ROWS {
        ui.horizontal(|ui| {
            widgets::row_name(ui, row.what, NAMES);
            widgets::choice(ui, view.control(row.id), &row.choices(), actions);
            let tensions = families::tensions(&view.snapshot, &view.settings, row.family);
            sounding(ui, &tensions, past);
        });
    }
    if !view.panel.knows_tensions {
        let palette = theme::palette(ui.ctx());
        widgets::remark(
            ui,
            "Press a tension: the next dominant takes it.",
            palette.soft,
        );
    }
}

impl Row {
    const fn choices(&self) -> Choices<'static> {
        Choices {
            what: self.what,
            words: self.words,
            short: None,
            narrowest: CELL,
            tip: "What you ask of dominants without written tensions, from the next chord on.",
        }
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
    if let [.., last] = tensions
        && ui.available_width() >= ORIGIN
    {
        let (rect, _) = ui.allocate_exact_size(vec2(ORIGIN, theme::CONTROL), Sense::hover());
        let font = theme::text(theme::SMALL);
        let colour = if past { palette.faint } else { palette.soft };
        let at = rect.left_center();
        ui.painter()
            .text(at, Align2::LEFT_CENTER, last.origin, font, colour);
    }
}
