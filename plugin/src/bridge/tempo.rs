//! The host's last tempo, from the audio thread to the panel, which writes it into files: an
//! atomic number. Only `ends` imports it.

use atomic_float::AtomicF32;
use std::sync::Arc;
use std::sync::atomic::Ordering;

/// The tempo until the host reports one, in quarter notes a minute.
pub const FIRST_BPM: f32 = 120.0;

/// The writing half: audio thread.
#[derive(Debug)]
pub struct Writer {
    bpm: Arc<AtomicF32>,
    /// The tempo that was told last: a block with the same one leaves the shared memory alone.
    told_bpm: f32,
}

/// The reading half: panel.
#[derive(Debug)]
pub struct Reader(Arc<AtomicF32>);

/// Both halves.
#[must_use]
pub fn channel() -> (Writer, Reader) {
    let bpm = Arc::new(AtomicF32::new(FIRST_BPM));
    let writer = Writer {
        bpm: bpm.clone(),
        told_bpm: FIRST_BPM,
    };
    (writer, Reader(bpm))
}

impl Writer {
    /// Reports a tempo in quarter notes a minute. A value that is not above 0 changes nothing.
    /// Wait-free.
    pub fn tell(&mut self, bpm: f32) {
        if bpm > 0.0 && bpm != self.told_bpm {
            self.told_bpm = bpm;
            self.bpm.store(bpm, Ordering::Relaxed);
        }
    }
}

impl Reader {
    /// The last tempo that was reported, in quarter notes a minute.
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
        let (mut writer, reader) = channel();
        assert_eq!(reader.bpm(), FIRST_BPM);
        writer.tell(90.0);
        writer.tell(0.0);
        assert_eq!(reader.bpm(), 90.0);
    }
}
