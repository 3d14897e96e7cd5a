//! How far the charts of a cell have been planned, what is to be planned next, and where a plan
//! is published. It runs under the cell's lock, on any thread but the audio thread, and returns
//! quickly. Only [`PlanStep::run`] takes long, and it runs without the lock. `inner`, `shared`
//! and `cell` import it.

use super::line::Line;
use super::read::LeadSheet;
use crate::document::Document;
use crate::engine::planned::{Enters, PlannedChart};
use crate::engine::settings::{PlanFor, Shapes};
use guidehand_theory::comping::Agreeing;
use std::sync::Arc;

/// A chart with its plans so far.
#[derive(Clone, Debug)]
pub struct Charted {
    /// The number of its text.
    pub edition: u64,
    /// The text, with what was picked for its chords.
    pub document: Document,
    pub sheet: LeadSheet,
    /// When it takes over from the one that plays.
    pub enters: Enters,
    planned: Option<PlannedChart>,
    /// The chart as it was last published.
    published: Option<Arc<PlannedChart>>,
    /// What it was being planned for when planning panicked. It is not tried again.
    failed: Option<PlanFor>,
}

/// How much is to be planned.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Depth {
    /// The shapes in use.
    InUse,
    /// All shapes.
    All,
}

/// Shapes in which a chart is to be planned.
#[derive(Clone, Debug)]
pub struct PlanStep {
    edition: u64,
    document: Document,
    sheet: LeadSheet,
    plan_for: PlanFor,
    shapes: Shapes,
    depth: Depth,
    /// The same chart in its keys, with the plans that there are.
    base: Option<PlannedChart>,
}

impl Charted {
    pub fn new(edition: u64, document: Document, sheet: LeadSheet, enters: Enters) -> Charted {
        Charted {
            edition,
            document,
            sheet,
            enters,
            planned: None,
            published: None,
            failed: None,
        }
    }

    /// The chart as it was last published, if it was.
    pub const fn published(&self) -> Option<&Arc<PlannedChart>> {
        self.published.as_ref()
    }

    /// What is to be planned next.
    pub fn next(&self, plan_for: PlanFor, in_use: Shapes, depth: Depth) -> Option<PlanStep> {
        if self.failed == Some(plan_for) {
            return None;
        }
        let base = self.planned.as_ref();
        let base = base.filter(|planned| planned.plan_for == plan_for);
        let is_there = |planned: &PlannedChart| planned.plan_of(in_use).is_some();
        let shapes = match base.filter(|planned| is_there(planned)) {
            None => in_use,
            Some(_) if depth == Depth::InUse => return None,
            Some(planned) => planned.unplanned()?,
        };
        Some(PlanStep {
            edition: self.edition,
            document: self.document.clone(),
            sheet: self.sheet.clone(),
            plan_for,
            shapes,
            depth,
            base: base.cloned(),
        })
    }

    /// Takes over what a step has planned; none if it panicked. Returns the chart if it is to be
    /// published now: after a step for the shapes in use, and when all are planned.
    pub fn put(
        &mut self,
        step: &PlanStep,
        planned: Option<PlannedChart>,
    ) -> Option<Arc<PlannedChart>> {
        let Some(planned) = planned else {
            self.failed = Some(step.plan_for);
            // The plans that were made before are good.
            let good = self.is_planned_for(step.plan_for);
            return if good { self.publish() } else { None };
        };
        let is_due = step.depth == Depth::InUse || planned.unplanned().is_none();
        self.planned = Some(planned);
        is_due.then(|| self.publish()).flatten()
    }

    /// The chart as far as it has been planned, ready to be published; none if nothing has
    /// been planned.
    pub fn publish(&mut self) -> Option<Arc<PlannedChart>> {
        let mut planned = self.planned.clone()?;
        planned.edition = self.edition;
        planned.enters = self.enters;
        let new = Arc::new(planned);
        self.published = Some(new.clone());
        Some(new)
    }

    /// The same chart under another number: it enters anew, with what has been planned.
    pub fn anew(&mut self, edition: u64, enters: Enters) {
        self.edition = edition;
        self.enters = enters;
    }

    /// Whether it has been planned for this.
    pub fn is_planned_for(&self, plan_for: PlanFor) -> bool {
        let planned = self.planned.as_ref();
        planned.is_some_and(|planned| planned.plan_for == plan_for)
    }
}

/// Plans a chart in one kind of shapes: the one function that takes long, and that tests replace.
pub type Planner = dyn Fn(&PlannedChart, Shapes) -> Vec<Option<Agreeing>> + Send + Sync;

impl PlanStep {
    /// Plans the chart in these shapes. It takes long: never under a lock, and never on the audio thread.
    pub fn run(&self, plan: &Planner) -> PlannedChart {
        let placed = || {
            let LeadSheet { chart, melody } = &self.sheet;
            let mut placed = PlannedChart::placed(chart, self.plan_for, self.edition);
            let (picks, hand) = (&self.document.picks, self.plan_for.register.hand);
            let pins = picks.pinned(chart, &placed.chords(), hand);
            placed.pin(pins);
            placed.take_melody(melody.clone(), chart);
            placed.take_own(self.document.own.shapes().clone());
            placed
        };
        let mut planned = self.base.clone().unwrap_or_else(placed);
        planned.put_plan(self.shapes, &plan(&planned, self.shapes));
        planned
    }
}

/// What sounds and what is tried in its place, with the way to the audio thread.
pub struct Progress {
    /// The chart of the text in force.
    pub main: Option<Charted>,
    /// The chart of a text that is still being typed. It is planned, so that it is ready when
    /// typing rests, and not sent.
    pub coming: Option<Charted>,
    /// Another harmony that is tried: it sounds in the place of the text.
    pub tried: Option<Charted>,
    /// What to plan for, as it was looked up last.
    pub plan_for: PlanFor,
    /// The shapes in use, as they were looked up last.
    pub in_use: Shapes,
    line: Line,
}

impl Progress {
    pub fn new(line: Line) -> Progress {
        Progress {
            main: None,
            coming: None,
            tried: None,
            plan_for: PlanFor::default(),
            in_use: Shapes::default(),
            line,
        }
    }

    /// What is to be planned next. What sounds comes first and what is still being typed last, and
    /// the shapes in use come before the others.
    pub fn next(&self, depth: Depth) -> Option<PlanStep> {
        let all = [
            self.tried.as_ref(),
            self.main.as_ref(),
            self.coming.as_ref(),
        ];
        let next = |seek| {
            let mut charted = all.into_iter().flatten();
            charted.find_map(|c| c.next(self.plan_for, self.in_use, seek))
        };
        let next = next(Depth::InUse).or_else(|| next(Depth::All).filter(|_| depth == Depth::All));
        next.map(|step| PlanStep { depth, ..step })
    }

    /// Takes over what a step has planned, and sends it to the audio thread if that chart
    /// sounds. A plan of a text that has been replaced is dropped. Returns the chart of the text
    /// in hand if there is a new plan of it to publish: the one that is being typed, or the one in
    /// force.
    pub fn put(
        &mut self,
        step: &PlanStep,
        planned: Option<PlannedChart>,
    ) -> Option<Arc<PlannedChart>> {
        let is_of = |charted: &&mut Charted| charted.edition == step.edition;
        let tries = self.tried.is_some();
        if let Some(charted) = self.tried.as_mut().filter(is_of) {
            if let Some(new) = charted.put(step, planned) {
                self.line.send(new);
            }
            return None;
        }
        if let Some(charted) = self.coming.as_mut().filter(is_of) {
            return charted.put(step, planned);
        }
        let charted = self.main.as_mut().filter(is_of)?;
        let new = charted.put(step, planned)?;
        if !tries {
            self.line.send(new.clone());
        }
        self.coming.is_none().then_some(new)
    }

    /// The text that is tried, if one is.
    pub fn tried_text(&self) -> Option<Arc<str>> {
        let tried = self.tried.as_ref();
        tried.map(|charted| charted.document.text.clone())
    }

    /// Sends the chart of the text in force, if it has been planned for the parameters in force.
    /// Otherwise it is planned and sent soon.
    pub fn send_main(&mut self) -> Option<Arc<PlannedChart>> {
        let plan_for = self.plan_for;
        let main = self.main.as_mut();
        let new = main
            .filter(|main| main.is_planned_for(plan_for))?
            .publish()?;
        self.line.send(new.clone());
        Some(new)
    }

    /// Frees the charts that have come back, and sends the one that waits.
    pub fn flush(&mut self) {
        self.line.flush();
    }
}
