//! What is heard of the bass, from the audio thread to the panel: atomic numbers, written at
//! the end of a block and read once a frame. `ends` and `editor` import it.

use crate::engine::bass_input::BassMeter;
use atomic_float::AtomicF32;
use std::sync::Arc;
use std::sync::atomic::Ordering;

/// The values of a [`BassMeter`]. Each is read by itself, so that a frame may see values of
/// two blocks.
#[derive(Debug)]
struct Shared {
    /// Below 0 for none.
    note: AtomicF32,
    cents: AtomicF32,
    level_db: AtomicF32,
    confidence: AtomicF32,
    a4_hz: AtomicF32,
}

/// The writing half: audio thread.
#[derive(Debug)]
pub struct Writer(Arc<Shared>);

/// The reading half: panel.
#[derive(Debug)]
pub struct Reader(Arc<Shared>);

/// What the panel shows of the bass, rounded to what an eye can tell apart.
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

/// Both halves.
#[must_use]
pub fn channel() -> (Writer, Reader) {
    let atomic = || AtomicF32::new(0.0);
    let shared = Arc::new(Shared {
        note: atomic(),
        cents: atomic(),
        level_db: atomic(),
        confidence: atomic(),
        a4_hz: atomic(),
    });
    let writer = Writer(shared.clone());
    writer.store(&BassMeter::default());
    (writer, Reader(shared))
}

impl Writer {
    /// Publishes what is heard. Wait-free.
    pub fn store(&self, meter: &BassMeter) {
        let note = meter.note.map_or(-1.0, f32::from);
        self.0.note.store(note, Ordering::Relaxed);
        self.0.cents.store(meter.cents, Ordering::Relaxed);
        self.0.level_db.store(meter.level_db, Ordering::Relaxed);
        self.0.confidence.store(meter.confidence, Ordering::Relaxed);
        self.0.a4_hz.store(meter.a4_hz, Ordering::Relaxed);
    }
}

impl Reader {
    /// What is to be shown now.
    #[must_use]
    pub fn look(&self) -> EarLook {
        let whole = |value: &AtomicF32, per_unit: f32| {
            #[expect(clippy::cast_possible_truncation, reason = "saturates")]
            let whole = (value.load(Ordering::Relaxed) * per_unit).round() as i32;
            whole
        };
        EarLook {
            note: u8::try_from(whole(&self.0.note, 1.0)).ok(),
            cents: whole(&self.0.cents, 1.0),
            level_db: whole(&self.0.level_db, 1.0),
            percent: whole(&self.0.confidence, 100.0),
            a4_tenths: whole(&self.0.a4_hz, 10.0),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_panel_sees_what_is_heard() {
        let (writer, reader) = channel();
        let silence = EarLook {
            level_db: -120,
            a4_tenths: 4400,
            ..EarLook::default()
        };
        assert_eq!(reader.look(), silence);
        writer.store(&BassMeter {
            note: Some(0),
            cents: -12.4,
            level_db: -20.6,
            confidence: 0.876,
            a4_hz: 442.04,
        });
        let heard = EarLook {
            note: Some(0),
            cents: -12,
            level_db: -21,
            percent: 88,
            a4_tenths: 4420,
        };
        assert_eq!(reader.look(), heard);
    }
}
