//! Which notes sound at the output, and who holds them. It alone decides whether a note-on or a
//! note-off goes out, so that every note-on has exactly one note-off. Used on the audio thread;
//! imports the theory only.

use guidehand_theory::pitch::MidiNote;
use tinyvec::ArrayVec;

/// The most keys that are read as one chord: two hands have no more fingers.
pub const MOST_PLAYED: usize = 10;

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
    /// Note-offs that the host's full queue did not take.
    owed: Keys,
}

impl Channel {
    fn keys(&mut self, holder: Holder) -> &mut Keys {
        match holder {
            Holder::Player => &mut self.player,
            Holder::Chord => &mut self.chord,
            Holder::Bass => &mut self.bass,
        }
    }

    const fn sounding(&self) -> Keys {
        self.player | self.chord | self.bass
    }
}

/// The notes that sound.
#[derive(Clone, Debug, Default)]
pub struct Ledger {
    channels: [Channel; CHANNELS as usize],
    /// A note-off may be owed. Most blocks need not search for one.
    may_owe: bool,
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
        *state.keys(holder) |= bit(key);
        match (sounds, holder) {
            (false, _) => Start::On,
            // What the player strikes must be heard. A chord only joins the note that sounds.
            (true, Holder::Player) => Start::OffThenOn,
            (true, _) => Start::Shared,
        }
    }

    /// A holder releases a note; true if its note-off has to go out.
    pub fn stop(&mut self, holder: Holder, channel: u8, key: u8) -> bool {
        let Some(state) = self.channel(channel).filter(|_| key < 128) else {
            return false;
        };
        let held = *state.keys(holder) & bit(key) != 0;
        *state.keys(holder) &= !bit(key);
        held && state.sounding() & bit(key) == 0
    }

    /// Forgets a note whose note-on did not go out.
    pub fn forget(&mut self, channel: u8, key: u8) {
        if let Some(state) = self.channel(channel) {
            for holder in [Holder::Player, Holder::Chord, Holder::Bass] {
                *state.keys(holder) &= !bit(key);
            }
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
        first(&self.channels, |c| match holder {
            Holder::Player => c.player,
            Holder::Chord => c.chord,
            Holder::Bass => c.bass,
        })
    }
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
}
