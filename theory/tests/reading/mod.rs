//! How well voicings are read: stock progressions in twelve keys, voiced in
//! several textures, and how often the first reading is the chord that was meant,
//! by family, with the key alone and with the chords around it too.
//!
//! The points of the reader are set with one group of progressions, in the planner's four
//! notes, open and fourths and in six lays of this module. They are judged by another
//! group, in the planner's other textures and in shells, and by a third one that was
//! written before the points were last set. Of the judging groups, only totals are
//! printed.

mod lays;
mod progressions;

use guidehand_theory::chart;
use guidehand_theory::chord::Chord;
use guidehand_theory::degree::{Degree, DegreeSet};
use guidehand_theory::key::{self, Key, Mode};
use guidehand_theory::pipeline::ChordInKey;
use guidehand_theory::pitch::{MidiNote, PitchClass};
use guidehand_theory::quality::{Extent, Quality};
use guidehand_theory::read::{Context, Reading, read};
use guidehand_theory::shape::Texture;
use guidehand_theory::symbol::{Sign, Symbol};
use guidehand_theory::tension;
use guidehand_theory::voicing::Voicing;
use lays::Laid;
use progressions::{FRESH, JUDGING, Progression, TRAINING};
use std::collections::BTreeMap;
use std::fmt;

/// The families of chords that a reader tells apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Family {
    /// 7, altered or not.
    Dominant,
    /// Major triads, sixths and major sevenths.
    Major,
    /// m7, and minor triads that are not tonics.
    MinorSeventh,
    /// m6, m(maj7), and the minor triad of the tonic.
    MinorTonic,
    /// m7b5
    HalfDiminished,
    /// dim7
    Diminished,
    /// 7sus4
    Suspended,
}

impl Family {
    /// Every family.
    pub const ALL: [Family; 7] = [
        Family::Dominant,
        Family::Major,
        Family::MinorSeventh,
        Family::MinorTonic,
        Family::HalfDiminished,
        Family::Diminished,
        Family::Suspended,
    ];

    fn of(placed: &ChordInKey) -> Family {
        let key = placed.function.key;
        let tonic = key.mode == Mode::Minor && placed.function.above == 0;
        match placed.chord.quality {
            Quality::Dominant | Quality::Altered => Family::Dominant,
            Quality::DominantSuspended | Quality::Suspended => Family::Suspended,
            Quality::MinorSixth | Quality::MinorMajorSeventh => Family::MinorTonic,
            Quality::Minor if tonic => Family::MinorTonic,
            Quality::Minor | Quality::MinorSeventh => Family::MinorSeventh,
            Quality::HalfDiminished => Family::HalfDiminished,
            Quality::Diminished | Quality::DiminishedSeventh => Family::Diminished,
            _ => Family::Major,
        }
    }

    const fn name(self) -> &'static str {
        match self {
            Family::Dominant => "dominants",
            Family::Major => "major",
            Family::MinorSeventh => "minor sevenths",
            Family::MinorTonic => "minor tonics",
            Family::HalfDiminished => "half-diminished",
            Family::Diminished => "diminished",
            Family::Suspended => "suspended",
        }
    }
}

/// A voicing that is to be read, with what is around it.
struct Case {
    placed: ChordInKey,
    voicing: Voicing,
    before: Chord,
    after: Chord,
    laid: Laid,
}

/// Every progression on these tonics, going round, in each of these lays.
fn cases(progressions: &[Progression], lays: &[Laid], tonics: &[i32]) -> Vec<Case> {
    let mut cases = Vec::new();
    for (home, text) in progressions {
        let home = Key::parse(home).unwrap();
        let text = format!("| {text} |");
        let chart = chart::parse(&text).unwrap_or_else(|e| panic!("{text}: {e:?}"));
        for tonic in tonics.iter().copied().map(PitchClass::wrapping) {
            let key = Key::usual(tonic, home.mode);
            let fifths = key.tonic.fifths() - home.tonic.fifths();
            let chords = chart.changes.iter().map(|change| change.chord);
            let chords: Vec<Option<Chord>> = chords
                .map(|chord| chord.map(|c| c.transposed(fifths)))
                .collect();
            let functions = key::analyse(&chords, Some(key));
            let placed: Vec<Option<ChordInKey>> = (chords.iter().zip(functions))
                .map(|(chord, function)| {
                    let (chord, function) = ((*chord)?, function?);
                    Some(ChordInKey::new(chord, function))
                })
                .collect();
            for laid in lays {
                add(&mut cases, &placed, *laid);
            }
        }
    }
    cases
}

fn add(cases: &mut Vec<Case>, placed: &[Option<ChordInKey>], laid: Laid) {
    let voicings = laid.lay(placed);
    let placed: Vec<ChordInKey> = placed.iter().flatten().copied().collect();
    assert_eq!(placed.len(), voicings.len());
    let count = placed.len();
    for (i, (here, voicing)) in placed.iter().zip(voicings).enumerate() {
        // Where a chord has no triad above it, this is the texture of two hands.
        let dominant = Family::of(here) == Family::Dominant;
        let for_dominants = [Laid::Triads, Laid::Planned(Texture::UpperStructure)];
        let written = !here.chord.written.is_empty() || here.chord.extent != Extent::Plain;
        let settled = laid == Laid::Triads && (written || here.chord.quality == Quality::Altered);
        if for_dominants.contains(&laid) && (!dominant || settled) {
            continue;
        }
        cases.push(Case {
            placed: *here,
            voicing,
            before: placed[(i + count - 1) % count].chord,
            after: placed[(i + 1) % count].chord,
            laid,
        });
    }
}

/// What a voicing is meant as.
struct Meant {
    chord: Chord,
    sounds: DegreeSet,
}

impl Meant {
    fn of(case: &Case) -> Meant {
        let sounds = case.voicing.degrees();
        Meant {
            chord: tension::sounding(&case.placed.chord, sounds),
            sounds,
        }
    }
}

/// The right reading: the root, every note by its name, and the quality where
/// its guide tones sound.
fn is_right(reading: &Reading, case: &Case) -> bool {
    let meant = Meant::of(case);
    let chord = &reading.chord;
    chord.root.class() == meant.chord.root.class()
        && reading.degrees == meant.sounds
        && (!is_guided(chord, meant.sounds) || chord.quality == meant.chord.quality)
}

/// Whether both guide tones sound.
fn is_guided(chord: &Chord, sounds: DegreeSet) -> bool {
    let has = |degree: Option<Degree>| degree.is_some_and(|d| sounds.contains(d));
    has(chord.third()) && has(chord.seventh())
}

/// What is known around the notes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Known {
    /// The key.
    Key,
    /// The key and the chords before and after.
    Everything,
}

impl Known {
    fn context(self, case: &Case) -> Context {
        let key = Context {
            key: Some(case.placed.function.key),
            ..Context::default()
        };
        match self {
            Known::Key => key,
            Known::Everything => Context {
                before: Some(case.before),
                after: Some(case.after),
                ..key
            },
        }
    }
}

/// How many were right, of how many.
#[derive(Clone, Copy, Debug, Default)]
pub struct Share {
    /// Right first readings.
    pub right: usize,
    /// Voicings.
    pub of: usize,
}

impl Share {
    /// In percent.
    #[must_use]
    pub fn percent(self) -> f64 {
        let count = |n| f64::from(u32::try_from(n).unwrap_or(u32::MAX));
        100.0 * count(self.right) / count(self.of.max(1))
    }
}

/// What was counted over one set of voicings.
#[derive(Debug, Default)]
pub struct Counted {
    families: BTreeMap<(Family, Known), Share>,
    /// What each of the same notes in the same context was meant as, how often.
    meant: BTreeMap<(Known, String), BTreeMap<String, usize>>,
    /// What was read wrongly in C, with how often: for setting points by the training
    /// set.
    pub wrong: BTreeMap<String, usize>,
}

impl Counted {
    /// The share of all voicings.
    #[must_use]
    pub fn all(&self, known: Known) -> Share {
        let mut all = Share::default();
        for ((_, at), share) in &self.families {
            if *at == known {
                all.right += share.right;
                all.of += share.of;
            }
        }
        all
    }

    /// The share of a family.
    #[must_use]
    pub fn family(&self, family: Family, known: Known) -> Share {
        let share = self.families.get(&(family, known));
        share.copied().unwrap_or_default()
    }

    /// The share that no reader can exceed that hears all octaves alike: of the same
    /// notes in the same context only one meaning can be the first reading.
    #[must_use]
    pub fn ceiling(&self, known: Known) -> Share {
        let mut ceiling = Share::default();
        for ((at, _), meant) in &self.meant {
            if *at == known {
                ceiling.right += meant.values().max().copied().unwrap_or_default();
                ceiling.of += meant.values().sum::<usize>();
            }
        }
        ceiling
    }

    /// Records what the notes of a case are meant as.
    fn mean(&mut self, case: &Case, known: Known, notes: &[MidiNote]) {
        let key = case.placed.function.key;
        let chord = |chord: &Chord| (key.above(chord.root.class()), chord.quality);
        let around = [&case.before, &case.after].map(chord);
        let around = (known == Known::Everything).then_some(around);
        let lowest = notes.iter().min().copied().unwrap_or(MidiNote::MIN);
        let mut above: Vec<u8> = notes.iter().map(|n| n.number() - lowest.number()).collect();
        above.sort_unstable();
        let lies = (key.above(lowest.class()), above);
        let evidence = format!("{:?} {around:?} {lies:?}", key.mode);
        let meant = Meant::of(case);
        let quality = is_guided(&meant.chord, meant.sounds).then_some(meant.chord.quality);
        let root = key.above(meant.chord.root.class());
        let meaning = format!("{root} {quality:?} {}", meant.sounds);
        let meant = self.meant.entry((known, evidence)).or_default();
        *meant.entry(meaning).or_default() += 1;
    }

    /// Counts one reading and says whether it was right.
    fn count(&mut self, case: &Case, known: Known, lost: &str) -> bool {
        let notes: Vec<MidiNote> = case.voicing.notes().collect();
        self.mean(case, known, &notes);
        let context = known.context(case);
        let readings = read(&notes, &context);
        let right = readings.first().is_some_and(|r| is_right(r, case));
        let family = (Family::of(&case.placed), known);
        let share = self.families.entry(family).or_default();
        share.right += usize::from(right);
        share.of += 1;
        if !right && case.placed.function.key.tonic.class() == PitchClass::wrapping(0) {
            let says = |chord: &Chord| Symbol(chord, Sign::Ascii).to_string();
            let read = readings.iter().take(3);
            let read: Vec<String> = read
                .map(|r| format!("{} {}", says(&r.chord), r.points))
                .collect();
            let around = format!("{} _ {}", says(&case.before), says(&case.after));
            let meant = readings
                .iter()
                .find(|r| is_right(r, case))
                .map(|r| r.points);
            let line = format!(
                "{known:?} {lost}{}: {} {} in {around}: {} not {meant:?}",
                case.laid.name(),
                says(&case.placed.chord),
                case.voicing.degrees(),
                read.join(", "),
            );
            *self.wrong.entry(line).or_default() += 1;
        }
        right
    }

    fn of(progressions: &[Progression], lays: &[Laid], tonics: &[i32]) -> Counted {
        let mut counted = Counted::default();
        for case in cases(progressions, lays, tonics) {
            let right = counted.count(&case, Known::Key, "");
            counted.count(&case, Known::Everything, if right { "lost " } else { "" });
        }
        counted
    }
}

impl fmt::Display for Counted {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let row = |f: &mut fmt::Formatter<'_>, name: &str, key: Share, all: Share| {
            writeln!(
                f,
                "  {name:16} {:6} {:8.1} % {:8.1} %",
                key.of,
                key.percent(),
                all.percent()
            )
        };
        for family in Family::ALL {
            let share = |known| self.family(family, known);
            row(
                f,
                family.name(),
                share(Known::Key),
                share(Known::Everything),
            )?;
        }
        let all = |known| self.all(known);
        row(f, "all", all(Known::Key), all(Known::Everything))?;
        let ceiling = |known| self.ceiling(known);
        row(
            f,
            "best possible",
            ceiling(Known::Key),
            ceiling(Known::Everything),
        )
    }
}

/// All sets.
#[derive(Debug)]
pub struct Report {
    /// The textures and progressions that the points are set with.
    pub training: Counted,
    /// Other textures, over other progressions.
    pub judging: Counted,
    /// Progressions that are in neither.
    pub fresh: Counted,
}

/// Reads everything, in twelve keys: seconds where the code is optimised.
#[must_use]
#[allow(dead_code, reason = "for the bench; tests read on two tonics")]
pub fn measure() -> Report {
    let tonics: Vec<i32> = (0..12).collect();
    measure_on(&tonics)
}

/// Reads everything on these tonics, in semitones above C.
#[must_use]
pub fn measure_on(tonics: &[i32]) -> Report {
    Report {
        training: Counted::of(&TRAINING, &Laid::TRAINING, tonics),
        judging: Counted::of(&JUDGING, &Laid::JUDGING, tonics),
        fresh: Counted::of(&FRESH, &Laid::FRESH, tonics),
    }
}

impl fmt::Display for Report {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let head = "voicings   key alone   with chords";
        writeln!(f, "points set with     {head}")?;
        write!(f, "{}", self.training)?;
        writeln!(f, "judged by           {head}")?;
        write!(f, "{}", self.judging)?;
        writeln!(f, "judged once more by {head}")?;
        write!(f, "{}", self.fresh)
    }
}
