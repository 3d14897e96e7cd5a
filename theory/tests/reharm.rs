//! Other harmonies, compared with their definitions, in all keys.

#[path = "reharm/common.rs"]
mod common;
#[path = "reharm/dressing.rs"]
mod dressing;
#[path = "reharm/families.rs"]
mod families;
#[path = "reharm/laws.rs"]
mod laws;
#[path = "reharm/melodies.rs"]
mod melodies;
#[path = "reharm/runs.rs"]
mod runs;
