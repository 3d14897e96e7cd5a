//! The record of practice, and what a project saves of practice.
#![no_main]

use guidehand_tests::hostile;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| hostile::practice(bytes));
