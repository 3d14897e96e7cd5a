//! What the commands `comp`, `read`, `dress`, `judge` and `import` report: the rows that they print
//! as JSON for other programs and as tables for people, and the functions that fill them from the
//! theory.
//!
//! The JSON is a contract: fields may be added, none changes its name or meaning. Each field is
//! documented where it is defined, in [`performance`], [`reading`], [`dressing`], [`judging`],
//! [`homework`] and [`importing`], and for users in `plugin/guide/json.md`.
//!
//! Nothing here knows a plugin, a host or a test. A command hands in the note events that it
//! collected; the chords are those that the theory plans for the [`request`]. Whether the two
//! agree is checked elsewhere.
//!
//! ```
//! use guidehand_report::{performance::Report, planned, request::Request};
//!
//! let request = Request::new("| Dm7 | G7 | Cmaj7 |");
//! let chart = request.read().unwrap();
//! let chords = planned::of_chart(&request, &chart);
//! let report = Report::new(&chords, Vec::new());
//! assert_eq!(report.chords[1].sounding, "G13");
//! ```

#![forbid(unsafe_code)]

pub mod dressing;
pub mod homework;
pub mod importing;
pub mod judging;
mod notes;
pub mod performance;
pub mod planned;
pub mod reading;
pub mod request;
pub mod sung;
mod table;
pub mod tensions;
