//! What the plugin should comp on a chart, worked out slowly and plainly from the rules alone:
//! every strike of every bar is listed, then the list is read. Touch, density and variation are left
//! out, because they are random. Imports [`PlayedNote`] and the theory; the tests of rhythms compare
//! the built plugin with it.
//!
//! Positions are in ticks, 960 to a quarter note, from the chart's start.

mod bars;
mod pattern;

pub use pattern::{FIRST_DRAWN, RhythmSettings};

use crate::notes::PlayedNote;
use bars::{ChordSpan, ExpectedBars};
use guidehand_report::request::Rhythm;
use guidehand_theory::candidates::Register;
use guidehand_theory::chart::{self, Chart, Meter};
use guidehand_theory::line;
use guidehand_theory::pipeline;
use guidehand_theory::plan::Ends;
use guidehand_theory::shape::Texture;
use guidehand_theory::voicing::Voicing;
use pattern::{PatternBar, QUARTER};

/// A strike that comes at most this much after a sample, in samples, belongs to that sample,
/// because hosts round positions.
const TOLERANCE_SAMPLES: f64 = 1.0e-3;

/// The shortest length of a strike, as far as its chord and the next strike allow it. A shorter
/// strike would swing past its own end.
const SHORTEST_TICKS: f64 = 30.0;

/// How a song moves: evenly, from one place, until it stops.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EvenPlay {
    /// Frames a second.
    pub sample_rate_hz: f64,
    /// Quarter notes a minute.
    pub tempo_bpm: f64,
    /// The position of the song at the first sample, in quarter notes.
    pub from_beats: f64,
    /// The sample at which it stops.
    pub stop_samples: u64,
}

impl EvenPlay {
    fn ticks_per_sample(&self) -> f64 {
        self.tempo_bpm / 60.0 * f64::from(QUARTER) / self.sample_rate_hz
    }

    fn start_ticks(&self, origin_ticks: f64) -> f64 {
        self.from_beats * f64::from(QUARTER) - origin_ticks
    }

    /// The first sample at or after a tick, from the start to the stop.
    fn sample_of(&self, ticks: f64, origin_ticks: f64) -> u64 {
        let exact = (ticks - self.start_ticks(origin_ticks)) / self.ticks_per_sample();
        let sample = (exact - TOLERANCE_SAMPLES).ceil().max(0.0);
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "not negative, and saturates"
        )]
        let sample = sample as u64;
        sample.min(self.stop_samples)
    }
}

/// A part of a performance in which the song moves evenly.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pass {
    /// The sample of the performance at which it begins.
    pub from_samples: u64,
    /// How it moves.
    pub play: EvenPlay,
}

/// A song in a loop, which starts at one place and ends at another, in quarter notes: each time through
/// begins at the first sample that lies at or beyond the end, as far beyond the start as that is
/// beyond the end.
#[must_use]
pub fn passes_of(play: &EvenPlay, (start_beats, end_beats): (f64, f64)) -> Vec<Pass> {
    let beats_per_sample = play.tempo_bpm / 60.0 / play.sample_rate_hz;
    let mut passes = Vec::new();
    let mut from_samples = 0;
    let mut from_beats = play.from_beats;
    while from_samples < play.stop_samples {
        let exact = (end_beats - from_beats) / beats_per_sample;
        // The song that starts beyond the end never comes to it.
        let to_end = if exact > 0.0 {
            (exact - TOLERANCE_SAMPLES).ceil()
        } else {
            f64::INFINITY
        };
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "not negative, and saturates"
        )]
        let samples = to_end as u64;
        passes.push(Pass {
            from_samples,
            play: EvenPlay {
                from_beats,
                stop_samples: samples.min(play.stop_samples - from_samples),
                ..*play
            },
        });
        from_beats = start_beats + (to_end - exact) * beats_per_sample;
        from_samples = from_samples.saturating_add(samples);
    }
    passes
}

/// A chord as it is struck.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ExpectedStrike {
    /// The change of the chart, from 0.
    pub change: usize,
    /// Where that change starts and ends, in ticks.
    pub change_ticks: (u32, u32),
    /// The start in ticks.
    pub start_ticks: f64,
    /// The end in ticks; not after the next strike's start.
    pub end_ticks: f64,
    /// The accent, -2 to 2.
    pub accent: i8,
}

/// The strikes of the bars that were written out.
fn struck(sheet: &ExpectedBars, comping: &RhythmSettings, tempo_bpm: f64) -> Vec<ExpectedStrike> {
    let (hits, longest) = match comping.rhythm {
        Rhythm::Hold => (sheet.held(false), 1.0),
        Rhythm::Push => (sheet.held(true), 1.0),
        _ => (sheet.patterned(comping), f64::INFINITY),
    };
    let ratio = comping.ratio(tempo_bpm);
    let mut latest = 0.0_f64;
    let mut strikes: Vec<ExpectedStrike> = Vec::new();
    for (hit, turn) in hits {
        let place = f64::from(hit.place);
        let start = sheet.swung(place, ratio).max(latest);
        latest = start;
        let within = f64::from(hit.length) * comping.length.min(longest);
        let end = place + f64::from(hit.ahead) + within;
        let end = sheet
            .bar_at(place)
            .map_or(end, |bar| bar.stretched(end, ratio))
            .max(start + SHORTEST_TICKS)
            .min(sheet.swung(f64::from(turn.end), ratio));
        if let Some(before) = strikes.last_mut() {
            before.end_ticks = before.end_ticks.min(start);
        }
        strikes.push(ExpectedStrike {
            change: turn.change,
            change_ticks: (turn.start, turn.end),
            start_ticks: start,
            end_ticks: end,
            accent: hit.accent,
        });
    }
    strikes.retain(|strike| strike.end_ticks > strike.start_ticks);
    strikes
}

/// A chart with its voicings in four notes and the usual register.
pub struct Oracle {
    chart: Chart,
    /// By change; none for silence.
    voices: Vec<Option<Voices>>,
}

/// A chord's voicing, and the one that its inner line leads to.
struct Voices {
    first: Vec<i16>,
    moved: Option<Vec<i16>>,
}

impl Oracle {
    /// Reads and plans a chart.
    ///
    /// # Panics
    /// If the chart cannot be read.
    #[must_use]
    pub fn new(text: &str) -> Self {
        let chart = chart::parse(text).unwrap_or_else(|errors| panic!("{text}: {errors:?}"));
        let placed = pipeline::place(&chart, None);
        let texture = Texture::FourNotes;
        let plan = pipeline::plan(&placed, texture, Register::DEFAULT, Ends::Cyclic);
        let pairs = placed.into_iter().zip(plan);
        let voices = pairs.map(|(placed, voiced)| {
            let (placed, first) = (placed?, voiced?.voicing);
            let moved = line::inner(&placed.chord, &placed.function, &first);
            Some(Voices {
                first: keys_of(&first),
                moved: moved.as_ref().map(keys_of),
            })
        });
        let voices = voices.collect();
        Self { chart, voices }
    }

    /// Every strike from the chart's start up to a tick and a little beyond, in order. Strikes
    /// without any time left are left out.
    #[must_use]
    pub fn strikes(
        &self,
        comping: &RhythmSettings,
        tempo_bpm: f64,
        until_ticks: f64,
    ) -> Vec<ExpectedStrike> {
        let sheet = ExpectedBars::of(&self.chart, comping.repeats, until_ticks);
        struck(&sheet, comping, tempo_bpm)
    }

    /// The notes of a performance, by start and key.
    #[must_use]
    pub fn notes(&self, comping: &RhythmSettings, play: &EvenPlay) -> Vec<PlayedNote> {
        let origin = f64::from(self.chart.meter().bar_ticks() * (comping.from_bar - 1));
        #[expect(
            clippy::cast_precision_loss,
            reason = "sessions last some millions of samples"
        )]
        let passed = play.stop_samples as f64 * play.ticks_per_sample();
        let until = play.start_ticks(origin) + passed;
        let mut notes = Vec::new();
        for strike in self.strikes(comping, play.tempo_bpm, until) {
            let velocity = comping.velocity_of(strike.accent);
            for (key, from, to) in self.voices_of(&strike, comping.inner_lines) {
                notes.push(PlayedNote {
                    channel: 0,
                    key,
                    velocity,
                    start_samples: play.sample_of(from, origin),
                    end_samples: play.sample_of(to, origin),
                });
            }
        }
        notes.retain(|note| note.end_samples > note.start_samples);
        notes.sort_by_key(|note| (note.start_samples, note.channel, note.key));
        notes
    }

    /// The notes of a performance in parts: each part sounds as if the song had started there.
    #[must_use]
    pub fn notes_of(&self, comping: &RhythmSettings, passes: &[Pass]) -> Vec<PlayedNote> {
        let notes = passes.iter().flat_map(|pass| {
            let notes = self.notes(comping, &pass.play).into_iter();
            notes.map(|note| PlayedNote {
                start_samples: note.start_samples + pass.from_samples,
                end_samples: note.end_samples + pass.from_samples,
                ..note
            })
        });
        notes.collect()
    }

    /// The keys of a strike, each with its start and end in ticks.
    fn voices_of(&self, strike: &ExpectedStrike, inner_lines: bool) -> Vec<(i16, f64, f64)> {
        let (from, to) = (strike.start_ticks, strike.end_ticks);
        let Some(voices) = &self.voices[strike.change] else {
            return Vec::new();
        };
        let first = &voices.first;
        let moved = match &voices.moved {
            Some(moved) if inner_lines => moved,
            _ => first,
        };
        let middle = middle(strike.change_ticks).clamp(from, to);
        let firsts = first.iter().map(|key| {
            let end = if moved.contains(key) { to } else { middle };
            (*key, from, end)
        });
        let new = moved.iter().filter(|key| !first.contains(key));
        firsts.chain(new.map(|key| (*key, middle, to))).collect()
    }
}

/// Where an inner line moves within a change.
fn middle((start, end): (u32, u32)) -> f64 {
    let length = end - start;
    let half = f64::from(length) / 2.0;
    let half = if length >= 2 * QUARTER {
        (half / f64::from(QUARTER)).ceil() * f64::from(QUARTER)
    } else {
        half
    };
    f64::from(start) + half
}

/// The strikes of a pattern on a held root: a single chord without end, in bars of the song from
/// its start.
#[must_use]
pub fn strikes_on_a_root(
    comping: &RhythmSettings,
    meter: Meter,
    tempo_bpm: f64,
    until_ticks: f64,
) -> Vec<ExpectedStrike> {
    let mut sheet = ExpectedBars::of(
        &Oracle::new(&format!("{meter} | C6 |")).chart,
        true,
        until_ticks,
    );
    let end = sheet.bars.last().map_or(0, PatternBar::end);
    let turn = ChordSpan {
        change: 0,
        start: 0,
        end,
        silent: false,
    };
    sheet.turns = vec![turn];
    let pattern = RhythmSettings {
        anticipation: false,
        ..comping.clone()
    };
    struck(&sheet, &pattern, tempo_bpm)
}

/// The first and last sample of a strike in a performance that plays from a
/// song's start.
#[must_use]
pub fn samples_of(strike: &ExpectedStrike, play: &EvenPlay) -> (u64, u64) {
    (
        play.sample_of(strike.start_ticks, 0.0),
        play.sample_of(strike.end_ticks, 0.0),
    )
}

fn keys_of(voicing: &Voicing) -> Vec<i16> {
    voicing.notes().map(|note| note.number().into()).collect()
}

#[cfg(test)]
mod tests;
