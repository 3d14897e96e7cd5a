//! What the theory costs: reading symbols, finding keys, planning and transposing charts, and the
//! calls that the audio thread makes. Inputs are prepared outside of what is
//! measured.

#[path = "../tests/data/mod.rs"]
mod data;

use divan::Bencher;
use divan::counter::ItemsCount;
use guidehand_theory::candidates::Register;
use guidehand_theory::chart::{self, TICKS_PER_QUARTER};
use guidehand_theory::chord::Chord;
use guidehand_theory::comping::{Under, Yielding};
use guidehand_theory::judge::{self, Accepts, Question};
use guidehand_theory::key::{self, Key};
use guidehand_theory::melody::{Melody, MelodyNote};
use guidehand_theory::own_shape::Own;
use guidehand_theory::pipeline::{self, ChordInKey, Taste};
use guidehand_theory::pitch::{MidiNote, PitchClass, SpelledPitch};
use guidehand_theory::plan::Ends;
use guidehand_theory::read::{self, Context};
use guidehand_theory::root_note::Extras;
use guidehand_theory::shape::Texture;
use guidehand_theory::symbol;
use guidehand_theory::tension::Above;
use guidehand_theory::transpose;
use guidehand_theory::under::{self, Harmony, Line, Struck, Style};
use std::hint::black_box;

fn main() {
    divan::main();
}

/// Cadences in several keys, with written and open dominants: 32 bars.
const BARS_32: &str = "
    | Dm7 | G7 | Cmaj7 | A7(b9,b13) | Dm7 | G7alt | Cmaj7 | Em7b5 A7b9 |
    | Fm7 | Bb7 | Ebmaj7 | C7#9 | Fm9 | Bb13 | Eb6/9 | Am7 D7 |
    | Gmaj7 | F#m7b5 B7 | Em7 | A7#11 | Am7 | D7sus4 D7b9 | G6 | Dm7 Db7 |
    | Cmaj9 | F#dim7 | Dm11 | G13sus4 G7(b9) | Em7 | A7 Eb7 | Dm7 G7 | C6/9 |
";

fn bars_32() -> Vec<Option<Chord>> {
    let chart = chart::parse(BARS_32).expect("the chart reads");
    assert_eq!(chart.bars.len(), 32);
    chart.changes.iter().map(|change| change.chord).collect()
}

fn everyday() -> Vec<&'static str> {
    let rows = data::rows(include_str!("../tests/data/everyday-symbols.txt"));
    rows.map(|[symbol, _degrees, _libraries]| symbol).collect()
}

/// So many everyday chords, one after the other on roots a fourth apart, in
/// their keys. An open dominant comes first: a chart that repeats is planned once
/// for each voicing of its first chord, and that one has the most.
fn placed(length: usize) -> Vec<Option<ChordInKey>> {
    let texts = everyday()
        .into_iter()
        .cycle()
        .skip_while(|text| *text != "C7");
    let fourths = (-6..=5).rev().cycle();
    let chords: Vec<Option<Chord>> = texts
        .zip(fourths)
        .map(|(text, fifths)| {
            let chord = symbol::parse(text).expect("everyday symbols read");
            Some(chord.transposed(fifths - chord.root.fifths()))
        })
        .take(length)
        .collect();
    in_their_keys(&chords)
}

fn in_their_keys(chords: &[Option<Chord>]) -> Vec<Option<ChordInKey>> {
    let functions = key::analyse(chords, None);
    let pairs = chords.iter().zip(functions);
    pairs
        .map(|(chord, function)| {
            let (chord, function) = ((*chord)?, function?);
            Some(ChordInKey::new(chord, function))
        })
        .collect()
}

/// All everyday symbols, one after the other; the counter says symbols a second.
#[divan::bench]
fn read_symbols(bencher: Bencher) {
    let texts = everyday();
    bencher.counter(ItemsCount::new(texts.len())).bench(|| {
        for text in black_box(&texts) {
            black_box(symbol::parse(text)).expect("everyday symbols read");
        }
    });
}

#[divan::bench]
fn read_32_bars(bencher: Bencher) {
    bencher.bench(|| chart::parse(black_box(BARS_32)));
}

#[divan::bench]
fn find_the_keys_of_32_bars(bencher: Bencher) {
    let chords = bars_32();
    bencher.bench(|| key::analyse(black_box(&chords), None));
}

#[divan::bench(args = [Ends::Open, Ends::Cyclic])]
fn plan_32_bars(bencher: Bencher, ends: Ends) {
    let placed = in_their_keys(&bars_32());
    bencher.bench(|| plan(black_box(&placed), ends));
}

/// What a keystroke in the chart costs: a song holds a plan in every texture.
#[divan::bench]
fn plan_32_bars_in_every_texture(bencher: Bencher) {
    let placed = in_their_keys(&bars_32());
    bencher.bench(|| {
        Texture::ALL.map(|texture| {
            pipeline::plan(black_box(&placed), texture, Register::DEFAULT, Ends::Cyclic)
        })
    });
}

/// Long charts, the longest far beyond what people write; the counter says chords
/// a second.
#[divan::bench(
    consts = [10, 100, 1_000, 2_000, 10_000, 20_000],
    args = [Ends::Open, Ends::Cyclic],
    sample_count = 20,
    sample_size = 1
)]
fn plan_chords<const LENGTH: usize>(bencher: Bencher, ends: Ends) {
    let placed = placed(LENGTH);
    let bencher = bencher.counter(ItemsCount::new(LENGTH));
    bencher.bench(|| plan(black_box(&placed), ends));
}

/// Long charts in another key: the counters, in chords a second, are the ratio of their prices.
#[divan::bench(consts = [2_000, 20_000], sample_count = 20, sample_size = 1)]
fn transpose_chords<const LENGTH: usize>(bencher: Bencher) {
    let placed = placed(LENGTH).into_iter();
    let in_keys = |placed: ChordInKey| (placed.written, placed.function.key);
    let chords: Vec<_> = placed.map(|chord| chord.map(in_keys)).collect();
    let bencher = bencher.counter(ItemsCount::new(LENGTH));
    bencher.bench(|| transpose::transposed(black_box(&chords), 5));
}

fn plan(placed: &[Option<ChordInKey>], ends: Ends) -> usize {
    black_box(pipeline::plan(
        placed,
        Texture::FourNotes,
        Register::DEFAULT,
        ends,
    ))
    .len()
}

/// A dominant in the middle of a cadence: the chord with the most choices.
fn dominant() -> ChordInKey {
    pipeline::place_root(Key::C_MAJOR, PitchClass::wrapping(7), Extras::NONE)
}

fn two() -> ChordInKey {
    pipeline::place_root(Key::C_MAJOR, PitchClass::wrapping(2), Extras::NONE)
}

fn taste(texture: Texture) -> Taste {
    Taste {
        texture,
        ..Taste::default()
    }
}

#[divan::bench]
fn place_a_root() -> ChordInKey {
    let (key, root) = black_box((Key::C_MAJOR, PitchClass::wrapping(7)));
    pipeline::place_root(key, root, Extras::NONE)
}

#[divan::bench(args = Texture::ALL)]
fn step(bencher: Bencher, texture: Texture) {
    let taste = taste(texture);
    let before = pipeline::step(None, &two(), &taste).voicing;
    let chord = dominant();
    bencher.bench(|| pipeline::step(Some(black_box(&before)), black_box(&chord), &taste));
}

/// The same under a melody, beside the plain [`step`]: under a note that agrees, so that the plain
/// step stands, and under one to which a tension yields, so that all voicings are looked at again.
#[divan::bench(args = Texture::ALL, consts = [69, 75])]
fn step_under<const MELODY: i32>(bencher: Bencher, texture: Texture) {
    let taste = taste(texture);
    let before = pipeline::step(None, &two(), &taste).voicing;
    let chord = dominant();
    let under = Under {
        above: Above::NONE.with(MidiNote::clamp(MELODY)),
        yielding: Yielding::Tensions,
    };
    bencher.bench(|| {
        let (before, chord, under) = black_box((&before, &chord, &under));
        pipeline::step_under(Some(before), chord, &taste, Own::NONE, under)
    });
}

/// The note that moves when the melody speaks against a chord that sounds.
#[divan::bench]
fn revoice(bencher: Bencher) {
    let chord = dominant();
    let sounding = pipeline::step(None, &chord, &taste(Texture::FourNotes));
    let under = Under {
        above: Above::NONE.with(MidiNote::clamp(75)),
        yielding: Yielding::Tensions,
    };
    bencher.bench(|| pipeline::revoice(black_box(&sounding), black_box(&chord), &under));
}

/// The plan of [`plan_32_bars`] under a melody of quarter notes.
#[divan::bench(args = [Ends::Open, Ends::Cyclic])]
fn plan_32_bars_under_a_melody(bencher: Bencher, ends: Ends) {
    let chart = chart::parse(BARS_32).expect("the chart reads");
    let placed = pipeline::place(&chart, None);
    let notes = (0..128_u32).map(|beat| MelodyNote {
        note: MidiNote::clamp(72 + i32::try_from(beat * 7 % 13).unwrap_or(0)),
        name: None,
        start_ticks: beat * chart::TICKS_PER_QUARTER,
        length_ticks: chart::TICKS_PER_QUARTER,
    });
    let melody = Melody::new(notes);
    bencher.bench(|| {
        let under = pipeline::under(&chart, &melody, Yielding::TensionsAndRegister);
        let (texture, register) = (Texture::FourNotes, Register::DEFAULT);
        let placed = black_box(&placed);
        pipeline::plan_under(placed, texture, register, ends, &[], Own::NONE, &under).len()
    });
}

/// What a melody note costs beside [`step`]: a chord tone of the dominant, and a note that takes a
/// diminished seventh chord.
#[divan::bench(args = ["B4", "C5"])]
fn block_under(bencher: Bencher, melody: &str) {
    let pitch = SpelledPitch::parse(melody).expect("the pitch reads");
    let struck = Struck {
        note: pitch.midi().expect("it is a key"),
        fast: false,
    };
    let taste = under::Taste::default();
    let (two, five) = (Harmony::from(two()), Harmony::from(dominant()));
    let first = Struck {
        note: MidiNote::clamp(72),
        fast: false,
    };
    let before = under::step(&taste, None, first, Some(&two));
    bencher.bench(|| {
        under::step(
            &taste,
            Some(black_box(&before)),
            struck,
            Some(black_box(&five)),
        )
    });
}

/// Eight eighths up and down in each of 32 bars.
#[divan::bench(args = Style::ALL)]
fn plan_blocks_under_256_notes(bencher: Bencher, style: Style) {
    let chart = chart::parse(BARS_32).expect("the chart reads");
    let placed = pipeline::place(&chart, None);
    let harmonies: Vec<Option<Harmony>> =
        placed.into_iter().map(|p| p.map(Harmony::from)).collect();
    let scale = [
        60, 62, 64, 65, 67, 69, 71, 72, 74, 72, 71, 69, 67, 65, 64, 62,
    ];
    let notes = scale.into_iter().cycle().zip(0..256_u32);
    let melody = Melody::new(notes.map(|(note, at)| MelodyNote {
        note: MidiNote::clamp(note),
        name: None,
        start_ticks: at * TICKS_PER_QUARTER / 2,
        length_ticks: TICKS_PER_QUARTER / 2,
    }));
    let line = Line {
        melody: &melody,
        chart: &chart,
        harmonies: &harmonies,
        single_under_ticks: 0,
    };
    let taste = under::Taste {
        style,
        ..under::Taste::default()
    };
    bencher.bench(|| under::plan(&taste, black_box(&line)));
}

#[divan::bench(args = Texture::ALL)]
fn adapt(bencher: Bencher, texture: Texture) {
    let chord = dominant();
    let planned = pipeline::step(None, &chord, &Taste::default());
    let taste = taste(texture);
    bencher.bench(|| pipeline::adapt(black_box(&planned), black_box(&chord), &taste));
}

#[divan::bench]
fn suggest_scales(bencher: Bencher) {
    let chord = dominant();
    let voicing = pipeline::step(None, &chord, &Taste::default()).voicing;
    bencher.bench(|| black_box(&chord).scales(black_box(&voicing)));
}

/// Four notes in the context of a chart: the reader's everyday case.
#[divan::bench(args = ["with a chart", "alone"])]
fn read_four_notes(bencher: Bencher, around: &str) {
    let notes = [53, 57, 59, 64].map(MidiNote::clamp);
    let context = match around {
        "alone" => Context::default(),
        _ => Context {
            key: Some(Key::C_MAJOR),
            before: Some(two().chord),
            charted: Some(dominant().chord),
            ..Context::default()
        },
    };
    bencher.bench(|| read::read(black_box(&notes), black_box(&context)));
}

const ACCEPTS: [Accepts; 3] = [Accepts::Exact, Accepts::SameTensions, Accepts::AnyGood];

/// A dominant that is asked for in four notes, in either position.
fn question() -> Question {
    let placed = dominant();
    Question {
        placed,
        voiced: pipeline::step(None, &placed, &Taste::default()),
        either_position: true,
    }
}

/// An answer with one note wrong and one too many: what the audio thread does where it costs most.
#[divan::bench(args = ACCEPTS)]
fn judge_an_answer(bencher: Bencher, accepts: Accepts) {
    let question = question();
    let answer = [50, 53, 58, 59, 64].map(MidiNote::clamp);
    let register = Register::DEFAULT;
    bencher.bench(|| judge::judge(black_box(&question), black_box(&answer), accepts, register));
}

#[divan::bench(args = ACCEPTS)]
fn least_motion(bencher: Bencher, accepts: Accepts) {
    let question = question();
    let before = pipeline::step(None, &two(), &Taste::default()).voicing;
    let register = Register::DEFAULT;
    bencher.bench(|| {
        judge::least_motion(
            black_box(&before),
            black_box(&question),
            accepts,
            register,
            None,
        )
    });
}
