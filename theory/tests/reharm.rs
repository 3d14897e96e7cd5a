//! Other harmonies, compared with their definitions, in all keys.

#[path = "reharm/blues.rs"]
mod blues;
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
#[path = "reharm/meters.rs"]
mod meters;
#[path = "reharm/places.rs"]
mod places;
#[path = "reharm/reasons.rs"]
mod reasons;
#[path = "reharm/runs.rs"]
mod runs;
#[path = "reharm/spelling.rs"]
mod spelling;
#[path = "reharm/steps.rs"]
mod steps;

#[path = "data/mod.rs"]
mod data;
