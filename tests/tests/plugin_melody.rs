//! What the right hand plays over a chart: chords that yield to it, and chords under its keys, in the
//! built plugin, as the theory has them.

use crate::plugin::{BLOCKS, RATE_HZ, held, notes, play, set, with_chart};
use crate::vst3::{as_vst3, untouched};
use guidehand_report::request::Request;
use guidehand_tests::comp::comp;
use guidehand_tests::notes::PlayedNote;
use guidehand_tests::vst3::render;
use guidehand_tests::{Session, TransportChange, paths};
use guidehand_theory::candidates::Register;
use guidehand_theory::chart;
use guidehand_theory::comping::{Under, Yielding};
use guidehand_theory::melody;
use guidehand_theory::own_shape::Own;
use guidehand_theory::pipeline::{self, ChordInKey, Taste};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::plan::{Ends, Voiced};
use guidehand_theory::shape::Texture;
use guidehand_theory::tension::Above;
use guidehand_theory::under::{self, Block, Harmony, Line, Struck, Style, TimedBlock};

/// Sixteen bars of our own.
const CHART: &str = "| Cmaj7 | A7 | Dm7 | G7 | Em7b5 | A7 | Dm7 | G7 | Gm7 | C7 | Fmaj7 | Bb7 | Dm7 | G7 | C6 | G7 |";

/// A note to the beat, for each bar of the chart.
const MELODY: [[u8; 4]; 16] = [
    [79, 76, 72, 74],
    [76, 73, 81, 79],
    [77, 76, 74, 72],
    [71, 74, 77, 80],
    [79, 76, 74, 73],
    [76, 77, 79, 82],
    [81, 77, 74, 76],
    [77, 79, 81, 83],
    [82, 79, 77, 74],
    [76, 78, 79, 82],
    [81, 79, 77, 76],
    [80, 77, 74, 72],
    [74, 76, 77, 78],
    [79, 80, 81, 83],
    [84, 79, 76, 72],
    [71, 74, 79, 79],
];

/// A beat at 120 bpm.
const BEAT_SAMPLES: u64 = 24_000;
const NOTE_SAMPLES: u64 = 20_000;

/// The melody in its time: the sample, the bar, the key. Each note comes a little after its beat.
fn melody() -> impl Iterator<Item = (u64, usize, u8)> {
    let bars = MELODY.into_iter().enumerate();
    let keys = bars.flat_map(|(bar, keys)| keys.map(|key| (bar, key)));
    let times = (0..).map(|beat| beat * BEAT_SAMPLES + 100);
    times.zip(keys).map(|(at, (bar, key))| (at, bar, key))
}

fn session() -> Session {
    let mut session = Session::new(RATE_HZ, 120.0, 64 * BEAT_SAMPLES);
    for (at, _, key) in melody() {
        session.note(at, at + NOTE_SAMPLES, key.into());
    }
    session
}

fn chords() -> Vec<(ChordInKey, Voiced)> {
    let chart = chart::parse(CHART).unwrap();
    let placed = pipeline::place(&chart, None);
    let plan = pipeline::plan(&placed, Texture::FourNotes, Register::DEFAULT, Ends::Cyclic);
    let both = placed.into_iter().zip(plan);
    both.map(|(placed, voiced)| (placed.unwrap(), voiced.unwrap()))
        .collect()
}

/// The melody with the chords that the theory puts under it.
fn under_melody(style: Style) -> Vec<PlayedNote> {
    let taste = under::Taste {
        style,
        ..under::Taste::default()
    };
    let chords = chords();
    let mut before: Option<Block> = None;
    let mut expected = Vec::new();
    for (at, bar, key) in melody() {
        let (placed, voiced) = chords[bar];
        let harmony = Harmony {
            placed,
            tensions: Some(voiced.tensions),
        };
        let struck = Struck {
            note: MidiNote::clamp(key.into()),
            fast: false,
        };
        let block = under::step(&taste, before.as_ref(), struck, Some(&harmony));
        let keys: Vec<i16> = block
            .voicing
            .notes()
            .map(|note| note.number().into())
            .collect();
        expected.extend(held(&keys, 0, 0.75, at, at + NOTE_SAMPLES));
        before = Some(block);
    }
    expected
}

/// The same melody as it is typed.
const TYPED: &str = "| G5 E5 C5 D5 | E5 C#5 A5 G5 | F5 E5 D5 C5 | B4 D5 F5 Ab5 \
    | G5 E5 D5 C#5 | E5 F5 G5 Bb5 | A5 F5 D5 E5 | F5 G5 A5 B5 \
    | Bb5 G5 F5 D5 | E5 F#5 G5 Bb5 | A5 G5 F5 E5 | Ab5 F5 D5 C5 \
    | D5 E5 F5 F#5 | G5 Ab5 A5 B5 | C6 G5 E5 C5 | B4 D5 G5 G5 |";

/// A melody of sixteen bars that is typed comes out harmonised as the model says, in every style: the
/// chords that the built plugin plays yield to it, and the blocks under it have their dressings.
#[test]
fn a_typed_melody_has_the_chords_of_the_model_under_it() {
    let chart = chart::parse(CHART).unwrap();
    let typed = melody::parse(TYPED, &chart).unwrap();
    let keys = typed.notes().iter().map(|note| note.note.number());
    assert!(
        keys.eq(MELODY.into_iter().flatten()),
        "the melody that is played"
    );
    let placed = pipeline::place(&chart, None);
    let yielding = Yielding::TensionsAndRegister;
    let under = pipeline::under(&chart, &typed, yielding);
    let (texture, register) = (Texture::FourNotes, Register::DEFAULT);
    let ends = Ends::Cyclic;
    let plan = pipeline::plan_under(&placed, texture, register, ends, &[], Own::NONE, &under);
    let voiced: Vec<Voiced> = plan
        .into_iter()
        .map(|found| found.unwrap().voiced)
        .collect();
    let harmonies = placed.iter().zip(&voiced).map(|(placed, voiced)| {
        placed.map(|placed| Harmony {
            placed,
            tensions: Some(voiced.tensions),
        })
    });
    let harmonies: Vec<Option<Harmony>> = harmonies.collect();
    for style in Style::ALL {
        let request = Request {
            tone: false,
            melody: Some(typed.clone()),
            yielding,
            blocks: Some(style),
            ..Request::new(CHART)
        };
        // It plays the built plugin, and checks what it plays against what it reports.
        let made = comp(&paths::plugin_path(), &request).unwrap_or_else(|error| panic!("{error}"));
        for (row, voiced) in made.report.chords.iter().zip(&voiced) {
            let found = row.notes.iter().map(|note| note.midi);
            let expected = voiced.voicing.notes().map(MidiNote::number);
            assert!(found.eq(expected), "bar {}", row.bar);
        }
        let taste = under::Taste {
            style,
            ..under::Taste::default()
        };
        let line = Line {
            melody: &typed,
            chart: &chart,
            harmonies: &harmonies,
            single_under_ticks: 0,
        };
        let blocks: Vec<TimedBlock> = under::plan(&taste, &line);
        assert_eq!(made.report.blocks.len(), blocks.len());
        for (row, timed) in made.report.blocks.iter().zip(&blocks) {
            let found = row.notes.iter().map(|note| note.midi);
            let expected = timed.block.voicing.notes().map(MidiNote::number);
            assert!(found.eq(expected), "{row:?}");
            assert_eq!(row.why, timed.block.rule.to_string());
        }
        assert!(blocks.iter().filter(|b| !b.block.is_single()).count() >= 64);
    }
}

/// A melody of sixteen bars that is played live comes out as the model says, in every style, in both
/// formats and in blocks of any size, without latency.
#[test]
fn a_melody_has_the_chords_of_the_model_under_it() {
    for (words, style) in [
        ("Four-way close", Style::FourWayClose),
        ("Drop 2", Style::DropTwo),
        ("Double lead", Style::DoubleLead),
    ] {
        let expected = under_melody(style);
        assert!(expected.len() > 3 * 64);
        for blocks in BLOCKS {
            let mut host = with_chart(CHART);
            set(&mut host, "Chords under the melody", words);
            set(&mut host, "Left hand comps", "Off");
            let mut session = session();
            session.blocks = blocks;
            assert_eq!(
                notes(&play(&mut host, &session).events),
                expected,
                "{words}"
            );
            assert_eq!(host.latency_samples(), 0);
            let mut instance = untouched();
            let state = host.save_state().unwrap();
            instance.load_state(as_vst3(&state)).unwrap();
            let found = render(&mut instance, &session).unwrap();
            assert_eq!(notes(&found.events), expected, "{words} in VST3");
            assert_eq!(instance.latency_samples(), 0);
        }
    }
}

/// The chords of a chart yield to what the right hand holds when they are struck, as the theory adapts
/// the plan.
#[test]
fn the_chords_of_a_chart_yield_to_a_melody() {
    let chords = chords();
    let taste = Taste::default();
    let mut yielded = 0;
    for (words, yielding) in [
        ("Off", Yielding::Off),
        ("Tensions", Yielding::Tensions),
        ("Tensions and register", Yielding::TensionsAndRegister),
    ] {
        // Each chord under the first note of its bar, which is held over the bar line.
        let mut session = Session::new(RATE_HZ, 120.0, 64 * BEAT_SAMPLES);
        session.change(64 * BEAT_SAMPLES - 100, TransportChange::Stop);
        let mut expected: Vec<Vec<i16>> = Vec::new();
        for (bar, (placed, voiced)) in (0..).zip(&chords) {
            let key = MELODY[bar][0] + 1;
            let start = u64::try_from(bar).unwrap() * 4 * BEAT_SAMPLES;
            let from = start.saturating_sub(50);
            session.note(from, start + NOTE_SAMPLES, key.into());
            let under = Under {
                above: Above::of_keys(1 << key),
                yielding,
            };
            let agreeing = pipeline::adapt_under(voiced, placed, &taste, Own::NONE, &under);
            let voicing = if under.agrees(&voiced.voicing, &placed.chord) {
                voiced.voicing
            } else {
                yielded += 1;
                agreeing.voiced.voicing
            };
            expected.push(voicing.notes().map(|note| note.number().into()).collect());
        }
        let mut host = with_chart(CHART);
        set(&mut host, "Split", "C5");
        set(&mut host, "Yield to the melody", words);
        session.blocks = BLOCKS[1];
        let found = notes(&play(&mut host, &session).events);
        for (bar, expected) in (0..).zip(&expected) {
            let at = bar * 4 * BEAT_SAMPLES;
            let chord = found.iter().filter(|note| note.start_samples == at);
            let mut keys: Vec<i16> = chord.map(|note| note.key).filter(|key| *key < 72).collect();
            keys.sort_unstable();
            assert_eq!(&keys, expected, "bar {bar}, {words}");
        }
    }
    assert!(yielded > 8, "{yielded} chords had to yield");
}
