//! The events of a bar on a staff: notes, chords, rests, and the symbols over them.
//! Imports `engraver`, `harmony`, `rhythm`, `spelling`, `staff` and `sheet`.

use super::engraver::Engraver;
use super::harmony;
use super::rhythm::{Grid, Piece};
use super::spelling::{Signs, spelled};
use super::staff::{Moment, Sounding};
use crate::score::key_signature;
use crate::sheet::SheetBar;
use guidehand_theory::chart::TICKS_PER_QUARTER;
use guidehand_theory::pitch::{NoteName, SpelledPitch};

impl Engraver<'_> {
    /// Writes the moments of a bar on one staff.
    pub fn voice(
        &mut self,
        bar: &SheetBar,
        grid: &Grid,
        moments: &[Moment],
        staff: usize,
        leads: bool,
    ) {
        let mut signs = Signs::new(key_signature(self.score.key_at(bar.start_ticks)));
        let all: Vec<Vec<Piece>> = moments.iter().map(|m| grid.pieces(m.from, m.to)).collect();
        let tuplets: Vec<Option<u32>> = all
            .iter()
            .flatten()
            .map(|p| p.tuplet.map(|t| t.number))
            .collect();
        let mut nth = 0;
        for (moment, pieces) in moments.iter().zip(&all) {
            if staff == 1 && self.part.has_words {
                self.words(bar, grid, moment);
            }
            if leads {
                self.symbols(bar, grid, moment);
            }
            for (index, piece) in pieces.iter().enumerate() {
                let here = tuplets.get(nth).copied().flatten();
                let edge = |other: Option<&Option<u32>>| other.copied().flatten() != here;
                let ends = TupletEnds {
                    starts: here.is_some() && edge(nth.checked_sub(1).and_then(|i| tuplets.get(i))),
                    stops: here.is_some() && edge(tuplets.get(nth + 1)),
                };
                nth += 1;
                let event = Slot {
                    piece: *piece,
                    ends,
                    first: index == 0,
                    last: index + 1 == pieces.len(),
                    whole_bar: moments.len() == 1,
                    bar_ticks: bar.meter.bar_ticks(),
                    staff,
                };
                self.event(moment, &event, &mut signs);
                if moment.notes.is_empty() && moments.len() == 1 {
                    break;
                }
            }
        }
    }

    /// Writes the words at the start of a moment.
    fn words(&mut self, bar: &SheetBar, grid: &Grid, moment: &Moment) {
        let here = |at: u32| (moment.from..moment.to).contains(&grid.snap(at));
        let window = bar.window();
        let from = self.words.partition_point(|(at, _)| *at < window.start);
        let inside = self.words.get(from..).unwrap_or_default().iter();
        let inside = inside.take_while(|(at, _)| *at < window.end);
        for (_, text) in inside.filter(|(at, _)| here(at - window.start)) {
            self.out.open("direction", &[("placement", "below")]);
            self.out.open("direction-type", &[]);
            self.out.leaf("words", text);
            self.out.close("direction-type");
            self.out.close("direction");
        }
    }

    /// Writes the chord symbols at the start of a moment.
    fn symbols(&mut self, bar: &SheetBar, grid: &Grid, moment: &Moment) {
        let here = |at: u32| (moment.from..moment.to).contains(&grid.snap(at));
        for place in bar.places.iter().filter(|place| here(place.at_ticks)) {
            harmony::put(self.out, place.chord.as_ref());
        }
    }

    fn event(&mut self, moment: &Moment, event: &Slot, signs: &mut Signs) {
        if moment.notes.is_empty() {
            self.note(None, false, event, signs);
        }
        for (index, sounding) in moment.notes.iter().enumerate() {
            self.note(Some(sounding), index > 0, event, signs);
        }
    }

    /// Writes a note, a further note of a chord, or a rest.
    fn note(&mut self, note: Option<&Sounding>, joins: bool, event: &Slot, signs: &mut Signs) {
        self.out.open("note", &[]);
        if joins {
            self.out.empty("chord", &[]);
        }
        let whole_bar = note.is_none() && event.whole_bar;
        let pitch = note.map(spelled);
        match pitch {
            Some(pitch) => self.pitch(pitch),
            None if whole_bar => self.out.empty("rest", &[("measure", "yes")]),
            None => self.out.empty("rest", &[]),
        }
        let (over, under) = if whole_bar {
            (u64::from(event.bar_ticks), u64::from(TICKS_PER_QUARTER))
        } else {
            event.piece.length_quarters()
        };
        self.out
            .leaf("duration", &(over * self.divisions / under).to_string());
        let stops = note.is_some_and(|n| n.from_before) || (note.is_some() && !event.first);
        let starts = note.is_some_and(|n| n.goes_on) || (note.is_some() && !event.last);
        let ties: Vec<&str> = [(stops, "stop"), (starts, "start")]
            .into_iter()
            .filter_map(|(is, kind)| is.then_some(kind))
            .collect();
        for tie in &ties {
            self.out.empty("tie", &[("type", tie)]);
        }
        self.out.leaf("voice", &event.staff.to_string());
        if !whole_bar {
            self.value(pitch.filter(|_| !stops), event, signs);
        }
        if self.part.staves.len() > 1 {
            self.out.leaf("staff", &event.staff.to_string());
        }
        let bracket = !joins && !whole_bar && (event.ends.starts || event.ends.stops);
        if bracket || !ties.is_empty() {
            self.out.open("notations", &[]);
            for tie in &ties {
                self.out.empty("tied", &[("type", tie)]);
            }
            if bracket && event.ends.starts {
                self.out
                    .empty("tuplet", &[("type", "start"), ("bracket", "yes")]);
            }
            if bracket && event.ends.stops {
                self.out.empty("tuplet", &[("type", "stop")]);
            }
            self.out.close("notations");
        }
        self.out.close("note");
    }

    fn pitch(&mut self, pitch: SpelledPitch) {
        self.out.open("pitch", &[]);
        let letter = NoteName::new(pitch.name.letter, 0).to_string();
        self.out.leaf("step", &letter);
        if pitch.name.accidental != 0 {
            self.out.leaf("alter", &pitch.name.accidental.to_string());
        }
        self.out.leaf("octave", &pitch.octave.to_string());
        self.out.close("pitch");
    }

    /// Writes the note value, the accidental of a new note, and the tuplet.
    fn value(&mut self, struck: Option<SpelledPitch>, event: &Slot, signs: &mut Signs) {
        self.out.leaf("type", event.piece.value.name);
        if event.piece.value.dotted {
            self.out.empty("dot", &[]);
        }
        if let Some(sign) = struck.and_then(|pitch| signs.sign(pitch)) {
            self.out.leaf("accidental", sign);
        }
        if let Some(tuplet) = event.piece.tuplet {
            self.out.open("time-modification", &[]);
            self.out.leaf("actual-notes", &tuplet.actual.to_string());
            self.out.leaf("normal-notes", &tuplet.normal.to_string());
            self.out.close("time-modification");
        }
    }
}

/// Writes where a tuplet's bracket starts and stops.
#[derive(Clone, Copy)]
struct TupletEnds {
    starts: bool,
    stops: bool,
}

/// One piece of a moment on a staff.
struct Slot {
    piece: Piece,
    ends: TupletEnds,
    /// Whether it is the first piece of its moment, and the last one.
    first: bool,
    last: bool,
    /// Whether the moment fills the bar.
    whole_bar: bool,
    bar_ticks: u32,
    staff: usize,
}
