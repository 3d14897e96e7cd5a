//! What the panel shows of the bass at the audio inputs: atomics that the host's glue stores at the
//! end of a block, and the panel reads once a frame. Imports `bass_input`.

use crate::engine::bass_input::{BassMeter, SILENCE_DB};
use atomic_float::AtomicF32;
use std::sync::atomic::Ordering;

/// What the panel shows of the bass: written by the audio thread at the end of a block, read once a
/// frame.
#[derive(Debug)]
pub struct EarShown {
    /// The MIDI note that sounds, below 0 for none.
    pub note: AtomicF32,
    /// Cents that it is above its place by the tuning reference, -50 to 50.
    pub cents: AtomicF32,
    /// In dB, from -120.
    pub level_db: AtomicF32,
    /// How sure the note is, 0 to 1.
    pub confidence: AtomicF32,
    /// The tuning reference, in Hz.
    pub a4_hz: AtomicF32,
}

impl Default for EarShown {
    fn default() -> Self {
        EarShown {
            note: AtomicF32::new(-1.0),
            cents: AtomicF32::new(0.0),
            level_db: AtomicF32::new(SILENCE_DB),
            confidence: AtomicF32::new(0.0),
            a4_hz: AtomicF32::new(440.0),
        }
    }
}

/// What the panel shows of the bass, as far as an eye can tell.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct EarLook {
    /// The MIDI note that sounds.
    pub note: Option<u8>,
    /// Cents that it is above its place.
    pub cents: i32,
    /// In dB, from -120.
    pub level_db: i32,
    /// How sure the note is, in percent.
    pub percent: i32,
    /// The tuning reference, in tenths of a hertz.
    pub a4_tenths: i32,
}

impl EarShown {
    /// Takes over what was heard. Wait-free.
    pub fn store(&self, meter: &BassMeter) {
        let note = meter.note.map_or(-1.0, f32::from);
        self.note.store(note, Ordering::Relaxed);
        self.cents.store(meter.cents, Ordering::Relaxed);
        self.level_db.store(meter.level_db, Ordering::Relaxed);
        self.confidence.store(meter.confidence, Ordering::Relaxed);
        self.a4_hz.store(meter.a4_hz, Ordering::Relaxed);
    }

    /// What there is to see now.
    #[must_use]
    pub fn look(&self) -> EarLook {
        let whole = |value: &AtomicF32, per_unit: f32| {
            #[expect(clippy::cast_possible_truncation, reason = "saturates")]
            let whole = (value.load(Ordering::Relaxed) * per_unit).round() as i32;
            whole
        };
        EarLook {
            note: u8::try_from(whole(&self.note, 1.0)).ok(),
            cents: whole(&self.cents, 1.0),
            level_db: whole(&self.level_db, 1.0),
            percent: whole(&self.confidence, 100.0),
            a4_tenths: whole(&self.a4_hz, 10.0),
        }
    }
}
