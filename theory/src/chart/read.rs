//! From words to bars as they are written, and the signs of the form between
//! them in the order of the text. Imports `words`, and the types of `chart`.

use super::words::{Line, Mark, Sign, Word};
use super::{ChartError, ChartProblem, Meter, Recall, Section, Written};
use crate::chord::Chord;
use crate::symbol;
use std::ops::Range;

/// The most chords in a bar.
const MOST_SHARES: usize = 16;

/// What a text says, bar for bar.
#[derive(Debug)]
pub(super) struct Reading {
    pub bars: Vec<ReadBar>,
    pub recalls: Vec<Recall>,
    /// The bars and what stands between them, in the order of the text.
    pub steps: Vec<Step>,
    /// A sign of the form could not be read, so that the steps lack it.
    pub torn: bool,
    pub errors: Vec<ChartError>,
}

/// A written bar and what is in it.
#[derive(Debug)]
pub(super) struct ReadBar {
    pub written: Written,
    /// Its number in the text, from 1, for errors.
    pub number: u32,
    pub content: Content,
}

#[derive(Debug)]
pub(super) enum Content {
    /// The bar that was played before.
    Percent,
    /// Chords and slashes that share the bar evenly, at most 16.
    Shares(Vec<Share>),
}

#[derive(Debug)]
pub(super) struct Share {
    pub source: Range<usize>,
    pub says: Says,
}

#[derive(Clone, Copy, Debug)]
pub(super) enum Says {
    Chord(Chord),
    Silence,
    /// The chord before goes on.
    Slash,
    /// Something that could not be read; the error has been told.
    Wrong,
}

/// One thing after the other, as the form goes.
#[derive(Debug)]
pub(super) struct Step {
    pub place: Place,
    pub kind: StepKind,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum StepKind {
    /// The bar at this index.
    Bar(usize),
    /// `|:`
    Opens,
    /// `:|`
    Closes,
    /// An ending starts.
    Ending(u8),
    /// A section starts; a bar follows before the next one.
    Section(Section),
    /// A section is played again.
    Recall(Section),
}

/// A place in the text, for errors.
#[derive(Clone, Debug)]
pub(super) struct Place {
    pub source: Range<usize>,
    pub bar: u32,
}

impl Place {
    /// What is wrong here.
    pub fn error(&self, problem: ChartProblem) -> ChartError {
        ChartError {
            source: self.source.clone(),
            bar: self.bar,
            problem,
        }
    }
}

/// Reads words. Nothing is repeated yet, so the work goes with the text.
pub(super) fn read(words: &[Word]) -> Reading {
    let mut reader = Reader::new();
    for word in words {
        reader.word(word);
    }
    reader.bar_ends();
    reader.finish()
}

/// Signs before a bar, which wait for it.
#[derive(Default)]
struct Pending<'a> {
    opens: bool,
    ending: Option<u8>,
    /// The letter, and its step.
    section: Option<(Section, usize)>,
    meter: Option<&'a Word<'a>>,
}

struct Reader<'a> {
    reading: Reading,
    meter: Meter,
    /// Bars so far, with empty ones.
    count: u32,
    /// The words of the bar that is being read.
    bar: Vec<&'a Word<'a>>,
    pending: Pending<'a>,
    /// The bar line before, where nothing has come after it.
    line_before: Option<(Line, usize)>,
}

impl<'a> Reader<'a> {
    fn new() -> Self {
        Reader {
            reading: Reading {
                bars: Vec::new(),
                recalls: Vec::new(),
                steps: Vec::new(),
                torn: false,
                errors: Vec::new(),
            },
            meter: Meter::COMMON,
            count: 0,
            bar: Vec::new(),
            pending: Pending::default(),
            line_before: None,
        }
    }

    fn word(&mut self, word: &'a Word<'a>) {
        if let Sign::Line(line) = word.sign {
            self.line(word, line);
            return;
        }
        self.line_before = None;
        match word.sign {
            Sign::Mark(mark) => self.mark(word, mark),
            Sign::Meter(meter) => self.time(word, meter),
            _ => self.bar.push(word),
        }
    }

    fn line(&mut self, word: &Word, line: Option<Line>) {
        let known = line.unwrap_or_default();
        if let Some((before, at)) = self.line_before
            && !known.joined
            && !(before.closes && known.opens)
        {
            self.count += 1;
            self.error(at..word.source().end, ChartProblem::EmptyBar);
        }
        self.bar_ends();
        if line.is_none() {
            let problem = ChartProblem::BarLine(word.text.to_owned());
            self.error(word.source(), problem);
            self.reading.torn = true;
        }
        if known.closes {
            let place = self.place_at(word.source());
            self.step(place, StepKind::Closes);
            if let Some(bar) = self.reading.bars.last_mut() {
                bar.written.closes = true;
            }
        }
        if known.opens {
            let place = self.place_ahead(word.source());
            self.step(place, StepKind::Opens);
            self.pending.opens = true;
        }
        self.line_before = Some((known, word.at));
    }

    fn mark(&mut self, word: &Word, mark: Option<Mark>) {
        let place = self.place_ahead(word.source());
        let text = || word.text.to_owned();
        match mark {
            None => self.torn(&place, ChartProblem::Mark(text())),
            Some(_) if !self.bar.is_empty() => {
                self.torn(&place, ChartProblem::MarkPlace(text()));
            }
            Some(Mark::Ending(number)) => {
                self.step(place, StepKind::Ending(number));
                self.pending.ending = Some(number);
            }
            Some(Mark::Section(section)) => {
                self.recall();
                self.pending.section = Some((section, self.reading.steps.len()));
                self.step(place, StepKind::Section(section));
            }
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

    /// A letter that waits for a bar gets none: it plays its section again.
    fn recall(&mut self) {
        let Some((section, step)) = self.pending.section.take() else {
            return;
        };
        if let Some(step) = self.reading.steps.get_mut(step) {
            step.kind = StepKind::Recall(section);
            self.reading.recalls.push(Recall {
                section,
                source: step.place.source.clone(),
                before: self.reading.bars.len(),
            });
        }
    }

    /// The bar that is being read ends, if there is one.
    fn bar_ends(&mut self) {
        let words = std::mem::take(&mut self.bar);
        let [first, ..] = words.as_slice() else {
            return;
        };
        let last = words.last().unwrap_or(first);
        let source = first.at..last.source().end;
        self.count += 1;
        let content = self.content(&words, &source);
        let pending = std::mem::take(&mut self.pending);
        let index = self.reading.bars.len();
        let place = self.place_at(source.clone());
        self.reading.bars.push(ReadBar {
            written: Written {
                source,
                meter: self.meter,
                section: pending.section.map(|(section, _)| section),
                opens: pending.opens,
                closes: false,
                ending: pending.ending,
            },
            number: self.count,
            content,
        });
        self.step(place, StepKind::Bar(index));
    }

    fn content(&mut self, words: &[&Word], source: &Range<usize>) -> Content {
        if let Some(percent) = words.iter().find(|w| w.sign == Sign::Percent) {
            if words.len() > 1 {
                self.error(percent.source(), ChartProblem::PercentNotAlone);
                return Content::Shares(vec![Share {
                    source: percent.source(),
                    says: Says::Wrong,
                }]);
            }
            return Content::Percent;
        }
        let by_beats = words.iter().any(|w| w.sign == Sign::Slash);
        if by_beats && words.len() != usize::from(self.meter.beats) {
            let problem = ChartProblem::Beats(words.len(), self.meter.beats);
            self.error(source.clone(), problem);
        }
        if let Some(word) = words.get(MOST_SHARES) {
            self.error(word.source(), ChartProblem::Crowded(words.len()));
        }
        let words = words.iter().take(MOST_SHARES);
        Content::Shares(words.map(|word| self.share(word)).collect())
    }

    fn share(&mut self, word: &Word) -> Share {
        let says = match word.sign {
            Sign::Slash => Says::Slash,
            Sign::Silence => Says::Silence,
            _ if word.text.contains(':') => {
                let problem = ChartProblem::BarLine(word.text.to_owned());
                self.error(word.source(), problem);
                Says::Wrong
            }
            _ => match symbol::parse(word.text) {
                Ok(chord) => Says::Chord(chord),
                Err(error) => {
                    let from = word.at + error.at;
                    let source = from..from + error.len;
                    let problem = ChartProblem::Symbol(word.text.to_owned(), error);
                    self.error(source, problem);
                    Says::Wrong
                }
            },
        };
        Share {
            source: word.source(),
            says,
        }
    }

    fn finish(mut self) -> Reading {
        self.recall();
        if let Some(word) = self.pending.meter
            && !self.reading.bars.is_empty()
        {
            let problem = ChartProblem::Meter(word.text.to_owned());
            self.error(word.source(), problem);
        }
        self.reading
    }

    fn torn(&mut self, place: &Place, problem: ChartProblem) {
        self.reading.torn = true;
        self.reading.errors.push(place.error(problem));
    }

    fn step(&mut self, place: Place, kind: StepKind) {
        self.reading.steps.push(Step { place, kind });
    }

    /// A place in the bar that was counted last.
    fn place_at(&self, source: Range<usize>) -> Place {
        let bar = self.count.max(1);
        Place { source, bar }
    }

    /// A place in the bar that comes, or is being read.
    fn place_ahead(&self, source: Range<usize>) -> Place {
        let bar = self.count + 1;
        Place { source, bar }
    }

    fn error(&mut self, source: Range<usize>, problem: ChartProblem) {
        let error = self.place_at(source).error(problem);
        self.reading.errors.push(error);
    }
}
