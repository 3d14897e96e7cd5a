//! The chart, in time with the host. A key below the split may have to be held for it to sound, or
//! strikes its chords. Imports `gesture`, `source` and `struck`, and the parts of the engine.

use super::gesture::Gesture;
use super::source::ChordSource;
use super::struck::{Playing, Struck};
use crate::engine::block::{Block, RhythmBars, Timing};
use crate::engine::hand::{Hand, HeldKey};
use crate::engine::intent::{ChordEvent, Intent, chart_key};
use crate::engine::parts::Now;
use crate::engine::planned::PlannedChart;
use crate::engine::rhythm::{ChordSpan, Rhythm, Strike};
use crate::engine::settings::Settings;
use guidehand_theory::comping::Agreeing;
use guidehand_theory::pipeline::ChordInKey;
use guidehand_theory::under::Harmony;

/// The chart.
#[derive(Debug, Default)]
pub struct ChartSource {
    hand: Hand,
    /// The key that opened the gate, until no key is held.
    gate_key: Option<HeldKey>,
    gesture: Gesture,
    struck: Struck,
}

/// Whether the player strikes the chords.
fn by_hand(settings: &Settings) -> bool {
    settings.groove.rhythm == Rhythm::Played
}

/// Adds the inner line of a chord, if lines are wanted: it is under way, or still to come. A line that
/// the right hand speaks against does not begin.
fn with_line(mut chord: ChordEvent, span: &ChordSpan, now: &Now) -> Intent {
    if !now.settings().chart.inner_lines {
        return Intent::Sound(chord);
    }
    let length = span.end_ticks - span.start_ticks;
    let line = now.context.song.and_then(|song| {
        let chord = (&chord.placed, &chord.voiced);
        song.inner_line(span.change, chord, length)
    });
    if let Some((at, after)) = line {
        let at = span.start_ticks + at;
        if now.place().is_some_and(|place| place >= at) {
            let before = &chord.voiced.voicing;
            if now.may_go(before, &after, &chord.placed.chord) {
                chord.voiced.voicing = after;
            }
        } else {
            chord.line = Some((at, after));
        }
    }
    Intent::Sound(chord)
}

/// Which playing of which change a span is.
const fn place_of(span: &ChordSpan) -> (Playing, usize) {
    (Playing::of_span(span.start_ticks), span.change)
}

impl ChartSource {
    /// The channel and velocity of the chord; none while no key lets it sound.
    fn key(&self, settings: &Settings) -> Option<HeldKey> {
        if settings.chart.gate {
            return self.hand.root().or(self.gate_key);
        }
        Some(chart_key(settings))
    }

    /// The chord of a place in the chart, as it sounds when it is struck now, or goes on.
    fn voiced(
        &mut self,
        span: &ChordSpan,
        struck: bool,
        now: &Now,
    ) -> Option<(ChordInKey, Agreeing)> {
        self.struck.charted(place_of(span), struck, now)
    }

    /// The player strikes the chart's chord of the moment.
    fn sound_by_hand(&mut self, now: &Now) -> Intent {
        let span = now.span_to_strike();
        let chord = span.and_then(|span| Some((span, self.voiced(&span, true, now)?)));
        match (chord, self.hand.root()) {
            (Some((span, chord)), Some(key)) => {
                with_line(ChordEvent::held(chord, key, true), &span, now)
            }
            _ => Intent::Release,
        }
    }
}

impl ChordSource for ChartSource {
    fn timing(&self, block: &Block, _song: Option<&PlannedChart>) -> Timing {
        let bars = if by_hand(block.settings) {
            RhythmBars::None
        } else {
            RhythmBars::Chart
        };
        Timing {
            counts_from_chart: true,
            bars,
            ..Timing::default()
        }
    }

    fn leave(&mut self) {
        *self = ChartSource::default();
    }

    fn begin_block(&mut self, now: &Now) -> Intent {
        if now.context.clock.jumped {
            self.struck.forget();
        }
        Intent::Hold
    }

    fn key_down(&mut self, key: HeldKey, now: &Now) -> Intent {
        let settings = now.settings();
        let by_keys = settings.chart.gate || by_hand(settings);
        if !by_keys || !now.is_left_hand(key.key) {
            return Intent::Pass;
        }
        let begins = self.hand.press(key, now.samples(), now.together_samples());
        self.gate_key = self.gate_key.or(Some(key));
        self.gesture.press(begins);
        Intent::Hold
    }

    fn key_up(&mut self, channel: u8, key: u8, now: &Now) {
        let (settings, held) = (now.settings(), now.held());
        let gate_open = held.any();
        let released = if by_hand(settings) {
            // What the hand strikes it also holds, to the last key of the gesture.
            let of_it = |k: HeldKey| (k.channel, k.key) == (channel, key);
            let over = self.hand.keys().any(of_it) && !self.hand.keys().any(|k| held.is_down(k));
            if over {
                self.hand.clear();
            }
            over
        } else {
            self.hand.release(channel, key);
            settings.chart.gate && !gate_open
        };
        if released {
            self.gesture = Gesture::Released;
        }
        if !gate_open {
            self.gate_key = None;
        }
    }

    fn settle(&mut self, now: &Now) -> Intent {
        match std::mem::take(&mut self.gesture) {
            Gesture::None => Intent::Hold,
            Gesture::Released => Intent::Release,
            Gesture::Struck if by_hand(now.settings()) => self.sound_by_hand(now),
            Gesture::Joined if by_hand(now.settings()) => Intent::Hold,
            // The gate has opened.
            Gesture::Struck | Gesture::Joined if !now.sounds() => Intent::Rejoin { struck: true },
            Gesture::Struck | Gesture::Joined => Intent::Hold,
        }
    }

    fn play(&mut self, strike: &Strike, struck: bool, now: &Now) -> Intent {
        let settings = now.settings();
        let chord = self.voiced(&strike.span, struck, now);
        match chord.zip(self.key(settings)) {
            Some((chord, key)) => {
                let chord = ChordEvent::of_strike(chord, key, strike, struck);
                with_line(chord, &strike.span, now)
            }
            None => Intent::Release,
        }
    }

    fn play_anew(&mut self, now: &Now) -> Intent {
        if !now.sounds() {
            Intent::Hold
        } else if by_hand(now.settings()) {
            self.sound_by_hand(now)
        } else {
            Intent::Rejoin { struck: false }
        }
    }

    fn in_force(&self, now: &Now) -> Option<Harmony> {
        self.struck.in_chart(place_of(&now.span_to_strike()?), now)
    }

    fn forget_place(&mut self) {
        self.struck.forget();
    }

    fn shows_chart(&self, _settings: &Settings) -> bool {
        true
    }
}
