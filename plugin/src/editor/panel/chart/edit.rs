//! The chart's text under the hands of the player, in the toolkit's own editor of texts. It
//! is drawn from the model; what is typed becomes an action. The panel runs it; `chart` and
//! `tools` import it. Imports `layout`, `scene`, `paint`, `bars`, the model and `theme`.

use super::layout::TextLayout;
use super::line::LINE;
use super::paint::Brush;
use super::scene::{Scene, Voicings};
use crate::editor::model::action::{Action, Actions};
use crate::editor::model::chart::{ChartAction, ChartText};
use crate::editor::model::in_hand::InHandAction;
use crate::editor::panel::view::View;
use crate::editor::{theme, widgets};
use egui::text::{CCursor, CCursorRange};
use egui::text_edit::{TextEditOutput, TextEditState};
use egui::{
    Color32, Context, Event, Frame, Galley, Id, Key, Margin, Rangef, Rect, Shape, TextEdit, Ui,
    vec2,
};
use std::sync::{Arc, Mutex, PoisonError};

/// Left of the text, for the numbers of bars, in points.
const GUTTER: i8 = 30;
const _: () = assert!(GUTTER > 20, "numbers of bars have four digits");

/// What drawing keeps from frame to frame. Nothing in it is the player's: without it a frame
/// only takes longer, and the text does not follow the playing.
#[derive(Default)]
struct Drawing {
    /// The text in the hands of the toolkit. It is that of the model but for what has been
    /// typed in this frame.
    text: String,
    layout: TextLayout,
    voicings: Voicings,
    follows: Follows,
}

/// What the view has followed so far.
#[derive(Clone, Copy, Default)]
struct Follows {
    /// The bar that was shown last, so that the view follows the playing once a
    /// bar and can be scrolled in between.
    shown: Option<usize>,
    /// How often the cursor had been led by the last frame; none before the first one, for
    /// a window that opens again leads nowhere.
    led: Option<u64>,
}

/// What drawing keeps, where the toolkit keeps it.
#[derive(Clone, Default)]
struct Kept(Arc<Mutex<Drawing>>);

fn kept(ctx: &Context) -> Kept {
    ctx.data_mut(|data| data.get_temp_mut_or_default::<Kept>(text_id()).clone())
}

/// The text's own id, under which the toolkit keeps its cursor.
pub fn text_id() -> Id {
    Id::unique("the chart's text")
}

/// The text, in a frame of its own, scrolling where it is long.
pub fn text(ui: &mut Ui, chart: &ChartText, view: &View, actions: &mut Actions, height: f32) {
    widgets::typed_text(ui, "chart", height, |ui, inner| {
        let kept = kept(ui.ctx());
        let mut drawing = kept.0.lock().unwrap_or_else(PoisonError::into_inner);
        scrolled(ui, chart, &mut drawing, view, actions, inner);
        if drawing.layout.is_behind() {
            ui.ctx().request_repaint();
        }
    });
}

/// The text with all that is around it.
fn scrolled(
    ui: &mut Ui,
    chart: &ChartText,
    drawing: &mut Drawing,
    view: &View,
    actions: &mut Actions,
    height: f32,
) {
    let playing = chart.playing(&view.as_written);
    let behind = ui.painter().add(Shape::Noop);
    // Its own cursor would be as high as a line, and blink.
    ui.visuals_mut().text_cursor.blink = false;
    ui.visuals_mut().text_cursor.stroke.color = Color32::TRANSPARENT;
    let output = edit(ui, chart, drawing, height);
    let response = output.response.response;
    let range = output.cursor_range.filter(|_| response.has_focus());
    ui.ctx()
        .accesskit_node_builder(response.id, |node| node.set_label("Chart"));
    let (text, origin) = (&drawing.text, output.galley_pos);
    let rows = drawing.layout.rows();
    // A paste by the mouse, and the first letter of all, are laid out in the next frame.
    let rows = rows.filter(|_| output.galley.text() == text);
    let selected = range.zip(rows).map(|(range, rows)| {
        let [from, to] = range.sorted_cursors();
        rows.byte_of(text, from)..rows.byte_of(text, to)
    });
    if text != chart.text() {
        let end = text.len();
        actions.push(Action::Chart(ChartAction::Type {
            text: text.clone(),
            cursor: selected.unwrap_or(end..end),
            now_seconds: ui.input(|input| input.time),
            finished: ui.input(|input| is_finished(&input.events)),
        }));
    } else if let Some(selected) = selected
        && Some(&selected) != chart.selected()
    {
        actions.push(Action::Chart(ChartAction::Select(selected)));
        // A press takes nothing yet: it may become a selection.
        if !ui.input(|input| input.pointer.any_down()) && !response.clicked() {
            actions.push(Action::InHand(InHandAction::Take { again: false }));
        }
    }
    if response.clicked() {
        actions.push(Action::InHand(InHandAction::Take { again: true }));
    }
    let Some(rows) = rows.cloned() else {
        return;
    };
    let lines = drawing.layout.lines();
    let scene = Scene::new(ui, chart, (text, lines), (&rows, origin), playing);
    let brush = Brush::new(ui, &scene);
    let shapes = brush.behind(chart.marked());
    ui.painter().set(behind, Shape::Vec(shapes));
    brush.bars(&view.settings.taste, &mut drawing.voicings);
    brush.keys();
    brush.errors();
    if let Some(cursor) = range {
        brush.cursor(cursor.primary);
    }
    brush.explain(&response);
    drawing.follows = follow(ui, chart, &scene, drawing.follows, response.has_focus());
}

/// The text of a paste. The window hands it on like a text that is typed (egui-baseview 0.9.0), but a
/// key writes one character.
pub fn pasted(event: &Event) -> Option<&str> {
    match event {
        Event::Paste(text) => Some(text),
        Event::Text(text) if text.chars().nth(1).is_some() => Some(text),
        _ => None,
    }
}

/// Whether the edits of a frame end with a line break or a paste.
pub fn is_finished(events: &[Event]) -> bool {
    let finishes = |event: &Event| match event {
        event if pasted(event).is_some() => Some(true),
        Event::Key {
            key, pressed: true, ..
        } => match key {
            Key::Enter => Some(true),
            Key::Backspace | Key::Delete => Some(false),
            _ => None,
        },
        // The toolkit takes no line breaks from these.
        Event::Text(text) if text == "\n" || text == "\r" => None,
        Event::Text(_) | Event::Cut => Some(false),
        _ => None,
    };
    events.iter().rev().find_map(finishes).unwrap_or(false)
}

/// The editor of the text itself.
fn edit(ui: &mut Ui, chart: &ChartText, drawing: &mut Drawing, height: f32) -> TextEditOutput {
    let Drawing {
        text,
        layout,
        follows,
        ..
    } = drawing;
    if text != chart.text() {
        chart.text().clone_into(text);
    }
    let target = chart.cursor_target();
    if follows.led.is_some_and(|led| led != target.count) {
        let before = text.get(..target.at).unwrap_or("").chars().count();
        let mut state = TextEditState::load(ui.ctx(), text_id()).unwrap_or_default();
        let cursor = CCursorRange::one(CCursor::new(before));
        state.cursor.set_char_range(Some(cursor));
        state.store(ui.ctx(), text_id());
    }
    let top = ui.cursor().top();
    let clip = ui.clip_rect();
    let in_view = Rangef::new(clip.top() - top, clip.bottom() - top);
    let reading = chart.reading();
    let mut layouter = |ui: &Ui, buffer: &dyn egui::TextBuffer, width: f32| -> Arc<Galley> {
        layout.lay_out(ui, buffer.as_str(), reading, width, in_view)
    };
    let margin = Margin {
        left: GUTTER,
        ..Margin::ZERO
    };
    TextEdit::multiline(text)
        .id(text_id())
        .font(theme::mono(theme::CHART_TEXT))
        .frame(Frame::NONE.inner_margin(margin))
        .desired_width(f32::INFINITY)
        .min_size(vec2(0.0, height))
        .hint_text("Type or paste chords: | Dm7 | G7 | Cmaj7 |")
        .layouter(&mut layouter)
        .show(ui)
}

/// Scrolls to where the cursor was led, or to the bar that sounds when that is
/// another one, with the row after it in view.
fn follow(
    ui: &Ui,
    chart: &ChartText,
    scene: &Scene,
    mut follows: Follows,
    has_focus: bool,
) -> Follows {
    let row = |at: usize| -> Option<Rect> {
        let place = scene.rows.place(scene.text, at)?;
        Some(scene.rows.rect(place.row).translate(scene.offset()))
    };
    let target = chart.cursor_target();
    let before = follows.led.replace(target.count);
    if before.is_some_and(|led| led != target.count) {
        if let Some(row) = row(target.at) {
            ui.scroll_to_rect(row, None);
        }
        return follows;
    }
    let bar = scene.playing.map(|playing| playing.bar);
    if has_focus || follows.shown == bar {
        return follows;
    }
    let start = bar.and_then(|bar| Some(scene.bar(bar)?.source.start));
    if let Some(row) = start.and_then(row) {
        let ahead = Rect::from_min_max(row.min, row.max + vec2(0.0, LINE));
        ui.scroll_to_rect(ahead, None);
    }
    follows.shown = bar;
    follows
}
