//! Checks that must hold for any performance, on plain events and samples. The tests below plant a
//! fault for each check. Imports notes and errors.

use crate::comp::CompError;
use crate::error::HostError;
use crate::event::{Event, TimedEvent};
use crate::notes::{PairingError, PlayedNote, note_pairs};
use crate::session::Performance;
use std::error::Error;
use std::fmt;

/// No sample exceeds this: -6 dBFS, rounded up in the fourth decimal.
pub const CEILING: f32 = 0.5012;

/// How far a note may be from its place in another rendering, in samples. Hosts send positions in
/// steps of 2^-31 beats, so a place that falls on a sample to within such a step can be rounded to
/// either side.
pub const NEAR_SAMPLES: u64 = 1;

/// A fault of a performance.
#[derive(Debug)]
pub enum Fault {
    /// A note hangs, is struck twice, or ends without a start.
    Pairing(PairingError),
    /// A note has a key or channel that does not exist.
    NoKey(TimedEvent),
    /// A sample is no number or too loud.
    Sample {
        /// Its place, left channel first.
        index: usize,
        /// Its value.
        value: f32,
    },
    /// A note sounds after the transport has stopped.
    AfterStop {
        /// The stop.
        stop_samples: u64,
        /// The note.
        note: PlayedNote,
    },
    /// Another rendering has other notes.
    Differs {
        /// Which other rendering.
        how: &'static str,
        /// The first notes that differ, if there are any.
        found: Option<PlayedNote>,
        /// What the first rendering had there.
        expected: Option<PlayedNote>,
    },
    /// Calls to the host came from the wrong thread.
    WrongThread(u32),
    /// The host found a fault: a plugin that refuses, or events out of order or
    /// outside of their block.
    Host(HostError),
    /// The state has no chart.
    State(CompError),
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Pairing(error) => write!(f, "{error}"),
            Self::NoKey(event) => write!(f, "no such key: {event:?}"),
            Self::Sample { index, value } => write!(f, "audio value {index} is {value}"),
            Self::AfterStop { stop_samples, note } => {
                write!(
                    f,
                    "after the stop at sample {stop_samples} there is {note:?}"
                )
            }
            Self::Differs {
                how,
                found,
                expected,
            } => write!(f, "{how}: found {found:?}, expected {expected:?}"),
            Self::WrongThread(calls) => write!(f, "{calls} calls came from the wrong thread"),
            Self::Host(error) => write!(f, "{error}"),
            Self::State(error) => write!(f, "{error}"),
        }
    }
}

impl Error for Fault {}

impl From<HostError> for Fault {
    fn from(error: HostError) -> Self {
        Self::Host(error)
    }
}

impl From<CompError> for Fault {
    fn from(error: CompError) -> Self {
        Self::State(error)
    }
}

/// The notes of a stream, by start, channel and key: each names one key, has one
/// note-off, and starts only while it does not sound.
///
/// # Errors
/// [`Fault::NoKey`] or [`Fault::Pairing`].
pub fn notes(events: &[TimedEvent]) -> Result<Vec<PlayedNote>, Fault> {
    for timed in events {
        if let Event::NoteOn { channel, key, .. } = timed.event {
            let exists = (0..16).contains(&channel) && (0..128).contains(&key);
            if !exists {
                return Err(Fault::NoKey(*timed));
            }
        }
    }
    let mut notes = note_pairs(events).map_err(Fault::Pairing)?;
    notes.sort_by_key(|note| (note.start_samples, note.channel, note.key));
    Ok(notes)
}

/// Every sample is a number and stays below the ceiling.
///
/// # Errors
/// [`Fault::Sample`].
pub fn audio(performance: &Performance) -> Result<(), Fault> {
    samples(performance.left.iter().chain(&performance.right))
}

/// The same of any samples.
///
/// # Errors
/// [`Fault::Sample`].
pub fn samples<'s>(samples: impl Iterator<Item = &'s f32>) -> Result<(), Fault> {
    let mut numbered = samples.enumerate();
    let fault = numbered.find(|(_, sample)| sample.is_nan() || sample.abs() > CEILING);
    fault.map_or(Ok(()), |(index, value)| {
        let value = *value;
        Err(Fault::Sample { index, value })
    })
}

/// No note sounds while the transport stands still, from `slack_samples` after
/// each stop to the next start.
///
/// # Errors
/// [`Fault::AfterStop`].
pub fn silent(notes: &[PlayedNote], stops: &[(u64, u64)], slack_samples: u64) -> Result<(), Fault> {
    for (from, to) in stops {
        let after = |note: &&PlayedNote| {
            note.start_samples < *to && note.end_samples > (from + slack_samples).min(*to)
        };
        if let Some(note) = notes.iter().find(after) {
            return Err(Fault::AfterStop {
                stop_samples: *from,
                note: *note,
            });
        }
    }
    Ok(())
}

/// Two renderings have the same notes, within the precision of a host's positions.
///
/// # Errors
/// [`Fault::Differs`] with the first notes that differ.
pub fn same(
    how: &'static str,
    found: &[PlayedNote],
    expected: &[PlayedNote],
) -> Result<u64, Fault> {
    let near = |a: u64, b: u64| a.abs_diff(b) <= NEAR_SAMPLES;
    let longer = found.len().max(expected.len());
    for index in 0..longer {
        let pair = (found.get(index), expected.get(index));
        let equal = pair.0.zip(pair.1).is_some_and(|(a, b)| {
            (a.channel, a.key) == (b.channel, b.key)
                && (a.velocity - b.velocity).abs() < 1.0e-9
                && near(a.start_samples, b.start_samples)
                && near(a.end_samples, b.end_samples)
        });
        if !equal {
            return Err(Fault::Differs {
                how,
                found: pair.0.copied(),
                expected: pair.1.copied(),
            });
        }
    }
    Ok(longer as u64)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn on(at_samples: u64, key: i16) -> TimedEvent {
        TimedEvent::new(at_samples, Event::note_on(0, key, 0.5))
    }

    fn off(at_samples: u64, key: i16) -> TimedEvent {
        TimedEvent::new(at_samples, Event::note_off(0, key))
    }

    fn sound() -> Vec<TimedEvent> {
        vec![
            on(0, 60),
            on(0, 64),
            off(9, 64),
            off(10, 60),
            on(10, 60),
            off(12, 60),
        ]
    }

    #[test]
    fn sound_notes_pass() {
        assert_eq!(notes(&sound()).unwrap().len(), 3);
    }

    #[test]
    fn each_planted_fault_in_the_notes_is_found() {
        let planted: [fn(&mut Vec<TimedEvent>); 6] = [
            // A note that hangs, a lone note-off, one too many, a second note-on.
            |events| events.truncate(5),
            |events| events.insert(0, off(0, 50)),
            |events| events.push(off(12, 60)),
            |events| events.insert(2, on(1, 60)),
            // A key that does not exist, and time that runs backwards.
            |events| events.extend([on(20, 128), off(21, 128)]),
            |events| events.swap(2, 5),
        ];
        for (index, plant) in planted.into_iter().enumerate() {
            let mut events = sound();
            plant(&mut events);
            assert!(notes(&events).is_err(), "fault {index} was not found");
        }
    }

    #[test]
    fn odd_and_loud_samples_are_found() {
        let heard = |left: [f32; 2], right: [f32; 2]| {
            audio(&Performance {
                left: left.to_vec(),
                right: right.to_vec(),
                ..Performance::default()
            })
        };
        assert!(heard([0.5, -0.5], [0.0, 0.1]).is_ok());
        for odd in [f32::NAN, f32::INFINITY, 0.502, -0.502] {
            assert!(heard([0.0, odd], [0.0; 2]).is_err(), "{odd} on the left");
            let fault = heard([0.0; 2], [odd, 0.0]).unwrap_err();
            assert!(matches!(fault, Fault::Sample { index: 2, .. }), "{fault}");
        }
    }

    #[test]
    fn a_note_after_a_stop_is_found() {
        let heard = |from, to| {
            let events = [on(from, 60), off(to, 60)];
            silent(&notes(&events).unwrap(), &[(100, 200)], 10)
        };
        for (from, to) in [(0, 100), (0, 110), (90, 105), (200, 300)] {
            assert!(heard(from, to).is_ok(), "{from} to {to}");
        }
        for (from, to) in [(0, 111), (120, 130), (0, 500), (199, 300)] {
            assert!(heard(from, to).is_err(), "{from} to {to}");
        }
    }

    #[test]
    fn every_difference_is_found() {
        let first = notes(&sound()).unwrap();
        assert_eq!(same("the same", &first, &first).unwrap(), 3);
        let changes: [fn(&mut Vec<PlayedNote>); 7] = [
            |notes| notes.truncate(2),
            |notes| notes.push(notes[0]),
            |notes| notes[1].key += 1,
            |notes| notes[1].channel += 1,
            |notes| notes[1].velocity += 0.001,
            |notes| notes[2].start_samples += 2,
            |notes| notes[2].end_samples -= 2,
        ];
        for (index, change) in changes.into_iter().enumerate() {
            let mut second = first.clone();
            change(&mut second);
            assert!(same("changed", &second, &first).is_err(), "change {index}");
        }
    }
}
