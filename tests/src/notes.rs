//! Checks on streams of notes: which notes still sound at the end, and whether every note-on has
//! exactly one note-off. Imports [`TimedEvent`] only.

use crate::event::{ANY, Event, TimedEvent};
use std::error::Error;
use std::fmt;

/// A note with its start and its end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlayedNote {
    /// 0 to 15.
    pub channel: i16,
    /// 0 to 127.
    pub key: i16,
    /// The velocity of the note-on.
    pub velocity: f64,
    /// The time of the note-on.
    pub start_samples: u64,
    /// The time of the note-off or choke; not before the start.
    pub end_samples: u64,
}

/// The first fault in a stream of notes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PairingError {
    /// An event lies before the one in front of it.
    Unsorted {
        /// Where in the stream.
        index: usize,
        /// The event.
        event: TimedEvent,
    },
    /// A note starts although it already sounds.
    DoubleOn {
        /// Where in the stream.
        index: usize,
        /// The second note-on.
        event: TimedEvent,
    },
    /// A note-off or choke for which no note sounds.
    OrphanOff {
        /// Where in the stream.
        index: usize,
        /// The note-off.
        event: TimedEvent,
    },
    /// A note-on that does not name a single key and channel.
    VagueOn {
        /// Where in the stream.
        index: usize,
        /// The note-on.
        event: TimedEvent,
    },
    /// A note that never ends.
    Hanging {
        /// Where in the stream.
        index: usize,
        /// The note-on.
        event: TimedEvent,
    },
}

impl fmt::Display for PairingError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (index, event, what) = match self {
            Self::Unsorted { index, event } => (index, event, "is out of order"),
            Self::DoubleOn { index, event } => (index, event, "starts a note that sounds"),
            Self::OrphanOff { index, event } => (index, event, "ends no note"),
            Self::VagueOn { index, event } => (index, event, "names no single note"),
            Self::Hanging { index, event } => (index, event, "never ends"),
        };
        let TimedEvent { at_samples, event } = event;
        write!(f, "event {index}, {event:?} at sample {at_samples}, {what}")
    }
}

impl Error for PairingError {}

/// A note that has started, by its place in the stream.
struct Open {
    index: usize,
    event: TimedEvent,
    note: PlayedNote,
}

/// Pairs each note-on with its one note-off, or choke. A note-off for any key or channel ends all
/// notes that it matches. Notes are returned in the order of their ends. Events that are not notes
/// are ignored.
///
/// # Errors
/// The first fault in the stream; a hanging note only if there is no other, and
/// then the one that started first.
pub fn note_pairs(events: &[TimedEvent]) -> Result<Vec<PlayedNote>, PairingError> {
    let mut open: Vec<Open> = Vec::new();
    let mut notes = Vec::new();
    let mut latest = 0;
    for (index, event) in events.iter().copied().enumerate() {
        if event.at_samples < latest {
            return Err(PairingError::Unsorted { index, event });
        }
        latest = event.at_samples;
        if let Some(note) = started(event) {
            if note.channel == ANY || note.key == ANY {
                return Err(PairingError::VagueOn { index, event });
            }
            if open.iter().any(|o| meets(note.channel, note.key, &o.note)) {
                return Err(PairingError::DoubleOn { index, event });
            }
            open.push(Open { index, event, note });
        } else if let Some((channel, key)) = ended(event.event) {
            let before = notes.len();
            let ending = open.extract_if(.., |o| meets(channel, key, &o.note));
            notes.extend(ending.map(|o| PlayedNote {
                end_samples: event.at_samples,
                ..o.note
            }));
            if notes.len() == before {
                return Err(PairingError::OrphanOff { index, event });
            }
        }
    }
    match open.first() {
        None => Ok(notes),
        Some(Open { index, event, .. }) => Err(PairingError::Hanging {
            index: *index,
            event: *event,
        }),
    }
}

/// The channel and key of every note that sounds after the last event, in the
/// order in which they started. One note-off is enough for a note that was
/// started twice, as in most instruments; [`note_pairs`] is stricter.
#[must_use]
pub fn hanging(events: &[TimedEvent]) -> Vec<(i16, i16)> {
    let mut sounding: Vec<PlayedNote> = Vec::new();
    for event in events.iter().copied() {
        if let Some(note) = started(event) {
            sounding.retain(|other| (other.channel, other.key) != (note.channel, note.key));
            sounding.push(note);
        } else if let Some((channel, key)) = ended(event.event) {
            sounding.retain(|note| !meets(channel, key, note));
        }
    }
    sounding
        .iter()
        .map(|note| (note.channel, note.key))
        .collect()
}

/// The note that an event starts. Its end is set to its start for now.
fn started(event: TimedEvent) -> Option<PlayedNote> {
    match event.event {
        Event::NoteOn {
            channel,
            key,
            velocity,
            ..
        } => Some(PlayedNote {
            channel,
            key,
            velocity,
            start_samples: event.at_samples,
            end_samples: event.at_samples,
        }),
        _ => None,
    }
}

/// The channel and key that an event ends. Each of them may be [`ANY`].
fn ended(event: Event) -> Option<(i16, i16)> {
    match event {
        Event::NoteOff { channel, key, .. } | Event::Choke { channel, key, .. } => {
            Some((channel, key))
        }
        _ => None,
    }
}

fn meets(channel: i16, key: i16, note: &PlayedNote) -> bool {
    (channel == ANY || channel == note.channel) && (key == ANY || key == note.key)
}
