//! How much a chart can hold. Imports nothing; the folder of `chart` imports it.

/// The longest chart text, in bytes.
pub const LONGEST_TEXT: usize = 256 * 1024;

/// The most changes in a chart as played. `%` and repeats make many changes from a short text.
pub const MOST_CHANGES: usize = 20_000;

/// The most bars in a chart as played.
pub const MOST_BARS: usize = 20_000;

/// The most chords in a bar, with slashes and silence.
pub const MOST_SHARES: usize = 16;

/// The most endings of a repeat.
pub const MOST_ENDINGS: u8 = 9;

/// The most times that a repeat is played.
pub const MOST_TIMES: u8 = 99;

/// The most D.C. and D.S. in a chart.
pub const MOST_JUMPS: usize = 9;
