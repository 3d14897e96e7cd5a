//! What the panel asks to hear, from its end of the crossing to the events and the sound that the host
//! gets.

use super::*;
use crate::bridge::wake::Wake;
use crate::engine::trial::{Pace, Request, Step};
use guidehand_theory::pitch::MidiNote;
use nice_plug::context::process::SendEventError;
use nice_plug::midi::Key;
use std::sync::atomic::{AtomicU32, Ordering};

pub(super) const RATE_HZ: f32 = 48_000.0;

/// The framework for one block.
struct Context {
    transport: Transport,
    sent: Vec<NoteEvent<()>>,
}

impl ProcessContext<Guidehand> for Context {
    fn plugin_api(&self) -> PluginApi {
        PluginApi::Clap
    }

    fn execute_background(&self, (): ()) {}

    fn execute_gui(&self, (): ()) {}

    fn transport(&self) -> &Transport {
        &self.transport
    }

    fn next_event(&mut self) -> Option<NoteEvent<()>> {
        None
    }

    fn try_send_event(
        &mut self,
        event: NoteEvent<()>,
    ) -> Result<(), (NoteEvent<()>, SendEventError)> {
        self.sent.push(event);
        Ok(())
    }

    fn set_latency_samples(&self, _: u32) {}

    fn request_restart(&self) {}

    fn set_current_voice_capacity(&self, _: u32) {}
}

/// A plugin that is ready to process.
pub(super) fn plugin() -> Guidehand {
    let mut plugin = Guidehand::default();
    plugin.performer.set_sample_rate(RATE_HZ);
    plugin.tone.set_sample_rate(RATE_HZ);
    set(&plugin.params.tone, true);
    set(&plugin.params.tone_level, 1.0);
    plugin
}

/// One block of a host whose song stands still; returns the keys that start and end with their times,
/// and the peak of the sound.
fn process(plugin: &mut Guidehand, frames: usize) -> (Vec<(u32, u8, bool)>, f32) {
    block(plugin, frames, None)
}

/// The same of a host whose song plays from this position on, in quarter notes, if there is one.
pub(super) fn block(
    plugin: &mut Guidehand,
    frames: usize,
    plays_from: Option<f64>,
) -> (Vec<(u32, u8, bool)>, f32) {
    let mut transport = Transport::new(RATE_HZ);
    transport.playing = plays_from.is_some();
    transport.pos_beats = plays_from;
    transport.tempo = Some(120.0);
    transport.preroll_active = Some(false);
    let mut context = Context {
        transport,
        sent: Vec::new(),
    };
    let mut channels = [vec![0.0; frames], vec![0.0; frames]];
    let mut buffer = Buffer::default();
    // SAFETY: the channels outlive the buffer, and all have this length.
    unsafe {
        buffer.set_slices(frames, |slices| {
            slices.extend(channels.iter_mut().map(Vec::as_mut_slice));
        });
    }
    let mut none = AuxiliaryBuffers {
        inputs: &mut [],
        outputs: &mut [],
    };
    let status = plugin.process(&mut buffer, &mut none, &mut context);
    assert_eq!(
        status,
        ProcessStatus::KeepAlive,
        "hosts are not to let it sleep"
    );
    let sent = context.sent.iter().map(|event| match event {
        NoteEvent::NoteOn {
            timing,
            key: Key::Number(key),
            ..
        } => (*timing, *key, true),
        NoteEvent::NoteOff {
            timing,
            key: Key::Number(key),
            ..
        } => (*timing, *key, false),
        other => panic!("{other:?}"),
    });
    let samples = channels.iter().flatten();
    let peak = samples.fold(0.0, |peak: f32, sample| peak.max(sample.abs()));
    (sent.collect(), peak)
}

fn steps(keys: &[u8]) -> Request {
    let steps = keys.iter().map(|key| {
        let note = MidiNote::new(*key).unwrap();
        Step::note(note).struck(127)
    });
    Request::new(Pace::Free, steps)
}

#[test]
fn what_the_panel_asks_for_reaches_instrument_and_tone() {
    let mut plugin = plugin();
    let panel = plugin.panel_ends.take().unwrap();
    assert_eq!(process(&mut plugin, 512), (Vec::new(), 0.0));
    let number = panel.audition.play(&steps(&[60, 62]));
    let (sent, peak) = process(&mut plugin, 13_000);
    assert_eq!(
        sent,
        [(0, 60, true), (12_000, 60, false), (12_000, 62, true)]
    );
    assert!(peak > 0.01, "{peak}");
    let trying = plugin.performer.snapshot().trying.unwrap();
    assert_eq!((trying.number, trying.step), (number, 1));
    panel.audition.stop();
    assert_eq!(process(&mut plugin, 512).0, [(0, 62, false)]);
}

#[test]
fn a_panel_that_is_gone_leaves_no_note() {
    let mut plugin = plugin();
    let panel = plugin.panel_ends.take().unwrap();
    panel.audition.play(&steps(&[60]));
    process(&mut plugin, 512);
    drop(panel);
    assert_eq!(process(&mut plugin, 512).0, [(0, 60, false)]);
}

#[test]
fn what_sounds_when_a_host_deactivates_ends_in_the_next_block() {
    let mut plugin = plugin();
    let panel = plugin.panel_ends.take().unwrap();
    panel.audition.play(&steps(&[60]));
    process(&mut plugin, 512);
    plugin.deactivate();
    assert_eq!(process(&mut plugin, 512).0, [(0, 60, false)]);
}

/// A host that is asked to process may activate the plugin only then.
#[test]
fn what_is_asked_of_a_plugin_at_rest_outlives_its_reset() {
    let mut plugin = plugin();
    let panel = plugin.panel_ends.take().unwrap();
    panel.audition.play(&steps(&[60]));
    plugin.reset();
    assert_eq!(process(&mut plugin, 512).0, [(0, 60, true)]);
}

/// Every key that can be asked for at once, as hard as it may be struck, at full level.
#[test]
fn what_is_tried_never_exceeds_the_ceiling_of_the_tone() {
    use guidehand_theory::degree::Degree;
    use guidehand_theory::voicing::{Position, Voicing};
    let mut plugin = plugin();
    let panel = plugin.panel_ends.take().unwrap();
    let chord = |keys: [u8; 6]| {
        let mut voicing = Voicing::empty(Position::AsPlayed);
        for key in keys {
            assert!(voicing.push(MidiNote::new(key).unwrap(), Degree::Root));
        }
        Step::chord(&voicing).struck(127).lasting(4)
    };
    let steps = [[60, 61, 62, 63, 64, 65], [66, 67, 68, 69, 70, 71]].map(chord);
    let request = Request::new(Pace::Free, steps).over(chord([48, 49, 50, 51, 52, 53]));
    panel.audition.play(&request);
    let (_, peak) = process(&mut plugin, 100_000);
    // -6 dBFS, as the tone promises.
    assert!(peak > 0.25 && peak <= 0.502, "{peak}");
}

#[test]
fn the_host_of_a_plugin_is_asked_to_process() {
    let asked = Arc::new(AtomicU32::new(0));
    let counts = asked.clone();
    let shared = Shared {
        wake: Wake::new(move || {
            counts.fetch_add(1, Ordering::Relaxed);
        }),
        ..Shared::default()
    };
    let mut plugin = shared.with(Guidehand::default);
    let panel = plugin.panel_ends.take().unwrap();
    panel.audition.play(&steps(&[60]));
    assert_eq!(asked.load(Ordering::Relaxed), 1);
}
