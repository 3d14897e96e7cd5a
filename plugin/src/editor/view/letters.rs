//! A chord symbol in the parts that are set in different sizes. Pure; the panel's
//! thread. Regions and widgets import it.

use super::signs::{note_name, symbol};
use guidehand_theory::chord::{Chord, Triad};

/// A chord symbol in the parts that are set in different sizes.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Letters {
    /// The root's letter.
    pub root: String,
    /// The root's signs.
    pub accidental: String,
    /// Quality and extension.
    pub quality: String,
    /// What stands in brackets, with them.
    pub brackets: String,
    /// The slash and the bass under it.
    pub bass: String,
}

impl Letters {
    /// All parts in a row, as a screen reader tells them.
    #[must_use]
    pub fn whole(&self) -> String {
        let Letters {
            root,
            accidental,
            quality,
            brackets,
            bass,
        } = self;
        format!("{root}{accidental}{quality}{brackets}{bass}")
    }
}

/// A chord symbol in its parts.
#[must_use]
pub fn letters(chord: &Chord) -> Letters {
    let whole = symbol(chord);
    let name = note_name(chord.upper.map_or(chord.root, Triad::root));
    let bass = chord
        .bass
        .map_or(String::new(), |b| format!("/{}", note_name(b)));
    let middle = whole.strip_prefix(&name).unwrap_or(&whole);
    let middle = middle.strip_suffix(&bass).unwrap_or(middle);
    let bracket = middle.find('(').unwrap_or(middle.len());
    let (quality, brackets) = middle.split_at_checked(bracket).unwrap_or((middle, ""));
    let (root, accidental) = name.split_at_checked(1).unwrap_or((&name, ""));
    Letters {
        root: root.to_owned(),
        accidental: accidental.to_owned(),
        quality: quality.to_owned(),
        brackets: brackets.to_owned(),
        bass,
    }
}
