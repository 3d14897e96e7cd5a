//! Scales: which of them to play on a chord as it sounds. Imports `key`, `pcset` and
//! what is above them.

mod choice;
mod everyday;
mod over;
mod table;

pub use everyday::everyday;
pub use table::Scale;

use crate::chord::Chord;
use crate::degree::DegreeSet;
use crate::key::Function;
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
    /// The scale's root: the chord's, but for a suspended dominant that is written as
    /// a chord over a bass (the bass), for the blues scale (the tonic of the key) and
    /// for some pentatonics.
    pub root: NoteName,
    /// Degrees of the scale to pass over rather than to rest on.
    pub avoid: DegreeSet,
    /// Why it is suggested.
    pub reason: &'static str,
    /// Whether it leaves out notes of the chord: the blues scale, and most
    /// pentatonics. All other scales hold whatever sounds and is written.
    pub partial: bool,
}

impl Default for Suggestion {
    fn default() -> Self {
        Suggestion {
            scale: &CHROMATIC,
            root: NoteName::from_fifths(0),
            avoid: DegreeSet::EMPTY,
            reason: "",
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

/// The suggestions for one chord, the first choice first; at least one. No chord has
/// as many as there is room for (a test).
pub type Suggestions = ArrayVec<[Suggestion; 12]>;

/// How many scales are offered to a chord that none of its own family holds.
const FROM_AFAR: usize = 3;

/// The scales that hold a chord and everything that sounds over it, a slash bass
/// among it; the first one is the suggestion. After them come colours that leave
/// notes out, see [`Suggestion::partial`]. There is always at least one: a chord that
/// no scale of the table holds gets the chromatic scale, and the reason says so.
/// Bounded, without allocation.
#[must_use]
pub fn suggest(chord: &Chord, sounding: DegreeSet, function: &Function) -> Suggestions {
    let over = Over::new(chord, sounding, function);
    let mut found = of_family(&over);
    if found.is_empty() {
        found = from_afar(&over);
    }
    if found.is_empty() {
        let reason = "no scale of the table holds all that sounds";
        add(&mut found, &over, &CHROMATIC, over.root, reason);
        return found;
    }
    let family = Family::of(over.quality);
    for scale in family.map_or(&[][..], |f| f.further) {
        if over.holds(scale, over.root) {
            add(&mut found, &over, scale, over.root, "with a passing note");
        }
    }
    colours(&mut found, &over);
    found
}

/// What the rules put first, then the rest of the chord's family.
fn of_family(over: &Over) -> Suggestions {
    let root = over.root;
    let mut found = Suggestions::default();
    for (scale, reason) in choice::first(over).into_iter().flatten() {
        if over.holds(scale, root) {
            add(&mut found, over, scale, root, reason);
        }
    }
    let ruled = found.len();
    let Some(family) = Family::of(over.quality) else {
        return found;
    };
    // Where the symbol alters the fifth, scales with a natural five come last.
    for late in [false, true] {
        for scale in family.scales.iter().filter(|s| over.holds(s, root)) {
            let keeps_five = over.alters_five() && scale.set().has(crate::degree::Degree::Five);
            if keeps_five == late {
                add(&mut found, over, scale, root, "");
            }
        }
    }
    if family.by_key && !over.alters_five() {
        let rest = found.get_mut(ruled..).unwrap_or(&mut []);
        sort_stably(rest, |s| over.strangers(s.scale, s.root));
    }
    if found.is_empty() {
        for scale in family.rare.iter().filter(|s| over.holds(s, root)) {
            add(&mut found, over, scale, root, "");
        }
    }
    for (i, suggestion) in found.iter_mut().enumerate() {
        if suggestion.reason.is_empty() {
            suggestion.reason = match (i, over.strangers(suggestion.scale, root)) {
                (0, 0) => "holds the chord and its tensions; all its notes are in the key",
                (0, _) => "holds the chord and its tensions",
                (_, 0) => "fits too; all its notes are in the key",
                _ => "fits too",
            };
        }
    }
    found
}

/// The scales of other families that hold the chord, the nearest to the key first:
/// over its root, or else over its bass.
fn from_afar(over: &Over) -> Suggestions {
    let mut found = Suggestions::default();
    let roots = [Some(over.root), over.chord.bass];
    for root in roots.into_iter().flatten() {
        for strangers in 0..=7 {
            let families = FAMILIES.iter().flat_map(|f| f.scales.iter().chain(f.rare));
            let scales = families.filter(|s| over.strangers(s, root) == strangers);
            for scale in scales.filter(|s| over.holds(s, root)) {
                if found.len() < FROM_AFAR {
                    let reason = "of all scales that hold the chord, the nearest to the key";
                    add(&mut found, over, scale, root, reason);
                }
            }
        }
        if !found.is_empty() {
            break;
        }
    }
    found
}

/// Colours that leave notes out: pentatonics within the first scale, and the blues
/// scale of the key.
fn colours(found: &mut Suggestions, over: &Over) {
    let Some(first) = found.first().copied() else {
        return;
    };
    for pentatonic in choice::pentatonics(over.quality, first.scale) {
        let root = pentatonic.on.over(first.root);
        add(found, over, pentatonic.scale, root, pentatonic.reason);
    }
    if let Some(reason) = choice::blues(over.quality, over.function) {
        add(found, over, &BLUES, over.function.key.tonic, reason);
    }
}

/// Adds a scale that is not there yet.
fn add(
    found: &mut Suggestions,
    over: &Over,
    scale: &'static Scale,
    root: NoteName,
    reason: &'static str,
) {
    if found.iter().any(|s| s.scale == scale && s.root == root) {
        return;
    }
    // What rubs in the blues scale is what it is played for.
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

/// Sorts a few items by insertion: stable, and without allocation.
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

/// Every scale of the table; some come up more than once.
pub fn all() -> impl Iterator<Item = &'static Scale> {
    FAMILIES
        .iter()
        .flat_map(|f| f.scales.iter().chain(f.rare).chain(f.further).copied())
        .chain([&MAJOR_PENTATONIC, &MINOR_PENTATONIC, &BLUES, &CHROMATIC])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::key::{self, Key};
    use crate::symbol;

    fn first(symbol: &str, key: &str, sounding: &[Degree]) -> String {
        let chord = symbol::parse(symbol).unwrap();
        let function = key::live(&chord, Key::parse(key).unwrap());
        let all = suggest(&chord, sounding.iter().copied().collect(), &function);
        let best = all[0];
        let notes: Vec<_> = best.notes().map(|n| n.to_string()).collect();
        format!("{}: {}", best.scale.name, notes.join(" "))
    }

    /// Common practice, no published source.
    #[test]
    fn first_scales() {
        for (symbol, key, sounding, scale) in [
            (
                "G7",
                "C",
                &[Nine, Thirteen][..],
                "Mixolydian: G A B C D E F",
            ),
            (
                "Db7",
                "C",
                &[Nine, Sharp11],
                "Lydian dominant: Db Eb F G Ab Bb Cb",
            ),
            (
                "G7",
                "C",
                &[Flat9, Thirteen],
                "half-whole diminished: G Ab A# B C# D E F",
            ),
            ("G7", "Cm", &[Flat9, Flat13], "altered: G Ab A# B C# Eb F"),
            (
                "G7",
                "Cm",
                &[Flat9, Flat13, Five],
                "Phrygian dominant: G Ab B C D Eb F",
            ),
            (
                "G7alt",
                "Cm",
                &[Sharp9, Flat13],
                "altered: G Ab A# B C# Eb F",
            ),
            (
                "G9b13",
                "Cm",
                &[Nine, Flat13, Five],
                "Mixolydian b13: G A B C D Eb F",
            ),
            ("G7#5", "C", &[Nine, Sharp5], "whole tone: G A B C# D# F"),
            (
                "G7sus4",
                "C",
                &[Nine, Thirteen],
                "Mixolydian: G A B C D E F",
            ),
            (
                "G7sus(b9)",
                "C",
                &[Flat9, Five],
                "Dorian b9: G Ab A# C D E F",
            ),
            ("Cmaj7", "C", &[Nine], "Ionian: C D E F G A B"),
            ("Cmaj7", "G", &[Nine], "Lydian: C D E F# G A B"),
            ("Cmaj7#5", "C", &[Nine], "Lydian augmented: C D E F# G# A B"),
            ("Dm7", "C", &[Nine], "Dorian: D E F G A B C"),
            ("Em7", "C", &[Root], "Phrygian: E F G A B C D"),
            ("Am7", "C", &[Nine], "Aeolian: A B C D E F G"),
            ("Cm6", "Cm", &[Nine], "melodic minor: C D Eb F G A B"),
            ("Dm7b5", "Cm", &[Root], "Locrian: D Eb F G Ab Bb C"),
            ("Dm7b5", "Cm", &[Nine], "Locrian natural 9: D E F G Ab Bb C"),
            (
                "Bdim7",
                "Cm",
                &[Root],
                "whole-half diminished: B C# D E F G Ab A#",
            ),
        ] {
            assert_eq!(first(symbol, key, sounding), scale, "{symbol} in {key}");
        }
    }

    #[test]
    fn the_eleventh_over_a_major_third_is_an_avoid_note() {
        let chord = symbol::parse("Cmaj7").unwrap();
        let function = key::live(&chord, Key::C_MAJOR);
        let all = suggest(&chord, DegreeSet::of(&[Nine]), &function);
        assert_eq!(all[0].avoid, DegreeSet::of(&[Eleven]));
        assert_eq!(all[1].scale.name, "Lydian");
        assert!(all[1].avoid.is_empty());
    }

    #[test]
    fn scales_ascend() {
        for scale in all() {
            let semitones = scale.degrees.iter().map(|d| d.interval().semitones);
            assert!(semitones.is_sorted_by(|a, b| a < b), "{}", scale.name);
        }
    }
}
