//! From the form as written to the order of playing: repeats, endings and sections. Imports
//! `reading`, `roads`, `error`, `limits` and `marks`.
//!
//! What repeats and endings mean is common practice, no published source.

use super::reading::{FormStep, FormStepKind, SourcePlace};
use super::roads::{Map, WayBack};
use super::{ChartError, ChartProblem, Jump, MOST_BARS, MOST_JUMPS, Section};
use std::collections::BTreeMap;
use std::ops::Range;

/// The bars in the order of playing, as indices of bars as read. There are at most
/// [`MOST_BARS`].
///
/// # Errors
/// Every sign that does not fit its place. If there are too many bars, that is the last error.
pub(super) fn unfold(steps: &[FormStep]) -> Result<Vec<usize>, Vec<ChartError>> {
    let map = Map::of(steps);
    let mut form = Unfolding {
        reached: vec![false; steps.len()],
        ..Unfolding::default()
    };
    let mut at = 0;
    while let Some(step) = steps.get(at) {
        let again = form.reach(at);
        at = match step.kind {
            // A jump is taken once.
            FormStepKind::Jump(jump) if !again => form.jump(&map, at, jump, &step.place),
            _ => {
                form.step(step);
                at + 1
            }
        };
        if form.full {
            break;
        }
    }
    if !form.full {
        form.leave();
        form.look_back(&map);
    }
    if form.errors.is_empty() {
        Ok(form.order)
    } else {
        Err(form.errors)
    }
}

#[derive(Default)]
struct Unfolding {
    order: Vec<usize>,
    /// The place in `order` where each section was last played as it was written.
    sections: BTreeMap<Section, Range<usize>>,
    /// The section that is being played as written, and its start in `order`.
    section: Option<(Section, usize)>,
    repeat: Repeat,
    /// Whether each step has been passed.
    reached: Vec<bool>,
    /// The number of jumps that have been taken.
    jumps: usize,
    /// Whether a jump could have taken `To Coda`.
    sought_coda: bool,
    errors: Vec<ChartError>,
    /// Whether there are too many bars.
    full: bool,
}

/// The repeat that is open, or that a `:|` would close.
#[derive(Default)]
struct Repeat {
    /// Its `|:`, if it has one.
    opened: Option<SourcePlace>,
    /// Where it starts in `order`.
    start: usize,
    /// The start of its first ending in `order`.
    common_end: usize,
    ending: Option<Ending>,
}

/// The last ending of a repeat so far.
struct Ending {
    number: u8,
    place: SourcePlace,
    /// Where it starts in `order`.
    start: usize,
    /// Whether its `:|` has come.
    closed: bool,
}

impl Unfolding {
    fn step(&mut self, step: &FormStep) {
        let place = &step.place;
        match step.kind {
            FormStepKind::Bar(index) => {
                if self.repeat.ending.as_ref().is_some_and(|e| e.closed) {
                    self.leave();
                }
                if self.order.len() < MOST_BARS {
                    self.order.push(index);
                } else {
                    self.overflow(place);
                }
            }
            FormStepKind::Pickup(index) => {
                self.order.push(index);
                // No repeat goes back to a pickup.
                self.repeat.start = self.order.len();
                if let Some((_, start)) = &mut self.section {
                    *start = self.order.len();
                }
            }
            FormStepKind::Opens => self.opens(place),
            FormStepKind::Closes(times) => self.closes(times, place),
            FormStepKind::Ending(number) => self.ending(number, place),
            FormStepKind::Section(section) => {
                self.part_begins();
                self.section_ends();
                self.section = Some((section, self.order.len()));
            }
            FormStepKind::Recall(section) => self.recall(section, place),
            FormStepKind::Coda => self.part_begins(),
            FormStepKind::Segno
            | FormStepKind::ToCoda
            | FormStepKind::Fine
            | FormStepKind::Jump(_) => {}
        }
    }

    /// Passes a step. Returns whether it was passed before.
    fn reach(&mut self, at: usize) -> bool {
        let reached = self.reached.get_mut(at);
        reached.is_some_and(|reached| std::mem::replace(reached, true))
    }

    /// Begins a part of the form at a letter or a coda. This ends the repeat before it, unless
    /// the sign stands right after `|:`, at the start of its repeat.
    fn part_begins(&mut self) {
        if self.repeat.opened.is_none() || self.repeat.start < self.order.len() {
            self.leave();
        }
    }

    /// Takes a jump and plays the bars on the way. Returns the step after it.
    fn jump(&mut self, map: &Map, at: usize, jump: Jump, place: &SourcePlace) -> usize {
        let ending = self.repeat.ending.as_ref().map(|ending| ending.number);
        if ending == Some(1) || (ending.is_none() && self.repeat.opened.is_some()) {
            self.repeat = Repeat::default();
            self.error(place, ChartProblem::JumpInRepeat(jump));
        }
        self.leave();
        self.section_ends();
        self.jumps += 1;
        if self.jumps > MOST_JUMPS {
            if self.jumps == MOST_JUMPS + 1 {
                self.error(place, ChartProblem::TooManyJumps);
            }
            return at + 1;
        }
        let mut way = WayBack::default();
        let next = map.follow(jump, at, &mut way);
        self.sought_coda |= way.by_coda;
        for step in way.steps {
            self.reach(step);
        }
        if self.order.len() + way.bars.len() > MOST_BARS {
            self.overflow(place);
        } else {
            self.order.extend(way.bars);
        }
        self.repeat = Repeat::at(self.order.len());
        match next {
            Ok(next) => next,
            Err((problem, step)) => {
                let place = step.map_or(place, |step| &step.place);
                self.error(place, problem);
                at + 1
            }
        }
    }

    /// Looks for signs that were never used and bars that were never played.
    fn look_back(&mut self, map: &Map) {
        if !self.errors.is_empty() {
            return;
        }
        let to_coda = map.steps.iter().find(|s| s.kind == FormStepKind::ToCoda);
        if let (Some(step), false) = (to_coda, self.sought_coda) {
            self.errors
                .push(step.place.error(ChartProblem::ToCodaUnused));
        }
        let mut all = map.steps.iter().zip(&self.reached);
        let missed = all.find(|(step, reached)| {
            let plays = matches!(step.kind, FormStepKind::Bar(_) | FormStepKind::Recall(_));
            plays && !**reached
        });
        if let Some((step, _)) = missed {
            self.errors
                .push(step.place.error(ChartProblem::NeverPlayed));
        }
        self.errors.sort_by_key(|error| error.source.start);
    }

    fn opens(&mut self, place: &SourcePlace) {
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

    fn closes(&mut self, times: u8, place: &SourcePlace) {
        let now = self.order.len();
        if times > 2 && self.repeat.ending.is_some() {
            let problem = ChartProblem::TimesOfEndings(format!("x{times}"));
            self.error(place, problem);
        }
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
                for _ in 1..times {
                    if !self.full {
                        self.again(self.repeat.start..now, place);
                    }
                }
                self.repeat = Repeat::at(self.order.len());
            }
        }
    }

    fn ending(&mut self, number: u8, place: &SourcePlace) {
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
            // After a wrong number the count goes on from it, so that it is reported once.
            number: number.max(expected),
            place: place.clone(),
            start: self.order.len(),
            closed: false,
        });
    }

    fn recall(&mut self, section: Section, place: &SourcePlace) {
        self.leave();
        self.section_ends();
        match self.sections.get(&section) {
            Some(played) => self.again(played.clone(), place),
            None => self.error(place, ChartProblem::NotWritten(section)),
        }
        self.repeat = Repeat::at(self.order.len());
    }

    /// Ends the repeat that is open. Signs that it still lacks are errors. The next repeat
    /// starts here.
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

    /// Plays bars again that have been played.
    fn again(&mut self, played: Range<usize>, place: &SourcePlace) {
        if self.order.len() + played.len() > MOST_BARS {
            self.overflow(place);
        } else {
            self.order.extend_from_within(played);
        }
    }

    /// Reports once that there are too many bars. Nothing after it is checked.
    fn overflow(&mut self, place: &SourcePlace) {
        self.full = true;
        self.error(place, ChartProblem::TooManyBars);
    }

    fn error(&mut self, place: &SourcePlace, problem: ChartProblem) {
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
