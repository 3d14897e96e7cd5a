//! From text to a melody. Imports `error`, `length` and `line`, and `chart`.

use super::error::{MelodyError, MelodyProblem};
use super::length::Length;
use super::line::{Melody, MelodyNote};
use super::{LONGEST_TEXT, MOST_NOTES};
use crate::chart::{Bar, Chart};
use crate::pitch::{NoteName, NoteNames, SpelledPitch};
use std::ops::Range;

/// Reads a melody over a chart, bar by bar as the chart is played, with its meters and its pickup.
///
/// A note is its name and octave, with middle C as `C4`, and then its length: `E5/8` is an eighth,
/// `Bb4/4.` a dotted quarter, `C5/8t` an eighth of a triplet. A note or rest without a length is as
/// long as the one before it, and the first one is a quarter. `r` is a rest. `~` ties two notes on
/// one key. Bars stand between `|`.
///
/// ```text
/// melody = [ line ] [ bar { line bar } ] [ line ]
/// line   = "|" { "|" } [ "]" ]
/// bar    = { note [ "~" ] | rest }
/// note   = name octave [ length ]
/// rest   = ( "r" | "-" ) [ length ]
/// name   = letter { "#" | "b" }              at most two signs; ♯ and ♭ too;
///                                            the German names in a chart with German names
/// octave = -2 to 10                          the key lies between MIDI notes 0 and 127
/// length = "/" value [ "." | ".." | "t" ]    t: three in the time of two
///        | ":" ticks                         960 to a quarter, for what has no note value
/// value  = 1 | 2 | 4 | 8 | 16 | 32 | 64
/// ```
///
/// The first bar of the text is the first that is played, which is the pickup if the chart has one.
/// Notes and rests fill their bar. Only the last bar may end early, and a bar with nothing in it is
/// silent (`| |`, with a space, since `||` is one line). A line that ends a row of the text and one
/// that begins the next are one line. Small letters name notes too.
///
/// | text over 4/4 | is |
/// |---|---|
/// | `\| E5/2 D5/4 C5 \|` | a half note and two quarters |
/// | `\| r/4. G4/8 A4 B4 C5 D5 \|` | a rest of three eighths, then five eighths |
/// | `\| C5/8t D5 Eb5 F5/2. \|` | a triplet of eighths, then a dotted half |
/// | `\| G4/1~ \| G4/2 r \|` | one note of six beats |
/// | `\| \| A4 \|` | a silent bar, then one quarter |
///
/// # Errors
/// Everything that is wrong, in the order of the text, each with its place, its bar and what was
/// expected there.
pub fn parse(text: &str, chart: &Chart) -> Result<Melody, Vec<MelodyError>> {
    let mut reader = Reader {
        chart,
        bar: 0,
        notes: Vec::new(),
        length: Length::QUARTER,
        tie: None,
        errors: Vec::new(),
    };
    if text.len() > LONGEST_TEXT {
        reader.error(LONGEST_TEXT..text.len(), MelodyProblem::TooLong);
        return Err(reader.errors);
    }
    let bars = bars(text);
    let last = bars.len().saturating_sub(1);
    for (number, words) in bars.into_iter().enumerate() {
        reader.bar = number;
        let Some(bar) = chart.bars.get(number) else {
            reader.error(words.source, MelodyProblem::Bars(chart.bars.len()));
            break;
        };
        reader.bar(bar, &words, number == last);
        if reader.notes.len() > MOST_NOTES {
            reader.error(words.source, MelodyProblem::TooMany);
            break;
        }
    }
    if let Some(tie) = reader.tie.take() {
        reader.error(tie, MelodyProblem::Tie);
    }
    if reader.errors.is_empty() {
        Ok(Melody::new(reader.notes))
    } else {
        Err(reader.errors)
    }
}

/// The words of one bar.
struct Words<'a> {
    /// From the first word to the last, or the place of a bar without words.
    source: Range<usize>,
    words: Vec<(usize, &'a str)>,
}

/// The words between bar lines. A tie is a word of its own.
fn bars(text: &str) -> Vec<Words<'_>> {
    let mut bars = Vec::new();
    let mut bar = Words {
        source: 0..0,
        words: Vec::new(),
    };
    let mut at = 0;
    let mut lines = 0;
    // Nothing but a bar line stands between the end of the row before and this place.
    let mut after_row = false;
    while let Some(rest) = text.get(at..).filter(|rest| !rest.is_empty()) {
        let space = rest.len() - rest.trim_start().len();
        let line = line(rest);
        if space > 0 {
            let new_row = rest.get(..space).is_some_and(|space| space.contains('\n'));
            after_row = new_row && bar.words.is_empty();
            at += space;
        } else if line > 0 {
            // Nothing stands before the line with which a melody begins, nor between the line that
            // ends a row and the one that begins the next.
            let same_line = std::mem::take(&mut after_row) || lines == 0;
            if !same_line || !bar.words.is_empty() {
                bars.push(bar);
            }
            lines += 1;
            at += line;
            bar = Words {
                source: at..at,
                words: Vec::new(),
            };
        } else {
            let ends = |c: char| c.is_whitespace() || matches!(c, '|' | '~');
            let word = match rest.find(ends) {
                Some(0) => 1,
                Some(end) => end,
                None => rest.len(),
            };
            if bar.words.is_empty() {
                bar.source.start = at;
            }
            bar.source.end = at + word;
            bar.words.extend(rest.get(..word).map(|word| (at, word)));
            at += word;
        }
    }
    if !bar.words.is_empty() {
        bars.push(bar);
    }
    bars
}

/// The length of the bar line that a text begins with, in bytes; 0 if it begins with none.
fn line(text: &str) -> usize {
    let strokes = text.bytes().take_while(|b| *b == b'|').count();
    let heavy = strokes > 0 && text.as_bytes().get(strokes) == Some(&b']');
    strokes + usize::from(heavy)
}

/// What a tie stands after.
enum Before {
    Note,
    NoNote,
    /// A word that cannot be read. A tie after it is not wrong by itself.
    Unread,
}

struct Reader<'a> {
    chart: &'a Chart,
    /// The bar as an index into the bars of the chart.
    bar: usize,
    notes: Vec<MelodyNote>,
    length: Length,
    /// The place of a tie that waits for its second note.
    tie: Option<Range<usize>>,
    errors: Vec<MelodyError>,
}

impl Reader<'_> {
    fn error(&mut self, source: Range<usize>, problem: MelodyProblem) {
        let number = self.bar + usize::from(!self.chart.has_pickup());
        self.errors.push(MelodyError {
            source,
            bar: u32::try_from(number).unwrap_or(u32::MAX),
            problem,
        });
    }

    fn bar(&mut self, bar: &Bar, words: &Words<'_>, last: bool) {
        let before = self.errors.len();
        let length = bar.meter.bar_ticks();
        let mut filled: u32 = 0;
        // What stands before the word, for a tie.
        let mut before_tie = Before::NoNote;
        for (at, word) in &words.words {
            let source = *at..at + word.len();
            if *word == "~" {
                match before_tie {
                    Before::Note => self.tie = Some(source),
                    Before::NoNote => self.error(source, MelodyProblem::Tie),
                    Before::Unread => {}
                }
                before_tie = Before::NoNote;
                continue;
            }
            match self.item(word, bar.start_ticks.saturating_add(filled), &source) {
                Ok(is_note) => {
                    before_tie = if is_note {
                        Before::Note
                    } else {
                        Before::NoNote
                    };
                    filled = filled.saturating_add(self.length.ticks());
                }
                Err(problem) => {
                    self.error(source, problem);
                    self.tie = None;
                    before_tie = Before::Unread;
                }
            }
        }
        let fills = match filled.cmp(&length) {
            std::cmp::Ordering::Less => last || filled == 0 && words.words.is_empty(),
            std::cmp::Ordering::Equal => true,
            std::cmp::Ordering::Greater => false,
        };
        if !fills && self.errors.len() == before {
            self.error(words.source.clone(), MelodyProblem::Bar(filled, bar.meter));
        }
        if words.words.is_empty()
            && let Some(tie) = self.tie.take()
        {
            self.error(tie, MelodyProblem::Tie);
        }
    }

    /// Reads a note or rest that begins at this tick. Returns whether it is a note.
    fn item(
        &mut self,
        word: &str,
        start_ticks: u32,
        source: &Range<usize>,
    ) -> Result<bool, MelodyProblem> {
        let (pitch, length) = pitch(word, self.chart.names)?;
        if !length.is_empty() {
            let read = Length::read(length);
            self.length = read.ok_or_else(|| MelodyProblem::Length(length.to_owned()))?;
        }
        let tie = self.tie.take();
        let Some((pitch, note)) = pitch.and_then(|pitch| Some((pitch, pitch.midi()?))) else {
            if let Some(tie) = tie {
                self.error(tie, MelodyProblem::Tie);
            }
            return Ok(false);
        };
        let length_ticks = self.length.ticks();
        if let Some(tie) = tie {
            match self.notes.last_mut() {
                Some(last) if last.note == note => {
                    last.length_ticks = last.length_ticks.saturating_add(length_ticks);
                    return Ok(true);
                }
                _ => self.error(tie.start..source.end, MelodyProblem::Tie),
            }
        }
        self.notes.push(MelodyNote {
            note,
            name: Some(pitch.name),
            start_ticks,
            length_ticks,
        });
        Ok(true)
    }
}

/// The pitch at the start of a word, or none for a rest, and the rest of the word.
pub(super) fn pitch(
    word: &str,
    names: NoteNames,
) -> Result<(Option<SpelledPitch>, &str), MelodyProblem> {
    if let Some(length) = word.strip_prefix(['r', 'R', '-', '–', '—']) {
        let ends = length.is_empty() || length.starts_with(['/', ':']);
        return if ends {
            Ok((None, length))
        } else {
            Err(MelodyProblem::Note(word.to_owned()))
        };
    }
    let (note, length) = match word.find(['/', ':']) {
        Some(at) => word.split_at(at),
        None => (word, ""),
    };
    let mut letters = note.chars();
    let upper = letters.next().map(|letter| letter.to_ascii_uppercase());
    let capital: String = upper.into_iter().chain(letters).collect();
    let read = match names {
        NoteNames::English => NoteName::read(&capital),
        NoteNames::German => NoteName::read_german(&capital),
    };
    let Some((name, octave)) = read else {
        return Err(MelodyProblem::Note(word.to_owned()));
    };
    let digits = octave.strip_prefix('-').unwrap_or(octave);
    if !digits.bytes().all(|b| b.is_ascii_digit()) {
        return Err(MelodyProblem::Note(word.to_owned()));
    }
    let pitch = octave
        .parse()
        .ok()
        .map(|octave| SpelledPitch { name, octave });
    match pitch.filter(|pitch| pitch.midi().is_some()) {
        Some(pitch) => Ok((Some(pitch), length)),
        None => Err(MelodyProblem::Octave(note.to_owned())),
    }
}
