//! The integration tests, one module for each subject. They play built plugins
//! in the headless host; `cargo xtask test` builds them and says where they lie.

mod comp;
mod crash;
mod files;
mod generator;
mod golden;
mod host;
mod notes;
mod plugin;
mod plugin_chart;
mod plugin_clock;
mod plugin_hand;
mod plugin_harmonies;
mod plugin_moments;
mod plugin_parameters;
mod plugin_passing;
mod plugin_played;
mod plugin_rhythm;
mod plugin_roots;
mod plugin_rude;
mod plugin_state;
mod plugin_tone;
mod plugin_touch;
mod plugin_words;
mod session;
mod structure;
#[cfg(target_os = "linux")]
mod window;
