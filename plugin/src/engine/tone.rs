//! The audition voice: a small electric piano, so that the plugin can be heard without an instrument
//! behind it. Runs on the audio thread: no allocation, no panic, bounded work. Imports nothing of the
//! crate; only `host` imports it.

#![deny(
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::panic,
    clippy::unwrap_used
)]

mod click;
mod decay;
mod level;
mod voice;

use click::Click;
use level::{Glide, Limiter};
use voice::{Note, Pace, Voice};

/// Notes that can sound at once. A further one takes the quietest voice.
const VOICES: usize = 24;

/// The sample rate until one is set, and in place of one that is not a number.
const DEFAULT_SAMPLE_RATE_HZ: f32 = 48_000.0;

/// A polyphonic electric piano whose output never exceeds -6 dBFS.
pub struct Tone {
    pace: Pace,
    voices: [Voice; VOICES],
    click: Click,
    gain: Glide,
    limiter: Limiter,
    /// Set by the first note after silence. The gain then starts at its target, and the limiter
    /// starts open.
    waking: bool,
}

impl Default for Tone {
    fn default() -> Self {
        Self::new()
    }
}

impl Tone {
    /// A silent voice at 48 kHz.
    #[must_use]
    pub fn new() -> Self {
        let hz = DEFAULT_SAMPLE_RATE_HZ;
        Self {
            pace: Pace::new(hz),
            voices: [Voice::IDLE; VOICES],
            click: Click::new(hz),
            gain: Glide::new(hz),
            limiter: Limiter::new(hz),
            waking: false,
        }
    }

    /// Sets the sample rate in Hz and silences everything at once. It is meant for 44 100 to 192 000.
    /// Rates are clamped to 8 000 to 768 000, and 48 000 stands in for one that is not finite.
    pub fn set_sample_rate(&mut self, hz: f32) {
        let hz = if hz.is_finite() {
            hz.clamp(8_000.0, 768_000.0)
        } else {
            DEFAULT_SAMPLE_RATE_HZ
        };
        self.pace = Pace::new(hz);
        self.click = Click::new(hz);
        self.gain = Glide::new(hz);
        self.limiter = Limiter::new(hz);
        self.reset();
    }

    /// Strikes a key, 0 to 127 (others are ignored), with a velocity of 0 to 1. If the key still
    /// sounds on this channel, it is cut first. A velocity that is 0 or not finite strikes nothing.
    pub fn note_on(&mut self, channel: u8, key: u8, velocity: f32) {
        for voice in &mut self.voices {
            voice.cut(channel, key, &self.pace);
        }
        let note = Note {
            channel,
            key,
            velocity: unit(velocity),
        };
        if key > 127 || note.velocity <= 0.0 {
            return;
        }
        self.waking |= self.is_silent();
        let quietest = self
            .voices
            .iter_mut()
            .min_by(|a, b| a.claim().total_cmp(&b.claim()));
        if let Some(voice) = quietest {
            voice.strike(note, &self.pace);
        }
    }

    /// Releases a key; it dies away within about 0.3 s. A key that does not sound is ignored.
    pub fn note_off(&mut self, channel: u8, key: u8) {
        for voice in &mut self.voices {
            voice.release(channel, key, &self.pace);
        }
    }

    /// Clicks, louder on the first beat of a bar.
    pub fn click(&mut self, accented: bool) {
        self.waking |= self.is_silent();
        self.click.strike(accented);
    }

    /// Fades everything out within 10 ms, without a step in the sound.
    pub fn all_off(&mut self) {
        self.click.end();
        for voice in &mut self.voices {
            voice.end(&self.pace);
        }
    }

    /// Silence at once.
    pub fn reset(&mut self) {
        self.voices = [Voice::IDLE; VOICES];
        self.click = Click::new(self.pace.hz());
        self.waking = false;
    }

    /// Whether nothing sounds or waits to sound. As long as that is so, `render` writes zeros, and the
    /// caller may clear its buffers instead.
    #[must_use]
    pub fn is_silent(&self) -> bool {
        self.click.is_silent() && self.voices.iter().all(Voice::is_idle)
    }

    /// Overwrites the buffers with the next samples: the segment between two events, of any length.
    /// The output does not depend on how a stretch of time is split into segments.
    ///
    /// `gain` is linear, clamped to 0 to 1, and 0 if it is not finite; it glides to a new value. No
    /// sample exceeds -6 dBFS. If one buffer is longer, the rest of it is filled with zeros.
    pub fn render(&mut self, left: &mut [f32], right: &mut [f32], gain: f32) {
        left.fill(0.0);
        right.fill(0.0);
        if self.is_silent() || left.is_empty() || right.is_empty() {
            return;
        }
        let gain = unit(gain);
        if std::mem::take(&mut self.waking) {
            self.gain.jump(gain);
            self.limiter.open();
        }
        for voice in &mut self.voices {
            voice.add_to(left, right, &self.pace);
        }
        self.click.add_to(left, right);
        for (left, right) in left.iter_mut().zip(right) {
            let gain = self.gain.towards(gain);
            *left *= gain;
            *right *= gain;
            let limit = self.limiter.gain_for(left.abs().max(right.abs()));
            *left *= limit;
            *right *= limit;
        }
    }
}

/// Clamped to 0 to 1; 0 if it is not finite.
fn unit(value: f32) -> f32 {
    if value.is_finite() {
        value.clamp(0.0, 1.0)
    } else {
        0.0
    }
}

#[cfg(test)]
#[expect(
    clippy::indexing_slicing,
    clippy::unwrap_used,
    reason = "a test may panic"
)]
mod tests;
