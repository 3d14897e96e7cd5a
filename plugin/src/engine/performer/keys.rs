//! The keys of the player: which are the left hand's, what they do, and which
//! pass. Imports `hand`, `ledger`, `listener` and its parent.

use super::{Gesture, Input, Output, Performer, Port, Stage, TimedInput};
use crate::engine::hand::HeldKey;
use crate::engine::ledger::{CHANNELS, Holder};
use crate::engine::listener;
use crate::engine::rhythm::Rhythm;
use crate::engine::settings::{Settings, Source};
use guidehand_theory::read::Context;

/// Whether keys below the split strike or gate the chart.
pub(super) fn by_keys(settings: &Settings) -> bool {
    settings.gate || settings.groove.rhythm == Rhythm::Played
}

impl Performer {
    /// Takes in one event.
    pub(super) fn take<E: Copy>(
        &mut self,
        stage: &Stage,
        time: u32,
        input: &TimedInput<E>,
        port: &mut impl Port<E>,
    ) {
        let settings = stage.settings;
        match input.input {
            Input::NoteOn(key) if is_ours(settings, key.key) => {
                self.press(settings, key, time);
            }
            Input::NoteOn(key) => self.pass_on(key, time, input.event, port),
            Input::NoteOff {
                channel: Some(channel),
                key: Some(key),
            } => self.lift(settings, channel, key, time, Some(input.event), port),
            Input::NoteOff { channel, key } => {
                self.lift_all(settings, channel, key, time, port);
            }
            Input::AllNotesOff { channel } => {
                self.lift_all(settings, Some(channel), None, time, port);
                if self.sounds_on(channel) {
                    self.release_chord(time, port);
                }
                port.send(time, Output::Through(input.event));
            }
            Input::Other => {
                port.send(time, Output::Through(input.event));
            }
            Input::Nothing => {}
        }
    }

    fn press(&mut self, settings: &Settings, key: HeldKey, time: u32) {
        self.shown.mark_stale();
        if let Some(keys) = self.captured.get_mut(usize::from(key.channel)) {
            *keys |= 1 << (key.key & 127);
        }
        let now = self.now_samples + u64::from(time);
        let begins = self.hand.press(key, now, self.together_samples);
        let gates = settings.source == Source::Chart;
        if gates {
            self.gate_key = self.gate_key.or(Some(key));
        }
        if begins && !gates {
            let sounding = self.playing.map(|playing| playing.sounding.voiced.voicing);
            self.before = sounding.or(self.before);
        }
        self.gesture = match self.gesture {
            _ if begins => Gesture::Struck,
            Gesture::Struck => Gesture::Struck,
            _ => Gesture::Joined,
        };
    }

    /// A key goes up: ours ends its gesture, another one's note-off passes if
    /// its note is not held by the chord.
    fn lift<E: Copy>(
        &mut self,
        settings: &Settings,
        channel: u8,
        key: u8,
        time: u32,
        event: Option<E>,
        port: &mut impl Port<E>,
    ) {
        if let Some(keys) = self.captured.get_mut(usize::from(channel)) {
            let bit = 1 << (key & 127);
            let ours = *keys & bit != 0;
            *keys &= !bit;
            if ours {
                self.lift_ours(settings, channel, key);
            }
        }
        self.played = true;
        self.shown.mark_stale();
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

    fn lift_ours(&mut self, settings: &Settings, channel: u8, key: u8) {
        let gate_open = self.captured.iter().any(|keys| *keys != 0);
        let by_hand = settings.groove.rhythm == Rhythm::Played;
        let released = match settings.source {
            // What the hand strikes it also holds, to the last key of the gesture.
            Source::Chart if by_hand => {
                let of_it = |k: HeldKey| (k.channel, k.key) == (channel, key);
                let over =
                    self.hand.keys().any(of_it) && !self.hand.keys().any(|k| self.is_down(k));
                if over {
                    self.hand.clear();
                }
                over
            }
            Source::Chart => {
                self.hand.release(channel, key);
                settings.gate && !gate_open
            }
            Source::Roots => self.hand.release(channel, key),
            Source::Reading | Source::Bass => false,
        };
        if released {
            self.gesture = Gesture::Released;
        }
        if !gate_open {
            self.gate_key = None;
        }
    }

    /// Whether a key of the left hand is held.
    fn is_down(&self, key: HeldKey) -> bool {
        let keys = self.captured.get(usize::from(key.channel));
        keys.is_some_and(|keys| keys & 1 << (key.key & 127) != 0)
    }

    /// Every held key that matches goes up.
    fn lift_all<E: Copy>(
        &mut self,
        settings: &Settings,
        channel: Option<u8>,
        key: Option<u8>,
        time: u32,
        port: &mut impl Port<E>,
    ) {
        let channels = channel.map_or(0..CHANNELS, |c| c..c.saturating_add(1));
        for channel in channels {
            let keys = key.map_or(0..128, |k| k..k.saturating_add(1));
            for key in keys {
                self.lift(settings, channel, key, time, None, port);
            }
        }
    }

    /// Decides what sounds, once all events of a sample are in.
    pub(super) fn settle<E: Copy>(&mut self, stage: &Stage, time: u32, port: &mut impl Port<E>) {
        let gesture = std::mem::take(&mut self.gesture);
        let source = stage.settings.source;
        match (gesture, source) {
            (Gesture::Nothing, _) | (_, Source::Reading | Source::Bass) => {}
            (Gesture::Released, _) => {
                self.root = None;
                self.release_chord(time, port);
            }
            (Gesture::Struck | Gesture::Joined, Source::Roots) => {
                self.sound_root(stage, time, gesture == Gesture::Struck, port);
            }
            (Gesture::Struck | Gesture::Joined, Source::Chart) => {
                if stage.settings.groove.rhythm != Rhythm::Played {
                    if self.playing.is_none() {
                        self.sound_here(stage, time, true, port);
                    }
                } else if gesture == Gesture::Struck {
                    self.sound_by_hand(stage, time, port);
                }
            }
        }
        if std::mem::take(&mut self.played) && source == Source::Reading {
            self.hear(stage, time);
        }
    }

    /// Reads the keys that the player holds below the split. A single key, or a
    /// set without a name, leaves the last reading on show.
    fn hear(&mut self, stage: &Stage, time: u32) {
        let settings = stage.settings;
        let notes = self.ledger.played_below(settings.split);
        let charted = stage.song.and_then(|song| {
            let position = stage.clock.after(time)?;
            let index = song.index_at(song.within(position));
            song.changes.get(index)?.placed
        });
        let context = Context {
            key: Some(charted.map_or(settings.key, |placed| placed.function.key)),
            before: self.heard.map(|heard| heard.sounding.placed.chord),
            charted: charted.map(|placed| placed.chord),
            ..Context::default()
        };
        self.heard = listener::hear(&notes, &context).or(self.heard);
        self.shown.mark_stale();
    }
}

/// Whether a key is the left hand's, and so does not pass.
fn is_ours(settings: &Settings, key: u8) -> bool {
    let takes = match settings.source {
        Source::Roots => true,
        Source::Chart => by_keys(settings),
        Source::Reading | Source::Bass => false,
    };
    !settings.bypass && takes && key < settings.split
}
