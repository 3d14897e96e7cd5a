//! The scale to play: its name, its own octave of keys with chord tones, tensions and
//! notes to avoid, and the other scales that fit. The panel's thread; `panel` imports
//! it.

use crate::editor::model::action::{Action, Actions, PanelAction};
use crate::editor::model::audition::{self, StartsOn};
use crate::editor::model::chart::ChartAction;
use crate::editor::model::scale::ScaleChoice;
use crate::editor::palette::Palette;
use crate::editor::panel::keyboard::keys::{KeyFill, Keys};
use crate::editor::panel::view::View;
use crate::editor::view::is_black;
use crate::editor::view::scales::{self, Scale, ScaleNote, Scales};
use crate::editor::widgets::mark;
use crate::editor::{theme, view, widgets};
use egui::{
    Align2, Button, Color32, Painter, RichText, Role, Sense, Stroke, Theme, Ui, WidgetInfo, pos2,
    vec2,
};

/// The height of the names under the keys, in points.
const NAMES: f32 = 17.0;
/// The height of the everyday names below them, in points.
const EVERYDAY: f32 = 12.0;
/// The height of the line that says why, with the gap before it, in points.
const REASON: f32 = 20.0;
/// The highest that the keys grow, and the lowest, in points.
const KEYS: [f32; 2] = [84.0, 40.0];
/// The widest that an octave grows, in points.
const WIDEST: f32 = 420.0;
/// The width kept for the buttons by which it is heard, in points.
const HEAR: f32 = 148.0;
/// The size of a degree's label, in points.
const LABEL: f32 = 10.5;

/// Lays the region out.
pub fn region(ui: &mut Ui, view: &View, actions: &mut Actions) {
    let snapshot = &view.snapshot;
    let palette = theme::palette(ui.ctx());
    let Some(scales) = scales::scales(snapshot) else {
        ui.horizontal(|ui| heading(ui, "shows with the first chord", palette.soft));
        return;
    };
    ui.spacing_mut().item_spacing.y = 4.0;
    let chosen = view.chosen_scale(&scales);
    let Some(scale) = scales.all.get(chosen) else {
        return;
    };
    let past = snapshot.sounding.is_none();
    let colour = if past { palette.faint } else { palette.bright };
    ui.horizontal(|ui| {
        heading(ui, &scale.title, colour);
        let remarks = scale.remarks();
        let room = ui.available_width() - HEAR;
        let fits = |words: &&String| widgets::remark_width(ui, words) <= room;
        if let Some(words) = remarks.iter().find(fits).filter(|words| !words.is_empty()) {
            widgets::remark(ui, words, palette.soft);
        }
        widgets::at_the_right(ui, "hear", |ui| hear(ui, view, chosen, actions));
    });
    if let Some(other) = others(ui, &scales, chosen, view, actions) {
        actions.push(choose(view, &scales, other));
    }
    let [highest, lowest] = KEYS;
    let room = ui.available_height() - names_height(scale);
    if room < lowest {
        return names(ui, scale, palette);
    }
    let reason = room >= lowest + REASON;
    let keys = if reason { room - REASON } else { room };
    octave(ui, scale, keys.min(highest), palette);
    if reason {
        ui.horizontal(|ui| why(ui, scale, palette));
    }
}

/// The reason, and in front of it the steps where there is room.
fn why(ui: &mut Ui, scale: &Scale, palette: &Palette) {
    let gap = ui.spacing().item_spacing.x;
    let [steps, reason] =
        [&scale.steps, &scale.reason].map(|words| widgets::remark_width(ui, words));
    if steps + gap + reason <= ui.available_width() {
        widgets::remark(ui, &scale.steps, palette.bright)
            .on_hover_text("Steps: H a half step, W a whole one");
    }
    widgets::remark(ui, &scale.reason, palette.soft);
}

/// The height of the names under the keys: everyday names have a line of their own.
fn names_height(scale: &Scale) -> f32 {
    if scale.notes.iter().any(|note| note.everyday.is_some()) {
        NAMES + EVERYDAY
    } else {
        NAMES
    }
}

/// The notes in a line, where there is no room for keys.
fn names(ui: &mut Ui, scale: &Scale, palette: &Palette) {
    ui.horizontal(|ui| {
        for note in &scale.notes {
            let words = RichText::new(&note.name).font(theme::bold(13.0));
            let words = if note.avoid {
                words.color(palette.faint).strikethrough()
            } else {
                words.color(palette.of_kind(note.kind))
            };
            ui.label(words)
                .on_hover_text(format!("{}: {}", note.degree, note.names()));
        }
    });
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
    ui.heading("Scale");
    ui.add_space(8.0);
    ui.label(RichText::new(title).font(theme::text(15.0)).color(colour));
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

/// The scale on its octave of keys, with its notes by name.
fn octave(ui: &mut Ui, scale: &Scale, height: f32, palette: &Palette) {
    let names = names_height(scale);
    let size = vec2(ui.available_width().min(WIDEST), height + names);
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    response.widget_info(|| {
        let notes: Vec<String> = scale.notes.iter().map(ScaleNote::names).collect();
        let words = format!("{}: {}", scale.title, notes.join(" "));
        WidgetInfo::labeled(Role::Label, true, words)
    });
    let strip = rect.with_max_y(rect.bottom() - names);
    let keys = Keys::new(strip, scale.octave.clone());
    let painter = ui.painter();
    let note = |key: u8| scale.notes.iter().find(|note| note.key == key);
    keys.paint(painter, palette, |key| match note(key) {
        Some(_) => KeyFill::Plain,
        None => KeyFill::Outside,
    });
    for note in &scale.notes {
        one(painter, &keys, note, strip.bottom() + NAMES, palette);
    }
}

/// A note on its key, with its name under the keys; a note to avoid is a ring that
/// is struck through.
fn one(painter: &Painter, keys: &Keys, note: &ScaleNote, bottom: f32, palette: &Palette) {
    let key = keys.key(note.key);
    let size = mark::size(LABEL);
    let centre = key.center_bottom() - vec2(0.0, 4.0 + size.y / 2.0);
    if note.avoid {
        avoid(painter, centre, note, palette);
    } else {
        // A mark is dark on a light key, whatever the look.
        let light = painter.ctx().theme() == Theme::Light && !is_black(note.key);
        let on = if light {
            mark::On::Ground
        } else {
            mark::On::Key
        };
        mark::paint(painter, centre, &note.degree, note.kind, LABEL, on);
    }
    let (font, colour) = if note.avoid {
        (theme::text(12.0), palette.soft)
    } else {
        (theme::bold(12.5), palette.bright)
    };
    let at = pos2(key.center().x, bottom);
    if let Some(everyday) = &note.everyday {
        let (at, words) = (at + vec2(0.0, EVERYDAY), format!("({everyday})"));
        painter.text(
            at,
            Align2::CENTER_BOTTOM,
            words,
            theme::text(10.5),
            palette.soft,
        );
    }
    let drawn = painter.text(at, Align2::CENTER_BOTTOM, &note.name, font, colour);
    if note.avoid {
        let y = drawn.center().y + 1.0;
        painter.hline(drawn.expand(1.0).x_range(), y, Stroke::new(1.25, colour));
    }
}

fn avoid(painter: &Painter, centre: egui::Pos2, note: &ScaleNote, palette: &Palette) {
    let black = is_black(note.key);
    let colour = if black {
        palette.on_white_key_outside
    } else {
        palette.on_white_key
    };
    let radius = LABEL * 0.95;
    painter.circle_stroke(centre, radius, Stroke::new(1.25, colour));
    let slant = vec2(radius, -radius) * 0.72;
    painter.line_segment([centre - slant, centre + slant], Stroke::new(1.25, colour));
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
        assert!(has(
            &mut bench,
            "holds the chord and its tensions; all its notes are in the key"
        ));
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
