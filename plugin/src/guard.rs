//! The last line of defence: a panic of ours must not take the host down. None is
//! known; the lints and the tests are there to keep it so. Imports nothing of the
//! crate.

use std::panic::{self, AssertUnwindSafe};

/// Runs something, and comes back with nothing if it panics. What it was working on
/// has to be made fresh then.
pub fn guarded<T>(work: impl FnOnce() -> T) -> Option<T> {
    panic::catch_unwind(AssertUnwindSafe(work)).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_panic_comes_back_as_nothing() {
        let none = Vec::<u8>::new();
        assert_eq!(guarded(|| none.len()), Some(0));
        assert_eq!(guarded(|| none[none.len()]), None);
    }
}
