//! The player's own voicings in words. Pure; the panel's thread. The region of the chord in hand
//! imports it. Imports `ways`.

use super::signs::{symbol, with_signs};
use super::ways::{self, Row};
use guidehand_exchange::own_voicings::OwnVoicing;
use guidehand_theory::other_voicings::OtherVoicing;
use guidehand_theory::own_shape::{OwnShape, ShapeNote};
use guidehand_theory::pipeline::ChordInKey;

/// One of them as a row: over the chord in hand if it serves it.
#[must_use]
pub fn row(placed: &ChordInKey, own: &OwnVoicing, here: Option<&OtherVoicing>) -> Row {
    let (name, family) = (own.name.clone(), family(&own.shape));
    let degrees = degrees(&own.shape);
    let spoken = format!("{name}, {family}: {degrees}");
    let Some(here) = here else {
        let chord = symbol(&placed.written);
        return Row {
            why: format!("not for {chord} as it stands here"),
            name,
            does: degrees,
            aside: family,
            spoken,
            notes: Vec::new(),
        };
    };
    let laid = ways::voicing(placed, here, &[]);
    Row {
        name,
        does: degrees,
        aside: family,
        why: [laid.does, laid.why].join("   "),
        spoken,
        notes: laid.notes,
    }
}

/// The family of a shape, by the name that files give it.
#[must_use]
pub fn family(shape: &OwnShape) -> String {
    shape.family().name().replace("b5", "♭5")
}

/// The degrees of a shape, from the lowest. A note that lies higher than next above the one before
/// it has an arrow for each octave.
#[must_use]
pub fn degrees(shape: &OwnShape) -> String {
    let one = |note: &ShapeNote| {
        let arrows = "↑".repeat(usize::from(note.octaves));
        arrows + &with_signs(note.degree.name())
    };
    let all: Vec<String> = shape.notes().iter().map(one).collect();
    all.join("  ")
}
