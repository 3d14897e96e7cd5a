//! The price of one frame of the panel at its first size: layout and tessellation,
//! without the graphics driver. The goal is less than 2 ms.

use guidehand::Frames;

fn main() {
    divan::main();
}

/// A frame in which another chord sounds than in the one before.
#[divan::bench]
fn frame_with_a_new_chord(bencher: divan::Bencher) {
    let mut frames = Frames::default();
    // Fonts and layouts that stay are made in the first frames.
    for _ in 0..40 {
        divan::black_box(frames.next_frame());
    }
    bencher.bench_local(|| frames.next_frame());
}
