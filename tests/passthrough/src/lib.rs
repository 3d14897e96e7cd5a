//! A plugin that does nothing on purpose: every event passes unchanged, the audio output is silent,
//! and the parameters are not read.
//!
//! It stands on the same framework as the real plugin and has about as many parameters, so a
//! benchmark of both separates the framework's cost from ours, and tests of the host have a plugin
//! to load. Nothing may import it: it is loaded from disk.

use nice_plug::prelude::*;
use std::sync::Arc;

/// Groups of parameters; with four each, 52 parameters.
const GROUPS: usize = 13;

/// The plugin. It holds no state besides its parameters.
#[derive(Default)]
struct Passthrough {
    params: Arc<Parameters>,
    #[cfg(feature = "assert_process_allocs")]
    allocates: Allocates,
}

/// Whether each block allocates, which the environment says while an instance is made. Only a
/// build that watches allocations has this switch.
#[cfg(feature = "assert_process_allocs")]
struct Allocates(bool);

#[cfg(feature = "assert_process_allocs")]
impl Default for Allocates {
    fn default() -> Self {
        Self(std::env::var_os("GUIDEHAND_PLANTED_ALLOCATION").is_some())
    }
}

/// All parameters, in groups of one of each kind.
#[derive(Default, Params)]
struct Parameters {
    #[nested(array, group = "Group")]
    groups: [Group; GROUPS],
}

/// One parameter of each kind that the framework knows.
#[derive(Params)]
struct Group {
    #[id = "level"]
    level: FloatParam,
    #[id = "steps"]
    steps: IntParam,
    #[id = "active"]
    active: BoolParam,
    #[id = "kind"]
    kind: EnumParam<Kind>,
}

/// The choices of an enum parameter.
#[derive(Enum, PartialEq)]
enum Kind {
    First,
    Second,
    Third,
}

impl Default for Group {
    fn default() -> Self {
        let unit = FloatRange::Linear { min: 0.0, max: 1.0 };
        let steps = IntRange::Linear { min: -12, max: 12 };
        Self {
            level: FloatParam::new("Level", 0.5, unit),
            steps: IntParam::new("Steps", 0, steps),
            active: BoolParam::new("Active", true),
            kind: EnumParam::new("Kind", Kind::First),
        }
    }
}

impl Plugin for Passthrough {
    const NAME: &'static str = "Guidehand Passthrough";
    const VENDOR: &'static str = "Guidehand";
    const URL: &'static str = "";
    const EMAIL: &'static str = "";
    const VERSION: &'static str = env!("CARGO_PKG_VERSION");

    const AUDIO_IO_LAYOUTS: &'static [AudioIOLayout] = &[AudioIOLayout {
        main_input_channels: None,
        main_output_channels: NonZeroU32::new(2),
        // As in the real plugin. The input is copied and not analysed.
        aux_input_ports: &[new_nonzero_u32(2)],
        ..AudioIOLayout::const_default()
    }];
    const MIDI_INPUT: MidiConfig = MidiConfig::MidiCCs;
    const MIDI_OUTPUT: MidiConfig = MidiConfig::MidiCCs;
    // As in the real plugin: parameter changes take effect at their sample.
    const SAMPLE_ACCURATE_AUTOMATION: bool = true;

    type Editor = ();
    type SysExMessage = ();
    type BackgroundTask = ();

    fn params(&self) -> Arc<dyn Params> {
        self.params.clone()
    }

    fn process(
        &mut self,
        buffer: &mut Buffer,
        _aux: &mut AuxiliaryBuffers,
        context: &mut impl ProcessContext<Self>,
    ) -> ProcessStatus {
        #[cfg(feature = "assert_process_allocs")]
        if self.allocates.0 {
            std::hint::black_box(Box::new(0_u64));
        }

        for channel in buffer.as_slice() {
            channel.fill(0.0);
        }
        while let Some(event) = context.next_event() {
            // A full queue refuses the event, and this plugin has no memory to keep it. The event
            // is lost, and the host can count it.
            let _ = context.try_send_event(event);
        }
        ProcessStatus::Normal
    }
}

impl ClapPlugin for Passthrough {
    const CLAP_ID: &'static str = "org.guidehand.passthrough";
    const CLAP_DESCRIPTION: Option<&'static str> = Some("Passes every event through");
    const CLAP_MANUAL_URL: Option<&'static str> = None;
    const CLAP_SUPPORT_URL: Option<&'static str> = None;
    const CLAP_FEATURES: &'static [ClapFeature] = &[ClapFeature::NoteEffect, ClapFeature::Utility];
}

impl Vst3Plugin for Passthrough {
    const VST3_CLASS_ID: [u8; 16] = *b"GuidehandPassThr";
    const VST3_SUBCATEGORIES: &'static [Vst3SubCategory] = &[Vst3SubCategory::Tools];
}

nice_export_clap!(Passthrough);
nice_export_vst3!(Passthrough);
