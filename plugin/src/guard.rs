//! The last line of defence: a panic in the plugin must not end the host. None is known, and
//! lints and tests keep it so. Runs on every thread; everything may import it. Imports
//! nothing of the crate.

use std::panic::{self, AssertUnwindSafe};

/// Runs some work, and returns nothing if it panics. Whatever the work was changing may then be
/// half done, and has to be replaced.
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
