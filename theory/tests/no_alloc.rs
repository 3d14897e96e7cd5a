//! What the audio thread calls neither allocates nor frees. This binary counts
//! with a global allocator of its own.

#[path = "data/mod.rs"]
mod data;

use allocation_counter::{AllocationInfo, measure};
use guidehand_theory::candidates::Register;
use guidehand_theory::comping::{Under, Yielding};
use guidehand_theory::judge::{Accepts, Question, judge, motion};
use guidehand_theory::key::{self, Key, Mode};
use guidehand_theory::line;
use guidehand_theory::own_shape::{MOST_SHAPES, Own, OwnShape, ShapeFamily, ShapeNote};
use guidehand_theory::pipeline::{self, ChordInKey, Taste};
use guidehand_theory::pitch::{MidiNote, PitchClass};
use guidehand_theory::plan::Voiced;
use guidehand_theory::read::{self, Context};
use guidehand_theory::root_note::Extras;
use guidehand_theory::shape::Texture;
use guidehand_theory::slash;
use guidehand_theory::symbol;
use guidehand_theory::tension::{
    Above, EleventhRequest, MajorEleventhRequest, MajorTonicRequest, MinorEleventhRequest,
    MinorTonicRequest, NinthRequest, PlainNinthRequest, TensionRequests, ThirteenthRequest,
};
use guidehand_theory::under::{self, Block, Harmony, Side, Struck, Style};
use guidehand_theory::voicing::{MOST_NOTES, Voicing};
use std::hint::black_box;

/// Nothing is allocated and nothing is freed.
const NOTHING: AllocationInfo = AllocationInfo {
    count_total: 0,
    count_current: 0,
    count_max: 0,
    bytes_total: 0,
    bytes_current: 0,
    bytes_max: 0,
};

fn keys() -> Vec<Key> {
    let classes = (0..12).map(PitchClass::wrapping);
    let modes = [Mode::Major, Mode::Minor, Mode::Blues];
    classes
        .flat_map(|class| modes.map(|mode| Key::usual(class, mode)))
        .collect()
}

/// The everyday symbols in a major and a minor key.
fn placed() -> Vec<ChordInKey> {
    let rows = data::rows(include_str!("data/everyday-symbols.txt"));
    rows.flat_map(|[symbol, _degrees, _libraries]| {
        let chord = symbol::parse(symbol).unwrap();
        let place = |mode| {
            let key = Key::usual(PitchClass::wrapping(0), mode);
            ChordInKey::new(chord, key::live(&slash::meant(&chord), key))
        };
        [Mode::Major, Mode::Minor].map(place)
    })
    .collect()
}

/// Every texture, with tensions left open and asked for; one register at the
/// upper end, where no voicing fits and the search begins again.
fn tastes() -> Vec<Taste> {
    let requests = TensionRequests {
        ninth: NinthRequest::Flat9,
        eleventh: EleventhRequest::Sharp11,
        thirteenth: ThirteenthRequest::Flat13,
        plain_ninth: PlainNinthRequest::Nine,
        minor_eleventh: MinorEleventhRequest::Eleven,
        major_eleventh: MajorEleventhRequest::Sharp11,
        major_tonic: MajorTonicRequest::Six,
        minor_tonic: MinorTonicRequest::Seven,
    };
    let top = Register::new(MidiNote::clamp(118), MidiNote::MAX);
    let mut tastes = Vec::new();
    for texture in Texture::ALL {
        for (register, requests) in [
            (Register::DEFAULT, TensionRequests::default()),
            (Register::DEFAULT, requests),
            (top, requests),
        ] {
            tastes.push(Taste {
                texture,
                register,
                requests,
                ..Taste::default()
            });
        }
    }
    tastes
}

/// The control: the counter sees a planted allocation, and a planted release.
#[test]
fn a_planted_allocation_is_counted() {
    let planted = measure(|| drop(black_box(Box::new(1_u8))));
    assert_eq!((planted.count_total, planted.bytes_total), (1, 1));
    let released = black_box(Box::new(1_u8));
    let planted = measure(|| drop(released));
    assert_eq!((planted.count_current, planted.bytes_current), (-1, -1));
}

#[test]
fn a_step_does_not_allocate() {
    let (placed, tastes) = (placed(), tastes());
    let counted = measure(|| {
        for taste in &tastes {
            let mut before: Option<Voiced> = None;
            for chord in &placed {
                let voicing = before.as_ref().map(|b| &b.voicing);
                before = Some(black_box(pipeline::step(voicing, chord, taste)));
            }
        }
    });
    assert_eq!(counted, NOTHING);
}

/// As many own shapes as are looked at, with as many notes as there can be.
fn own_shapes() -> Vec<OwnShape> {
    let shapes = ShapeFamily::ALL.into_iter().map(|family| {
        let [third, seventh] = family.guide_tones();
        let notes = [third, seventh].map(|degree| ShapeNote { degree, octaves: 0 });
        OwnShape::new(family, &notes.repeat(MOST_NOTES / 2)).unwrap()
    });
    shapes.cycle().take(MOST_SHAPES).collect()
}

#[test]
fn own_shapes_do_not_allocate() {
    let (placed, tastes, shapes) = (placed(), tastes(), own_shapes());
    let mut notes = 0;
    let counted = measure(|| {
        for own in [Own::instead(&shapes), Own::beside(&shapes)] {
            for taste in &tastes {
                let mut before: Option<Voiced> = None;
                for chord in &placed {
                    let voicing = before.as_ref().map(|b| &b.voicing);
                    let voiced = black_box(pipeline::step_with(voicing, chord, taste, own));
                    black_box(pipeline::adapt_with(&voiced, chord, taste, own));
                    notes += voiced.voicing.voices().len();
                    before = Some(voiced);
                }
            }
        }
    });
    assert_eq!(counted, NOTHING);
    assert!(notes > 0);
}

#[test]
fn adapting_a_planned_chord_does_not_allocate() {
    let (placed, tastes) = (placed(), tastes());
    let planned: Vec<Voiced> = placed
        .iter()
        .map(|p| pipeline::step(None, p, &Taste::default()))
        .collect();
    let counted = measure(|| {
        for taste in &tastes {
            for (planned, chord) in planned.iter().zip(&placed) {
                black_box(pipeline::adapt(planned, chord, taste));
            }
        }
    });
    assert_eq!(counted, NOTHING);
}

/// Steps, adapted chords and re-voiced ones, with own shapes and without, under one note of each
/// class and under all of them at once.
#[test]
fn yielding_to_a_melody_does_not_allocate() {
    let (placed, tastes, shapes) = (placed(), tastes(), own_shapes());
    let above: Vec<Above> = (60..72)
        .map(|note| Above::NONE.with(MidiNote::clamp(note)))
        .chain([Above::of_keys(u128::MAX)])
        .collect();
    let (mut yields, mut moved) = (0, 0);
    let counted = measure(|| {
        for own in [Own::NONE, Own::instead(&shapes)] {
            for taste in &tastes {
                let mut before: Option<Voiced> = None;
                for (chord, above) in placed.iter().zip(above.iter().cycle()) {
                    let under = Under {
                        above: *above,
                        yielding: Yielding::TensionsAndRegister,
                    };
                    let voicing = before.as_ref().map(|b| &b.voicing);
                    let plain = pipeline::step_with(voicing, chord, taste, own);
                    let found = pipeline::step_under(voicing, chord, taste, own, &under);
                    yields += black_box(found).yields.len();
                    black_box(pipeline::adapt_under(&plain, chord, taste, own, &under));
                    let again = pipeline::revoice(&plain, chord, &under);
                    moved += usize::from(black_box(again).is_some());
                    before = Some(found.voiced);
                }
            }
        }
    });
    assert_eq!(counted, NOTHING);
    assert!(yields > 100 && moved > 100, "{yields} {moved}");
}

/// Every root in every key, and with every set of extra keys in two of them.
#[test]
fn placing_a_root_does_not_allocate() {
    let keys = keys();
    let roots = || (0..12).map(PitchClass::wrapping);
    let counted = measure(|| {
        for key in &keys {
            for root in roots() {
                black_box(pipeline::place_root(*key, root, Extras::NONE));
            }
        }
        for key in keys.iter().take(2) {
            for root in roots() {
                for held in 0..1_u16 << 11 {
                    let extras = (1..=11).filter(|i| held & 1 << (i - 1) != 0);
                    let extras = extras.fold(Extras::NONE, Extras::with);
                    black_box(pipeline::place_root(*key, root, extras));
                }
            }
        }
    });
    assert_eq!(counted, NOTHING);
}

#[test]
fn scales_sounding_chord_and_bass_do_not_allocate() {
    let (placed, tastes) = (placed(), tastes());
    let mut cases = Vec::new();
    for chord in &placed {
        cases.extend(
            tastes
                .iter()
                .map(|t| (chord, pipeline::step(None, chord, t).voicing)),
        );
    }
    let counted = measure(|| {
        for (chord, voicing) in &cases {
            black_box(chord.scales(voicing));
            black_box(chord.sounding(voicing));
            black_box(chord.bass(MidiNote::MIN));
            black_box(chord.bass(MidiNote::MAX));
        }
    });
    assert_eq!(counted, NOTHING);
}

/// Every everyday chord in every texture, with right answers and wrong ones, by every standard, and
/// the motion to them.
#[test]
fn judging_an_answer_does_not_allocate() {
    let (placed, tastes) = (placed(), tastes());
    let mut cases = Vec::new();
    for chord in placed.iter().step_by(5) {
        for taste in &tastes {
            let question = Question {
                placed: *chord,
                voiced: pipeline::step(None, chord, taste),
                either_position: true,
            };
            let right: Vec<MidiNote> = question.voiced.voicing.notes().collect();
            let moved = |by| {
                let notes = right.iter();
                notes.map(|n| MidiNote::clamp(n.semitones() + by)).collect()
            };
            let mut wrong = right.clone();
            wrong.truncate(2);
            wrong.extend((0..3).map(|note| MidiNote::clamp(60 + note)));
            let many: Vec<MidiNote> = (0..=127).map(MidiNote::clamp).collect();
            for answer in [right.clone(), moved(1), moved(12), wrong, many, Vec::new()] {
                cases.push((question, answer, taste.register));
            }
        }
    }
    let mut before = Voicing::default();
    let counted = measure(|| {
        for (question, answer, register) in &cases {
            for accepts in [Accepts::Exact, Accepts::SameTensions, Accepts::AnyGood] {
                let judgement = judge(question, black_box(answer), accepts, *register);
                black_box(motion(&before, question, &judgement, accepts, *register));
                before = *judgement.played();
            }
        }
    });
    assert_eq!(counted, NOTHING);
    assert!(cases.len() > 1000, "{}", cases.len());
}

/// Reading what is played, and the inner line of what sounds.
#[test]
fn reading_and_inner_lines_do_not_allocate() {
    let taste = Taste::default();
    for placed in placed() {
        let voiced = pipeline::step(None, &placed, &taste);
        let notes: Vec<MidiNote> = voiced.voicing.notes().collect();
        let context = Context {
            key: Some(placed.function.key),
            charted: Some(placed.chord),
            ..Context::default()
        };
        let work = measure(|| {
            black_box(read::read(black_box(&notes), &context));
            black_box(line::inner(
                &placed.chord,
                &placed.function,
                &voiced.voicing,
            ));
        });
        assert_eq!(work, NOTHING, "{:?}", placed.chord);
    }
}

/// Every key of the keyboard over every everyday chord, in every style, after what sounded before,
/// with the comping hand's tensions and without, slow and fast.
#[test]
fn a_chord_under_a_played_melody_does_not_allocate() {
    let placed = placed();
    let voiced: Vec<Voiced> = placed
        .iter()
        .map(|p| pipeline::step(None, p, &Taste::default()))
        .collect();
    let mut voices = 0;
    let counted = measure(|| {
        for style in Style::ALL {
            let taste = under::Taste {
                style,
                ..under::Taste::default()
            };
            let mut before: Option<Block> = None;
            for (placed, voiced) in placed.iter().zip(&voiced) {
                for tensions in [None, Some(voiced.tensions)] {
                    let harmony = Harmony {
                        placed: *placed,
                        tensions,
                    };
                    for (note, fast) in (0..=127).map(|n| (MidiNote::clamp(n), n % 5 == 0)) {
                        let struck = Struck { note, fast };
                        let block = under::step(&taste, before.as_ref(), struck, Some(&harmony));
                        black_box(under::approach(&block, Side::Below, placed));
                        voices += block.voicing.voices().len();
                        before = Some(block);
                    }
                }
            }
        }
    });
    assert_eq!(counted, NOTHING);
    assert!(voices > 0);
}
