//! The monophonic pitch tracker. Imports `cents`, `ear`, `model`, `tuning` and `verdict`.
//!
//! A hop is about 3.6 ms. Every hop for a while after an onset, and one in a few later, all notes are
//! scored; a note is believed when what speaks for it is sure enough for the time since the onset.

use crate::cents;
use crate::ear::{Ear, FLOOR_DB};
use crate::model::{Model, frequency_hz, tone_db};
use crate::tuning::{Reference, Tuning};
use crate::verdict::Leader;

/// The lowest note that is heard: B0, 31 Hz.
pub const LOWEST: u8 = 23;
/// The highest note that is heard: G4, 392 Hz.
pub const HIGHEST: u8 = 67;

/// Hops before the newest whose levels are kept: together longer than the longest period, within
/// which the level of a hop rises and falls.
const RECENT: usize = 12;
/// The last of these do not count as before an onset: it may rise for as long.
const RISING: usize = 3;

/// What decides, and where from.
mod rule {
    /// Rise of the whitened level that is an onset, in dB.
    pub(super) const ONSET_RISE_DB: f32 = 3.0;
    /// Hops after an onset in which only a louder one counts.
    pub(super) const ONSET_HOLD_HOPS: u32 = 18;
    /// How much louder, in dB.
    pub(super) const ONSET_LOUDER_DB: f32 = 8.0;
    /// How sure is enough soon after an onset, 0 to 1.
    pub(super) const SURE: f32 = 0.96;
    /// The same later.
    pub(super) const SURE_LATE: f32 = 0.98;
    /// How sure is enough for the octave below what sounds: a drum fills the gaps between
    /// harmonics, as the octave below would.
    pub(super) const SURE_BELOW: f32 = 0.99;
    /// A score that what is no note does not reach.
    pub(super) const PITCHED: f32 = 2.0;
    /// Looks below nought, after which a note has ended.
    pub(super) const UNPITCHED_LOOKS: u32 = 8;
    /// No note starts sooner after an onset, in ms.
    pub(super) const SOONEST_MS: f32 = 18.0;
    /// A note starts from silence only so long after an onset, in ms.
    pub(super) const ARMED_MS: f32 = 100.0;
    /// No note starts this far below the loudest of late, in dB.
    pub(super) const QUIET_DB: f32 = 20.0;
    /// A note ends so much further below, in dB.
    pub(super) const HYSTERESIS_DB: f32 = 14.0;
    /// How fast the loudest is forgotten, in dB a hop.
    pub(super) const FORGET_DB: f32 = 0.03;
    /// Time after an onset in which every hop is looked at, in ms.
    pub(super) const LIVELY_MS: f32 = 100.0;
    /// Time after an onset from which nothing but its note is left, in ms.
    pub(super) const SETTLED_MS: f32 = 125.0;
    /// Time after an onset from which its note may have been struck again, in ms.
    pub(super) const RESTRIKE_MS: f32 = 50.0;
    /// Rise of a note's own harmonics that tells a note struck again from a drum, in dB.
    pub(super) const RESTRIKE_DB: f32 = 4.0;
    /// Later, one hop in so many.
    pub(super) const CALM_HOPS: u32 = 4;
}

/// A note as it was heard.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heard {
    /// MIDI number, 23 to 67.
    pub note: u8,
    /// Cents above the note by the tuning reference, -50 to 50; 0 until it has settled.
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
    /// The note that was heard last, with the level that its harmonics had when it was, in dB.
    last: Option<(u8, f32)>,
    /// That level before the last onset, while its note may have been struck again.
    before_db: Option<f32>,
    /// The tuning has learnt from the note that sounds.
    learnt: bool,
    /// The note that led at the last look, and the doubt about it then.
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
    /// A tracker for a sample rate, held between 8 and 768 kHz. This allocates; nothing after it
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
        self.ear.reset();
        self.now_samples = 0;
        self.hop = 0;
        self.moment = SILENT;
    }

    /// Takes in a block of any size and tells what was heard in it, in order. The result does not
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

    /// One hop.
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

    /// Decides what the leader means for the note that sounds.
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

    /// How sure a note is that leads and does not sound yet: two looks at a pitch that
    /// agree, one after the other, make each other surer.
    fn sureness(&mut self, leader: Leader) -> f32 {
        let doubt = 1.0 - leader.chance;
        let led = self.moment.led.replace((leader.note, doubt));
        let agreed = led.filter(|(note, _)| *note == leader.note);
        1.0 - doubt * agreed.map_or(1.0, |(_, before)| before)
    }

    /// Whether a note is no more than what is left of the last one.
    fn rings_on(&self, note: u8) -> bool {
        let shift_cents = self.tuning.shift_cents();
        self.moment.last.is_some_and(|(last, last_db)| {
            last == note && tone_db(self.ear.spectrum(), note, shift_cents) < last_db
        })
    }

    /// The note that sounds goes on, or is struck again.
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

    /// The note that sounds, if any, has ended.
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
