//! The ways in from hosts that stand before the framework's own: what a host passes is made such as
//! the framework can read it. Imports `plugin`; only `lib` imports it.

pub mod vst3;
