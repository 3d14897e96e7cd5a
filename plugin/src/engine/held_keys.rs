//! The keys that the player holds and that do not pass, because the source takes them. Used on the
//! audio thread; imports `hand` and `ledger`.

use crate::engine::hand::HeldKey;
use crate::engine::ledger::{CHANNELS, Keys};

/// The keys that are held and do not pass.
#[derive(Debug, Default)]
pub struct HeldKeys {
    /// One bit for each key of a channel.
    channels: [Keys; CHANNELS as usize],
}

impl HeldKeys {
    /// A key goes down.
    pub fn press(&mut self, key: HeldKey) {
        if let Some(keys) = self.channels.get_mut(usize::from(key.channel)) {
            *keys |= 1 << (key.key & 127);
        }
    }

    /// A key goes up; true if it was held here.
    pub fn lift(&mut self, channel: u8, key: u8) -> bool {
        let Some(keys) = self.channels.get_mut(usize::from(channel)) else {
            return false;
        };
        let bit = 1 << (key & 127);
        let held = *keys & bit != 0;
        *keys &= !bit;
        held
    }

    /// Whether any key is held.
    pub fn any(&self) -> bool {
        self.channels.iter().any(|keys| *keys != 0)
    }

    /// Whether this key is held.
    pub fn is_down(&self, key: HeldKey) -> bool {
        let keys = self.channels.get(usize::from(key.channel));
        keys.is_some_and(|keys| keys & 1 << (key.key & 127) != 0)
    }

    /// The held keys of all channels, one bit each.
    pub fn all(&self) -> Keys {
        self.channels.iter().fold(0, |all, keys| all | keys)
    }
}
