//! Audio as a file to listen to. Imports no other module.

use hound::{SampleFormat, WavSpec, WavWriter};
use std::io::Cursor;

/// Stereo audio as a WAV file of 32-bit floats, so that no value is clipped or rounded. The shorter
/// channel ends in silence.
///
/// # Errors
/// The file would exceed 4 GB.
pub fn bytes(sample_rate_hz: u32, left: &[f32], right: &[f32]) -> Result<Vec<u8>, hound::Error> {
    let spec = WavSpec {
        channels: 2,
        sample_rate: sample_rate_hz,
        bits_per_sample: 32,
        sample_format: SampleFormat::Float,
    };
    let mut file = Cursor::new(Vec::new());
    let mut writer = WavWriter::new(&mut file, spec)?;
    for index in 0..left.len().max(right.len()) {
        for channel in [left, right] {
            writer.write_sample(channel.get(index).copied().unwrap_or(0.0))?;
        }
    }
    writer.finalize()?;
    Ok(file.into_inner())
}
