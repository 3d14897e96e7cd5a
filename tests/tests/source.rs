//! Reads the sources of a crate and finds what each of its files names: items of other
//! files, and other crates. `structure` and `hostile` judge what is found.

mod attributes;
mod code;
mod files;
mod krate;
mod load;
mod macros;
mod modules;
mod names;
mod repository;
mod resolve;
mod tokens;
mod uses;

pub use files::Sources;
pub use krate::{Crate, Import};
pub use repository::read;
