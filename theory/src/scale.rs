//! Scales: which of them to play on a chord as it sounds. Imports `key`, `pcset` and
//! what is above them.

mod choice;
mod everyday;
mod over;
mod reason;
mod table;

pub use everyday::everyday;
pub use reason::Reason;
pub use table::Scale;

use crate::chord::Chord;
use crate::degree::{Degree, DegreeSet};
use crate::key::Function;
use crate::pcset::PcSet;
use crate::pitch::NoteName;
use choice::{FAMILIES, Family};
use over::Over;
use table::{BLUES, CHROMATIC, MAJOR_PENTATONIC, MINOR_PENTATONIC};
use tinyvec::ArrayVec;

/// A scale to play on a chord.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Suggestion {
    /// The scale, over the root.
    pub scale: &'static Scale,
    /// The scale's root. It is the chord's root, except for the blues scale (the tonic of the
    /// key), for some pentatonics, and if only a scale over the bass contains the chord.
    pub root: NoteName,
    /// Degrees of the scale on which a melody passes but does not rest.
    pub avoid: DegreeSet,
    /// Why it is suggested.
    pub reason: Reason,
    /// Whether it leaves out notes of the chord, as the blues scale and most pentatonics do.
    /// All other scales contain everything that sounds and is written.
    pub partial: bool,
}

impl Default for Suggestion {
    fn default() -> Self {
        Suggestion {
            scale: &CHROMATIC,
            root: NoteName::from_fifths(0),
            avoid: DegreeSet::EMPTY,
            reason: Reason::default(),
            partial: false,
        }
    }
}

impl Suggestion {
    /// The notes, spelled by degree.
    pub fn notes(&self) -> impl Iterator<Item = NoteName> + '_ {
        self.scale.degrees.iter().map(|d| d.over(self.root))
    }

    /// The avoid notes, spelled by degree.
    pub fn avoid_notes(&self) -> impl Iterator<Item = NoteName> + '_ {
        self.avoid.iter().map(|d| d.over(self.root))
    }
}

/// The suggestions for one chord, the first choice first. There is at least one. No chord has
/// as many as there is room for, as a test shows.
pub type Suggestions = ArrayVec<[Suggestion; 12]>;

/// The number of scales that are offered for a chord that no scale of its own family contains.
const FROM_AFAR: usize = 3;

/// The scales that contain a chord and everything that sounds over it, with the bass of a slash
/// chord. The first one is the suggestion. After them come colours that leave notes out, see
/// [`Suggestion::partial`]. There is always at least one: a chord that no scale of the table
/// contains gets the chromatic scale, and the reason says so. The work is bounded and nothing
/// allocates.
#[must_use]
pub fn suggest(chord: &Chord, sounding: DegreeSet, function: &Function) -> Suggestions {
    let over = Over::new(chord, sounding, function);
    let mut found = of_family(&over);
    if found.is_empty() {
        found = from_afar(&over);
    }
    if found.is_empty() {
        let root = over.chord.root;
        add(&mut found, &over, &CHROMATIC, root, Reason::NoneHolds);
        return found;
    }
    let family = Family::of(over.chord.quality);
    for scale in family.map_or(&[][..], |f| f.further) {
        if over.holds(scale, over.chord.root) {
            let root = over.chord.root;
            add(&mut found, &over, scale, root, Reason::PassingNote);
        }
    }
    colours(&mut found, &over);
    found
}

/// The scales that the rules put first, then the rest of the chord's family.
fn of_family(over: &Over) -> Suggestions {
    let root = over.chord.root;
    let mut found = Suggestions::default();
    for (scale, reason) in choice::first(over).into_iter().flatten() {
        if over.holds(scale, root) {
            add(&mut found, over, scale, root, reason);
        }
    }
    let ruled = found.len();
    let Some(family) = Family::of(over.chord.quality) else {
        return found;
    };
    // If the symbol alters the fifth, scales with a natural five come last.
    for late in [false, true] {
        for scale in family.scales.iter().filter(|s| over.holds(s, root)) {
            let keeps_five = over.alters_five() && scale.set().contains(Degree::Five);
            if keeps_five == late {
                add(&mut found, over, scale, root, Reason::default());
            }
        }
    }
    if family.by_key && !over.alters_five() {
        let rest = found.get_mut(ruled..).unwrap_or(&mut []);
        sort_stably(rest, |s| over.strangers(s.scale, s.root));
    }
    if found.is_empty() {
        for scale in family.rare.iter().filter(|s| over.holds(s, root)) {
            add(&mut found, over, scale, root, Reason::default());
        }
    }
    for (i, suggestion) in found.iter_mut().enumerate() {
        if let Reason::Fits { first, in_key } = &mut suggestion.reason {
            *first = i == 0;
            *in_key = over.strangers(suggestion.scale, root) == 0;
        }
    }
    found
}

/// The scales of other families that contain the chord over its root, or else over its bass.
/// Those nearest to the key come first.
fn from_afar(over: &Over) -> Suggestions {
    let mut found = Suggestions::default();
    let roots = [Some(over.chord.root), over.chord.bass];
    for root in roots.into_iter().flatten() {
        for strangers in 0..=7 {
            let families = FAMILIES.iter().flat_map(|f| f.scales.iter().chain(f.rare));
            let scales = families.filter(|s| over.strangers(s, root) == strangers);
            for scale in scales.filter(|s| over.holds(s, root)) {
                if found.len() < FROM_AFAR {
                    add(&mut found, over, scale, root, Reason::NearestToKey);
                }
            }
        }
        if !found.is_empty() {
            break;
        }
    }
    found
}

/// Colours that leave notes out: pentatonics within the first scale, without its
/// avoid notes, and the blues scale of the key.
fn colours(found: &mut Suggestions, over: &Over) {
    let Some(first) = found.first().copied() else {
        return;
    };
    let rests = first.scale.set().minus(first.avoid);
    let rests = PcSet::of_degrees(first.root.class(), rests);
    for pentatonic in choice::pentatonics(over.chord.quality, first.scale) {
        let root = pentatonic.on.over(first.root);
        if rests.holds(pentatonic.scale.keys(root)) {
            add(found, over, pentatonic.scale, root, pentatonic.reason);
        }
    }
    if let Some(reason) = choice::blues(over.chord.quality, over.function) {
        add(found, over, &BLUES, over.function.key.tonic, reason);
    }
}

/// Adds a scale that is not there yet.
fn add(
    found: &mut Suggestions,
    over: &Over,
    scale: &'static Scale,
    root: NoteName,
    reason: Reason,
) {
    if found.iter().any(|s| s.scale == scale && s.root == root) {
        return;
    }
    // The notes that clash are the reason to play the blues scale.
    let avoid = if scale == &BLUES {
        DegreeSet::EMPTY
    } else {
        over.avoid(scale, root)
    };
    let _full = found.try_push(Suggestion {
        scale,
        root,
        avoid,
        reason,
        partial: !over.holds(scale, root),
    });
}

/// Sorts a few items by insertion. The sort is stable and does not allocate.
fn sort_stably(items: &mut [Suggestion], key: impl Fn(&Suggestion) -> u32) {
    for end in 1..items.len() {
        let mut at = end;
        while let [.., a, b] = items.get(..=at).unwrap_or(&[])
            && at > 0
            && key(b) < key(a)
        {
            items.swap(at - 1, at);
            at -= 1;
        }
    }
}

/// Every scale of the table. Some appear more than once.
pub fn all() -> impl Iterator<Item = &'static Scale> {
    FAMILIES
        .iter()
        .flat_map(|f| f.scales.iter().chain(f.rare).chain(f.further).copied())
        .chain([&MAJOR_PENTATONIC, &MINOR_PENTATONIC, &BLUES, &CHROMATIC])
}
