//! Audio as a file to listen to. Imports no other module.

use hound::{SampleFormat, WavSpec, WavWriter};
use std::path::Path;

/// Writes stereo audio as a WAV file of 32-bit floats, so that no value is
/// clipped or rounded. The shorter channel ends in silence.
///
/// # Errors
/// The error of the file system, or that the file would exceed 4 GB.
pub fn write(
    path: &Path,
    sample_rate_hz: u32,
    left: &[f32],
    right: &[f32],
) -> Result<(), hound::Error> {
    let spec = WavSpec {
        channels: 2,
        sample_rate: sample_rate_hz,
        bits_per_sample: 32,
        sample_format: SampleFormat::Float,
    };
    let mut writer = WavWriter::create(path, spec)?;
    for index in 0..left.len().max(right.len()) {
        for channel in [left, right] {
            writer.write_sample(channel.get(index).copied().unwrap_or(0.0))?;
        }
    }
    writer.finalize()
}
