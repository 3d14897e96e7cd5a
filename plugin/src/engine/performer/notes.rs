//! The performer's notes on their way out: started, shared, released, and owed
//! where the host's queue is full. Imports `hand` and `ledger`.

use super::{Output, Performer, Port};
use crate::engine::hand::HeldKey;
use crate::engine::ledger::{Holder, Start};

impl Performer {
    /// Note-offs that a full queue left behind go first.
    pub(super) fn pay<E: Copy>(&mut self, time: u32, port: &mut impl Port<E>) {
        while let Some((channel, key)) = self.ledger.next_owed() {
            if !port.send(time, Output::NoteOff { channel, key }) {
                return;
            }
            self.ledger.paid(channel, key);
        }
    }

    pub(super) fn pass_on<E: Copy>(
        &mut self,
        key: HeldKey,
        time: u32,
        event: E,
        port: &mut impl Port<E>,
    ) {
        let (channel, note) = (key.channel, key.key);
        self.played = true;
        self.shown.mark_stale();
        if self.ledger.start(Holder::Player, channel, note) == Start::OffThenOn {
            let off = Output::NoteOff { channel, key: note };
            if !port.send(time, off) {
                // The off could not go out, so the key still sounds: leave it so.
                return;
            }
        }
        if !(self.settle_debt(channel, note, time, port) && port.send(time, Output::Through(event)))
        {
            self.ledger.forget(channel, note);
        }
    }

    pub(super) fn start<E: Copy>(
        &mut self,
        holder: Holder,
        note: HeldKey,
        time: u32,
        port: &mut impl Port<E>,
    ) {
        if self.ledger.start(holder, note.channel, note.key) == Start::On {
            let clear = self.settle_debt(note.channel, note.key, time, port);
            if !(clear && port.send(time, Output::NoteOn(note))) {
                self.ledger.forget(note.channel, note.key);
            }
        }
    }

    /// Sends a note-off that is still owed for a key that is to start again;
    /// false if the host still does not take it.
    pub(super) fn settle_debt<E: Copy>(
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

    /// Releases the chord and its bass.
    pub(super) fn release_chord<E: Copy>(&mut self, time: u32, port: &mut impl Port<E>) {
        if let Some(playing) = self.playing.take() {
            self.before = Some(playing.sounding.voiced.voicing);
            self.shown.mark_stale();
            self.release(Holder::Chord, time, port);
            self.release(Holder::Bass, time, port);
        }
    }

    fn release<E: Copy>(&mut self, holder: Holder, time: u32, port: &mut impl Port<E>) {
        while let Some((channel, key)) = self.ledger.next_of(holder) {
            self.stop(holder, channel, key, time, port);
        }
    }

    /// A holder lets go of a note.
    pub(super) fn stop<E: Copy>(
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
}
