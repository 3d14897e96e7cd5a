//! Events in and out of the performer. Events of the framework pass through as a type that the engine
//! does not know. Used on the audio thread; imports `hand` and `taken`.

use crate::engine::hand::HeldKey;
use crate::engine::taken::Taken;

/// What an event means to the performer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Input {
    /// A key goes down.
    NoteOn(HeldKey),
    /// A key goes up; none stands for every channel or key.
    NoteOff {
        /// 0 to 15.
        channel: Option<u8>,
        /// 0 to 127.
        key: Option<u8>,
    },
    /// All notes of a channel are to end; the event itself passes too.
    AllNotesOff {
        /// 0 to 15.
        channel: u8,
    },
    /// Anything else passes untouched.
    Other,
    /// An event without meaning, such as a key without a number that goes down.
    Nothing,
}

/// An event with its time and the framework's own form of it.
#[derive(Clone, Copy, Debug)]
pub struct TimedInput<E> {
    /// Samples from the start of the block.
    pub time_samples: u32,
    /// What it means.
    pub input: Input,
    /// What passes through if it is not for us.
    pub event: E,
}

/// What goes out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Output<E> {
    /// An event of the input, untouched.
    Through(E),
    /// A generated note starts.
    NoteOn(HeldKey),
    /// A note ends.
    NoteOff {
        /// 0 to 15.
        channel: u8,
        /// 0 to 127.
        key: u8,
    },
}

/// Where events come from and go to, in the order of their times.
pub trait Port<E> {
    /// The next event of the block.
    fn next(&mut self) -> Option<TimedInput<E>>;

    /// Sends an event; false if the host does not take it.
    fn send(&mut self, time_samples: u32, output: Output<E>) -> bool;

    /// It clicks on the audition tone, louder on the first beat of a bar. A port without a tone is
    /// silent.
    fn click(&mut self, _time_samples: u32, _accented: bool) {}

    /// Something has come of a take. A port without a way to the panel drops it.
    fn took(&mut self, _taken: Taken) {}
}
