//! The price of one frame of the panel at the first size of each view: layout and tessellation,
//! without the graphics driver. The goal is less than 2 ms.

use guidehand::Frames;

fn main() {
    divan::main();
}

/// A frame in which another chord sounds than in the one before.
#[divan::bench]
fn frame_with_a_new_chord(bencher: divan::Bencher) {
    price(bencher, Frames::default());
}

/// The same in the small view.
#[divan::bench]
fn frame_with_a_new_chord_in_the_small_view(bencher: divan::Bencher) {
    price(bencher, Frames::small());
}

/// The same with a melody over every chord, and a chord under the melody.
#[divan::bench]
fn frame_with_a_new_chord_under_a_melody(bencher: divan::Bencher) {
    price(bencher, Frames::under_melody());
}

fn price(bencher: divan::Bencher, mut frames: Frames) {
    // Fonts and layouts that stay are made in the first frames.
    for _ in 0..40 {
        divan::black_box(frames.next_frame());
    }
    bencher.bench_local(|| frames.next_frame());
}
