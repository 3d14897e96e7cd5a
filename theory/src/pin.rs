//! Voicings that a player has chosen for a chord, and that are pinned there: read by degree from
//! notes, checked, held against a chord that has been edited, and transposed. Nothing is forbidden;
//! what is wrong is told. Imports `candidates`, `own_shape` and what is above them.

mod by_degree;
mod check;
mod fit;
mod transposed;

pub(crate) use by_degree::named;
pub use by_degree::{NotesError, by_degree};
pub use check::{Edge, Verdict, check, verdicts};
pub(crate) use check::{keeps_root, minor_ninths};
pub use fit::{Misfit, fits, still_fits};
pub use transposed::transposed;
