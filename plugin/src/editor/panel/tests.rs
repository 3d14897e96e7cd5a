//! The panel laid out without a window: that every character has a glyph, and that
//! nothing is cut off or covered.

mod alone;
mod hands;
mod in_hand;
mod laid;
mod own;
mod right_hand;
pub mod whole;
mod worst;
mod written;

use super::*;
use crate::bridge::chart::Depth;
use crate::editor::bench::{Bench, Seen, set, sounding};
use crate::editor::view;
use crate::engine::bass_input::BassMeter;
use crate::engine::snapshot::{BassReading, Snapshot};
use crate::params::{
    PANEL_SIZE, PanelView, RhythmParam, SMALLEST_PANEL, SavedPanel, SourceParam, interval,
};
use egui::{Context, Pos2, Rangef, RawInput};
use egui_kittest::kittest::NodeT;
use guidehand_bass::roots::Standing;
use guidehand_theory::candidates::Hand;
use guidehand_theory::degree::Degree;
use guidehand_theory::pipeline::Taste;
use guidehand_theory::pitch::{MidiNote, NoteName};
use guidehand_theory::quality::{Extent, TABLE};
use guidehand_theory::scale;
use guidehand_theory::shape::Texture;
use guidehand_theory::symbol;
use std::collections::BTreeSet;

/// The pages by their names, in their order.
const PAGES: [&str; 10] = [
    "The chart's page",
    "Chord in hand",
    "Voicing and hand",
    "Reharmonise",
    "Rhythm and feel",
    "The melody",
    "The bass",
    "Practice",
    "Files",
    "Sound",
];

const LONG: &str = "| F#m7b5/C | B7b9b13 | Gbmaj13#11/Db | Ebm(maj7) | Ab13sus4 | G7alt | \
                    Db7#9b13 | Gb7b9#11 | Cbmaj7 | C#dim7 | Caug | D/A | N.C. | Bb6/9 | E5 | Asus2 |";

/// All that can be printed has a glyph in the font that prints it.
#[test]
fn every_character_has_a_glyph() {
    let mut characters: BTreeSet<char> = (' '..='~').collect();
    let mut take = |words: &str| characters.extend(words.chars());
    for row in &TABLE {
        for extent in [
            Extent::Plain,
            Extent::Ninth,
            Extent::Eleventh,
            Extent::Thirteenth,
        ] {
            for fifths in -8..=10 {
                let root = NoteName::from_fifths(fifths);
                let mut chord = guidehand_theory::chord::Chord::new(root, row.quality)
                    .extended(extent)
                    .with(&Degree::ALL);
                chord.bass = Some(root);
                chord.omitted = row.degrees.iter().copied().collect();
                take(&view::symbol(&chord));
            }
        }
        // What is typed in a symbol can come back in an error.
        row.aliases.iter().for_each(|alias| take(alias));
    }
    for degree in Degree::ALL {
        for fifths in -8..=10 {
            take(&view::note_name(degree.over(NoteName::from_fifths(fifths))));
        }
        take(&view::signs::degree_name(degree));
    }
    for scale in scale::all() {
        take(&view::with_signs(scale.name));
        scale
            .also
            .iter()
            .for_each(|name| take(&view::with_signs(name)));
    }
    for note in 0..=127 {
        take(&view::key_name(MidiNote::clamp(note)));
    }
    let ctx = Context::default();
    theme::install(&ctx);
    ctx.run_ui(RawInput::default(), |ui| {
        for font in [theme::text(12.0), theme::bold(12.0), theme::mono(12.0)] {
            for character in &characters {
                let has = ui.fonts_mut(|fonts| fonts.has_glyph(&font, *character));
                assert!(has, "{character:?} in {:?}", font.family);
            }
        }
        let odd = ui.fonts_mut(|fonts| fonts.has_glyph(&theme::text(12.0), '\u{1d100}'));
        assert!(!odd, "the check can fail");
    })
    .drop_without_applying_deltas();
}

/// Choices are told by their place: the words stand in the order of the parameter.
#[test]
fn each_choice_has_the_word_of_its_own() {
    use crate::editor::model::parameters::ParameterId::{self, *};
    let bench = Bench::new();
    let controls = crate::editor::window::parameters::controls(&bench.params());
    let tables: [(ParameterId, &[&str]); 12] = [
        (Source, &header::SOURCES),
        (Ninth, &tensions::NINTHS),
        (Eleventh, &tensions::ELEVENTHS),
        (Thirteenth, &tensions::THIRTEENTHS),
        (PlainNinth, &voicing::NINTHS),
        (MinorEleventh, &voicing::MINOR_ELEVENTHS),
        (MajorEleventh, &voicing::MAJOR_ELEVENTHS),
        (MajorTonic, &voicing::MAJOR_TONICS),
        (MinorTonic, &voicing::MINOR_TONICS),
        (BassBy, &bass::FOLLOWS),
        (Yield, &melody::YIELDS),
        (Under, &melody::UNDER),
    ];
    for (id, words) in tables {
        let names = controls.of(id).choices;
        assert_eq!(names.len(), words.len(), "{id:?}");
        for (name, word) in names.iter().zip(words) {
            let (name, word) = (view::with_signs(name).to_lowercase(), word.to_lowercase());
            assert!(word.ends_with(&name), "{id:?}: {word} for {name}");
        }
    }
}

#[test]
fn nothing_is_cut_off_or_covered() {
    let mut bench = Bench::new();
    let params = bench.params();
    let mut snapshots = vec![Snapshot::default()];
    for texture in Texture::ALL {
        let taste = Taste {
            texture,
            ..Taste::default()
        };
        snapshots.extend(sounding(LONG, &taste));
    }
    // The smallest size is the tightest: every chord there, some elsewhere.
    for (size, every) in [(SMALLEST_PANEL, 1), (PANEL_SIZE, 9), ([1400.0, 900.0], 9)] {
        bench.resize(size);
        for (source, rhythm) in [
            (SourceParam::Roots, RhythmParam::LateCharleston),
            (SourceParam::Chart, RhythmParam::Drawn),
        ] {
            set(&params.source, source);
            set(&params.rhythm, rhythm);
            for snapshot in snapshots.iter().step_by(every) {
                bench.show(*snapshot);
                let seen = bench.settle();
                check(&seen, size);
            }
        }
    }
}

/// The small view, and large print in both views: every chord there too.
#[test]
fn nothing_is_cut_off_or_covered_in_other_views() {
    let mut bench = Bench::new();
    let params = bench.params();
    set(&params.source, SourceParam::Chart);
    let mut snapshots = vec![Snapshot::default()];
    snapshots.extend(sounding(LONG, &Taste::default()));
    for (view, large_print) in [
        (PanelView::Small, false),
        (PanelView::Small, true),
        (PanelView::Full, true),
    ] {
        let panel = SavedPanel {
            view,
            large_print,
            ..SavedPanel::default()
        };
        let smallest = panel.smallest();
        let wide = [smallest[0] * 1.7, smallest[1] * 1.1];
        let high = [smallest[0] * 1.1, smallest[1] * 1.5];
        for size in [smallest, panel.first_size(), wide, high] {
            bench.load_panel(panel.sized(size));
            bench.resize(size);
            for snapshot in &snapshots {
                bench.show(*snapshot);
                check(&bench.settle(), size);
            }
        }
    }
}

#[test]
fn the_bass_has_room_for_all_it_can_say() {
    let mut bench = Bench::new();
    let params = bench.params();
    set(&params.source, SourceParam::Bass);
    bench.harness.state().audio.bass.store(&BassMeter {
        note: Some(34),
        cents: -38.0,
        confidence: 1.0,
        ..BassMeter::default()
    });
    let chord = symbol::parse("Gb7(b9,#9,#11,b13)/Db").ok();
    let charted = |standing| BassReading::Charted {
        standing,
        chord,
        root: false,
        shift_bars: -64,
        confidence: 1.0,
    };
    let confidence = 0.7;
    let makings = [
        charted(Standing::Early),
        charted(Standing::Late),
        charted(Standing::Lost),
        BassReading::Rooted { chord, confidence },
        BassReading::Waiting,
    ];
    for (size, measured) in [
        (SMALLEST_PANEL, true),
        (SMALLEST_PANEL, false),
        (PANEL_SIZE, true),
    ] {
        bench.resize(size);
        set(&params.bass_tunes, measured);
        for bass in makings {
            bench.show(Snapshot {
                bass,
                ..Snapshot::default()
            });
            let seen = bench.settle();
            assert!(seen.iter().any(|seen| seen.words == "Heard as"));
            check(&seen, size);
        }
    }
    set(&params.source, SourceParam::Roots);
    bench.show(Snapshot::default());
    let seen = bench.settle();
    assert!(!seen.iter().any(|seen| seen.words == "Heard as"));
}

#[test]
fn voicing_and_hand_have_room_for_every_word() {
    for size in [SMALLEST_PANEL, PANEL_SIZE] {
        for rhythm in [RhythmParam::Hold, RhythmParam::Drawn] {
            let mut bench = Bench::new();
            let params = bench.params();
            set(&params.rhythm, rhythm);
            bench.resize(size);
            bench.settle();
            bench.click("Voicing and hand");
            for semitones in Hand::NARROWEST..=Hand::WIDEST {
                set(&params.hand_at_ease, semitones.into());
                set(&params.hand_at_most, semitones.into());
                let seen = bench.settle();
                let span = interval(semitones.into());
                let spans = seen.iter().filter(|seen| seen.words == span);
                assert_eq!(spans.count(), 2, "{span}");
                check(&seen, size);
            }
            let last = bench.control("Eleventh on major chords: none").rect();
            assert!(last.bottom() <= size[1] - MARGIN.y, "{last:?}");
        }
    }
}

#[test]
fn the_charts_heading_has_room_for_what_it_says() {
    let mut bench = Bench::new();
    bench.resize(SMALLEST_PANEL);
    let bars = "| C6 | 7/8 F6 | 4/4 G7 ".repeat(12);
    for text in ["| H7 |", &bars] {
        bench.params().chart.set_text(text);
        bench.show(Snapshot {
            beat_ticks: Some(0),
            change: Some(0),
            ..Snapshot::default()
        });
        check(&bench.settle(), SMALLEST_PANEL);
    }
}

#[test]
fn the_charts_heading_has_room_for_what_a_text_waits_for() {
    let mut bench = Bench::new();
    bench.resize(SMALLEST_PANEL);
    let chart = &bench.params().chart;
    set(&bench.params().source, SourceParam::Chart);
    chart.on_edit(|| true);
    let work = chart.work();
    let bars = format!("Pickup C6 {}", "| 4/4 C6 | 7/8 F6 | 4/4 G7 ".repeat(4));
    for text in ["| C6 |", &bars] {
        chart.type_text(text);
        while work.step(Depth::All) {}
        let seen = bench.settle();
        let waits = |seen: &[Seen], words| seen.iter().any(|seen| seen.words == words);
        assert!(waits(&seen, "plays after a pause or Enter"));
        check(&seen, SMALLEST_PANEL);
        chart.settle();
        bench.show(Snapshot {
            playing: true,
            song: Some(1),
            ..Snapshot::default()
        });
        let seen = bench.settle();
        assert!(waits(&seen, "plays from the next bar line"));
        check(&seen, SMALLEST_PANEL);
    }
}

#[test]
fn the_names_of_all_pages_have_room_beside_the_original() {
    for source in [SourceParam::Chart, SourceParam::Bass] {
        let mut bench = Bench::new();
        let params = bench.params();
        set(&params.source, source);
        params.chart.try_out(Some("| Dm7 | Db7 |"));
        params.chart.keep();
        bench.resize(SMALLEST_PANEL);
        check(&bench.settle(), SMALLEST_PANEL);
        let names = PAGES.iter().chain(&["Bring back the original"]);
        let names: Vec<&str> = names.copied().collect();
        let places: Vec<Rect> = names
            .iter()
            .map(|name| bench.control(name).rect())
            .collect();
        for (i, place) in places.iter().enumerate() {
            for (j, other) in places.iter().enumerate().skip(i + 1) {
                let both = place.intersect(*other).shrink(1.0);
                assert!(!both.is_positive(), "{} over {}", names[i], names[j]);
            }
        }
    }
}

/// The name of what has the focus.
pub fn focused(bench: &Bench) -> Option<String> {
    let mut nodes = bench.harness.root().children_recursive();
    nodes
        .find(|node| node.is_focused())?
        .accesskit_node()
        .label()
}

/// No text is smaller at 100 %, in points.
const LEAST: f32 = 11.0;

/// Texts lie in the window and in what they are clipped to, whole, and apart.
pub fn check(seen: &[Seen], size: [f32; 2]) {
    let window = Rect::from_min_size(Pos2::ZERO, size.into()).expand(0.5);
    for (i, one) in seen.iter().enumerate() {
        assert!(!one.elided, "cut short at {size:?}: {one:?}");
        assert!(one.size >= LEAST, "too small at {size:?}: {one:?}");
        // What scrolls may be cut at the top and at the bottom: its rows in view count.
        let scrolls = one.clip.height() < size[1] - 1.0;
        let in_view = |row: &&Rect| scrolls && row.y_range().intersects(one.clip.y_range());
        let mut places: Vec<Rect> = one.rows.iter().filter(in_view).copied().collect();
        let mut clip = Rect::from_x_y_ranges(one.clip.x_range(), Rangef::EVERYTHING);
        if !scrolls {
            places = vec![one.rect];
            clip = one.clip.intersect(window);
        }
        for place in places {
            let inside = clip.expand(0.5).contains_rect(place);
            assert!(inside, "clipped at {size:?}: {place:?} of {one:?}");
        }
        for other in seen.iter().skip(i + 1) {
            let pairs = one
                .rows
                .iter()
                .flat_map(|a| other.rows.iter().map(move |b| (a, b)));
            for (a, b) in pairs {
                let both = a.intersect(*b).intersect(one.clip).intersect(other.clip);
                let both = both.shrink(1.0);
                assert!(
                    !both.is_positive(),
                    "one over the other at {size:?}: {one:?} {other:?}"
                );
            }
        }
    }
}
