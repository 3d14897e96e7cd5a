//! A score as MusicXML 4.0, partwise. Imports `part`, `measure`, `xml`, `score` and
//! `sheet`.

use super::engraver::Engraver;
use super::part::{Part, divisions, part};
use super::xml::Out;
use crate::score::{Hand, Note, Score};
use crate::sheet::Sheet;

/// Whether repeats are kept.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Form {
    /// Repeats and endings as the chart writes them. Each bar shows the notes of
    /// the first time that it is played.
    #[default]
    Written,
    /// All repeats written out.
    AsPlayed,
}

/// Which notes a page shows, on which staves.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Staves {
    /// Chord symbols over rests.
    Symbols,
    /// All chords on one staff, as for the left hand alone.
    #[default]
    One,
    /// Each hand on its own staff.
    Grand,
}

/// What a page looks like.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Page {
    /// Whether repeats are kept.
    pub form: Form,
    /// The staves of the chords.
    pub staves: Staves,
    /// Whether the bass has a staff of its own.
    pub bass: bool,
    /// Whether the score's words stand under the notes.
    pub words: bool,
}

/// The text of the file. Notes lie on the nearest place of each bar's grid: its
/// beats in halves or threes, or the bar as one tuplet where chords share it so.
#[must_use]
pub fn write(score: &Score, page: Page) -> String {
    let sheet = match page.form {
        Form::Written => Sheet::written(&score.chart),
        Form::AsPlayed => Sheet::played(&score.chart),
    };
    write_sheet(score, &sheet, page)
}

fn write_sheet(score: &Score, sheet: &Sheet, page: Page) -> String {
    let mut parts = vec![part("Chords", chords(score, page.staves), sheet, true)];
    if page.bass {
        parts.push(part("Bass", vec![score.bass.clone()], sheet, false));
    }
    let mut out = Out::new();
    head(&mut out, score, &parts);
    for (part, id) in parts.iter().zip(["P1", "P2"]) {
        out.open("part", &[("id", id)]);
        let mut engraver = Engraver {
            out: &mut out,
            score,
            bars: &sheet.bars,
            part,
            words: page.words,
            divisions: divisions(part, &sheet.bars),
            ending: None,
        };
        for (index, bar) in sheet.bars.iter().enumerate() {
            engraver.measure(index, bar);
        }
        out.close("part");
    }
    out.close("score-partwise");
    out.finish()
}

/// The title and the list of parts.
fn head(out: &mut Out, score: &Score, parts: &[Part]) {
    out.open("score-partwise", &[("version", "4.0")]);
    if !score.title.is_empty() {
        out.open("work", &[]);
        out.leaf("work-title", &score.title);
        out.close("work");
    }
    out.open("part-list", &[]);
    for (part, id) in parts.iter().zip(["P1", "P2"]) {
        out.open("score-part", &[("id", id)]);
        out.leaf("part-name", part.name);
        out.close("score-part");
    }
    out.close("part-list");
}

fn chords(score: &Score, staves: Staves) -> Vec<Vec<Note>> {
    let of = |hand: Hand| -> Vec<Note> {
        let notes = score.comping.iter().copied();
        notes.filter(|note| note.hand == hand).collect()
    };
    match staves {
        Staves::Symbols => vec![Vec::new()],
        Staves::One => vec![score.comping.clone()],
        Staves::Grand => vec![of(Hand::Right), of(Hand::Left)],
    }
}
