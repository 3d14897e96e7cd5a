//! Joins the performer to the framework's events and to the audition tone, so that what goes out is
//! heard as well, and to the queue of takes. Runs on the audio thread; imports `midi`, `bridge::take` and
//! the events and the tone of the engine.

use crate::bridge::take;
use crate::engine::events::{Input, Output, Port, TimedInput};
use crate::engine::taken::Taken;
use crate::engine::tone::Tone;
use crate::host::midi::{self, HostEvent};
use nice_plug::prelude::{Plugin, ProcessContext};
use std::marker::PhantomData;

/// The number of samples of the tone that are added at once.
const CHUNK: usize = 64;

/// What is lower goes out as silence: -300 dBFS, far below what any converter resolves. It keeps
/// numbers out that are too small for the usual precision, which are slow to reckon with and count
/// as a fault with validators (common practice, no published source).
const FAINTEST: f32 = 1.0e-15;

/// One block of the host.
pub struct HostPort<'a, 'b, P, C> {
    context: &'a mut C,
    tone: &'a mut Tone,
    left: &'a mut &'b mut [f32],
    right: &'a mut &'b mut [f32],
    /// The number of samples of the block that have been filled.
    rendered: usize,
    /// The audition tone sounds.
    audible: bool,
    /// Linear.
    gain: f32,
    peak: f32,
    /// The tone is added to what the output holds, which is the main input.
    adds: bool,
    take: Option<&'a mut take::Sender>,
    plugin: PhantomData<P>,
}

impl<'a, 'b, P, C> HostPort<'a, 'b, P, C> {
    /// A block with its events and its stereo output. If it `adds`, the tone is added to what the
    /// output holds; otherwise it replaces it.
    pub fn new(
        context: &'a mut C,
        tone: &'a mut Tone,
        left: &'a mut &'b mut [f32],
        right: &'a mut &'b mut [f32],
        adds: bool,
    ) -> Self {
        HostPort {
            context,
            tone,
            left,
            right,
            rendered: 0,
            audible: false,
            gain: 0.0,
            peak: 0.0,
            adds,
            take: None,
            plugin: PhantomData,
        }
    }

    /// Sets whether the audition tone sounds, and its linear gain.
    #[must_use]
    pub fn with_audition(mut self, audible: bool, gain: f32) -> Self {
        self.audible = audible;
        self.gain = gain;
        if !audible && !self.tone.is_silent() {
            self.tone.all_off();
        }
        self
    }

    /// What comes of a take goes here.
    #[must_use]
    pub const fn with_take(mut self, take: &'a mut take::Sender) -> Self {
        self.take = Some(take);
        self
    }

    /// Fills the rest of the block, and returns the linear peak of the tone in it.
    pub fn finish(mut self) -> f32 {
        self.render_to(usize::MAX);
        self.peak
    }

    /// Fills the output up to a sample of the block.
    fn render_to(&mut self, end: usize) {
        let end = end.min(self.left.len()).min(self.right.len());
        let range = self.rendered..end;
        if let (Some(left), Some(right)) =
            (self.left.get_mut(range.clone()), self.right.get_mut(range))
        {
            let silent = self.tone.is_silent();
            match (silent, self.adds) {
                (true, true) => {}
                (true, false) => {
                    left.fill(0.0);
                    right.fill(0.0);
                }
                (false, true) => {
                    let peak = add(self.tone, left, right, self.gain);
                    self.peak = self.peak.max(peak);
                }
                (false, false) => {
                    self.tone.render(left, right, self.gain);
                    self.peak = self.peak.max(peak(left).max(peak(right)));
                }
            }
            if self.adds || !silent {
                silence_the_faintest(left);
                silence_the_faintest(right);
            }
            self.rendered = end;
        }
    }

    /// Plays an output on the audition tone.
    fn audition(&mut self, time_samples: u32, output: &Output<HostEvent>) {
        let heard = match output {
            Output::NoteOn(key) => Input::NoteOn(*key),
            Output::NoteOff { channel, key } => Input::NoteOff {
                channel: Some(*channel),
                key: Some(*key),
            },
            Output::Through(event) => midi::read(*event).input,
        };
        if !matches!(
            heard,
            Input::NoteOn(_) | Input::NoteOff { .. } | Input::AllNotesOff { .. }
        ) {
            return;
        }
        self.render_to(usize::try_from(time_samples).unwrap_or(usize::MAX));
        match heard {
            Input::NoteOn(key) if self.audible => {
                self.tone.note_on(key.channel, key.key, key.velocity);
            }
            Input::NoteOff {
                channel: Some(channel),
                key: Some(key),
            } => self.tone.note_off(channel, key),
            Input::AllNotesOff { channel } => {
                for key in 0..128 {
                    self.tone.note_off(channel, key);
                }
            }
            _ => {}
        }
    }
}

/// Adds the tone to the buffers, and returns the tone's peak.
fn add(tone: &mut Tone, left: &mut [f32], right: &mut [f32], gain: f32) -> f32 {
    let mut highest: f32 = 0.0;
    let (lefts, rights) = (left.chunks_mut(CHUNK), right.chunks_mut(CHUNK));
    for (left, right) in lefts.zip(rights) {
        let mut buffers = [[0.0; CHUNK]; 2];
        let [own_left, own_right] = &mut buffers;
        let own_left = own_left.get_mut(..left.len()).unwrap_or_default();
        let own_right = own_right.get_mut(..right.len()).unwrap_or_default();
        tone.render(own_left, own_right, gain);
        highest = highest.max(peak(own_left).max(peak(own_right)));
        for (sum, own) in [(left, own_left), (right, own_right)] {
            sum.iter_mut().zip(own).for_each(|(sum, own)| *sum += *own);
        }
    }
    highest
}

/// Infinities and what is not a number stay as the host handed them over, and zeros keep their sign.
fn silence_the_faintest(samples: &mut [f32]) {
    for sample in samples {
        let is_faint = sample.abs() < FAINTEST;
        *sample = if is_faint {
            0.0_f32.copysign(*sample)
        } else {
            *sample
        };
    }
}

fn peak(samples: &[f32]) -> f32 {
    samples.iter().fold(0.0, |peak, s| peak.max(s.abs()))
}

impl<P, C> Port<HostEvent> for HostPort<'_, '_, P, C>
where
    P: Plugin<SysExMessage = ()>,
    C: ProcessContext<P>,
{
    fn next(&mut self) -> Option<TimedInput<HostEvent>> {
        self.context.next_event().map(midi::read)
    }

    fn send(&mut self, time_samples: u32, output: Output<HostEvent>) -> bool {
        let event = midi::write(time_samples, output);
        let sent = self.context.try_send_event(event).is_ok();
        if sent {
            self.audition(time_samples, &output);
        }
        sent
    }

    fn click(&mut self, time_samples: u32, accented: bool) {
        if self.audible {
            self.render_to(usize::try_from(time_samples).unwrap_or(usize::MAX));
            self.tone.click(accented);
        }
    }

    fn took(&mut self, taken: Taken) {
        if let Some(take) = &mut self.take {
            take.send(taken);
        }
    }
}
