//! Plans under a melody, over whole charts.

use super::oracle::{clashing, is_guide};
use guidehand_theory::candidates::Register;
use guidehand_theory::chart::{self, Chart};
use guidehand_theory::chord::Chord;
use guidehand_theory::comping::{Agreeing, Under, Yielding};
use guidehand_theory::cost::Weights;
use guidehand_theory::key;
use guidehand_theory::melody::{Melody, MelodyNote};
use guidehand_theory::own_shape::Own;
use guidehand_theory::pipeline::{self, ChordInKey};
use guidehand_theory::pitch::{MidiNote, PitchClass};
use guidehand_theory::plan::{Ends, Setting, Voiced};
use guidehand_theory::shape::Texture;
use guidehand_theory::symbol;
use guidehand_theory::tension::{self, Above, Choices, Outcome, TensionRequests};
use guidehand_theory::voicing::Voicing;

/// Forms that everybody plays. Common practice, no published source.
const FORMS: [&str; 7] = [
    "| C7 | F7 | C7 | % | F7 | % | C7 | % | G7 | F7 | C7 | G7 |",
    "| C7 | F7 | C7 | Gm7 C7 | F7 | F#dim7 | C7 | Em7b5 A7 | Dm7 | G7 | C7 A7 | Dm7 G7 |",
    "| Cm7 | Fm7 | Cm7 | % | Fm7 | % | Cm7 | % | Ab7 | G7 | Cm7 | G7 |",
    "| Bb6 G7 | Cm7 F7 | Bb6 G7 | Cm7 F7 | Fm7 Bb7 | Eb7 Edim7 | Bb6 F7 | Bb6 |",
    "| D7 | % | G7 | % | C7 | % | F7 | % |",
    "| Dm7 | G7 | Cmaj7 | % |",
    "| Dm7b5 | G7b9 | Cm6 | % |",
];

/// A form in some key, as a chart and in its keys.
struct Form {
    chart: Chart,
    placed: Vec<Option<ChordInKey>>,
    /// The notes of each chord's first scale that a melody can rest on.
    rests: Vec<Vec<PitchClass>>,
}

fn forms() -> Vec<Form> {
    let in_key = |(text, fifths): (&str, i8)| {
        let mut chart = chart::parse(text).unwrap();
        for change in &mut chart.changes {
            change.chord = change.chord.map(|chord| chord.transposed(fifths));
        }
        let placed = pipeline::place(&chart, None);
        let register = Register::DEFAULT;
        let plan = pipeline::plan(&placed, Texture::FourNotes, register, Ends::Cyclic);
        let scale = |(placed, voiced): (&Option<ChordInKey>, &Option<Voiced>)| {
            let scales = placed.unwrap().scales(&voiced.unwrap().voicing);
            let first = scales.first().unwrap();
            let rests = first.scale.set().minus(first.avoid);
            rests.iter().map(|d| d.class(first.root)).collect()
        };
        let rests = placed.iter().zip(&plan).map(scale).collect();
        Form {
            chart,
            placed,
            rests,
        }
    };
    let keys = FORMS
        .into_iter()
        .flat_map(|text| (-6..=5).map(move |f| (text, f)));
    keys.map(in_key).collect()
}

/// A melody of notes and rests of many lengths. `pitch` chooses a note for a tick.
fn melody(
    form: &Form,
    random: &mut fastrand::Rng,
    ends: impl Fn(u32) -> u32,
    pitch: impl Fn(u32, &mut fastrand::Rng) -> MidiNote,
) -> Melody {
    const LENGTHS: [u32; 9] = [240, 320, 480, 480, 960, 960, 1440, 1920, 3840];
    let mut notes = Vec::new();
    let mut now = 0;
    while now < form.chart.length_ticks() {
        let length = random.choice(LENGTHS).unwrap().min(ends(now) - now);
        if random.u8(..6) > 0 {
            notes.push(MelodyNote {
                note: pitch(now, random),
                name: None,
                start_ticks: now,
                length_ticks: length,
            });
        }
        now += length;
    }
    Melody::new(notes)
}

/// Plans a form under a melody, in a texture and a key that take turns, and gives every chord with
/// the notes that matter to it.
fn planned(
    form: &Form,
    melody: &Melody,
    round: usize,
    yielding: Yielding,
) -> Vec<(Chord, Agreeing, Vec<MidiNote>)> {
    let texture = Texture::ALL[round / 84 % Texture::ALL.len()];
    let under = pipeline::under(&form.chart, melody, yielding);
    let plan = pipeline::plan_under(
        &form.placed,
        texture,
        Register::DEFAULT,
        Ends::Open,
        &[],
        Own::NONE,
        &under,
    );
    let chords = form.placed.iter().flatten().zip(plan.into_iter().flatten());
    let notes = form.chart.changes.iter().map(|change| {
        let ticks = change.start_ticks..change.start_ticks + change.length_ticks;
        let notes = melody.that_matter(&form.chart, ticks);
        notes.map(|note| note.note).collect()
    });
    chords
        .zip(notes)
        .map(|((p, a), n)| (p.chord, a, n))
        .collect()
}

/// Ten thousand melodies that rest on notes of the chords' scales: nothing clashes at all.
#[test]
fn melodies_over_the_scales_of_stock_forms_meet_no_clash() {
    let forms = forms();
    let mut random = fastrand::Rng::with_seed(1);
    let (mut notes, mut yielded) = (0, 0);
    for round in 0..10_000 {
        let form = &forms[round % forms.len()];
        let change = |ticks: u32| {
            let changes = &form.chart.changes;
            changes.partition_point(|c| c.start_ticks <= ticks) - 1
        };
        let end = |ticks| {
            let change = &form.chart.changes[change(ticks)];
            change.start_ticks + change.length_ticks
        };
        let melody = melody(form, &mut random, end, |ticks, random| {
            let class = random.choice(&form.rests[change(ticks)]).unwrap();
            MidiNote::clamp(random.i32(70..80)).next_of(*class).unwrap()
        });
        for (chord, found, above) in planned(form, &melody, round, Yielding::TensionsAndRegister) {
            for note in &above {
                let clashing = clashing(&found.voiced.voicing, &chord, *note);
                assert!(clashing.is_empty(), "{round} {chord:?} {note:?} {found:?}");
                notes += 1;
            }
            assert_eq!(found.too_high, 0, "{round} {chord:?} {above:?} {found:?}");
            yielded += found.yields.len();
        }
    }
    assert!(notes > 150_000 && yielded > 10_000, "{notes} {yielded}");
}

/// Ten thousand melodies of any notes meet no clash. Where a guide tone would clash, the chord has
/// another one in its place, or does without. Only where five notes or more lie over one chord and no
/// degree of it agrees with all of them, one voice stands.
#[test]
fn melodies_of_any_notes_meet_no_clash() {
    let forms = forms();
    let mut random = fastrand::Rng::with_seed(2);
    let (mut notes, mut exchanged, mut left_out, mut alone, mut stood) = (0, 0, 0, 0, 0);
    for round in 0..10_000 {
        let form = &forms[round % forms.len()];
        let any = |_: u32, random: &mut fastrand::Rng| MidiNote::clamp(random.i32(74..92));
        let melody = melody(form, &mut random, |_| u32::MAX, any);
        for (chord, found, above) in planned(form, &melody, round, Yielding::Tensions) {
            let voicing = &found.voiced.voicing;
            for note in &above {
                let clashing = clashing(voicing, &chord, *note);
                let last = voicing.voices().len() == 1 && above.len() > 4;
                let case = || format!("{round} {chord:?} {note:?} {found:?}");
                assert!(clashing.is_empty() || last, "{}", case());
                stood += clashing.len();
                notes += 1;
            }
            for told in found.yields.iter().filter(|y| is_guide(y.degree)) {
                match told.outcome {
                    Outcome::To(_) => exchanged += 1,
                    Outcome::LeftOut => left_out += 1,
                    outcome => {
                        assert_eq!(outcome, Outcome::Stands, "{chord:?} {above:?} {found:?}");
                        assert_eq!(voicing.voices().len(), 1);
                    }
                }
            }
            alone += usize::from(voicing.voices().len() < 2);
        }
    }
    let counts = format!("{notes} {exchanged} {left_out} {alone} {stood}");
    assert!(notes > 150_000 && exchanged > 20_000, "{counts}");
    assert!(left_out < exchanged / 10 && alone < notes / 400, "{counts}");
    // Where the melody has so many notes over one chord that none of its degrees agrees.
    assert!(stood < 10, "{counts}");
}

/// A short chart with a melody of none, one or two notes above each chord.
fn short(random: &mut fastrand::Rng) -> Vec<(Chord, Choices, Under)> {
    const QUALITIES: [&str; 10] = [
        "maj7", "m7", "7", "7b9", "m7b5", "dim7", "7sus4", "6/9", "7alt", "13#11",
    ];
    let chords: Vec<Option<Chord>> = (0..random.usize(1..5))
        .map(|_| {
            let quality = random.choice(QUALITIES).unwrap();
            let chord = symbol::parse(&format!("C{quality}")).unwrap();
            Some(chord.transposed(random.i8(-6..6)))
        })
        .collect();
    let functions = key::analyse(&chords, None);
    let pairs = chords.iter().flatten().zip(functions.iter().flatten());
    pairs
        .map(|(chord, function)| {
            let notes = (0..random.usize(0..3)).map(|_| MidiNote::clamp(random.i32(62..80)));
            let under = Under {
                above: notes.collect(),
                yielding: [Yielding::Tensions, Yielding::TensionsAndRegister][random.usize(0..2)],
            };
            let choices = tension::resolve(chord, function, TensionRequests::default());
            (*chord, choices, under)
        })
        .collect()
}

/// How badly a voicing agrees: the voices that clash, and then how far it is too high.
fn bad(voicing: &Voicing, chord: &Chord, under: &Under) -> (usize, i32) {
    let clash = |voice| {
        let mut notes = under.above.notes();
        notes.any(|note| clashing(voicing, chord, note).contains(voice))
    };
    let clashes = voicing.voices().iter().filter(|voice| clash(voice)).count();
    let low = under.yielding == Yielding::TensionsAndRegister;
    let top = voicing.highest().map_or(0, MidiNote::semitones);
    let height = under
        .above
        .lowest()
        .map_or(0, |lowest| top + 1 - lowest.semitones());
    (clashes, if low { height.max(0) } else { 0 })
}

/// The search in a slow and simple way: for every chord the voicings that agree best, and every
/// path through them. None if there are too many, and where a voice of each voicing clashes, so that
/// it is left out of the one that is found.
fn exhaustive(setting: &Setting, chords: &[(Chord, Choices, Under)], ends: Ends) -> Option<u32> {
    let column = |(chord, choices, under): &(Chord, Choices, Under)| -> Vec<Voiced> {
        let voicings = |choices: &Choices| -> Vec<Voiced> {
            let all = setting.candidates(chord, choices);
            all.map(|(_, voiced)| voiced).collect()
        };
        let bad = |voiced: &Voiced| bad(&voiced.voicing, chord, under);
        let least = |all: &[Voiced]| all.iter().map(bad).min().unwrap();
        let mut all = match under.above.is_empty() {
            true => voicings(choices),
            false => voicings(&tension::agree(choices, chord, under.above).choices),
        };
        // Guide tones yield only where every voicing that has them clashes.
        if least(&all).0 > 0 {
            let wholly = voicings(&tension::agree_wholly(choices, chord, under.above).choices);
            if least(&wholly).0 < least(&all).0 {
                all = wholly;
            }
        }
        let least = least(&all);
        all.retain(|voiced| bad(voiced) == least);
        all
    };
    let columns: Vec<Vec<Voiced>> = chords.iter().map(column).collect();
    let paths: usize = columns.iter().map(Vec::len).product();
    let clashes = |(voicings, (chord, _, under)): (&Vec<Voiced>, &(Chord, Choices, Under))| {
        bad(&voicings[0].voicing, chord, under).0 > 0
    };
    if paths > 20_000 || columns.iter().zip(chords).any(clashes) {
        return None;
    }
    let prices = (0..paths).map(|mut number| {
        let path: Vec<Voiced> = columns
            .iter()
            .map(|column| {
                let voiced = column[number % column.len()];
                number /= column.len();
                voiced
            })
            .collect();
        setting.price(&path, ends)
    });
    prices.min()
}

/// In every texture that falls back on no other one, in an open chart and in one that repeats.
#[test]
fn the_plan_under_a_melody_is_the_cheapest_of_all_on_random_charts() {
    let mut random = fastrand::Rng::with_seed(3);
    let textures = Texture::ALL
        .into_iter()
        .filter(|t| !matches!(t, Texture::Fourths | Texture::UpperStructure));
    for texture in textures {
        let mut searched = 0;
        while searched < 150 {
            let chords = short(&mut random);
            let setting = Setting {
                texture,
                register: Register::DEFAULT,
                weights: Weights::DEFAULT,
            };
            for ends in [Ends::Open, Ends::Cyclic] {
                let Some(least) = exhaustive(&setting, &chords, ends) else {
                    continue;
                };
                let plan = setting.with_own(Own::NONE).plan_under(&chords, ends, &[]);
                let path: Vec<Voiced> = plan.iter().map(|a| a.voiced).collect();
                assert_eq!(setting.price(&path, ends), least, "{texture:?} {chords:?}");
                searched += 1;
            }
        }
    }
}

/// Each chord of the plan agrees as well as any of its voicings, in the textures that fall back on
/// others too.
#[test]
fn no_chord_of_a_plan_agrees_worse_than_it_could() {
    let mut random = fastrand::Rng::with_seed(4);
    for round in 0..2_000 {
        let setting = Setting {
            texture: Texture::ALL[round % Texture::ALL.len()],
            register: Register::DEFAULT,
            weights: Weights::DEFAULT,
        };
        let chords = short(&mut random);
        let plan = setting
            .with_own(Own::NONE)
            .plan_under(&chords, Ends::Cyclic, &[]);
        for (found, (chord, choices, under)) in plan.iter().zip(&chords) {
            let agreed = tension::agree(choices, chord, under.above);
            let mut all = setting.candidates(chord, &agreed.choices);
            let found = bad(&found.voiced.voicing, chord, under);
            assert!(
                all.all(|(_, v)| bad(&v.voicing, chord, under) >= found),
                "{chord:?}"
            );
        }
    }
}

/// Without a melody, and with yielding off, every plan is what it was.
#[test]
fn without_a_melody_the_plan_is_as_before() {
    let forms = forms();
    let mut random = fastrand::Rng::with_seed(5);
    for (round, form) in forms.iter().enumerate() {
        let any = |_: u32, random: &mut fastrand::Rng| MidiNote::clamp(random.i32(60..92));
        let melody = melody(form, &mut random, |_| u32::MAX, any);
        let off = pipeline::under(&form.chart, &melody, Yielding::Off);
        let none = pipeline::under(
            &form.chart,
            &Melody::default(),
            Yielding::TensionsAndRegister,
        );
        let texture = Texture::ALL[round % Texture::ALL.len()];
        let register = Register::DEFAULT;
        for ends in [Ends::Open, Ends::Cyclic] {
            let chords: Vec<(Chord, Choices)> = form
                .placed
                .iter()
                .flatten()
                .map(|p| {
                    let requests = TensionRequests::default();
                    (p.chord, tension::resolve(&p.chord, &p.function, requests))
                })
                .collect();
            let setting = Setting {
                texture,
                register,
                weights: Weights::DEFAULT,
            };
            let plain = setting.plan(&chords, ends);
            for under in [&off[..], &none, &[]] {
                let plan = pipeline::plan_under(
                    &form.placed,
                    texture,
                    register,
                    ends,
                    &[],
                    Own::NONE,
                    under,
                );
                let found: Vec<Voiced> = plan.iter().flatten().map(|a| a.voiced).collect();
                assert_eq!(found, plain);
                assert!(plan.iter().flatten().all(|a| a.yields.is_empty()));
            }
        }
    }
}

/// A pin stays as the player has placed it, and what the melody has against it is told.
#[test]
fn a_pin_stays_and_its_clash_is_told() {
    let chart = chart::parse("| Dm7 | G7(b9) | Cmaj7 |").unwrap();
    let placed = pipeline::place(&chart, None);
    let register = Register::DEFAULT;
    let plan = pipeline::plan(&placed, Texture::FourNotes, register, Ends::Open);
    let pin = plan[1].unwrap().voicing;
    let melody = guidehand_theory::melody::parse("| F5/1 | A5 | G5 |", &chart).unwrap();
    let under = pipeline::under(&chart, &melody, Yielding::Tensions);
    assert_eq!(under[1].above, Above::NONE.with(MidiNote::clamp(81)));
    let plan = |pins: &[(usize, Voicing)]| {
        pipeline::plan_under(
            &placed,
            Texture::FourNotes,
            register,
            Ends::Open,
            pins,
            Own::NONE,
            &under,
        )
    };
    let words = |found: &Agreeing| {
        let words: Vec<String> = found.yields.iter().map(ToString::to_string).collect();
        words.join("; ")
    };
    let pinned = plan(&[(1, pin)])[1].unwrap();
    assert_eq!(pinned.voiced.voicing, pin);
    assert_eq!(words(&pinned), "b9 stands: A in the melody");
    let free = plan(&[])[1].unwrap();
    assert_eq!(
        words(&free),
        "b9, as written, is left out and 1 fills its place: A in the melody"
    );
}

/// Common practice, no published source.
#[test]
fn notes_without_names_are_named_by_the_key_of_their_chord() {
    let chart = chart::parse("| N.C. | Cm7 F7 | Bbmaj7 | C#m7 F#7 | Bmaj7 |").unwrap();
    let placed = pipeline::place(&chart, None);
    let starts = [0, 3840, 7680, 11520, 15360];
    let notes = starts.map(|start_ticks| MelodyNote {
        note: MidiNote::clamp(75),
        name: None,
        start_ticks,
        length_ticks: 960,
    });
    let named = pipeline::named(&Melody::new(notes), &chart, &placed);
    let names: Vec<String> = named
        .notes()
        .iter()
        .map(|n| n.spelled().to_string())
        .collect();
    assert_eq!(names, ["Eb5", "Eb5", "Eb5", "D#5", "D#5"]);
}
