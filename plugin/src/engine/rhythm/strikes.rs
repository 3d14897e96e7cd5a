//! The strikes of one bar: the places of the pattern, the chords that they play, and how swing,
//! density, variation and touch change them. Imports the other files of `rhythm` and `ticks`.

use super::bar::{ChordSpan, ChordSpans, LONGEST_TICKS, PlayedBar};
use super::chance::chance;
use super::form;
use super::groove::Groove;
use super::pattern::Rhythm;
use super::strike::Strike;
use super::variation::{self, Stands};
use crate::engine::ticks::{EIGHTH_TICKS, QUARTER_TICKS};
use tinyvec::ArrayVec;

/// The longest bar has 64 eighths, and a bar holds 16 chords at most.
const MOST: usize = 80;

/// How long a chord sounds that the pattern leaves out, in eighths. One that comes before its time
/// sounds so long in its own.
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
    /// Its loudness without touch.
    loudness: f64,
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
            let place_ticks = form::on_change(groove, before, span);
            if place_ticks >= bar.start_ticks && place_ticks < bar.end_ticks() && !span.silent {
                let within = (span.end_ticks - span.start_ticks) * groove.length.min(1.0);
                let in_bar = place_ticks - bar.start_ticks;
                let stands = variation::stands(bar, in_bar, place_ticks < span.start_ticks);
                let accent = i8::from(groove.rhythm == Rhythm::Push);
                let loudness = accented(groove, accent);
                self.add(Hit {
                    place_ticks,
                    length_ticks: span.start_ticks - place_ticks + within,
                    loudness: variation::vary(groove, bar, in_bar, stands, loudness).loudness,
                    span: *span,
                    first: true,
                });
            }
            before = Some(span);
        }
    }

    /// Puts a chord on each place of the pattern. A chord that comes before its time sounds into
    /// it, and is not struck again where it starts.
    fn on_the_pattern(&mut self, bar: &PlayedBar, spans: &ChordSpans, groove: &Groove) {
        let mut brought = form::brought_before(bar, spans, groove);
        for cell in form::cells(bar, spans, groove) {
            let place_ticks = bar.start_ticks + cell.place_ticks();
            let coming = form::coming(bar, spans, groove, cell.place_ticks());
            let stands = variation::stands(bar, cell.place_ticks(), coming.is_some());
            let loudness = accented(groove, cell.accent);
            let varied = variation::vary(groove, bar, cell.place_ticks(), stands, loudness);
            let length = groove.length * varied.length;
            let (span, length_ticks) = if let Some(coming) = coming {
                let before = coming.start_ticks - place_ticks;
                let within = LEFT_OUT_EIGHTHS * EIGHTH_TICKS * length;
                (*coming, before + within)
            } else {
                let length_ticks = f64::from(cell.length) * EIGHTH_TICKS * length;
                let Some(span) = sounding(spans, place_ticks) else {
                    continue;
                };
                let again = brought.is_some_and(|brought| brought.start_ticks == span.start_ticks);
                if again && span.start_ticks == place_ticks {
                    continue;
                }
                (span, length_ticks)
            };
            brought = coming.copied().or(brought);
            self.add(Hit {
                place_ticks,
                length_ticks: length_ticks.min(LONGEST_TICKS),
                loudness: varied.loudness,
                span,
                first: false,
            });
        }
    }

    /// Puts a chord where a change starts that the pattern leaves out.
    fn on_what_is_left_out(&mut self, bar: &PlayedBar, spans: &ChordSpans, groove: &Groove) {
        let brought = form::brought_before(bar, spans, groove);
        for span in spans {
            let starts = span.start_ticks >= bar.start_ticks && span.start_ticks < bar.end_ticks();
            let played = |hit: &Hit| hit.span.start_ticks == span.start_ticks;
            if !starts
                || span.silent
                || self.hits.iter().any(played)
                || brought.is_some_and(|brought| brought.start_ticks == span.start_ticks)
            {
                continue;
            }
            let in_bar = span.start_ticks - bar.start_ticks;
            let stands = variation::stands(bar, in_bar, false);
            self.add(Hit {
                place_ticks: span.start_ticks,
                length_ticks: LEFT_OUT_EIGHTHS * EIGHTH_TICKS * groove.length,
                loudness: variation::vary(groove, bar, in_bar, stands, 1.0).loudness,
                span: *span,
                first: false,
            });
        }
        self.sort();
    }

    /// Marks the first hit of each chord.
    fn mark_the_first(&mut self, bar: &PlayedBar, spans: &ChordSpans, groove: &Groove) {
        let brought = form::brought_before(bar, spans, groove);
        let mut last = brought.map(|brought| brought.start_ticks);
        for hit in &mut self.hits {
            let start = hit.span.start_ticks;
            hit.first = last != Some(start) && start >= bar.start_ticks;
            last = Some(start);
        }
    }

    /// Puts short, soft chords on some of the eighths that have none. A chord that has come before
    /// its time sounds into it first.
    fn fill(&mut self, bar: &PlayedBar, spans: &ChordSpans, groove: &Groove) {
        let brought = form::brought_before(bar, spans, groove);
        let mut eighth = 0.0;
        while eighth * EIGHTH_TICKS < bar.length_ticks() {
            let from = bar.start_ticks + eighth * EIGHTH_TICKS;
            let cell = from..from + EIGHTH_TICKS;
            let free = !self.hits.iter().any(|hit| cell.contains(&hit.place_ticks));
            let starts = |span: &ChordSpan| cell.contains(&span.start_ticks);
            let early = |hit: &Hit| hit.place_ticks < hit.span.start_ticks && starts(&hit.span);
            let came_early = brought.as_ref().is_some_and(starts) || self.hits.iter().any(early);
            if free
                && !came_early
                && chance(groove, bar, from).density < groove.density / 2.0
                && let Some(span) = sounding(spans, from)
            {
                let in_bar = from - bar.start_ticks;
                let loudness = accented(groove, -1);
                let varied = variation::vary(groove, bar, in_bar, Stands::Added, loudness);
                self.add(Hit {
                    place_ticks: from,
                    length_ticks: EIGHTH_TICKS * groove.length * varied.length,
                    loudness: varied.loudness,
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
                loudness: hit.loudness,
                touch: chance.velocity * groove.touch_velocity,
            });
        }
    }
}

/// The loudness of an accent of the pattern.
fn accented(groove: &Groove, accent: i8) -> f64 {
    1.0 + ACCENT * f64::from(accent) * groove.accents
}

/// The chord in force at a position; none in silence.
fn sounding(spans: &ChordSpans, at_ticks: f64) -> Option<ChordSpan> {
    let here = |span: &&ChordSpan| span.start_ticks <= at_ticks && at_ticks < span.end_ticks;
    spans.iter().find(here).filter(|span| !span.silent).copied()
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
