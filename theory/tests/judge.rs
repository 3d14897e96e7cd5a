//! Answers are judged by degree, slot by slot.

#[path = "judge/asked.rs"]
mod asked;
#[path = "judge/laws.rs"]
mod laws;
#[path = "judge/motion.rs"]
mod motion;
#[path = "judge/planted.rs"]
mod planted;
#[path = "judge/rows.rs"]
mod rows;
