//! A planned chart: a chart in its keys, with its voicings in every texture that has been
//! planned, and in the player's own shapes, under the melody that is written over it. Once it is
//! published, nothing in it changes. The audio thread and the panel read the same one. It is never built or freed on the audio thread. Imports `settings`,
//! `ticks`, the theory and the bass crate; everything may import it.

use crate::engine::settings::{PlanFor, Shapes};
use crate::engine::ticks::QUARTER_TICKS;
use guidehand_bass::roots::{self, Form};
use guidehand_theory::chart::{Bar, Change, Chart, Meter, TICKS_PER_QUARTER};
use guidehand_theory::chord::Chord;
use guidehand_theory::comping::{Agreeing, Under, Yielding};
use guidehand_theory::key::Key;
use guidehand_theory::line;
use guidehand_theory::melody::Melody;
use guidehand_theory::own_shape::OwnShape;
use guidehand_theory::pcset::PcSet;
use guidehand_theory::pipeline::{self, ChordInKey, Taste};
use guidehand_theory::plan::{Ends, Voiced};
use guidehand_theory::shape::Texture;
use guidehand_theory::tension::{Above, TensionRequests};
use guidehand_theory::voicing::Voicing;
use std::sync::Arc;

/// A chord, or silence, in its place.
#[derive(Clone, Copy, Debug)]
pub struct PlannedChange {
    /// Ticks from the start of the chart.
    pub start_ticks: u32,
    /// Ticks until the next change or the end of the chart.
    pub length_ticks: u32,
    /// It starts on an off-beat eighth that swings.
    pub swings: bool,
    /// The chord in its key; none where the chart is silent.
    pub placed: Option<ChordInKey>,
}

/// The voicing of every change in one kind of shapes; an empty one where the chart is silent.
pub type Plan = Arc<[Voiced]>;

/// A plan, and the changes in which something yields to the written melody or stands against it,
/// ascending.
#[derive(Clone, Debug)]
struct PlanUnder {
    plan: Plan,
    told: Arc<[(usize, Agreeing)]>,
}

/// A bar as it is played.
#[derive(Clone, Copy, Debug)]
pub struct PlannedBar {
    /// Ticks from the start of the chart.
    pub start_ticks: u32,
    /// Its time signature.
    pub meter: Meter,
    /// Its number in its section, from 0. A section starts where it is named, where a repeat
    /// starts, and with the first full bar.
    pub in_section: u32,
}

/// When a new chart takes the place of the one that plays.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Enters {
    /// Immediately.
    #[default]
    AtOnce,
    /// At the next bar line, while the old one plays.
    AtTheBarLine,
}

/// A chart that is ready to be played, its repeats written out. What is large in it is
/// shared, so that a copy is cheap.
#[derive(Clone, Debug)]
pub struct PlannedChart {
    /// The length in ticks, at least 1.
    pub length_ticks: u32,
    /// The length of the pickup in ticks, if the first bar is one, and otherwise 0. The chart
    /// starts again after it.
    pub pickup_ticks: u32,
    /// The bars in order, at least one; the first one starts at tick 0.
    pub bars: Arc<[PlannedBar]>,
    /// The changes in order; the first one starts at tick 0.
    pub changes: Arc<[PlannedChange]>,
    /// The same changes as a bass knows them.
    pub bass: Arc<[roots::Change]>,
    /// The shortest change, in ticks.
    pub shortest_ticks: u32,
    /// What it was planned for.
    pub plan_for: PlanFor,
    /// The number of its text. A later text of the instance has a higher one.
    pub edition: u64,
    /// When it takes over.
    pub enters: Enters,
    /// The voicings that the player has pinned, each with its change, ascending. They sound
    /// whatever the taste.
    pins: Arc<[(usize, Voiced)]>,
    /// The player's own shapes.
    own: Arc<[OwnShape]>,
    /// The melody that is written over it.
    melody: Arc<Melody>,
    /// What is written above each change, as far as it matters to it; empty without a melody.
    written: Arc<[Above]>,
    /// The plan in each kind of shapes, in the order of [`Shapes::all`], as far as there is one.
    plans: [Option<PlanUnder>; Texture::ALL.len() + 1],
}

impl PlannedChart {
    /// Plans a chart in all shapes.
    #[cfg(test)]
    #[must_use]
    pub fn plan(chart: &Chart, plan_for: PlanFor, edition: u64) -> PlannedChart {
        PlannedChart::placed(chart, plan_for, edition).planned()
    }

    /// The chart with a plan in all shapes, around its pins. Allocates; never on the audio
    /// thread.
    #[must_use]
    pub fn planned(mut self) -> PlannedChart {
        while let Some(shapes) = self.unplanned() {
            let plan = self.plan_in(shapes);
            self.put_plan(shapes, &plan);
        }
        self
    }

    /// The cheapest way through the chart in one kind of shapes, around its pins and under its
    /// melody. Takes long, and allocates; never on the audio thread.
    #[must_use]
    pub fn plan_in(&self, shapes: Shapes) -> Vec<Option<Agreeing>> {
        let (placed, pins) = (self.chords(), self.pinned_voicings());
        let taste = shapes.taste();
        let (texture, register) = (taste.texture, self.plan_for.register);
        let (own, ends) = (taste.own_of(&self.own), Ends::Cyclic);
        let under: Vec<Under> = (0..self.written.len())
            .map(|change| self.under(change, self.plan_for.yielding))
            .collect();
        pipeline::plan_under(&placed, texture, register, ends, &pins, own, &under)
    }

    /// Puts the chords of a chart in their keys; nothing is planned yet. Allocates; never
    /// on the audio thread.
    #[must_use]
    pub fn placed(chart: &Chart, plan_for: PlanFor, edition: u64) -> PlannedChart {
        let placed = pipeline::place(chart, plan_for.pinned);
        let changes = chart.changes.iter().zip(&placed);
        let changes = changes.map(|(change, placed)| PlannedChange {
            start_ticks: change.start_ticks,
            length_ticks: change.length_ticks,
            swings: swings(chart, change),
            placed: *placed,
        });
        let bass = chart.changes.iter().zip(&placed);
        let pickup_ticks = chart.pickup_ticks();
        let bass = bass.map(|(change, placed)| bass_change(change, placed.as_ref(), pickup_ticks));
        let mut in_section = 0;
        let bars = chart.bars.iter().enumerate().map(|(number, bar)| {
            let starts = number <= usize::from(chart.has_pickup()) || starts_section(chart, bar);
            in_section = if starts { 0 } else { in_section + 1 };
            PlannedBar {
                start_ticks: bar.start_ticks,
                meter: bar.meter,
                in_section,
            }
        });
        let lengths = chart.changes.iter().map(|change| change.length_ticks);
        PlannedChart {
            length_ticks: chart.length_ticks().max(1),
            pickup_ticks,
            bars: bars.collect(),
            changes: changes.collect(),
            bass: bass.collect(),
            shortest_ticks: lengths.min().unwrap_or(0),
            plan_for,
            edition,
            enters: Enters::AtOnce,
            pins: Arc::default(),
            own: Arc::default(),
            melody: Arc::default(),
            written: Arc::default(),
            plans: [const { None }; Texture::ALL.len() + 1],
        }
    }

    /// The chords in their keys, as a plan is made for them; none where the chart is silent.
    #[must_use]
    pub fn chords(&self) -> Vec<Option<ChordInKey>> {
        self.changes.iter().map(|change| change.placed).collect()
    }

    /// Pins voicings to changes, which ascend, before anything is planned. Allocates; never on the
    /// audio thread.
    pub fn pin(&mut self, pins: Vec<(usize, Voiced)>) {
        self.pins = pins.into();
    }

    /// Takes the player's own shapes, before anything is planned. Allocates; never on the audio
    /// thread.
    pub fn take_own(&mut self, own: Arc<[OwnShape]>) {
        self.own = own;
    }

    /// Takes the melody that is written over it, before anything is planned. `chart` is the chart
    /// that this one was placed from. Allocates; never on the audio thread.
    pub fn take_melody(&mut self, melody: Arc<Melody>, chart: &Chart) {
        let above = |melody: &Melody| {
            let under = pipeline::under(chart, melody, Yielding::Tensions);
            under.iter().map(|under| under.above).collect()
        };
        self.written = if melody.is_empty() {
            Arc::default()
        } else {
            above(&melody)
        };
        self.melody = melody;
    }

    /// The melody that is written over it; one without notes if none is.
    #[must_use]
    pub const fn melody(&self) -> &Arc<Melody> {
        &self.melody
    }

    /// What is written above a change, as far as it matters to it. Bounded, without allocation.
    #[must_use]
    pub fn written(&self, index: usize) -> Above {
        self.written.get(index).copied().unwrap_or_default()
    }

    /// The same for a chord that yields so far.
    fn under(&self, index: usize, yielding: Yielding) -> Under {
        let above = self.written(index);
        Under { above, yielding }
    }

    /// The player's own shapes.
    #[must_use]
    pub fn own(&self) -> &[OwnShape] {
        &self.own
    }

    /// The pinned voicings, each with its change, ascending, as a plan is made around them.
    #[must_use]
    pub fn pinned_voicings(&self) -> Vec<(usize, Voicing)> {
        let pins = self.pins.iter();
        pins.map(|(at, voiced)| (*at, voiced.voicing)).collect()
    }

    /// The voicing that is pinned to a change, if one is. Bounded, without allocation.
    #[must_use]
    pub fn pinned(&self, index: usize) -> Option<&Voiced> {
        let found = self.pins.binary_search_by_key(&index, |(at, _)| *at).ok()?;
        self.pins.get(found).map(|(_, voiced)| voiced)
    }

    /// Takes the plan in one kind of shapes, a voicing or none for each change. Allocates; never on
    /// the audio thread.
    pub fn put_plan(&mut self, shapes: impl Into<Shapes>, plan: &[Option<Agreeing>]) {
        let shapes = self.planned_as(shapes.into());
        let voiced = plan.iter().map(|a| a.unwrap_or_default().voiced);
        let told = plan.iter().enumerate().filter_map(|(change, agreeing)| {
            let agreeing = agreeing.as_ref()?;
            (*agreeing != Agreeing::from(agreeing.voiced)).then_some((change, *agreeing))
        });
        let plan = PlanUnder {
            plan: voiced.collect(),
            told: told.collect(),
        };
        let mut all = Shapes::all().zip(&mut self.plans);
        if let Some((_, slot)) = all.find(|(of, _)| *of == shapes) {
            *slot = Some(plan);
        }
    }

    /// The plan in one kind of shapes, if there is one.
    #[must_use]
    pub fn plan_of(&self, shapes: impl Into<Shapes>) -> Option<&Plan> {
        self.plan_under_of(shapes.into()).map(|under| &under.plan)
    }

    fn plan_under_of(&self, shapes: Shapes) -> Option<&PlanUnder> {
        let shapes = self.planned_as(shapes);
        let mut all = Shapes::all().zip(&self.plans);
        all.find(|(of, _)| *of == shapes)?.1.as_ref()
    }

    /// The first kind of shapes in which there is no plan.
    #[must_use]
    pub fn unplanned(&self) -> Option<Shapes> {
        Shapes::all().find(|shapes| self.plan_of(*shapes).is_none())
    }

    /// The shapes with whose plan these have theirs in common: without own shapes all chords have
    /// the other ones.
    fn planned_as(&self, shapes: Shapes) -> Shapes {
        match shapes {
            Shapes::Own if self.own.is_empty() => Shapes::Texture(Shapes::OF_OTHERS),
            shapes => shapes,
        }
    }

    /// The chart as a bass knows it: from the first full bar on, because a pickup is
    /// played only once.
    #[must_use]
    pub fn form(&self) -> Form<'_> {
        Form {
            changes: &self.bass,
            length_beats: self.round_ticks() / QUARTER_TICKS,
        }
    }

    /// The time signature of the first full bar.
    #[must_use]
    pub fn meter(&self) -> Meter {
        let first = self.bars.get(self.bars_before());
        first.map_or(Meter::COMMON, |bar| bar.meter)
    }

    /// How many bars stand before the first full one: a pickup, or none.
    #[must_use]
    pub fn bars_before(&self) -> usize {
        usize::from(self.pickup_ticks > 0)
    }

    /// The length of each repeat, in ticks: everything except the pickup.
    #[must_use]
    pub fn round_ticks(&self) -> f64 {
        f64::from(self.length_ticks.saturating_sub(self.pickup_ticks).max(1))
    }

    /// How often the chart has started again by a position, rounded down; negative
    /// before its start, where there is no pickup.
    #[must_use]
    pub fn round_at(&self, ticks: f64) -> f64 {
        let pickup = f64::from(self.pickup_ticks);
        if self.pickup_ticks > 0 && ticks < pickup {
            return 0.0;
        }
        ((ticks - pickup) / self.round_ticks()).floor()
    }

    /// A position as a tick of the chart, however often it has started again.
    #[must_use]
    pub fn within(&self, ticks: f64) -> f64 {
        let pickup = f64::from(self.pickup_ticks);
        if self.pickup_ticks > 0 && ticks < pickup {
            return ticks;
        }
        pickup + (ticks - pickup).rem_euclid(self.round_ticks())
    }

    /// The change at this index with its voicing under a taste; none past the end and where
    /// the chart is silent. A pinned voicing is the same under every taste. Elsewhere it is the
    /// planned voicing where the taste is as planned for, and
    /// otherwise the nearest one to it that agrees with the written melody. While its shapes have
    /// not been planned it is the nearest voicing to that of another plan. Bounded, without
    /// allocation.
    #[must_use]
    pub fn voiced(&self, index: usize, taste: &Taste) -> Option<(ChordInKey, Voiced)> {
        let (placed, agreeing) = self.agreeing(index, taste, self.plan_for.yielding)?;
        Some((placed, agreeing.voiced))
    }

    /// As [`PlannedChart::voiced`], with what yields to the written melody and how far it yields.
    #[must_use]
    pub fn agreeing(
        &self,
        index: usize,
        taste: &Taste,
        yielding: Yielding,
    ) -> Option<(ChordInKey, Agreeing)> {
        let placed = self.changes.get(index)?.placed?;
        if let Some(pinned) = self.pinned(index) {
            return Some((placed, (*pinned).into()));
        }
        let written = self.under(index, yielding);
        let planned_so = written.above.is_empty() || yielding == self.plan_for.yielding;
        let (planned, as_planned) = self.planned_voicing(index, taste)?;
        let agreeing = if as_planned && planned_so {
            self.told(index, taste, planned)
        } else {
            pipeline::adapt_under(planned, &placed, taste, taste.own_of(&self.own), &written)
        };
        Some((placed, agreeing))
    }

    /// As [`PlannedChart::voiced`], under what sounds above the chord besides the written melody. A
    /// voicing that agrees stays, and so does a pinned one. Otherwise it is the nearest one that
    /// agrees to the planned one. Bounded, without allocation.
    #[must_use]
    pub fn voiced_under(
        &self,
        index: usize,
        taste: &Taste,
        under: &Under,
    ) -> Option<(ChordInKey, Agreeing)> {
        let (placed, agreeing) = self.agreeing(index, taste, under.yielding)?;
        let written = self.under(index, under.yielding);
        let under = written.and(under.above);
        let agrees = || {
            let voicing = &agreeing.voiced.voicing;
            under.above == written.above || under.agrees(voicing, &placed.chord)
        };
        if self.pinned(index).is_some() || agrees() {
            return Some((placed, agreeing));
        }
        let (planned, _) = self.planned_voicing(index, taste)?;
        let own = taste.own_of(&self.own);
        let agreeing = pipeline::adapt_under(planned, &placed, taste, own, &under);
        Some((placed, agreeing))
    }

    /// A planned voicing with what yields in it.
    fn told(&self, index: usize, taste: &Taste, planned: &Voiced) -> Agreeing {
        let told = self.plan_under_of(taste.into()).and_then(|under| {
            let found = under
                .told
                .binary_search_by_key(&index, |(at, _)| *at)
                .ok()?;
            under.told.get(found)
        });
        told.map_or_else(|| (*planned).into(), |(_, agreeing)| *agreeing)
    }

    /// The planned voicing of a change, and whether it holds under a taste as it is.
    fn planned_voicing(&self, index: usize, taste: &Taste) -> Option<(&Voiced, bool)> {
        let plan = self.plan_of(taste);
        let as_planned = plan.is_some()
            && taste.requests == TensionRequests::default()
            && taste.register == self.plan_for.register;
        let any = || self.plans.iter().flatten().map(|under| &under.plan).next();
        let planned = plan.or_else(any)?;
        Some((planned.get(index)?, as_planned))
    }

    /// The inner line of a change in a voicing of its own: when its voice moves, in ticks from the
    /// start of the change, and what sounds from then on. It moves halfway through the chord, and
    /// on a beat if the chord lasts two beats or more. A pinned voicing stays as it is, and so does
    /// one whose line would move into the written melody.
    #[must_use]
    pub fn inner_line(
        &self,
        index: usize,
        (placed, voiced): (&ChordInKey, &Voiced),
        length_ticks: f64,
    ) -> Option<(f64, Voicing)> {
        if self.pinned(index).is_some() {
            return None;
        }
        let after = line::inner(&placed.chord, &placed.function, &voiced.voicing)?;
        let written = self.under(index, self.plan_for.yielding);
        if !written.may_go(&voiced.voicing, &after, &placed.chord) {
            return None;
        }
        Some((line_moves_at(length_ticks), after))
    }

    /// The places in the text from which another key holds, in their order there, with the
    /// key. `chart` is the chart that this one was planned from. Allocates.
    #[must_use]
    pub fn keys(&self, chart: &Chart) -> Vec<(usize, Key)> {
        let changes = chart.changes.iter().zip(self.changes.iter());
        let key = |planned: &PlannedChange| planned.placed.map(|placed| placed.function.key);
        let mut placed: Vec<(usize, Key)> = changes
            .filter_map(|(change, planned)| Some((change.source.start, key(planned)?)))
            .collect();
        // Of several playings the first one counts.
        placed.sort_by_key(|(at, _)| *at);
        placed.dedup_by_key(|(at, _)| *at);
        placed.dedup_by_key(|(_, key)| *key);
        placed
    }

    /// The change in force at a tick of the chart.
    #[must_use]
    pub fn index_at(&self, ticks: f64) -> usize {
        let after = self
            .changes
            .partition_point(|c| f64::from(c.start_ticks) <= ticks);
        after.saturating_sub(1)
    }

    /// The bar in force at a tick of the chart.
    #[must_use]
    pub fn bar_at(&self, ticks: f64) -> usize {
        let after = self
            .bars
            .partition_point(|bar| f64::from(bar.start_ticks) <= ticks);
        after.saturating_sub(1)
    }
}

/// A change as a bass knows it.
fn bass_change(change: &Change, placed: Option<&ChordInKey>, pickup_ticks: u32) -> roots::Change {
    let tones = |chord: &Chord| {
        let root = chord.root.class();
        let bass = chord.bass.map_or(root, |bass| bass.class());
        (bass, PcSet::of_degrees(root, chord.degrees()).with(bass))
    };
    let known = placed.map(|placed| tones(&placed.chord));
    roots::Change {
        at_beats: (f64::from(change.start_ticks) - f64::from(pickup_ticks)) / QUARTER_TICKS,
        root: known.map(|(root, _)| root),
        tones: known.map_or(PcSet::default(), |(_, tones)| tones),
    }
}

/// Whether a change lies on an off-beat eighth of a bar over quarters or halves.
fn swings(chart: &Chart, change: &Change) -> bool {
    chart.bars.get(change.bar).is_some_and(|bar| {
        let place = change.start_ticks.saturating_sub(bar.start_ticks);
        bar.meter.unit <= 4 && place % TICKS_PER_QUARTER == TICKS_PER_QUARTER / 2
    })
}

/// Whether a bar as it is played starts a section or a repeat.
fn starts_section(chart: &Chart, bar: &Bar) -> bool {
    let written = chart.written.get(bar.written);
    written.is_some_and(|written| written.section.is_some() || written.opens)
}

/// When an inner line moves in a chord of this length, in ticks, see [`PlannedChart::inner_line`].
#[must_use]
pub fn line_moves_at(length_ticks: f64) -> f64 {
    let half = length_ticks / 2.0;
    if length_ticks >= 2.0 * QUARTER_TICKS {
        (half / QUARTER_TICKS).ceil() * QUARTER_TICKS
    } else {
        half
    }
}
