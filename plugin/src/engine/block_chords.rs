//! Block chords: the keys of the right hand with the voices that sound under them. Each key has voices
//! of its own, from the sample at which it goes down to the one at which it goes up, and nothing else
//! ends them but what ends all notes. Runs on the audio thread; imports `events`, `hand`, `notes` and
//! `snapshot`.
//!
//! A key that goes down waits until everything of its sample is in, for a chord that is struck there is
//! the one in force. Of keys that go down together the highest has the voices: of those at one sample,
//! and of a gesture whose first key is still down. No key waits for a later sample.

use crate::engine::events::Port;
use crate::engine::hand::HeldKey;
use crate::engine::notes::Notes;
use crate::engine::snapshot::UnderKey;
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::under::{self, Block, Harmony, Struck, Taste};
use guidehand_theory::voicing::MOST_NOTES;
use tinyvec::ArrayVec;

/// The most keys with voices of their own, and the most that wait. Two hands have no more fingers;
/// others pass alone.
const MOST_KEYS: usize = 16;

/// A key with the voices under it.
#[derive(Clone, Copy, Debug, Default)]
struct Harmonised {
    channel: u8,
    key: u8,
    /// The keys of the voices, on the same channel.
    voices: ArrayVec<[u8; MOST_NOTES]>,
}

/// Keys that go down together.
#[derive(Clone, Copy, Debug)]
struct Together {
    /// When the first one went down, in samples since the last reset.
    began_samples: u64,
    /// The highest one.
    top: HeldKey,
    /// They follow what was played before so soon that they are part of a fast line.
    fast: bool,
}

/// What a player sets.
#[derive(Clone, Copy, Debug)]
pub struct Wanted {
    /// The style, and what is asked of tensions.
    pub taste: Taste,
    /// A key that follows the one before within fewer samples is left single.
    pub single_under_samples: f64,
    /// Keys within so many samples of the first go down together.
    pub together_samples: u64,
}

/// The keys of the right hand with the voices under them.
#[derive(Debug, Default)]
pub struct BlockChords {
    held: ArrayVec<[Harmonised; MOST_KEYS]>,
    /// The keys that have gone down at a sample and wait until everything of it is in.
    struck: ArrayVec<[HeldKey; MOST_KEYS]>,
    /// That sample, since the last reset.
    struck_samples: u64,
    together: Option<Together>,
    /// When a key went down last, in samples since the last reset.
    last_samples: Option<u64>,
    /// The chord of the key that went down last and had or could have had voices.
    last: Option<Block>,
    /// That key, with its channel, if it is still down.
    shown: Option<(u8, u8)>,
    /// Something has changed that the panel shows.
    changed: bool,
}

impl BlockChords {
    /// A key goes down. If it still had voices, they end. It gets new ones in `harmonise`.
    pub fn press<E: Copy>(
        &mut self,
        key: HeldKey,
        now_samples: u64,
        (notes, time): (&mut Notes, u32),
        port: &mut impl Port<E>,
    ) {
        self.lift(key.channel, key.key, (notes, time), port);
        self.struck_samples = now_samples;
        // More keys at one sample pass alone.
        let _full = self.struck.try_push(key);
    }

    /// A key goes up: its voices end, but for those that other keys have too.
    pub fn lift<E: Copy>(
        &mut self,
        channel: u8,
        key: u8,
        (notes, time): (&mut Notes, u32),
        port: &mut impl Port<E>,
    ) {
        let is_it = |on: u8, number: u8| (on, number) == (channel, key);
        self.struck.retain(|k| !is_it(k.channel, k.key));
        if self.shown.is_some_and(|(on, number)| is_it(on, number)) {
            self.shown = None;
            self.changed = true;
        }
        let found = self.held.iter().position(|h| is_it(h.channel, h.key));
        if let Some(at) = found {
            let ended = self.held.remove(at);
            self.end(&ended, (notes, time), port);
        }
    }

    /// All voices end. Keys that are held have none from now on.
    pub fn end_all<E: Copy>(&mut self, time: u32, notes: &mut Notes, port: &mut impl Port<E>) {
        while let Some(ended) = self.held.pop() {
            self.end(&ended, (notes, time), port);
        }
        self.changed |= self.last.is_some();
        *self = BlockChords {
            changed: self.changed,
            ..BlockChords::default()
        };
    }

    fn end<E: Copy>(
        &self,
        ended: &Harmonised,
        (notes, time): (&mut Notes, u32),
        port: &mut impl Port<E>,
    ) {
        for voice in &ended.voices {
            let shares = |h: &Harmonised| h.channel == ended.channel && h.voices.contains(voice);
            if !self.held.iter().any(shares) {
                notes.stop_under(ended.channel, *voice, time, port);
            }
        }
    }

    /// The sample at which keys have gone down that wait, since the last reset.
    pub fn waits_since(&self) -> Option<u64> {
        (!self.struck.is_empty()).then_some(self.struck_samples)
    }

    /// Everything of the sample is in at which keys have gone down: the highest of them gets its voices
    /// from the chord in force.
    pub fn harmonise<E: Copy>(
        &mut self,
        harmony: Option<&Harmony>,
        wanted: &Wanted,
        (notes, time): (&mut Notes, u32),
        port: &mut impl Port<E>,
    ) {
        let now = self.struck_samples;
        let top = self.struck.iter().copied().max_by_key(|key| key.key);
        self.struck.clear();
        let Some(top) = top else {
            return;
        };
        let last = self.last_samples.replace(now);
        let with = self.together.filter(|with| {
            let soon = now.saturating_sub(with.began_samples) <= wanted.together_samples;
            soon && notes.passes(with.top.channel, with.top.key)
        });
        if let Some(with) = with {
            if top.key <= with.top.key {
                return;
            }
            // The first one turns out to be no melody.
            let HeldKey { channel, key, .. } = with.top;
            self.lift(channel, key, (notes, time), port);
        }
        let soon = |last: u64| {
            #[expect(clippy::cast_precision_loss, reason = "exact below 2^53")]
            let after = now.saturating_sub(last) as f64;
            after < wanted.single_under_samples
        };
        let together = Together {
            began_samples: with.map_or(now, |with| with.began_samples),
            top,
            fast: with.map_or_else(|| last.is_some_and(soon), |with| with.fast),
        };
        self.together = Some(together);
        let struck = Struck {
            note: MidiNote::clamp(i32::from(top.key)),
            fast: together.fast,
        };
        let block = under::step(&wanted.taste, self.last.as_ref(), struck, harmony);
        self.sound(top, &block, (notes, time), port);
        self.last = Some(block);
        self.shown = Some((top.channel, top.key));
        self.changed = true;
    }

    fn sound<E: Copy>(
        &mut self,
        melody: HeldKey,
        block: &Block,
        (notes, time): (&mut Notes, u32),
        port: &mut impl Port<E>,
    ) {
        let HeldKey { channel, key, .. } = melody;
        let voices = block.voicing.notes().map(MidiNote::number);
        let harmonised = Harmonised {
            channel,
            key,
            voices: voices.filter(|voice| *voice != key).collect(),
        };
        if harmonised.voices.is_empty() || self.held.try_push(harmonised).is_some() {
            return;
        }
        for voice in harmonised.voices {
            let voice = HeldKey {
                key: voice,
                ..melody
            };
            notes.start_under(voice, time, port);
        }
    }

    /// The keys that wait get no voices.
    pub fn forget_struck(&mut self) {
        self.struck.clear();
    }

    /// Whether no key has voices and none waits.
    pub fn is_idle(&self) -> bool {
        self.held.is_empty() && self.struck.is_empty()
    }

    /// What the panel shows.
    pub fn shown(&self) -> Option<UnderKey> {
        self.last.map(|block| UnderKey {
            block,
            sounds: self.shown.is_some(),
        })
    }

    /// Whether something has changed that the panel shows, since this was asked last.
    pub const fn take_changed(&mut self) -> bool {
        std::mem::replace(&mut self.changed, false)
    }
}
