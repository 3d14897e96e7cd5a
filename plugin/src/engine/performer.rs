//! From events in to events out. The performer asks the source in force what it wants, and carries that
//! out. This file holds its parts, what it plays and what it shows. `process` takes what happens in a
//! block in the order of time, and `keys` takes in the events. Runs on the audio thread; imports the
//! parts of the engine. Only `host` and the two files below it import it.
//!
//! All events of a sample are taken in before a chord is decided, so that a note-off and a note-on at
//! the same time never sound a chord between them. Work in a block is bounded by its events and its
//! frames.

mod keys;
mod process;

use crate::engine::audition::Audition;
use crate::engine::block::{BlockContext, ChartUpdate};
use crate::engine::block_chords::BlockChords;
use crate::engine::events::Port;
use crate::engine::intent::Intent;
use crate::engine::parts::Parts;
use crate::engine::recording::Recording;
use crate::engine::rhythm::Strike;
use crate::engine::running::Located;
use crate::engine::settings::{Settings, Source};
use crate::engine::show::Shown;
use crate::engine::snapshot::Snapshot;
use crate::engine::sources::practice::PracticeSource;
use crate::engine::sources::{ChordSource, Sources, ask};

/// The performer.
#[derive(Debug, Default)]
pub struct Performer {
    sources: Sources,
    parts: Parts,
    block_chords: BlockChords,
    recording: Recording,
    audition: Audition,
    /// What the block begins with in the rhythm, and whether it is struck, until the keys of its first
    /// sample are in.
    place: Option<(Option<Strike>, bool)>,
    /// None before the first block.
    settings: Option<Settings>,
    shown: Shown,
}

impl Performer {
    /// Sets the sample rate, in Hz.
    pub fn set_sample_rate(&mut self, rate_hz: f32) {
        self.parts.elapsed.set_rate(rate_hz);
    }

    /// Starts afresh. Nothing can be sent from here, so the note-offs of what sounded go out with the
    /// next block.
    pub fn reset(&mut self) {
        let mut parts = std::mem::take(&mut self.parts);
        parts.notes.reset();
        parts.elapsed.reset();
        // A lesson is never freed here.
        let mut practice = std::mem::take(&mut self.sources.practice);
        practice.reset();
        let mut recording = std::mem::take(&mut self.recording);
        recording.reset();
        *self = Performer {
            sources: Sources {
                practice,
                ..Sources::default()
            },
            parts: Parts {
                notes: parts.notes,
                elapsed: parts.elapsed,
                ..Parts::default()
            },
            recording,
            ..Performer::default()
        };
    }

    /// Starts afresh, and sends the note-offs of what sounded. False if the queue is full; the rest
    /// is sent by the next call.
    pub fn end_all<E: Copy>(&mut self, port: &mut impl Port<E>) -> bool {
        self.reset();
        self.parts.notes.pay(0, port)
    }

    /// The source that asks for chords, which gets its lessons and hands out answers between blocks.
    pub const fn practice(&mut self) -> &mut PracticeSource {
        &mut self.sources.practice
    }

    /// The recording of the right hand, which is begun and ended between blocks.
    pub const fn recording(&mut self) -> &mut Recording {
        &mut self.recording
    }

    /// What the panel shows, as it was worked out last.
    #[must_use]
    pub const fn snapshot(&self) -> &Snapshot {
        self.shown.snapshot()
    }

    /// The recording of the right hand follows the time to a sample.
    #[inline]
    fn follow_recording<E: Copy>(
        &mut self,
        context: &BlockContext,
        time: u32,
        port: &mut impl Port<E>,
    ) {
        if self.recording.is_on() {
            let samples = self.parts.elapsed.samples + u64::from(time);
            self.recording.follow(context, time, samples, port);
        }
    }

    /// Finds the place in the rhythm, if it may be another one.
    fn locate<E: Copy>(
        &mut self,
        context: &BlockContext,
        groove_moved: bool,
        time: u32,
        port: &mut impl Port<E>,
    ) {
        match self.parts.locate(context, groove_moved, time) {
            Located::Unmoved => {}
            Located::Stopped => self.parts.notes.release(time, port),
            Located::Found { strike, struck } => {
                self.forget_edited(context);
                self.play(context, strike, struck, time, port);
            }
        }
    }

    /// The same at the first sample of a block, where what sounds depends on the keys that go down at
    /// it.
    fn find_place<E: Copy>(
        &mut self,
        context: &BlockContext,
        groove_moved: bool,
        port: &mut impl Port<E>,
    ) {
        match self.parts.locate(context, groove_moved, 0) {
            Located::Unmoved => {}
            Located::Stopped => self.parts.notes.release(0, port),
            Located::Found { strike, struck } => {
                self.forget_edited(context);
                self.place = Some((strike, struck));
            }
        }
    }

    /// A chart that was edited is another one for the source.
    fn forget_edited(&mut self, context: &BlockContext) {
        if context.update == ChartUpdate::Edited {
            ask!(self.sources, context.settings.source, forget_place());
        }
    }

    /// Does what the source wants.
    #[inline]
    fn carry_out<E: Copy>(
        &mut self,
        context: &BlockContext,
        intent: &Intent,
        time: u32,
        port: &mut impl Port<E>,
    ) {
        match *intent {
            // Mostly nothing.
            Intent::Hold => {}
            Intent::Click { accented } => port.click(time, accented),
            Intent::Rejoin { struck } => {
                self.place = None;
                if let Some(strike) = self.parts.rhythm.rejoin(context, time) {
                    self.play(context, strike, struck, time, port);
                }
            }
            _ => self
                .parts
                .notes
                .carry_out(intent, context.settings, time, port),
        }
    }

    /// Plays a strike of the rhythm, or releases what sounds where there is none.
    fn play<E: Copy>(
        &mut self,
        context: &BlockContext,
        strike: Option<Strike>,
        struck: bool,
        time: u32,
        port: &mut impl Port<E>,
    ) {
        let (settings, now) = (context.settings, self.parts.at(context, time));
        let intent = match strike {
            Some(strike) => ask!(self.sources, settings.source, play(&strike, struck, &now)),
            None => Intent::Release,
        };
        self.parts.notes.carry_out(&intent, settings, time, port);
    }

    /// Works out what the panel shows, if it may have changed; true if so.
    fn show(&mut self, context: &BlockContext) -> bool {
        let source = context.settings.source;
        let tried = self.audition.take_changed();
        let under = self.block_chords.take_changed();
        if self.parts.notes.take_changed()
            | ask!(self.sources, source, take_changed())
            | tried
            | under
        {
            self.shown.mark_stale();
        }
        let position = context.clock.after(context.block.frames);
        let stale = !self.shown.holds(position);
        if stale {
            self.show_anew(context, position);
        }
        stale
    }

    // Most blocks do not need it, and run faster without its code in their way.
    #[inline(never)]
    fn show_anew(&mut self, context: &BlockContext, position: Option<f64>) {
        let (parts, source) = (&self.parts, context.settings.source);
        let shows_chart = ask!(self.sources, source, shows_chart(context.settings));
        let snapshot = self.shown.renew(context, parts, position, shows_chart);
        snapshot.trying = self.audition.trying();
        snapshot.under = self.block_chords.shown();
        let now = parts.at(context, context.block.frames);
        ask!(self.sources, source, show(snapshot, &now));
    }
}

#[cfg(test)]
mod tests;
