//! Answers are judged by degree, slot by slot.

#[path = "judge/asked.rs"]
mod asked;
#[path = "judge/rows.rs"]
mod rows;
