//! The way back after a D.C. or D.S.: without repeats, through the last endings, to `Fine` or
//! the coda. Imports `reading`, `error`, `limits` and `marks`.
//!
//! Common practice, no published source: repeats are not taken again after a jump.

use super::reading::{FormStep, FormStepKind};
use super::{ChartProblem, Jump, MOST_BARS, Section, Start, Until};
use std::collections::BTreeMap;

/// The steps of a chart, and which steps lead to others.
pub(super) struct Map<'a> {
    pub steps: &'a [FormStep],
    /// From an ending that is not the last one of its repeat to the next.
    next_endings: BTreeMap<usize, usize>,
    /// From a letter that plays its section again to the section.
    recalled: BTreeMap<usize, usize>,
}

/// What is played on the way.
#[derive(Default)]
pub(super) struct WayBack {
    /// Indices of bars as read.
    pub bars: Vec<usize>,
    /// The steps that were passed.
    pub steps: Vec<usize>,
    /// Whether a way to the coda is looked for.
    pub by_coda: bool,
}

impl WayBack {
    /// Whether it has more bars than a chart can hold.
    const fn is_full(&self) -> bool {
        self.bars.len() > MOST_BARS
    }
}

/// What is wrong, and the step where it is wrong, if that is not the jump.
type Wrong<'a> = (ChartProblem, Option<&'a FormStep>);

impl<'a> Map<'a> {
    pub fn of(steps: &'a [FormStep]) -> Map<'a> {
        let mut map = Map {
            steps,
            next_endings: BTreeMap::new(),
            recalled: BTreeMap::new(),
        };
        let mut sections: BTreeMap<Section, usize> = BTreeMap::new();
        // The last ending so far, and whether its `:|` has come.
        let mut ending: Option<(usize, bool)> = None;
        for (at, step) in steps.iter().enumerate() {
            match step.kind {
                FormStepKind::Ending(_) => {
                    if let Some((before, true)) = ending {
                        map.next_endings.insert(before, at);
                    }
                    ending = Some((at, false));
                }
                FormStepKind::Closes(_) => {
                    if let Some((_, closed)) = &mut ending {
                        *closed = true;
                    }
                }
                FormStepKind::Bar(_) if matches!(ending, Some((_, true))) => ending = None,
                FormStepKind::Section(section) => {
                    sections.insert(section, at);
                    ending = None;
                }
                FormStepKind::Recall(section) => {
                    map.recalled
                        .extend(sections.get(&section).map(|s| (at, *s)));
                    ending = None;
                }
                FormStepKind::Opens | FormStepKind::Coda | FormStepKind::Jump(_) => ending = None,
                _ => {}
            }
        }
        map
    }

    /// Follows the jump at a step. Returns the step after the way: the coda, the step after the
    /// jump, or one past the end.
    pub fn follow(&self, jump: Jump, from: usize, way: &mut WayBack) -> Result<usize, Wrong<'a>> {
        let mut at = match jump.from {
            Start::Beginning => 0,
            Start::Segno => {
                let before = self.steps.get(..from).unwrap_or_default();
                let segno = before.iter().rposition(|s| s.kind == FormStepKind::Segno);
                segno.ok_or((ChartProblem::NoSegno(jump), None))?
            }
        };
        way.by_coda = jump.until != Until::Fine;
        while at < from
            && let Some(step) = self.steps.get(at)
        {
            way.steps.push(at);
            match step.kind {
                FormStepKind::Bar(index) => way.bars.push(index),
                FormStepKind::Recall(_) => self.recall(at, way),
                FormStepKind::Ending(_) => {
                    if let Some(next) = self.next_endings.get(&at).filter(|next| **next < from) {
                        at = *next;
                        continue;
                    }
                }
                FormStepKind::Fine if jump.until != Until::Coda => return Ok(self.steps.len()),
                FormStepKind::ToCoda if jump.until != Until::Fine => {
                    let after = self.steps.iter().skip(at);
                    let coda = after.clone().position(|s| s.kind == FormStepKind::Coda);
                    return match coda {
                        Some(steps) => Ok(at + steps),
                        None => Err((ChartProblem::NoCoda, Some(step))),
                    };
                }
                _ => {}
            }
            at += 1;
            if way.is_full() {
                return Ok(from + 1);
            }
        }
        match jump.until {
            Until::End => Ok(from + 1),
            Until::Fine => Err((ChartProblem::NoFine(jump), None)),
            Until::Coda => Err((ChartProblem::NoWayToCoda(jump), None)),
        }
    }

    /// The bars of a section that a letter plays again.
    fn recall(&self, at: usize, way: &mut WayBack) {
        let Some(section) = self.recalled.get(&at) else {
            return;
        };
        let mut at = section + 1;
        while let Some(step) = self.steps.get(at).filter(|_| !way.is_full()) {
            match step.kind {
                FormStepKind::Bar(index) => way.bars.push(index),
                FormStepKind::Section(_) | FormStepKind::Recall(_) | FormStepKind::Jump(_) => {
                    return;
                }
                FormStepKind::Ending(_) => {
                    if let Some(next) = self.next_endings.get(&at) {
                        at = *next;
                        continue;
                    }
                }
                _ => {}
            }
            at += 1;
        }
    }
}
