//! The scales to play over the chord on show, as words and as keys of an octave. Pure;
//! the panel's thread. The scale's region imports it.

use super::keys::is_black;
use super::notes::{NoteKind, on_show};
use super::signs::{degree_name, note_name, with_signs};
use crate::document::ScaleName;
use crate::engine::snapshot::{Snapshot, Sounding};
use guidehand_theory::chord::Chord;
use guidehand_theory::degree::Degree;
use guidehand_theory::pitch::{NoteName, PitchClass};
use guidehand_theory::scale::{self, Suggestion};
use std::ops::RangeInclusive;

/// What the scales are for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Scales {
    /// The chord as it is written and how it is voiced: the choice of a scale holds
    /// as long as these are the same.
    pub of: (Chord, Vec<Degree>),
    /// The scales that fit, the suggestion first; at least one.
    pub all: Vec<Scale>,
}

/// A scale on show.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Scale {
    /// The name by which a document holds it.
    pub chosen_as: ScaleName,
    /// Root and name.
    pub title: String,
    /// The name alone; with its root where that is not the chord's.
    pub name: String,
    /// The notes, ascending.
    pub notes: Vec<ScaleNote>,
    /// Why it fits.
    pub reason: String,
    /// Where it comes from; empty where it is no mode of another.
    pub parent: String,
    /// Other names by which players know it.
    pub also: Vec<String>,
    /// The steps from note to note: `H W H W W W W`.
    pub steps: String,
    /// The keys of its octave, from white key to white key; the root is the first
    /// one or next to it.
    pub octave: RangeInclusive<u8>,
}

/// A note of a scale on show.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ScaleNote {
    /// Its key in the octave.
    pub key: u8,
    /// The note's name.
    pub name: String,
    /// Its everyday name, where its own name is none: `C` for `B♯`.
    pub everyday: Option<String>,
    /// Its degree.
    pub degree: String,
    /// What it is in the chord.
    pub kind: NoteKind,
    /// To be passed over rather than rested on.
    pub avoid: bool,
}

/// The scales to play over the chord on show.
#[must_use]
pub fn scales(snapshot: &Snapshot) -> Option<Scales> {
    let sounding = on_show(snapshot)?;
    let voicing = &sounding.voiced.voicing;
    let all = sounding.placed.scales(voicing);
    Some(Scales {
        of: (sounding.placed.chord, voicing.degrees().iter().collect()),
        all: all.iter().map(|scale| words(&sounding, scale)).collect(),
    })
}

fn words(sounding: &Sounding, suggestion: &Suggestion) -> Scale {
    let root = suggestion.root.class().number();
    let octave = octave(root);
    let notes = suggestion.notes().zip(suggestion.scale.degrees);
    let name = with_signs(suggestion.scale.name);
    let title = format!("{} {name}", note_name(suggestion.root));
    let own_root = suggestion.root == sounding.placed.chord.root;
    Scale {
        chosen_as: ScaleName::of(suggestion, &sounding.placed.chord),
        name: if own_root { name } else { title.clone() },
        title,
        notes: notes
            .map(|(name, degree)| ScaleNote {
                key: root + name.class().above(PitchClass::wrapping(i32::from(root))),
                name: note_name(name),
                everyday: scale::everyday(name).map(note_name),
                degree: degree_name(*degree),
                kind: kind(sounding, suggestion.root, *degree),
                avoid: suggestion.avoid.contains(*degree),
            })
            .collect(),
        reason: super::words(&suggestion.reason),
        parent: with_signs(suggestion.scale.parent),
        also: suggestion
            .scale
            .also
            .iter()
            .map(|name| with_signs(name))
            .collect(),
        steps: suggestion.scale.steps().collect::<Vec<_>>().join(" "),
        octave,
    }
}

impl ScaleNote {
    /// The name, with the everyday one in brackets behind it: `B♯ (C)`.
    #[must_use]
    pub fn names(&self) -> String {
        match &self.everyday {
            Some(everyday) => format!("{} ({everyday})", self.name),
            None => self.name.clone(),
        }
    }
}

impl Scale {
    /// Other names and where it comes from, from the fullest form to the shortest:
    /// the panel shows the first one that has room.
    #[must_use]
    pub fn remarks(&self) -> Vec<String> {
        let from = (!self.parent.is_empty()).then(|| self.parent.clone());
        let join = |names: usize| {
            let also = self.also.iter().take(names).cloned();
            also.chain(from.clone()).collect::<Vec<_>>().join(" · ")
        };
        (0..=self.also.len()).rev().map(join).collect()
    }
}

/// The keys from a root, 1 to 12, to the half step under its octave, and to the
/// white keys beyond.
fn octave(root: u8) -> RangeInclusive<u8> {
    let from = if is_black(root) { root - 1 } else { root };
    let to = root + 11;
    from..=if is_black(to) { to + 1 } else { to }
}

/// What a note of the scale is in the chord, whatever the scale calls it: the
/// sixth of a chord is its thirteenth, and the blues scale counts from another root.
fn kind(sounding: &Sounding, root: NoteName, degree: Degree) -> NoteKind {
    let chord = &sounding.placed.chord;
    let tensions = &sounding.voiced.tensions;
    let class = degree.class(root);
    let same = |other: Degree| other.class(chord.root) == class;
    let guides = [tensions.third, tensions.seventh];
    let tones = chord.quality.degrees();
    let is_bass = chord.bass.is_some_and(|bass| bass.class() == class);
    let is_altered = if root == chord.root {
        degree.is_altered()
    } else {
        Degree::ALL.into_iter().any(|d| d.is_altered() && same(d))
    };
    if guides.into_iter().flatten().any(same) {
        NoteKind::Guide
    } else if is_bass || same(Degree::Root) || tones.iter().any(same) {
        NoteKind::ChordTone
    } else if is_altered {
        NoteKind::Altered
    } else {
        NoteKind::Natural
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use guidehand_theory::chart;
    use guidehand_theory::key::Key;
    use guidehand_theory::pipeline::{self, Taste};
    use guidehand_theory::plan::Ends;
    use guidehand_theory::quality::TABLE;
    use guidehand_theory::symbol;

    fn over(text: &str) -> Scales {
        let placed = pipeline::place(&chart::parse(text).unwrap(), None);
        let taste = Taste::default();
        let plan = pipeline::plan(&placed, taste.texture, taste.register, Ends::Open);
        let snapshot = Snapshot {
            last: Some(Sounding {
                placed: placed[0].unwrap(),
                voiced: plan[0].unwrap(),
                bass: None,
                read: None,
            }),
            ..Snapshot::default()
        };
        scales(&snapshot).unwrap()
    }

    fn of_kind(scale: &Scale, kind: NoteKind) -> Vec<&str> {
        let notes = scale.notes.iter().filter(|n| n.kind == kind && !n.avoid);
        notes.map(|n| n.name.as_str()).collect()
    }

    #[test]
    fn notes_are_told_apart() {
        let scales = over("| Cmaj7 |");
        let first = &scales.all[0];
        assert_eq!(first.title, "C Ionian");
        let avoid: Vec<&str> = first
            .notes
            .iter()
            .filter(|n| n.avoid)
            .map(|n| n.name.as_str())
            .collect();
        assert_eq!(avoid, ["F"]);
        assert_eq!(of_kind(first, NoteKind::Guide), ["E", "B"]);
        assert_eq!(of_kind(first, NoteKind::ChordTone), ["C", "G"]);
        assert_eq!(of_kind(first, NoteKind::Natural), ["D", "A"]);
        assert!(scales.all.iter().any(|s| s.name == "Lydian"), "{scales:?}");
        assert!(scales.all.iter().all(|s| !s.reason.is_empty()));

        let altered = &over("| A7 | Dm6 |").all[0];
        assert_eq!(of_kind(altered, NoteKind::Guide), ["C♯", "G"]);
        assert!(
            of_kind(altered, NoteKind::Altered).contains(&"B♭"),
            "{altered:?}"
        );
        // The sixth of the chord is a guide tone, as thirteenth of the scale.
        assert_eq!(of_kind(&over("| C6 |").all[0], NoteKind::Guide), ["E", "A"]);
    }

    #[test]
    fn names_steps_and_everyday_spelling() {
        let altered = &over("| C♯7alt | F♯m6 |").all[0];
        assert_eq!(altered.title, "C♯ altered");
        assert_eq!(altered.steps, "H W H W W W W");
        assert_eq!(
            altered.remarks(),
            [
                "super-Locrian · diminished whole tone · melodic minor, 7th mode",
                "super-Locrian · melodic minor, 7th mode",
                "melodic minor, 7th mode"
            ]
        );
        let names: Vec<String> = altered.notes.iter().map(ScaleNote::names).collect();
        let expected = ["C♯", "D", "D♯♯ (E)", "E♯ (F)", "F♯♯ (G)", "A", "B"];
        assert_eq!(names, expected);
    }

    /// The blues scale of F counts from F, over B flat too.
    #[test]
    fn notes_of_another_root_are_what_they_are_in_the_chord() {
        let mut placed = pipeline::place(&chart::parse("| Bb7 |").unwrap(), None)[0].unwrap();
        placed.function.key = Key::parse("F blues").unwrap();
        placed.function.above = 5;
        let voiced = pipeline::step(None, &placed, &Taste::default());
        let snapshot = Snapshot {
            last: Some(Sounding {
                placed,
                voiced,
                bass: None,
                read: None,
            }),
            ..Snapshot::default()
        };
        let scales = scales(&snapshot).unwrap();
        let blues = scales.all.iter().find(|s| s.name == "F blues").unwrap();
        assert_eq!(blues.title, "F blues");
        assert_eq!(of_kind(blues, NoteKind::Guide), ["A♭"]);
        assert_eq!(of_kind(blues, NoteKind::ChordTone), ["F", "B♭"]);
        assert_eq!(of_kind(blues, NoteKind::Altered), ["B"]);
    }

    /// Every root and every quality: each note has its own key of the octave, and
    /// the octave begins and ends with a white key.
    #[test]
    fn every_scale_lies_in_its_octave() {
        for fifths in -8..=10 {
            for row in &TABLE {
                let root = NoteName::from_fifths(fifths);
                let text = format!("| {root}{} |", row.suffix);
                if symbol::parse(text.trim_matches(['|', ' '])).is_err() {
                    continue;
                }
                for scale in over(&text).all {
                    let keys: Vec<u8> = scale.notes.iter().map(|n| n.key).collect();
                    assert!(keys.windows(2).all(|k| k[0] < k[1]), "{text} {scale:?}");
                    let octave = &scale.octave;
                    assert!(keys.iter().all(|k| octave.contains(k)), "{text} {scale:?}");
                    assert!(!is_black(*octave.start()) && !is_black(*octave.end()));
                    assert!(octave.end() - octave.start() <= 13);
                }
            }
        }
        assert_eq!(scales(&Snapshot::default()), None);
    }
}
