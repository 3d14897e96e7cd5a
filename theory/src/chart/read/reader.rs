//! The state of the reader, and how it adds steps and errors. `bar` and `read` import this.

use crate::chart::bars::Recall;
use crate::chart::error::ChartProblem;
use crate::chart::marks::Section;
use crate::chart::meter::Meter;
use crate::chart::reading::{FormStep, FormStepKind, Reading, SourcePlace};
use crate::chart::words::{Line, Turn, Word};
use crate::pitch::NoteNames;
use std::ops::Range;

/// Signs before a bar, kept until the bar is read.
#[derive(Default)]
pub(super) struct Pending<'a> {
    pub(super) opens: bool,
    pub(super) ending: Option<u8>,
    /// The letter, and its step.
    pub(super) section: Option<(Section, usize)>,
    pub(super) meter: Option<&'a Word<'a>>,
    pub(super) segno: bool,
    pub(super) coda: bool,
    pub(super) pickup: Option<SourcePlace>,
    pub(super) even: Option<&'a Word<'a>>,
}

pub(super) struct Reader<'a> {
    pub(super) reading: Reading,
    /// The language of the notes.
    pub(super) names: NoteNames,
    pub(super) meter: Meter,
    /// The number of bars so far, with empty ones.
    pub(super) count: u32,
    /// The words of the bar that is being read.
    pub(super) bar: Vec<&'a Word<'a>>,
    pub(super) pending: Pending<'a>,
    /// The bar line before, if nothing has come after it.
    pub(super) line_before: Option<Line>,
    /// The signs at the end of the bar that is being read. If no chord of that bar has come
    /// yet, they belong to the bar before.
    pub(super) turns: Vec<(&'a Word<'a>, Turn)>,
    /// The step of the last `:|`, as long as only bar lines follow it.
    pub(super) closed: Option<usize>,
}

impl<'a> Reader<'a> {
    pub(super) fn new(names: NoteNames) -> Self {
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

    /// Makes a recall of a letter that waits for a bar and gets none: it plays its section
    /// again.
    pub(super) fn recall(&mut self) {
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

    pub(super) fn finish(mut self) -> Reading {
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

    pub(super) fn torn(&mut self, place: &SourcePlace, problem: ChartProblem) {
        self.reading.torn = true;
        self.reading.errors.push(place.error(problem));
    }

    pub(super) fn step(&mut self, place: SourcePlace, kind: FormStepKind) {
        self.reading.steps.push(FormStep { place, kind });
    }

    /// A place in the bar that was counted last.
    pub(super) fn place_at(&self, source: Range<usize>) -> SourcePlace {
        let bar = self.count.max(1);
        SourcePlace { source, bar }
    }

    /// A place in the next bar, or in the one that is being read.
    pub(super) fn place_ahead(&self, source: Range<usize>) -> SourcePlace {
        let bar = self.count + 1;
        SourcePlace { source, bar }
    }

    pub(super) fn error(&mut self, source: Range<usize>, problem: ChartProblem) {
        let error = self.place_at(source).error(problem);
        self.reading.errors.push(error);
    }
}
