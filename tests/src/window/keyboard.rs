//! The keys of the X server's keyboard. Imports errors only.

use crate::error::WindowError;
use x11rb::connection::Connection;
use x11rb::protocol::xproto::ConnectionExt as _;
use x11rb::rust_connection::RustConnection;

/// A key of the keyboard and what it writes.
#[derive(Clone, Copy)]
pub(super) struct KeyStroke {
    pub(super) code: u8,
    pub(super) symbol: u32,
    pub(super) shifted: bool,
}

impl KeyStroke {
    /// What each key of the server writes, alone and with shift.
    pub(super) fn all(connection: &RustConnection) -> Result<Vec<KeyStroke>, WindowError> {
        let (first, last) = {
            let setup = connection.setup();
            (setup.min_keycode, setup.max_keycode)
        };
        let mapping = connection
            .get_keyboard_mapping(first, last - first + 1)?
            .reply()?;
        let rows = mapping
            .keysyms
            .chunks_exact(mapping.keysyms_per_keycode.into());
        let keys = (first..=last).zip(rows).flat_map(|(code, symbols)| {
            let both = symbols.iter().take(2).zip([false, true]);
            both.map(move |(symbol, shifted)| KeyStroke {
                code,
                symbol: *symbol,
                shifted,
            })
        });
        Ok(keys.collect())
    }
}
