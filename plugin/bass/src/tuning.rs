//! The pitch of A4, set by hand or measured. Imports nothing of the crate.

/// The lowest reference, in Hz.
pub const LOWEST_A4_HZ: f32 = 430.0;
/// The highest reference, in Hz.
pub const HIGHEST_A4_HZ: f32 = 450.0;

/// Where the tuning reference comes from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Reference {
    /// A4 in Hz, clamped to 430 to 450.
    Hand(f32),
    /// Measured from the notes that are heard, beginning at 440 Hz.
    Measured,
}

/// The number of notes that a measurement covers.
const MEMORY_NOTES: f32 = 24.0;

/// The reference in force.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Tuning {
    measured: bool,
    /// Cents above A4 = 440 Hz.
    shift_cents: f32,
    notes: f32,
}

impl Tuning {
    pub(crate) fn new(reference: Reference) -> Tuning {
        let (measured, a4_hz) = match reference {
            Reference::Hand(a4_hz) if a4_hz.is_finite() => (false, a4_hz),
            Reference::Hand(_) => (false, 440.0),
            Reference::Measured => (true, 440.0),
        };
        Tuning {
            measured,
            shift_cents: cents_of(a4_hz),
            notes: 0.0,
        }
    }

    /// Cents above A4 = 440 Hz.
    pub(crate) fn shift_cents(self) -> f32 {
        self.shift_cents
    }

    /// A4 in Hz.
    pub(crate) fn a4_hz(self) -> f32 {
        440.0 * (self.shift_cents / 1200.0).exp2()
    }

    /// Learns from a note that lies `cents` above the reference.
    pub(crate) fn hear(&mut self, cents: f32) {
        if self.measured {
            self.notes = (self.notes + 1.0).min(MEMORY_NOTES);
            let moved = self.shift_cents + cents / (self.notes + 1.0);
            self.shift_cents = moved.clamp(cents_of(LOWEST_A4_HZ), cents_of(HIGHEST_A4_HZ));
        }
    }
}

fn cents_of(a4_hz: f32) -> f32 {
    1200.0 * (a4_hz.clamp(LOWEST_A4_HZ, HIGHEST_A4_HZ) / 440.0).log2()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reference_is_held_in_its_range() {
        for (asked, held) in [(400.0, 430.0), (f32::NAN, 440.0), (470.0, 450.0)] {
            let a4_hz = Tuning::new(Reference::Hand(asked)).a4_hz();
            assert!((a4_hz - held).abs() < 0.01, "{asked}: {a4_hz}");
        }
    }

    #[test]
    fn a_measured_reference_settles_on_what_is_heard() {
        let mut tuning = Tuning::new(Reference::Measured);
        let truth = cents_of(434.0);
        for _ in 0..40 {
            tuning.hear(truth - tuning.shift_cents());
        }
        assert!((tuning.a4_hz() - 434.0).abs() < 0.3);
    }
}
