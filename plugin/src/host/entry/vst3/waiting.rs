//! Notes and controllers that a host hands over while no audio is due, in a block of no samples. The
//! framework takes parameters from such a block and forgets the rest, and a note-off that is forgotten
//! leaves a note hanging. They wait here for the next block. Runs on the audio thread, but for
//! `Waiting::reserve`; imports `events` and `changes`.

use super::changes::{Change, Changes};
use super::events::Events;
use nice_plug::wrapper::vst3::vst3::Steinberg::Vst::Event;

/// Every key of every channel, and every controller.
const ROOM: usize = 16 * 130;

/// What waits, in the order in which it came.
#[derive(Default)]
pub struct Waiting {
    events: Vec<Event>,
    changes: Vec<Change>,
}

impl Waiting {
    /// Makes room, and forgets what waited.
    pub fn reserve(&mut self) {
        *self = Self {
            events: Vec::with_capacity(ROOM),
            changes: Vec::with_capacity(ROOM),
        };
    }

    pub fn clear(&mut self) {
        self.events.clear();
        self.changes.clear();
    }

    pub fn is_empty(&self) -> bool {
        self.events.is_empty() && self.changes.is_empty()
    }

    pub fn events(&self) -> &[Event] {
        &self.events
    }

    pub fn changes(&self) -> &[Change] {
        &self.changes
    }

    /// Keeps what fits.
    pub fn keep(&mut self, events: &Events, changes: &Changes) {
        let room = self.events.capacity() - self.events.len();
        self.events.extend(events.to_keep().take(room));
        for change in changes.of_controllers() {
            if self.changes.len() < self.changes.capacity() {
                self.changes.push(change);
            }
        }
    }
}
