//! Joins the performer to the framework's events and to the audition tone: what
//! goes out is heard as well. Imports `midi`, `performer` and `tone`.

use crate::midi::{self, HostEvent};
use crate::performer::{Input, Output, Port, TimedInput};
use crate::tone::Tone;
use nice_plug::prelude::{Plugin, ProcessContext};
use std::marker::PhantomData;

/// One block of the host.
pub struct HostPort<'a, 'b, P, C> {
    context: &'a mut C,
    tone: &'a mut Tone,
    left: &'a mut &'b mut [f32],
    right: &'a mut &'b mut [f32],
    /// Samples of the block that the tone has filled.
    rendered: usize,
    audible: bool,
    gain: f32,
    peak: f32,
    plugin: PhantomData<P>,
}

impl<'a, 'b, P, C> HostPort<'a, 'b, P, C> {
    /// A block with its events and its stereo output.
    pub fn new(
        context: &'a mut C,
        tone: &'a mut Tone,
        left: &'a mut &'b mut [f32],
        right: &'a mut &'b mut [f32],
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
            plugin: PhantomData,
        }
    }

    /// Whether the audition tone sounds, and its linear gain.
    #[must_use]
    pub fn with_audition(mut self, audible: bool, gain: f32) -> Self {
        self.audible = audible;
        self.gain = gain;
        if !audible && !self.tone.is_silent() {
            self.tone.all_off();
        }
        self
    }

    /// Fills the rest of the block, and tells the block's peak, linear.
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
            if self.tone.is_silent() {
                left.fill(0.0);
                right.fill(0.0);
            } else {
                self.tone.render(left, right, self.gain);
                let samples = left.iter().chain(right.iter());
                self.peak = samples.fold(self.peak, |peak, s| peak.max(s.abs()));
            }
            self.rendered = end;
        }
    }

    /// Plays on the audition tone what has gone out.
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
}
