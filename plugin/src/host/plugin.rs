//! The plugin as the framework knows it: its ids, its ports, and the path of a block through the
//! parts. `process` and `reset` run on the audio thread, and everything else on the host's main thread.
//! Only `lib` imports it.

use crate::bridge::ending::Answer;
use crate::bridge::ends::{self, AudioEnds, PanelEnds, Program};
use crate::editor::{self, PanelEditor};
use crate::engine::bass_input::BassInput;
use crate::engine::block::{Block, ChartUpdate};
use crate::engine::clock::{Clock, HostTransport};
use crate::engine::own_transport::OwnTransport;
use crate::engine::performer::Performer;
use crate::engine::planned::{Enters, PlannedChart};
use crate::engine::settings::{Settings, Source};
use crate::engine::timekeeper::Timekeeper;
use crate::engine::tone::Tone;
use crate::guard;
use crate::host::controls;
use crate::host::options;
use crate::host::port::HostPort;
use crate::host::shared::Shared;
use crate::host::standstill::Standstill;
use crate::params::{GuidehandParams, state};
use crate::worker;
use nice_plug::prelude::*;
use std::sync::Arc;

/// The plugin: one instance.
pub struct Guidehand {
    params: Arc<GuidehandParams>,
    ends: AudioEnds,
    /// The chart that plays.
    chart: Option<Arc<PlannedChart>>,
    /// The chart that waits for the next bar line.
    next_chart: Option<Arc<PlannedChart>>,
    /// The values of the parameters, as they were read when one of them last moved.
    settings: Settings,
    moves_seen: u32,
    timekeeper: Timekeeper,
    /// Takes the place of a host's transport in the program that needs no host.
    own_transport: OwnTransport,
    /// The clock of the last block, and its length in samples.
    last: (Clock, u32),
    standstill: Standstill,
    /// Where the last block ended in memory. It tells whether this one is a further part of the same
    /// block of the host.
    part: BlockPart,
    bass: BassInput,
    /// There is a main input, and the framework has copied it into the output.
    passes_audio: bool,
    performer: Performer,
    tone: Tone,
    /// Given to the editor when it is made.
    panel_ends: Option<PanelEnds>,
}

impl Default for Guidehand {
    fn default() -> Self {
        Guidehand::new(options::program())
    }
}

impl Guidehand {
    /// An instance in a host, or in the program that needs none.
    fn new(program: Option<Program>) -> Self {
        let (params, ends, mut panel_ends) = ends::ends(program);
        let Shared { standstill, wake } = Shared::of_new_plugin();
        panel_ends.audition.set_wake(wake.clone());
        panel_ends.take.set_wake(wake.clone());
        params.practice.set_wake(wake);
        let params = GuidehandParams::with_ends(params);
        Self {
            settings: params.settings(),
            moves_seen: ends.moves.count(),
            params,
            ends,
            chart: None,
            next_chart: None,
            timekeeper: Timekeeper::default(),
            own_transport: OwnTransport::default(),
            last: (Clock::default(), 0),
            standstill,
            part: BlockPart::default(),
            bass: BassInput::default(),
            passes_audio: false,
            performer: Performer::default(),
            tone: Tone::new(),
            panel_ends: Some(panel_ends),
        }
    }
}

impl Plugin for Guidehand {
    const NAME: &'static str = "Guidehand";
    const VENDOR: &'static str = "Guidehand";
    const URL: &'static str = "";
    const EMAIL: &'static str = "";
    const VERSION: &'static str = env!("CARGO_PKG_VERSION");

    // The output carries the audition tone. It also serves hosts that insist on an audio output. The
    // layouts differ in the number of inputs, see DEVELOPERS.md.
    const AUDIO_IO_LAYOUTS: &'static [AudioIOLayout] = &[
        AudioIOLayout {
            main_input_channels: None,
            main_output_channels: NonZeroU32::new(2),
            aux_input_ports: &[new_nonzero_u32(2)],
            names: PortNames {
                layout: Some("Bass on the side-chain"),
                // The framework gives the output the name of the input.
                main_input: Some("Audition"),
                main_output: Some("Audition"),
                aux_inputs: &["Bass"],
                ..PortNames::const_default()
            },
            ..AudioIOLayout::const_default()
        },
        AudioIOLayout {
            main_input_channels: NonZeroU32::new(2),
            main_output_channels: NonZeroU32::new(2),
            aux_input_ports: &[new_nonzero_u32(2)],
            names: PortNames {
                layout: Some("On the bass's own track"),
                main_input: Some("Through"),
                main_output: Some("Through and audition"),
                aux_inputs: &["Bass"],
                ..PortNames::const_default()
            },
            ..AudioIOLayout::const_default()
        },
    ];

    const MIDI_INPUT: MidiConfig = MidiConfig::MidiCCs;
    const MIDI_OUTPUT: MidiConfig = MidiConfig::MidiCCs;
    const SAMPLE_ACCURATE_AUTOMATION: bool = true;
    // Some hosts release every key of every channel at once, which takes 2,048 events.
    const INPUT_EVENT_CAPACITY: usize = 4096;

    type Editor = PanelEditor;
    type SysExMessage = ();
    type BackgroundTask = ();

    fn params(&self) -> Arc<dyn Params> {
        self.params.clone()
    }

    fn filter_state(state: &mut PluginState) {
        state::admit(state);
    }

    fn editor(&mut self, _: AsyncExecutor<Self>) -> Option<Self::Editor> {
        let ends = self.panel_ends.take()?;
        worker::watch(&self.params.chart, &self.params.practice);
        Some(editor::create(self.params.clone(), ends))
    }

    fn activate(
        &mut self,
        layout: &AudioIOLayout,
        buffers: &BufferConfig,
        _: &mut impl ActivateContext<Self>,
    ) -> bool {
        // Hosts render offline right after.
        self.params.chart.settle();
        self.params.practice.settle();
        worker::watch(&self.params.chart, &self.params.practice);
        self.performer.set_sample_rate(buffers.sample_rate);
        self.tone.set_sample_rate(buffers.sample_rate);
        self.passes_audio = layout.main_input_channels.is_some();
        self.bass
            .prepare(buffers.sample_rate, buffers.max_buffer_size);
        true
    }

    /// Nothing can be sent from here. What sounds ends in the first block after the next activation, for
    /// some hosts activate a plugin again without a word that it will process.
    fn deactivate(&mut self) {
        self.reset();
    }

    fn reset(&mut self) {
        self.timekeeper.reset();
        self.last = (Clock::default(), 0);
        self.bass.reset();
        self.performer.reset();
        self.tone.reset();
    }

    fn process(
        &mut self,
        buffer: &mut Buffer,
        aux: &mut AuxiliaryBuffers,
        context: &mut impl ProcessContext<Self>,
    ) -> ProcessStatus {
        let update = self.receive_chart();
        let settings_moved = self.read_settings();
        let practises = self.settings.source == Source::Practice;
        let practice = self.performer.practice();
        self.ends.practice.hand_over(practice, practises);
        self.performer.recording().record(self.ends.take.wanted());
        let [left, right] = buffer.as_slice() else {
            return ProcessStatus::Error("expected a stereo output");
        };
        if self.is_asked_to_end() {
            self.fall_silent(context, left, right);
            return ProcessStatus::KeepAlive;
        }
        if self.standstill.is_still() {
            // The framework has been given a frame so that it calls at all.
            *left = &mut [];
            *right = &mut [];
        }
        let frames = u32::try_from(left.len()).unwrap_or(u32::MAX);
        let clock = if frames > 0 {
            self.hear(left, right, aux);
            let transport = HostTransport {
                into_block_samples: self.part.begin(left, frames),
                within_blocks: context.plugin_api() == PluginApi::Clap,
                ..self.transport(context, frames)
            };
            let own_bpm = self.settings.own_bpm;
            self.timekeeper.clock(&transport, own_bpm, frames)
        } else {
            let (clock, frames) = self.last;
            clock.ended(frames)
        };
        self.last = (clock, frames);
        let block = Block {
            settings: &self.settings,
            settings_moved,
            clock,
            frames,
            song: self.chart.as_deref(),
            update,
            next_song: self.next_chart.as_deref(),
            bass_events: if frames > 0 { self.bass.events() } else { &[] },
            bass_from_samples: 0,
            audition: self.ends.audition.take(),
        };
        #[expect(clippy::cast_possible_truncation, reason = "a tempo needs few digits")]
        let block_bpm = block.clock.bpm as f32;
        let audition = self.params.tone.value() && !block.settings.bypass;
        let gain = self.params.tone_level.value();
        let mut port = HostPort::new(context, &mut self.tone, left, right, self.passes_audio)
            .with_audition(audition, gain)
            .with_take(&mut self.ends.take);
        let performer = &mut self.performer;
        let played = guard::guarded(|| performer.process(&block, &mut port));
        let peak = port.finish();
        self.ends.practice.take_answers(self.performer.practice());
        self.ends.take.tell(self.performer.recording().number());
        let Some(played) = played else {
            // What sounded ends in the next block.
            self.performer.reset();
            return ProcessStatus::KeepAlive;
        };
        self.ends.meter.raise(peak);
        self.ends.tempo.tell(block_bpm);
        if played.next_song_plays {
            self.next_chart_plays();
        }
        if played.shows_anew {
            self.ends.snapshot.publish(self.performer.snapshot());
        }
        ProcessStatus::KeepAlive
    }
}

impl Guidehand {
    /// The transport in force for a block: the host's, or our own.
    fn transport(&mut self, context: &impl ProcessContext<Self>, frames: u32) -> HostTransport {
        let told = host_transport(context.transport(), context.plugin_api());
        let Some(transport) = &self.ends.transport else {
            return told;
        };
        let bpm = self.settings.own_bpm;
        let start = transport.start();
        self.own_transport.block(start, bpm, frames, &told)
    }

    /// Whether the program that needs no host is to end.
    fn is_asked_to_end(&self) -> bool {
        self.ends.ending.as_ref().is_some_and(Answer::is_asked)
    }

    /// A block in which everything that sounds ends, and nothing begins.
    fn fall_silent<'a>(
        &mut self,
        context: &mut impl ProcessContext<Self>,
        left: &mut &'a mut [f32],
        right: &mut &'a mut [f32],
    ) {
        let mut port = HostPort::new(context, &mut self.tone, left, right, self.passes_audio);
        let performer = &mut self.performer;
        let all_ended = guard::guarded(|| performer.end_all(&mut port)).unwrap_or(false);
        port.finish();
        if let Some(ending) = &mut self.ends.ending {
            ending.tell(all_ended && self.tone.is_silent());
        }
    }

    /// Takes a new chart, if there is one. It plays from now on, or waits for the next bar line.
    fn receive_chart(&mut self) -> ChartUpdate {
        let Some(new) = self.ends.charts.take() else {
            return ChartUpdate::None;
        };
        let playing = self.chart.as_deref();
        let same_text = playing.is_some_and(|playing| playing.edition == new.edition);
        if new.enters == Enters::AtTheBarLine && playing.is_some() && !same_text {
            if let Some(old) = self.next_chart.replace(new) {
                self.ends.charts.give_back(old);
            }
            return ChartUpdate::None;
        }
        // A chart that only adds plans to the one that plays changes nothing that sounds.
        let in_use = &self.settings.taste;
        let was_planned = playing.is_some_and(|playing| {
            playing.plan_for == new.plan_for && playing.plan_of(in_use).is_some()
        });
        let update = match (same_text, was_planned) {
            (true, true) => ChartUpdate::None,
            (true, false) => ChartUpdate::Planned,
            (false, _) => ChartUpdate::Edited,
        };
        let waited = self.next_chart.take();
        let played = self.chart.replace(new);
        for old in [waited, played].into_iter().flatten() {
            self.ends.charts.give_back(old);
        }
        update
    }

    /// The chart that waited plays from now on.
    fn next_chart_plays(&mut self) {
        if let Some(next) = self.next_chart.take()
            && let Some(old) = self.chart.replace(next)
        {
            self.ends.charts.give_back(old);
        }
    }

    /// Listens to the inputs of a block, if there is something to listen for.
    fn hear(&mut self, left: &[f32], right: &[f32], aux: &AuxiliaryBuffers) {
        if !self.bass.is_due(&self.settings) {
            return;
        }
        let through = [left, right].into_iter();
        let inputs = through
            .filter(|_| self.passes_audio)
            .chain(aux.inputs.iter().flat_map(channels));
        if let Some(meter) = self.bass.listen(&self.settings, inputs, left.len()) {
            self.ends.bass.store(&meter);
        }
    }

    /// Reads the parameters if one has moved; true if so.
    fn read_settings(&mut self) -> bool {
        let moves = self.ends.moves.count();
        let moved = moves != self.moves_seen;
        if moved {
            self.moves_seen = moves;
            self.settings = self.params.settings();
        }
        moved
    }
}

/// Finds out which calls of `process` belong to one block of the host. The framework cuts a block where
/// parameters change, and passes its parts on one by one. They lie one after the other in the same
/// buffer.
#[derive(Debug, Default)]
struct BlockPart {
    /// The address after the last part.
    end: usize,
    /// Samples of the block before the current part.
    before_samples: u32,
    samples: u32,
}

impl BlockPart {
    /// Begins a part, and returns how many samples of its block come before it.
    fn begin(&mut self, channel: &[f32], samples: u32) -> u32 {
        let range = channel.as_ptr_range();
        self.before_samples = if range.start.addr() == self.end {
            self.before_samples.saturating_add(self.samples)
        } else {
            0
        };
        self.end = range.end.addr();
        self.samples = samples;
        self.before_samples
    }
}

/// The channels of a port.
fn channels<'a>(port: &'a Buffer<'_>) -> impl Iterator<Item = &'a [f32]> + Clone {
    port.as_slice_immutable().iter().map(|channel| &**channel)
}

/// What the framework passes on of the host's transport.
fn host_transport(transport: &Transport, api: PluginApi) -> HostTransport {
    HostTransport {
        playing: transport.playing,
        position_beats: if api == PluginApi::Standalone {
            jack_position(transport).or_else(|| transport.pos_beats())
        } else {
            transport.pos_beats()
        },
        tempo_bpm: transport.tempo,
        signature: transport
            .time_sig_numerator
            .zip(transport.time_sig_denominator),
        loop_beats: transport.loop_range_beats(),
        // The framework passes on an empty transport where a host hands over none. In CLAP it fills in
        // whether there is a pre-roll, and in VST3 the position in samples, whatever the host says.
        given: transport.preroll_active.is_some()
            || transport.pos_samples.is_some()
            || transport.playing
            || transport.tempo.is_some(),
        sample_rate_hz: f64::from(transport.sample_rate),
        into_block_samples: 0,
        within_blocks: false,
    }
}

/// The position in quarter notes under a sound server that counts bars. JACK counts bars and beats from
/// one; the framework takes both from zero, and every bar for four quarter notes long. None where the
/// server counts none.
fn jack_position(transport: &Transport) -> Option<f64> {
    let (told, bar) = (transport.pos_beats?, transport.bar_number?);
    let (beats, unit) = (
        transport.time_sig_numerator?,
        transport.time_sig_denominator?,
    );
    let beat_quarters = 4.0 / f64::from(unit);
    let into_bar = told - f64::from(bar) * 4.0 - beat_quarters;
    Some((f64::from(bar) - 1.0) * f64::from(beats) * beat_quarters + into_bar)
}

impl ClapPlugin for Guidehand {
    const CLAP_ID: &'static str = "org.guidehand.guidehand";
    const CLAP_DESCRIPTION: Option<&'static str> =
        Some("Rootless jazz voicings from roots and chord symbols");
    const CLAP_MANUAL_URL: Option<&'static str> = None;
    const CLAP_SUPPORT_URL: Option<&'static str> = None;
    const CLAP_FEATURES: &'static [ClapFeature] = &[
        ClapFeature::NoteEffect,
        ClapFeature::Instrument,
        ClapFeature::Stereo,
    ];

    fn remote_controls(&self, context: &mut impl RemoteControlsContext) {
        controls::lay_out(&self.params, context);
    }
}

impl Vst3Plugin for Guidehand {
    const VST3_CLASS_ID: [u8; 16] = *b"GuidehandVoicing";
    const VST3_SUBCATEGORIES: &'static [Vst3SubCategory] =
        &[Vst3SubCategory::Instrument, Vst3SubCategory::Tools];
}

#[cfg(test)]
mod tests;
