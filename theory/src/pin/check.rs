//! What there is to tell of a voicing that a player has placed. Nothing of it is forbidden.
//! Imports `fit`.

use super::fit::{Misfit, misfits};
use crate::candidates::Register;
use crate::chord::Chord;
use crate::degree::Degree::{self, Five, Flat9, Flat13, Root, Sharp5, Sharp9, Three};
use crate::degree::DegreeSet;
use crate::own_shape::OwnShape;
use crate::pitch::SpelledPitch;
use crate::quality::Quality;
use crate::voicing::{Voice, Voicing};

/// An end of the register.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Edge {
    /// The lower end.
    Bottom,
    /// The upper end.
    Top,
}

/// One thing to tell of a voicing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// A guide tone is missing, or a note contradicts the symbol or has no place in the chord.
    Misfit(Misfit),
    /// A note lies a half step above a tone of the chord, in any octave.
    Clash {
        /// The note.
        note: SpelledPitch,
        /// Its degree.
        degree: Degree,
        /// The tone of the chord.
        against: Degree,
    },
    /// Two notes lie a minor ninth apart.
    MinorNinth {
        /// The lower one.
        low: SpelledPitch,
        /// The higher one.
        high: SpelledPitch,
    },
    /// The #9 lies a half step under the third.
    SharpNineInside,
    /// A hand spans more than it takes at ease, in semitones.
    Stretch {
        /// The span.
        span: u8,
        /// The widest span at ease.
        at_ease: u8,
    },
    /// The voicing is wider than one hand reaches, and takes two.
    TwoHands {
        /// The span of the voicing.
        span: u8,
        /// The widest span of one hand.
        at_most: u8,
    },
    /// Two hands do not reach it either.
    TooWide {
        /// The span of the wider hand.
        span: u8,
        /// The widest span of one hand.
        at_most: u8,
    },
    /// An interval lies too low to sound clear.
    LowInterval {
        /// The lower note.
        low: SpelledPitch,
        /// The higher note.
        high: SpelledPitch,
    },
    /// A note lies outside of the register.
    OutOfRegister {
        /// The note.
        note: SpelledPitch,
        /// The end beyond which it lies.
        edge: Edge,
    },
    /// The root sounds, which is the bass's.
    RootSounds,
}

/// All there is to tell of a voicing over a chord in a register with its hand, the gravest first.
/// Nothing about a voicing that is as the textures are.
#[must_use]
pub fn check(voicing: &Voicing, chord: &Chord, register: Register) -> Vec<Verdict> {
    verdicts(voicing, chord, register).collect()
}

/// As [`check`], one after the other. Nothing allocates.
pub fn verdicts(
    voicing: &Voicing,
    chord: &Chord,
    register: Register,
) -> impl Iterator<Item = Verdict> {
    let spelled = |voice: Voice| voice.degree.over(chord.root).at(voice.note);
    let sounding = voicing.degrees();
    let muddy = voicing.low_pairs();
    let low_intervals = muddy.map(move |(low, high)| Verdict::LowInterval {
        low: spelled(low),
        high: spelled(high),
    });
    let inside = voicing.sharp_nine_inside();
    misfits(voicing, chord)
        .map(Verdict::Misfit)
        .chain(clashes(voicing, chord))
        .chain(minor_ninths(voicing, chord))
        .chain(inside.then_some(Verdict::SharpNineInside))
        .chain(spans(voicing, register))
        .chain(low_intervals)
        .chain(out_of_register(voicing, chord, register))
        .chain(root_sounds(chord, sounding).then_some(Verdict::RootSounds))
}

/// The notes that clash with a tone of the chord. A note that does not fit the chord is told of
/// already.
fn clashes(voicing: &Voicing, chord: &Chord) -> impl Iterator<Item = Verdict> {
    let sounding = voicing.degrees();
    voicing.voices().iter().filter_map(move |voice| {
        let (note, degree) = (voice.degree.over(chord.root).at(voice.note), voice.degree);
        let told = |misfit: Misfit| match misfit {
            Misfit::NoPlace(other) | Misfit::Against { note: other, .. } => {
                other.midi() == note.midi()
            }
            Misfit::NoThird(_) | Misfit::NoSeventh(_) => false,
        };
        let against = clash(degree, chord, sounding)?;
        (!misfits(voicing, chord).any(told)).then_some(Verdict::Clash {
            note,
            degree,
            against,
        })
    })
}

/// The tone of the chord that a degree clashes with: an avoid note lies a half step above a chord
/// tone. What the symbol states does not clash. Over a dominant, b9 and b13 do not clash with a
/// root and a fifth that are silent (common practice, no published source).
fn clash(degree: Degree, chord: &Chord, sounding: DegreeSet) -> Option<Degree> {
    let stated = chord.degrees();
    if stated.contains(degree) {
        return None;
    }
    let dominant = chord.quality.is_dominant();
    let tones = stated.intersection(chord.quality.degrees());
    let above = |tone: &Degree| {
        let step = degree.interval().semitones - tone.interval().semitones;
        step.rem_euclid(12) == 1
    };
    let borne = |tone: Degree| {
        let pair = matches!((degree, tone), (Flat9, Root) | (Flat13 | Sharp5, Five));
        dominant && pair && !sounding.contains(tone)
    };
    if degree == Sharp9 && !dominant && tones.contains(Three) {
        return Some(Three);
    }
    tones.iter().filter(above).find(|tone| !borne(*tone))
}

/// Minor ninths between any two voices, but for a b9 over the root of a dominant (common practice,
/// no published source).
pub(crate) fn minor_ninths(voicing: &Voicing, chord: &Chord) -> impl Iterator<Item = Verdict> {
    let dominant = chord.quality.is_dominant();
    let root = chord.root;
    let voices = voicing.voices();
    let pairs = voices.iter().enumerate().flat_map(move |(at, low)| {
        let above = voices.get(at + 1..).unwrap_or_default().iter();
        above.map(move |high| (low, high))
    });
    let ninth = move |(low, high): &(&Voice, &Voice)| {
        let apart = high.note.number() - low.note.number();
        let borne = dominant && low.degree == Root && high.degree == Flat9;
        apart > 12 && apart % 12 == 1 && !borne
    };
    pairs.filter(ninth).map(move |(low, high)| {
        let [low, high] = [low, high].map(|voice| voice.degree.over(root).at(voice.note));
        Verdict::MinorNinth { low, high }
    })
}

/// What there is to tell of the reach of the hands.
fn spans(voicing: &Voicing, register: Register) -> impl Iterator<Item = Verdict> {
    let (at_ease, at_most) = (register.hand.at_ease, register.hand.at_most);
    let mut parted = *voicing;
    parted.left_hand = register.hand.left_of_two(voicing);
    let widest = parted.left_span().max(parted.right_span());
    let two = parted.right_hand() > 0;
    let span = voicing.span();
    let two_hands = (two && widest <= at_most).then_some(Verdict::TwoHands { span, at_most });
    let too_wide = (widest > at_most).then_some(Verdict::TooWide {
        span: widest,
        at_most,
    });
    let stretch = (widest > at_ease && widest <= at_most).then_some(Verdict::Stretch {
        span: widest,
        at_ease,
    });
    [two_hands, too_wide, stretch].into_iter().flatten()
}

/// The notes beyond the ends of the register. The right hand of two lies higher.
fn out_of_register(
    voicing: &Voicing,
    chord: &Chord,
    register: Register,
) -> impl Iterator<Item = Verdict> {
    let two = voicing.span() > register.hand.at_most;
    let headroom = if two {
        OwnShape::leeway(true).headroom
    } else {
        0
    };
    let top = register.highest.semitones() + i32::from(headroom);
    let root = chord.root;
    voicing.voices().iter().filter_map(move |voice| {
        let edge = if voice.note < register.lowest {
            Edge::Bottom
        } else if voice.note.semitones() > top {
            Edge::Top
        } else {
            return None;
        };
        let note = voice.degree.over(root).at(voice.note);
        Some(Verdict::OutOfRegister { note, edge })
    })
}

/// Whether the root sounds in a chord whose rootless voicings leave it out.
fn root_sounds(chord: &Chord, sounding: DegreeSet) -> bool {
    sounding.contains(Root) && !keeps_root(chord)
}

/// Whether rootless voicings of a chord may hold its root: half-diminished and diminished chords
/// have it in the place of their ninth.
pub(crate) const fn keeps_root(chord: &Chord) -> bool {
    matches!(
        chord.quality,
        Quality::HalfDiminished | Quality::Diminished | Quality::DiminishedSeventh
    )
}
