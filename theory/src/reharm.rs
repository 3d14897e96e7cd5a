//! Other harmonies for an arranger: substitutions for a chord or a run of chords, each with its
//! reason and its distance from what was written, and whole charts that are dressed up bar by
//! bar. Imports `key`, `scale`, `tension`, `symbol` and what is above them.

mod altered;
mod approach;
mod backdoor;
mod blues;
mod chain;
mod cliche;
mod deceptive;
mod diminished;
mod divide;
mod dress;
mod fit;
mod grid;
mod interchange;
mod interval;
mod measure;
mod melody;
mod name;
mod pedal;
mod proposal;
mod proposals;
mod rank;
mod reason;
mod related;
mod relative;
mod run;
mod secondary;
mod sideslip;
mod span;
mod substitution;
mod sus;
mod thirds;
mod tritone;
mod turnaround;

pub use dress::{Dress, DressedBar, dress};
pub use grid::{Bars, Grid};
pub use name::{Name, Turnaround};
pub use proposal::{Clash, Offers, Proposal};
pub use proposals::{analyse, apply, proposals};
pub use rank::{Part, Rank};
pub use reason::{ClashingNote, Fall, Lender, Reason};
pub use span::{Note, Span, TimedChord};
pub use substitution::Substitution;
