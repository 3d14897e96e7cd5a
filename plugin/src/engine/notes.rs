//! The notes that sound: the chord, its bass, the player's notes that pass, and what is tried by ear.
//! The only owner of the ledger, and the only place that starts and ends notes at the host. Runs on the
//! audio thread; imports `events`, `hand`, `intent`, `ledger`, `settings`, `snapshot` and `trial`.

use crate::engine::events::{Output, Port};
use crate::engine::hand::HeldKey;
use crate::engine::intent::{ChordEvent, Intent, chart_key};
use crate::engine::ledger::{CHANNELS, Holder, Keys, Ledger, MOST_PLAYED, Start, keys};
use crate::engine::settings::Settings;
use crate::engine::snapshot::Sounding;
use crate::engine::trial::Step;
use guidehand_theory::pipeline::LOWEST_BASS;
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::voicing::Voicing;
use tinyvec::ArrayVec;

/// The chord that sounds.
#[derive(Clone, Copy, Debug)]
struct Playing {
    sounding: Sounding,
    /// Its channel and velocity.
    key: HeldKey,
    /// When it ends by itself, in ticks.
    end_ticks: f64,
    /// When an inner voice moves, in ticks, and what sounds from then on.
    line: Option<(f64, Voicing)>,
}

/// The notes that sound.
#[derive(Debug, Default)]
pub struct Notes {
    ledger: Ledger,
    playing: Option<Playing>,
    last: Option<Sounding>,
    /// The voicing of the chord that was released last.
    released: Option<Voicing>,
    /// Something has changed that the panel shows.
    changed: bool,
}

impl Notes {
    /// Starts afresh. Nothing can be sent from here, so the note-offs of what sounded are owed, and go
    /// out with the next block.
    pub fn reset(&mut self) {
        let mut ledger = std::mem::take(&mut self.ledger);
        ledger.owe_all();
        *self = Notes {
            ledger,
            ..Notes::default()
        };
    }

    /// The chord that sounds.
    pub fn sounding(&self) -> Option<&Sounding> {
        self.playing.as_ref().map(|playing| &playing.sounding)
    }

    /// The chord that sounds, or the last one that did.
    pub const fn last(&self) -> Option<Sounding> {
        self.last
    }

    /// The voicing of the chord that was released last.
    pub const fn released(&self) -> Option<&Voicing> {
        self.released.as_ref()
    }

    /// When something may be due at the earliest, in ticks.
    #[inline]
    pub fn due_ticks(&self) -> f64 {
        self.playing.as_ref().map_or(f64::INFINITY, |playing| {
            let line = playing.line.as_ref();
            line.map_or(playing.end_ticks, |(at, _)| at.min(playing.end_ticks))
        })
    }

    /// When the chord ends by itself, in ticks.
    pub fn end_ticks(&self) -> f64 {
        let playing = self.playing.as_ref();
        playing.map_or(f64::INFINITY, |playing| playing.end_ticks)
    }

    /// When an inner voice moves, in ticks, and what sounds from then on.
    pub fn line(&self) -> Option<(f64, Voicing)> {
        self.playing.as_ref().and_then(|playing| playing.line)
    }

    /// The keys that the player holds and that pass, one bit each.
    pub fn passing(&self) -> Keys {
        self.ledger.played()
    }

    /// The keys below `limit` that the player holds and that pass, ascending.
    pub fn passing_below(&self, limit: u8) -> ArrayVec<[MidiNote; MOST_PLAYED]> {
        self.ledger.played_below(limit)
    }

    /// Whether something has changed that the panel shows, since this was asked last.
    pub const fn take_changed(&mut self) -> bool {
        std::mem::replace(&mut self.changed, false)
    }

    /// Sends the note-offs that are owed; false if the queue is too full for all of them.
    pub fn pay<E: Copy>(&mut self, time: u32, port: &mut impl Port<E>) -> bool {
        while let Some((channel, key)) = self.ledger.next_owed() {
            if !port.send(time, Output::NoteOff { channel, key }) {
                return false;
            }
            self.ledger.paid(channel, key);
        }
        true
    }

    /// Sends the note-ons that a full queue has refused, of keys that are still held.
    pub fn catch_up<E: Copy>(&mut self, time: u32, port: &mut impl Port<E>) {
        while let Some(note) = self.ledger.next_refused() {
            let clear = self.settle_debt(note.channel, note.key, time, port);
            if !(clear && port.send(time, Output::NoteOn(note))) {
                return;
            }
            self.ledger.sent(note.channel, note.key);
        }
    }

    /// A note of the player's passes.
    pub fn pass_on<E: Copy>(&mut self, key: HeldKey, time: u32, event: E, port: &mut impl Port<E>) {
        let (channel, note) = (key.channel, key.key);
        if self.ledger.start(Holder::Player, channel, note) == Start::OffThenOn {
            let off = Output::NoteOff { channel, key: note };
            if !port.send(time, off) {
                // The host has not taken the note-off, so the key still sounds: leave it so.
                return;
            }
        }
        if self.settle_debt(channel, note, time, port) && port.send(time, Output::Through(event)) {
            self.ledger.sent(channel, note);
        } else {
            self.ledger.refuse(key);
        }
    }

    /// The player lets go of a key. Its note-off passes, or goes out without an event of the host's,
    /// unless the chord holds the same note.
    pub fn lift<E: Copy>(
        &mut self,
        channel: u8,
        key: u8,
        time: u32,
        event: Option<E>,
        port: &mut impl Port<E>,
    ) {
        if self.ledger.stop(Holder::Player, channel, key) {
            let sent = match event {
                Some(event) => port.send(time, Output::Through(event)),
                None => port.send(time, Output::NoteOff { channel, key }),
            };
            if !sent {
                self.ledger.owe(channel, key);
            }
        }
    }

    /// Carries out an intent, as far as it concerns the notes.
    pub fn carry_out<E: Copy>(
        &mut self,
        intent: &Intent,
        settings: &Settings,
        time: u32,
        port: &mut impl Port<E>,
    ) {
        match intent {
            // A key that passes, a click and a place in the rhythm are the performer's business.
            Intent::Hold | Intent::Pass | Intent::Click { .. } | Intent::Rejoin { .. } => {}
            Intent::Release => self.release(time, port),
            Intent::Sound(chord) => self.sound(chord, settings.bass_channel, time, port),
            Intent::Extend { end_ticks } => self.extend(*end_ticks),
        }
    }

    /// Sounds a chord in place of the one that sounds, with a bass on a channel if one is wanted. If
    /// the chord is not struck anew and has the same notes, they go on.
    fn sound<E: Copy>(
        &mut self,
        chord: &ChordEvent,
        bass_channel: Option<u8>,
        time: u32,
        port: &mut impl Port<E>,
    ) {
        let bass =
            bass_channel.and_then(|channel| Some((channel, chord.placed.bass(LOWEST_BASS)?)));
        let sounding = Sounding {
            placed: chord.placed,
            voiced: chord.voiced,
            bass: bass.map(|(_, note)| note),
            read: None,
        };
        let voicing = &chord.voiced.voicing;
        let same = self.playing.as_ref().is_some_and(|now| {
            let notes = now.sounding.voiced.voicing.notes();
            let same_channel = now.key.channel == chord.key.channel;
            same_channel && now.sounding.bass == sounding.bass && notes.eq(voicing.notes())
        });
        if chord.struck || !same {
            self.release(time, port);
            for note in voicing.notes() {
                let note = HeldKey {
                    key: note.number(),
                    ..chord.key
                };
                self.start(Holder::Chord, note, time, port);
            }
            if let Some((channel, note)) = bass {
                let note = HeldKey {
                    channel,
                    key: note.number(),
                    ..chord.key
                };
                self.start(Holder::Bass, note, time, port);
            }
        }
        self.playing = Some(Playing {
            sounding,
            key: chord.key,
            end_ticks: chord.end_ticks,
            line: chord.line,
        });
        self.last = Some(sounding);
        self.changed = true;
    }

    /// The chord that sounds goes on until another time.
    const fn extend(&mut self, end_ticks: f64) {
        if let Some(playing) = &mut self.playing {
            playing.end_ticks = end_ticks;
        }
    }

    /// One voice of the chord moves; the others go on.
    pub fn move_line<E: Copy>(&mut self, after: Voicing, time: u32, port: &mut impl Port<E>) {
        let Some(mut playing) = self.playing.take() else {
            return;
        };
        let before = playing.sounding.voiced.voicing;
        let has = |voicing: &Voicing, note: MidiNote| voicing.notes().any(|n| n == note);
        let channel = playing.key.channel;
        for note in before.notes().filter(|note| !has(&after, *note)) {
            self.stop(Holder::Chord, channel, note.number(), time, port);
        }
        for note in after.notes().filter(|note| !has(&before, *note)) {
            let note = HeldKey {
                key: note.number(),
                ..playing.key
            };
            self.start(Holder::Chord, note, time, port);
        }
        playing.sounding.voiced.voicing = after;
        playing.line = None;
        self.last = Some(playing.sounding);
        self.playing = Some(playing);
        self.changed = true;
    }

    /// Releases the chord and its bass.
    pub fn release<E: Copy>(&mut self, time: u32, port: &mut impl Port<E>) {
        if let Some(playing) = self.playing.take() {
            self.released = Some(playing.sounding.voiced.voicing);
            self.changed = true;
            self.release_all(Holder::Chord, time, port);
            self.release_all(Holder::Bass, time, port);
        }
    }

    /// Releases the chord and its bass, if either sounds on a channel.
    pub fn release_on<E: Copy>(&mut self, channel: u8, time: u32, port: &mut impl Port<E>) {
        let of = |holder| self.ledger.next_of(holder);
        let bass = of(Holder::Bass).is_some_and(|(on, _)| on == channel);
        if bass || of(Holder::Chord).is_some_and(|(on, _)| on == channel) {
            self.release(time, port);
        }
    }

    /// What is tried by ear goes on to a step, and lets go of what this holder held before it. Only
    /// notes of a tied step go on.
    pub fn try_step<E: Copy>(
        &mut self,
        holder: Holder,
        step: &Step,
        settings: &Settings,
        time: u32,
        port: &mut impl Port<E>,
    ) {
        let chord = chart_key(settings);
        let bass = settings.bass_channel.zip(step.bass());
        let wanted = |channel: u8| {
            let of_chord = if channel == chord.channel {
                step.keys()
            } else {
                0
            };
            let of_bass = bass.filter(|(on, _)| *on == channel);
            of_chord | of_bass.map_or(0, |(_, note)| 1 << note.number())
        };
        for channel in 0..CHANNELS {
            let kept = if step.is_tied() { wanted(channel) } else { 0 };
            for key in keys(self.ledger.keys_of(holder, channel) & !kept) {
                self.stop(holder, channel, key, time, port);
            }
        }
        for channel in 0..CHANNELS {
            for key in keys(wanted(channel) & !self.ledger.keys_of(holder, channel)) {
                let note = HeldKey {
                    channel,
                    key,
                    velocity: step.velocity(),
                };
                self.start(holder, note, time, port);
            }
        }
    }

    /// Releases what is tried by ear.
    pub fn end_trial<E: Copy>(&mut self, time: u32, port: &mut impl Port<E>) {
        self.release_all(Holder::Audition, time, port);
        self.release_all(Holder::Beneath, time, port);
    }

    /// Whether anything that is tried by ear sounds on a channel.
    pub fn tries_on(&self, channel: u8) -> bool {
        let of = |holder| self.ledger.keys_of(holder, channel);
        of(Holder::Audition) | of(Holder::Beneath) != 0
    }

    fn release_all<E: Copy>(&mut self, holder: Holder, time: u32, port: &mut impl Port<E>) {
        while let Some((channel, key)) = self.ledger.next_of(holder) {
            self.stop(holder, channel, key, time, port);
        }
    }

    fn start<E: Copy>(
        &mut self,
        holder: Holder,
        note: HeldKey,
        time: u32,
        port: &mut impl Port<E>,
    ) {
        let HeldKey { channel, key, .. } = note;
        match self.ledger.start(holder, channel, key) {
            Start::Shared => return,
            Start::On => {}
            Start::OffThenOn => {
                if !port.send(time, Output::NoteOff { channel, key }) {
                    // The key still sounds: leave it so.
                    return;
                }
            }
        }
        let clear = self.settle_debt(channel, key, time, port);
        if clear && port.send(time, Output::NoteOn(note)) {
            self.ledger.sent(channel, key);
        } else {
            self.ledger.refuse(note);
        }
    }

    /// A holder lets go of a note.
    fn stop<E: Copy>(
        &mut self,
        holder: Holder,
        channel: u8,
        key: u8,
        time: u32,
        port: &mut impl Port<E>,
    ) {
        let goes_out = self.ledger.stop(holder, channel, key);
        if goes_out && !port.send(time, Output::NoteOff { channel, key }) {
            self.ledger.owe(channel, key);
        }
    }

    /// Sends a note-off that is still owed for a key that is to start again; false if the host still
    /// does not take it.
    fn settle_debt<E: Copy>(
        &mut self,
        channel: u8,
        key: u8,
        time: u32,
        port: &mut impl Port<E>,
    ) -> bool {
        if self.ledger.is_owed(channel, key) {
            if !port.send(time, Output::NoteOff { channel, key }) {
                return false;
            }
            self.ledger.paid(channel, key);
        }
        true
    }
}
