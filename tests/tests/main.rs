//! The integration tests, one module for each subject. They play built plugins
//! in the headless host; `cargo xtask test` builds them and says where they lie.

mod comp;
mod conformance;
mod crash;
mod files;
mod generator;
mod golden;
mod guide;
mod host;
mod hostile;
mod notes;
mod pedalboard;
mod plugin;
mod plugin_bass;
mod plugin_bass_places;
mod plugin_chart;
mod plugin_clock;
mod plugin_hand;
mod plugin_harmonies;
mod plugin_loops;
mod plugin_moments;
mod plugin_own_voicings;
mod plugin_parameters;
mod plugin_passing;
mod plugin_pins;
mod plugin_played;
mod plugin_practice;
mod plugin_requests;
mod plugin_rhythm;
mod plugin_roots;
mod plugin_soak;
mod plugin_state;
mod plugin_state_limits;
mod plugin_state_versions;
mod plugin_tone;
mod plugin_touch;
mod plugin_words;
mod readme;
mod session;
mod source;
#[cfg(target_os = "linux")]
mod standalone;
#[cfg(target_os = "linux")]
mod standalone_jack;
mod structure;
mod vst3;
mod vst3_buses;
mod vst3_events;
mod vst3_life;
mod vst3_params;
mod vst3_rude;
mod vst3_state;
#[cfg(target_os = "linux")]
mod window;
