//! What the open panel costs: the share of a core that the process takes, with the real editor on
//! a virtual screen, drawn in software. A chart plays at its own speed with the audition tone and
//! without it, then nothing moves. Each part is played with the panel closed as well; what is left
//! is the panel's. Words on the command line choose the parts whose names contain one of them.
//! Linux only.
//!
//! It counts processor time of all threads of the process, Mesa's too, so that other work on the
//! machine hardly matters. The screen's server is another process.

#[cfg(target_os = "linux")]
#[path = "panel/linux.rs"]
mod linux;

fn main() {
    #[cfg(target_os = "linux")]
    linux::main();
    #[cfg(not(target_os = "linux"))]
    println!("the panel is measured on Linux only");
}
