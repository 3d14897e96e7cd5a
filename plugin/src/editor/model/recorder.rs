//! What lies beyond the model as tests need it: a plain record of what it was told.
//! Only tests import it.

use crate::bridge::chart::{ChartCell, ReadChart};
use crate::bridge::practice::{PracticeAsk, PracticeCell, ReadPractice};
use crate::bridge::take;
use crate::disk::{NotBegun, Work};
use crate::document::Document;
use crate::editor::model::outside::{Outside, RecordChange};
use crate::editor::model::parameters::Move;
use crate::engine::rhythm::Drawn;
use crate::engine::settings::{PlanFor, Settings, Source};
use crate::engine::taken::Taken;
use crate::engine::trial::Request;
use crate::params::SavedPanel;
use guidehand_practice::{Exercise, Record};
use guidehand_theory::pitch::NoteNames;
use std::sync::Arc;

/// What the model told.
#[derive(Clone, Debug, PartialEq)]
pub enum OutsideCall {
    Moved(Move),
    Played(bool),
    Auditioned(Box<Request>),
    AuditionStopped,
    Chart(String),
    Typed(String),
    Names(NoteNames),
    Tried(Option<String>),
    Kept(String),
    Restored,
    Drawn(Drawn),
    Panel(SavedPanel),
    AskedForZoom(f32),
    AskedForSize([f32; 2]),
    SavedFieldChanged,
    Practised(PracticeAsk),
}

/// Writes down what it is told, and holds the chart.
pub struct Recorder {
    pub settings: Settings,
    cell: ChartCell,
    pub tried: Option<String>,
    pub old_melody: Option<String>,
    pub told: Vec<OutsideCall>,
    /// Work with files that has not been done yet.
    pub work: Vec<Work>,
    /// How often something was to be heard.
    auditions: u32,
    /// The files that were used last.
    pub recent_files: Vec<String>,
    /// The exercise and the record of practice.
    pub practice: PracticeCell,
    /// So many threads are said to be at work where none is given.
    pub no_thread: Option<usize>,
    take: take::Asker,
    /// What is recorded of the right hand is sent from here, as the audio thread does.
    pub take_there: take::Sender,
    /// The take that the audio thread records.
    pub taking: u32,
}

impl Default for Recorder {
    fn default() -> Recorder {
        let (cell, _charts) = ChartCell::new();
        let (take, take_there) = take::channel();
        cell.set_text("");
        Recorder {
            settings: Settings::plain(Source::Chart),
            cell,
            tried: None,
            old_melody: None,
            told: Vec::new(),
            work: Vec::new(),
            auditions: 0,
            recent_files: Vec::new(),
            practice: PracticeCell::default(),
            no_thread: None,
            take,
            take_there,
            taking: 0,
        }
    }
}

impl Recorder {
    /// One whose chart is planned by nobody, and read when that is asked for.
    pub fn unplanned() -> Recorder {
        let recorder = Recorder::default();
        recorder.cell.on_edit(|| true);
        recorder
    }

    /// Reads the chart, if it has not been read.
    pub fn read(&self) {
        let _errors = self.cell.errors();
    }

    /// The chart is typed no further, and is planned.
    pub fn rest(&self) {
        self.cell.settle();
    }

    /// The chart as it is saved.
    pub fn saved(&self) -> String {
        serde_json::to_string(&self.cell.saved()).unwrap()
    }

    /// A saved chart is loaded.
    pub fn load(&self, saved: &str) {
        self.cell.load(serde_json::from_str(saved).unwrap());
    }

    /// Does the work that was begun.
    pub fn do_work(&mut self) {
        self.work.drain(..).for_each(|work| work());
    }
}

impl Outside for Recorder {
    fn settings(&self) -> Settings {
        self.settings
    }

    fn plan_for(&self) -> PlanFor {
        PlanFor::default()
    }

    fn song_bpm(&self) -> f32 {
        120.0
    }

    fn chart(&self) -> Arc<ReadChart> {
        self.cell.latest()
    }

    fn is_tried(&self) -> bool {
        self.tried.is_some()
    }

    fn old_melody(&self) -> Option<String> {
        self.old_melody.clone()
    }

    fn panel(&self) -> SavedPanel {
        SavedPanel {
            knows_tensions: true,
            knows_chart: true,
            ..SavedPanel::default()
        }
    }

    fn move_parameter(&mut self, one: &Move) {
        self.told.push(OutsideCall::Moved(one.clone()));
    }

    fn play(&mut self, plays: bool) {
        self.told.push(OutsideCall::Played(plays));
    }

    fn audition(&mut self, request: &Request) -> u32 {
        self.told.push(OutsideCall::Auditioned(Box::new(*request)));
        self.auditions += 1;
        self.auditions
    }

    fn stop_audition(&mut self) {
        self.told.push(OutsideCall::AuditionStopped);
    }

    fn set_chart(&mut self, document: &Document) -> u64 {
        self.tried = None;
        let text = document.text.as_ref().to_owned();
        self.told.push(OutsideCall::Chart(text));
        self.cell.set_text(document)
    }

    fn type_chart(&mut self, document: &Document) -> u64 {
        self.tried = None;
        let text = document.text.as_ref().to_owned();
        self.told.push(OutsideCall::Typed(text));
        self.cell.type_text(document)
    }

    fn set_note_names(&mut self, names: NoteNames) {
        self.tried = None;
        self.cell.set_names(names);
        self.told.push(OutsideCall::Names(names));
    }

    fn try_out(&mut self, text: Option<&str>) {
        self.tried = text.map(ToOwned::to_owned);
        self.told.push(OutsideCall::Tried(self.tried.clone()));
    }

    fn keep(&mut self, text: &str) {
        self.tried = None;
        self.cell.try_out(Some(text));
        self.cell.keep();
        self.told.push(OutsideCall::Kept(text.to_owned()));
    }

    fn restore_original(&mut self) {
        self.told.push(OutsideCall::Restored);
    }

    fn forget_old_melody(&mut self) {
        self.old_melody = None;
    }

    fn set_drawn(&mut self, drawn: Drawn) {
        self.told.push(OutsideCall::Drawn(drawn));
    }

    fn set_panel(&mut self, panel: SavedPanel) {
        self.told.push(OutsideCall::Panel(panel));
    }

    fn ask_for_zoom(&mut self, zoom: f32) {
        self.told.push(OutsideCall::AskedForZoom(zoom));
    }

    fn ask_for_size(&mut self, size: [f32; 2]) {
        self.told.push(OutsideCall::AskedForSize(size));
    }

    fn saved_field_changed(&mut self) {
        self.told.push(OutsideCall::SavedFieldChanged);
    }

    fn begin(&mut self, work: Work) -> Result<(), NotBegun> {
        if let Some(others) = self.no_thread {
            return Err(NotBegun::TooMany(others));
        }
        self.work.push(work);
        Ok(())
    }

    fn begin_dialog(&mut self, work: Work) -> Result<(), NotBegun> {
        self.begin(work)
    }

    fn practice(&self) -> ReadPractice {
        self.practice.read()
    }

    fn set_exercise(&mut self, exercise: Exercise) {
        self.practice.set_exercise(exercise);
        self.saved_field_changed();
    }

    fn change_record(&mut self, change: &mut RecordChange) -> Option<[Arc<Record>; 2]> {
        let (before, after) = self.practice.change_record(change)?;
        self.saved_field_changed();
        Some([before, after])
    }

    fn practise(&mut self, ask: PracticeAsk) {
        self.practice.ask(ask);
        self.told.push(OutsideCall::Practised(ask));
    }

    fn begin_take(&mut self) -> u32 {
        self.take.begin()
    }

    fn end_take(&mut self) {
        self.take.end();
    }

    fn take_has_ended(&self) -> bool {
        self.take.has_ended()
    }

    fn take_in(&mut self, each: &mut dyn FnMut(Taken)) {
        self.take.drain(each);
    }

    fn lost_of_take(&self) -> u32 {
        self.take.lost()
    }

    fn recent_files(&self) -> Vec<String> {
        self.recent_files.clone()
    }

    fn set_recent_files(&mut self, paths: Vec<String>) {
        self.recent_files = paths;
    }
}
