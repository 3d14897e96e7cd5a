//! Practice sheets: a progression through all twelve keys. Imports `sheet` and `kept`.

use crate::kept::{self, Gathering, Kept, MOST_KEPT};
use crate::sheet::{Place, Sheet};
use guidehand_theory::candidates::Register;
use guidehand_theory::chart::{self, Chart, ChartError};
use guidehand_theory::chord::Chord;
use guidehand_theory::key::Key;
use guidehand_theory::pitch::NoteNames;
use guidehand_theory::{pin, pipeline, transpose};

/// The most signs of a key that is read.
const MOST_SIGNS: i8 = 6;

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
/// The chords of the written key are those of the progression. In the other keys each key that the
/// progression passes through is spelled for itself, see [`transpose::transposed`].
///
/// # Errors
/// What is wrong with the progression, or that it is too long to be played twelve times. In that
/// case the places are those in the resulting text.
pub fn practice(text: &str, order: Order) -> Result<String, Vec<ChartError>> {
    let progression = chart::parse(text)?;
    // A jump would lead back through the keys before it, so it is written out.
    let jumps = progression.written.iter().any(|w| w.roads.jump.is_some());
    let page = if jumps {
        Sheet::played(&progression)
    } else {
        Sheet::written(&progression)
    };
    let chords = in_keys(&page, &progression);
    let keys = order.steps().into_iter();
    let keys = keys.map(|step| with_chords(&page, transpose::transposed(&chords, step)));
    let sheet = keys.reduce(Sheet::then).unwrap_or_default();
    let text = sheet.to_text();
    chart::parse(&text).map(|_| text)
}

/// A practice sheet as [`practice`] makes it, with what was picked for the chords of the progression
/// in every key, and a sentence for each voicing that finds no place in one. Pinned voicings go to
/// each key the nearer way, and those that lie in the register stay in it.
///
/// # Errors
/// As in [`practice`].
pub fn with_kept(
    kept: &Kept,
    order: Order,
    register: &Register,
) -> Result<(Kept, Vec<String>), Vec<ChartError>> {
    let text = chart::renamed(&kept.chart, kept.names, NoteNames::English);
    let progression = chart::parse(&text)?;
    let text = practice(&text, order)?;
    let sheet = chart::parse(&text)?;
    let passes = sheet.passes();
    let picked = kept.played(&progression);
    let mut gathering = Gathering::default();
    let mut told = Vec::new();
    let length = progression.length_ticks();
    for (step, nth) in order.steps().into_iter().zip(0..) {
        let half_steps = if step > 6 { step - 12 } else { step };
        for (picked, change) in picked.iter().zip(&progression.changes) {
            if picked.is_nothing() {
                continue;
            }
            let at = length * nth + change.start_ticks;
            let there = sheet.changes.binary_search_by_key(&at, |c| c.start_ticks);
            let there = there.ok().and_then(|index| {
                let pass = passes.get(index).copied().flatten()?;
                Some((pass, sheet.changes.get(index)?.chord?))
            });
            let Some((pass, chord)) = there else { continue };
            if let Some(scale) = picked.scale {
                gathering.scale(&pass, &chord, scale);
            }
            let Some(pin) = picked.pin else { continue };
            let notes = pin.midi().unwrap_or_default();
            match pin::transposed(&notes, half_steps, register) {
                Some(notes) => {
                    let notes = notes.iter().map(|note| note.number()).collect();
                    gathering.pin(&pass, &chord, pin, notes);
                }
                None => told.push(format!(
                    "The pinned voicing of {} has no place in MIDI over {}, and is left out there.",
                    pin.symbol,
                    kept::symbol(&chord)
                )),
            }
        }
    }
    told.dedup();
    let mut kept = gathering.finish(text);
    if let Some(more @ 1..) = kept.pins.len().checked_sub(MOST_KEPT) {
        kept.pins.truncate(MOST_KEPT);
        told.push(format!(
            "A chart has at most {MOST_KEPT} pinned voicings; {more} are left out."
        ));
    }
    kept.scales.truncate(MOST_KEPT);
    Ok((kept, told))
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
        let moved = Key { tonic, ..key };
        let is_read = moved.signature().abs() <= MOST_SIGNS;
        let usual = || Key::usual(tonic.class(), key.mode);
        Some((length * nth, if is_read { moved } else { usual() }))
    });
    keys.collect()
}

/// The chords of a page, each in the key that it has when it is played first.
fn in_keys(page: &Sheet, chart: &Chart) -> Vec<Option<(Chord, Key)>> {
    let placed = pipeline::place(chart, None);
    let key_at = |ticks: u32| {
        let after = chart.changes.partition_point(|c| c.start_ticks <= ticks);
        let (before, _) = placed.split_at_checked(after)?;
        Some(before.iter().flatten().next_back()?.function.key)
    };
    let places = page.bars.iter().flat_map(|bar| {
        let at = |place: &Place| (bar.start_ticks + place.at_ticks, place.chord);
        bar.places.iter().map(at)
    });
    places
        .map(|(ticks, chord)| Some((chord?, key_at(ticks)?)))
        .collect()
}

/// The page with other chords in the places of its own.
fn with_chords(page: &Sheet, chords: Vec<Option<Chord>>) -> Sheet {
    let mut page = page.clone();
    let places = page.bars.iter_mut().flat_map(|bar| &mut bar.places);
    for (place, chord) in places.zip(chords) {
        place.chord = chord;
    }
    page
}
