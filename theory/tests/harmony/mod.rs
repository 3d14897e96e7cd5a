//! How well the program hears harmony, and how far its hand moves: what the test
//! `harmony` asserts and the benchmark `harmony` prints. The corpus is annotated by hand
//! (common practice, no published source).

#![allow(dead_code, reason = "the test and the benchmark use parts of it")]

pub mod corpus;
pub mod measure;
pub mod motion;
pub mod words;

/// One count over another.
pub fn ratio(part: usize, whole: usize) -> f64 {
    let float = |count| f64::from(u32::try_from(count).expect("few"));
    float(part) / float(whole)
}
