//! A list to choose from, with what is chosen on it, for what is no parameter. The panel's thread;
//! regions and `list` import it.

use egui::{ComboBox, Response, Ui};

/// A list.
pub struct List<'a> {
    /// What it is, for screen readers.
    pub what: &'a str,
    /// Its width, in points.
    pub width: f32,
    /// What it does, in a sentence.
    pub tip: &'a str,
}

/// Lays a list of so many choices out. `words` names the choice of an index. Returns the one that was
/// pressed, and what else was done to the list.
pub fn pick(
    ui: &mut Ui,
    list: &List,
    count: usize,
    current: usize,
    words: impl Fn(usize) -> String,
) -> (Option<usize>, Response) {
    let mut pressed = None;
    let response = ComboBox::from_id_salt(list.what)
        .width(list.width)
        .height(400.0)
        .selected_text(words(current))
        .show_ui(ui, |ui| {
            for at in 0..count {
                if ui.selectable_label(at == current, words(at)).clicked() {
                    pressed = Some(at);
                }
            }
        })
        .response;
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_label(list.what);
    });
    (pressed, response.on_hover_text_at_pointer(list.tip))
}
