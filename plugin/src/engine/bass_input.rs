//! The audio inputs as one bass: its notes with their samples, and its level. Runs on the audio thread,
//! before the performer. Imports `settings`, the theory and the bass crate.
//!
//! While chords come from elsewhere it listens to nothing and costs nothing.

use crate::engine::settings::{BassSettings, Settings, Source};
use guidehand_bass::{Event, Tracker};
use guidehand_theory::pitch::MidiNote;

/// Samples that are mixed at once.
const CHUNK: usize = 64;
/// The tracker reports at most one event in so many samples, at any rate.
const SAMPLES_FOR_AN_EVENT: u32 = 32;
/// The level that is shown while nothing is listened to, in dB.
pub const SILENCE_DB: f32 = -120.0;

/// A note of the bass starts or ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BassEvent {
    /// Samples from the start of the block.
    pub time_samples: u32,
    /// The note that starts; none where the last one ends.
    pub note: Option<BassNote>,
}

/// A note that starts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BassNote {
    /// The note.
    pub note: MidiNote,
    /// How sure it is, 0 to 1.
    pub confidence: f32,
    /// How long ago it was struck, in samples: it takes that long to recognise it.
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
pub struct BassInput {
    /// None until the plugin is activated.
    tracker: Option<Tracker>,
    /// The settings that the tracker has.
    set: Option<BassSettings>,
    /// Samples that it has heard since it began to listen.
    heard_samples: u64,
    listens: bool,
    /// The events of the current block.
    events: Vec<BassEvent>,
    meter: BassMeter,
}

impl BassInput {
    /// Makes room for blocks of up to so many frames at a rate in Hz. Allocates and takes some tens
    /// of milliseconds: never on the audio thread.
    pub fn prepare(&mut self, rate_hz: f32, most_frames: u32) {
        let events = most_frames / SAMPLES_FOR_AN_EVENT + 2;
        *self = BassInput {
            tracker: Some(Tracker::new(rate_hz)),
            events: Vec::with_capacity(usize::try_from(events).unwrap_or(0)),
            ..BassInput::default()
        };
    }

    /// Forgets what was heard.
    pub fn reset(&mut self) {
        self.listens = false;
        self.events.clear();
    }

    /// Whether there is something to listen to, or listening has to end.
    #[must_use]
    pub fn is_due(&self, settings: &Settings) -> bool {
        settings.source == Source::Bass || self.listens || !self.events.is_empty()
    }

    /// Listens to a block of `frames` frames: the sum of all channels, halved, as all ports are
    /// stereo. A channel that is too short counts as silent after its end. Returns what is heard, if
    /// it may have changed.
    pub fn listen<'c>(
        &mut self,
        settings: &Settings,
        channels: impl Iterator<Item = &'c [f32]> + Clone,
        frames: usize,
    ) -> Option<BassMeter> {
        self.events.clear();
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
        set_up(tracker, self.set.replace(settings.bass), settings.bass);
        let began = self.heard_samples;
        let events = &mut self.events;
        let mut report = |event: Event| {
            // The tracker never reports more events than there is room for.
            if events.len() < events.capacity() {
                events.push(bass_event(event, began));
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
            tracker.push(mono.get(..count).unwrap_or_default(), &mut report);
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
    pub fn events(&self) -> &[BassEvent] {
        &self.events
    }
}

/// Passes on the settings that have changed.
fn set_up(tracker: &mut Tracker, old: Option<BassSettings>, new: BassSettings) {
    if old.is_none_or(|old| old.gate_db != new.gate_db) {
        tracker.set_gate_db(new.gate_db);
    }
    if old.is_none_or(|old| old.tuned != new.tuned) {
        tracker.set_reference(new.tuned);
    }
}

/// An event of the tracker, in a block that began after so many samples.
fn bass_event(event: Event, began_samples: u64) -> BassEvent {
    let within = |samples: u64| u32::try_from(samples).unwrap_or(u32::MAX);
    // The tracker counts samples, so the one that brought the event has the index before.
    let time = |at: u64| within(at.saturating_sub(began_samples).saturating_sub(1));
    match event {
        Event::On {
            heard,
            at_samples,
            struck_samples,
        } => BassEvent {
            time_samples: time(at_samples),
            note: Some(BassNote {
                note: MidiNote::clamp(i32::from(heard.note)),
                confidence: heard.confidence.clamp(0.0, 1.0),
                ago_samples: within(at_samples.saturating_sub(struck_samples)),
            }),
        },
        Event::Off { at_samples } => BassEvent {
            time_samples: time(at_samples),
            note: None,
        },
    }
}
