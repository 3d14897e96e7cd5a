//! Ten thousand random melodies over stock forms, played live: nothing that is struck clashes with what
//! the right hand holds. What clashes is said a second time, by semitones alone.

use super::*;
use guidehand_theory::chord::Chord;
use guidehand_theory::key::Key;
use guidehand_theory::pipeline;
use guidehand_theory::pitch::PitchClass;
use guidehand_theory::root_note::Extras;
use guidehand_theory::shape::Texture;

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

const MELODIES: usize = 10_000;
const SPLIT: u8 = 72;

/// A key of the right hand, with its time.
#[derive(Clone, Copy, Debug)]
struct Note {
    key: u8,
    on: u32,
    off: u32,
}

/// A line of notes of any pitch that now and then overlap, up to a time.
fn melody(random: &mut fastrand::Rng, until: u32) -> Vec<Note> {
    let mut notes: Vec<Note> = Vec::new();
    let mut now = 0;
    let mut free = [0; 128];
    while now < until {
        let length = BEAT / 4 * random.choice([1, 2, 2, 3, 4, 4, 6, 8, 16]).unwrap();
        let key = random.u8(SPLIT..98);
        // A little before the beat, on it, or after it.
        let at = (now + random.choice([0, 0, 300, 900]).unwrap()).max(free[usize::from(key)]);
        let overlap = random.choice([0, 0, BEAT / 8, BEAT]).unwrap();
        if random.u8(..6) > 0 {
            let off = at + length - length / 10 + overlap;
            notes.push(Note { key, on: at, off });
            free[usize::from(key)] = off + 1;
        }
        now += length;
    }
    notes
}

fn steps(notes: &[Note]) -> Vec<(u32, Step)> {
    let keys = |n: &Note| [(n.on, Step::On(n.key)), (n.off, Step::Off(n.key))];
    let mut steps: Vec<_> = notes.iter().flat_map(keys).collect();
    steps.sort_by_key(|(at, _)| *at);
    steps
}

/// What came of the melodies.
#[derive(Debug, Default)]
struct Count {
    /// Notes of chords that were struck, each under each note that was held.
    pairs: u32,
    clashes: u32,
    /// A b9 in the melody over the root of a dominant.
    flat_nines: u32,
    /// A chord of one note, under so many notes that no degree of it agrees.
    alone: u32,
}

impl Count {
    /// Looks at every note of a chord when it is struck. `chords` gives the chords that a strike at a
    /// sample may belong to.
    fn add(&mut self, played: &Played, melody: &[Note], chords: impl Fn(u32) -> Vec<Chord>) {
        for at in played.strikes() {
            let chord = played.starts_at(at);
            let held = melody.iter().filter(|n| (n.on..n.off).contains(&at));
            let fresh = melody.iter().filter(|n| n.on <= at && at < n.on + BEAT);
            let heard = melody
                .iter()
                .filter(|n| (n.on..n.off).contains(&at))
                .count()
                + fresh.count();
            for note in held {
                for low in &chord {
                    self.pairs += 1;
                    let apart = i32::from(note.key) - i32::from(*low);
                    if apart.abs() != 1 && !(apart > 12 && apart % 12 == 1) {
                        continue;
                    }
                    let root = |c: &Chord| c.root.class().number() == low % 12;
                    let dominant = |c: &Chord| c.quality.is_dominant() && root(c);
                    if apart > 1 && chords(at).iter().any(dominant) {
                        self.flat_nines += 1;
                    } else if chord.len() == 1 && heard > 4 {
                        self.alone += 1;
                    } else {
                        self.clashes += 1;
                    }
                }
            }
        }
    }
}

fn settings(random: &mut fastrand::Rng, source: Source) -> Settings {
    let mut settings = Settings::plain(source);
    settings.split = SPLIT;
    settings.taste.texture = random.choice(Texture::ALL).unwrap();
    settings.right_hand.revoices = random.bool();
    settings.right_hand.space = random.choice([0.0, 1.0]).unwrap();
    settings.chart.inner_lines = random.bool();
    settings.groove.rhythm = random.choice(Rhythm::ALL).unwrap();
    yielding(
        settings,
        random
            .choice([Yielding::Tensions, Yielding::TensionsAndRegister])
            .unwrap(),
    )
}

#[test]
fn random_melodies_over_a_chart_meet_no_clash() {
    let forms = FORMS.map(|text| (chart::parse(text).unwrap(), chart_of(text)));
    let mut random = fastrand::Rng::with_seed(1);
    let mut count = Count::default();
    for round in 0..MELODIES {
        let (chart, song) = &forms[round % forms.len()];
        let ticks = 960;
        let length = chart.length_ticks() / ticks * BEAT;
        let melody = melody(&mut random, length);
        let settings = settings(&mut random, Source::Chart);
        let played = play_steps(settings, Some(song), &steps(&melody), length, &[BEAT]);
        count.add(&played, &melody, |at| {
            // Chords come up to an eighth early.
            let chord = |at: u32| {
                let tick = u64::from(at) * u64::from(ticks) / u64::from(BEAT);
                let tick = u32::try_from(tick).unwrap() % chart.length_ticks();
                let begun = chart.changes.partition_point(|c| c.start_ticks <= tick);
                chart.changes[begun - 1].chord
            };
            [at, at + BEAT / 2].into_iter().filter_map(chord).collect()
        });
    }
    println!("{count:?}");
    assert_eq!(count.clashes, 0, "{count:?}");
    assert!(count.pairs > 500_000 && count.alone < 20, "{count:?}");
}

#[test]
fn random_melodies_over_played_roots_meet_no_clash() {
    let mut random = fastrand::Rng::with_seed(2);
    let mut count = Count::default();
    for _ in 0..MELODIES / 5 {
        let length = 32 * BEAT;
        let melody = melody(&mut random, length);
        let settings = settings(&mut random, Source::Roots);
        let roots: Vec<(u32, u8)> = (0..16).map(|n| (2 * n * BEAT, random.u8(36..48))).collect();
        let mut steps = steps(&melody);
        for (at, key) in &roots {
            let off = at + 2 * BEAT - 10;
            steps.extend([(*at, Step::On(*key)), (off, Step::Off(*key))]);
        }
        steps.sort_by_key(|(at, _)| *at);
        let played = play_steps(settings, None, &steps, length, &[BEAT]);
        count.add(&played, &melody, |at| {
            let begun = roots.partition_point(|(from, _)| *from <= at);
            let (_, key) = roots[begun - 1];
            let class = PitchClass::wrapping(i32::from(key));
            vec![pipeline::place_root(Key::C_MAJOR, class, Extras::NONE).chord]
        });
    }
    println!("{count:?}");
    assert_eq!(count.clashes, 0, "{count:?}");
    assert!(count.pairs > 100_000 && count.alone < 20, "{count:?}");
}
