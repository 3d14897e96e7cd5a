//! The stream of events.
#![no_main]

use guidehand_tests::hostile;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| hostile::events(guidehand_fuzz::plugin(), bytes));
