//! A planned chart as the audio thread holds it: built elsewhere, read only,
//! freed elsewhere. Imports `settings` and the theory.

use crate::settings::PlanFor;
use guidehand_theory::chart::{Chart, Meter};
use guidehand_theory::pipeline::{self, Placed, Taste};
use guidehand_theory::plan::{Ends, Voiced};
use guidehand_theory::shape::Texture;
use guidehand_theory::tension::Asks;

/// A chord, or silence, in its place, planned in every texture.
#[derive(Clone, Copy, Debug)]
pub struct SongChange {
    /// Ticks from the start of the chart.
    pub start_ticks: u32,
    /// The chord in its key; none where the chart is silent.
    pub placed: Option<Placed>,
    /// The planned voicing in each texture, in the order of [`Texture::ALL`].
    planned: [Voiced; Texture::ALL.len()],
}

/// A chart that is ready to be played.
#[derive(Debug)]
pub struct Song {
    /// The time signature.
    pub meter: Meter,
    /// The length in ticks, at least 1.
    pub length_ticks: u32,
    /// The changes in order; the first one starts at tick 0.
    pub changes: Box<[SongChange]>,
    /// What it was planned for.
    pub plan_for: PlanFor,
}

impl Song {
    /// Plans a chart in every texture. Allocates; never on the audio thread.
    #[must_use]
    pub fn plan(chart: &Chart, plan_for: PlanFor) -> Song {
        let placed = pipeline::place(chart, plan_for.pinned);
        let plans = Texture::ALL
            .map(|texture| pipeline::plan(&placed, texture, plan_for.register, Ends::Cyclic));
        let changes = chart.changes.iter().zip(&placed).enumerate();
        let changes = changes.map(|(i, (change, placed))| SongChange {
            start_ticks: change.start_ticks,
            placed: *placed,
            planned: plans
                .each_ref()
                .map(|plan| plan.get(i).copied().flatten().unwrap_or_default()),
        });
        Song {
            meter: chart.meter,
            length_ticks: chart.length_ticks().max(1),
            changes: changes.collect(),
            plan_for,
        }
    }

    /// The change at this index with its voicing under a taste; none past the
    /// end and where the chart is silent. Bounded, without allocation.
    #[must_use]
    pub fn voiced(&self, index: usize, taste: &Taste) -> Option<(Placed, Voiced)> {
        let change = self.changes.get(index)?;
        let placed = change.placed?;
        let texture = Texture::ALL.iter().position(|t| *t == taste.texture)?;
        let planned = change.planned.get(texture)?;
        let as_planned = taste.asks == Asks::default() && taste.register == self.plan_for.register;
        let voiced = if as_planned {
            *planned
        } else {
            pipeline::adapt(planned, &placed, taste)
        };
        Some((placed, voiced))
    }

    /// The change in force at a tick of the chart.
    #[must_use]
    pub fn index_at(&self, ticks: f64) -> usize {
        let after = self
            .changes
            .partition_point(|c| f64::from(c.start_ticks) <= ticks);
        after.saturating_sub(1)
    }
}
