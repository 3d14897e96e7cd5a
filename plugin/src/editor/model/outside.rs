//! What lies beyond the model: the parameters, the fields that are saved, and the
//! window. `window` implements it for the plugin, and tests with a recorder. The
//! panel's thread; `model` and `window` import it.

use crate::bridge::chart::ReadChart;
use crate::bridge::practice::{PracticeAsk, ReadPractice};
use crate::disk::{NotBegun, Work};
use crate::document::Document;
use crate::editor::model::parameters::Move;
use crate::engine::rhythm::Drawn;
use crate::engine::settings::{PlanFor, Settings};
use crate::engine::taken::Taken;
use crate::engine::trial::Request;
use crate::params::SavedPanel;
use guidehand_practice::{Exercise, Record};
use guidehand_theory::pitch::NoteNames;
use std::sync::Arc;

/// What becomes of a record, if anything.
pub type RecordChange<'a> = dyn FnMut(&Arc<Record>) -> Option<Record> + 'a;

/// What lies beyond the model.
pub trait Outside {
    /// The values in force.
    fn settings(&self) -> Settings;

    /// What a plan of the chart depends on.
    fn plan_for(&self) -> PlanFor;

    /// The tempo that the host told last, in quarter notes a minute.
    fn song_bpm(&self) -> f32;

    /// The newest text of the chart that has been read.
    fn chart(&self) -> Arc<ReadChart>;

    /// Whether another harmony is tried.
    fn is_tried(&self) -> bool;

    /// The melody that a version without melodies in the document has saved, if there is one.
    fn old_melody(&self) -> Option<String>;

    /// The panel as it is saved.
    fn panel(&self) -> SavedPanel;

    /// Moves a parameter, and tells the host of the gesture.
    fn move_parameter(&mut self, one: &Move);

    /// The program that needs no host plays from the start, or stops.
    fn play(&mut self, plays: bool);

    /// Lets something be heard, in place of what is tried by ear already. Returns the number by which
    /// `Snapshot::trying` tells that it sounds.
    fn audition(&mut self, request: &Request) -> u32;

    /// Ends what is tried by ear.
    fn stop_audition(&mut self);

    /// Hands an edited chart on to be read; gives the number of its text. The edit is finished: the
    /// text comes into force as soon as it has been read.
    fn set_chart(&mut self, document: &Document) -> u64;

    /// The same for a text that is still being typed: it comes into force once typing rests.
    fn type_chart(&mut self, document: &Document) -> u64;

    /// Reads the chart with its notes named in another language.
    fn set_note_names(&mut self, names: NoteNames);

    /// Lets another text sound from the next bar line on; none lets the chart itself
    /// sound again.
    fn try_out(&mut self, text: Option<&str>);

    /// This text becomes the chart, and the chart before it the original.
    fn keep(&mut self, text: &str);

    /// The original chart comes back.
    fn restore_original(&mut self);

    /// That melody is in the document now.
    fn forget_old_melody(&mut self);

    /// Puts a drawn pattern in force.
    fn set_drawn(&mut self, drawn: Drawn);

    /// Takes another look.
    fn set_panel(&mut self, panel: SavedPanel);

    /// Asks for another zoom, which the host may refuse: the window grows with it.
    fn ask_for_zoom(&mut self, zoom: f32);

    /// Asks for another size of the window, in points of the zoom, which the host may refuse.
    fn ask_for_size(&mut self, size: [f32; 2]);

    /// Something that is saved has changed that the host is not told of otherwise.
    fn saved_field_changed(&mut self);

    /// Begins work with a file on a thread of its own.
    ///
    /// # Errors
    /// There is no thread for it.
    fn begin(&mut self, work: Work) -> Result<(), NotBegun>;

    /// Begins to ask the player in a dialog, on a thread of its own.
    ///
    /// # Errors
    /// There is no thread for it.
    fn begin_dialog(&mut self, work: Work) -> Result<(), NotBegun>;

    /// The exercise, the record and the drill of practice.
    fn practice(&self) -> ReadPractice;

    /// Takes another exercise. It is saved.
    fn set_exercise(&mut self, exercise: Exercise);

    /// Puts what is made of the record in its place, and saves it; nothing happens if nothing is made of
    /// it. Returns the record before and the one after.
    fn change_record(&mut self, change: &mut RecordChange) -> Option<[Arc<Record>; 2]>;

    /// Asks something of the drill that runs.
    fn practise(&mut self, ask: PracticeAsk);

    /// A take of the right hand is to begin. Returns its number.
    fn begin_take(&mut self) -> u32;

    /// The take is to end.
    fn end_take(&mut self);

    /// Whether it has ended, once the player wanted it, and all of it can be taken in.
    fn take_has_ended(&self) -> bool;

    /// Hands on what has come of takes, the oldest first.
    fn take_in(&mut self, each: &mut dyn FnMut(Taken));

    /// What was lost of the last take because nobody took it in for too long.
    fn lost_of_take(&self) -> u32;

    /// The files that were used last, the newest first.
    fn recent_files(&self) -> Vec<String>;

    /// Remembers these files as those that were used last, the newest first.
    fn set_recent_files(&mut self, paths: Vec<String>);
}
