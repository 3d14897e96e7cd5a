//! A group at the right end of a row. The panel's thread; regions import it.

use egui::{Align, Layout, Ui, UiBuilder};

/// Lays a group out at the right end of a row, from left to right, so that the
/// order of the keyboard's focus is that of the eye.
pub fn at_the_right(ui: &mut Ui, id: &str, contents: impl FnOnce(&mut Ui)) {
    let id = ui.scope_id().with(id);
    let width: Option<f32> = ui.data(|data| data.get_temp(id));
    let rect = ui.available_rect_before_wrap();
    let left = width.map_or(rect.left(), |width| rect.right() - width);
    let place = rect.with_min_x(left.max(rect.left()));
    let layout = Layout::left_to_right(Align::Center);
    let mut group = ui.new_child(UiBuilder::new().max_rect(place).layout(layout));
    if width.is_none() {
        group.set_invisible();
    }
    contents(&mut group);
    let wide = group.min_rect().width();
    ui.advance_cursor_after_rect(group.min_rect());
    if width.is_none_or(|width| (width - wide).abs() > 0.5) {
        ui.data_mut(|data| data.insert_temp(id, wide));
        ui.ctx().request_repaint();
    }
}
