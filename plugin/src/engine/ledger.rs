//! Which notes sound at the output, and who holds them. It alone decides whether a note-on or a
//! note-off goes out, so that every note-on has exactly one note-off. Used on the audio thread;
//! imports `hand`.

use crate::engine::hand::HeldKey;
use guidehand_theory::pitch::MidiNote;
use tinyvec::ArrayVec;

/// The most keys that are read as one chord: two hands have no more fingers.
pub const MOST_PLAYED: usize = 10;

/// The most note-ons that wait for room in the host's queue. Two hands, a chord and its bass need
/// fewer.
const MOST_REFUSED: usize = 64;

/// Channels of MIDI.
pub const CHANNELS: u8 = 16;

/// Who holds a note.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Holder {
    /// The player, whose key passes.
    Player,
    /// The chord.
    Chord,
    /// The bass.
    Bass,
    /// A voice under a key of the right hand.
    Under,
    /// A step of what is tried by ear.
    Audition,
    /// What lies beneath the steps of that.
    Beneath,
}

impl Holder {
    /// All holders.
    const ALL: [Holder; 6] = [
        Holder::Player,
        Holder::Chord,
        Holder::Bass,
        Holder::Under,
        Holder::Audition,
        Holder::Beneath,
    ];
}

/// What has to go out when a note starts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Start {
    /// The note-on alone.
    On,
    /// A note-off first: the key is struck while it sounds.
    OffThenOn,
    /// Nothing: the key sounds already, and now has one more holder.
    Shared,
}

/// One bit for each key of a channel.
pub type Keys = u128;

#[derive(Clone, Copy, Debug, Default)]
struct Channel {
    player: Keys,
    chord: Keys,
    bass: Keys,
    under: Keys,
    audition: Keys,
    beneath: Keys,
    /// Note-offs that the host's full queue did not take.
    owed: Keys,
    /// Keys that are held, but whose note-on the host's full queue did not take.
    refused: Keys,
}

impl Channel {
    const fn of(&self, holder: Holder) -> Keys {
        match holder {
            Holder::Player => self.player,
            Holder::Chord => self.chord,
            Holder::Bass => self.bass,
            Holder::Under => self.under,
            Holder::Audition => self.audition,
            Holder::Beneath => self.beneath,
        }
    }

    fn keys(&mut self, holder: Holder) -> &mut Keys {
        match holder {
            Holder::Player => &mut self.player,
            Holder::Chord => &mut self.chord,
            Holder::Bass => &mut self.bass,
            Holder::Under => &mut self.under,
            Holder::Audition => &mut self.audition,
            Holder::Beneath => &mut self.beneath,
        }
    }

    /// What the player and the chords hold.
    const fn performed(&self) -> Keys {
        self.player | self.chord | self.bass | self.under
    }

    const fn held(&self) -> Keys {
        self.performed() | self.audition | self.beneath
    }

    const fn sounding(&self) -> Keys {
        self.held() & !self.refused
    }
}

/// The notes that sound.
#[derive(Clone, Debug, Default)]
pub struct Ledger {
    channels: [Channel; CHANNELS as usize],
    /// A note-off may be owed. Most blocks need not search for one.
    may_owe: bool,
    /// The note-ons that a full queue did not take, in order. Those of keys that are no longer held
    /// are passed over.
    refused: ArrayVec<[HeldKey; MOST_REFUSED]>,
}

const fn bit(key: u8) -> Keys {
    1 << (key & 127)
}

impl Ledger {
    fn channel(&mut self, channel: u8) -> Option<&mut Channel> {
        self.channels.get_mut(usize::from(channel))
    }

    /// A holder starts a note. Returns what has to go out for it, which is nothing for a note out of
    /// range.
    pub fn start(&mut self, holder: Holder, channel: u8, key: u8) -> Start {
        let Some(state) = self.channel(channel).filter(|_| key < 128) else {
            return Start::Shared;
        };
        let sounds = state.sounding() & bit(key) != 0;
        let performed = state.performed() & bit(key) != 0;
        let played = state.player & bit(key) != 0;
        *state.keys(holder) |= bit(key);
        match (sounds, holder) {
            (false, _) => Start::On,
            // What the player strikes must be heard. A chord only joins the note that sounds, unless
            // that is only tried by ear. What is tried does not cut the notes of a performance.
            (true, Holder::Player) => Start::OffThenOn,
            // So must a voice of what the player strikes, unless a finger is on its key.
            (true, Holder::Under) if played => Start::Shared,
            (true, Holder::Under) => Start::OffThenOn,
            (true, Holder::Beneath) => Start::Shared,
            (true, _) if !performed => Start::OffThenOn,
            (true, _) => Start::Shared,
        }
    }

    /// A holder joins a note that sounds already, or waits for room in the host's queue.
    pub fn join(&mut self, holder: Holder, channel: u8, key: u8) {
        if let Some(state) = self.channel(channel).filter(|_| key < 128) {
            *state.keys(holder) |= bit(key);
        }
    }

    /// A holder releases a note; true if its note-off has to go out.
    pub fn stop(&mut self, holder: Holder, channel: u8, key: u8) -> bool {
        let Some(state) = self.channel(channel).filter(|_| key < 128) else {
            return false;
        };
        let sounded = state.sounding() & bit(key) != 0;
        let held = *state.keys(holder) & bit(key) != 0;
        *state.keys(holder) &= !bit(key);
        state.refused &= state.held();
        held && sounded && state.held() & bit(key) == 0
    }

    /// Remembers a note-on that the host's full queue did not take. It has its chance as long as the
    /// key is held.
    pub fn refuse(&mut self, note: HeldKey) {
        let Some(state) = self.channel(note.channel).filter(|_| note.key < 128) else {
            return;
        };
        state.refused |= bit(note.key);
        self.refused
            .retain(|other| (other.channel, other.key) != (note.channel, note.key));
        if self.refused.try_push(note).is_some() {
            self.forget(note.channel, note.key);
        }
    }

    /// Forgets a note whose note-on did not go out.
    fn forget(&mut self, channel: u8, key: u8) {
        if let Some(state) = self.channel(channel) {
            for holder in Holder::ALL {
                *state.keys(holder) &= !bit(key);
            }
            state.refused &= !bit(key);
        }
    }

    /// The next note-on that was refused, if its key is still held.
    pub fn next_refused(&mut self) -> Option<HeldKey> {
        while let Some(note) = self.refused.first().copied() {
            let state = self.channel(note.channel);
            if state.is_some_and(|state| state.refused & bit(note.key) != 0) {
                return Some(note);
            }
            self.refused.remove(0);
        }
        None
    }

    /// The note-on of a key has gone out.
    pub fn sent(&mut self, channel: u8, key: u8) {
        if let Some(state) = self.channel(channel) {
            state.refused &= !bit(key);
        }
    }

    /// Remembers a note-off that the host's full queue did not take.
    pub fn owe(&mut self, channel: u8, key: u8) {
        self.may_owe = true;
        if let Some(state) = self.channel(channel) {
            state.owed |= bit(key);
        }
    }

    /// Releases everything that sounds; the note-offs are owed.
    pub fn owe_all(&mut self) {
        self.may_owe = true;
        self.refused.clear();
        for channel in &mut self.channels {
            *channel = Channel {
                owed: channel.owed | channel.sounding(),
                ..Channel::default()
            };
        }
    }

    /// Whether a note-off is owed for this key.
    pub fn is_owed(&mut self, channel: u8, key: u8) -> bool {
        self.channel(channel)
            .is_some_and(|state| state.owed & bit(key) != 0)
    }

    /// A note-off that was owed has gone out.
    pub fn paid(&mut self, channel: u8, key: u8) {
        if let Some(state) = self.channel(channel) {
            state.owed &= !bit(key);
        }
    }

    /// The next note-off that is owed.
    pub fn next_owed(&mut self) -> Option<(u8, u8)> {
        if !self.may_owe {
            return None;
        }
        let next = first(&self.channels, |c| c.owed);
        self.may_owe = next.is_some();
        next
    }

    /// The keys that the player holds and that pass, on any channel, one bit each.
    #[must_use]
    pub fn played(&self) -> Keys {
        self.channels.iter().fold(0, |keys, c| keys | c.player)
    }

    /// The keys below `limit` that the player holds and that pass, on any channel, ascending: the
    /// lowest [`MOST_PLAYED`] of them.
    #[must_use]
    pub fn played_below(&self, limit: u8) -> ArrayVec<[MidiNote; MOST_PLAYED]> {
        let all = self.played();
        let keys = (0..limit).filter(|key| all & bit(*key) != 0);
        keys.filter_map(MidiNote::new).take(MOST_PLAYED).collect()
    }

    /// A note of a holder's, to be released next.
    #[must_use]
    pub fn next_of(&self, holder: Holder) -> Option<(u8, u8)> {
        first(&self.channels, |c| c.of(holder))
    }

    /// The notes of a holder's on a channel.
    #[must_use]
    pub fn keys_of(&self, holder: Holder, channel: u8) -> Keys {
        let state = self.channels.get(usize::from(channel));
        state.map_or(0, |state| state.of(holder))
    }
}

/// The keys of a set, ascending.
pub fn keys(set: Keys) -> impl Iterator<Item = u8> {
    (0..128).filter(move |key| set & bit(*key) != 0)
}

fn first(channels: &[Channel], keys: impl Fn(&Channel) -> Keys) -> Option<(u8, u8)> {
    (0..CHANNELS).zip(channels).find_map(|(number, channel)| {
        let keys = keys(channel);
        let key = u8::try_from(keys.trailing_zeros()).ok()?;
        (keys != 0).then_some((number, key))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shared_notes_end_with_their_last_holder() {
        let mut ledger = Ledger::default();
        assert_eq!(ledger.start(Holder::Chord, 0, 60), Start::On);
        assert_eq!(ledger.start(Holder::Player, 0, 60), Start::OffThenOn);
        assert!(!ledger.stop(Holder::Chord, 0, 60));
        assert!(ledger.stop(Holder::Player, 0, 60));
        assert!(!ledger.stop(Holder::Player, 0, 60));
        assert_eq!(ledger.start(Holder::Player, 0, 60), Start::On);
        assert_eq!(ledger.start(Holder::Chord, 0, 60), Start::Shared);
        assert_eq!(ledger.start(Holder::Chord, 1, 60), Start::On);
        assert!(!ledger.stop(Holder::Player, 0, 60));
        assert_eq!(ledger.next_of(Holder::Chord), Some((0, 60)));
        assert!(ledger.stop(Holder::Chord, 0, 60));
    }

    fn note(key: u8) -> HeldKey {
        HeldKey {
            channel: 0,
            key,
            velocity: 0.5,
        }
    }

    #[test]
    fn a_note_that_was_refused_has_its_chance_while_it_is_held() {
        let mut ledger = Ledger::default();
        for key in [60, 64, 67] {
            assert_eq!(ledger.start(Holder::Chord, 0, key), Start::On);
            ledger.refuse(note(key));
        }
        assert!(!ledger.stop(Holder::Chord, 0, 60), "it has never sounded");
        assert_eq!(ledger.next_refused(), Some(note(64)));
        ledger.sent(0, 64);
        assert_eq!(ledger.next_refused(), Some(note(67)));
        // The player strikes the key while it waits.
        assert_eq!(ledger.start(Holder::Player, 0, 67), Start::On);
        ledger.sent(0, 67);
        assert_eq!(ledger.next_refused(), None);
        assert!(!ledger.stop(Holder::Chord, 0, 67));
        assert!(ledger.stop(Holder::Player, 0, 67));
        assert!(ledger.stop(Holder::Chord, 0, 64));
        assert_eq!(ledger.next_owed(), None);
    }

    #[test]
    fn what_was_refused_is_not_owed_after_a_reset() {
        let mut ledger = Ledger::default();
        ledger.start(Holder::Chord, 0, 60);
        ledger.start(Holder::Chord, 0, 64);
        ledger.refuse(note(64));
        ledger.owe_all();
        assert_eq!(ledger.next_refused(), None);
        assert_eq!(ledger.next_owed(), Some((0, 60)));
        ledger.paid(0, 60);
        assert_eq!(ledger.next_owed(), None);
    }

    #[test]
    fn a_voice_under_a_key_is_struck_unless_a_finger_is_on_it() {
        let mut ledger = Ledger::default();
        ledger.start(Holder::Chord, 0, 60);
        assert_eq!(ledger.start(Holder::Under, 0, 60), Start::OffThenOn);
        assert!(!ledger.stop(Holder::Chord, 0, 60));
        assert_eq!(ledger.start(Holder::Under, 0, 60), Start::OffThenOn);
        assert_eq!(ledger.start(Holder::Player, 0, 60), Start::OffThenOn);
        assert_eq!(ledger.start(Holder::Under, 0, 60), Start::Shared);
        assert_eq!(ledger.start(Holder::Chord, 0, 60), Start::Shared);
        assert!(!ledger.stop(Holder::Player, 0, 60));
        assert!(!ledger.stop(Holder::Under, 0, 60));
        ledger.join(Holder::Under, 0, 60);
        assert!(!ledger.stop(Holder::Chord, 0, 60));
        assert!(ledger.stop(Holder::Under, 0, 60));
    }

    #[test]
    fn more_notes_than_can_wait_are_forgotten() {
        let mut ledger = Ledger::default();
        for key in 0..128 {
            ledger.start(Holder::Player, 0, key);
            ledger.refuse(note(key));
        }
        let last = u8::try_from(MOST_REFUSED).unwrap();
        for key in 0..last {
            assert_eq!(ledger.next_refused(), Some(note(key)));
            ledger.sent(0, key);
        }
        assert_eq!(ledger.next_refused(), None);
        assert!(!ledger.stop(Holder::Player, 0, last));
        assert_eq!(ledger.start(Holder::Player, 0, last), Start::On);
    }
}
