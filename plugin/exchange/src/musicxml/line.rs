//! The notes of one staff, measure by measure, as they sound: one at a time. Imports `document`,
//! `lines`, `said`, `transposition`, `tree` and `melodies`.

use super::document::Measure;
use super::lines::{self, is_of_line, pitch};
use super::said;
use super::transposition::Transposition;
use super::tree::{Element, number};
use crate::melodies::straight;
use guidehand_theory::chart::TICKS_PER_QUARTER;
use guidehand_theory::pitch::{MidiNote, NoteName};
use std::cmp::Reverse;
use std::collections::BTreeMap;

/// A note in a measure.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LineNote {
    /// Ticks from the start of the measure.
    pub start_ticks: u32,
    /// Its length in ticks.
    pub length_ticks: u32,
    /// The key that sounds.
    pub note: MidiNote,
    /// Its name.
    pub name: NoteName,
    /// Whether a tie leads to it.
    pub is_tied: bool,
    /// Whether a tie leads on from it.
    pub ties_on: bool,
}

/// What a line holds in one measure.
#[derive(Clone, Debug, Default)]
pub struct LineBar {
    /// The place of the measure, in bytes.
    pub at: usize,
    /// The notes, one at a time.
    pub notes: Vec<LineNote>,
    /// What is left out, with its place in bytes and its number, in the order of [`Left`].
    pub left: BTreeMap<Left, (usize, usize)>,
}

/// What is left out of a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Left {
    /// Grace notes.
    Grace,
    /// Cue notes.
    Cue,
    /// Notes without a pitch, or with one that no key has.
    Unpitched,
    /// The lower notes of chords.
    Below,
    /// Notes of lower voices.
    OfLowerVoice,
    /// Notes that stand outside of their bar.
    Outside,
}

impl Left {
    /// What becomes of so many of them.
    pub fn words(self, count: usize) -> String {
        let (one, more) = match self {
            Left::Grace => ("grace note", "grace notes"),
            Left::Cue => ("cue note", "cue notes"),
            Left::Unpitched => (
                "note without a pitch that a key has",
                "notes without pitches that keys have",
            ),
            Left::Below => ("lower note of a chord", "lower notes of chords"),
            Left::OfLowerVoice => ("note of a lower voice", "notes of lower voices"),
            Left::Outside => ("note outside of its bar", "notes outside of their bar"),
        };
        match count {
            1 => format!("1 {one} is left out of the melody"),
            _ => format!("{count} {more} are left out of the melody"),
        }
    }
}

impl LineBar {
    /// Counts something that is left out.
    pub fn leave(&mut self, what: Left, at: usize) {
        self.left.entry(what).or_insert((at, 0)).1 += 1;
    }
}

/// Reads the notes of a staff.
pub struct LineReader {
    /// The measures so far.
    pub bars: Vec<LineBar>,
    staff: i64,
    is_concert: bool,
    /// Units in a quarter note.
    divisions: i64,
    /// The place in the measure, in units.
    cursor: i64,
    transposition: Transposition,
    /// The signature of the written key.
    signature: i8,
    /// So many bars are repeated by the sign in force.
    repeats: Option<usize>,
}

/// Longer lengths than this many units are not music.
const MOST_UNITS: i64 = 1 << 40;

/// A note or a rest of one voice.
struct Event {
    start: u32,
    end: u32,
    /// None for a rest.
    note: Option<LineNote>,
    at: usize,
}

impl LineReader {
    /// A reader of a staff, by its number in its part.
    pub fn new(staff: i64, is_concert: bool) -> LineReader {
        LineReader {
            bars: Vec::new(),
            staff,
            is_concert,
            divisions: 1,
            cursor: 0,
            transposition: Transposition::default(),
            signature: 0,
            repeats: None,
        }
    }

    /// Reads the next measure.
    pub fn measure(&mut self, measure: &Measure) {
        self.cursor = 0;
        let mut bar = LineBar {
            at: measure.measure.at,
            ..LineBar::default()
        };
        let mut voices: BTreeMap<&str, Vec<Event>> = BTreeMap::new();
        // The start of the last note that has a time of its own.
        let mut last = 0;
        for element in measure.content.elements() {
            match element.name() {
                "attributes" => self.attributes(element),
                "forward" => self.advance(element.number("duration").unwrap_or(0)),
                "backup" => self.advance(-element.number("duration").unwrap_or(0)),
                "note" => {
                    if element.child("chord").is_none() {
                        last = self.cursor;
                    }
                    let event = self.note(element, last, &mut bar);
                    let voice = element.child("voice").map_or("1", Element::text);
                    if let Some(event) = event {
                        voices.entry(voice).or_default().push(event);
                    }
                }
                _ => {}
            }
        }
        highest(voices.into_values().collect(), &mut bar);
        let repeated = self.repeats.and_then(|b| self.bars.len().checked_sub(b));
        if let Some(same) = repeated.and_then(|at| self.bars.get(at))
            && bar.notes.is_empty()
        {
            bar.notes.clone_from(&same.notes);
        }
        self.bars.push(bar);
    }

    /// Reads a note or a rest of the staff, and goes on to its end.
    fn note(&mut self, element: &Element, last: i64, bar: &mut LineBar) -> Option<Event> {
        let is_here = lines::staff(element) == self.staff;
        if element.child("grace").is_some() {
            if is_here {
                bar.leave(Left::Grace, element.at);
            }
            return None;
        }
        let duration = element.number("duration").unwrap_or(0);
        let joins = element.child("chord").is_some();
        if !joins {
            self.advance(duration);
        }
        if !is_here {
            return None;
        }
        if !is_of_line(element) {
            bar.leave(Left::Cue, element.at);
            return None;
        }
        let (start, end) = (self.ticks(last), self.ticks(last.saturating_add(duration)));
        let event = |note| Event {
            start,
            end,
            note,
            at: element.at,
        };
        if let Some(rest) = element.child("rest") {
            let hidden = element.attribute("print-object") == Some("no");
            // A rest for a whole measure says nothing about its length.
            let whole = rest.attribute("measure") == Some("yes");
            return (!hidden).then(|| event(None)).map(|rest| Event {
                end: if whole { u32::MAX } else { rest.end },
                ..rest
            });
        }
        let pitch = pitch(element).and_then(|(name, half_steps)| {
            self.transposition
                .sounding_note(name, half_steps, self.signature)
        });
        let Some((note, name)) = pitch else {
            bar.leave(Left::Unpitched, element.at);
            return None;
        };
        let ties = |kind| {
            let mut ties = element.children("tie");
            ties.any(|tie| tie.attribute("type") == Some(kind))
        };
        Some(event(Some(LineNote {
            start_ticks: start,
            length_ticks: end.saturating_sub(start),
            note,
            name,
            is_tied: ties("stop"),
            ties_on: ties("start"),
        })))
    }

    /// A place in ticks; that of a note value where it is one but for rounding.
    fn ticks(&self, units: i64) -> u32 {
        let scaled = units.clamp(0, MOST_UNITS) * i64::from(TICKS_PER_QUARTER);
        let nearest = (scaled + self.divisions / 2) / self.divisions;
        let ticks = u32::try_from(nearest).unwrap_or(u32::MAX);
        straight(ticks).unwrap_or(ticks)
    }

    fn advance(&mut self, units: i64) {
        self.cursor = self.cursor.saturating_add(units).clamp(0, MOST_UNITS);
    }

    fn attributes(&mut self, attributes: &Element) {
        let own = |element: &&Element| match element.attribute("number") {
            None => true,
            Some(staff) => number(staff) == Some(self.staff),
        };
        let key = attributes.children("key").find(own);
        if let Some(fifths) = key.and_then(|key| key.number("fifths")) {
            self.signature = i8::try_from(fifths.clamp(-7, 7)).unwrap_or(0);
        }
        let transpose = attributes.children("transpose").find(own);
        if let Some(transpose) = transpose
            && !self.is_concert
        {
            self.transposition = Transposition::of(transpose).unwrap_or_default();
        }
        let divisions = attributes.number("divisions");
        if let Some(divisions) = divisions.filter(|d| (1..1 << 20).contains(d)) {
            self.cursor = self.cursor.saturating_mul(divisions) / self.divisions;
            self.divisions = divisions;
        }
        if let Some(repeats) = said::bars_repeated(attributes) {
            self.repeats = repeats;
        }
    }
}

/// Puts the highest line of the voices of a measure into its bar. The voice with the highest notes
/// comes first. A lower one counts where a higher one has neither notes nor rests. Of notes that
/// begin together in a voice the highest counts.
fn highest(mut voices: Vec<Vec<Event>>, bar: &mut LineBar) {
    let mean = |voice: &Vec<Event>| {
        let keys = voice.iter().filter_map(|event| event.note);
        let keys = keys.map(|note| u64::from(note.note.number()));
        let (count, sum) = keys.fold((0, 0), |(count, sum), key| (count + 1, sum + key));
        (sum * 16_u64).checked_div(count)
    };
    // A voice without notes leaves room for the others.
    voices.retain(|voice| mean(voice).is_some());
    voices.sort_by_cached_key(|voice| Reverse(mean(voice)));
    let mut covered: BTreeMap<u32, u32> = BTreeMap::new();
    for voice in &voices {
        let mut tops: BTreeMap<u32, (LineNote, usize)> = BTreeMap::new();
        for event in voice {
            let Some(note) = event.note else { continue };
            match tops.get_mut(&event.start) {
                Some(top) => {
                    bar.leave(Left::Below, event.at);
                    if note.note > top.0.note {
                        *top = (note, event.at);
                    }
                }
                None => _ = tops.insert(event.start, (note, event.at)),
            }
        }
        for (start, (note, at)) in tops {
            let before = covered.range(..=start).next_back();
            if before.is_some_and(|(_, end)| *end > start) {
                bar.leave(Left::OfLowerVoice, at);
                continue;
            }
            let next = covered.range(start..).next().map(|(next, _)| *next);
            let end = start.saturating_add(note.length_ticks);
            let length_ticks = next.map_or(end, |next| end.min(next)) - start;
            bar.notes.push(LineNote {
                length_ticks,
                ..note
            });
        }
        for event in voice {
            let end = covered.entry(event.start).or_insert(event.end);
            *end = event.end.max(*end);
        }
        join(&mut covered);
    }
    bar.notes.sort_by_key(|note| note.start_ticks);
}

/// Joins stretches that overlap, so that the one before a place is the longest that reaches it.
fn join(stretches: &mut BTreeMap<u32, u32>) {
    let mut joined: BTreeMap<u32, u32> = BTreeMap::new();
    for (start, end) in std::mem::take(stretches) {
        match joined.last_entry() {
            Some(mut last) if *last.get() >= start => {
                let until = end.max(*last.get());
                *last.get_mut() = until;
            }
            _ => _ = joined.insert(start, end),
        }
    }
    *stretches = joined;
}
