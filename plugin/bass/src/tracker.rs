//! The monophonic pitch tracker. Imports `bank`, `front`, `tuning` and `verdict`.
//!
//! A hop is 5 ms. The window of a hop reaches back to the last onset and no further, so that what
//! rang before it does not blur the new note, and at most 75 ms. A note is believed when it leads
//! by enough and the window holds enough of its periods.

use crate::bank::{Bank, HALF_LIMIT, PITCHES, Scores};
use crate::front::{Front, Slow};
use crate::tuning::{Reference, Tuning};
use crate::verdict::{Leader, Verdict, cents_within};

/// The lowest note that is heard: B0, 31 Hz.
pub const LOWEST: u8 = 23;
/// The highest note that is heard: G4, 392 Hz.
pub const HIGHEST: u8 = 67;

/// Slow samples in a hop.
const HOP: usize = 15;
const HOP_SAMPLES: u16 = 15;
/// The windows, in ms.
const WINDOWS_MS: [f64; 9] = [15.0, 20.0, 25.0, 30.0, 36.0, 43.0, 52.0, 62.0, 75.0];
/// Windows are cut to whole samples; this much may be missing, in ms.
const ROUNDING_MS: f32 = 0.6;
/// Slow samples that are kept.
const KEPT: usize = 2 * HALF_LIMIT;
/// Slow samples that the level is taken over.
const LEVEL_SAMPLES: usize = 60;
/// Hops whose level an onset is told by.
const RECENT: usize = 6;

/// What decides, and where from.
mod rule {
    /// Rise of the whitened level that is an onset, in dB.
    pub(super) const ONSET_RISE_DB: f32 = 5.0;
    /// Hops after an onset in which only a louder one counts.
    pub(super) const ONSET_HOLD_HOPS: u32 = 13;
    /// How much louder, in dB.
    pub(super) const ONSET_LOUDER_DB: f32 = 3.0;
    /// What is kept of the old scores at an onset.
    pub(super) const KEPT_AT_ONSET: f32 = 0.1;
    /// What is kept of the old scores from hop to hop.
    pub(super) const KEPT_BY_HOP: f32 = 0.3;
    /// The lead that is enough.
    pub(super) const LEAD: f32 = 8.0;
    /// What a new note must be ahead of the one that sounds.
    pub(super) const LEAD_OVER_HEARD: f32 = 8.0;
    /// A score that noise does not reach.
    pub(super) const PITCHED: f32 = 13.0;
    /// Hops below half of that, after which a note has ended.
    pub(super) const UNPITCHED_HOPS: u32 = 10;
    /// Periods of a note that a window must hold.
    pub(super) const PERIODS: f32 = 1.5;
    /// A note starts from silence only so long after an onset, in ms.
    pub(super) const ARMED_MS: f32 = 150.0;
    /// No note starts this far below the loudest of late, in dB.
    pub(super) const QUIET_DB: f32 = 20.0;
    /// A note ends so much further below, in dB.
    pub(super) const HYSTERESIS_DB: f32 = 14.0;
    /// How fast the loudest is forgotten, in dB a hop.
    pub(super) const FORGET_DB: f32 = 0.04;
    /// Time after an onset in which every hop is looked at, in ms.
    pub(super) const LIVELY_MS: f32 = 110.0;
    /// Time after an onset from which a window holds nothing but one note at its full length, in ms.
    pub(super) const SETTLED_MS: f32 = 80.0;
    /// Time after an onset from which its note may have been struck again, in ms.
    pub(super) const RESTRIKE_MS: f32 = 24.0;
    /// Rise of the flat level that tells a note struck again from a drum, in dB.
    pub(super) const RESTRIKE_DB: f32 = 5.0;
    /// Later, one hop in so many.
    pub(super) const CALM_HOPS: u32 = 3;
}

/// A note as it was heard.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heard {
    /// MIDI number, 23 to 67.
    pub note: u8,
    /// Cents above the note by the tuning reference, -50 to 50.
    pub cents: f32,
    /// 0 to 1.
    pub confidence: f32,
    /// Level in dB; a sine at full scale has -3.
    pub level_db: f32,
}

/// What the tracker has to tell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Event {
    /// A note started, or was struck again. It takes the place of the note before.
    On {
        /// The note.
        heard: Heard,
        /// When it was known, in samples pushed since the start.
        at_samples: u64,
        /// When it was struck, in samples pushed since the start.
        struck_samples: u64,
    },
    /// The note ended, and none took its place.
    Off {
        /// When it was known, in samples pushed since the start.
        at_samples: u64,
    },
}

/// What a panel shows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct State {
    /// The note that sounds.
    pub heard: Option<u8>,
    /// Cents above it, -50 to 50.
    pub cents: f32,
    /// Level in dB, from -120.
    pub level_db: f32,
    /// 0 to 1; 0 when nothing sounds.
    pub confidence: f32,
    /// The tuning reference, 430 to 450 Hz.
    pub a4_hz: f32,
}

/// Listens to a bass.
#[derive(Clone, Debug)]
pub struct Tracker {
    front: Front,
    banks: Vec<(f32, Bank)>,
    tuning: Tuning,
    gate_db: f32,
    hop_ms: f32,
    /// Samples pushed since the start.
    now_samples: u64,
    hop: u32,
    /// The last slow samples, the newest last.
    white: [f32; KEPT],
    flat: [f32; LEVEL_SAMPLES],
    filled: usize,
    scores: Scores,
    ear: Ear,
}

/// What is known from hop to hop.
#[derive(Clone, Copy, Debug)]
struct Moment {
    heard: Option<Heard>,
    /// Hops since the last onset.
    since: u32,
    /// The loudest whitened hop since then, in dB.
    loudest_db: f32,
    /// The loudest flat level of late, in dB.
    top_db: f32,
    unpitched: u32,
    /// Whitened levels of the last hops, the newest last, in dB.
    levels_db: [f32; RECENT],
    level_db: f32,
    struck_samples: u64,
    /// The flat level before the last onset, in dB, while its note may have been struck again.
    before_db: Option<f32>,
    /// The tuning has learnt from the note that sounds.
    learnt: bool,
}

#[derive(Clone, Debug)]
struct Ear {
    moment: Moment,
    verdict: Verdict,
}

const SILENT: Moment = Moment {
    heard: None,
    since: 10_000,
    loudest_db: FLOOR_DB,
    top_db: FLOOR_DB,
    unpitched: 0,
    levels_db: [FLOOR_DB; RECENT],
    level_db: FLOOR_DB,
    struck_samples: 0,
    before_db: None,
    learnt: false,
};

/// The lowest level that is told.
const FLOOR_DB: f32 = -120.0;
/// The gate of a new tracker, in dB.
const GATE_DB: f32 = -60.0;

impl Tracker {
    /// A tracker for a sample rate, held between 8 and 768 kHz. This allocates and computes for
    /// some tens of milliseconds; nothing after it allocates.
    #[must_use]
    pub fn new(rate_hz: f32) -> Tracker {
        let rate_hz = if rate_hz.is_finite() {
            rate_hz.clamp(8_000.0, 768_000.0)
        } else {
            48_000.0
        };
        let front = Front::new(rate_hz);
        let slow_hz = front.slow_hz();
        let bank = |ms: f64| (narrow(ms), Bank::new(ms, slow_hz));
        Tracker {
            banks: WINDOWS_MS.into_iter().map(bank).collect(),
            tuning: Tuning::new(Reference::Hand(440.0)),
            gate_db: GATE_DB,
            hop_ms: 1000.0 * f32::from(HOP_SAMPLES) / narrow(slow_hz),
            front,
            now_samples: 0,
            hop: 0,
            white: [0.0; KEPT],
            flat: [0.0; LEVEL_SAMPLES],
            filled: 0,
            scores: [0.0; PITCHES],
            ear: Ear {
                moment: SILENT,
                verdict: Verdict::new(),
            },
        }
    }

    /// Sets the tuning reference. Forgets what was measured.
    pub fn set_reference(&mut self, reference: Reference) {
        self.tuning = Tuning::new(reference);
    }

    /// Sets the level below which nothing is heard, in dB; held between -90 and -6.
    pub fn set_gate_db(&mut self, gate_db: f32) {
        if gate_db.is_finite() {
            self.gate_db = gate_db.clamp(-90.0, -6.0);
        }
    }

    /// Forgets what was heard; settings stay. Sample times start again from 0.
    pub fn reset(&mut self) {
        self.front.reset();
        self.now_samples = 0;
        self.hop = 0;
        self.white = [0.0; KEPT];
        self.flat = [0.0; LEVEL_SAMPLES];
        self.filled = 0;
        self.ear.moment = SILENT;
        self.ear.verdict = Verdict::new();
    }

    /// Takes in a block of any size and tells what was heard in it, in order. The result does not
    /// depend on how the sound is cut into blocks.
    pub fn push(&mut self, mono: &[f32], heard: &mut impl FnMut(Event)) {
        for sample in mono {
            self.now_samples += 1;
            if let Some(slow) = self.front.next(*sample)
                && self.keep(slow)
            {
                self.hear(heard);
            }
        }
    }

    /// What a panel shows.
    #[must_use]
    pub fn state(&self) -> State {
        let moment = &self.ear.moment;
        State {
            heard: moment.heard.map(|h| h.note),
            cents: moment.heard.map_or(0.0, |h| h.cents),
            confidence: moment.heard.map_or(0.0, |h| h.confidence),
            level_db: moment.level_db,
            a4_hz: self.tuning.a4_hz(),
        }
    }

    /// Keeps a slow sample; tells whether it was the last of its hop.
    fn keep(&mut self, slow: Slow) -> bool {
        if self.filled == 0 {
            self.white.rotate_left(HOP);
            self.flat.rotate_left(HOP);
        }
        let left = HOP - self.filled;
        let (white, flat) = (KEPT - left, LEVEL_SAMPLES - left);
        if let (Some(w), Some(f)) = (self.white.get_mut(white), self.flat.get_mut(flat)) {
            *w = slow.white;
            *f = slow.flat;
        }
        self.filled = (self.filled + 1) % HOP;
        self.filled == 0
    }

    /// One hop.
    fn hear(&mut self, tell: &mut impl FnMut(Event)) {
        self.hop = self.hop.wrapping_add(1);
        let moment = &mut self.ear.moment;
        let fresh = self.white.get(KEPT - HOP..).unwrap_or_default();
        let white_db = level_db(fresh);
        let before_db = moment.level_db;
        moment.level_db = level_db(&self.flat);
        moment.top_db = moment.level_db.max(moment.top_db - rule::FORGET_DB);
        let depth = rule::QUIET_DB + moment.heard.map_or(0.0, |_| rule::HYSTERESIS_DB);
        let quiet = moment.level_db < self.gate_db.max(moment.top_db - depth);
        self.onset(white_db, before_db, quiet);
        if quiet {
            self.ear.verdict.fade(0.0);
            self.end(tell);
            return;
        }
        let since_ms = self.since_ms();
        let calm = since_ms > rule::LIVELY_MS && !self.hop.is_multiple_of(rule::CALM_HOPS);
        let fits = |(ms, _): &&(f32, Bank)| *ms <= since_ms + ROUNDING_MS;
        let bank = self.banks.iter().rev().find(fits);
        if let Some((_, bank)) = bank.filter(|_| !calm)
            && bank.score(&self.white, &mut self.scores)
        {
            self.ear.verdict.fade(rule::KEPT_BY_HOP);
            let shift = self.tuning.shift_cents();
            self.ear.verdict.add(&self.scores, shift);
            if let Some(leader) = self.ear.verdict.leader() {
                self.judge(leader, tell);
            }
        }
    }

    fn since_ms(&self) -> f32 {
        let hops = u16::try_from(self.ear.moment.since.saturating_add(1)).unwrap_or(u16::MAX);
        f32::from(hops) * self.hop_ms
    }

    /// Looks for an onset in the newest hop.
    fn onset(&mut self, white_db: f32, before_db: f32, quiet: bool) {
        let moment = &mut self.ear.moment;
        moment.since = moment.since.saturating_add(1);
        let before = moment.levels_db.iter().take(RECENT - 1);
        let lowest_db = before.fold(f32::MAX, |a, b| a.min(*b));
        let due = moment.since >= rule::ONSET_HOLD_HOPS
            || white_db > moment.loudest_db + rule::ONSET_LOUDER_DB;
        if !quiet && due && white_db - lowest_db > rule::ONSET_RISE_DB {
            // It may have come late in the hop before, where it was too short to show.
            moment.since = 1;
            moment.loudest_db = white_db;
            moment.before_db = moment.heard.map(|_| before_db);
            let span = u64::from(HOP_SAMPLES) * u64::from(self.front.step());
            moment.struck_samples = self.now_samples.saturating_sub(span);
            self.ear.verdict.fade(rule::KEPT_AT_ONSET);
        }
        let moment = &mut self.ear.moment;
        moment.loudest_db = moment.loudest_db.max(white_db);
        moment.levels_db.rotate_left(1);
        if let Some(last) = moment.levels_db.last_mut() {
            *last = white_db;
        }
    }

    /// Decides what the leader means for the note that sounds.
    fn judge(&mut self, leader: Leader, tell: &mut impl FnMut(Event)) {
        let since_ms = self.since_ms();
        let moment = &mut self.ear.moment;
        let heard = moment.heard.map(|h| h.note);
        if heard == Some(leader.note) {
            moment.unpitched = 0;
            self.follow(leader, tell);
            return;
        }
        if leader.score < rule::PITCHED {
            moment.unpitched += 1;
            if moment.unpitched >= rule::UNPITCHED_HOPS && leader.score < 0.5 * rule::PITCHED {
                self.end(tell);
            }
            return;
        }
        moment.unpitched = 0;
        let armed = since_ms < rule::ARMED_MS;
        let in_range = (LOWEST..=HIGHEST).contains(&leader.note);
        let period_ms = 1000.0 / frequency_hz(leader.note);
        let long_enough = since_ms + ROUNDING_MS >= rule::PERIODS * period_ms;
        let ahead = heard.is_none_or(|note| {
            let score = self.ear.verdict.score(note).unwrap_or(0.0);
            leader.score - score > rule::LEAD_OVER_HEARD
        });
        let led = leader.lead > rule::LEAD;
        if in_range && long_enough && ahead && led && (armed || heard.is_some()) {
            self.start(leader, armed, tell);
        }
    }

    /// The note that sounds goes on, or is struck again.
    fn follow(&mut self, leader: Leader, tell: &mut impl FnMut(Event)) {
        let since_ms = self.since_ms();
        let cents = cents_within(leader.note, &self.scores, self.tuning.shift_cents());
        let moment = &mut self.ear.moment;
        if let Some(heard) = &mut moment.heard {
            heard.cents = cents;
            heard.confidence = confidence(leader);
            heard.level_db = moment.level_db;
        }
        if since_ms > rule::SETTLED_MS && !moment.learnt && leader.lead > rule::LEAD {
            moment.learnt = true;
            self.tuning.hear(cents);
        }
        let louder = |before_db: f32| moment.level_db > before_db + rule::RESTRIKE_DB;
        if since_ms > rule::RESTRIKE_MS && moment.before_db.is_some_and(louder) {
            self.start(leader, true, tell);
        }
    }

    fn start(&mut self, leader: Leader, armed: bool, tell: &mut impl FnMut(Event)) {
        let cents = cents_within(leader.note, &self.scores, self.tuning.shift_cents());
        let moment = &mut self.ear.moment;
        let heard = Heard {
            note: leader.note,
            cents,
            confidence: confidence(leader),
            level_db: moment.level_db,
        };
        moment.heard = Some(heard);
        moment.before_db = None;
        moment.learnt = false;
        tell(Event::On {
            heard,
            at_samples: self.now_samples,
            struck_samples: if armed {
                moment.struck_samples
            } else {
                self.now_samples
            },
        });
    }

    /// The note that sounds, if any, has ended.
    fn end(&mut self, tell: &mut impl FnMut(Event)) {
        let moment = &mut self.ear.moment;
        moment.unpitched = 0;
        if moment.heard.take().is_some() {
            tell(Event::Off {
                at_samples: self.now_samples,
            });
        }
    }
}

fn confidence(leader: Leader) -> f32 {
    let lead = leader.lead.max(0.0);
    lead / (lead + rule::LEAD)
}

fn frequency_hz(note: u8) -> f32 {
    440.0 * ((f32::from(note) - 69.0) / 12.0).exp2()
}

/// The level of some samples, in dB, from the floor up.
fn level_db(samples: &[f32]) -> f32 {
    let count = f32::from(u16::try_from(samples.len().max(1)).unwrap_or(u16::MAX));
    let power = samples.iter().map(|s| s * s).sum::<f32>() / count;
    (10.0 * (power + 1e-14).log10()).max(FLOOR_DB)
}

#[expect(clippy::cast_possible_truncation, reason = "milliseconds and hertz")]
fn narrow(x: f64) -> f32 {
    x as f32
}
