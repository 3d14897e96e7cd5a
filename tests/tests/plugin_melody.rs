//! What the right hand plays over a chart: chords that yield to it, and chords under its keys, in the
//! built plugin, as the theory has them.

use crate::plugin::{BLOCKS, RATE_HZ, held, notes, play, set, with_chart};
use guidehand_tests::notes::PlayedNote;
use guidehand_tests::{Session, TransportChange};
use guidehand_theory::candidates::Register;
use guidehand_theory::chart;
use guidehand_theory::comping::{Under, Yielding};
use guidehand_theory::own_shape::Own;
use guidehand_theory::pipeline::{self, ChordInKey, Taste};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::plan::{Ends, Voiced};
use guidehand_theory::shape::Texture;
use guidehand_theory::tension::Above;
use guidehand_theory::under::{self, Block, Harmony, Struck, Style};

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

/// A melody of sixteen bars that is played live comes out as the model says, in every style and in
/// blocks of any size, without latency.
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
