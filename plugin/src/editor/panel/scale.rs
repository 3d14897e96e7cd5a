//! The scale to play: its name, its notes with chord tones, tensions and notes to avoid, the
//! steps between them, and the other scales that fit. The panel's thread; `stage` imports it.

use crate::editor::model::action::{Action, Actions, PanelAction};
use crate::editor::model::audition::{self, StartsOn};
use crate::editor::model::chart::ChartAction;
use crate::editor::model::scale::ScaleChoice;
use crate::editor::palette::Palette;
use crate::editor::panel::looks;
use crate::editor::panel::set::Set;
use crate::editor::panel::view::View;
use crate::editor::view::scales::{self, Scale, ScaleNote, Scales};
use crate::editor::widgets::mark;
use crate::editor::{theme, view, widgets};
use crate::params::PanelView;
use egui::{
    Align2, Button, Color32, Galley, Painter, Pos2, Rect, RichText, Role, Sense, Stroke, Ui,
    WidgetInfo, pos2, vec2,
};
use std::sync::Arc;

/// The width kept for the buttons by which it is heard, in points.
const HEAR: f32 = 148.0;
/// The height of a name and of the mark above it, in points.
const NOTE: f32 = 36.0;
/// The height of the line that says why, in points.
const REASON: f32 = 15.0;
/// The widest place of a note, in points.
const WIDEST: f32 = 68.0;
/// The size of a degree's label, in points.
const LABEL: f32 = 11.0;
/// The size of a note's name, in points.
const NAME: f32 = 13.0;

/// Lays the region out: the name, the scales that fit, and the notes with the steps between them.
pub fn region(ui: &mut Ui, set: Set, view: &View, actions: &mut Actions) {
    let palette = theme::palette(ui.ctx());
    let Some(scales) = scales::scales(&view.snapshot) else {
        ui.horizontal(|ui| {
            heading(ui, "shows with the first chord", palette.soft);
            if view.panel.view == PanelView::Small {
                widgets::at_the_right(ui, "looks", |ui| looks::corner(ui, view, actions));
            }
        });
        return;
    };
    let print = theme::print(ui);
    ui.spacing_mut().item_spacing.y = 3.0 * print;
    let chosen = view.chosen_scale(&scales);
    let Some(scale) = scales.all.get(chosen) else {
        return;
    };
    let past = view.snapshot.sounding.is_none();
    let colour = if past { palette.faint } else { palette.bright };
    ui.horizontal(|ui| {
        heading(ui, &scale.title, colour);
        let is_small = view.panel.view == PanelView::Small;
        let kept = match (set, is_small) {
            (Set::Wide, _) => HEAR,
            (Set::Tight { .. }, true) => looks::CORNER,
            (Set::Tight { .. }, false) => 0.0,
        };
        let room = ui.available_width() - kept;
        let fits = |words: &&String| widgets::remark_width(ui, words) <= room;
        let remarks = scale.remarks();
        if let Some(words) = remarks.iter().find(fits).filter(|words| !words.is_empty()) {
            widgets::remark(ui, words, palette.soft);
        }
        if set == Set::Wide {
            widgets::at_the_right(ui, "hear", |ui| self::hear(ui, view, chosen, actions));
        } else if is_small {
            widgets::at_the_right(ui, "looks", |ui| looks::corner(ui, view, actions));
        }
    });
    if !set.is_tight()
        && let Some(other) = others(ui, &scales, chosen, view, actions)
    {
        actions.push(choose(view, &scales, other));
    }
    notes(ui, scale, palette);
    if ui.available_height() >= REASON {
        widgets::remark(ui, &scale.reason, palette.soft);
    }
}

/// What chooses a scale: for a chord of the chart it is kept with the chart.
fn choose(view: &View, scales: &Scales, at: usize) -> Action {
    let of_chart = view.on_show.as_ref().zip(scales.all.get(at));
    if let Some((chord, scale)) = of_chart {
        return Action::Chart(ChartAction::ChooseScale {
            at: chord.at.clone(),
            scale: Some(scale.chosen_as.clone()),
        });
    }
    let of = scales.of.clone();
    Action::Scale(ScaleChoice { of, at })
}

/// The buttons by which the scale is heard.
fn hear(ui: &mut Ui, view: &View, chosen: usize, actions: &mut Actions) {
    let palette = theme::palette(ui.ctx());
    let Some(sounding) = view::on_show(&view.snapshot) else {
        return;
    };
    let voicing = &sounding.voiced.voicing;
    let scales = sounding.placed.scales(voicing);
    let Some(suggestion) = scales.get(chosen) else {
        return;
    };
    ui.spacing_mut().item_spacing.x = 4.0;
    ui.spacing_mut().button_padding = vec2(6.0, 1.0);
    widgets::remark(ui, "hear from", palette.soft);
    for (word, name, from) in [
        ("3", "Hear the scale from the third", StartsOn::Third),
        ("7", "Hear the scale from the seventh", StartsOn::Seventh),
        ("1", "Hear the scale from the root", StartsOn::Root),
    ] {
        let button = Button::new(RichText::new(word).font(theme::text(theme::SMALL)));
        let response = ui.add(button.min_size(vec2(22.0, 20.0)));
        response.widget_info(|| WidgetInfo::labeled(Role::Button, true, name));
        widgets::focus(ui, response.rect, &response);
        let tip = "Up and down over the chord, a swung eighth for each note.";
        if response.on_hover_text(tip).clicked()
            && let Some(request) = audition::scale(suggestion, &sounding.placed, voicing, from)
        {
            let request = request.also_while_playing(true);
            actions.push(Action::Hear(Box::new(request)));
        }
    }
}

fn heading(ui: &mut Ui, title: &str, colour: Color32) {
    let print = theme::print(ui);
    ui.heading("Scale");
    ui.add_space(4.0 * print);
    ui.label(
        RichText::new(title)
            .font(theme::text(15.0 * print))
            .color(colour),
    );
}

/// The scales that fit, by name, each with its reason, and whether the keyboard shows the one in
/// force; returns the one that was pressed.
fn others(
    ui: &mut Ui,
    scales: &Scales,
    chosen: usize,
    view: &View,
    actions: &mut Actions,
) -> Option<usize> {
    let palette = theme::palette(ui.ctx());
    let mut pressed = None;
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing = vec2(4.0, 4.0);
        ui.spacing_mut().button_padding = vec2(6.0, 1.0);
        for (at, scale) in scales.all.iter().enumerate() {
            let selected = at == chosen;
            let (fill, ink) = if selected {
                (palette.bright, palette.ink)
            } else {
                (palette.raised, palette.bright)
            };
            let words = RichText::new(&scale.name)
                .font(theme::text(theme::SMALL))
                .color(ink);
            let button = Button::new(words).fill(fill).min_size(vec2(0.0, 20.0));
            let response = ui.add(button);
            response.widget_info(|| {
                let name = format!("Scale: {}", scale.title);
                WidgetInfo::selected(Role::RadioButton, true, selected, name)
            });
            ui.ctx().accesskit_node_builder(response.id, |node| {
                node.set_description(scale.reason.as_str());
            });
            widgets::focus(ui, response.rect, &response);
            if response.on_hover_text(&scale.reason).clicked() {
                pressed = Some(at);
            }
        }
        let on = view.panel.scale_on_keys;
        let tip = "Marks the scale on the keyboard: a square for its root, dots for its notes, and \
                   rings for those to pass over.";
        let lamp = widgets::low_lamp(ui, "on keys", "Scale on the keys", on);
        if lamp.on_hover_text(tip).clicked() {
            actions.push(Action::Panel(PanelAction::ScaleOnKeys(!on)));
        }
    });
    pressed.filter(|at| *at != chosen)
}

/// The notes in a row: their degrees, their names below, and the steps from one to the next.
fn notes(ui: &mut Ui, scale: &Scale, palette: &Palette) {
    let print = theme::print(ui);
    let count = scale.notes.iter().fold(0.0, |count, _| count + 1.0);
    let width = (ui.available_width() / f32::max(count, 1.0)).min(WIDEST * print);
    let size = vec2(width * count, NOTE * print);
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    response.widget_info(|| {
        let notes: Vec<String> = scale.notes.iter().map(ScaleNote::names).collect();
        let words = format!("{}: {}", scale.title, notes.join(" "));
        WidgetInfo::labeled(Role::Label, true, words)
    });
    let painter = ui.painter();
    let mut place = rect.with_max_x(rect.left() + width);
    let steps = scale
        .steps
        .split(' ')
        .map(Some)
        .chain(std::iter::repeat(None));
    for (note, step) in scale.notes.iter().zip(steps) {
        let mark = mark::size(LABEL * print);
        let middle = place.left() + mark.x / 2.0;
        let centre = pos2(middle, place.top() + mark.y / 2.0);
        one(painter, note, centre, print, palette);
        self::name(painter, note, place, middle, print, palette);
        let font = theme::text(LABEL * print);
        let between = pos2((place.left() + mark.x + place.right()) / 2.0, centre.y);
        let step = step.unwrap_or_default();
        painter.text(between, Align2::CENTER_CENTER, step, font, palette.soft);
        place = place.translate(vec2(width, 0.0));
    }
    response.on_hover_text("Steps: H a half step, W a whole one.");
}

/// The degree of a note in the shape of its kind; a note to avoid is a ring that is struck
/// through.
fn one(painter: &Painter, note: &ScaleNote, centre: Pos2, print: f32, palette: &Palette) {
    let label = LABEL * print;
    if !note.avoid {
        mark::paint(
            painter,
            centre,
            &note.degree,
            note.kind,
            label,
            mark::On::Ground,
        );
        return;
    }
    let radius = label * 0.8;
    let stroke = Stroke::new(1.25 * print, palette.soft);
    painter.circle_stroke(centre, radius, stroke);
    let slant = vec2(radius, -radius) * 0.72;
    painter.line_segment([centre - slant, centre + slant], stroke);
}

/// The name of a note under the middle of its mark, struck through if it is one to avoid.
fn name(
    painter: &Painter,
    note: &ScaleNote,
    place: Rect,
    middle: f32,
    print: f32,
    palette: &Palette,
) {
    let colour = if note.avoid {
        palette.soft
    } else {
        palette.bright
    };
    let lay = |words: &str, size: f32| {
        let font = if note.avoid {
            theme::text(size)
        } else {
            theme::bold(size)
        };
        painter.layout_no_wrap(words.to_owned(), font, colour)
    };
    // The everyday name gives way where there is no room for both.
    let sizes = [NAME * print, (NAME * print * 0.85).max(LABEL)];
    let both = sizes.map(|size| lay(&note.names(), size));
    let fits = |galley: &Arc<Galley>| galley.size().x < place.width();
    let galley = both.into_iter().find(fits);
    let galley = galley.unwrap_or_else(|| lay(&note.name, NAME * print));
    let left = (middle - galley.size().x / 2.0).max(place.left());
    let at = pos2(left, place.bottom() - galley.size().y);
    let drawn = Rect::from_min_size(at, galley.size());
    painter.galley(at, galley, colour);
    if note.avoid {
        let y = drawn.center().y + 1.0;
        painter.hline(drawn.expand(1.0).x_range(), y, Stroke::new(1.25, colour));
    }
}

#[cfg(test)]
mod tests {
    use crate::editor::bench::{Bench, sounding};
    use crate::engine::snapshot::Snapshot;
    use egui_kittest::kittest::NodeT;
    use guidehand_theory::pipeline::Taste;

    fn has(bench: &mut Bench, words: &str) -> bool {
        bench.settle().iter().any(|seen| seen.words == words)
    }

    #[test]
    fn another_scale_is_one_click_away_until_the_chord_changes() {
        let mut bench = Bench::new();
        let chords = sounding("| Cmaj7 | G7 | Cmaj7 |", &Taste::default());
        bench.show(chords[0]);
        assert!(has(&mut bench, "C Ionian"));
        let reason = "holds the chord and its tensions; all its notes are in the key";
        assert!(has(&mut bench, reason));
        bench.click("Scale: C Lydian");
        assert!(bench.is_on("Scale: C Lydian"));
        assert!(has(&mut bench, "C Lydian") && has(&mut bench, "fits too"));
        assert!(has(&mut bench, "F♯") && !has(&mut bench, "C Ionian"));
        // The chord has ended, and stays on show.
        bench.show(Snapshot {
            sounding: None,
            ..chords[0]
        });
        assert!(has(&mut bench, "C Lydian"));
        bench.show(chords[1]);
        assert!(has(&mut bench, "G Mixolydian"));
        bench.click("Scale: G Lydian dominant");
        bench.show(chords[2]);
        assert!(
            has(&mut bench, "C Ionian"),
            "the choice was for another chord"
        );
    }

    #[test]
    fn the_octave_is_told_to_screen_readers() {
        let mut bench = Bench::new();
        bench.show(sounding("| Dm7 | G7 | Cmaj7 |", &Taste::default())[0]);
        bench.settle();
        let nodes = bench.harness.root().children_recursive();
        let values: Vec<String> = nodes.filter_map(|n| n.value()).collect();
        assert!(
            values.contains(&"D Dorian: D E F G A B C".to_owned()),
            "{values:?}"
        );
    }
}
