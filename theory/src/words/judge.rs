//! Words for what there is to tell of an answer. Imports `out`.

use super::out::{Out, Words, display_in_ascii};
use crate::degree::Degree;
use crate::judge::{Finding, Question, Told};
use crate::pitch::{MidiNote, NoteName};
use crate::scale::everyday;
use crate::voicing::{MOST_NOTES, Position, Voice};
use std::fmt::{self, Write};

display_in_ascii!(Told<'_>);

impl Degree {
    /// The degree by its number alone, in words: `ninth` for b9, 9 and #9.
    #[must_use]
    pub const fn number(self) -> &'static str {
        match self {
            Degree::Root => "root",
            Degree::Two => "second",
            Degree::Flat9 | Degree::Nine | Degree::Sharp9 => "ninth",
            Degree::Flat3 | Degree::Three => "third",
            Degree::Four => "fourth",
            Degree::Flat11 | Degree::Eleven | Degree::Sharp11 => "eleventh",
            Degree::Flat5 | Degree::Five | Degree::Sharp5 => "fifth",
            Degree::Six => "sixth",
            Degree::Flat13 | Degree::Thirteen => "thirteenth",
            Degree::DoubleFlat7 | Degree::Flat7 | Degree::Seven => "seventh",
        }
    }
}

impl Words for Told<'_> {
    fn write(&self, out: &mut Out) -> fmt::Result {
        let question = self.question;
        let root = question.placed.chord.root;
        match self.finding {
            Finding::Right(voice) => {
                slot(out, voice.degree)?;
                note(out, voice.degree.over(root))?;
                out.write_str(", right")
            }
            Finding::OtherOctave { asked, played } => {
                slot(out, asked.degree)?;
                let name = asked.degree.over(root);
                key(out, name, played)?;
                let apart = played.semitones() - asked.note.semitones();
                write!(
                    out,
                    " is {} too {}, asked ",
                    octaves(apart / 12),
                    way(apart)
                )?;
                key(out, name, asked.note)
            }
            Finding::Off { asked, played } => {
                slot(out, asked.degree)?;
                note(out, played.degree.over(root))?;
                out.write_str(" is ")?;
                out.name(played.degree)?;
                out.write_str(", asked ")?;
                out.name(asked.degree)?;
                out.write_str(", ")?;
                note(out, asked.degree.over(root))?;
                let apart = played.note.semitones() - asked.note.semitones();
                write!(out, "; {} too {}", half_steps(apart), way(apart))
            }
            Finding::Missing(voice) => {
                slot(out, voice.degree)?;
                out.name(voice.degree)?;
                out.write_str(", ")?;
                note(out, voice.degree.over(root))?;
                out.write_str(", is missing")
            }
            Finding::NotAsked(voice) => not_asked(out, question, voice),
            Finding::NoPlace(voice) => {
                note(out, voice.degree.over(root))?;
                out.write_str(": ")?;
                out.name(voice.degree)?;
                out.write_str(" has no place in this chord")
            }
            Finding::Doubled { kept, played } => {
                let name = kept.degree.over(root);
                key(out, name, played)?;
                write!(out, ": the {} is there already, ", kept.degree.number())?;
                key(out, name, kept.note)
            }
            Finding::RootPlayed(_) => {
                note(out, root)?;
                let elsewhere = question.placed.chord.bass.is_some_and(|bass| {
                    // A slash chord has another bass.
                    bass.class() != root.class()
                });
                out.write_str(if elsewhere {
                    " is the root: left out here"
                } else {
                    " is the root: the bass has it"
                })
            }
            Finding::OtherPosition { asked, played } => {
                out.write_str("right notes, ")?;
                position(out, played)?;
                out.write_str("; asked ")?;
                position(out, asked)
            }
            Finding::OctaveOff(off) => {
                let off = i32::from(off);
                write!(out, "the whole hand is {} too {}", octaves(off), way(off))
            }
            Finding::NotGood(verdict) => verdict.write(out),
            Finding::TooMany(count) => {
                write!(
                    out,
                    "{count} keys are held: a voicing has at most {MOST_NOTES}"
                )
            }
        }
    }
}

/// The slot that is told of.
fn slot(out: &mut Out, degree: Degree) -> fmt::Result {
    write!(out, "{}: ", degree.number())
}

/// The name of a note, with its everyday name if its own is unusual.
fn note(out: &mut Out, name: NoteName) -> fmt::Result {
    out.name(name)?;
    other_name(out, name)
}

/// The same with its octave.
fn key(out: &mut Out, name: NoteName, note: MidiNote) -> fmt::Result {
    out.name(name.at(note))?;
    other_name(out, name)
}

fn other_name(out: &mut Out, name: NoteName) -> fmt::Result {
    let Some(everyday) = everyday(name) else {
        return Ok(());
    };
    out.write_str(" (")?;
    out.name(everyday)?;
    out.write_str(")")
}

/// A note that was not asked for: one of the chord's own, or a tension.
fn not_asked(out: &mut Out, question: &Question, voice: Voice) -> fmt::Result {
    let chord = &question.placed.chord;
    note(out, voice.degree.over(chord.root))?;
    out.write_str(": the ")?;
    if chord.degrees().contains(voice.degree) {
        write!(out, "{}, left out here", voice.degree.number())
    } else {
        out.name(voice.degree)?;
        out.write_str(", not asked for")
    }
}

fn position(out: &mut Out, position: Position) -> fmt::Result {
    match position.lowest() {
        Some(slot) => write!(out, "{slot} lowest"),
        None if position == Position::Fourths => out.write_str("stacked fourths"),
        None => out.write_str("in another order"),
    }
}

/// So many octaves, up or down.
fn octaves(apart: i32) -> String {
    match apart.unsigned_abs() {
        1 => "an octave".to_owned(),
        2 => "two octaves".to_owned(),
        many => format!("{many} octaves"),
    }
}

/// So many half steps, up or down.
fn half_steps(apart: i32) -> String {
    match apart.unsigned_abs() {
        1 => "a half step".to_owned(),
        2 => "a whole step".to_owned(),
        many => format!("{many} half steps"),
    }
}

const fn way(apart: i32) -> &'static str {
    if apart < 0 { "low" } else { "high" }
}
