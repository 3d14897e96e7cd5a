//! Finds the keys of a chart and the function of each chord. Imports the rest of its folder
//! except `strangeness`, and `chart`'s grid of ticks.

use super::hear::{Around, RoleInKey, hear, hear_alone};
use super::path;
use super::rooted::RootedChord;
use super::step::{self, PathStep};
use super::tonality::Tonality;
use super::{Function, Key, Numeral, spelling};
use crate::chart::TICKS_PER_QUARTER;
use crate::chord::Chord;

/// The length of a chord if none is given: a bar of four beats.
const BAR_TICKS: u32 = 4 * TICKS_PER_QUARTER;

/// As [`analyse_in_time`], with each chord a bar of four beats long.
#[must_use]
pub fn analyse(chords: &[Option<Chord>], pinned: Option<Key>) -> Vec<Option<Function>> {
    let timed: Vec<(Option<Chord>, u32)> = chords.iter().map(|c| (*c, BAR_TICKS)).collect();
    analyse_in_time(&timed, pinned)
}

/// The key in force at every chord and the chord's function in it, over a whole chart that
/// repeats. `None` where the chart is silent. Each chord comes with its length in ticks, see
/// [`TICKS_PER_QUARTER`]. A pinned key holds for all chords. The time that this takes grows
/// with the number of chords.
#[must_use]
pub fn analyse_in_time(
    chords: &[(Option<Chord>, u32)],
    pinned: Option<Key>,
) -> Vec<Option<Function>> {
    let sounding: Vec<(Chord, u32)> = chords
        .iter()
        .filter_map(|(chord, ticks)| Some(((*chord)?, *ticks)))
        .collect();
    let parts: Vec<(RootedChord, u32)> = sounding
        .iter()
        .map(|(chord, ticks)| (RootedChord::of(chord), ticks.div_ceil(TICKS_PER_QUARTER)))
        .collect();
    let steps = step::steps(&parts);
    let keys = match pinned {
        Some(key) => vec![key; steps.len()],
        None => spelling::spelled(&path::keys(&steps), sounding.iter().map(|(chord, _)| chord)),
    };
    let mut functions = steps
        .iter()
        .zip(keys)
        .map(|(step, key)| function(step, key));
    chords
        .iter()
        .map(|(chord, _)| chord.and_then(|_| functions.next()))
        .collect()
}

fn tonality(key: Key) -> Tonality {
    Tonality {
        tonic: key.tonic.class(),
        mode: key.mode,
    }
}

fn function(step: &PathStep, key: Key) -> Function {
    let tonality = tonality(key);
    let around = &step.around;
    let numeral = tonality.numeral(around.here, around.next);
    named(key, numeral, hear(around, tonality))
}

fn named(key: Key, numeral: Numeral, heard: RoleInKey) -> Function {
    Function {
        key,
        above: numeral.above,
        case: numeral.case,
        role: heard.role,
        resolution: heard.resolution,
        is_two: heard.is_two,
    }
}

/// The function of a chord that is played live. The chord after it is not known, so a dominant
/// is taken to go to where dominants on its degree usually go. The work is bounded and nothing
/// allocates.
#[must_use]
pub fn live(chord: &Chord, key: Key) -> Function {
    let tonality = tonality(key);
    let part = RootedChord::of(chord);
    named(
        key,
        tonality.numeral(part, None),
        hear_alone(part, tonality),
    )
}

/// The function of a chord between its neighbours, as far as they are known. A neighbour that
/// is a variant of the chord, such as a suspension before its dominant, says nothing. If the
/// chord after says nothing, this is the same as [`live`]. The work is bounded and nothing
/// allocates.
#[must_use]
pub fn between(before: Option<&Chord>, chord: &Chord, after: Option<&Chord>, key: Key) -> Function {
    let here = RootedChord::of(chord);
    let part = |other: Option<&Chord>| other.map(RootedChord::of).filter(|p| !p.continues(here));
    let next = part(after);
    if next.is_none() {
        return live(chord, key);
    }
    let around = Around {
        earlier: None,
        before: part(before),
        here,
        next,
        after: None,
        is_long: false,
    };
    let step = PathStep {
        around,
        quarters: BAR_TICKS / TICKS_PER_QUARTER,
    };
    function(&step, key)
}

#[cfg(test)]
mod tests {
    use super::super::Resolution;
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
            ["ii in C major", "V in C major", "I in C major"]
        );
        assert_eq!(
            lines("| Dm7b5 | G7 | Cm7 | % |"),
            ["iiø in C minor", "V in C minor", "i in C minor"]
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
        let resolution = |t: &str| -> Vec<Resolution> {
            let all = functions(t);
            all.iter()
                .map(|f| f.resolution)
                .filter(|g| *g != Resolution::Rest)
                .collect()
        };
        assert_eq!(
            resolution("| Dm7 | G7 | Cmaj7 | % |"),
            [Resolution::FifthToMajor]
        );
        assert_eq!(
            resolution("| Dm7b5 | G7 | Cm6 | % |"),
            [Resolution::FifthToMinor]
        );
        assert_eq!(
            resolution("| Dm7 | Db7 | Cmaj7 | % |"),
            [Resolution::HalfStep]
        );
        assert_eq!(
            resolution("| Cmaj7 | Fm7 Bb7 | Cmaj7 | % |"),
            [Resolution::Backdoor]
        );
        assert_eq!(
            resolution("| Cmaj7 A7 | Dm7 G7 |"),
            [Resolution::FifthToMinor, Resolution::FifthToMajor]
        );
        assert_eq!(
            resolution("| Cmaj7 | D7 | Dm7 | G7 |"),
            [Resolution::ToTheDominant, Resolution::FifthToMajor]
        );
        assert_eq!(
            resolution("| Cm7 | Ab7 | G7 | Cm7 |"),
            [Resolution::FlatSix, Resolution::FifthToMinor]
        );
        assert_eq!(
            resolution("| Gsus4 | G7 | Cmaj7 | % |"),
            [Resolution::FifthToMajor, Resolution::FifthToMajor]
        );
    }

    /// Common practice, no published source.
    #[test]
    fn neighbours_tell_the_function() {
        let chord = |text: &str| crate::symbol::parse(text).unwrap();
        let says = |before: &str, here: &str, after: &str| {
            let [before, after] = [before, after].map(|t| (!t.is_empty()).then(|| chord(t)));
            between(before.as_ref(), &chord(here), after.as_ref(), Key::C_MAJOR)
        };
        assert_eq!(
            says("Dm7", "G7", "Cmaj7").resolution,
            Resolution::FifthToMajor
        );
        assert_eq!(says("Dm7", "Db7", "Cmaj7").resolution, Resolution::HalfStep);
        assert_eq!(says("Fm7", "Bb7", "Cmaj7").resolution, Resolution::Backdoor);
        assert_eq!(
            says("Cmaj7", "D7", "Dm7").resolution,
            Resolution::ToTheDominant
        );
        assert_eq!(says("Em7", "A7", "Dm7").to_string(), "V of ii in C major");
        assert_eq!(
            says("Cmaj7", "C#dim7", "Dm7").to_string(),
            "#i°, passing in C major"
        );
        assert!(says("", "Am7", "D7").is_two);
        // What is not known, and a variant of the chord itself, say nothing.
        for after in ["", "A7"] {
            assert_eq!(
                says("Em7", "A7sus4", after),
                live(&chord("A7sus4"), Key::C_MAJOR)
            );
        }
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
                assert_eq!(
                    (a.role, a.resolution, a.above),
                    (b.role, b.resolution, b.above)
                );
                let up = a.key.tonic.class().up(fifths * 7);
                assert_eq!(up, b.key.tonic.class());
            }
        }
    }
}
