//! A block in pieces. Time passes evenly within a piece, and a new one begins where a loop ends.
//! Used on the audio thread; imports `block`, `clock`, `events` and
//! `taken`.

use crate::engine::block::{Block, ChartUpdate};
use crate::engine::clock::Clock;
use crate::engine::events::{Output, Port, TimedInput};
use crate::engine::taken::Taken;

impl<'a> Block<'a> {
    /// The rest of a block after its first samples, with the clock there.
    pub fn rest(&self, after_samples: u32, clock: Clock, next_song_plays: bool) -> Block<'a> {
        let song = if next_song_plays {
            self.next_song
        } else {
            self.song
        };
        let end = self.bass_from_samples.saturating_add(after_samples);
        let heard = self.bass_events.iter().take_while(|e| e.time_samples < end);
        let heard = heard.count();
        Block {
            settings_moved: false,
            clock,
            frames: self.frames.saturating_sub(after_samples),
            song,
            update: ChartUpdate::None,
            next_song: self.next_song.filter(|_| !next_song_plays),
            bass_events: self.bass_events.get(heard..).unwrap_or_default(),
            bass_from_samples: end,
            audition: None,
            ..*self
        }
    }
}

/// The host's events of one piece, in samples from its start.
pub struct PiecePort<'p, E, P> {
    port: &'p mut P,
    /// Samples of the block before this piece.
    before_samples: u32,
    /// Where the piece ends in the block; none if it is the last one.
    end_samples: Option<u32>,
    /// An event of a later piece.
    pending: Option<TimedInput<E>>,
}

impl<'p, E, P> PiecePort<'p, E, P> {
    /// A whole block.
    pub const fn new(port: &'p mut P) -> Self {
        PiecePort {
            port,
            before_samples: 0,
            end_samples: None,
            pending: None,
        }
    }

    /// The next piece begins after so many samples of the block, and is so long if it is not the last.
    pub const fn begin(&mut self, before_samples: u32, length_samples: Option<u32>) {
        self.before_samples = before_samples;
        self.end_samples = match length_samples {
            Some(length) => Some(before_samples.saturating_add(length)),
            None => None,
        };
    }
}

impl<E: Copy, P: Port<E>> Port<E> for PiecePort<'_, E, P> {
    fn next(&mut self) -> Option<TimedInput<E>> {
        let event = self.pending.take().or_else(|| self.port.next())?;
        if self
            .end_samples
            .is_some_and(|end| event.time_samples >= end)
        {
            self.pending = Some(event);
            return None;
        }
        Some(TimedInput {
            time_samples: event.time_samples.saturating_sub(self.before_samples),
            ..event
        })
    }

    fn send(&mut self, time_samples: u32, output: Output<E>) -> bool {
        let time = time_samples.saturating_add(self.before_samples);
        self.port.send(time, output)
    }

    fn click(&mut self, time_samples: u32, accented: bool) {
        let time = time_samples.saturating_add(self.before_samples);
        self.port.click(time, accented);
    }

    fn took(&mut self, taken: Taken) {
        self.port.took(taken);
    }
}
