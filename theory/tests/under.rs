//! Chords under a melody: worked examples, laws over the whole domain, the planner against an
//! exhaustive search.

mod domain;

#[path = "under/by_hand.rs"]
mod by_hand;
