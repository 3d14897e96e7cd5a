//! Reading: from sounding notes to the chords that they can be, in context. Imports `key`,
//! `tension`, `voicing` and what is above them.
//!
//! The points are common practice, no published source. A reading gains points for its guide
//! tones, for a layout like that of rootless voicings, for its place in the key and for the
//! chords around it. It loses points for rare tensions. The work is bounded and nothing
//! allocates, so the audio thread may read.

mod choice;
mod context;
mod dress;
mod harmonic_type;
mod home;
mod lay;
mod notes;
mod palette;
mod reason;
mod steps;

pub use context::Context;
pub use reason::{Progression, Reason};

use crate::chord::{Chord, Triad};
use crate::degree::{Degree, DegreeSet};
use crate::key::{Key, Mode};
use crate::pitch::{MidiNote, NoteName, PitchClass};
use crate::quality::Quality;
use crate::tension;
use crate::voicing::Position;
use choice::Chosen;
use notes::SoundingNotes;
use palette::{PALETTES, Palette};
use tinyvec::ArrayVec;

/// One thing that the notes can be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Reading {
    /// The chord, with everything that sounds written into it.
    pub chord: Chord,
    /// What sounds, by name.
    pub degrees: DegreeSet,
    /// The position, if the notes lie as a rootless voicing does.
    pub position: Option<Position>,
    /// Chord tones that do not sound, such as the root of a rootless voicing.
    pub omitted: DegreeSet,
    /// More points are better. Only readings of the same notes can be compared.
    pub points: i32,
    /// The confidence, as its share of all readings in percent.
    pub confidence: u8,
    /// Why.
    pub reason: Reason,
}

impl Default for Reading {
    fn default() -> Self {
        Reading {
            chord: Chord::new(NoteName::from_fifths(0), Quality::Major),
            degrees: DegreeSet::EMPTY,
            position: None,
            omitted: DegreeSet::EMPTY,
            points: i32::MIN,
            confidence: 0,
            reason: Reason::default(),
        }
    }
}

/// The most readings that are kept.
pub const MOST_READINGS: usize = 8;

/// Readings, the best first.
pub type Readings = ArrayVec<[Reading; MOST_READINGS]>;

/// What the notes can be, the best reading first. There is none for fewer than two different
/// notes, or if nothing fits. The order of the notes does not matter.
#[must_use]
pub fn read(notes: &[MidiNote], context: &Context) -> Readings {
    let mut readings = Readings::default();
    let heard = SoundingNotes::of(notes);
    if heard.count < 2 {
        return readings;
    }
    for root in (0..12).map(PitchClass::wrapping) {
        for palette in &PALETTES {
            if let Some(reading) = heard.as_chord(root, palette, context) {
                keep(&mut readings, reading);
            }
        }
    }
    weigh(&mut readings);
    readings
}

/// Inserts a reading after those with as many points or more.
fn keep(readings: &mut Readings, reading: Reading) {
    let same = readings.iter().position(|r| {
        r.chord.root.class() == reading.chord.root.class() && r.degrees == reading.degrees
    });
    if let Some(at) = same {
        if readings.get(at).is_some_and(|r| r.points >= reading.points) {
            return;
        }
        readings.remove(at);
    }
    let at = readings
        .iter()
        .position(|r| r.points < reading.points)
        .unwrap_or(readings.len());
    if readings.len() == MOST_READINGS {
        if at == MOST_READINGS {
            return;
        }
        readings.pop();
    }
    readings.insert(at, reading);
}

/// Turns points into percent. A reading with ten points more is twice as likely.
fn weigh(readings: &mut Readings) {
    let best = readings.first().map_or(0, |r| r.points);
    // A million for the best reading, halved for each ten points less, in even steps between.
    let weight = |points: i32| {
        let less = (best - points).max(0);
        let halvings = u32::try_from(less / 10).unwrap_or(31).min(31);
        let step = u64::try_from(less % 10).unwrap_or(0);
        ((1_000_000_u64 >> halvings) * (20 - step)) / 20
    };
    let total: u64 = readings.iter().map(|r| weight(r.points)).sum();
    for reading in readings.iter_mut() {
        let percent = weight(reading.points) * 100 / total.max(1);
        reading.confidence = u8::try_from(percent).unwrap_or(100);
    }
}

impl SoundingNotes {
    /// The notes as one kind of chord on a root. None if a note does not fit.
    fn as_chord(&self, root: PitchClass, palette: &Palette, context: &Context) -> Option<Reading> {
        let mut degrees = DegreeSet::EMPTY;
        for interval in self.above(root) {
            degrees = degrees.with(palette.degree(interval)?);
        }
        degrees = palette.named(degrees, context.charted.filter(|c| c.root.class() == root));
        if !palette.is_spoken(degrees, self.count) {
            return None;
        }
        let name = spell(root, palette.quality, context);
        let mut bare = Chord::new(name, palette.quality);
        // An altered fifth is no tension beside the chord. It is written in the symbol.
        let fifths = DegreeSet::of(&[Degree::Flat5, Degree::Sharp5]).intersection(degrees);
        bare.written = fifths.minus(palette.quality.degrees());
        let chord = tension::sounding(&bare, degrees);
        let position = self.position(root, palette, degrees);
        let omitted = palette.quality.degrees().minus(degrees);
        let (points, reason) = self.points(&chord, &bare, palette, degrees, context);
        Some(Reading {
            chord,
            degrees,
            position,
            omitted,
            points,
            confidence: 0,
            reason,
        })
    }

    /// Whether the notes are a major or minor triad and nothing more.
    fn is_plain_triad(&self, palette: &Palette, degrees: DegreeSet) -> bool {
        let triad = matches!(palette.quality, Quality::Major | Quality::Minor);
        triad && self.count == 3 && degrees == palette.quality.degrees()
    }

    /// The position, if the notes lie as rootless voicings do: in close position with a guide
    /// tone lowest, with both guide tones lowest, or as a stack of fourths.
    fn position(
        &self,
        root: PitchClass,
        palette: &Palette,
        degrees: DegreeSet,
    ) -> Option<Position> {
        let named = |class: PitchClass| palette.degree(class.above(root));
        let (lowest, second) = (named(self.lowest), named(self.second));
        let close = self.span < 12 && (!degrees.contains(Degree::Root) || palette.keeps_root);
        let (third, seventh) = (palette.third, palette.seventh);
        if self.in_fourths && palette.stacks_on(lowest) {
            Some(Position::Fourths)
        } else if lowest == third && (close || second == seventh) {
            Some(Position::Third)
        } else if lowest == seventh && (close || second == third) {
            Some(Position::Seventh)
        } else {
            None
        }
    }

    /// The points for a reading, and what speaks for it most.
    fn points(
        &self,
        chord: &Chord,
        bare: &Chord,
        palette: &Palette,
        degrees: DegreeSet,
        context: &Context,
    ) -> (i32, Reason) {
        let root = chord.root.class();
        let mut points = palette.points(degrees);
        let function = dress::function(chord, context);
        points -= dress::cost(chord, degrees, function.as_ref());
        let chosen = match &function {
            Some(function) if context.key.is_some() => choice::chosen(bare, degrees, function),
            _ => Chosen::default(),
        };
        points += chosen.points;
        let has_root = chosen.has_root;
        points += lay::points(self, palette, degrees, root, has_root, context.is_bare());
        let mut reason = Reason::NotesAlone;
        if let Some(key) = context.key {
            // The chords around it and its tensions already tell a part of its place in the
            // key.
            points -= home::cost(chord, key) * 5 / 8;
            reason = Reason::AtHome;
        }
        points += triads(palette, context);
        // With its fifth lowest it lies as the seventh, third and fifth of a rootless chord, so that
        // a key alone does not decide for it.
        let is_open = context.key.is_none() || context.before.or(context.after).is_some();
        if self.is_plain_triad(palette, degrees)
            && (is_open || self.lowest.above(root) != 7)
            && !context.asks_for_more(degrees, chord.root)
        {
            points += PLAIN_TRIAD;
        }
        let more = [
            neighbours(chord, context),
            in_bass(chord, palette, context),
            charted(root, palette, context),
        ];
        for (more, why) in more {
            points += more;
            reason = why.unwrap_or(reason);
        }
        (points, reason)
    }
}

/// Points for three notes that are a major or minor triad, where nothing asks for another chord.
/// They lift it over the rootless chords and the sixth chords that the same notes can be.
const PLAIN_TRIAD: i32 = 70;

/// Points for the chords before and after. A reason is given if one of them speaks for this
/// chord.
fn neighbours(chord: &Chord, context: &Context) -> (i32, Option<Reason>) {
    let before = context.before.and_then(|b| steps::follows(&b, chord));
    let after = context.after.and_then(|a| steps::leads(chord, &a));
    let same = |other: &Chord| steps::is_same(chord, other);
    let (mut points, mut reason) = match (&context.before, &context.after) {
        // A chord between two others is seldom one of them.
        (Some(before), Some(after)) => (
            -10 * (i32::from(same(before)) + i32::from(same(after))),
            None,
        ),
        (Some(before), None) if same(before) => (8, Some(Reason::StruckAgain)),
        _ => (0, None),
    };
    // The neighbour that says more gives the reason.
    let mut most = 0;
    for (more, why) in [before, after].into_iter().flatten() {
        points += more;
        if more > 0 && more >= most {
            (most, reason) = (more, Some(why));
        }
    }
    (points, reason)
}

/// Points for the bass.
fn in_bass(chord: &Chord, palette: &Palette, context: &Context) -> (i32, Option<Reason>) {
    let Some(bass) = context.bass else {
        return (0, None);
    };
    if bass == chord.root.class() {
        return (40, Some(Reason::RootInBass));
    }
    let mut tones = palette.quality.degrees().iter();
    if tones.any(|d| d.class(chord.root) == bass) {
        (0, None)
    } else {
        (-20, None)
    }
}

/// Points for the chord that the chart has here.
fn charted(root: PitchClass, palette: &Palette, context: &Context) -> (i32, Option<Reason>) {
    match context.charted {
        Some(charted) if charted.root.class() == root => {
            let same = charted.quality == palette.quality || palette.dresses(charted.quality);
            (if same { 100 } else { 30 }, Some(Reason::AsCharted))
        }
        _ => (0, None),
    }
}

/// A player of triads goes on with triads, and a player of sevenths with sevenths.
fn triads(palette: &Palette, context: &Context) -> i32 {
    let around = [context.before, context.after];
    let mut around = around.iter().flatten();
    match palette.seventh {
        None if around.clone().any(|chord| Triad::of(chord).is_some()) => 12,
        None if around.next().is_some() => -8,
        _ => 0,
    }
}

/// A root, spelled as in the chart. A diminished chord that leads up a half step is a raised
/// degree: C# before Dm7. Otherwise the key decides, or the way to the chord after. If neither
/// is known, the name has flats.
fn spell(root: PitchClass, quality: Quality, context: &Context) -> NoteName {
    if let Some(chord) = context.charted.filter(|c| c.root.class() == root) {
        return chord.root;
    }
    let leads_up = |after: &Chord| after.root.class().above(root) == 1;
    if quality == Quality::DiminishedSeventh
        && let Some(after) = context.after.filter(leads_up)
    {
        return Degree::Seven.over(after.root);
    }
    if let Some(key) = context.key {
        return key.name(root);
    }
    let degree = context
        .after
        .and_then(|after| match root.above(after.root.class()) {
            1 => Some((Degree::Flat9, after)),
            7 => Some((Degree::Five, after)),
            _ => None,
        });
    match degree {
        Some((degree, after)) => degree.over(after.root),
        None => Key::usual(root, Mode::Major).tonic,
    }
}
