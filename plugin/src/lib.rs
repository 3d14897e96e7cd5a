//! Guidehand: rootless jazz voicings from roots and chord symbols, as a CLAP and
//! VST3 plugin. This file is wiring: ids, ports, and the way of a block through
//! the parts. Imports everything.

#![cfg_attr(
    not(test),
    deny(
        clippy::indexing_slicing,
        clippy::unwrap_used,
        clippy::expect_used,
        clippy::panic
    )
)]

mod chart_cell;
mod clock;
mod editor;
mod hand;
mod ledger;
mod listener;
mod midi;
mod params;
mod performer;
mod planner;
mod port;
mod settings;
mod snapshot;
mod song;
mod tone;

use chart_cell::{ChartCell, SongReceiver};
use clock::Clock;
use nice_plug::prelude::*;
use nice_plug_egui::RepaintNotifier;
use params::GuidehandParams;
use performer::{Block, Performer};
use port::HostPort;
use snapshot::{Reader, Writer};
use song::Song;
use std::sync::Arc;
use std::sync::atomic::Ordering;
use tone::Tone;

/// The plugin: one instance.
pub struct Guidehand {
    params: Arc<GuidehandParams>,
    songs: SongReceiver,
    song: Option<Box<Song>>,
    performer: Performer,
    tone: Tone,
    snapshots: Writer,
    /// Moves into the editor when that is made.
    reader: Option<Reader>,
    repaint: RepaintNotifier,
}

impl Default for Guidehand {
    fn default() -> Self {
        let (cell, songs) = ChartCell::new();
        let (snapshots, reader) = snapshot::channel();
        let params = Arc::new(GuidehandParams::new(cell));
        let weak = Arc::downgrade(&params);
        params
            .chart
            .look_up(move || weak.upgrade().map(|p| p.plan_for()).unwrap_or_default());
        Self {
            params,
            songs,
            song: None,
            performer: Performer::default(),
            tone: Tone::new(),
            snapshots,
            reader: Some(reader),
            repaint: RepaintNotifier::default(),
        }
    }
}

impl Plugin for Guidehand {
    const NAME: &'static str = "Guidehand";
    const VENDOR: &'static str = "Guidehand";
    const URL: &'static str = "";
    const EMAIL: &'static str = "";
    const VERSION: &'static str = env!("CARGO_PKG_VERSION");

    // The audition tone's; it serves hosts that insist on audio outputs too.
    const AUDIO_IO_LAYOUTS: &'static [AudioIOLayout] = &[AudioIOLayout {
        main_input_channels: None,
        main_output_channels: NonZeroU32::new(2),
        names: PortNames {
            main_input: Some("Audition"),
            main_output: Some("Audition"),
            ..PortNames::const_default()
        },
        ..AudioIOLayout::const_default()
    }];

    const MIDI_INPUT: MidiConfig = MidiConfig::MidiCCs;
    const MIDI_OUTPUT: MidiConfig = MidiConfig::MidiCCs;
    const SAMPLE_ACCURATE_AUTOMATION: bool = true;

    type Editor = editor::PanelEditor;
    type SysExMessage = ();
    type BackgroundTask = ();

    fn params(&self) -> Arc<dyn Params> {
        self.params.clone()
    }

    fn editor(&mut self, _: AsyncExecutor<Self>) -> Option<Self::Editor> {
        let reader = self.reader.take()?;
        editor::create(self.params.clone(), reader, self.repaint.clone())
    }

    fn activate(
        &mut self,
        _: &AudioIOLayout,
        buffers: &BufferConfig,
        _: &mut impl ActivateContext<Self>,
    ) -> bool {
        self.params.chart.plan_for(self.params.plan_for());
        planner::watch(&self.params);
        self.performer.set_sample_rate(buffers.sample_rate);
        self.tone.set_sample_rate(buffers.sample_rate);
        true
    }

    fn reset(&mut self) {
        self.performer.reset();
        self.tone.reset();
    }

    fn process(
        &mut self,
        buffer: &mut Buffer,
        _: &mut AuxiliaryBuffers,
        context: &mut impl ProcessContext<Self>,
    ) -> ProcessStatus {
        let song_is_new = self.songs.receive(&mut self.song);
        let frames = u32::try_from(buffer.samples()).unwrap_or(u32::MAX);
        let block = Block {
            settings: self.params.settings(),
            clock: clock(context.transport()),
            frames,
            song: self.song.as_deref(),
            song_is_new,
        };
        let [left, right] = buffer.as_slice() else {
            return ProcessStatus::Error("expected a stereo output");
        };
        let audition = self.params.tone.value() && !block.settings.bypass;
        let gain = self.params.tone_level.value();
        let mut port =
            HostPort::new(context, &mut self.tone, left, right).with_audition(audition, gain);
        self.performer.process(&block, &mut port);
        let peak = port.finish();
        // The panel takes the highest peak since its last frame, and starts it anew.
        if peak > self.params.tone_peak.load(Ordering::Relaxed) {
            self.params.tone_peak.store(peak, Ordering::Relaxed);
        }
        let snapshot = self.performer.snapshot(&block);
        if self.snapshots.publish(snapshot) {
            self.repaint.request_repaint();
        }
        ProcessStatus::KeepAlive
    }
}

fn clock(transport: &Transport) -> Clock {
    Clock::new(
        transport.playing,
        transport.pos_beats(),
        transport.tempo,
        f64::from(transport.sample_rate),
    )
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
}

impl Vst3Plugin for Guidehand {
    const VST3_CLASS_ID: [u8; 16] = *b"GuidehandVoicing";
    const VST3_SUBCATEGORIES: &'static [Vst3SubCategory] =
        &[Vst3SubCategory::Instrument, Vst3SubCategory::Tools];
}

nice_export_clap!(Guidehand);
nice_export_vst3!(Guidehand);
