//! From events in to events out. The performer takes events and what is due in the order of time, asks
//! the source in force what it wants, and carries that out. Runs on the audio thread; imports the
//! parts of the engine. Only `host` imports it.
//!
//! All events of a sample are taken in before a chord is decided, so that a note-off and a note-on at
//! the same time never sound a chord between them. Work in a block is bounded by its events and its
//! frames.

use crate::engine::audition::Audition;
use crate::engine::block::{Block, BlockContext, BlockOutcome, ChartUpdate, Timing};
use crate::engine::block_chords::{BlockChords, Wanted};
use crate::engine::events::{Input, Output, Port, TimedInput};
use crate::engine::hand::HeldKey;
use crate::engine::intent::Intent;
use crate::engine::ledger::CHANNELS;
use crate::engine::parts::{Due, Parts};
use crate::engine::pieces::PiecePort;
use crate::engine::planned::PlannedChart;
use crate::engine::recording::Recording;
use crate::engine::rhythm::Strike;
use crate::engine::running::Located;
use crate::engine::settings::{Settings, Source};
use crate::engine::show::Shown;
use crate::engine::snapshot::Snapshot;
use crate::engine::sources::practice::PracticeSource;
use crate::engine::sources::{ChordSource, Sources, ask};
use guidehand_theory::under::{self, Harmony};
use guidehand_theory::voicing::Voicing;

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

    /// One block.
    pub fn process<E: Copy>(&mut self, block: &Block, port: &mut impl Port<E>) -> BlockOutcome {
        if block.clock.is_even() {
            self.play_piece(block, port)
        } else {
            self.play_pieces(block, port)
        }
    }

    /// A block in which time may turn. Hardly any block is.
    #[inline(never)]
    fn play_pieces<E: Copy>(&mut self, block: &Block, port: &mut impl Port<E>) -> BlockOutcome {
        let mut outcome = BlockOutcome::default();
        let mut port = PiecePort::new(port);
        let mut rest = *block;
        let mut before_samples = 0;
        loop {
            let (samples, next) = rest.clock.piece(rest.frames);
            port.begin(before_samples, next.map(|_| samples));
            let piece = Block {
                frames: samples,
                ..rest
            };
            let played = self.play_piece(&piece, &mut port);
            outcome.shows_anew |= played.shows_anew;
            outcome.next_song_plays |= played.next_song_plays;
            let Some(clock) = next else {
                return outcome;
            };
            rest = rest.rest(samples, clock, played.next_song_plays);
            before_samples += samples;
        }
    }

    /// A block in which time passes evenly.
    fn play_piece<E: Copy>(&mut self, block: &Block, port: &mut impl Port<E>) -> BlockOutcome {
        let (mut context, mut takes_over) = self.begin(block, port);
        let mut next_song_plays = takes_over == Some(0);
        takes_over = takes_over.filter(|time| *time > 0);
        // The framework cuts blocks where parameters change, and leaves an event at the cut in the
        // block before it. Such an event lies one sample past the last frame.
        let end = block.frames;
        let keys_first = block.settings.hears_keys();
        let mut pending = port.next();
        loop {
            let input_time = pending.as_ref().map(|input| input.time_samples.min(end));
            let due = self.next_due(&context, takes_over);
            self.harmonise_before(&context, input_time, due.map(|(time, _)| time), port);
            let comes = |time: u32| input_time.is_none_or(|i| time < i || time == i && !keys_first);
            match (input_time, due) {
                (_, Some((time, Due::NextSong))) if comes(time) => {
                    takes_over = None;
                    next_song_plays = true;
                    context = self.take_over(block);
                    self.follow_recording(&context, time, port);
                    self.audition.end(&mut self.parts.notes, time, port);
                    self.locate(&context, false, time, port);
                }
                (_, Some((time, due))) if comes(time) => {
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
                    let now = self.parts.at(&context, time);
                    let intent = ask!(self.sources, context.settings.source, settle(&now));
                    self.parts.keys_moved = false;
                    self.carry_out(&context, &intent, time, port);
                }
                (None, _) => break,
            }
        }
        self.parts.elapsed.samples += u64::from(block.frames);
        if self.recording.is_on() {
            let samples = self.parts.elapsed.samples;
            self.recording.end_block(&context, samples, port);
        }
        BlockOutcome {
            shows_anew: self.show(&context),
            next_song_plays,
        }
    }

    /// A block begins: what has changed since the last one takes effect. Returns the block under the
    /// source in force, and the sample at which a chart that waits takes over. At the first sample it
    /// has taken over.
    fn begin<'a, E: Copy>(
        &mut self,
        block: &'a Block<'a>,
        port: &mut impl Port<E>,
    ) -> (BlockContext<'a>, Option<u32>) {
        let mut context = self.context(block, block.song, block.update);
        let mut takes_over = context.takes_over_at();
        let remaps = |old: &Settings| block.settings.remaps(old);
        if block.next_song.is_some() && self.settings.as_ref().is_some_and(remaps) {
            // What sounds cannot go on to the bar line.
            takes_over = Some(0);
        }
        if takes_over == Some(0) {
            context = self.take_over(block);
        }
        if context.update != ChartUpdate::None {
            self.shown.mark_stale();
        }
        self.parts.notes.begin_block();
        self.parts.notes.pay(0, port);
        let groove_moved = self.apply_settings(&context, port);
        let now = self.parts.at(&context, 0);
        let intent = ask!(self.sources, block.settings.source, begin_block(&now));
        self.carry_out(&context, &intent, 0, port);
        if self.timing(block, context.song) != context.timing {
            context = self.context(block, context.song, context.update);
        }
        if context.settings.hears_keys() {
            self.find_place(&context, groove_moved, port);
        } else {
            self.locate(&context, groove_moved, 0, port);
        }
        self.parts.notes.catch_up(0, port);
        if self.recording.is_due() {
            let samples = self.parts.elapsed.samples;
            self.recording.begin_block(&context, samples, port);
        }
        let Parts { notes, elapsed, .. } = &mut self.parts;
        self.audition.begin_block(&context, elapsed, notes, port);
        (context, takes_over)
    }

    /// The chart that waits takes over. Returns the block with it.
    fn take_over<'a>(&mut self, block: &'a Block<'a>) -> BlockContext<'a> {
        ask!(self.sources, block.settings.source, forget_place());
        self.shown.mark_stale();
        self.context(block, block.next_song, ChartUpdate::Edited)
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

    /// Applies the parameters of a block; true if the place in the rhythm has to be found anew.
    fn apply_settings<E: Copy>(&mut self, context: &BlockContext, port: &mut impl Port<E>) -> bool {
        let new = context.settings;
        if !context.block.settings_moved && self.settings.is_some() {
            return false;
        }
        let Some(old) = self.settings.replace(*new).filter(|old| old != new) else {
            return false;
        };
        self.shown.mark_stale();
        if new.remaps(&old) {
            self.parts.notes.release(0, port);
            self.block_chords.end_all(0, &mut self.parts.notes, port);
            self.parts.rhythm.lose_place();
            ask!(self.sources, old.source, leave());
            return true;
        }
        if new.at_once {
            let now = self.parts.at(context, 0);
            let intent = ask!(self.sources, new.source, play_anew(&now));
            self.carry_out(context, &intent, 0, port);
        }
        let space = |settings: &Settings| settings.right_hand.space;
        old.groove != new.groove
            || old.chart.repeats != new.chart.repeats
            || space(&old) != space(new)
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
        self.follow_recording(context, time, port);
        self.locate(context, false, time, port);
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

    /// What comes next by itself, if it comes in this block. Of several at one sample a chart that
    /// takes over comes first, and what is tried by ear comes last, after the source.
    fn next_due(&mut self, context: &BlockContext, takes_over: Option<u32>) -> Option<(u32, Due)> {
        if self.place.is_some() {
            return Some((0, Due::Place));
        }
        let now = self.parts.at(context, 0);
        let own = ask!(self.sources, context.settings.source, next_due(&now));
        let by_clock = self.parts.due_by_clock(context);
        let next = match own {
            Some(own) if by_clock.is_none_or(|(time, _)| own < time) => Some((own, Due::Source)),
            _ => by_clock,
        };
        let from_samples = self.parts.elapsed.samples;
        let next = match self.audition.due(from_samples, context.block.frames) {
            Some(due) if next.is_none_or(|(time, _)| due < time) => Some((due, Due::Audition)),
            _ => next,
        };
        match takes_over {
            Some(over) if next.is_none_or(|(time, _)| over <= time) => Some((over, Due::NextSong)),
            _ => next,
        }
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
            Due::Place => {
                if let Some((strike, struck)) = self.place.take() {
                    self.play(context, strike, struck, time, port);
                }
            }
            Due::Bar => self.parts.open_bar(context, time),
            Due::End => self.parts.notes.release(time, port),
            Due::Line(after) => self.move_line(context, after, time, port),
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
                self.carry_out(context, &intent, time, port);
            }
            Due::Audition => {
                let notes = &mut self.parts.notes;
                self.audition.act(context.settings, notes, time, port);
            }
        }
    }

    /// A voice of the chord moves, unless the right hand speaks against it.
    fn move_line<E: Copy>(
        &mut self,
        context: &BlockContext,
        after: Voicing,
        time: u32,
        port: &mut impl Port<E>,
    ) {
        let now = self.parts.at(context, time);
        let moves = self.parts.notes.sounding().is_none_or(|sounding| {
            let before = &sounding.voiced.voicing;
            now.may_go(before, &after, &sounding.placed.chord)
        });
        if moves {
            self.parts.notes.move_line(after, time, port);
        } else {
            self.parts.notes.keep_line();
        }
    }

    /// Keys of the right hand that have gone down get their voices, before anything of a later sample
    /// happens. Those that lie past the last frame wait for the next block, whose first sample theirs
    /// is.
    #[inline]
    fn harmonise_before<E: Copy>(
        &mut self,
        context: &BlockContext,
        input: Option<u32>,
        due: Option<u32>,
        port: &mut impl Port<E>,
    ) {
        let Some(struck) = self.block_chords.waits_since() else {
            return;
        };
        let struck = struck.saturating_sub(self.parts.elapsed.samples);
        let next = input.unwrap_or(u32::MAX).min(due.unwrap_or(u32::MAX));
        if struck < u64::from(next.min(context.block.frames))
            && let Ok(time) = u32::try_from(struck)
        {
            self.harmonise(context, time, port);
        }
    }

    #[inline(never)]
    fn harmonise<E: Copy>(&mut self, context: &BlockContext, time: u32, port: &mut impl Port<E>) {
        let settings = context.settings;
        let Some(style) = settings.right_hand.under else {
            self.block_chords.forget_struck();
            return;
        };
        let now = self.parts.at(context, time);
        let harmony = match self.parts.notes.sounding() {
            Some(sounding) => Some(Harmony {
                placed: sounding.placed,
                tensions: Some(sounding.voiced.tensions),
            }),
            None => ask!(self.sources, settings.source, in_force(&now)),
        };
        let single_under = f64::from(settings.right_hand.single_under_ms) / 1000.0;
        let wanted = Wanted {
            taste: under::Taste {
                style,
                requests: settings.taste.requests,
                ..under::Taste::default()
            },
            single_under_samples: now.samples_of(single_under),
            together_samples: now.together_samples(),
        };
        let notes = &mut self.parts.notes;
        self.block_chords
            .harmonise(harmony.as_ref(), &wanted, (notes, time), port);
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
                let notes = &mut self.parts.notes;
                notes.release_on(channel, time, port);
                self.audition.end_on(channel, notes, time, port);
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
            Intent::Pass => {
                self.parts.keys_moved = true;
                self.parts.notes.pass_on(key, time, event, port);
                if context.settings.is_right_hand(key.key) {
                    self.hear(context, key, time, port);
                }
            }
            intent => {
                self.parts.held.press(key);
                self.carry_out(context, &intent, time, port);
            }
        }
    }

    /// A key of the right hand goes down, and passes.
    fn hear<E: Copy>(
        &mut self,
        context: &BlockContext,
        key: HeldKey,
        time: u32,
        port: &mut impl Port<E>,
    ) {
        let Parts {
            notes,
            right_hand,
            elapsed,
            ..
        } = &mut self.parts;
        let now = elapsed.samples + u64::from(time);
        right_hand.strike(key.key, now, elapsed.together_samples);
        if self.recording.is_on() {
            self.recording.press(key.key, context, (time, now), port);
        }
        if context.settings.right_hand.under.is_some() {
            self.block_chords.press(key, now, (notes, time), port);
        } else if !self.block_chords.is_idle() {
            self.block_chords
                .lift(key.channel, key.key, (notes, time), port);
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
        self.parts.keys_moved = true;
        if self.parts.held.lift(channel, key) {
            let now = self.parts.at(context, time);
            ask!(
                self.sources,
                context.settings.source,
                key_up(channel, key, &now)
            );
        }
        if self.recording.holds(key) {
            let samples = self.parts.elapsed.samples + u64::from(time);
            self.recording.lift(key, context, (time, samples), port);
        }
        let notes = &mut self.parts.notes;
        notes.lift(channel, key, time, event, port);
        if !self.block_chords.is_idle() {
            self.block_chords.lift(channel, key, (notes, time), port);
        }
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
        for channel in channel.map_or(0..CHANNELS, |c| c..c.saturating_add(1)) {
            for key in key.map_or(0..128, |k| k..k.saturating_add(1)) {
                self.lift(context, channel, key, time, None, port);
            }
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
