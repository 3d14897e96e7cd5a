//! Opens a Standard MIDI File: its division, its format and its tracks, and the bounds that every
//! reader keeps. Imports nothing of the crate.

use midly::{Format, Timing, TrackIter};

/// The most events in a file.
pub const MOST_EVENTS: usize = 500_000;
/// The most tracks in a file.
pub const MOST_TRACKS: usize = 1_000;
/// Drums are on channel 10.
pub const DRUMS: u8 = 9;
/// What is told of a file of format 2.
pub const SEQUENTIAL: &str =
    "the tracks are pieces of their own, and are read on top of each other";

/// A file that counts in beats.
pub struct Opened<'a> {
    /// The file's ticks in a quarter note, at least 1.
    pub quarter: u64,
    /// Whether the tracks are pieces of their own (format 2).
    pub is_sequential: bool,
    /// The tracks.
    pub tracks: TrackIter<'a>,
}

/// Opens a file.
///
/// # Errors
/// Why it cannot be read: it is broken, or it counts in seconds.
pub fn open(bytes: &[u8]) -> Result<Opened<'_>, String> {
    let in_seconds = || "it counts in seconds; expected one that counts in beats".to_owned();
    if bytes.windows(13).any(counts_128_frames) {
        return Err(in_seconds());
    }
    let (header, tracks) = midly::parse(bytes).map_err(|error| error.to_string())?;
    let Timing::Metrical(quarter) = header.timing else {
        return Err(in_seconds());
    };
    Ok(Opened {
        quarter: u64::from(quarter.as_int().max(1)),
        is_sequential: header.format == Format::Sequential,
        tracks,
    })
}

/// Whether a header counts 128 frames in a second, which no file may do. midly 0.5.3 negates the
/// number before it checks it, and overflows.
fn counts_128_frames(header: &[u8]) -> bool {
    matches!(header, [b'M', b'T', b'h', b'd', .., 0x80])
}
