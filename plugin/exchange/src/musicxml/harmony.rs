//! Writes chords as `harmony` elements, and reads them. Imports `tree`, `xml` and the theory's
//! `kind`.

use super::tree::Element;
use super::xml::Out;
use guidehand_theory::chord::Chord;
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

/// Reads a `harmony` element; none for silence.
///
/// # Errors
/// A sentence about what is wrong with it.
pub fn read(element: &Element) -> Result<Option<Chord>, String> {
    let kind_element = element.child("kind").ok_or("no kind; expected one")?;
    let name = kind_element.text();
    let text = kind_element.attribute("text").unwrap_or("");
    if name == "none" {
        return Ok(None);
    }
    let root = element
        .child("root")
        .and_then(|e| note(e, "root-step", "root-alter"));
    let root = root.ok_or("no root; expected a letter, not a function or a numeral")?;
    let bass = match element.child("bass") {
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
        let degrees = degrees(element)?;
        let harmony = Harmony {
            root,
            kind,
            degrees,
            bass,
        };
        kind::from_kind(&harmony).map_err(|error| error.to_string())
    });
    // Some programs give the chord only in the kind's text.
    read.or_else(|error| by_text(root, text, bass).map(Some).ok_or(error))
}

fn by_text(root: NoteName, text: &str, bass: Option<NoteName>) -> Option<Chord> {
    if text.trim().is_empty() {
        return None;
    }
    let mut chord = symbol::parse(&format!("{root}{}", text.trim())).ok()?;
    chord.bass = bass.or(chord.bass);
    Some(chord)
}

fn degrees(element: &Element) -> Result<Vec<Change>, String> {
    let degrees = element.children("degree").map(|degree| {
        let text = |name| degree.child(name).map_or("", Element::text);
        let wrong = || "a degree that cannot be read; expected value, alter and type".to_owned();
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

/// Writes a note as two elements: its letter and its accidental.
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
