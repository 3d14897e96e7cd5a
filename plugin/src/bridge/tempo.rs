//! The tempo that the host told last, from the audio thread to the panel, which writes it into
//! files: an atomic number. Only `ends` imports it.

use atomic_float::AtomicF32;
use std::sync::Arc;
use std::sync::atomic::Ordering;

/// The tempo before any was told, in quarter notes a minute.
const FIRST_BPM: f32 = 120.0;

/// The writing half: audio thread.
#[derive(Debug)]
pub struct Writer(Arc<AtomicF32>);

/// The reading half: panel.
#[derive(Debug)]
pub struct Reader(Arc<AtomicF32>);

/// Both halves.
#[must_use]
pub fn channel() -> (Writer, Reader) {
    let bpm = Arc::new(AtomicF32::new(FIRST_BPM));
    (Writer(bpm.clone()), Reader(bpm))
}

impl Writer {
    /// Tells a tempo in quarter notes a minute. What is no tempo changes nothing. Wait-free.
    pub fn tell(&self, bpm: f32) {
        if bpm > 0.0 {
            self.0.store(bpm, Ordering::Relaxed);
        }
    }
}

impl Reader {
    /// The tempo that was told last, in quarter notes a minute.
    #[must_use]
    pub fn bpm(&self) -> f32 {
        self.0.load(Ordering::Relaxed)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_last_tempo_that_was_told_is_read() {
        let (writer, reader) = channel();
        assert_eq!(reader.bpm(), FIRST_BPM);
        writer.tell(90.0);
        writer.tell(0.0);
        assert_eq!(reader.bpm(), 90.0);
    }
}
