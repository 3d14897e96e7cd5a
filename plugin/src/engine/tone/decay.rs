//! Exponential decay. Imports nothing; imported by the other files of `tone`.

/// The factor for one sample that makes a level fall by 60 dB over so many samples.
pub(super) fn fall_by_60_db(samples: f32) -> f32 {
    (-1000.0_f32.ln() / samples).exp()
}
