//! Keeps the plugin in memory once it is loaded: threads that have used it may
//! end, and run destructors that live in it, after a host has let go of it.

fn main() {
    println!("cargo::rerun-if-changed=build.rs");
    if std::env::var("CARGO_CFG_TARGET_OS").as_deref() == Ok("linux") {
        println!("cargo::rustc-cdylib-link-arg=-Wl,-z,nodelete");
    }
}
