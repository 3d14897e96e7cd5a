//! From the form as written to the order of playing: repeats, endings and
//! sections. Imports `read`, and the types of `chart`.
//!
//! Common practice, no published source, as to what repeats and endings mean.

use super::read::{Place, Step, StepKind};
use super::{ChartError, ChartProblem, MOST_BARS, Section};
use std::collections::BTreeMap;
use std::ops::Range;

/// The bars in the order of playing, as indices of bars as read; at most
/// [`MOST_BARS`].
///
/// # Errors
/// Every sign that does not fit its place; or that there are too many bars,
/// after which nothing is looked at.
pub(super) fn unfold(steps: &[Step]) -> Result<Vec<usize>, Vec<ChartError>> {
    let mut form = Form::default();
    for step in steps {
        form.step(step);
        if form.full {
            break;
        }
    }
    if !form.full {
        form.leave();
    }
    if form.errors.is_empty() {
        Ok(form.order)
    } else {
        Err(form.errors)
    }
}

#[derive(Default)]
struct Form {
    order: Vec<usize>,
    /// Where each section was played last as it was written.
    sections: BTreeMap<Section, Range<usize>>,
    /// The section that is being written, and where it starts in `order`.
    section: Option<(Section, usize)>,
    repeat: Repeat,
    errors: Vec<ChartError>,
    /// There are too many bars.
    full: bool,
}

/// The repeat that is open, or would be closed by a `:|`.
#[derive(Default)]
struct Repeat {
    /// Its `|:`, if it has one.
    opened: Option<Place>,
    /// Where it starts in `order`.
    start: usize,
    /// Where its first ending starts in `order`.
    common_end: usize,
    ending: Option<Ending>,
}

/// The ending of a repeat that came last.
struct Ending {
    number: u8,
    place: Place,
    /// Where it starts in `order`.
    start: usize,
    /// Its `:|` has come.
    closed: bool,
}

impl Form {
    fn step(&mut self, step: &Step) {
        let place = &step.place;
        match step.kind {
            StepKind::Bar(index) => {
                if self.repeat.ending.as_ref().is_some_and(|e| e.closed) {
                    self.leave();
                }
                if self.order.len() < MOST_BARS {
                    self.order.push(index);
                } else {
                    self.overflow(place);
                }
            }
            StepKind::Opens => self.opens(place),
            StepKind::Closes => self.closes(place),
            StepKind::Ending(number) => self.ending(number, place),
            StepKind::Section(section) => {
                // A letter right after `|:` stands at the start of its repeat.
                if self.repeat.opened.is_none() || self.repeat.start < self.order.len() {
                    self.leave();
                }
                self.section_ends();
                self.section = Some((section, self.order.len()));
            }
            StepKind::Recall(section) => self.recall(section, place),
        }
    }

    fn opens(&mut self, place: &Place) {
        let later = self.repeat.ending.as_ref();
        let later = later.is_some_and(|ending| ending.closed || ending.number > 1);
        if self.repeat.opened.is_some() && !later {
            self.error(place, ChartProblem::RepeatInRepeat);
        } else {
            self.leave();
        }
        self.repeat = Repeat {
            opened: Some(place.clone()),
            ..Repeat::at(self.order.len())
        };
    }

    fn closes(&mut self, place: &Place) {
        let now = self.order.len();
        match &mut self.repeat.ending {
            Some(ending) if !ending.closed => {
                ending.closed = true;
                let (number, empty) = (ending.number, ending.start == now);
                if empty {
                    let problem = ChartProblem::EndingEmpty(number);
                    let error = ending.place.error(problem);
                    self.errors.push(error);
                }
            }
            Some(_) => {
                self.leave();
                self.error(place, ChartProblem::NothingToRepeat(":|"));
            }
            None => {
                if self.repeat.start == now {
                    self.error(place, ChartProblem::NothingToRepeat(":|"));
                }
                self.again(self.repeat.start..now, place);
                self.repeat = Repeat::at(self.order.len());
            }
        }
    }

    fn ending(&mut self, number: u8, place: &Place) {
        let now = self.order.len();
        let repeat = &mut self.repeat;
        let expected = match &repeat.ending {
            Some(before) => before.number.saturating_add(1),
            None if repeat.opened.is_none() && (number > 1 || repeat.start == now) => {
                return self.error(place, ChartProblem::EndingOutside(number));
            }
            None => {
                repeat.common_end = now;
                1
            }
        };
        let common = repeat.start..repeat.common_end;
        match &repeat.ending {
            _ if number != expected => {
                self.error(place, ChartProblem::EndingOrder(number, expected));
            }
            Some(before) if !before.closed => {
                self.error(place, ChartProblem::EndingOpen(number));
            }
            Some(_) => self.again(common, place),
            None => {}
        }
        self.repeat.ending = Some(Ending {
            // After a wrong number the count goes on, so that it is told once.
            number: number.max(expected),
            place: place.clone(),
            start: self.order.len(),
            closed: false,
        });
    }

    fn recall(&mut self, section: Section, place: &Place) {
        self.leave();
        self.section_ends();
        match self.sections.get(&section) {
            Some(played) => self.again(played.clone(), place),
            None => self.error(place, ChartProblem::NotWritten(section)),
        }
        self.repeat = Repeat::at(self.order.len());
    }

    /// The repeat that is open is over: what it still lacks is wrong. The next
    /// one starts here.
    fn leave(&mut self) {
        let now = self.order.len();
        let repeat = std::mem::replace(&mut self.repeat, Repeat::at(now));
        let error = match (&repeat.ending, &repeat.opened) {
            (None, None) => None,
            (None, Some(opened)) => Some(opened.error(ChartProblem::NeverClosed)),
            (Some(e), _) if e.number == 1 && e.closed => {
                Some(e.place.error(ChartProblem::EndingAlone))
            }
            (Some(e), Some(opened)) if e.number == 1 => {
                Some(opened.error(ChartProblem::NeverClosed))
            }
            (Some(e), None) if e.number == 1 => Some(e.place.error(ChartProblem::EndingOutside(1))),
            (Some(e), _) if !e.closed && e.start == now => {
                Some(e.place.error(ChartProblem::EndingEmpty(e.number)))
            }
            (Some(_), _) => None,
        };
        self.errors.extend(error);
    }

    fn section_ends(&mut self) {
        if let Some((section, start)) = self.section.take() {
            self.sections.insert(section, start..self.order.len());
        }
    }

    /// Plays again what has been played.
    fn again(&mut self, played: Range<usize>, place: &Place) {
        if self.order.len() + played.len() > MOST_BARS {
            self.overflow(place);
        } else {
            self.order.extend_from_within(played);
        }
    }

    /// Said once; what follows is not looked at.
    fn overflow(&mut self, place: &Place) {
        self.full = true;
        self.error(place, ChartProblem::TooManyBars);
    }

    fn error(&mut self, place: &Place, problem: ChartProblem) {
        self.errors.push(place.error(problem));
    }
}

impl Repeat {
    /// A repeat without `|:` that starts here.
    fn at(start: usize) -> Repeat {
        Repeat {
            start,
            ..Repeat::default()
        }
    }
}
