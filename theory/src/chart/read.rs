//! From words to bars as they are written, and the signs of the form between them in the order
//! of the text. Only `parse` imports this.

mod bar;
mod reader;

use super::error::ChartProblem;
use super::meter::Meter;
use super::reading::{Content, FormStepKind, Reading, SourcePlace};
use super::signs;
use super::words::{BarMark, Line, Sign, Turn, Word};
use crate::pitch::NoteNames;
use reader::Reader;

/// Reads words. Nothing is repeated yet, so the work grows with the length of the text.
pub(super) fn read(words: &[Word], length: usize, names: NoteNames) -> Reading {
    let mut reader = Reader::new(names);
    for word in words {
        reader.word(word);
    }
    reader.bar_ends(length);
    reader.turns();
    reader.finish()
}

impl<'a> Reader<'a> {
    fn word(&mut self, word: &'a Word<'a>) {
        if let Sign::Line(line) = word.sign {
            self.line(word, line);
            return;
        }
        self.line_before = None;
        let closed = self.closed.take();
        match word.sign {
            Sign::Title => {
                let title = signs::after_title(word.text).unwrap_or(word.text);
                title.clone_into(&mut self.reading.title);
            }
            Sign::Mark(mark) => self.mark(word, mark),
            Sign::EitherCoda if self.bar.is_empty() => self.mark(word, Some(BarMark::Coda)),
            Sign::EitherCoda => self.turns.push((word, Turn::ToCoda)),
            Sign::Turn(turn) => self.turns.push((word, turn)),
            Sign::Times(times) => self.times(word, times, closed),
            Sign::Meter(meter) => self.time(word, meter),
            _ => {
                self.before_chord();
                self.bar.push(word);
            }
        }
    }

    /// A sign of the road that stands before a chord of its bar is an error.
    fn before_chord(&mut self) {
        for (word, _) in std::mem::take(&mut self.turns) {
            let place = self.place_ahead(word.source());
            self.torn(&place, ChartProblem::TurnPlace(word.text.to_owned()));
        }
    }

    fn line(&mut self, word: &'a Word<'a>, line: Option<Line>) {
        let known = line.unwrap_or_default();
        if let Some(before) = self.line_before
            && !known.joined
            && !(before.closes && known.opens)
        {
            self.bar(&[], word.at..word.at, Content::Empty, word.at);
        }
        self.bar_ends(word.at);
        if line.is_none() {
            let problem = ChartProblem::BarLine(word.text.to_owned());
            self.error(word.source(), problem);
            self.reading.torn = true;
        }
        if known.closes {
            let place = self.place_at(word.source());
            self.closed = Some(self.reading.steps.len());
            self.step(place, FormStepKind::Closes(2));
            if let Some(bar) = self.reading.bars.last_mut() {
                bar.written.closes = true;
            }
        }
        self.turns();
        if known.opens {
            let place = self.place_ahead(word.source());
            self.step(place, FormStepKind::Opens);
            self.pending.opens = true;
            self.closed = None;
        }
        self.line_before = Some(known);
    }

    /// Sets how often the repeat that has just been closed is played.
    fn times(&mut self, word: &Word, times: Option<u8>, closed: Option<usize>) {
        let step = closed.and_then(|at| self.reading.steps.get_mut(at));
        match (step, times) {
            (Some(step), Some(times)) if self.bar.is_empty() => {
                step.kind = FormStepKind::Closes(times);
                if times > 2 {
                    step.place = SourcePlace {
                        source: word.source(),
                        ..step.place
                    };
                }
                if let Some(bar) = self.reading.bars.last_mut() {
                    bar.written.times = times;
                }
            }
            _ => {
                let place = self.place_at(word.source());
                self.torn(&place, ChartProblem::Times(word.text.to_owned()));
            }
        }
    }

    /// Makes steps of the signs at the end of a bar. They come after the repeat that the bar
    /// line closes.
    fn turns(&mut self) {
        if !self.turns.is_empty() {
            // No bar comes between a letter before these signs and them.
            self.recall();
        }
        for (word, turn) in std::mem::take(&mut self.turns) {
            let place = self.place_at(word.source());
            let roads = self.reading.bars.last_mut().map(|b| &mut b.written.roads);
            let Some(roads) = roads else {
                let problem = ChartProblem::TurnPlace(word.text.to_owned());
                self.torn(&place, problem);
                continue;
            };
            let kind = match turn {
                Turn::ToCoda => {
                    roads.to_coda = true;
                    FormStepKind::ToCoda
                }
                Turn::Fine => {
                    roads.fine = true;
                    FormStepKind::Fine
                }
                Turn::Jump(_) if roads.jump.is_some() => {
                    self.torn(&place, ChartProblem::JumpTwice);
                    continue;
                }
                Turn::Jump(jump) => {
                    roads.jump = Some(jump);
                    FormStepKind::Jump(jump)
                }
            };
            self.step(place, kind);
        }
    }

    fn mark(&mut self, word: &'a Word<'a>, mark: Option<BarMark>) {
        let place = self.place_ahead(word.source());
        let text = || word.text.to_owned();
        match mark {
            None => self.torn(&place, ChartProblem::Mark(text())),
            Some(_) if !self.bar.is_empty() => {
                self.torn(&place, ChartProblem::MarkPlace(text()));
            }
            Some(mark) => {
                // A sign after the last bar line belongs to the bar before it.
                self.turns();
                self.known_mark(word, mark, place);
            }
        }
    }

    fn known_mark(&mut self, word: &'a Word<'a>, mark: BarMark, place: SourcePlace) {
        match mark {
            BarMark::Ending(number) => {
                self.step(place, FormStepKind::Ending(number));
                self.pending.ending = Some(number);
            }
            BarMark::Section(section) => {
                self.recall();
                self.pending.section = Some((section, self.reading.steps.len()));
                self.step(place, FormStepKind::Section(section));
            }
            BarMark::Segno => {
                self.step(place, FormStepKind::Segno);
                self.pending.segno = true;
            }
            BarMark::Coda => {
                self.step(place, FormStepKind::Coda);
                self.pending.coda = true;
            }
            BarMark::Pickup => {
                if !self.reading.bars.is_empty() || self.pending.pickup.is_some() {
                    self.torn(&place, ChartProblem::PickupPlace);
                }
                self.pending.pickup = Some(place);
            }
            BarMark::Even => self.pending.even = Some(word),
        }
    }

    fn time(&mut self, word: &'a Word<'a>, meter: Option<Meter>) {
        match meter {
            Some(meter) if self.bar.is_empty() && self.pending.meter.is_none() => {
                self.meter = meter;
                self.pending.meter = Some(word);
            }
            _ => {
                let problem = ChartProblem::Meter(word.text.to_owned());
                let place = self.place_ahead(word.source());
                self.reading.errors.push(place.error(problem));
            }
        }
    }
}
