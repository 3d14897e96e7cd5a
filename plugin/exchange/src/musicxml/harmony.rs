//! Writes chords as `harmony` elements, and reads them. Imports `tree`, `xml` and the theory's
//! `kind`.

use super::tree::{self, Element};
use super::xml::Out;
use guidehand_theory::chord::{Chord, Triad};
use guidehand_theory::degree::Degree;
use guidehand_theory::kind::{self, Change, Harmony, Kind, Step};
use guidehand_theory::pitch::{Letter, NoteName};
use guidehand_theory::symbol::{self, Sign, Symbol};

/// Writes a chord, or silence. The kind's text is the symbol as we print it, so that programs show
/// it in the same way.
pub fn put(out: &mut Out, chord: Option<&Chord>) {
    let (harmony, text) = match chord {
        Some(chord) => (kind::to_kind(chord), suffix(chord)),
        None => (kind::no_chord(), "N.C.".to_owned()),
    };
    out.open("harmony", &[("print-frame", "no")]);
    note_name(out, "root", harmony.root);
    out.leaf_with("kind", &[("text", &text)], harmony.kind.name());
    if let Some(bass) = harmony.bass {
        note_name(out, "bass", bass);
    }
    for degree in &harmony.degrees {
        out.open("degree", &[("print-object", "no")]);
        out.leaf("degree-value", &degree.value.to_string());
        out.leaf("degree-alter", &degree.alter.to_string());
        out.leaf("degree-type", degree.step.name());
        out.close("degree");
    }
    out.close("harmony");
}

/// What a chord is read as once it has been written.
pub fn through(chord: &Chord) -> Option<Chord> {
    let mut out = Out::new();
    put(&mut out, Some(chord));
    let element = tree::read(&out.finish(), |_| true).ok()?;
    read(&element).chord.ok().flatten()
}

/// The symbol without its root and bass; for a polychord, without the upper root.
fn suffix(chord: &Chord) -> String {
    let plain = Chord {
        bass: None,
        ..*chord
    };
    let text = Symbol(&plain, Sign::Ascii).to_string();
    let rest = NoteName::read(&text).map_or(text.as_str(), |(_, rest)| rest);
    // A polychord is read as its lower chord, and shown as a whole.
    if chord.upper.is_some() {
        text
    } else {
        rest.to_owned()
    }
}

fn note_name(out: &mut Out, name: &str, note: NoteName) {
    let (step, alter) = match name {
        "root" => ("root-step", "root-alter"),
        _ => ("bass-step", "bass-alter"),
    };
    out.open(name, &[]);
    let letter = NoteName::new(note.letter, 0).to_string();
    out.leaf(step, &letter);
    if note.accidental != 0 {
        out.leaf(alter, &note.accidental.to_string());
    }
    out.close(name);
}

/// What a `harmony` element says.
#[derive(Debug)]
pub struct Found {
    /// The chord, silence, or why neither can be read.
    pub chord: Result<Option<Chord>, String>,
    /// What else is said about it that is not kept.
    pub missed: Vec<String>,
}

/// Reads a `harmony` element. Several chords in it are stacked: each stands above the next one
/// (W3C MusicXML 4.0, `harmony-arrangement`).
pub fn read(element: &Element) -> Found {
    let begins = |e: &Element| matches!(e.name(), "root" | "numeral" | "function");
    let elements = element.elements();
    let mut starts: Vec<usize> = (0..elements.len())
        .filter(|at| elements.get(*at).is_some_and(begins))
        .collect();
    if starts.is_empty() {
        starts.push(0);
    }
    starts.push(elements.len());
    let ends = starts.iter().skip(1);
    let groups = starts.iter().zip(ends);
    let mut chords = groups.map(|(from, to)| One(elements.get(*from..*to).unwrap_or_default()));
    let first = chords.next().map_or(Ok(None), |first| first.chord());
    let mut found = Found {
        chord: first,
        missed: Vec::new(),
    };
    for below in chords {
        match (found.chord, below.chord()) {
            (Ok(Some(upper)), Ok(Some(lower))) => {
                let (chord, missed) = stacked(upper, lower);
                found.missed.extend(missed);
                found.chord = Ok(Some(chord));
            }
            (Err(words), Ok(chord)) | (Ok(chord), Err(words)) if chord.is_some() => {
                found.missed.push(words);
                found.chord = Ok(chord);
            }
            (other, _) => found.chord = other,
        }
    }
    found
}

/// A chord over another one, and what is lost of the two.
pub fn stacked(upper: Chord, lower: Chord) -> (Chord, Option<String>) {
    let name = |chord: &Chord| Symbol(chord, Sign::Ascii).to_string();
    let Some(triad) = Triad::of(&upper) else {
        let words = format!(
            "{} over {} is no triad over a chord; the lower chord is read",
            name(&upper),
            name(&lower)
        );
        return (lower, Some(words));
    };
    // The symbol of a triad over a triad says only the bass of the lower one.
    let symbol = format!("{}/{}", name(&upper), name(&lower));
    match lower.with_upper(triad) {
        Ok(chord) if symbol::parse(&symbol) == Ok(chord) => (chord, None),
        _ if Triad::of(&lower).is_some() => {
            let bass = Some(lower.root);
            let words = format!(
                "the triad {} under {} has no symbol; its root is read as the bass",
                name(&lower),
                name(&upper)
            );
            (Chord { bass, ..upper }, Some(words))
        }
        _ => {
            let words = format!("{symbol} has no symbol; the lower chord is read");
            (lower, Some(words))
        }
    }
}

/// The elements of one chord in a `harmony`.
struct One<'a>(&'a [Element]);

impl<'a> One<'a> {
    fn child(&self, name: &str) -> Option<&'a Element> {
        self.0.iter().find(|element| element.name() == name)
    }

    /// The chord, or none for silence.
    fn chord(&self) -> Result<Option<Chord>, String> {
        let kind_element = self.child("kind").ok_or("no kind; expected one")?;
        let name = kind_element.text();
        let text = kind_element.attribute("text").unwrap_or("");
        if name == "none" {
            return Ok(None);
        }
        let root = self
            .child("root")
            .and_then(|e| note(e, "root-step", "root-alter"));
        let root = root.ok_or("no root; expected a letter, not a function or a numeral")?;
        let bass = match self.child("bass") {
            Some(bass) => {
                let bass = note(bass, "bass-step", "bass-alter");
                Some(bass.ok_or("a bass that is no note; expected a letter")?)
            }
            None => None,
        };
        // Programs differ in the capitals of a few names.
        let mut kinds = Kind::ALL.into_iter();
        let kind = kinds.find(|kind| kind.name().eq_ignore_ascii_case(name));
        let read = kind.ok_or_else(|| format!("\"{name}\" is no kind of the standard"));
        let read = read.and_then(|kind| {
            let harmony = Harmony {
                root,
                kind,
                degrees: self.degrees()?,
                bass,
            };
            kind::from_kind(&harmony).map_err(|error| error.to_string())
        });
        // Some programs give the chord only in the kind's text.
        let read = read.or_else(|error| by_text(root, text, bass).map(Some).ok_or(error))?;
        read.map(|chord| self.inverted(polychord(chord, text)))
            .transpose()
    }

    /// The chord over the bass that its inversion names, if it names no bass itself.
    fn inverted(&self, mut chord: Chord) -> Result<Chord, String> {
        let Some(inversion) = self.child("inversion").filter(|_| chord.bass.is_none()) else {
            return Ok(chord);
        };
        let number = inversion.text().parse::<usize>().ok();
        let wrong = || {
            let text: String = inversion.text().chars().take(20).collect();
            format!("there is no inversion \"{text}\" of it")
        };
        let number = number.ok_or_else(wrong)?;
        if number > 0 {
            let degrees = chord.degrees();
            let mut fifths = [Degree::Five, Degree::Flat5, Degree::Sharp5].into_iter();
            let fifth = fifths.find(|degree| degrees.contains(*degree));
            let thirds = [chord.third(), fifth, chord.seventh()];
            let degree = thirds.get(number - 1).copied().flatten();
            chord.bass = Some(degree.ok_or_else(wrong)?.over(chord.root));
        }
        Ok(chord)
    }

    fn degrees(&self) -> Result<Vec<Change>, String> {
        let degrees = self.0.iter().filter(|element| element.name() == "degree");
        let degrees = degrees.map(|degree| {
            let text = |name| degree.child(name).map_or("", Element::text);
            let wrong =
                || "a degree that cannot be read; expected value, alter and type".to_owned();
            Ok(Change {
                value: text("degree-value").parse().map_err(|_| wrong())?,
                alter: whole(text("degree-alter")).ok_or_else(wrong)?,
                step: match text("degree-type") {
                    "add" => Step::Add,
                    "alter" => Step::Alter,
                    "subtract" => Step::Subtract,
                    _ => return Err(wrong()),
                },
            })
        });
        degrees.collect()
    }
}

/// The polychord that the text of a kind shows, if it is this chord. The standard has no kind for
/// it.
fn polychord(chord: Chord, text: &str) -> Chord {
    let shown = symbol::parse(text.trim()).ok();
    let same = |shown: &Chord| {
        let alike = (shown.root, shown.stack()) == (chord.root, chord.stack());
        shown.upper.is_some() && shown.bass.is_none() && chord.bass.is_none() && alike
    };
    shown.filter(same).unwrap_or(chord)
}

fn by_text(root: NoteName, text: &str, bass: Option<NoteName>) -> Option<Chord> {
    if text.trim().is_empty() {
        return None;
    }
    let mut chord = symbol::parse(&format!("{root}{}", text.trim())).ok()?;
    chord.bass = bass.or(chord.bass);
    Some(chord)
}

/// Reads a note from two elements: its letter and its accidental.
fn note(element: &Element, step: &str, alter: &str) -> Option<NoteName> {
    let mut letters = element.child(step)?.text().chars();
    let letter = Letter::from_char(letters.next()?)?;
    let alter = element.child(alter).map_or(Some(0), |e| whole(e.text()))?;
    (letters.next().is_none() && alter.abs() <= 2).then(|| NoteName::new(letter, alter))
}

/// Reads a whole number. The standard allows a fraction, but no chord has one.
fn whole(text: &str) -> Option<i8> {
    let text = text.strip_suffix(".0").unwrap_or(text);
    if text.is_empty() {
        Some(0)
    } else {
        text.parse().ok()
    }
}
