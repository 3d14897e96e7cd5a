//! The chords that the theory plans for a request, each with the place where it begins. Imports
//! the request, the exchange and the theory.

use crate::request::Request;
use guidehand_exchange::kept::{KeptPin, KeptScale};
use guidehand_theory::candidates::Register;
use guidehand_theory::chart::{Chart, TICKS_PER_QUARTER};
use guidehand_theory::comping::Yielding;
use guidehand_theory::key::Key;
use guidehand_theory::melody::{Melody, MelodyNote};
use guidehand_theory::pipeline::{self, ChordInKey, Taste};
use guidehand_theory::pitch::{MidiNote, SpelledPitch};
use guidehand_theory::plan::{Ends, Voiced};
use guidehand_theory::root_note::Extras;
use guidehand_theory::tension::{TensionRequests, Yields};

/// A chord, or silence, and where it begins.
#[derive(Clone, Debug)]
pub struct PlannedChord {
    /// The symbol as written, or the root as played.
    pub symbol: String,
    /// The bar as played, from 1, or 0 for a pickup.
    pub bar: u32,
    /// The beat in the bar, from 1, with its fraction.
    pub beat: f64,
    /// Ticks from the start of the chart.
    pub start_ticks: u32,
    /// The chord and its voicing; none for silence.
    pub chord: Option<(ChordInKey, Voiced)>,
    /// Whether the voicing is pinned.
    pub pinned: bool,
    /// The scale that is chosen for the chord.
    pub scale: Option<KeptScale>,
    /// The notes of the melody that sound over it.
    pub melody: Vec<SpelledPitch>,
    /// What yields to the melody, and what stands against it.
    pub yields: Yields,
    /// Semitones by which the voicing is too high to lie below the melody.
    pub too_high: u8,
}

/// The chords of the chart, one for each of its changes.
#[must_use]
pub fn of_chart(request: &Request, chart: &Chart) -> Vec<PlannedChord> {
    let taste = taste(request);
    let placed = pipeline::place(chart, request.key);
    let (kept, register) = (request.kept(), Register::DEFAULT);
    let picked = kept.played(chart);
    let pins = kept.voicings(chart, &placed, register.hand);
    let shapes = request.own_shapes();
    let own = taste.own_of(&shapes);
    let texture = request.texture;
    let melody = melody(request, chart);
    let under = pipeline::under(chart, &melody, request.yielding);
    let ends = Ends::Cyclic;
    let plan = pipeline::plan_under(&placed, texture, register, ends, &pins, own, &under);
    let chords = placed.into_iter().zip(plan).zip(under).zip(picked);
    let changes = chart.changes.iter().zip(chords);
    changes
        .map(|(change, (((placed, voiced), under), picked))| {
            let (bar, beat) = chart.bar_and_beat(change.start_ticks);
            let pinned = picked.pin.is_some();
            // What is asked for gives the voicing that is nearest to the planned one.
            let agreeing = placed.zip(voiced).map(|(placed, planned)| {
                let agreeing = if pinned || request.requests == TensionRequests::default() {
                    planned
                } else {
                    pipeline::adapt_under(&planned.voiced, &placed, &taste, own, &under)
                };
                (placed, agreeing)
            });
            let ticks = change.start_ticks..change.start_ticks + change.length_ticks;
            let above = melody.within(&ticks).iter().map(MelodyNote::spelled);
            let symbol = request.chart.get(change.source.clone()).unwrap_or("");
            PlannedChord {
                symbol: symbol.to_owned(),
                bar,
                beat,
                start_ticks: change.start_ticks,
                chord: agreeing.map(|(placed, agreeing)| (placed, agreeing.voiced)),
                pinned,
                scale: picked.scale.cloned(),
                melody: above.collect(),
                yields: agreeing.map_or_else(Yields::default, |(_, agreeing)| agreeing.yields),
                too_high: agreeing.map_or(0, |(_, agreeing)| agreeing.too_high),
            }
        })
        .collect()
}

/// The melody of a request with a name for every note; empty if it has none.
#[must_use]
pub fn melody(request: &Request, chart: &Chart) -> Melody {
    let melody = request.melody.as_ref();
    melody.map_or_else(Melody::default, |melody| {
        pipeline::named(melody, chart, &pipeline::place(chart, request.key))
    })
}

/// The pins with which a plugin that knows of no melody plays the chords that yield to one: every
/// chord as it is planned. Without a melody they are those of the request.
#[must_use]
pub fn pins(request: &Request, chart: &Chart, of_chart: &[PlannedChord]) -> Vec<KeptPin> {
    if request.melody.is_none() || request.yielding == Yielding::Off {
        return request.pins.clone();
    }
    let passes = chart.passes().into_iter().zip(&chart.changes);
    let pins = passes
        .zip(of_chart)
        .filter_map(|((pass, change), planned)| {
            let (pass, written, (_, voiced)) = (pass?, change.chord?, planned.chord?);
            let notes = voiced.voicing.notes().map(MidiNote::number).collect();
            Some(KeptPin::new(&pass, &written, notes))
        });
    pins.collect()
}

impl Request {
    /// A sentence for each scale that is chosen, but is not one of those that are suggested where
    /// its chord sounds. Empty if the chart cannot be read.
    #[must_use]
    pub fn not_suggested(&self) -> Vec<String> {
        let Ok(chart) = self.read() else {
            return Vec::new();
        };
        let chords = of_chart(self, &chart).into_iter();
        let mut lines: Vec<String> = chords
            .filter_map(|planned| {
                let ((placed, voiced), scale) = planned.chord.zip(planned.scale)?;
                let suggestions = placed.scales(&voiced.voicing);
                if scale.among(&suggestions, &placed.chord).is_some() {
                    return None;
                }
                let words = scale.words(&placed, &voiced.voicing);
                let names = suggestions.iter();
                let names: Vec<String> = names
                    .map(|s| format!("{} {}", s.root, s.scale.name))
                    .collect();
                Some(format!(
                    "bar {}, {}: {words} is not suggested here, so the first suggestion stands; \
                     expected one of: {}",
                    planned.bar,
                    planned.symbol,
                    names.join(", ")
                ))
            })
            .collect();
        lines.dedup();
        lines
    }
}

fn taste(request: &Request) -> Taste {
    Taste {
        texture: request.texture,
        requests: request.requests,
        own: request.own.is_some(),
        ..Taste::default()
    }
}

/// The chords of the roots that follow the chart. Their voices lead on from the
/// last chord of the chart.
#[must_use]
pub fn of_roots(request: &Request, chart: &Chart, of_chart: &[PlannedChord]) -> Vec<PlannedChord> {
    let taste = taste(request);
    let shapes = request.own_shapes();
    let key = request.key.unwrap_or(Key::C_MAJOR);
    let last = of_chart.iter().rev().find_map(|planned| planned.chord);
    let mut before = last.map(|(_, voiced)| voiced.voicing);
    let mut start_ticks = chart.length_ticks();
    let mut roots = Vec::new();
    for root in &request.roots {
        let class = MidiNote::clamp(root.key.into()).class();
        let placed = pipeline::place_root(key, class, Extras::NONE);
        let own = taste.own_of(&shapes);
        let voiced = pipeline::step_with(before.as_ref(), &placed, &taste, own);
        before = Some(voiced.voicing);
        let (bar, beat) = chart.bar_and_beat(start_ticks);
        roots.push(PlannedChord {
            symbol: placed.chord.root.to_string(),
            bar,
            beat,
            start_ticks,
            chord: Some((placed, voiced)),
            pinned: false,
            scale: None,
            melody: Vec::new(),
            yields: Yields::default(),
            too_high: 0,
        });
        start_ticks += u32::from(root.beats) * TICKS_PER_QUARTER;
    }
    roots
}
