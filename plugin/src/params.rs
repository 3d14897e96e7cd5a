//! The parameters: ids, ranges and names. Ids are frozen; labels may change. The host's main
//! thread and the panel set them, the audio thread reads them. Imports `bridge`, `settings`,
//! `rhythm`, the theory and the bass crate; `editor` and `host` import it.

mod chart;
mod choices;
mod drawn;
mod files;
mod make;
mod melody;
mod panel;
mod practice;
pub mod state;

pub use choices::*;
pub use drawn::DrawnPattern;
pub use files::FilesCell;
use make::Make;
pub use make::interval;
pub use melody::MelodyCell;
pub use panel::*;

use crate::bridge::chart::ChartCell;
use crate::bridge::ends::ParamsEnds;
use crate::bridge::practice::{ChartNow, PracticeCell, Surroundings};
#[cfg(test)]
use crate::bridge::{drawn::channel, moves::Counter};
use crate::engine::rhythm::{Groove, Rhythm};
use crate::engine::settings::{
    BassSettings, ChartSettings, PlanFor, RightHandSettings, Settings, Shapes, Source,
};
use guidehand_bass::{HIGHEST_A4_HZ, LOWEST_A4_HZ, Reference};
use guidehand_theory::candidates::{Edges, Hand, Register};
use guidehand_theory::key::Key;
use guidehand_theory::pipeline::Taste;
use guidehand_theory::pitch::{MidiNote, PitchClass};
use guidehand_theory::tension::TensionRequests;
use nice_plug::prelude::{BoolParam, Enum, EnumParam, FloatParam, IntParam, Params};
use state::Extras;
use std::sync::Arc;

/// The plugin's parameters and saved fields.
#[derive(Params)]
pub struct GuidehandParams {
    /// The chart's text; no parameter, but saved.
    #[persist = "chart"]
    pub chart: ChartCell,
    /// The pattern that the user has drawn.
    #[persist = "drawn"]
    pub drawn: DrawnPattern,
    /// The window's size, its zoom and its look.
    #[persist = "panel"]
    pub panel: PanelCell,
    /// The melody of a version that had none in its document.
    #[persist = "melody"]
    pub melody: MelodyCell,
    /// The files that were used last.
    #[persist = "files"]
    pub files: FilesCell,
    /// The exercise and the record of practice.
    #[persist = "practice"]
    pub practice: PracticeCell,
    /// The format, and what is kept of later versions.
    #[nested]
    pub extras: Extras,

    /// Whether the input passes and nothing is generated.
    #[id = "bypass"]
    pub bypass: BoolParam,
    /// Where chords come from.
    #[id = "source"]
    pub source: EnumParam<SourceParam>,
    /// The lowest key of the right hand, a MIDI note.
    #[id = "split"]
    pub split: IntParam,
    /// The key's tonic.
    #[id = "key"]
    pub tonic: EnumParam<TonicParam>,
    /// The key's mode.
    #[id = "mode"]
    pub mode: EnumParam<ModeParam>,
    /// Whether the key also holds for the chart, instead of the keys found in it.
    #[id = "pin_key"]
    pub pin_key: BoolParam,
    /// The ninth of open dominants.
    #[id = "ninth"]
    pub ninth: EnumParam<NinthParam>,
    /// The eleventh of open dominants.
    #[id = "eleventh"]
    pub eleventh: EnumParam<EleventhParam>,
    /// The thirteenth of open dominants.
    #[id = "thirteenth"]
    pub thirteenth: EnumParam<ThirteenthParam>,
    /// The texture.
    #[id = "texture"]
    pub texture: EnumParam<TextureParam>,
    /// The bottom of the register, a MIDI note.
    #[id = "lowest"]
    pub lowest: IntParam,
    /// The top of the register, a MIDI note.
    #[id = "highest"]
    pub highest: IntParam,
    /// Whether the chart sounds only while a key below the split is held.
    #[id = "gate"]
    pub gate: BoolParam,
    /// How loud the chart plays, 0 to 1.
    #[id = "velocity"]
    pub velocity: FloatParam,
    /// Whether a root or slash bass sounds.
    #[id = "bass"]
    pub bass: BoolParam,
    /// The bass's MIDI channel, 1 to 16.
    #[id = "bass_ch"]
    pub bass_channel: IntParam,
    /// Whether the audition tone sounds.
    #[id = "tone"]
    pub tone: BoolParam,
    /// The audition tone's gain, linear.
    #[id = "tone_lvl"]
    pub tone_level: FloatParam,
    /// Counts edits of saved fields, so that hosts offer to save: they do so when a parameter
    /// moves, and the framework does not tell them of other fields.
    #[id = "revision"]
    pub revision: IntParam,
    /// When chords are struck.
    #[id = "rhythm"]
    pub rhythm: EnumParam<RhythmParam>,
    /// Where the off-beat eighth lies in its beat, 0.5 to 0.75.
    #[id = "swing"]
    pub swing: FloatParam,
    /// Whether swing grows straighter at high tempi.
    #[id = "swing_bpm"]
    pub swing_follows: BoolParam,
    /// A factor for the length of chords, 0.25 to 2.
    #[id = "length"]
    pub length: FloatParam,
    /// How much accents stand out, 0 to 1.
    #[id = "accents"]
    pub accents: FloatParam,
    /// How far a chord may be off its time, 0 to 30 ms.
    #[id = "touch_ms"]
    pub touch_ms: FloatParam,
    /// How far a chord may be off its velocity, 0 to 20 steps of MIDI.
    #[id = "touch_vel"]
    pub touch_velocity: IntParam,
    /// How much a pattern is thinned (down to -1) or filled (up to 1).
    #[id = "density"]
    pub density: FloatParam,
    /// Whether off-beats right before a change take the coming chord.
    #[id = "ahead"]
    pub ahead: BoolParam,
    /// The seed of everything that varies on purpose.
    #[id = "seed"]
    pub seed: IntParam,
    /// Whether inner lines sound within dominants.
    #[id = "inner"]
    pub inner_lines: BoolParam,
    /// Whether a change of a parameter is heard at once.
    #[id = "at_once"]
    pub at_once: BoolParam,
    /// The bar of the song in which the chart starts, from 1.
    #[id = "from_bar"]
    pub from_bar: IntParam,
    /// Whether the chart starts again at its end.
    #[id = "repeats"]
    pub repeats: BoolParam,
    /// The tempo where the host reports none, in quarter notes a minute.
    #[id = "tempo"]
    pub tempo: FloatParam,
    /// The level below which no bass is heard, in dB, -80 to -20.
    #[id = "bass_gate"]
    pub bass_gate: FloatParam,
    /// Whether the tuning reference is measured.
    #[id = "bass_tune"]
    pub bass_tunes: BoolParam,
    /// The tuning reference where it is not measured: A4, 430 to 450 Hz.
    #[id = "bass_a4"]
    pub bass_a4: FloatParam,
    /// What the notes of a bass are compared with.
    #[id = "bass_by"]
    pub bass_by: EnumParam<BassByParam>,
    /// The ninth of chords that are no dominants.
    #[id = "plain_9"]
    pub plain_ninth: EnumParam<PlainNinthParam>,
    /// The eleventh of minor, half-diminished and suspended chords.
    #[id = "minor_11"]
    pub minor_eleventh: EnumParam<MinorEleventhParam>,
    /// The eleventh of major chords.
    #[id = "major_11"]
    pub major_eleventh: EnumParam<MajorEleventhParam>,
    /// The sixth or seventh of major tonics.
    #[id = "major_i"]
    pub major_tonic: EnumParam<MajorTonicParam>,
    /// The sixth or seventh of minor tonics.
    #[id = "minor_i"]
    pub minor_tonic: EnumParam<MinorTonicParam>,
    /// The widest span that one hand takes at ease, in semitones, 12 to 17.
    #[id = "hand_ease"]
    pub hand_at_ease: IntParam,
    /// The widest span of one hand, in semitones, 12 to 17. If it is below the span at ease, the
    /// span at ease counts.
    #[id = "hand_most"]
    pub hand_at_most: IntParam,
    /// Whether no note may lie beyond the register's ends.
    #[id = "hard_edges"]
    pub hard_edges: BoolParam,
    /// How freely patterns, lengths and velocities vary, 0 (exactly as written) to 1.
    #[id = "variation"]
    pub variation: FloatParam,
    /// How far chords yield to what the right hand plays.
    #[id = "yield"]
    pub yielding: EnumParam<YieldParam>,
    /// Whether a chord that is struck again keeps its notes but for those that the right hand has
    /// spoken against since.
    #[id = "revoice"]
    pub revoices: BoolParam,
    /// How much room the rhythm leaves to the right hand, 0 to 1.
    #[id = "space"]
    pub space: FloatParam,
    /// The chords under the keys of the right hand.
    #[id = "under"]
    pub under: EnumParam<UnderParam>,
    /// Keys of the right hand that follow one another sooner are left single, 0 to 500 ms.
    #[id = "single_ms"]
    pub single_ms: IntParam,
    /// Whether the chords of the left hand sound. Otherwise they are only known.
    #[id = "comps"]
    pub comps: BoolParam,
}

/// The highest value of the edit counter, which then starts again at 0.
pub const LAST_REVISION: i32 = 9999;
/// The slowest and the fastest tempo of our own, in quarter notes a minute.
pub const OWN_TEMPI_BPM: (f32, f32) = (30.0, 300.0);

impl GuidehandParams {
    /// The parameters at their defaults, whose moves nobody reads.
    #[cfg(test)]
    #[must_use]
    pub fn new(chart: ChartCell) -> Self {
        Self::of(ParamsEnds {
            chart,
            drawn: channel(),
            practice: PracticeCell::default(),
            moves: Counter::default(),
            own_bpm: 120.0,
        })
    }

    fn of(ends: ParamsEnds) -> Self {
        let ParamsEnds {
            chart,
            drawn,
            practice,
            moves,
            own_bpm,
        } = ends;
        let of = &Make::new(moves.clone());
        let params = Self {
            chart,
            drawn: DrawnPattern::new(drawn, moves),
            panel: PanelCell::default(),
            melody: MelodyCell::default(),
            files: FilesCell::default(),
            practice,
            extras: Extras::default(),
            bypass: of.switch("Bypass", false).make_bypass(),
            source: of.choice("Chords from", SourceParam::Chart),
            split: of.note("Split", 60, 0, 127),
            tonic: of.choice("Key", TonicParam::C),
            mode: of.choice("Mode", ModeParam::Major),
            pin_key: of.switch("Lock chart to key", false),
            ninth: of.choice("Ninth", NinthParam::ByContext),
            eleventh: of.choice("Eleventh", EleventhParam::ByContext),
            thirteenth: of.choice("Thirteenth", ThirteenthParam::ByContext),
            texture: of.choice("Texture", TextureParam::FourNotes),
            lowest: of.note("Register from", 50, 36, 60),
            highest: of.note("Register to", 69, 60, 96),
            gate: of.switch("Play while a key is held", false),
            velocity: of.percent("Chart velocity", 0.7, 0.01, 1.0),
            bass: of.switch("Bass note", false),
            bass_channel: of.number("Bass channel", 2, 1, 16),
            tone: of.switch("Audition tone", true),
            tone_level: of.gain("Audition level", -9.0, -48.0),
            revision: of
                .number("Chart revision", 0, 0, LAST_REVISION)
                .non_automatable()
                .hide()
                .hide_in_generic_ui(),
            rhythm: of.choice("Rhythm", RhythmParam::Hold),
            swing: of.percent("Swing", 2.0 / 3.0, 0.5, 0.75),
            swing_follows: of.switch("Swing follows tempo", true),
            length: of.percent("Length", 1.0, 0.25, 2.0),
            accents: of.percent("Accents", 0.5, 0.0, 1.0),
            touch_ms: of.measure(("Looseness, time", " ms"), 0.0, (0.0, 30.0), 0),
            touch_velocity: of.number("Looseness, velocity", 0, 0, 20),
            density: of.percent("Density", 0.0, -1.0, 1.0),
            ahead: of.switch("Anticipation", true),
            seed: of.number("Take", 1, 0, 9999),
            inner_lines: of.switch("Inner lines", false),
            at_once: of.switch("Apply immediately", false),
            from_bar: of.number("Chart from bar", 1, 1, 999),
            repeats: of.switch("Chart repeats", true),
            tempo: of.measure(("Tempo without host", " bpm"), own_bpm, OWN_TEMPI_BPM, 0),
            bass_gate: of.measure(("Bass gate", " dB"), -60.0, (-80.0, -20.0), 0),
            bass_tunes: of.switch("Automatic bass tuning", true),
            bass_a4: of.measure(
                ("Bass tuning", " Hz"),
                440.0,
                (LOWEST_A4_HZ, HIGHEST_A4_HZ),
                1,
            ),
            bass_by: of.choice("Bass follows", BassByParam::Chart),
            plain_ninth: of.choice("Ninth on other chords", PlainNinthParam::ByContext),
            minor_eleventh: of.choice("Eleventh on minor chords", MinorEleventhParam::ByContext),
            major_eleventh: of.choice("Eleventh on major chords", MajorEleventhParam::ByContext),
            major_tonic: of.choice("Major tonic", MajorTonicParam::ByContext),
            minor_tonic: of.choice("Minor tonic", MinorTonicParam::ByContext),
            hand_at_ease: of.span("Hand at ease", Hand::DEFAULT.at_ease),
            hand_at_most: of.span("Hand at most", Hand::DEFAULT.at_most),
            hard_edges: of.switch("Hard register edges", false),
            variation: of.percent("Variation", 0.0, 0.0, 1.0),
            yielding: of.choice("Yield to the melody", YieldParam::Off),
            revoices: of.switch("Re-voice repeated chords", false),
            space: of.percent("Space for the melody", 0.0, 0.0, 1.0),
            under: of.choice("Chords under the melody", UnderParam::Off),
            single_ms: of.whole(("Left single under", " ms"), 100, (0, 500)),
            comps: of.switch("Left hand comps", true),
        };
        state::know(&params);
        params
    }

    /// The parameters at their defaults, to be shared by several threads. From now on the chart
    /// is planned for them.
    #[must_use]
    pub fn with_ends(ends: ParamsEnds) -> Arc<Self> {
        let params = Arc::new(Self::of(ends));
        let weak = Arc::downgrade(&params);
        params.chart.look_up(move || {
            let params = weak.upgrade();
            params.map(|p| p.plan_for_now()).unwrap_or_default()
        });
        let weak = Arc::downgrade(&params);
        params
            .practice
            .look_up(move |wanted| weak.upgrade()?.practised_now(wanted));
        params
    }

    /// The key in force for played roots.
    #[must_use]
    pub fn key(&self) -> Key {
        let tonic = self.tonic.value().to_index();
        let class = PitchClass::wrapping(i32::try_from(tonic).unwrap_or(0));
        Key::usual(class, self.mode.value().into())
    }

    /// What a plan of the chart depends on.
    #[must_use]
    pub fn plan_for(&self) -> PlanFor {
        PlanFor {
            register: self.register(),
            pinned: self.pin_key.value().then(|| self.key()),
            yielding: self.yielding.value().into(),
        }
    }

    /// What a plan of the chart depends on, and the shapes that are planned first.
    fn plan_for_now(&self) -> (PlanFor, Shapes) {
        (self.plan_for(), self.texture.value().into())
    }

    /// What a drill depends on; none where practice is not in force and no drill is wanted all the same.
    fn practised_now(&self, wanted: bool) -> Option<Surroundings> {
        if !wanted && self.source.value() != SourceParam::Practice {
            return None;
        }
        let read = self.chart.latest();
        let in_force = read.chart.as_ref().ok().filter(|_| !read.waits);
        let planned = read.planned.as_ref();
        let chart = in_force.map(|chart| ChartNow {
            edition: read.edition,
            chart: chart.clone(),
            pins: planned.map_or_else(Vec::new, |planned| planned.pinned_voicings()),
        });
        Some(Surroundings {
            taste: self.taste(),
            shapes: read.own.shapes().clone(),
            key: self.plan_for().pinned,
            chart,
        })
    }

    fn register(&self) -> Register {
        let span = |param: &IntParam| u8::try_from(param.value()).unwrap_or(Hand::WIDEST);
        Register {
            edges: if self.hard_edges.value() {
                Edges::Hard
            } else {
                Edges::Soft
            },
            hand: Hand::new(span(&self.hand_at_ease), span(&self.hand_at_most)),
            ..Register::new(
                MidiNote::clamp(self.lowest.value()),
                MidiNote::clamp(self.highest.value()),
            )
        }
    }

    /// The values in force for the block that begins now.
    #[must_use]
    pub fn settings(&self) -> Settings {
        let channel = u8::try_from(self.bass_channel.value() - 1).unwrap_or(0);
        let source = self.source.value().into();
        Settings {
            bypass: self.bypass.value(),
            source,
            split: MidiNote::clamp(self.split.value()).number(),
            key: self.key(),
            taste: self.taste(),
            bass_channel: self.bass.value().then_some(channel),
            velocity: self.velocity.value(),
            groove: self.groove(source),
            chart: ChartSettings {
                gate: self.gate.value(),
                inner_lines: self.inner_lines.value(),
                from_bar: u16::try_from(self.from_bar.value()).unwrap_or(1),
                repeats: self.repeats.value(),
            },
            at_once: self.at_once.value(),
            own_bpm: f64::from(self.tempo.value()),
            bass: self.bass_settings(),
            right_hand: self.right_hand(),
            comps: self.comps.value(),
        }
    }

    fn right_hand(&self) -> RightHandSettings {
        RightHandSettings {
            yielding: self.yielding.value().into(),
            revoices: self.revoices.value(),
            space: f64::from(self.space.value()),
            under: self.under.value().into(),
            single_under_ms: u32::try_from(self.single_ms.value()).unwrap_or(0),
        }
    }

    fn bass_settings(&self) -> BassSettings {
        BassSettings {
            gate_db: self.bass_gate.value(),
            tuned: if self.bass_tunes.value() {
                Reference::Measured
            } else {
                Reference::Hand(self.bass_a4.value())
            },
            by_chart: self.bass_by.value() == BassByParam::Chart,
        }
    }

    fn taste(&self) -> Taste {
        Taste {
            register: self.register(),
            requests: TensionRequests {
                ninth: self.ninth.value().into(),
                eleventh: self.eleventh.value().into(),
                thirteenth: self.thirteenth.value().into(),
                plain_ninth: self.plain_ninth.value().into(),
                minor_eleventh: self.minor_eleventh.value().into(),
                major_eleventh: self.major_eleventh.value().into(),
                major_tonic: self.major_tonic.value().into(),
                minor_tonic: self.minor_tonic.value().into(),
            },
            ..Shapes::from(self.texture.value()).taste()
        }
    }

    fn groove(&self, source: Source) -> Groove {
        Groove {
            rhythm: match self.rhythm.value().into() {
                // A bass leaves the keys to the player.
                Rhythm::Played if source == Source::Bass => Rhythm::Hold,
                rhythm => rhythm,
            },
            drawn: self.drawn.get(),
            swing: f64::from(self.swing.value()),
            swing_follows: self.swing_follows.value(),
            length: f64::from(self.length.value()),
            accents: f64::from(self.accents.value()),
            touch_seconds: f64::from(self.touch_ms.value()) / 1000.0,
            touch_velocity: f64::from(self.touch_velocity.value()) / 127.0,
            density: f64::from(self.density.value()),
            ahead: self.ahead.value(),
            variation: f64::from(self.variation.value()),
            seed: u32::try_from(self.seed.value()).unwrap_or(0),
        }
    }
}
