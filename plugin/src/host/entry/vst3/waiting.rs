//! Notes and controllers that a host hands over while no audio is due, in a block of no samples. The
//! framework takes parameters from such a block and forgets the rest, and a note-off that is forgotten
//! leaves a note hanging. They wait here for the next block. Runs on the audio thread, but for
//! `Waiting::reserve`; imports `events` and `changes`.

use super::changes::{Change, Changes};
use super::events::Events;
use nice_plug::wrapper::vst3::vst3::Steinberg::Vst::Event;

/// Every key of every channel.
const EVENTS: usize = 16 * 128;
/// Every controller of every channel.
const CHANGES: usize = 16 * 130;

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
            events: Vec::with_capacity(EVENTS),
            changes: Vec::with_capacity(CHANGES),
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

    /// Keeps the events that fit, and the last value of every controller: all of them count from the
    /// same sample.
    pub fn keep(&mut self, events: &Events, changes: &Changes) {
        let room = self.events.capacity() - self.events.len();
        self.events.extend(events.to_keep().take(room));
        for (id, value) in changes.of_controllers() {
            let has_room = self.changes.len() < self.changes.capacity();
            match self.changes.iter_mut().find(|(other, _)| *other == id) {
                Some(change) => change.1 = value,
                None if has_room => self.changes.push((id, value)),
                None => {}
            }
        }
    }
}
