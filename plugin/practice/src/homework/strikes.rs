//! What is struck together: a chord, also where its notes come one after the other, with the keys
//! that are held on from before. Imports `keys`.

use super::keys::PlayedKey;
use guidehand_theory::pitch::MidiNote;

/// Two notes of one strike follow each other within this time, in seconds. A rolled chord takes
/// longer as a whole, two chords are never so close (common practice, no published source).
const CLOSE_S: f64 = 0.12;

/// A strike that is spread over more than this, in seconds, is rolled.
const ROLLED_S: f64 = 0.08;

/// Keys that go down together.
#[derive(Clone, Debug, PartialEq)]
pub struct Strike {
    /// The keys that go down, each once, in the order in which they do.
    pub keys: Vec<PlayedKey>,
    /// Notes that were struck before and that the hand holds on.
    pub held: Vec<MidiNote>,
    /// When the first key goes down, in ticks.
    pub first_ticks: u32,
    /// When the last key goes down, in ticks.
    pub last_ticks: u32,
}

impl Strike {
    /// A strike of one key.
    fn of(key: PlayedKey) -> Strike {
        Strike {
            keys: vec![key],
            held: Vec::new(),
            first_ticks: key.start_ticks,
            last_ticks: key.start_ticks,
        }
    }

    /// Whether this key goes down with the strike.
    fn takes(&self, key: &PlayedKey) -> bool {
        let close = |last: &PlayedKey| key.start_s - last.start_s <= CLOSE_S;
        self.keys.last().is_some_and(close) && !self.strikes(key.note)
    }

    /// Whether this note goes down.
    pub fn strikes(&self, note: MidiNote) -> bool {
        self.keys.iter().any(|key| key.note == note)
    }

    /// All notes that are down, from the lowest.
    pub fn notes(&self) -> Vec<MidiNote> {
        let struck = self.keys.iter().map(|key| key.note);
        let mut notes: Vec<MidiNote> = struck.chain(self.held.iter().copied()).collect();
        notes.sort_unstable();
        notes.dedup();
        notes
    }

    /// Whether its notes come one after the other.
    pub fn is_rolled(&self) -> bool {
        let seconds = || self.keys.iter().map(|key| key.start_s);
        let first = seconds().fold(f64::INFINITY, f64::min);
        let last = seconds().fold(f64::NEG_INFINITY, f64::max);
        last - first > ROLLED_S
    }

    /// Whether all its notes still sound, by hand or pedal, at a tick.
    pub fn sounds_at(&self, ticks: u32) -> bool {
        self.keys.iter().all(|key| key.end_ticks > ticks)
    }

    /// How early it comes for a beat, in ticks, or how late if positive. A roll that goes over the
    /// beat comes on it.
    pub fn off(&self, beat_ticks: u32) -> i64 {
        let (beat, first) = (i64::from(beat_ticks), i64::from(self.first_ticks));
        let last = i64::from(self.last_ticks);
        if beat < first {
            first - beat
        } else {
            (last - beat).min(0)
        }
    }

    /// The notes of two strikes as one.
    pub fn joined(&self, next: &Strike) -> Strike {
        Strike {
            keys: self.keys.iter().chain(&next.keys).copied().collect(),
            held: self.held.clone(),
            first_ticks: self.first_ticks,
            last_ticks: next.last_ticks,
        }
    }
}

/// What is struck together, in order. The keys come in the order in which they are struck.
pub fn strikes(keys: &[PlayedKey]) -> Vec<Strike> {
    let mut strikes: Vec<Strike> = Vec::new();
    for key in keys {
        match strikes.last_mut().filter(|last| last.takes(key)) {
            Some(last) => {
                last.keys.push(*key);
                last.last_ticks = key.start_ticks;
            }
            None => strikes.push(Strike::of(*key)),
        }
    }
    hold_on(&mut strikes);
    strikes
}

/// Finds the keys that each strike holds on from before. A key that is let go a little late, as in
/// legato, is not meant; one that stays down for half of the strike is.
fn hold_on(strikes: &mut [Strike]) {
    let mut down: Vec<PlayedKey> = Vec::new();
    let starts: Vec<u32> = strikes.iter().map(|strike| strike.first_ticks).collect();
    let next = starts
        .iter()
        .skip(1)
        .map(|start| Some(*start))
        .chain([None]);
    for (strike, next) in strikes.iter_mut().zip(next) {
        let last = strike.last_ticks;
        let released = strike.keys.iter().map(|key| key.released_ticks).max();
        let released = released.unwrap_or(last).max(last);
        let until = next.map_or(released, |next| released.min(next.max(last)));
        let half = last + (until - last) / 2;
        down.retain(|key| key.released_ticks > last && !strike.strikes(key.note));
        let stays = |key: &&PlayedKey| key.released_ticks > half;
        strike.held = down.iter().filter(stays).map(|key| key.note).collect();
        down.extend(&strike.keys);
    }
}
