//! The only ways back from the panel: parameters, with the host told of each
//! gesture, and what is saved besides. Imports `params`; the regions import it.

use crate::bridge::ends::PanelEnds;
use crate::engine::rhythm::Drawn;
use crate::params::{GuidehandParams, LAST_REVISION, SavedPanel};
use egui::Response;
use guidehand_theory::pitch::NoteNames;
use nice_plug::prelude::{Param, ParamSetter};

/// The parameters under the user's hands.
pub struct Desk<'a> {
    /// The values in force.
    pub params: &'a GuidehandParams,
    /// What the audio thread tells.
    pub ends: &'a PanelEnds,
    setter: ParamSetter<'a>,
    /// The edit counter as it was sent last; the host may not have taken it yet.
    revision_sent: &'a mut Option<i32>,
}

impl<'a> Desk<'a> {
    /// A desk for one frame.
    #[must_use]
    pub fn new(
        params: &'a GuidehandParams,
        ends: &'a PanelEnds,
        setter: ParamSetter<'a>,
        revision_sent: &'a mut Option<i32>,
    ) -> Self {
        Desk {
            params,
            ends,
            setter,
            revision_sent,
        }
    }

    /// Sets a parameter at one stroke.
    pub fn choose<P: Param>(&self, param: &P, value: P::Plain) {
        self.setter.begin_set_parameter(param);
        self.setter.set_parameter(param, value);
        self.setter.end_set_parameter(param);
    }

    /// Sets a parameter as a control is dragged: one gesture from the press to
    /// the release. A value that is typed is a gesture of its own.
    pub fn follow<P: Param>(&self, param: &P, value: P::Plain, response: &Response) {
        let in_drag = response.dragged() || response.drag_stopped();
        if response.changed() && !in_drag {
            return self.choose(param, value);
        }
        if response.drag_started() {
            self.setter.begin_set_parameter(param);
        }
        if response.changed() {
            self.setter.set_parameter(param, value);
        }
        if response.drag_stopped() {
            self.setter.end_set_parameter(param);
        }
    }

    /// Puts a parameter back to its default; nothing where it is there already.
    pub fn reset<P: Param>(&self, param: &P) {
        if param.unmodulated_plain_value() != param.default_plain_value() {
            self.choose(param, param.default_plain_value());
        }
    }

    /// Hands an edited chart on.
    pub fn set_chart(&mut self, text: &str) {
        self.params.chart.set_text(text);
        self.saved_field_changed();
    }

    /// Reads the chart with its notes named in another language; nothing where it is
    /// so already.
    pub fn set_note_names(&mut self, names: NoteNames) {
        if self.params.chart.names() != names {
            self.params.chart.set_names(names);
            self.saved_field_changed();
        }
    }

    /// Puts a drawn pattern in force.
    pub fn set_drawn(&mut self, drawn: Drawn) {
        self.params.drawn.put(drawn);
        self.saved_field_changed();
    }

    /// Takes another size, zoom or look.
    pub fn set_panel(&mut self, panel: SavedPanel) {
        self.params.panel.put(panel);
        self.saved_field_changed();
    }

    /// Moves the edit counter, so that the host offers to save: it is not told of
    /// fields that are no parameters.
    pub fn saved_field_changed(&mut self) {
        let after = |revision: i32| (revision + 1).rem_euclid(LAST_REVISION + 1);
        let mut next = after(self.params.revision.value());
        if Some(next) == *self.revision_sent {
            next = after(next);
        }
        *self.revision_sent = Some(next);
        self.choose(&self.params.revision, next);
    }
}
