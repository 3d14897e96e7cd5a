//! Writes a score as MusicXML 4.0, partwise. Imports `part`, `passes`, `swing`, `measure`, `kept`,
//! `xml`, `score` and `sheet`.

use super::engraver::Engraver;
use super::kept;
use super::part::{Part, divisions, part};
use super::passes;
use super::swing;
use super::xml::Out;
use crate::score::{ChordWords, Hand, Note, Score};
use crate::sheet::Sheet;

/// Whether repeats are kept.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Form {
    /// Repeats and endings as the chart writes them. If the notes on the page are not the same
    /// each time that a bar is played, all repeats are written out.
    #[default]
    Written,
    /// All repeats are written out.
    AsPlayed,
}

/// Which notes a page shows, on which staves. A melody has a staff of its own above them, which
/// shows the block chords too.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Staves {
    /// Chord symbols stand over the melody, or over rests if there is none.
    Symbols,
    /// All chords are on one staff, as for the left hand alone.
    #[default]
    One,
    /// Each hand has its own staff.
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
    /// What stands in words under the chords.
    pub words: Words,
}

/// What stands in words under the chords of a page, each on a line of its own. Scales that the player
/// has chosen always do.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Words {
    /// The forms of the voicings.
    pub forms: bool,
    /// Their degrees.
    pub degrees: bool,
    /// The scales to play.
    pub scales: bool,
}

impl Words {
    /// All of them.
    pub const ALL: Words = Words {
        forms: true,
        degrees: true,
        scales: true,
    };

    /// The forms alone.
    pub const FORMS: Words = Words {
        forms: true,
        degrees: false,
        scales: false,
    };
}

/// The text of the file. Notes are moved to the nearest place of each bar's grid: beats in halves
/// or thirds, or the bar as one tuplet if its chords divide it so. Eighths that swing are written
/// as even ones under a mark.
#[must_use]
pub fn write(score: &Score, page: Page) -> String {
    let sheet = sheet(score, page);
    let Some(ratio) = swing::ratio(score.off_beat) else {
        return write_sheet(score, &sheet, page, None);
    };
    let even = swing::even(score);
    // Where nothing swings no mark stands.
    let swings = (&even.comping, &even.bass) != (&score.comping, &score.bass);
    write_sheet(&even, &sheet, page, swings.then_some(ratio))
}

/// The ids of the parts.
const IDS: [&str; 3] = ["P1", "P2", "P3"];

/// The bars of the page.
#[must_use]
pub fn sheet(score: &Score, page: Page) -> Sheet {
    let mut staves = chords(score, page.staves);
    staves.push(on_top(score));
    if page.bass {
        staves.push(score.bass.clone());
    }
    match page.form {
        Form::Written if passes::are_alike(&score.chart, &staves) => Sheet::written(&score.chart),
        _ => Sheet::played(&score.chart),
    }
}

fn write_sheet(score: &Score, sheet: &Sheet, page: Page, swing: Option<(u32, u32)>) -> String {
    let mut parts = Vec::new();
    let sings = !score.melody.is_empty();
    if sings {
        let mut melody = part("Melody", vec![on_top(score)], sheet, true);
        melody.set_clef(&score.melody);
        parts.push(melody);
    }
    if !sings || page.staves != Staves::Symbols {
        let mut chords = part("Chords", chords(score, page.staves), sheet, !sings);
        chords.has_words = true;
        if let Some(melody) = parts.first_mut() {
            melody.has_words = false;
        }
        parts.push(chords);
    }
    if page.bass {
        parts.push(part("Bass", vec![score.bass.clone()], sheet, false));
    }
    let words = words(score, page.words);
    let mut out = Out::new();
    head(&mut out, score, &parts);
    for (part, id) in parts.iter().zip(IDS) {
        out.open("part", &[("id", id)]);
        let mut engraver = Engraver {
            out: &mut out,
            score,
            bars: &sheet.bars,
            part,
            words: &words,
            divisions: divisions(part, &sheet.bars),
            lines_from: 0,
            ending: None,
            swing,
        };
        for (index, bar) in sheet.bars.iter().enumerate() {
            engraver.measure(index, bar);
        }
        out.close("part");
    }
    out.close("score-partwise");
    out.finish()
}

/// The words under the chords, in order.
fn words(score: &Score, asked: Words) -> Vec<(u32, &str)> {
    let chosen = |at| score.scales.iter().any(|(scale_at, _)| *scale_at == at);
    let of_chord = |chord: &'_ ChordWords| {
        let scales = asked.scales && !chosen(chord.start_ticks);
        [asked.forms, asked.degrees, scales]
    };
    let chords = score.words.iter().flat_map(|chord| {
        let lines = [&chord.form, &chord.degrees, &chord.scale];
        let lines = lines.into_iter().zip(of_chord(chord));
        let wanted = lines.filter(|(line, wanted)| *wanted && !line.is_empty());
        wanted.map(|(line, _)| (chord.start_ticks, line.as_str()))
    });
    let scales = score.scales.iter().map(|(at, scale)| (*at, scale.as_str()));
    let mut words: Vec<(u32, &str)> = chords.chain(scales).collect();
    words.sort_by_key(|(at, _)| *at);
    words
}

/// The title, what was picked, and the list of parts.
fn head(out: &mut Out, score: &Score, parts: &[Part]) {
    out.open("score-partwise", &[("version", "4.0")]);
    if !score.title.is_empty() {
        out.open("work", &[]);
        out.leaf("work-title", &score.title);
        out.close("work");
    }
    if let Some(kept) = &score.kept {
        out.open("identification", &[]);
        kept::put(out, kept);
        out.close("identification");
    }
    out.open("part-list", &[]);
    for (part, id) in parts.iter().zip(IDS) {
        out.open("score-part", &[("id", id)]);
        out.leaf("part-name", part.name);
        out.close("score-part");
    }
    out.close("part-list");
}

/// The melody with its block chords.
fn on_top(score: &Score) -> Vec<Note> {
    let notes = score.melody.iter().chain(&score.blocks);
    notes.copied().collect()
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
