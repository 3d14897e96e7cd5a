//! The plugin, linked into the targets so that they see which parts of its code the bytes reach.
//! Only with the feature `plugin`.

#![cfg(feature = "plugin")]

use guidehand_tests::Library;

// The crate is used only for its entry.
extern crate guidehand as _;

mod entry {
    use clack_host::entry::EntryDescriptor;

    unsafe extern "C" {
        #[link_name = "clap_entry"]
        pub static CLAP_ENTRY: EntryDescriptor;
    }
}

thread_local! {
    static LIBRARY: &'static Library = Box::leak(Box::new(open()));
}

fn open() -> Library {
    // SAFETY: the symbol is the plugin's own, a constant of this type, and the
    // framework that exports it keeps to CLAP.
    let library = unsafe { Library::linked(&entry::CLAP_ENTRY) };
    library.unwrap_or_else(|error| panic!("{error}"))
}

/// The linked plugin.
#[must_use]
pub fn plugin() -> &'static Library {
    LIBRARY.with(|library| *library)
}
