//! The ways to dress the chord in hand: which there are, which one is tried, and how it comes into
//! the chart. The panel's thread; `pages` keeps it, and `apply` changes it. Imports `held` and
//! `audition`.

use crate::editor::model::audition::{self, HeardChord};
use crate::editor::model::held::Held;
use crate::engine::clock;
use crate::engine::planned::{self, PlannedChart};
use crate::engine::snapshot::Sounding;
use crate::engine::trial::Request;
use guidehand_theory::chart;
use guidehand_theory::dressing::{Dressing, Place, Step, dressings};
use guidehand_theory::pcset::PcSet;
use guidehand_theory::pipeline::{LOWEST_BASS, Taste};
use guidehand_theory::plan::Voiced;
use guidehand_theory::reharm::Note;
use guidehand_theory::tension;
use std::sync::Arc;

/// What a player asks for about dressings.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DressingsAction {
    /// The one in this row is tried: it is heard in context, and shown.
    Try(usize),
    /// What is tried is written into the chart.
    Keep,
    /// What is tried is forgotten.
    Drop,
}

/// What the dressings depend on.
#[derive(Clone)]
struct Asked {
    planned: Arc<PlannedChart>,
    change: usize,
    taste: Taste,
    melody: PcSet,
}

impl Asked {
    fn is(&self, other: &Asked) -> bool {
        Arc::ptr_eq(&self.planned, &other.planned)
            && (self.change, self.taste, self.melody) == (other.change, other.taste, other.melody)
    }
}

/// The ways to dress the chord in hand.
#[derive(Default)]
pub struct Dressings {
    asked: Option<Asked>,
    rows: Vec<Dressing>,
    tried: Option<usize>,
    /// What could not be done, in words.
    said: String,
}

impl Dressings {
    /// Asks about the chord in hand. Dressings are worked out only where something that they depend
    /// on has changed.
    pub fn ask(&mut self, held: Option<&Held>, taste: &Taste, melody: &[Note]) {
        let asked = held.map(|held| Asked {
            planned: held.planned.clone(),
            change: held.change,
            taste: *taste,
            melody: over(held, melody),
        });
        let same = match (&self.asked, &asked) {
            (Some(before), Some(now)) => before.is(now),
            (before, now) => before.is_none() && now.is_none(),
        };
        if same {
            return;
        }
        let place = held
            .zip(asked.as_ref())
            .and_then(|(held, asked)| place(held, asked));
        self.rows = place.map_or_else(Vec::new, |place| dressings(&place));
        self.asked = asked;
        self.tried = None;
        self.said.clear();
    }

    /// The rows, in their order.
    #[must_use]
    pub fn rows(&self) -> &[Dressing] {
        &self.rows
    }

    /// The row that is tried.
    #[must_use]
    pub const fn tried(&self) -> Option<usize> {
        self.tried
    }

    /// What could not be done, in words; empty if nothing was.
    #[must_use]
    pub fn said(&self) -> &str {
        &self.said
    }

    /// Tries a row, or nothing.
    pub fn set_tried(&mut self, row: Option<usize>) {
        self.tried = row.filter(|row| *row < self.rows.len());
        self.said.clear();
    }

    fn tried_dressing(&self) -> Option<&Dressing> {
        self.rows.get(self.tried?)
    }

    /// What is tried, as it sounds first.
    #[must_use]
    pub fn sounding(&self, with_bass: bool) -> Option<Sounding> {
        let step = self.tried_dressing()?.steps.first()?;
        let taste = &self.asked.as_ref()?.taste;
        Some(sounding(step, taste, with_bass))
    }

    /// What is tried, as it is heard.
    #[must_use]
    pub fn heard(&self) -> Option<HeardChord> {
        let steps = &self.tried_dressing()?.steps;
        let first = steps.first()?;
        let then = steps.get(1).map(|step| step.voicing);
        Some(HeardChord::new(&first.placed, first.voicing).with_line(then))
    }

    /// What is tried between the chord before and the next one; without anything tried the chord
    /// in hand.
    #[must_use]
    pub fn in_context(&self, repeats: bool) -> Option<Request> {
        let asked = self.asked.as_ref()?;
        let heard = self.heard();
        audition::in_context(&asked.planned, asked.change, &asked.taste, repeats, heard)
    }

    /// The text with what is tried written into it. The words of `said` tell why it cannot be.
    pub fn kept(&mut self, text: &str, held: &Held) -> Option<String> {
        let dressing = self.tried_dressing()?;
        let change = held.planned.changes.get(held.change)?;
        let length = change.length_ticks;
        let symbols: Vec<_> = dressing
            .steps
            .iter()
            .map(|step| Some(*step.symbol()))
            .collect();
        let parts = match symbols[..] {
            [one] => vec![(one, length)],
            [first, then] => {
                let at = clock::whole(planned::line_moves_at(f64::from(length)))?;
                vec![(first, at), (then, length.saturating_sub(at))]
            }
            _ => return None,
        };
        let at = held.change..held.change + 1;
        let text = chart::rewrite(text, held.chart, at, &parts);
        if text.is_none() {
            "The bar cannot be written with it: its chords share the beats unevenly."
                .clone_into(&mut self.said);
        }
        text
    }
}

/// A step of a dressing as it sounds.
#[must_use]
pub fn sounding(step: &Step, taste: &Taste, with_bass: bool) -> Sounding {
    let Step {
        placed, voicing, ..
    } = step;
    let choices = tension::resolve(&placed.chord, &placed.function, taste.requests);
    let degrees = voicing.degrees();
    let holds = |tensions: &&tension::Tensions| {
        let guides = tensions.third.into_iter().chain(tensions.seventh);
        guides.into_iter().all(|degree| degrees.contains(degree))
    };
    let tensions = choices.iter().find(holds).or(choices.first());
    Sounding {
        placed: *placed,
        voiced: Voiced {
            voicing: *voicing,
            tensions: tensions.copied().unwrap_or_default(),
        },
        bass: with_bass.then(|| placed.bass(LOWEST_BASS)).flatten(),
        read: None,
    }
}

/// The classes of the melody over the chord in hand.
fn over(held: &Held, melody: &[Note]) -> PcSet {
    let change = held.planned.changes.get(held.change);
    let span = change.map_or(0..0, |change| {
        change.start_ticks..change.start_ticks + change.length_ticks
    });
    let sounds = |note: &&Note| {
        note.start_ticks < span.end && note.start_ticks + note.length_ticks > span.start
    };
    melody
        .iter()
        .filter(sounds)
        .map(|note| note.class)
        .collect()
}

fn place(held: &Held, asked: &Asked) -> Option<Place> {
    let (placed, voiced) = held.planned.voiced(held.change, &asked.taste)?;
    let chord = |at: usize| Some(held.planned.changes.get(at)?.placed?.chord);
    let before = held.planned.changes.get(..held.change)?;
    Some(Place {
        placed,
        before: before
            .iter()
            .rev()
            .find_map(|change| Some(change.placed?.chord)),
        after: held.after().and_then(chord),
        melody: asked.melody,
        now: voiced.voicing,
        taste: asked.taste,
    })
}
