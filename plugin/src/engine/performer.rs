//! From events in to events out. The performer takes events and what is due in the order of time, asks
//! the source in force what it wants, and carries that out. Runs on the audio thread; imports the
//! parts of the engine. Only `host` imports it.
//!
//! All events of a sample are taken in before a chord is decided, so that a note-off and a note-on at
//! the same time never sound a chord between them. Work in a block is bounded by its events and its
//! frames.

use crate::engine::block::{Block, BlockContext, ChartUpdate, Timing};
use crate::engine::events::{Input, Output, Port, TimedInput};
use crate::engine::hand::HeldKey;
use crate::engine::intent::Intent;
use crate::engine::ledger::CHANNELS;
use crate::engine::parts::Parts;
use crate::engine::planned::PlannedChart;
use crate::engine::rhythm::{Rhythm, Strike};
use crate::engine::running::Located;
use crate::engine::settings::{Settings, Source};
use crate::engine::show::Shown;
use crate::engine::snapshot::Snapshot;
use crate::engine::sources::{ChordSource, Sources, ask};
use guidehand_theory::voicing::Voicing;

/// What has come of a block.
#[derive(Clone, Copy, Debug, Default)]
pub struct BlockOutcome {
    /// What the panel shows may have changed.
    pub shows_anew: bool,
    /// The chart that waited has taken over.
    pub next_song_plays: bool,
}

/// What comes next by itself.
#[derive(Clone, Copy, Debug)]
enum Due {
    /// The chart that waits takes over.
    NextSong,
    /// The chord ends.
    End,
    /// An inner voice of the chord moves.
    Line(Voicing),
    /// The rhythm strikes.
    Strike(Strike),
    /// The source has something to do.
    Source,
}

/// The performer.
#[derive(Debug, Default)]
pub struct Performer {
    sources: Sources,
    parts: Parts,
    /// The parameters in force; none before the first block.
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
        *self = Performer {
            parts: Parts {
                notes: parts.notes,
                elapsed: parts.elapsed,
                ..Parts::default()
            },
            ..Performer::default()
        };
    }

    /// What the panel shows, as it was worked out last.
    #[must_use]
    pub const fn snapshot(&self) -> &Snapshot {
        self.shown.snapshot()
    }

    /// One block.
    pub fn process<E: Copy>(&mut self, block: &Block, port: &mut impl Port<E>) -> BlockOutcome {
        let mut context = self.context(block, block.song, block.update);
        let mut takes_over = context.takes_over_at();
        let mut next_song_plays = false;
        self.parts.notes.pay(0, port);
        let groove_moved = self.apply_settings(&context, port);
        let intent = ask!(
            self.sources,
            context.settings.source,
            begin_block(&self.parts.at(&context, 0))
        );
        self.carry_out(&context, intent, 0, port);
        if self.timing(block, block.song) != context.timing {
            context = self.context(block, block.song, block.update);
        }
        self.locate(&context, groove_moved, 0, port);
        // The framework cuts blocks where parameters change, and leaves an event at the cut in the
        // block before it. Such an event lies one sample past the last frame.
        let end = block.frames;
        let mut pending = port.next();
        loop {
            let input_time = pending.as_ref().map(|input| input.time_samples.min(end));
            let due = match (takes_over, self.next_due(&context)) {
                (Some(time), Some((other, due))) if other < time => Some((other, due)),
                (Some(time), _) => Some((time, Due::NextSong)),
                (None, due) => due,
            };
            match (input_time, due) {
                (input, Some((time, Due::NextSong))) if input.is_none_or(|i| time <= i) => {
                    takes_over = None;
                    next_song_plays = true;
                    ask!(self.sources, context.settings.source, forget_place());
                    context = self.context(block, block.next_song, ChartUpdate::Edited);
                    self.locate(&context, false, time, port);
                }
                (input, Some((time, due))) if input.is_none_or(|i| time <= i) => {
                    self.act(&context, due, time, port);
                    self.follow(&mut context, time, port);
                }
                (Some(time), _) => {
                    while let Some(input) = pending
                        && input.time_samples.min(end) <= time
                    {
                        self.take(&context, time, &input, port);
                        pending = port.next();
                    }
                    self.settle(&context, time, port);
                }
                (None, _) => break,
            }
        }
        self.parts.elapsed.samples += u64::from(block.frames);
        BlockOutcome {
            shows_anew: self.show(&context),
            next_song_plays,
        }
    }

    /// How the source in force counts time.
    fn timing(&self, block: &Block, song: Option<&PlannedChart>) -> Timing {
        ask!(self.sources, block.settings.source, timing(block, song))
    }

    /// A block with a chart, under the source in force.
    fn context<'a>(
        &self,
        block: &'a Block<'a>,
        song: Option<&'a PlannedChart>,
        update: ChartUpdate,
    ) -> BlockContext<'a> {
        BlockContext::new(block, song, update, self.timing(block, song))
    }

    /// Parameters that have changed since the last block act at its start; true if the rhythm has to
    /// be found anew.
    fn apply_settings<E: Copy>(&mut self, context: &BlockContext, port: &mut impl Port<E>) -> bool {
        let new = context.settings;
        if !context.block.settings_moved && self.settings.is_some() {
            return false;
        }
        let Some(old) = self.settings.replace(*new).filter(|old| old != new) else {
            return false;
        };
        self.shown.mark_stale();
        if remaps(&old, new) {
            self.parts.notes.release(0, port);
            self.parts.rhythm.lose_place();
            ask!(self.sources, old.source, leave());
            return true;
        }
        if new.at_once {
            let now = self.parts.at(context, 0);
            let intent = ask!(self.sources, new.source, play_anew(&now));
            self.carry_out(context, intent, 0, port);
        }
        old.groove != new.groove || old.repeats != new.repeats
    }

    /// Goes to another place in the chart, or to none, if the source has changed how it counts time.
    fn follow<E: Copy>(&mut self, context: &mut BlockContext, time: u32, port: &mut impl Port<E>) {
        let timing = self.timing(context.block, context.song);
        if timing == context.timing {
            return;
        }
        if timing.ahead_bars != context.timing.ahead_bars {
            self.parts.rhythm.lose_place();
        }
        *context = BlockContext::new(context.block, context.song, ChartUpdate::None, timing);
        self.locate(context, false, time, port);
    }

    /// Finds the place in the rhythm when time starts, stops or jumps, and when the chart or the
    /// rhythm is new.
    fn locate<E: Copy>(
        &mut self,
        context: &BlockContext,
        groove_moved: bool,
        time: u32,
        port: &mut impl Port<E>,
    ) {
        match self.parts.rhythm.locate(context, groove_moved, time) {
            Located::Unmoved => {}
            Located::Stopped => self.parts.notes.release(time, port),
            Located::Found { strike, struck } => {
                if context.update == ChartUpdate::Edited {
                    ask!(self.sources, context.settings.source, forget_place());
                }
                self.play(context, strike, struck, time, port);
            }
        }
    }

    /// What comes next by itself, if it comes in this block. Of two at one sample the clock comes
    /// first.
    fn next_due(&mut self, context: &BlockContext) -> Option<(u32, Due)> {
        let now = self.parts.at(context, 0);
        let own = ask!(self.sources, context.settings.source, next_due(&now));
        match (own, self.due_by_clock(context)) {
            (Some(own), Some((time, due))) if time <= own => Some((time, due)),
            (Some(own), _) => Some((own, Due::Source)),
            (None, by_clock) => by_clock,
        }
    }

    /// What time brings next in this block.
    fn due_by_clock(&mut self, context: &BlockContext) -> Option<(u32, Due)> {
        let frames = context.block.frames;
        let until = context.clock.after(frames)?;
        let Parts { notes, rhythm, .. } = &mut self.parts;
        let end = notes.end_ticks();
        let line = notes.line();
        let turn = line.map_or(f64::INFINITY, |(at, _)| at);
        if end.min(turn).min(rhythm.due_ticks()) > until {
            return None;
        }
        let at = |ticks| context.clock.sample_of(ticks, frames);
        let ending = at(end).map(|time| (time, Due::End));
        let turning = line.and_then(|(ticks, after)| Some((at(ticks)?, Due::Line(after))));
        let strike = rhythm.next(context, until);
        let striking =
            strike.and_then(|strike| Some((at(strike.start_ticks)?, Due::Strike(strike))));
        // Of several at one sample the end comes first, and then the next chord: the line of a chord
        // that is over does not matter.
        let all = [ending, striking, turning];
        all.into_iter().flatten().min_by_key(|(time, _)| *time)
    }

    /// What is due happens.
    fn act<E: Copy>(
        &mut self,
        context: &BlockContext,
        due: Due,
        time: u32,
        port: &mut impl Port<E>,
    ) {
        let source = context.settings.source;
        match due {
            // The caller changes the chart.
            Due::NextSong => {}
            Due::End => self.parts.notes.release(time, port),
            Due::Line(after) => self.parts.notes.move_line(after, time, port),
            Due::Strike(strike) => {
                self.parts.rhythm.advance();
                let now = self.parts.at(context, time);
                if strike.sounds() && !ask!(self.sources, source, delays(&strike, &now)) {
                    self.play(context, Some(strike), true, time, port);
                }
            }
            Due::Source => {
                let now = self.parts.at(context, time);
                let intent = ask!(self.sources, source, act(&now));
                self.carry_out(context, intent, time, port);
            }
        }
    }

    /// Takes in one event.
    fn take<E: Copy>(
        &mut self,
        context: &BlockContext,
        time: u32,
        input: &TimedInput<E>,
        port: &mut impl Port<E>,
    ) {
        match input.input {
            Input::NoteOn(key) => self.press(context, key, time, input.event, port),
            Input::NoteOff {
                channel: Some(channel),
                key: Some(key),
            } => self.lift(context, channel, key, time, Some(input.event), port),
            Input::NoteOff { channel, key } => self.lift_all(context, channel, key, time, port),
            Input::AllNotesOff { channel } => {
                self.lift_all(context, Some(channel), None, time, port);
                self.parts.notes.release_on(channel, time, port);
                port.send(time, Output::Through(input.event));
            }
            Input::Other => {
                port.send(time, Output::Through(input.event));
            }
            Input::Nothing => {}
        }
    }

    /// A key goes down.
    fn press<E: Copy>(
        &mut self,
        context: &BlockContext,
        key: HeldKey,
        time: u32,
        event: E,
        port: &mut impl Port<E>,
    ) {
        self.shown.mark_stale();
        let now = self.parts.at(context, time);
        match ask!(self.sources, context.settings.source, key_down(key, &now)) {
            Intent::Pass => self.parts.notes.pass_on(key, time, event, port),
            intent => {
                self.parts.held.press(key);
                self.carry_out(context, intent, time, port);
            }
        }
    }

    /// A key goes up. If its note passes, its note-off does too.
    fn lift<E: Copy>(
        &mut self,
        context: &BlockContext,
        channel: u8,
        key: u8,
        time: u32,
        event: Option<E>,
        port: &mut impl Port<E>,
    ) {
        self.shown.mark_stale();
        let taken = self.parts.held.lift(channel, key);
        let now = self.parts.at(context, time);
        ask!(
            self.sources,
            context.settings.source,
            key_up(channel, key, taken, &now)
        );
        self.parts.notes.lift(channel, key, time, event, port);
    }

    /// Every key that matches goes up.
    fn lift_all<E: Copy>(
        &mut self,
        context: &BlockContext,
        channel: Option<u8>,
        key: Option<u8>,
        time: u32,
        port: &mut impl Port<E>,
    ) {
        let channels = channel.map_or(0..CHANNELS, |c| c..c.saturating_add(1));
        for channel in channels {
            let keys = key.map_or(0..128, |k| k..k.saturating_add(1));
            for key in keys {
                self.lift(context, channel, key, time, None, port);
            }
        }
    }

    /// Decides what sounds, once all events of a sample are in.
    fn settle<E: Copy>(&mut self, context: &BlockContext, time: u32, port: &mut impl Port<E>) {
        let now = self.parts.at(context, time);
        let intent = ask!(self.sources, context.settings.source, settle(&now));
        self.carry_out(context, intent, time, port);
    }

    /// Does what the source wants.
    fn carry_out<E: Copy>(
        &mut self,
        context: &BlockContext,
        intent: Intent,
        time: u32,
        port: &mut impl Port<E>,
    ) {
        if let Intent::Rejoin { struck } = intent {
            if let Some(strike) = self.parts.rhythm.rejoin(context, time) {
                self.play(context, strike, struck, time, port);
            }
        } else {
            self.change_notes(context, &intent, time, port);
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
        let source = context.settings.source;
        let now = self.parts.at(context, time);
        let intent = match strike {
            Some(strike) => ask!(self.sources, source, play(&strike, struck, &now)),
            None => Intent::Release,
        };
        self.change_notes(context, &intent, time, port);
    }

    /// Carries out an intent that concerns the notes.
    fn change_notes<E: Copy>(
        &mut self,
        context: &BlockContext,
        intent: &Intent,
        time: u32,
        port: &mut impl Port<E>,
    ) {
        let notes = &mut self.parts.notes;
        match intent {
            // A place in the rhythm is none of the notes' business, and a key that passes has passed.
            Intent::Hold | Intent::Pass | Intent::Rejoin { .. } => {}
            Intent::Release => notes.release(time, port),
            Intent::Sound(chord) => notes.sound(chord, context.settings.bass_channel, time, port),
            Intent::Extend { end_ticks } => notes.extend(*end_ticks),
        }
    }

    /// Works out what the panel shows, if it may have changed; true if so.
    fn show(&mut self, context: &BlockContext) -> bool {
        let source = context.settings.source;
        if self.parts.notes.take_changed() | ask!(self.sources, source, take_changed()) {
            self.shown.mark_stale();
        }
        let position = context.clock.after(context.block.frames);
        let holds = self.shown.holds(position);
        if !holds {
            self.show_anew(context, position);
        }
        !holds
    }

    // Most blocks do not need it, and run faster without its code in their way.
    #[inline(never)]
    fn show_anew(&mut self, context: &BlockContext, position: Option<f64>) {
        let (parts, source) = (&self.parts, context.settings.source);
        let shows_chart = ask!(self.sources, source, shows_chart(context.settings));
        let snapshot = self.shown.renew(context, parts, position, shows_chart);
        let now = parts.at(context, context.block.frames);
        ask!(self.sources, source, show(snapshot, &now));
    }
}

/// Whether keys have another meaning under the new parameters, or chords come from elsewhere, so that
/// what sounds cannot go on.
fn remaps(old: &Settings, new: &Settings) -> bool {
    let by_hand = |settings: &Settings| settings.groove.rhythm == Rhythm::Played;
    old.bypass != new.bypass
        || old.source != new.source
        || old.split != new.split
        || old.gate != new.gate
        || old.from_bar != new.from_bar
        || old.bass.by_chart != new.bass.by_chart
        || by_hand(old) != by_hand(new)
}

#[cfg(test)]
mod tests;
