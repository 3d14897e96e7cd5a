//! The integration tests, one module for each subject. They play built plugins
//! in the headless host; `cargo xtask test` builds them and says where they lie.

mod crash;
mod files;
mod generator;
mod host;
mod notes;
mod session;
