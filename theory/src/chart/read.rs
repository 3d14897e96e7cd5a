//! From words to bars as they are written, and the signs of the form between
//! them in the order of the text. Imports `words`, and the types of `chart`.

use super::words::{Line, Mark, Sign, Turn, Word};
use super::{ChartError, ChartProblem, Jump, Meter, Recall, Roads, Section, Share, Written, signs};
use crate::chord::Chord;
use crate::pitch::NoteNames;
use crate::symbol;
use std::ops::Range;

/// The most chords in a bar.
const MOST_SHARES: usize = 16;

/// What a text says, bar by bar.
#[derive(Debug)]
pub(super) struct Reading {
    pub title: String,
    pub bars: Vec<ReadBar>,
    pub recalls: Vec<Recall>,
    /// The bars and what stands between them, in the order of the text.
    pub steps: Vec<FormStep>,
    /// A sign of the form could not be read, so that the steps lack it.
    pub torn: bool,
    pub errors: Vec<ChartError>,
}

/// A written bar and what is in it.
#[derive(Debug)]
pub(super) struct ReadBar {
    pub written: Written,
    /// The time signature that it is played in, which is that of a pickup's beats.
    pub played: Meter,
    /// Its number in the text, from 1, for errors.
    pub number: u32,
    pub content: Content,
}

#[derive(Debug)]
pub(super) enum Content {
    /// The bar that was played before: `%`.
    Percent,
    /// The same, for an empty bar.
    Empty,
    /// The two bars that were played before, in two bars.
    TwoBars,
    /// What each of the bar's shares says, at most 16.
    Shares(Vec<Says>),
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

/// A bar or a sign of the form, in the order of the text.
#[derive(Debug)]
pub(super) struct FormStep {
    pub place: SourcePlace,
    pub kind: FormStepKind,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum FormStepKind {
    /// The bar at this index; a `%%` has two of these.
    Bar(usize),
    /// The bar at this index, which is a pickup.
    Pickup(usize),
    /// `|:`
    Opens,
    /// `:|`, and how often its repeat is played.
    Closes(u8),
    /// An ending starts.
    Ending(u8),
    /// A section starts; a bar follows before the next one.
    Section(Section),
    /// A section is played again.
    Recall(Section),
    /// The place that D.S. goes back to.
    Segno,
    /// The coda begins.
    Coda,
    /// The way to the coda.
    ToCoda,
    /// The end, after a jump.
    Fine,
    /// D.C. or D.S.
    Jump(Jump),
}

/// A place in the text, for errors.
#[derive(Clone, Debug)]
pub(super) struct SourcePlace {
    pub source: Range<usize>,
    pub bar: u32,
}

impl SourcePlace {
    /// What is wrong here.
    pub fn error(&self, problem: ChartProblem) -> ChartError {
        ChartError {
            source: self.source.clone(),
            bar: self.bar,
            problem,
        }
    }
}

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

/// Signs before a bar, which wait for it.
#[derive(Default)]
struct Pending<'a> {
    opens: bool,
    ending: Option<u8>,
    /// The letter, and its step.
    section: Option<(Section, usize)>,
    meter: Option<&'a Word<'a>>,
    segno: bool,
    coda: bool,
    pickup: Option<SourcePlace>,
    even: Option<&'a Word<'a>>,
}

struct Reader<'a> {
    reading: Reading,
    /// The language of the notes.
    names: NoteNames,
    meter: Meter,
    /// Bars so far, with empty ones.
    count: u32,
    /// The words of the bar that is being read.
    bar: Vec<&'a Word<'a>>,
    pending: Pending<'a>,
    /// The bar line before, where nothing has come after it.
    line_before: Option<Line>,
    /// What stands at the end of the bar that is being read, or before any chord
    /// in it and then belongs to the bar before.
    turns: Vec<(&'a Word<'a>, Turn)>,
    /// Where the last `:|` has its step, as long as nothing but bar lines follows.
    closed: Option<usize>,
}

impl<'a> Reader<'a> {
    fn new(names: NoteNames) -> Self {
        Reader {
            names,
            reading: Reading {
                title: String::new(),
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
            turns: Vec::new(),
            closed: None,
        }
    }

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
            Sign::EitherCoda if self.bar.is_empty() => self.mark(word, Some(Mark::Coda)),
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

    /// What says where the road goes stands after the chords of its bar.
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

    /// How often the repeat that has just been closed is played.
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

    /// The signs at the end of a bar become steps, after the repeat that its bar
    /// line closes.
    fn turns(&mut self) {
        if !self.turns.is_empty() {
            // A letter before them gets no bar any more.
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

    fn mark(&mut self, word: &'a Word<'a>, mark: Option<Mark>) {
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

    fn known_mark(&mut self, word: &'a Word<'a>, mark: Mark, place: SourcePlace) {
        match mark {
            Mark::Ending(number) => {
                self.step(place, FormStepKind::Ending(number));
                self.pending.ending = Some(number);
            }
            Mark::Section(section) => {
                self.recall();
                self.pending.section = Some((section, self.reading.steps.len()));
                self.step(place, FormStepKind::Section(section));
            }
            Mark::Segno => {
                self.step(place, FormStepKind::Segno);
                self.pending.segno = true;
            }
            Mark::Coda => {
                self.step(place, FormStepKind::Coda);
                self.pending.coda = true;
            }
            Mark::Pickup => {
                if !self.reading.bars.is_empty() || self.pending.pickup.is_some() {
                    self.torn(&place, ChartProblem::PickupPlace);
                }
                self.pending.pickup = Some(place);
            }
            Mark::Even => self.pending.even = Some(word),
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

    /// A letter that waits for a bar and gets none plays its section again.
    fn recall(&mut self) {
        let Some((section, step)) = self.pending.section.take() else {
            return;
        };
        if let Some(step) = self.reading.steps.get_mut(step) {
            step.kind = FormStepKind::Recall(section);
            self.reading.recalls.push(Recall {
                section,
                source: step.place.source.clone(),
                before: self.reading.bars.len(),
            });
        }
    }

    /// The bar that is being read ends at a place, if there is one.
    fn bar_ends(&mut self, end: usize) {
        let words = std::mem::take(&mut self.bar);
        let [first, ..] = words.as_slice() else {
            return;
        };
        let last = words.last().unwrap_or(first);
        let even = self.pending.even.map_or(first.at, |word| word.at);
        let source = even.min(first.at)..last.source().end;
        let sign = |sign: Sign| words.iter().find(|w| w.sign == sign);
        let content = match sign(Sign::Percent).or(sign(Sign::TwoBars)) {
            Some(word) if words.len() > 1 => {
                let error = self.place_ahead(word.source());
                let error = error.error(ChartProblem::PercentNotAlone);
                self.reading.errors.push(error);
                Content::Shares(vec![Says::Wrong])
            }
            Some(word) if word.sign == Sign::Percent => Content::Percent,
            Some(_) => Content::TwoBars,
            None => Content::Shares(Vec::new()),
        };
        self.bar(&words, source, content, end);
    }

    /// A bar of these words.
    fn bar(&mut self, words: &[&Word], source: Range<usize>, mut content: Content, line: usize) {
        self.count += 1;
        self.closed = None;
        let pending = std::mem::take(&mut self.pending);
        let place = self.place_at(source.clone());
        let by_beats = words.iter().any(|w| w.sign == Sign::Slash);
        if let Some(even) = pending.even
            && (by_beats || !matches!(content, Content::Shares(_)))
        {
            self.error(even.source(), ChartProblem::Even);
        }
        let pickup = pending.pickup.is_some() && self.reading.bars.is_empty();
        let mut played = self.meter;
        if pickup {
            let beats = u8::try_from(words.len()).unwrap_or(u8::MAX);
            match Meter::new(beats, self.meter.unit) {
                Some(short) if beats < self.meter.beats => played = short,
                _ => {
                    let problem = ChartProblem::PickupLength(words.len(), self.meter);
                    self.error(source.clone(), problem);
                }
            }
        } else if by_beats && words.len() != usize::from(self.meter.beats) {
            let problem = ChartProblem::Beats(words.len(), self.meter.beats);
            self.error(source.clone(), problem);
        }
        if let Some(word) = words.get(MOST_SHARES) {
            self.error(word.source(), ChartProblem::Crowded(words.len()));
        }
        let words = words.get(..MOST_SHARES).unwrap_or(words);
        if let Content::Shares(says) = &mut content
            && says.is_empty()
        {
            *says = words.iter().map(|word| self.says(word)).collect();
        }
        let shares = shares(words, played, by_beats || pickup, pending.even.is_some());
        let two_bars = matches!(content, Content::TwoBars);
        let index = self.reading.bars.len();
        let number = if pickup { 0 } else { self.count };
        self.reading.bars.push(ReadBar {
            written: Written {
                source,
                number,
                meter: self.meter,
                shares,
                line,
                section: pending.section.map(|(section, _)| section),
                opens: pending.opens,
                closes: false,
                times: 2,
                ending: pending.ending,
                roads: Roads {
                    segno: pending.segno,
                    coda: pending.coda,
                    ..Roads::default()
                },
                pickup,
                two_bars,
            },
            played,
            number: self.count,
            content,
        });
        if pickup {
            self.step(place, FormStepKind::Pickup(index));
            // The bars are counted from the first full one.
            self.count -= 1;
            return;
        }
        self.step(place.clone(), FormStepKind::Bar(index));
        if two_bars {
            self.step(place, FormStepKind::Bar(index));
            self.count += 1;
        }
    }

    fn says(&mut self, word: &Word) -> Says {
        match word.sign {
            Sign::Slash => Says::Slash,
            Sign::Silence => Says::Silence,
            _ if word.text.contains(':') => {
                let problem = ChartProblem::BarLine(word.text.to_owned());
                self.error(word.source(), problem);
                Says::Wrong
            }
            _ => match symbol::parse_with(word.text, self.names) {
                Ok(chord) => Says::Chord(chord),
                Err(error) => {
                    let from = word.at + error.at;
                    let source = from..from + error.len;
                    let problem = ChartProblem::Symbol(word.text.to_owned(), error);
                    self.error(source, problem);
                    Says::Wrong
                }
            },
        }
    }

    fn finish(mut self) -> Reading {
        self.recall();
        if let [only] = self.reading.bars.as_slice()
            && only.written.pickup
        {
            let source = only.written.source.clone();
            self.error(source, ChartProblem::PickupAlone);
        }
        if let Some(word) = self.pending.meter
            && !self.reading.bars.is_empty()
        {
            let problem = ChartProblem::Meter(word.text.to_owned());
            self.error(word.source(), problem);
        }
        self.reading
    }

    fn torn(&mut self, place: &SourcePlace, problem: ChartProblem) {
        self.reading.torn = true;
        self.reading.errors.push(place.error(problem));
    }

    fn step(&mut self, place: SourcePlace, kind: FormStepKind) {
        self.reading.steps.push(FormStep { place, kind });
    }

    /// A place in the bar that was counted last.
    fn place_at(&self, source: Range<usize>) -> SourcePlace {
        let bar = self.count.max(1);
        SourcePlace { source, bar }
    }

    /// A place in the bar that comes, or is being read.
    fn place_ahead(&self, source: Range<usize>) -> SourcePlace {
        let bar = self.count + 1;
        SourcePlace { source, bar }
    }

    fn error(&mut self, source: Range<usize>, problem: ChartProblem) {
        let error = self.place_at(source).error(problem);
        self.reading.errors.push(error);
    }
}

/// Where the words of a bar begin in it.
fn shares(words: &[&Word], played: Meter, by_beats: bool, even: bool) -> Vec<Share> {
    let count = u32::try_from(words.len()).unwrap_or(u32::MAX);
    let at = |nth: u32| {
        if by_beats && count == u32::from(played.beats) {
            played.beat_ticks() * nth
        } else if even || by_beats {
            played.even_shares(count).nth(nth as usize).unwrap_or(0)
        } else {
            played.shares(count).nth(nth as usize).unwrap_or(0)
        }
    };
    let words = words.iter().zip(0_u32..);
    words
        .map(|(word, nth)| Share {
            source: word.source(),
            at_ticks: at(nth),
        })
        .collect()
}
