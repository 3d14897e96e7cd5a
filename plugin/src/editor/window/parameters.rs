//! The framework's parameters as the panel knows them: what is shown of each, and how
//! one moves. The panel's thread; `window` imports it.

use crate::editor::model::parameters::{Control, Controls, Gesture, Move, ParameterId, Value};
use crate::params::GuidehandParams;
use nice_plug::prelude::{BoolParam, Enum, EnumParam, FloatParam, IntParam, Param, ParamSetter};

/// What there is to show of every parameter.
#[must_use]
pub fn controls(params: &GuidehandParams) -> Controls {
    Controls::new(|id| parameter(params, id).control(id))
}

/// Takes over what has moved since.
pub fn refresh(controls: &mut Controls, params: &GuidehandParams) {
    for control in controls.iter_mut() {
        parameter(params, control.id).refresh(control);
    }
}

/// Moves a parameter, and tells the host.
pub fn move_parameter(params: &GuidehandParams, setter: &ParamSetter, one: &Move) {
    parameter(params, one.id).go(setter, one);
}

/// A parameter of any kind.
trait Parameter {
    fn control(&self, id: ParameterId) -> Control;
    fn refresh(&self, control: &mut Control);
    fn go(&self, setter: &ParamSetter, one: &Move);
}

/// A parameter whose plain values are told as numbers, see [`Control`].
trait Numbered: Param {
    /// The number of a plain value.
    fn number(plain: Self::Plain) -> f64;
    /// The plain value of a number.
    fn plain(number: f64) -> Self::Plain;
    /// The names of the choices.
    fn choices() -> &'static [&'static str] {
        &[]
    }
}

impl Numbered for BoolParam {
    fn number(plain: bool) -> f64 {
        f64::from(u8::from(plain))
    }

    fn plain(number: f64) -> bool {
        number >= 0.5
    }
}

impl Numbered for IntParam {
    fn number(plain: i32) -> f64 {
        f64::from(plain)
    }

    fn plain(number: f64) -> i32 {
        // Rounded and in the range of a parameter.
        #[expect(clippy::cast_possible_truncation, reason = "MIDI notes and counts")]
        let whole = number.round() as i32;
        whole
    }
}

impl Numbered for FloatParam {
    fn number(plain: f32) -> f64 {
        f64::from(plain)
    }

    fn plain(number: f64) -> f32 {
        #[expect(clippy::cast_possible_truncation, reason = "percents and times")]
        let plain = number as f32;
        plain
    }
}

impl<T: Enum + PartialEq + 'static> Numbered for EnumParam<T> {
    fn number(plain: T) -> f64 {
        u32::try_from(plain.to_index()).map_or(0.0, f64::from)
    }

    fn plain(number: f64) -> T {
        let index = usize::try_from(IntParam::plain(number)).unwrap_or(0);
        T::from_index(index.min(T::variants().len().saturating_sub(1)))
    }

    fn choices() -> &'static [&'static str] {
        T::variants()
    }
}

impl<P: Numbered> Parameter for P {
    fn control(&self, id: ParameterId) -> Control {
        let end = |share: f32| P::number(self.preview_plain(share));
        let share = self.unmodulated_normalized_value();
        Control {
            id,
            value: P::number(self.modulated_plain_value()),
            set: P::number(self.unmodulated_plain_value()),
            share,
            default: P::number(self.default_plain_value()),
            range: end(0.0)..=end(1.0),
            text: self.normalized_value_to_string(share, true),
            choices: P::choices(),
        }
    }

    fn refresh(&self, control: &mut Control) {
        control.value = P::number(self.modulated_plain_value());
        let share = self.unmodulated_normalized_value();
        if share.to_bits() != control.share.to_bits() {
            control.share = share;
            control.set = P::number(self.unmodulated_plain_value());
            control.text = self.normalized_value_to_string(share, true);
        }
    }

    fn go(&self, setter: &ParamSetter, one: &Move) {
        let Some(plain) = wanted(self, &one.value) else {
            return;
        };
        match one.gesture {
            Gesture::Whole => {
                setter.begin_set_parameter(self);
                setter.set_parameter(self, plain);
                setter.end_set_parameter(self);
            }
            Gesture::Begin => setter.begin_set_parameter(self),
            Gesture::Change => setter.set_parameter(self, plain),
            Gesture::End => setter.end_set_parameter(self),
        }
    }
}

/// The plain value that is wanted; none where there is nothing to set: words that
/// say nothing, and a value that is set already.
fn wanted<P: Numbered>(param: &P, value: &Value) -> Option<P::Plain> {
    let unless_set = |plain| (plain != param.unmodulated_plain_value()).then_some(plain);
    match value {
        Value::Plain(number) => Some(P::plain(*number)),
        Value::Share(share) => Some(param.preview_plain(*share)),
        Value::Typed(words) => {
            let share = param.string_to_normalized_value(words.trim())?;
            unless_set(param.preview_plain(share))
        }
        Value::Default => unless_set(param.default_plain_value()),
    }
}

/// The parameter of an id.
fn parameter(params: &GuidehandParams, id: ParameterId) -> &dyn Parameter {
    match id {
        ParameterId::Bypass => &params.bypass,
        ParameterId::Source => &params.source,
        ParameterId::Split => &params.split,
        ParameterId::Tonic => &params.tonic,
        ParameterId::Mode => &params.mode,
        ParameterId::PinKey => &params.pin_key,
        ParameterId::Ninth => &params.ninth,
        ParameterId::Eleventh => &params.eleventh,
        ParameterId::Thirteenth => &params.thirteenth,
        ParameterId::Texture => &params.texture,
        ParameterId::Lowest => &params.lowest,
        ParameterId::Highest => &params.highest,
        ParameterId::Gate => &params.gate,
        ParameterId::Velocity => &params.velocity,
        ParameterId::Bass => &params.bass,
        ParameterId::BassChannel => &params.bass_channel,
        ParameterId::Tone => &params.tone,
        ParameterId::ToneLevel => &params.tone_level,
        ParameterId::Rhythm => &params.rhythm,
        ParameterId::Swing => &params.swing,
        ParameterId::SwingFollows => &params.swing_follows,
        ParameterId::Length => &params.length,
        ParameterId::Accents => &params.accents,
        ParameterId::TouchTime => &params.touch_ms,
        ParameterId::TouchVelocity => &params.touch_velocity,
        ParameterId::Density => &params.density,
        ParameterId::Ahead => &params.ahead,
        ParameterId::Seed => &params.seed,
        ParameterId::InnerLines => &params.inner_lines,
        ParameterId::AtOnce => &params.at_once,
        ParameterId::FromBar => &params.from_bar,
        ParameterId::Repeats => &params.repeats,
        ParameterId::Tempo => &params.tempo,
        ParameterId::BassGate => &params.bass_gate,
        ParameterId::BassTunes => &params.bass_tunes,
        ParameterId::BassA4 => &params.bass_a4,
        ParameterId::BassBy => &params.bass_by,
        ParameterId::PlainNinth => &params.plain_ninth,
        ParameterId::MinorEleventh => &params.minor_eleventh,
        ParameterId::MajorEleventh => &params.major_eleventh,
        ParameterId::MajorTonic => &params.major_tonic,
        ParameterId::MinorTonic => &params.minor_tonic,
        ParameterId::HandAtEase => &params.hand_at_ease,
        ParameterId::HandAtMost => &params.hand_at_most,
        ParameterId::HardEdges => &params.hard_edges,
        ParameterId::Variation => &params.variation,
        ParameterId::Yield => &params.yielding,
        ParameterId::Revoices => &params.revoices,
        ParameterId::Space => &params.space,
        ParameterId::Under => &params.under,
        ParameterId::SingleUnder => &params.single_ms,
        ParameterId::Comps => &params.comps,
    }
}
