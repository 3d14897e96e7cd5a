//! One block, from its first sample to its last: events and what is due are taken in the order of time.
//! Runs on the audio thread; a part of the performer's own functions. `host` calls it.

use super::Performer;
use crate::engine::block::{Block, BlockContext, BlockOutcome, ChartUpdate, Timing};
use crate::engine::events::Port;
use crate::engine::parts::{Due, Parts};
use crate::engine::pieces::PiecePort;
use crate::engine::planned::PlannedChart;
use crate::engine::settings::{Settings, Source};
use crate::engine::sources::{ChordSource, ask};
use guidehand_theory::voicing::Voicing;

impl Performer {
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
}
