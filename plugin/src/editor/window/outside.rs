//! The plugin around the model: its parameters, its saved fields, and the host that
//! is told of them. The panel's thread; `window` imports it.

use crate::bridge::chart::ReadChart;
use crate::bridge::ends::PanelEnds;
use crate::bridge::practice::{PracticeAsk, ReadPractice};
use crate::disk::{self, NotBegun, Work};
use crate::document::Document;
use crate::editor::model::outside::{Outside, RecordChange};
use crate::editor::model::parameters::Move;
use crate::editor::window::parameters;
use crate::editor::window::size::AskedSize;
use crate::engine::rhythm::Drawn;
use crate::engine::settings::{PlanFor, Settings};
use crate::engine::taken::Taken;
use crate::engine::trial::Request;
use crate::params::{GuidehandParams, LAST_REVISION, SavedPanel};
use guidehand_practice::{Exercise, Record};
use guidehand_theory::pitch::NoteNames;
use nice_plug::prelude::ParamSetter;
use std::sync::Arc;

/// The plugin and its host, for one frame.
pub struct PluginOutside<'a> {
    params: &'a GuidehandParams,
    /// What the audio thread tells.
    ends: &'a PanelEnds,
    setter: &'a ParamSetter<'a>,
    /// The edit counter as it was sent last; the host may not have taken it yet.
    revision_sent: &'a mut Option<i32>,
    /// What is asked of the window.
    asked: &'a mut AskedSize,
}

impl<'a> PluginOutside<'a> {
    /// The plugin with its host.
    #[must_use]
    pub const fn new(
        (params, ends): (&'a GuidehandParams, &'a PanelEnds),
        setter: &'a ParamSetter<'a>,
        revision_sent: &'a mut Option<i32>,
        asked: &'a mut AskedSize,
    ) -> Self {
        PluginOutside {
            params,
            ends,
            setter,
            revision_sent,
            asked,
        }
    }
}

impl Outside for PluginOutside<'_> {
    fn settings(&self) -> Settings {
        self.params.settings()
    }

    fn plan_for(&self) -> PlanFor {
        self.params.plan_for()
    }

    fn song_bpm(&self) -> f32 {
        self.ends.tempo.bpm()
    }

    fn chart(&self) -> Arc<ReadChart> {
        self.params.chart.latest()
    }

    fn is_tried(&self) -> bool {
        self.params.chart.tried().is_some()
    }

    fn old_melody(&self) -> Option<String> {
        self.params.melody.get()
    }

    fn panel(&self) -> SavedPanel {
        self.params.panel.get()
    }

    fn move_parameter(&mut self, one: &Move) {
        parameters::move_parameter(self.params, self.setter, one);
    }

    fn play(&mut self, plays: bool) {
        if let Some(transport) = &self.ends.transport {
            transport.play(plays);
        }
    }

    fn audition(&mut self, request: &Request) -> u32 {
        self.ends.audition.play(request)
    }

    fn stop_audition(&mut self) {
        self.ends.audition.stop();
    }

    fn set_chart(&mut self, document: &Document) -> u64 {
        let edition = self.params.chart.set_text(document);
        self.saved_field_changed();
        edition
    }

    fn type_chart(&mut self, document: &Document) -> u64 {
        let edition = self.params.chart.type_text(document);
        self.saved_field_changed();
        edition
    }

    fn set_note_names(&mut self, names: NoteNames) {
        if self.params.chart.names() != names {
            self.params.chart.set_names(names);
            self.saved_field_changed();
        }
    }

    fn try_out(&mut self, text: Option<&str>) {
        self.params.chart.try_out(text);
    }

    fn keep(&mut self, text: &str) {
        self.params.chart.try_out(Some(text));
        self.params.chart.keep();
        self.saved_field_changed();
    }

    fn restore_original(&mut self) {
        self.params.chart.restore();
        self.saved_field_changed();
    }

    fn forget_old_melody(&mut self) {
        self.params.melody.forget();
    }

    fn set_drawn(&mut self, drawn: Drawn) {
        self.params.drawn.put(drawn);
        self.saved_field_changed();
    }

    fn set_panel(&mut self, panel: SavedPanel) {
        self.params.panel.put(panel);
        self.saved_field_changed();
    }

    fn ask_for_zoom(&mut self, zoom: f32) {
        self.asked.zoom = Some(zoom);
    }

    fn ask_for_size(&mut self, size: [f32; 2]) {
        self.asked.points = Some(size);
    }

    /// Moves the edit counter, so that the host offers to save: it is not told of
    /// fields that are no parameters.
    fn saved_field_changed(&mut self) {
        let after = |revision: i32| (revision + 1).rem_euclid(LAST_REVISION + 1);
        let revision = &self.params.revision;
        let mut next = after(revision.value());
        if Some(next) == *self.revision_sent {
            next = after(next);
        }
        *self.revision_sent = Some(next);
        self.setter.begin_set_parameter(revision);
        self.setter.set_parameter(revision, next);
        self.setter.end_set_parameter(revision);
    }

    fn begin(&mut self, work: Work) -> Result<(), NotBegun> {
        disk::begin(work)
    }

    fn begin_dialog(&mut self, work: Work) -> Result<(), NotBegun> {
        disk::begin_dialog(work)
    }

    fn practice(&self) -> ReadPractice {
        self.params.practice.read()
    }

    fn set_exercise(&mut self, exercise: Exercise) {
        self.params.practice.set_exercise(exercise);
        self.saved_field_changed();
    }

    fn change_record(&mut self, change: &mut RecordChange) -> Option<[Arc<Record>; 2]> {
        let (before, after) = self.params.practice.change_record(change)?;
        self.saved_field_changed();
        Some([before, after])
    }

    fn practise(&mut self, ask: PracticeAsk) {
        self.params.practice.ask(ask);
    }

    fn begin_take(&mut self) -> u32 {
        self.ends.take.begin()
    }

    fn end_take(&mut self) {
        self.ends.take.end();
    }

    fn take_has_ended(&self) -> bool {
        self.ends.take.has_ended()
    }

    fn take_in(&mut self, each: &mut dyn FnMut(Taken)) {
        self.ends.take.drain(each);
    }

    fn lost_of_take(&self) -> u32 {
        self.ends.take.lost()
    }

    fn recent_files(&self) -> Vec<String> {
        self.params.files.recent()
    }

    fn set_recent_files(&mut self, paths: Vec<String>) {
        if self.params.files.set_recent(paths) {
            self.saved_field_changed();
        }
    }
}
