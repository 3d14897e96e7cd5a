//! A headless CLAP host, and what tests need around it.
//!
//! [`paths`] gives the path of the built plugin, [`Library`] loads it, [`Host`] runs an instance, a
//! [`Session`] describes what happens to it, and [`render`] turns that into a [`Performance`].
//! [`notes`] checks a performance, [`wav`] and [`smf`] write it to files. A [`Generator`] makes
//! random events.
//!
//! ```no_run
//! use guidehand_tests::{Host, Session, notes, paths, render};
//!
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! let mut host = Host::open(&paths::passthrough_path(), "org.guidehand.passthrough")?;
//! let mut session = Session::new(48_000.0, 120.0, 96_000);
//! session.note(0, 24_000, 60).note(24_000, 48_000, 64);
//! let performance = render(&mut host, &session)?;
//! assert_eq!(notes::note_pairs(&performance.events)?.len(), 2);
//! # Ok(())
//! # }
//! ```
//!
//! Only tests, benchmarks and the project's commands import this crate. It imports the theory, the
//! exchange of files, practice and the reports, but not the plugin: the plugin is known only from outside, as
//! the file that users get.

mod call;
pub mod comp;
pub mod error;
pub mod event;
pub mod expected;
pub mod generator;
pub mod golden;
pub mod guide;
mod handlers;
pub mod host;
pub mod hostile;
pub mod library;
pub mod notes;
pub mod parameters;
pub mod params;
#[cfg(target_os = "linux")]
pub mod parent;
pub mod paths;
#[cfg(target_os = "linux")]
pub mod picture;
pub mod play;
pub mod ports;
pub mod practice;
pub mod raw;
pub mod resizing;
#[cfg(target_os = "linux")]
pub mod scene;
#[cfg(target_os = "linux")]
pub mod screen;
pub mod session;
pub mod smf;
pub mod soak;
pub mod song;
pub mod state;
pub mod threads;
mod translate;
pub mod transport;
pub mod vst3;
pub mod wav;
#[cfg(target_os = "linux")]
pub mod window;

pub use error::HostError;
pub use event::{Event, TimedEvent};
pub use generator::{Generator, Manners};
pub use handlers::Requests;
pub use host::{Block, Host};
pub use library::Library;
pub use notes::{hanging, note_pairs};
pub use session::{BlockSizes, Performance, Player, Session, render};
pub use song::{LoopWay, Telling};
pub use transport::{Signature, Transport, TransportChange};
