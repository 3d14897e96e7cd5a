//! The monophonic pitch tracker. Imports `cents`, `ear`, `model`, `tuning` and `verdict`.
//!
//! A hop is about 3.6 ms. All notes are scored at every hop for a while after an onset, and at one
//! hop in a few later. A note is accepted when its chance is high enough for the time since the
//! onset.

use crate::cents;
use crate::ear::{Ear, FLOOR_DB};
use crate::model::{Model, frequency_hz, tone_db};
use crate::tuning::{Reference, Tuning};
use crate::verdict::Leader;

/// The lowest note that is heard: B0, 31 Hz.
pub const LOWEST: u8 = 23;
/// The highest note that is heard: G4, 392 Hz.
pub const HIGHEST: u8 = 67;

/// The number of hops whose levels are kept. Together they are longer than the longest period,
/// within which the level of a hop rises and falls.
const RECENT: usize = 12;
/// This many of the last hops do not count as before an onset, because an onset may rise for that
/// long.
const RISING: usize = 3;

/// The thresholds of the decisions.
mod rule {
    /// The rise of the whitened level that makes an onset, in dB.
    pub(super) const ONSET_RISE_DB: f32 = 3.0;
    /// The number of hops after an onset in which only a louder onset counts.
    pub(super) const ONSET_HOLD_HOPS: u32 = 18;
    /// How much louder that onset must be, in dB.
    pub(super) const ONSET_LOUDER_DB: f32 = 8.0;
    /// The chance that a note needs soon after an onset, 0 to 1.
    pub(super) const SURE: f32 = 0.96;
    /// The chance that it needs later.
    pub(super) const SURE_LATE: f32 = 0.98;
    /// The chance that the octave below the sounding note needs: a drum fills the gaps between
    /// harmonics, as the octave below would.
    pub(super) const SURE_BELOW: f32 = 0.99;
    /// The score that a sound without a note does not reach.
    pub(super) const PITCHED: f32 = 2.0;
    /// The number of scores below 0 in a row that end a note.
    pub(super) const UNPITCHED_LOOKS: u32 = 8;
    /// The shortest time from an onset to the start of a note, in ms.
    pub(super) const SOONEST_MS: f32 = 18.0;
    /// The longest time after an onset in which a note may start from silence, in ms.
    pub(super) const ARMED_MS: f32 = 100.0;
    /// No note starts this far below the loudest recent sound, in dB.
    pub(super) const QUIET_DB: f32 = 20.0;
    /// A note ends this much further below, in dB.
    pub(super) const HYSTERESIS_DB: f32 = 14.0;
    /// How fast the level of the loudest recent sound falls, in dB a hop.
    pub(super) const FORGET_DB: f32 = 0.03;
    /// The time after an onset in which every hop is scored, in ms.
    pub(super) const LIVELY_MS: f32 = 100.0;
    /// The time after an onset from which only its note is left, in ms.
    pub(super) const SETTLED_MS: f32 = 125.0;
    /// The time after an onset from which its note may be struck again, in ms.
    pub(super) const RESTRIKE_MS: f32 = 50.0;
    /// The rise of a note's own harmonics that distinguishes a repeated note from a drum, in dB.
    pub(super) const RESTRIKE_DB: f32 = 4.0;
    /// Later, one hop in this many is scored.
    pub(super) const CALM_HOPS: u32 = 4;
}

/// A note as it was heard.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heard {
    /// MIDI number, 23 to 67.
    pub note: u8,
    /// Cents above the note by the tuning reference, -50 to 50. It is 0 until the value has
    /// settled.
    pub cents: f32,
    /// The confidence, 0 to 1.
    pub confidence: f32,
    /// The level in dB. A sine at full scale has -3 dB.
    pub level_db: f32,
}

/// What the tracker reports.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Event {
    /// A note started, or was struck again. It replaces the note before.
    On {
        /// The note.
        heard: Heard,
        /// When it was known, in samples pushed since the start.
        at_samples: u64,
        /// When it was struck, in samples pushed since the start.
        struck_samples: u64,
    },
    /// The note ended, and no other note replaced it.
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
    /// The confidence, 0 to 1. It is 0 when nothing sounds.
    pub confidence: f32,
    /// The tuning reference, 430 to 450 Hz.
    pub a4_hz: f32,
}

/// Listens to a bass.
#[derive(Clone, Debug)]
pub struct Tracker {
    ear: Ear,
    model: Model,
    tuning: Tuning,
    gate_db: f32,
    hop_ms: f32,
    /// Samples pushed since the start.
    now_samples: u64,
    hop: u32,
    moment: Moment,
}

/// The state that is kept from hop to hop.
#[derive(Clone, Copy, Debug)]
struct Moment {
    heard: Option<Heard>,
    /// Hops since the last onset.
    since: u32,
    /// The level of the loudest whitened hop since then, in dB.
    loudest_db: f32,
    /// The loudest recent flat level, in dB.
    top_db: f32,
    unpitched: u32,
    /// Whitened levels of the last hops, the newest last, in dB.
    levels_db: [f32; RECENT],
    level_db: f32,
    struck_samples: u64,
    /// The note that was heard last, and the level of its harmonics at that time, in dB.
    last: Option<(u8, f32)>,
    /// That level before the last onset, as long as the note may be struck again.
    before_db: Option<f32>,
    /// Whether the tuning has learnt from the note that sounds.
    learnt: bool,
    /// The note that led at the last scoring, and the doubt about it.
    led: Option<(u8, f32)>,
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
    last: None,
    before_db: None,
    learnt: false,
    led: None,
};

/// The gate of a new tracker, in dB.
const GATE_DB: f32 = -60.0;

impl Tracker {
    /// A tracker for a sample rate, clamped to 8 to 768 kHz. This function allocates; no later call
    /// does.
    #[must_use]
    pub fn new(rate_hz: f32) -> Tracker {
        let rate_hz = if rate_hz.is_finite() {
            rate_hz.clamp(8_000.0, 768_000.0)
        } else {
            48_000.0
        };
        let ear = Ear::new(rate_hz);
        Tracker {
            model: Model::new(),
            tuning: Tuning::new(Reference::Hand(440.0)),
            gate_db: GATE_DB,
            hop_ms: ear.hop_ms(),
            ear,
            now_samples: 0,
            hop: 0,
            moment: SILENT,
        }
    }

    /// Sets the tuning reference, and forgets the measured tuning.
    pub fn set_reference(&mut self, reference: Reference) {
        self.tuning = Tuning::new(reference);
    }

    /// Sets the level below which nothing is heard, in dB, clamped to -90 to -6.
    pub fn set_gate_db(&mut self, gate_db: f32) {
        if gate_db.is_finite() {
            self.gate_db = gate_db.clamp(-90.0, -6.0);
        }
    }

    /// Forgets what was heard and keeps the settings. Sample times start again from 0.
    pub fn reset(&mut self) {
        self.ear.reset();
        self.now_samples = 0;
        self.hop = 0;
        self.moment = SILENT;
    }

    /// Takes in a block of any size and reports what was heard in it, in order. The result does not
    /// depend on how the sound is cut into blocks.
    pub fn push(&mut self, mono: &[f32], heard: &mut impl FnMut(Event)) {
        for sample in mono {
            self.now_samples += 1;
            if self.ear.push(*sample) {
                self.hear(heard);
            }
        }
    }

    /// What a panel shows.
    #[must_use]
    pub fn state(&self) -> State {
        let heard = self.moment.heard;
        State {
            heard: heard.map(|h| h.note),
            cents: heard.map_or(0.0, |h| h.cents),
            confidence: heard.map_or(0.0, |h| h.confidence),
            level_db: self.moment.level_db,
            a4_hz: self.tuning.a4_hz(),
        }
    }

    /// Handles one hop.
    fn hear(&mut self, tell: &mut impl FnMut(Event)) {
        self.hop = self.hop.wrapping_add(1);
        let moment = &mut self.moment;
        moment.level_db = self.ear.flat_db();
        moment.top_db = moment.level_db.max(moment.top_db - rule::FORGET_DB);
        let depth = rule::QUIET_DB + moment.heard.map_or(0.0, |_| rule::HYSTERESIS_DB);
        let quiet = moment.level_db < self.gate_db.max(moment.top_db - depth);
        self.onset(self.ear.white_db(), quiet);
        if quiet {
            self.end(tell);
            return;
        }
        let since_ms = self.since_ms();
        let calm = since_ms > rule::LIVELY_MS && !self.hop.is_multiple_of(rule::CALM_HOPS);
        if calm || since_ms < rule::SOONEST_MS {
            return;
        }
        self.ear.look();
        let shift_cents = self.tuning.shift_cents();
        let scores = self.model.score(self.ear.spectrum(), since_ms, shift_cents);
        self.judge(Leader::of(&scores), tell);
    }

    fn since_ms(&self) -> f32 {
        let hops = u16::try_from(self.moment.since.saturating_add(1)).unwrap_or(u16::MAX);
        f32::from(hops) * self.hop_ms
    }

    /// Looks for an onset in the newest hop.
    fn onset(&mut self, white_db: f32, quiet: bool) {
        let hop_samples = u64::from(self.ear.hop_samples());
        let moment = &mut self.moment;
        moment.since = moment.since.saturating_add(1);
        let before = moment.levels_db.iter().take(RECENT - RISING);
        let before_db = before.fold(FLOOR_DB, |a, b| a.max(*b));
        let due = moment.since >= rule::ONSET_HOLD_HOPS
            || white_db > moment.loudest_db + rule::ONSET_LOUDER_DB;
        if !quiet && due && white_db - before_db > rule::ONSET_RISE_DB {
            moment.since = 0;
            moment.loudest_db = white_db;
            moment.before_db = moment.heard.and(moment.last).map(|(_, db)| db);
            moment.struck_samples = self.now_samples.saturating_sub(hop_samples);
        }
        moment.loudest_db = moment.loudest_db.max(white_db);
        moment.levels_db.rotate_left(1);
        if let Some(last) = moment.levels_db.last_mut() {
            *last = white_db;
        }
    }

    /// Decides what the leading note means for the note that sounds.
    fn judge(&mut self, leader: Leader, tell: &mut impl FnMut(Event)) {
        let since_ms = self.since_ms();
        let moment = &mut self.moment;
        if leader.score < rule::PITCHED {
            moment.unpitched += 1;
            if moment.unpitched >= rule::UNPITCHED_LOOKS && leader.score < 0.0 {
                self.end(tell);
            }
            return;
        }
        moment.unpitched = 0;
        let heard = moment.heard.map(|h| h.note);
        if heard == Some(leader.note) {
            moment.led = None;
            self.follow(leader, tell);
            return;
        }
        let sureness = self.sureness(leader);
        let armed = since_ms < rule::ARMED_MS;
        let in_range = (LOWEST..=HIGHEST).contains(&leader.note);
        let enough = match heard {
            Some(heard) if leader.note + 12 == heard => rule::SURE_BELOW,
            _ if armed => rule::SURE,
            _ => rule::SURE_LATE,
        };
        let sure = in_range && sureness > enough && (armed || heard.is_some());
        if sure && !self.rings_on(leader.note) {
            self.start(leader, armed, tell);
        }
    }

    /// The confidence in a note that leads and does not sound yet. Two scorings in a row that agree
    /// on a pitch raise it.
    fn sureness(&mut self, leader: Leader) -> f32 {
        let doubt = 1.0 - leader.chance;
        let led = self.moment.led.replace((leader.note, doubt));
        let agreed = led.filter(|(note, _)| *note == leader.note);
        1.0 - doubt * agreed.map_or(1.0, |(_, before)| before)
    }

    /// Whether a note is only the tail of the last one.
    fn rings_on(&self, note: u8) -> bool {
        let shift_cents = self.tuning.shift_cents();
        self.moment.last.is_some_and(|(last, last_db)| {
            last == note && tone_db(self.ear.spectrum(), note, shift_cents) < last_db
        })
    }

    /// Handles the case that the sounding note goes on or is struck again.
    fn follow(&mut self, leader: Leader, tell: &mut impl FnMut(Event)) {
        let since_ms = self.since_ms();
        let shift_cents = self.tuning.shift_cents();
        let tone_db = tone_db(self.ear.spectrum(), leader.note, shift_cents);
        let moment = &mut self.moment;
        moment.last = Some((leader.note, tone_db));
        if let Some(heard) = &mut moment.heard {
            heard.confidence = leader.chance;
            heard.level_db = moment.level_db;
            if since_ms > rule::SETTLED_MS {
                let expected_hz = frequency_hz(leader.note, shift_cents);
                heard.cents = cents::above(self.ear.white(), expected_hz, self.ear.slow_hz());
                if !moment.learnt {
                    moment.learnt = true;
                    self.tuning.hear(heard.cents);
                }
            }
        }
        let louder = |before_db: f32| tone_db > before_db + rule::RESTRIKE_DB;
        if since_ms > rule::RESTRIKE_MS && moment.before_db.is_some_and(louder) {
            self.start(leader, true, tell);
        }
    }

    fn start(&mut self, leader: Leader, armed: bool, tell: &mut impl FnMut(Event)) {
        let moment = &mut self.moment;
        let heard = Heard {
            note: leader.note,
            cents: 0.0,
            confidence: leader.chance,
            level_db: moment.level_db,
        };
        moment.heard = Some(heard);
        moment.last = None;
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

    /// Ends the note that sounds, if any.
    fn end(&mut self, tell: &mut impl FnMut(Event)) {
        let moment = &mut self.moment;
        moment.unpitched = 0;
        if moment.heard.take().is_some() {
            tell(Event::Off {
                at_samples: self.now_samples,
            });
        }
    }
}
