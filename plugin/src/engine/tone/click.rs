//! A click: a short, soft ping that gives the time. Runs on the audio thread. Imports `decay`; only
//! `tone` imports it.

use super::decay::fall_by_60_db;
use std::f32::consts::TAU;

/// Peak of a click, in each channel: some 12 dB below that of a chord of four notes.
const PEAK: f32 = 0.06;
/// The same on the first beat of a bar.
const ACCENTED_PEAK: f32 = 0.09;

/// The pitch of a click, two octaves above the notes that are played.
const PITCH_HZ: f32 = 1_568.0;
/// The same on the first beat of a bar.
const ACCENTED_PITCH_HZ: f32 = 2_093.0;

/// Time in which a click falls by 60 dB.
const DECAY_SECONDS: f32 = 0.06;
/// The same for one that is broken off.
const END_SECONDS: f32 = 0.008;

/// What is weaker than this (-100 dBFS) has ended.
const SILENCE: f32 = 1.0e-5;

/// A sine that dies away, as a turning vector. The sine part is the sound.
#[derive(Clone, Copy)]
pub(super) struct Click {
    hz: f32,
    cosine: f32,
    sine: f32,
    turn_cosine: f32,
    turn_sine: f32,
}

impl Click {
    /// Silence, at a sample rate.
    pub const fn new(hz: f32) -> Self {
        Self {
            hz,
            cosine: 0.0,
            sine: 0.0,
            turn_cosine: 0.0,
            turn_sine: 0.0,
        }
    }

    /// It clicks.
    pub fn strike(&mut self, accented: bool) {
        let (peak, pitch_hz) = if accented {
            (ACCENTED_PEAK, ACCENTED_PITCH_HZ)
        } else {
            (PEAK, PITCH_HZ)
        };
        (self.cosine, self.sine) = (peak, 0.0);
        self.fall(pitch_hz, DECAY_SECONDS);
    }

    fn fall(&mut self, pitch_hz: f32, seconds: f32) {
        let decay = fall_by_60_db(seconds * self.hz);
        let (sine, cosine) = (TAU * pitch_hz / self.hz).sin_cos();
        (self.turn_cosine, self.turn_sine) = (decay * cosine, decay * sine);
    }

    /// It is broken off within some milliseconds, without a step in the sound.
    pub fn end(&mut self) {
        if !self.is_silent() {
            self.fall(PITCH_HZ, END_SECONDS);
        }
    }

    /// Whether nothing sounds.
    pub fn is_silent(&self) -> bool {
        self.cosine == 0.0 && self.sine == 0.0
    }

    /// Adds the next samples.
    pub fn add_to(&mut self, left: &mut [f32], right: &mut [f32]) {
        for (left, right) in left.iter_mut().zip(right) {
            if self.is_silent() {
                return;
            }
            let turned = self.cosine * self.turn_cosine - self.sine * self.turn_sine;
            self.sine = self.cosine * self.turn_sine + self.sine * self.turn_cosine;
            self.cosine = turned;
            *left += self.sine;
            *right += self.sine;
            let power = self.cosine * self.cosine + self.sine * self.sine;
            if power < SILENCE * SILENCE {
                (self.cosine, self.sine) = (0.0, 0.0);
            }
        }
    }
}
