//! Finds the keys of a chart and the function of each chord.
//!
//! The prices are common practice, no published source: small where a chord is
//! at home or has an everyday part in the key, large where it is a stranger.

use super::{Function, Goes, Key, Mode, Role};
use crate::chord::Chord;
use crate::degree::Degree;
use crate::pitch::{NoteName, PitchClass};
use crate::quality::Quality;

/// What matters of a chord for its part in a key.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    Major,
    Dominant,
    Minor,
    HalfDiminished,
    Diminished,
}

impl Kind {
    const fn of(chord: &Chord) -> Kind {
        match chord.quality {
            Quality::Dominant
            | Quality::Altered
            | Quality::DominantSuspended
            | Quality::Suspended => Kind::Dominant,
            Quality::Minor
            | Quality::MinorSixth
            | Quality::MinorSeventh
            | Quality::MinorMajorSeventh => Kind::Minor,
            Quality::HalfDiminished => Kind::HalfDiminished,
            Quality::Diminished | Quality::DiminishedSeventh => Kind::Diminished,
            Quality::Major
            | Quality::Sixth
            | Quality::MajorSeventh
            | Quality::SuspendedSecond
            | Quality::Augmented
            | Quality::Power => Kind::Major,
        }
    }
}

/// Price of a chord in a key, by semitones of its root above the tonic.
type Prices = [i32; 12];

/// Rows in the order of [`Kind`]: major, dominant, minor, half-diminished, diminished.
///                      I bII II bIII III IV #IV V bVI VI bVII VII
const IN_MAJOR: [Prices; 5] = [
    [0, 5, 6, 4, 8, 1, 8, 2, 4, 8, 4, 8],
    [3, 2, 3, 4, 3, 4, 5, 0, 4, 2, 2, 4],
    [6, 7, 0, 5, 2, 3, 6, 3, 7, 1, 6, 5],
    [7, 7, 3, 7, 3, 7, 3, 6, 7, 4, 7, 2],
    [3, 2, 3, 2, 4, 4, 2, 4, 2, 4, 4, 3],
];
const IN_MINOR: [Prices; 5] = [
    [7, 3, 8, 1, 8, 5, 8, 3, 1, 8, 3, 8],
    [3, 2, 3, 3, 5, 3, 5, 0, 2, 5, 2, 4],
    [0, 7, 4, 5, 7, 1, 7, 3, 7, 7, 4, 7],
    [4, 7, 0, 7, 6, 6, 5, 4, 7, 2, 7, 4],
    [3, 3, 2, 3, 3, 2, 2, 3, 2, 3, 3, 1],
];

const MODULATION: i32 = 4;
const CADENCE_TO_TONIC: i32 = -4;
const CADENCE_TO_DOMINANT: i32 = -2;
const SUBSTITUTE_TO_TONIC: i32 = -3;
const TONIC_AT_THE_ENDS: i32 = -1;

fn price(chord: &Chord, key: Key) -> i32 {
    let table = match key.mode {
        Mode::Major | Mode::Blues => &IN_MAJOR,
        Mode::Minor => &IN_MINOR,
    };
    let [major, dominant, minor, half, diminished] = table;
    let row = match Kind::of(chord) {
        Kind::Major => major,
        Kind::Dominant => dominant,
        Kind::Minor => minor,
        Kind::HalfDiminished => half,
        Kind::Diminished => diminished,
    };
    let above = usize::from(key.above(chord.root.class()));
    row.get(above).copied().unwrap_or(9)
}

/// How far a chord is from home in a key: 0 for its own chords on their own
/// degrees, up to 9 for a stranger.
#[must_use]
pub fn strangeness(chord: &Chord, key: Key) -> i32 {
    price(chord, key)
}

fn is_tonic(chord: &Chord, key: Key) -> bool {
    let kind = match key.mode {
        Mode::Major => Kind::Major,
        Mode::Minor => Kind::Minor,
        Mode::Blues => Kind::Dominant,
    };
    Kind::of(chord) == kind && key.above(chord.root.class()) == 0
}

/// What a pair of chords says for a key that holds both.
fn cadence(from: &Chord, to: &Chord, key: Key) -> i32 {
    let (a, b) = (key.above(from.root.class()), key.above(to.root.class()));
    match (Kind::of(from), a) {
        (Kind::Dominant, 7) if is_tonic(to, key) => CADENCE_TO_TONIC,
        (Kind::Dominant, 1) if is_tonic(to, key) => SUBSTITUTE_TO_TONIC,
        (Kind::Dominant, 10) if is_tonic(to, key) && key.mode == Mode::Major => CADENCE_TO_DOMINANT,
        (Kind::Minor, 2) if key.mode == Mode::Minor => 0,
        (Kind::Minor | Kind::HalfDiminished, 2) if b == 7 && Kind::of(to) == Kind::Dominant => {
            CADENCE_TO_DOMINANT
        }
        _ => 0,
    }
}

fn modulation(from: Key, to: Key) -> i32 {
    if from == to {
        return 0;
    }
    let apart = (from.signature() - to.signature()).rem_euclid(12);
    MODULATION + i32::from(apart.min(12 - apart))
}

/// How many chords a dominant is looked after on its way to another root.
const LOOK_AHEAD: usize = 64;

/// The 24 keys, spelled as the chart spells their tonics where it does.
fn keys(chords: &[Option<Chord>]) -> Vec<Key> {
    let spelled = |class: PitchClass| -> Option<NoteName> {
        let mut roots = chords.iter().flatten().map(|c| c.root);
        roots.find(|r| r.class() == class && r.accidental.abs() <= 1)
    };
    let mut keys = Vec::with_capacity(24);
    for class in (0..12).map(PitchClass::wrapping) {
        for mode in [Mode::Major, Mode::Minor] {
            let usual = Key::usual(class, mode);
            let tonic = spelled(class).unwrap_or(usual.tonic);
            let key = Key { tonic, mode };
            let readable = key.signature().abs() <= 7;
            keys.push(if readable { key } else { usual });
        }
    }
    keys
}

/// The key in force at every chord and the chord's function in it, over a whole
/// chart that repeats; `None` where the chart is silent. A pinned key holds for
/// all chords.
#[must_use]
pub fn analyse(chords: &[Option<Chord>], pinned: Option<Key>) -> Vec<Option<Function>> {
    let keys = match pinned {
        Some(key) => vec![key; chords.iter().flatten().count()],
        None => best_keys(chords),
    };
    let sounding: Vec<&Chord> = chords.iter().flatten().collect();
    let mut functions = keys.iter().enumerate().map(|(i, key)| {
        let (past, coming) = sounding.split_at((i + 1).min(sounding.len()));
        let next = coming.iter().chain(past).copied().take(LOOK_AHEAD);
        function(sounding.get(i).copied(), next, *key)
    });
    chords
        .iter()
        .map(|chord| chord.and_then(|_| functions.next().flatten()))
        .collect()
}

/// The cheapest path of keys (dynamic programming over 24 keys), through the
/// chart and on through its repeat, so that the last chords know what they
/// return to.
fn best_keys(chords: &[Option<Chord>]) -> Vec<Key> {
    let keys = keys(chords);
    let once: Vec<&Chord> = chords.iter().flatten().collect();
    let twice: Vec<&Chord> = once.iter().chain(&once).copied().collect();
    let Some((first, rest)) = twice.split_first() else {
        return Vec::new();
    };
    let end = |chord: &Chord, key: Key| i32::from(is_tonic(chord, key)) * TONIC_AT_THE_ENDS;
    let mut costs: Vec<i32> = keys
        .iter()
        .map(|k| price(first, *k) + end(first, *k))
        .collect();
    let mut from: Vec<Vec<usize>> = Vec::with_capacity(rest.len());
    let mut before = *first;
    for chord in rest {
        let mut next = Vec::with_capacity(keys.len());
        let mut back = Vec::with_capacity(keys.len());
        for key in &keys {
            let mut best = (i32::MAX, 0);
            for (i, (cost, old)) in costs.iter().zip(&keys).enumerate() {
                let mut total = cost + modulation(*old, *key);
                if old == key {
                    total += cadence(before, chord, *key);
                }
                best = best.min((total, i));
            }
            next.push(best.0 + price(chord, *key));
            back.push(best.1);
        }
        costs = next;
        from.push(back);
        before = chord;
    }
    let last = before;
    let mut at = costs
        .iter()
        .zip(&keys)
        .enumerate()
        .map(|(i, (cost, key))| (cost + end(last, *key), i))
        .min()
        .map_or(0, |(_, i)| i);
    let mut path = vec![at];
    for back in from.iter().rev() {
        at = back.get(at).copied().unwrap_or(0);
        path.push(at);
    }
    path.reverse();
    let keys = path.iter().take(once.len()).filter_map(|i| keys.get(*i));
    keys.copied().collect()
}

/// The function of a chord that is played live: the chord after it is not known,
/// so a dominant is taken to go where its place in the key says.
#[must_use]
pub fn live(chord: &Chord, key: Key) -> Function {
    let above = key.above(chord.root.class());
    let kind = Kind::of(chord);
    let goes = if kind == Kind::Dominant {
        expected(above, key.mode)
    } else {
        Goes::Rest
    };
    Function {
        key,
        above,
        role: role(chord, above, key),
        goes,
        is_two: is_two_of_key(chord, above),
    }
}

/// Whether a chord that is played live is the ii of its key.
const fn is_two_of_key(chord: &Chord, above: u8) -> bool {
    above == 2
        && matches!(
            chord.quality,
            Quality::MinorSeventh | Quality::HalfDiminished
        )
}

/// Where a dominant on this degree is bound to go (common practice).
const fn expected(above: u8, mode: Mode) -> Goes {
    match (mode, above) {
        (Mode::Major | Mode::Blues, 7) | (Mode::Minor, 3 | 10) => Goes::FifthToMajor,
        (Mode::Major | Mode::Blues, 4 | 9 | 11) | (Mode::Minor, 0 | 7) => Goes::FifthToMinor,
        (_, 2 | 8) => Goes::ToTheDominant,
        (_, 1 | 6) | (Mode::Major, 3) => Goes::HalfStep,
        (Mode::Major, 10) => Goes::Backdoor,
        _ => Goes::Rest,
    }
}

fn function<'a>(
    chord: Option<&Chord>,
    next: impl Iterator<Item = &'a Chord> + Clone,
    key: Key,
) -> Option<Function> {
    let chord = chord?;
    let above = key.above(chord.root.class());
    let kind = Kind::of(chord);
    let following = next.clone().next();
    let goes = if kind == Kind::Dominant {
        goes(chord, above, next.clone(), key)
    } else {
        Goes::Rest
    };
    let target = next.clone().find(|n| n.root.class() != chord.root.class());
    let role = match (kind, target) {
        (Kind::Dominant, Some(target)) => dominant_role(chord, target, above, key, goes),
        (Kind::Diminished, _) => diminished_role(chord, following, above, key),
        (Kind::Minor | Kind::HalfDiminished, Some(target)) => {
            let fifth_down = target.root.class().above(chord.root.class()) == 5;
            let to_dominant = fifth_down && Kind::of(target) == Kind::Dominant;
            match to_dominant {
                true if above != 2 => Role::RelatedTwo((above + 10) % 12),
                _ => role(chord, above, key),
            }
        }
        _ => role(chord, above, key),
    };
    let is_two = matches!(kind, Kind::Minor | Kind::HalfDiminished)
        && following.is_some_and(|next| {
            let up = next.root.class().above(chord.root.class());
            Kind::of(next) == Kind::Dominant && matches!(up, 5 | 11)
        });
    Some(Function {
        key,
        above,
        role,
        goes,
        is_two,
    })
}

/// Where a dominant goes. Another dominant on the same root (a suspension that
/// resolves, a change of tensions) is looked through.
fn goes<'a>(chord: &Chord, above: u8, mut next: impl Iterator<Item = &'a Chord>, key: Key) -> Goes {
    let root = chord.root.class();
    let same = |c: &&Chord| c.root.class() == root && Kind::of(c) == Kind::Dominant;
    let Some(target) = next.find(|c| !same(c)) else {
        return Goes::Rest;
    };
    let target_is_dominant = Kind::of(target) == Kind::Dominant;
    let target_above = key.above(target.root.class());
    match target.root.class().above(root) {
        0 if above == 2 && Kind::of(target) == Kind::Minor => Goes::ToTheDominant,
        5 if above == 2 && target_is_dominant && target_above == 7 => Goes::ToTheDominant,
        5 if target.is_major() => Goes::FifthToMajor,
        5 => Goes::FifthToMinor,
        11 if above == 8 && target_is_dominant && target_above == 7 => Goes::ToTheDominant,
        11 => Goes::HalfStep,
        2 if above == 10 && key.mode == Mode::Major && Kind::of(target) == Kind::Major => {
            Goes::Backdoor
        }
        // A dominant of the key that is led elsewhere still sounds like one.
        _ if above == 7 => match key.mode {
            Mode::Major | Mode::Blues => Goes::FifthToMajor,
            Mode::Minor => Goes::FifthToMinor,
        },
        _ => Goes::Rest,
    }
}

fn dominant_role(chord: &Chord, target: &Chord, above: u8, key: Key, goes: Goes) -> Role {
    let to = key.above(target.root.class());
    match (target.root.class().above(chord.root.class()), goes) {
        (_, Goes::Backdoor) => Role::Backdoor,
        (_, _) if above == 7 => Role::Dominant,
        (5, _) => Role::SecondaryDominant(to),
        (11, _) => Role::TritoneSubstitute(to),
        _ => role(chord, above, key),
    }
}

fn diminished_role(chord: &Chord, next: Option<&Chord>, above: u8, key: Key) -> Role {
    match next.map(|n| n.root.class().above(chord.root.class())) {
        Some(1) if above == 11 => Role::LeadingTone,
        Some(1 | 11) => Role::PassingDiminished,
        Some(0) => Role::CommonToneDiminished,
        _ => role(chord, above, key),
    }
}

fn role(chord: &Chord, above: u8, key: Key) -> Role {
    if is_tonic(chord, key) {
        return Role::Tonic;
    }
    let kind = Kind::of(chord);
    if kind == Kind::Dominant && above == 7 {
        return Role::Dominant;
    }
    if kind == Kind::Diminished && above == 11 {
        return Role::LeadingTone;
    }
    let parallel = Key {
        mode: match key.mode {
            Mode::Major | Mode::Blues => Mode::Minor,
            Mode::Minor => Mode::Major,
        },
        ..key
    };
    if fits(chord, key) {
        Role::Diatonic
    } else if fits(chord, parallel) {
        Role::Borrowed
    } else {
        Role::Chromatic
    }
}

/// Whether the key's own scale holds the chord's third, fifth and seventh.
fn fits(chord: &Chord, key: Key) -> bool {
    let scale = key.notes();
    let degrees = chord.quality.degrees();
    degrees
        .iter()
        .all(|d: Degree| scale.has(d.class(chord.root)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart;

    fn functions(text: &str) -> Vec<Function> {
        let chart = chart::parse(text).unwrap();
        let chords: Vec<_> = chart.changes.iter().map(|c| c.chord).collect();
        analyse(&chords, None).into_iter().flatten().collect()
    }

    fn lines(text: &str) -> Vec<String> {
        functions(text).iter().map(ToString::to_string).collect()
    }

    /// Common practice, no published source.
    #[test]
    fn cadences_tell_the_key() {
        assert_eq!(
            lines("| Dm7 | G7 | Cmaj7 | % |"),
            ["II in C major", "V in C major", "I in C major"]
        );
        assert_eq!(
            lines("| Dm7b5 | G7 | Cm7 | % |"),
            ["II in C minor", "V in C minor", "I in C minor"]
        );
        assert_eq!(
            lines("| Fm7 | Bb7 | Ebmaj7 | % | Am7 | D7 | Gmaj7 | % |")
                .last()
                .unwrap(),
            "I in G major"
        );
    }

    #[test]
    fn dominants_know_where_they_go() {
        let goes = |t: &str| -> Vec<Goes> {
            let all = functions(t);
            all.iter()
                .map(|f| f.goes)
                .filter(|g| *g != Goes::Rest)
                .collect()
        };
        assert_eq!(goes("| Dm7 | G7 | Cmaj7 | % |"), [Goes::FifthToMajor]);
        assert_eq!(goes("| Dm7b5 | G7 | Cm6 | % |"), [Goes::FifthToMinor]);
        assert_eq!(goes("| Dm7 | Db7 | Cmaj7 | % |"), [Goes::HalfStep]);
        assert_eq!(goes("| Cmaj7 | Fm7 Bb7 | Cmaj7 | % |"), [Goes::Backdoor]);
        assert_eq!(
            goes("| Cmaj7 A7 | Dm7 G7 |"),
            [Goes::FifthToMinor, Goes::FifthToMajor]
        );
        assert_eq!(
            goes("| Cmaj7 | D7 | Dm7 | G7 |"),
            [Goes::ToTheDominant, Goes::FifthToMajor]
        );
        assert_eq!(
            goes("| Cm7 | Ab7 | G7 | Cm7 |"),
            [Goes::ToTheDominant, Goes::FifthToMinor]
        );
        assert_eq!(
            goes("| Gsus4 | G7 | Cmaj7 | % |"),
            [Goes::FifthToMajor, Goes::FifthToMajor]
        );
    }

    /// Transposing the chart transposes the keys and keeps the parts.
    #[test]
    fn analysis_moves_with_the_chart() {
        let text = "| Dm7 | G7 | Cmaj7 | A7 | Dm7b5 | G7b9 | Cm6 | Db7 | Cmaj7 | C#dim7 |";
        let chart = chart::parse(text).unwrap();
        let chords: Vec<_> = chart.changes.iter().map(|c| c.chord).collect();
        let here = analyse(&chords, None);
        for fifths in -5..=5 {
            let moved: Vec<_> = chords
                .iter()
                .map(|c| c.map(|c| c.transposed(fifths)))
                .collect();
            for (a, b) in here.iter().zip(analyse(&moved, None)) {
                let (a, b) = (a.unwrap(), b.unwrap());
                assert_eq!((a.role, a.goes, a.above), (b.role, b.goes, b.above));
                let up = a.key.tonic.class().up(fifths * 7);
                assert_eq!(up, b.key.tonic.class());
            }
        }
    }
}
