//! The drawn pattern, from the panel and the saved state to whoever reads the settings: an
//! atomic number. `ends` and `params` import it.

use crate::engine::rhythm::Drawn;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

/// The writing half: panel and the host's main thread.
#[derive(Debug)]
pub struct Writer(Arc<AtomicU64>);

/// The reading half: any thread, the audio thread among them.
#[derive(Debug)]
pub struct Reader(Arc<AtomicU64>);

/// Both halves, with the first pattern in force.
#[must_use]
pub fn channel() -> (Writer, Reader) {
    let bits = Arc::new(AtomicU64::new(Drawn::default().to_bits()));
    (Writer(bits.clone()), Reader(bits))
}

impl Writer {
    /// Puts another pattern in force. Wait-free.
    pub fn put(&self, drawn: Drawn) {
        self.0.store(drawn.to_bits(), Ordering::Relaxed);
    }
}

impl Reader {
    /// The pattern in force. Wait-free.
    #[must_use]
    pub fn get(&self) -> Drawn {
        Drawn::from_bits(self.0.load(Ordering::Relaxed))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_pattern_in_force_is_read() {
        let (writer, reader) = channel();
        assert_eq!(reader.get(), Drawn::default());
        let text = "l--s--s---------s-------------ls";
        writer.put(Drawn::from_text(text));
        assert_eq!(reader.get().to_text(), text);
    }
}
