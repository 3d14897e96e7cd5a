//! The bass by ear: the audio inputs as one voice, its notes with their samples, and what is heard
//! at the end of a block. Runs on the audio thread. Imports `settings`.
//!
//! While chords come from elsewhere it listens to nothing and costs nothing.

use crate::engine::settings::{BassSettings, Settings, Source};
use guidehand_bass::{Event, Tracker};
use guidehand_theory::pitch::MidiNote;

/// Samples that are mixed at once.
const CHUNK: usize = 64;
/// The tracker tells at most one thing in so many samples, at any rate.
const SAMPLES_FOR_A_SOUND: u32 = 32;
/// The level that is shown while nothing is listened to, in dB.
const SILENCE_DB: f32 = -120.0;

/// What the bass does, at a sample of the block.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sound {
    /// Samples from the start of the block.
    pub time_samples: u32,
    /// The note that starts; none where the one before ends.
    pub note: Option<Struck>,
}

/// A note that starts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Struck {
    /// The note.
    pub note: MidiNote,
    /// How sure it is, 0 to 1.
    pub confidence: f32,
    /// How long ago it was struck, in samples: it takes that long to know it.
    pub ago_samples: u32,
}

/// What is heard at the end of a block.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BassMeter {
    /// The MIDI note that sounds.
    pub note: Option<u8>,
    /// Cents that it is above its place by the tuning reference, -50 to 50.
    pub cents: f32,
    /// In dB, from -120.
    pub level_db: f32,
    /// How sure the note is, 0 to 1.
    pub confidence: f32,
    /// The tuning reference, in Hz.
    pub a4_hz: f32,
}

impl Default for BassMeter {
    fn default() -> Self {
        BassMeter {
            note: None,
            cents: 0.0,
            level_db: SILENCE_DB,
            confidence: 0.0,
            a4_hz: 440.0,
        }
    }
}

/// Listens to the audio inputs.
#[derive(Default)]
pub struct Ear {
    /// None until the plugin is activated.
    tracker: Option<Tracker>,
    /// As it was set up last.
    set: Option<BassSettings>,
    /// Samples that it has heard since it began to listen.
    heard_samples: u64,
    listens: bool,
    /// The sounds of the block in hand.
    sounds: Vec<Sound>,
    meter: BassMeter,
}

impl Ear {
    /// Makes room for blocks of up to so many frames at a rate in Hz. Allocates and takes some tens
    /// of milliseconds: never on the audio thread.
    pub fn prepare(&mut self, rate_hz: f32, most_frames: u32) {
        let sounds = most_frames / SAMPLES_FOR_A_SOUND + 2;
        *self = Ear {
            tracker: Some(Tracker::new(rate_hz)),
            sounds: Vec::with_capacity(usize::try_from(sounds).unwrap_or(0)),
            ..Ear::default()
        };
    }

    /// Forgets what was heard.
    pub fn reset(&mut self) {
        self.listens = false;
        self.sounds.clear();
    }

    /// Whether there is something to listen to, or to leave off.
    #[must_use]
    pub fn is_due(&self, settings: &Settings) -> bool {
        settings.source == Source::Bass || self.listens || !self.sounds.is_empty()
    }

    /// Listens to a block of `frames` frames: the sum of all channels, halved, as all ports are
    /// stereo. Channels that are too short are silent from their end on. Gives what is heard, if it
    /// may have changed.
    pub fn listen<'c>(
        &mut self,
        settings: &Settings,
        channels: impl Iterator<Item = &'c [f32]> + Clone,
        frames: usize,
    ) -> Option<BassMeter> {
        self.sounds.clear();
        let wanted = settings.source == Source::Bass && !settings.bypass;
        let Some(tracker) = self.tracker.as_mut().filter(|_| wanted) else {
            let listened = std::mem::take(&mut self.listens);
            return listened.then(|| BassMeter {
                cents: self.meter.cents,
                a4_hz: self.meter.a4_hz,
                ..BassMeter::default()
            });
        };
        if !std::mem::replace(&mut self.listens, true) {
            tracker.reset();
            self.heard_samples = 0;
        }
        let bass = settings.bass;
        if self.set.is_none_or(|set| set.gate_db != bass.gate_db) {
            tracker.set_gate_db(bass.gate_db);
        }
        if self.set.is_none_or(|set| set.tuned != bass.tuned) {
            tracker.set_reference(bass.tuned);
        }
        self.set = Some(bass);
        let began = self.heard_samples;
        let sounds = &mut self.sounds;
        let mut tell = |event: Event| {
            // What has no room is more than the tracker can tell.
            if sounds.len() < sounds.capacity() {
                sounds.push(sound(event, began));
            }
        };
        let mut from = 0;
        while from < frames {
            let mut mono = [0.0; CHUNK];
            let count = CHUNK.min(frames - from);
            for channel in channels.clone() {
                let samples = channel.get(from..).unwrap_or_default();
                for (sum, sample) in mono.iter_mut().zip(samples).take(count) {
                    *sum += 0.5 * sample;
                }
            }
            tracker.push(mono.get(..count).unwrap_or_default(), &mut tell);
            from += count;
        }
        self.heard_samples += u64::try_from(frames).unwrap_or(0);
        let state = tracker.state();
        self.meter = BassMeter {
            note: state.heard,
            cents: state.cents,
            level_db: state.level_db,
            confidence: state.confidence,
            a4_hz: state.a4_hz,
        };
        Some(self.meter)
    }

    /// What the bass did in the last block, in order.
    #[must_use]
    pub fn sounds(&self) -> &[Sound] {
        &self.sounds
    }
}

/// An event of the tracker, in a block that began after so many samples.
fn sound(event: Event, began_samples: u64) -> Sound {
    let within = |samples: u64| u32::try_from(samples).unwrap_or(u32::MAX);
    // It is known with the sample before the one that is counted.
    let time = |at: u64| within(at.saturating_sub(began_samples).saturating_sub(1));
    match event {
        Event::On {
            heard,
            at_samples,
            struck_samples,
        } => Sound {
            time_samples: time(at_samples),
            note: Some(Struck {
                note: MidiNote::clamp(i32::from(heard.note)),
                confidence: heard.confidence.clamp(0.0, 1.0),
                ago_samples: within(at_samples.saturating_sub(struck_samples)),
            }),
        },
        Event::Off { at_samples } => Sound {
            time_samples: time(at_samples),
            note: None,
        },
    }
}
