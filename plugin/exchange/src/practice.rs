//! Practice sheets: a progression through all twelve keys. Imports `sheet`.

use crate::sheet::Sheet;
use guidehand_theory::chart::{self, Chart, ChartError};
use guidehand_theory::chord::Chord;
use guidehand_theory::key::Key;
use guidehand_theory::pipeline;
use guidehand_theory::pitch::NoteName;

/// The order of the keys.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Order {
    /// Each key is a fourth above the one before.
    Fourths,
    /// Each key is a half step above the one before.
    HalfSteps,
    /// All keys come in an order that this seed gives.
    Random(u64),
}

impl Order {
    /// The keys as semitones above the first, each once.
    fn steps(self) -> Vec<i8> {
        let mut steps: Vec<i8> = (0..12).collect();
        match self {
            Order::Fourths => steps.iter_mut().for_each(|step| *step = *step * 5 % 12),
            Order::HalfSteps => {}
            Order::Random(seed) => fastrand::Rng::with_seed(seed).shuffle(&mut steps),
        }
        steps
    }
}

/// The chart of a progression in all twelve keys, as text. Each key is on lines of its own, with
/// the progression's repeats and letters. A section that a letter recalls is written out.
///
/// Each key has its everyday name, and every chord keeps its place in the key. A root that would
/// have two accidentals takes its other name.
///
/// # Errors
/// What is wrong with the progression, or that it is too long to be played twelve times. In that
/// case the places are those in the resulting text.
pub fn practice(text: &str, order: Order) -> Result<String, Vec<ChartError>> {
    let progression = chart::parse(text)?;
    let placed = pipeline::place(&progression, None);
    let first = placed.into_iter().flatten().next();
    let home = first.map_or(Key::C_MAJOR, |placed| placed.function.key);
    // A jump would lead back through the keys before it, so it is written out.
    let jumps = progression.written.iter().any(|w| w.roads.jump.is_some());
    let page = if jumps {
        Sheet::played(&progression)
    } else {
        Sheet::written(&progression)
    };
    let keys = order.steps().into_iter().map(|step| {
        let to = Key::usual(home.tonic.class().up(step), home.mode);
        transposed(&page, to.tonic.fifths() - home.tonic.fifths())
    });
    let sheet = keys.reduce(Sheet::then).unwrap_or_default();
    let text = sheet.to_text();
    chart::parse(&text).map(|_| text)
}

/// The keys of a practice sheet, with the ticks at which they begin. `progression` is the chart
/// that was practised, and `sheet` what [`practice`] made of it.
#[must_use]
pub fn keys(progression: &Chart, sheet: &Chart) -> Vec<(u32, Key)> {
    let placed = pipeline::place(progression, None);
    let Some((change, home)) = placed
        .iter()
        .enumerate()
        .find_map(|(i, p)| Some((i, (*p)?)))
    else {
        return Vec::new();
    };
    let count = progression.changes.len();
    let length = progression.length_ticks();
    let keys = (0..12).zip(sheet.changes.chunks(count.max(1)));
    // Each key is as far from the written one as its first chord is from the chord there.
    let keys = keys.filter_map(|(nth, changes)| {
        let root = changes.get(change)?.chord?.root;
        let fifths = root.fifths() - home.chord.root.fifths();
        let key = home.function.key;
        let tonic = key.tonic.along_fifths(fifths);
        Some((length * nth, Key { tonic, ..key }))
    });
    keys.collect()
}

/// The page, transposed by a number of steps along the line of fifths.
fn transposed(page: &Sheet, fifths: i8) -> Sheet {
    let mut page = page.clone();
    for bar in &mut page.bars {
        for place in &mut bar.places {
            place.chord = place.chord.map(|chord| everyday(chord.transposed(fifths)));
        }
    }
    page
}

/// The chord with a root that is easy to read, which has at most one accidental. The same holds for
/// its bass.
fn everyday(chord: Chord) -> Chord {
    let shift = chord.root.readable().fifths() - chord.root.fifths();
    let mut chord = chord.transposed(shift);
    chord.bass = chord.bass.map(NoteName::readable);
    chord
}
