//! Random streams of events from a printed seed, well-behaved or not. Imports [`TimedEvent`] only.

use crate::event::{ANY, ANY_NOTE, Event, NoteExpressionType, TimedEvent};
use fastrand::Rng;

/// How a stream behaves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Manners {
    /// Every note-on has its one note-off, later and in the stream; no note
    /// starts while it sounds; all numbers are in range.
    Polite,
    /// Anything that a careless host might send: double note-ons, orphan
    /// note-offs, overlaps, any key on any channel, chokes, raw MIDI,
    /// velocities out of range, notes left hanging.
    Rude,
    /// All that is rude, in no order, and some of it after the end.
    Careless,
}

/// A source of random streams. The same seed gives the same streams.
pub struct Generator {
    rng: Rng,
    manners: Manners,
}

/// Velocities that no host should send. The last one is an exception: it is a note-off in MIDI and
/// a silent note in CLAP.
const RUDE_VELOCITIES: [f64; 5] = [-1.0, 1.5, 127.0, f64::INFINITY, 0.0];

/// Rude streams stay on few keys and channels, so that notes collide.
const RUDE_KEYS: std::ops::Range<u8> = 58..64;
const RUDE_CHANNELS: u8 = 3;

/// The controllers that a keyboard sends most: modulation, volume, sustain,
/// sostenuto; and the two that end all notes.
const CONTROLLERS: [u8; 4] = [1, 7, 64, 66];
const ALL_OFF: [u8; 2] = [120, 123];

impl Generator {
    /// A generator. Print the seed with each failure.
    #[must_use]
    pub fn new(seed: u64, manners: Manners) -> Self {
        Self {
            rng: Rng::with_seed(seed),
            manners,
        }
    }

    /// A stream of about `count` events at ascending times from 0 to below
    /// `length_samples`, which must be at least 2. A polite stream is empty if
    /// `count` is below 2, and may have one event less. Only a careless stream is in no order, and a
    /// fifth of it comes at the end or up to a length later.
    ///
    /// # Panics
    /// If `length_samples` is below 2.
    pub fn events(&mut self, count: usize, length_samples: u64) -> Vec<TimedEvent> {
        assert!(length_samples >= 2, "no room for a note");
        let mut events = match self.manners {
            Manners::Polite => self.polite(count, length_samples),
            Manners::Rude => (0..count)
                .map(|_| TimedEvent::new(self.rude_time(length_samples), self.rude()))
                .collect(),
            Manners::Careless => (0..count)
                .map(|_| TimedEvent::new(self.careless_time(length_samples), self.rude()))
                .collect(),
        };
        if self.manners != Manners::Careless {
            events.sort_by_key(|event| event.at_samples);
        }
        events
    }

    /// A third of the notes have a controller during their time.
    fn polite(&mut self, count: usize, length_samples: u64) -> Vec<TimedEvent> {
        let mut events: Vec<TimedEvent> = Vec::new();
        let mut taken: Vec<(i16, i16, u64, u64)> = Vec::new();
        while events.len() + 2 <= count {
            let start = self.rng.u64(0..length_samples - 1);
            let end = self.rng.u64(start + 1..length_samples);
            let (channel, key) = (
                i16::from(self.rng.u8(0..16)),
                i16::from(self.rng.u8(0..128)),
            );
            let collides = taken.iter().any(|(other_channel, other_key, from, to)| {
                (*other_channel, *other_key) == (channel, key) && start <= *to && *from <= end
            });
            if !collides {
                taken.push((channel, key, start, end));
                let velocity = fraction(self.rng.u8(1..128));
                events.push(TimedEvent::new(
                    start,
                    Event::note_on(channel, key, velocity),
                ));
                events.push(TimedEvent::new(end, Event::note_off(channel, key)));
            }
            // A collision always adds a controller, so that a stream with more notes than fit into
            // its time ends too.
            if events.len() < count && (collides || self.rng.u8(0..3) == 0) {
                let at_samples = self.rng.u64(start..=end);
                events.push(TimedEvent::new(at_samples, self.controller(&CONTROLLERS)));
            }
        }
        events
    }

    /// Half of a rude stream falls on few samples, because hosts send bursts.
    fn rude_time(&mut self, length_samples: u64) -> u64 {
        let time = self.rng.u64(0..length_samples);
        if self.rng.bool() {
            time - time % (length_samples / 8).max(1)
        } else {
            time
        }
    }

    fn careless_time(&mut self, length_samples: u64) -> u64 {
        match self.rng.u8(0..10) {
            0 => length_samples,
            1 => self.rng.u64(length_samples..2 * length_samples),
            _ => self.rude_time(length_samples),
        }
    }

    fn rude(&mut self) -> Event {
        let channel = self.rude_channel();
        let key = self.rude_key();
        let note_id = match self.rng.u8(0..4) {
            0 => self.rng.i32(0..8),
            _ => ANY_NOTE,
        };
        match self.rng.u8(0..16) {
            0..=5 => Event::NoteOn {
                channel,
                key,
                velocity: self.rude_velocity(),
                note_id,
            },
            6..=9 => Event::NoteOff {
                channel,
                key,
                velocity: self.rude_velocity(),
                note_id,
            },
            10 => Event::Choke {
                channel,
                key,
                note_id,
            },
            11 => Event::Expression {
                kind: NoteExpressionType::Pressure,
                channel,
                key,
                note_id,
                value: self.rude_velocity(),
            },
            12 => self.rude_midi(),
            13 => self.controller(&ALL_OFF),
            _ => self.controller(&CONTROLLERS),
        }
    }

    fn rude_channel(&mut self) -> i16 {
        match self.rng.u8(0..10) {
            0 => ANY,
            _ => self.rng.u8(0..RUDE_CHANNELS).into(),
        }
    }

    fn rude_key(&mut self) -> i16 {
        match self.rng.u8(0..10) {
            0 => ANY,
            _ => self.rng.u8(RUDE_KEYS).into(),
        }
    }

    fn rude_velocity(&mut self) -> f64 {
        if self.rng.u8(0..5) == 0 {
            RUDE_VELOCITIES[self.rng.usize(0..RUDE_VELOCITIES.len())]
        } else {
            fraction(self.rng.u8(1..128))
        }
    }

    /// A note message as raw bytes, quite often a note-on with velocity 0.
    fn rude_midi(&mut self) -> Event {
        let status = [0x80, 0x90, 0x90][self.rng.usize(0..3)] | self.rng.u8(0..RUDE_CHANNELS);
        let velocity = [0, self.rng.u8(0..128)][self.rng.usize(0..2)];
        Event::Midi([status, self.rng.u8(RUDE_KEYS), velocity])
    }

    /// A controller with one of these numbers, or another channel message.
    fn controller(&mut self, numbers: &[u8]) -> Event {
        let channel = self.rng.u8(0..RUDE_CHANNELS);
        match self.rng.u8(0..6) {
            0 => Event::PitchBend {
                channel,
                value: self.rng.u16(0..1 << 14),
            },
            1 => Event::ChannelPressure {
                channel,
                value: self.rng.u8(0..128),
            },
            2 => Event::Program {
                channel,
                program: self.rng.u8(0..128),
            },
            _ => Event::Controller {
                channel,
                number: numbers[self.rng.usize(0..numbers.len())],
                value: self.rng.u8(0..128),
            },
        }
    }
}

/// A 7-bit number as a fraction, in the single precision of plugin frameworks.
fn fraction(number: u8) -> f64 {
    f64::from(f32::from(number) / 127.0)
}
