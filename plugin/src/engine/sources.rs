//! The sources of chords, one file each: what is played below the split, the chart, a bass, practice. A source
//! turns events and time into intents; it neither holds notes nor sends events. Runs on the audio
//! thread. Imports the parts of the engine; only `performer` imports it.
//!
//! A new source is a file here, a variant of `Source`, and two lines below: a field and an arm.

mod bass;
mod chart;
mod gesture;
mod played;
pub mod practice;
mod roots;
mod source;

pub use source::ChordSource;

/// All sources. Only the one in force is asked; the others are as they were left.
#[derive(Debug, Default)]
pub struct Sources {
    pub roots: roots::RootSource,
    pub chart: chart::ChartSource,
    pub played: played::PlayedSource,
    pub bass: bass::BassSource,
    pub practice: practice::PracticeSource,
}

/// Asks the source in force. A table rather than a trait object, so that the compiler sees through
/// every call.
macro_rules! ask {
    ($sources:expr, $source:expr, $($question:tt)+) => {
        match $source {
            Source::Roots => $sources.roots.$($question)+,
            Source::Chart => $sources.chart.$($question)+,
            Source::Reading => $sources.played.$($question)+,
            Source::Bass => $sources.bass.$($question)+,
            Source::Practice => $sources.practice.$($question)+,
        }
    };
}
pub(super) use ask;

#[cfg(test)]
mod tests;
