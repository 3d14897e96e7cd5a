//! Slash chords: what a chord over a bass of its own is. The symbol says what is written, and
//! this module says what a musician takes it for. Imports `chord` and what is above it.
//!
//! The table is common practice, no published source.

use crate::chord::{Chord, Triad};
use crate::degree::Degree::{
    self, Eleven, Flat5, Flat7, Flat9, Flat13, Nine, Seven, Sharp5, Sharp11, Six, Thirteen, Three,
};
use crate::degree::DegreeSet;
use crate::pitch::NoteName;
use crate::quality::{Extent, Quality};

/// What a chord over a foreign bass is.
#[derive(Clone, Copy, Debug)]
enum Is {
    /// A chord on the bass, with these degrees written.
    OnTheBass(Quality, &'static [Degree]),
    /// The chord itself over its sixth or seventh, which joins it, with these
    /// degrees written.
    Itself(Quality, &'static [Degree]),
}

use Is::{Itself, OnTheBass};

/// Chords over a foreign bass: the quality, the semitones from the bass up to the root, and
/// what the two are. A seventh chord without a row is treated as its triad, and the rest is
/// added. A chord without any row stays as it is written.
static TABLE: [(Quality, u8, Is); 40] = [
    // F/G: the suspended dominant.
    (
        Quality::Major,
        10,
        OnTheBass(Quality::DominantSuspended, &[Nine]),
    ),
    // C/B and C/Bb: over their own sevenths.
    (Quality::Major, 1, Itself(Quality::MajorSeventh, &[])),
    (Quality::Major, 2, Itself(Quality::Dominant, &[])),
    // C/A
    (Quality::Major, 3, OnTheBass(Quality::MinorSeventh, &[])),
    // E/C
    (
        Quality::Major,
        4,
        OnTheBass(Quality::MajorSeventh, &[Sharp5]),
    ),
    // Gb/C
    (
        Quality::Major,
        6,
        OnTheBass(Quality::Dominant, &[Flat9, Sharp11]),
    ),
    // G/C: no third, as it is often a dominant over the tonic.
    (Quality::Major, 7, OnTheBass(Quality::MajorSeventh, &[Nine])),
    // A/C
    (
        Quality::Major,
        9,
        OnTheBass(Quality::Dominant, &[Flat9, Thirteen]),
    ),
    // B/C
    (Quality::Major, 11, OnTheBass(Quality::Diminished, &[Seven])),
    // Am/G#, Am/G, Am/F#: a line under the tonic.
    (Quality::Minor, 1, Itself(Quality::MinorMajorSeventh, &[])),
    (Quality::Minor, 2, Itself(Quality::MinorSeventh, &[])),
    (Quality::Minor, 3, Itself(Quality::MinorSixth, &[])),
    // Em/C
    (Quality::Minor, 4, OnTheBass(Quality::MajorSeventh, &[])),
    // F#m/C
    (
        Quality::Minor,
        6,
        OnTheBass(Quality::Dominant, &[Flat9, Sharp11, Thirteen]),
    ),
    // Dm/G: the suspended dominant.
    (
        Quality::Minor,
        7,
        OnTheBass(Quality::DominantSuspended, &[Nine]),
    ),
    // Fm/G
    (
        Quality::Minor,
        10,
        OnTheBass(Quality::DominantSuspended, &[Flat9]),
    ),
    // Bm/C
    (
        Quality::Minor,
        11,
        OnTheBass(Quality::MajorSeventh, &[Nine, Sharp11]),
    ),
    // Cm6/F
    (
        Quality::MinorSixth,
        7,
        OnTheBass(Quality::Dominant, &[Nine]),
    ),
    // Bdim/Bb, Bdim/G, Bdim/E and Bdim/C#: dominants with or without b9.
    (
        Quality::Diminished,
        1,
        OnTheBass(Quality::Dominant, &[Flat9]),
    ),
    (Quality::Diminished, 4, OnTheBass(Quality::Dominant, &[])),
    (
        Quality::Diminished,
        7,
        OnTheBass(Quality::Dominant, &[Flat9]),
    ),
    (
        Quality::Diminished,
        10,
        OnTheBass(Quality::Dominant, &[Flat9]),
    ),
    // Bdim/A and Bdim/G#: over their own sevenths.
    (Quality::Diminished, 2, Itself(Quality::HalfDiminished, &[])),
    (
        Quality::Diminished,
        3,
        Itself(Quality::DiminishedSeventh, &[]),
    ),
    (
        Quality::DiminishedSeventh,
        1,
        OnTheBass(Quality::Dominant, &[Flat9]),
    ),
    (
        Quality::DiminishedSeventh,
        4,
        OnTheBass(Quality::Dominant, &[Flat9]),
    ),
    (
        Quality::DiminishedSeventh,
        7,
        OnTheBass(Quality::Dominant, &[Flat9]),
    ),
    (
        Quality::DiminishedSeventh,
        10,
        OnTheBass(Quality::Dominant, &[Flat9]),
    ),
    // Bm7b5/G
    (
        Quality::HalfDiminished,
        4,
        OnTheBass(Quality::Dominant, &[Nine]),
    ),
    // Dm7b5/G
    (
        Quality::HalfDiminished,
        7,
        OnTheBass(Quality::DominantSuspended, &[Flat9]),
    ),
    // Bbm7b5/C
    (
        Quality::HalfDiminished,
        10,
        OnTheBass(Quality::Dominant, &[Flat9, Flat13]),
    ),
    // Caug/B and Caug/Bb: over their own sevenths.
    (
        Quality::Augmented,
        1,
        Itself(Quality::MajorSeventh, &[Sharp5]),
    ),
    (Quality::Augmented, 2, Itself(Quality::Dominant, &[Sharp5])),
    // Caug/A and, as an augmented triad has three roots, Caug/F and Caug/C#.
    (
        Quality::Augmented,
        3,
        OnTheBass(Quality::MinorMajorSeventh, &[]),
    ),
    (
        Quality::Augmented,
        7,
        OnTheBass(Quality::MinorMajorSeventh, &[]),
    ),
    (
        Quality::Augmented,
        11,
        OnTheBass(Quality::MinorMajorSeventh, &[]),
    ),
    // Caug/G and Caug/Eb
    (
        Quality::Augmented,
        5,
        OnTheBass(Quality::DominantSuspended, &[Flat9, Thirteen]),
    ),
    (
        Quality::Augmented,
        9,
        OnTheBass(Quality::DominantSuspended, &[Flat9, Thirteen]),
    ),
    // Caug/F# and Caug/D
    (
        Quality::Augmented,
        6,
        OnTheBass(Quality::Dominant, &[Nine, Sharp11]),
    ),
    (
        Quality::Augmented,
        10,
        OnTheBass(Quality::Dominant, &[Nine, Sharp11]),
    ),
];

/// What a written chord is. A chord without a slash, or over one of its own tones, is itself. A
/// triad over a foreign bass is what the two sound like together: F/G is a suspended dominant
/// on G, and Am/G is an Am7 over its seventh. The bass stays, and the triad is kept as the
/// chord's `upper`, so that it sounds as a whole. A dominant over a foreign bass is a dominant
/// over a pedal. The work is bounded and nothing allocates.
#[must_use]
pub fn meant(written: &Chord) -> Chord {
    told(written).unwrap_or(*written)
}

fn told(written: &Chord) -> Option<Chord> {
    let bass = written.bass?;
    let upper = Triad::new(written.root, triad(written.quality)?)?;
    let above = written.root.class().above(bass.class());
    let stated = written.degrees();
    let is_own = own_tones(written)
        .iter()
        .any(|d| d.class(written.root) == bass.class());
    if is_own || written.upper.is_some() || written.third().is_none() {
        return None;
    }
    let row = |quality| {
        let mut rows = TABLE.iter();
        rows.find(|(of, semitones, _)| *of == quality && *semitones == above)
    };
    let is_triad = written.seventh().is_none();
    let (_, _, is) = row(written.quality).or_else(|| match written.quality {
        Quality::Sixth | Quality::MajorSeventh => row(Quality::Major),
        Quality::MinorSixth | Quality::MinorSeventh | Quality::MinorMajorSeventh => {
            row(Quality::Minor)
        }
        _ => None,
    })?;
    let mut chord = match is {
        OnTheBass(quality, degrees) => Chord::new(bass, *quality).with(degrees),
        // A chord that has a seventh or a sixth has no room for another one.
        Itself(..) if !is_triad => return None,
        Itself(quality, degrees) => Chord::new(written.root, *quality).with(degrees),
    };
    for degree in stated.iter() {
        chord = add(chord, degree.over(written.root))?;
    }
    if written.quality == Quality::Major && above == 7 {
        chord.omitted = DegreeSet::of(&[Three]);
    }
    chord.written = chord.written.minus(chord.quality.degrees());
    count(&mut chord);
    chord.bass = Some(bass);
    chord.upper = Some(upper);
    Some(chord)
}

/// The triad that a chord contains. None for dominants, which stay what they are, and for
/// chords without a third.
const fn triad(quality: Quality) -> Option<Quality> {
    match quality {
        Quality::Major | Quality::Sixth | Quality::MajorSeventh => Some(Quality::Major),
        Quality::Minor
        | Quality::MinorSixth
        | Quality::MinorSeventh
        | Quality::MinorMajorSeventh => Some(Quality::Minor),
        Quality::HalfDiminished | Quality::Diminished | Quality::DiminishedSeventh => {
            Some(Quality::Diminished)
        }
        Quality::Augmented => Some(Quality::Augmented),
        _ => None,
    }
}

/// The tones that a bass may take without making another chord: those of the quality, and a
/// written fifth, sixth or seventh. A ninth or an eleventh in the bass makes another chord:
/// Dm11/G is suspended.
fn own_tones(chord: &Chord) -> DegreeSet {
    const WRITTEN: DegreeSet = DegreeSet::of(&[Flat5, Sharp5, Six, Flat7, Seven]);
    let written = chord.written.intersection(WRITTEN);
    chord.quality.degrees().union(written)
}

/// The chord with one note of the written chord named over it. None if the note has no fitting
/// name there, so that the two are not this chord.
fn add(chord: Chord, note: NoteName) -> Option<Chord> {
    let name = chord.name(note)?;
    let known = chord.quality.degrees().union(chord.written);
    let fits = match name {
        Flat9 | Flat13 => chord.quality == Quality::DominantSuspended,
        Sharp11 => chord.quality == Quality::MajorSeventh,
        Eleven => chord.quality.is_minor(),
        other => !other.is_altered(),
    };
    (fits || known.contains(name)).then(|| chord.with(&[name]))
}

/// Turns written degrees into an extent: 9 for a written ninth, 13 for a ninth and a
/// thirteenth.
fn count(chord: &mut Chord) {
    if chord.quality.row().extended.is_none() || !chord.written.contains(Nine) {
        return;
    }
    chord.written = chord.written.without(Nine);
    chord.extent = Extent::Ninth;
    if chord.written.contains(Thirteen) && !chord.quality.is_minor() {
        chord.written = chord.written.without(Thirteen);
        chord.extent = Extent::Thirteenth;
    }
}

/// What the chords of a chart are, each as [`meant`] finds it by itself. There is one
/// exception: a minor triad at the start of a line that descends below it or within it (Am,
/// Am/G#, Am/G, Am/F#) takes its ninth and no sixth, because the line reaches the sixth itself.
/// `None` is silence.
#[must_use]
pub fn all_meant(written: &[Option<Chord>]) -> Vec<Option<Chord>> {
    let next = |at: usize, chord: &Chord| {
        let mut later = written.iter().skip(at + 1).flatten();
        later.find(|next| *next != chord).copied()
    };
    let chords = written.iter().enumerate();
    chords
        .map(|(at, chord)| {
            let chord = chord.as_ref()?;
            let line = next(at, chord).and_then(|next| heads_a_line(chord, &next));
            Some(line.unwrap_or_else(|| meant(chord)))
        })
        .collect()
}

fn heads_a_line(chord: &Chord, next: &Chord) -> Option<Chord> {
    let triad = Chord::new(chord.root, Quality::Minor);
    if *chord != triad || next.root.class() != chord.root.class() {
        return None;
    }
    let below = next.bass.map(|bass| bass.class().above(chord.root.class()));
    let line = match next.quality {
        Quality::Minor => matches!(below, Some(10 | 11)),
        Quality::MinorMajorSeventh => matches!(below, None | Some(11)),
        Quality::MinorSeventh => below == Some(10),
        _ => false,
    };
    line.then(|| triad.with(&[Nine]))
}

#[cfg(test)]
mod tests;
