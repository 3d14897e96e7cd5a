//! The worst that there is to show, on every page, in every view, at the smallest size, at the first
//! one and at a large one: nothing is cut off, covered or too small to read.

use super::{PAGES, check};
use crate::editor::bench::{Bench, set, sounding};
use crate::params::{
    NinthParam, PanelView, RhythmParam, SavedPanel, SourceParam, TextureParam, ThirteenthParam,
};
use guidehand_theory::pipeline::Taste;
use guidehand_theory::shape::Texture;
use std::fmt::Write;

/// Symbols with all that a symbol can have, over roots with two signs.
const LONG: &str = "| Gb7(b9,#9,#11,b13)/Db | Cbmaj13#11/Fb | B#m7b5 | E#7(b9,#9,#11,b13) |\n\
                    | Abm(maj7)/Cb | D#dim7/F# | C6/9#11 | F##m11 |\n\
                    | Dm7 / G7 C#13sus4(b9) | N.C. | Ebm9b5 | G7b9b13 |";

/// Five lines, each with something wrong.
const WRONG: &str =
    "| H7 | Am7x | C$ |\n| Dm7 G7 / | |\n| [3 C | D:| |\n| 5/0 C6 | Dmoll |\n| C7(b9 |";

fn thousand_bars() -> String {
    let mut text = String::new();
    for line in 0..250 {
        let letter = char::from(b'A' + u8::try_from(line % 26).unwrap());
        let _infallible = writeln!(
            text,
            "[{letter}] | Gb7#9b13/Db C#m7b5 | F#maj13#11 | Ebm(maj7) | D7alt |"
        );
    }
    text
}

fn sizes(panel: &SavedPanel) -> [[f32; 2]; 3] {
    [panel.smallest(), panel.first_size(), [1600.0, 1000.0]]
}

#[test]
fn every_page_has_room_for_the_worst() {
    let bars = thousand_bars();
    for text in [LONG, WRONG, &bars] {
        let mut bench = Bench::new();
        let params = bench.params();
        params.chart.set_text(text);
        set(&params.source, SourceParam::Chart);
        set(&params.rhythm, RhythmParam::Drawn);
        set(&params.ninth, NinthParam::Sharp9);
        set(&params.thirteenth, ThirteenthParam::Flat13);
        set(&params.texture, TextureParam::TwoHands);
        let taste = Taste {
            texture: Texture::TwoHands,
            ..Taste::default()
        };
        let chords = sounding(LONG, &taste);
        for large_print in [false, true] {
            let panel = SavedPanel {
                large_print,
                ..SavedPanel::default()
            };
            for size in sizes(&panel) {
                bench.load_panel(panel.sized(size));
                bench.resize(size);
                for (page, chord) in PAGES.iter().zip(chords.iter().cycle()) {
                    bench.show(*chord);
                    bench.click(page);
                    check(&bench.settle(), size);
                }
            }
        }
    }
}

#[test]
fn the_small_view_has_room_for_the_worst() {
    for texture in Texture::ALL {
        let mut bench = Bench::new();
        let params = bench.params();
        set(&params.source, SourceParam::Chart);
        // The widest register.
        set(&params.lowest, 36);
        set(&params.highest, 96);
        let taste = Taste {
            texture,
            register: params.settings().taste.register,
            ..Taste::default()
        };
        for large_print in [false, true] {
            let panel = SavedPanel {
                view: PanelView::Small,
                large_print,
                ..SavedPanel::default()
            };
            for size in sizes(&panel) {
                bench.load_panel(panel.sized(size));
                bench.resize(size);
                for chord in sounding(LONG, &taste) {
                    bench.show(chord);
                    check(&bench.settle(), size);
                }
            }
        }
    }
}
