//! The peak of the audition tone, from the audio thread to the panel's meter: an atomic
//! number. Only `ends` imports it.

use atomic_float::AtomicF32;
use std::sync::Arc;
use std::sync::atomic::Ordering;

/// The writing half: audio thread.
#[derive(Debug)]
pub struct Writer(Arc<AtomicF32>);

/// The reading half: the panel and its waker.
#[derive(Debug)]
pub struct Reader(Arc<AtomicF32>);

/// Both halves.
#[must_use]
pub fn channel() -> (Writer, Reader) {
    let peak = Arc::new(AtomicF32::new(0.0));
    (Writer(peak.clone()), Reader(peak))
}

impl Writer {
    /// Reports the peak of a block, linear, 0 to 0.5. Wait-free.
    pub fn raise(&self, peak: f32) {
        // A block in silence leaves the shared memory alone.
        if peak > 0.0 && peak > self.0.load(Ordering::Relaxed) {
            self.0.store(peak, Ordering::Relaxed);
        }
    }
}

impl Reader {
    /// Takes the highest peak since the last call, linear.
    #[must_use]
    pub fn take(&self) -> f32 {
        self.0.swap(0.0, Ordering::Relaxed)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_highest_peak_is_taken_once() {
        let (writer, reader) = channel();
        for peak in [0.1, 0.4, 0.2] {
            writer.raise(peak);
        }
        assert_eq!([reader.take(), reader.take()], [0.4, 0.0]);
    }
}
