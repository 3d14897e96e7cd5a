//! Chords under a melody: worked examples, laws over the whole domain, what a played melody gets, and
//! the planner against an exhaustive search.

mod domain;

#[path = "under/by_hand.rs"]
mod by_hand;
#[path = "under/laws.rs"]
mod laws;
#[path = "under/played.rs"]
mod played;
#[path = "under/search.rs"]
mod search;
