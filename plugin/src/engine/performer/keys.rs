//! The events that a host hands over: keys that go down and up. They pass, or the source takes them; the
//! right hand's get their voices and are recorded. Runs on the audio thread; a part of the performer's
//! own functions. `process` calls it.

use super::Performer;
use crate::engine::block::BlockContext;
use crate::engine::block_chords::Wanted;
use crate::engine::events::{Input, Output, Port, TimedInput};
use crate::engine::hand::HeldKey;
use crate::engine::intent::Intent;
use crate::engine::ledger::CHANNELS;
use crate::engine::parts::Parts;
use crate::engine::settings::Source;
use crate::engine::sources::{ChordSource, ask};
use guidehand_theory::under::{self, Harmony};

impl Performer {
    /// Takes in one event.
    pub(super) fn take<E: Copy>(
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

    /// Keys of the right hand that have gone down get their voices, before anything of a later sample
    /// happens. Those that lie past the last frame wait for the next block, whose first sample theirs
    /// is.
    #[inline]
    pub(super) fn harmonise_before<E: Copy>(
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
}
