//! The strikes of one bar: the places of the pattern, the chords that they play, and how swing,
//! density and touch change them. Imports the other files of `rhythm`, `clock` and `ticks`.

use super::bar::{ChordSpan, ChordSpans, PlayedBar, is_off_beat};
use super::groove::Groove;
use super::pattern::Rhythm;
use super::strike::Strike;
use super::styles;
use crate::engine::clock;
use crate::engine::ticks::{EIGHTH_TICKS, QUARTER_TICKS};
use fastrand::Rng;
use tinyvec::ArrayVec;

/// The longest bar has 64 eighths, and a bar holds 16 chords at most.
const MOST: usize = 80;

/// How long a chord sounds that the pattern leaves out, in eighths.
const LEFT_OUT_EIGHTHS: f64 = 2.0;

/// How much louder an accent of one is, at full accents.
const ACCENT: f64 = 0.12;

/// The shortest strike, in ticks, unless its chord ends earlier.
const LEAST_TICKS: f64 = 30.0;

/// A place in the bar before swing and touch.
#[derive(Clone, Copy, Debug, Default)]
struct Hit {
    /// Ticks of the performance.
    place_ticks: f64,
    length_ticks: f64,
    accent: i8,
    span: ChordSpan,
    /// It is the first one of its chord, and so is never thinned out.
    first: bool,
}

/// The strikes of a bar, in order. The value is large, so its owner keeps one and works out every
/// bar in it.
#[derive(Debug, Default)]
pub struct Strikes {
    hits: ArrayVec<[Hit; MOST]>,
    strikes: ArrayVec<[Strike; MOST]>,
}

impl Strikes {
    /// The strikes in order.
    #[must_use]
    pub fn as_slice(&self) -> &[Strike] {
        self.strikes.as_slice()
    }

    /// Empties the bar.
    pub fn clear(&mut self) {
        self.strikes.clear();
    }

    /// Works out the strikes of a bar at a tempo. Bounded, without allocation.
    pub fn work_out(&mut self, bar: &PlayedBar, spans: &ChordSpans, groove: &Groove, bpm: f64) {
        self.hits.clear();
        match groove.rhythm {
            Rhythm::Played => {}
            Rhythm::Hold | Rhythm::Push => self.on_changes(bar, spans, groove),
            _ => {
                self.on_the_pattern(bar, spans, groove);
                self.on_what_is_left_out(bar, spans, groove);
                self.mark_the_first(bar, spans, groove);
            }
        }
        if groove.density > 0.0 {
            self.fill(bar, spans, groove);
        }
        self.finish(bar, groove, bpm);
    }

    fn add(&mut self, hit: Hit) {
        // `MOST` covers the fullest bar, so nothing is left out here.
        let _full = self.hits.try_push(hit);
    }

    fn sort(&mut self) {
        self.hits
            .sort_unstable_by(|a, b| a.place_ticks.total_cmp(&b.place_ticks));
    }

    /// Puts a chord on each change, or an eighth before it.
    fn on_changes(&mut self, bar: &PlayedBar, spans: &ChordSpans, groove: &Groove) {
        let mut before: Option<&ChordSpan> = None;
        for span in spans {
            let early = groove.rhythm == Rhythm::Push && before.is_some_and(leaves_room);
            let place_ticks = if early {
                span.start_ticks - EIGHTH_TICKS
            } else {
                span.start_ticks
            };
            if place_ticks >= bar.start_ticks && place_ticks < bar.end_ticks() && !span.silent {
                self.add(Hit {
                    place_ticks,
                    length_ticks: (span.end_ticks - place_ticks) * groove.length.min(1.0),
                    accent: i8::from(groove.rhythm == Rhythm::Push),
                    span: *span,
                    first: true,
                });
            }
            before = Some(span);
        }
    }

    /// Puts a chord on each place of the pattern.
    fn on_the_pattern(&mut self, bar: &PlayedBar, spans: &ChordSpans, groove: &Groove) {
        for cell in styles::cells(groove.rhythm, groove.drawn, bar.nth, bar.meter) {
            let place = cell.place_ticks();
            if let Some(span) = span_played(bar, spans, groove, place) {
                self.add(Hit {
                    place_ticks: bar.start_ticks + place,
                    length_ticks: f64::from(cell.length) * EIGHTH_TICKS * groove.length,
                    accent: cell.accent,
                    span,
                    first: false,
                });
            }
        }
    }

    /// Puts a chord where a change starts that the pattern leaves out.
    fn on_what_is_left_out(&mut self, bar: &PlayedBar, spans: &ChordSpans, groove: &Groove) {
        for (i, span) in spans.iter().enumerate() {
            let starts = span.start_ticks >= bar.start_ticks && span.start_ticks < bar.end_ticks();
            let played = |hit: &Hit| hit.span.start_ticks == span.start_ticks;
            let before = i.checked_sub(1).and_then(|i| spans.get(i));
            if !starts
                || span.silent
                || self.hits.iter().any(played)
                || taken_before(bar, before, span, groove)
            {
                continue;
            }
            self.add(Hit {
                place_ticks: span.start_ticks,
                length_ticks: LEFT_OUT_EIGHTHS * EIGHTH_TICKS * groove.length,
                accent: 0,
                span: *span,
                first: false,
            });
        }
        self.sort();
    }

    /// Marks the first hit of each chord.
    fn mark_the_first(&mut self, bar: &PlayedBar, spans: &ChordSpans, groove: &Groove) {
        let mut last: Option<f64> = None;
        for hit in &mut self.hits {
            let span = hit.span;
            let new = last != Some(span.start_ticks) && span.start_ticks >= bar.start_ticks;
            last = Some(span.start_ticks);
            let index = spans
                .iter()
                .position(|s| s.start_ticks == span.start_ticks)
                .and_then(|i| i.checked_sub(1));
            let before = index.and_then(|i| spans.get(i));
            hit.first = new && !taken_before(bar, before, &span, groove);
        }
    }

    /// Puts short, soft chords on some of the eighths that have none.
    fn fill(&mut self, bar: &PlayedBar, spans: &ChordSpans, groove: &Groove) {
        let mut eighth = 0.0;
        while eighth * EIGHTH_TICKS < bar.length_ticks() {
            let place = eighth * EIGHTH_TICKS;
            let from = bar.start_ticks + place;
            let cell = from..from + EIGHTH_TICKS;
            let free = !self.hits.iter().any(|hit| cell.contains(&hit.place_ticks));
            if free
                && chance(groove, bar, from).density < groove.density / 2.0
                && let Some(span) = span_played(bar, spans, groove, place)
            {
                self.add(Hit {
                    place_ticks: from,
                    length_ticks: EIGHTH_TICKS * groove.length,
                    accent: -1,
                    span,
                    first: false,
                });
            }
            eighth += 1.0;
        }
        self.sort();
    }

    /// Turns hits into strikes: thins and swings them, adds the touch, and ends each before the
    /// next one starts.
    fn finish(&mut self, bar: &PlayedBar, groove: &Groove, bpm: f64) {
        self.strikes.clear();
        let off_beat = groove.off_beat(bpm);
        let touch_ticks =
            (groove.touch_seconds * bpm / 60.0 * QUARTER_TICKS).clamp(0.0, bar.lead_ticks);
        let from = (bar.start_ticks - bar.lead_ticks).max(0.0);
        let until = bar.end_ticks() - bar.lead_ticks - 1.0;
        let mut earliest = if bar.number < 0 { f64::MIN } else { from };
        for hit in &self.hits {
            let chance = chance(groove, bar, hit.place_ticks);
            if !hit.first && chance.density < -groove.density {
                continue;
            }
            let moved = swing(bar, off_beat, hit.place_ticks) + touch_ticks * chance.time;
            let start_ticks = moved.min(until).max(earliest);
            let end_ticks = stretch(bar, off_beat, hit.place_ticks + hit.length_ticks)
                .max(start_ticks + LEAST_TICKS)
                .min(end_of(&hit.span, off_beat));
            // A strike without room keeps its place, but does not sound: the number of strikes
            // must not depend on the tempo.
            if end_ticks > start_ticks {
                earliest = start_ticks;
                if let Some(before) = self.strikes.last_mut() {
                    before.end_ticks = before.end_ticks.min(start_ticks);
                }
            }
            // There are at most as many strikes as hits.
            let _full = self.strikes.try_push(Strike {
                start_ticks,
                end_ticks,
                span: hit.span,
                loudness: 1.0 + ACCENT * f64::from(hit.accent) * groove.accents,
                touch: chance.velocity * groove.touch_velocity,
            });
        }
    }
}

/// Whether the chord after this one can come an eighth early.
fn leaves_room(span: &ChordSpan) -> bool {
    span.end_ticks - span.start_ticks >= QUARTER_TICKS
}

/// The span that a hit plays: the one in force at its place, or the coming one. There is none in
/// silence.
fn span_played(
    bar: &PlayedBar,
    spans: &ChordSpans,
    groove: &Groove,
    place: f64,
) -> Option<ChordSpan> {
    let at = bar.start_ticks + place;
    let after = spans.iter().position(|span| span.start_ticks > at);
    let after = after.unwrap_or(spans.len());
    let here = after
        .checked_sub(1)
        .and_then(|i| spans.get(i))
        .filter(|span| span.end_ticks > at);
    let coming = spans.get(after).filter(|span| {
        let near = span.start_ticks - at <= EIGHTH_TICKS;
        groove.ahead && near && !span.silent && is_off_beat(place, bar.meter)
    });
    // A hit on a change plays that change.
    let on_it = here.is_some_and(|span| span.start_ticks == at);
    let played = if on_it { here } else { coming.or(here) };
    played.filter(|span| !span.silent).copied()
}

/// Whether a hit in the bar before plays this span ahead of its time.
fn taken_before(
    bar: &PlayedBar,
    before: Option<&ChordSpan>,
    span: &ChordSpan,
    groove: &Groove,
) -> bool {
    let (Some(meter), Some(before)) = (bar.before, before) else {
        return false;
    };
    let start = bar.start_ticks - f64::from(meter.bar_ticks());
    let mut cells = styles::cells(groove.rhythm, groove.drawn, bar.nth - 1, meter);
    groove.ahead
        && !span.silent
        && cells.any(|cell| {
            let place = cell.place_ticks();
            let at = start + place;
            // Nothing else changes between the hit and the span.
            is_off_beat(place, meter)
                && before.start_ticks < at
                && span.start_ticks - at <= EIGHTH_TICKS
        })
}

/// Moves an off-beat eighth, if the meter of its bar is over quarters or halves.
fn swing(bar: &PlayedBar, off_beat: f64, ticks: f64) -> f64 {
    let in_beat = (ticks - bar.start_ticks).rem_euclid(QUARTER_TICKS);
    if bar.meter.unit <= 4 && in_beat == EIGHTH_TICKS {
        ticks + (off_beat - 0.5) * QUARTER_TICKS
    } else {
        ticks
    }
}

/// Where an end falls when the off-beats of its bar move: the first half of each beat is
/// stretched, and the second half shortened.
fn stretch(bar: &PlayedBar, off_beat: f64, ticks: f64) -> f64 {
    if bar.meter.unit > 4 {
        return ticks;
    }
    let in_beat = (ticks - bar.start_ticks).rem_euclid(QUARTER_TICKS) / QUARTER_TICKS;
    let moved = if in_beat < 0.5 {
        in_beat * 2.0 * off_beat
    } else {
        off_beat + (in_beat - 0.5) * 2.0 * (1.0 - off_beat)
    };
    ticks + (moved - in_beat) * QUARTER_TICKS
}

/// Where a chord is over: the latest place where the next one is struck.
fn end_of(span: &ChordSpan, off_beat: f64) -> f64 {
    let swung = if span.end_swings {
        (off_beat - 0.5) * QUARTER_TICKS
    } else {
        0.0
    };
    span.end_ticks + swung
}

/// Three random numbers for a place. They depend on the seed and the place alone.
struct Chance {
    /// 0 to 1.
    density: f64,
    /// -1 to 1.
    time: f64,
    /// -1 to 1.
    velocity: f64,
}

fn chance(groove: &Groove, bar: &PlayedBar, place_ticks: f64) -> Chance {
    if groove.density == 0.0 && groove.touch_seconds == 0.0 && groove.touch_velocity == 0.0 {
        return Chance {
            density: 1.0,
            time: 0.0,
            velocity: 0.0,
        };
    }
    // Odd numbers with well-spread bits, so that neighbouring places do not get similar numbers.
    const SEED: u64 = 0x9E37_79B9_7F4A_7C15;
    const BAR: u64 = 0xD1B5_4A32_D192_ED03;
    const EIGHTH: u64 = 0x8CB9_2BA7_2F3D_8DD7;
    let eighth = ((place_ticks - bar.start_ticks) / EIGHTH_TICKS).floor();
    let eighth = clock::whole(eighth).map_or(0, u64::from);
    let seed = u64::from(groove.seed).wrapping_mul(SEED)
        ^ bar.number.cast_unsigned().wrapping_mul(BAR)
        ^ eighth.wrapping_mul(EIGHTH);
    let mut rng = Rng::with_seed(seed);
    Chance {
        density: rng.f64(),
        time: 2.0 * rng.f64() - 1.0,
        velocity: 2.0 * rng.f64() - 1.0,
    }
}
