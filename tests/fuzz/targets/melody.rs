//! The text of a melody.
#![no_main]

use guidehand_tests::hostile;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| hostile::melody(bytes));
