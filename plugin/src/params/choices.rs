//! The parameters that are choices: saved ids, names, and what each choice is in the terms of
//! the engine and the theory. Ids are frozen; names may change. Plain values for any thread.
//! Imports `rhythm`, `settings` and the theory; `params` and `editor` import it.

use crate::engine::rhythm::Rhythm;
use crate::engine::settings::{Shapes, Source};
use guidehand_theory::comping::Yielding;
use guidehand_theory::key::Mode;
use guidehand_theory::shape::Texture;
use guidehand_theory::tension::{
    EleventhRequest, MajorEleventhRequest, MajorTonicRequest, MinorEleventhRequest,
    MinorTonicRequest, NinthRequest, PlainNinthRequest, ThirteenthRequest,
};
use guidehand_theory::under::Style;
use nice_plug::prelude::Enum;

/// Where chords come from.
#[derive(Clone, Copy, Debug, Enum, PartialEq, Eq)]
pub enum SourceParam {
    /// See [`Source::Roots`].
    #[id = "roots"]
    #[name = "Roots"]
    Roots,
    /// See [`Source::Chart`].
    #[id = "chart"]
    #[name = "Chart"]
    Chart,
    /// See [`Source::Reading`].
    #[id = "reading"]
    #[name = "My chords"]
    Reading,
    /// See [`Source::Bass`].
    #[id = "bass"]
    #[name = "Heard bass"]
    Bass,
    /// See [`Source::Practice`].
    #[id = "practice"]
    #[name = "Practice"]
    Practice,
}

/// What the notes of a bass are compared with.
#[derive(Clone, Copy, Debug, Enum, PartialEq, Eq)]
pub enum BassByParam {
    #[id = "chart"]
    #[name = "Chart"]
    Chart,
    #[id = "key"]
    #[name = "Key"]
    Key,
}

/// How far chords yield to the right hand.
#[derive(Clone, Copy, Debug, Enum, PartialEq, Eq)]
pub enum YieldParam {
    /// See [`Yielding::Off`].
    #[id = "off"]
    #[name = "Off"]
    Off,
    /// See [`Yielding::Tensions`].
    #[id = "tensions"]
    #[name = "Tensions"]
    Tensions,
    /// See [`Yielding::TensionsAndRegister`].
    #[id = "register"]
    #[name = "Tensions and register"]
    TensionsAndRegister,
}

/// The chords under the keys of the right hand.
#[derive(Clone, Copy, Debug, Enum, PartialEq, Eq)]
pub enum UnderParam {
    /// There are none.
    #[id = "off"]
    #[name = "Off"]
    Off,
    /// See [`Style::FourWayClose`].
    #[id = "close"]
    #[name = "Four-way close"]
    FourWayClose,
    /// See [`Style::DropTwo`].
    #[id = "drop2"]
    #[name = "Drop 2"]
    DropTwo,
    /// See [`Style::DoubleLead`].
    #[id = "double_lead"]
    #[name = "Double lead"]
    DoubleLead,
}

/// The tonic of the key.
#[derive(Clone, Copy, Debug, Enum, PartialEq, Eq)]
pub enum TonicParam {
    #[id = "c"]
    #[name = "C"]
    C,
    #[id = "db"]
    #[name = "Db"]
    Db,
    #[id = "d"]
    #[name = "D"]
    D,
    #[id = "eb"]
    #[name = "Eb"]
    Eb,
    #[id = "e"]
    #[name = "E"]
    E,
    #[id = "f"]
    #[name = "F"]
    F,
    #[id = "gb"]
    #[name = "F#/Gb"]
    Gb,
    #[id = "g"]
    #[name = "G"]
    G,
    #[id = "ab"]
    #[name = "Ab"]
    Ab,
    #[id = "a"]
    #[name = "A"]
    A,
    #[id = "bb"]
    #[name = "Bb"]
    Bb,
    #[id = "b"]
    #[name = "B"]
    B,
}

/// Major, minor, or the blues.
#[derive(Clone, Copy, Debug, Enum, PartialEq, Eq)]
pub enum ModeParam {
    #[id = "major"]
    #[name = "Major"]
    Major,
    #[id = "minor"]
    #[name = "Minor"]
    Minor,
    #[id = "blues"]
    #[name = "Blues"]
    Blues,
}

/// The ninth of open dominants.
#[derive(Clone, Copy, Debug, Enum, PartialEq, Eq)]
pub enum NinthParam {
    #[id = "context"]
    #[name = "By context"]
    ByContext,
    #[id = "9"]
    #[name = "9"]
    Nine,
    #[id = "b9"]
    #[name = "b9"]
    Flat9,
    #[id = "#9"]
    #[name = "#9"]
    Sharp9,
}

/// The eleventh of open dominants.
#[derive(Clone, Copy, Debug, Enum, PartialEq, Eq)]
pub enum EleventhParam {
    #[id = "context"]
    #[name = "By context"]
    ByContext,
    #[id = "none"]
    #[name = "None"]
    None,
    #[id = "#11"]
    #[name = "#11"]
    Sharp11,
}

/// The thirteenth of open dominants.
#[derive(Clone, Copy, Debug, Enum, PartialEq, Eq)]
pub enum ThirteenthParam {
    #[id = "context"]
    #[name = "By context"]
    ByContext,
    #[id = "none"]
    #[name = "None"]
    None,
    #[id = "13"]
    #[name = "13"]
    Thirteen,
    #[id = "b13"]
    #[name = "b13"]
    Flat13,
}

/// The ninth of chords that are no dominants.
#[derive(Clone, Copy, Debug, Enum, PartialEq, Eq)]
pub enum PlainNinthParam {
    #[id = "context"]
    #[name = "By context"]
    ByContext,
    #[id = "none"]
    #[name = "None"]
    None,
    #[id = "9"]
    #[name = "9"]
    Nine,
}

/// The eleventh of minor, half-diminished and suspended chords.
#[derive(Clone, Copy, Debug, Enum, PartialEq, Eq)]
pub enum MinorEleventhParam {
    #[id = "context"]
    #[name = "By context"]
    ByContext,
    #[id = "none"]
    #[name = "None"]
    None,
    #[id = "11"]
    #[name = "11"]
    Eleven,
}

/// The eleventh of major chords.
#[derive(Clone, Copy, Debug, Enum, PartialEq, Eq)]
pub enum MajorEleventhParam {
    #[id = "context"]
    #[name = "By context"]
    ByContext,
    #[id = "none"]
    #[name = "None"]
    None,
    #[id = "#11"]
    #[name = "#11"]
    Sharp11,
}

/// The sixth or seventh of major tonics.
#[derive(Clone, Copy, Debug, Enum, PartialEq, Eq)]
pub enum MajorTonicParam {
    #[id = "context"]
    #[name = "By context"]
    ByContext,
    #[id = "6"]
    #[name = "6"]
    Six,
    #[id = "7"]
    #[name = "maj7"]
    Seven,
}

/// The sixth or seventh of minor tonics.
#[derive(Clone, Copy, Debug, Enum, PartialEq, Eq)]
pub enum MinorTonicParam {
    #[id = "context"]
    #[name = "By context"]
    ByContext,
    #[id = "6"]
    #[name = "m6"]
    Six,
    #[id = "b7"]
    #[name = "m7"]
    Flat7,
    #[id = "7"]
    #[name = "m(maj7)"]
    Seven,
}

/// The texture of the voicings.
#[derive(Clone, Copy, Debug, Enum, PartialEq, Eq)]
pub enum TextureParam {
    #[id = "guide"]
    #[name = "Guide tones"]
    GuideTones,
    #[id = "three"]
    #[name = "Three notes"]
    ThreeNotes,
    #[id = "four"]
    #[name = "Four notes"]
    FourNotes,
    #[id = "fourths"]
    #[name = "Quartal"]
    Fourths,
    #[id = "open"]
    #[name = "Drop 2"]
    Open,
    #[id = "two_hands"]
    #[name = "Two hands"]
    TwoHands,
    #[id = "upper"]
    #[name = "Upper structure"]
    UpperStructure,
    #[id = "any"]
    #[name = "All inversions"]
    AnyRotation,
    #[id = "my"]
    #[name = "My voicings"]
    MyVoicings,
}

/// When chords are struck.
#[derive(Clone, Copy, Debug, Enum, PartialEq, Eq)]
pub enum RhythmParam {
    #[id = "hold"]
    #[name = "Sustained"]
    Hold,
    #[id = "charleston"]
    #[name = "Charleston"]
    Charleston,
    #[id = "late"]
    #[name = "Late Charleston"]
    LateCharleston,
    #[id = "off"]
    #[name = "Off-beats"]
    OffBeats,
    #[id = "2and4"]
    #[name = "Two and four"]
    TwoAndFour,
    #[id = "push"]
    #[name = "Anticipated"]
    Push,
    #[id = "bossa"]
    #[name = "Bossa"]
    Bossa,
    #[id = "waltz"]
    #[name = "Jazz waltz"]
    JazzWaltz,
    #[id = "drawn"]
    #[name = "Drawn"]
    Drawn,
    #[id = "played"]
    #[name = "Played"]
    Played,
    #[id = "reverse"]
    #[name = "Reverse Charleston"]
    ReverseCharleston,
    #[id = "4bar"]
    #[name = "Four to the bar"]
    FourToTheBar,
    #[id = "ballad"]
    #[name = "Half-time ballad"]
    Ballad,
    #[id = "2beat"]
    #[name = "Two-beat"]
    TwoBeat,
    #[id = "samba"]
    #[name = "Samba"]
    Samba,
    #[id = "bolero"]
    #[name = "Bolero"]
    Bolero,
    #[id = "6_8"]
    #[name = "Six-eight"]
    SixEight,
    #[id = "5_4"]
    #[name = "Five-four"]
    FiveFour,
    #[id = "gospel"]
    #[name = "Gospel waltz"]
    GospelWaltz,
}

impl From<SourceParam> for Source {
    fn from(param: SourceParam) -> Source {
        match param {
            SourceParam::Roots => Source::Roots,
            SourceParam::Chart => Source::Chart,
            SourceParam::Reading => Source::Reading,
            SourceParam::Bass => Source::Bass,
            SourceParam::Practice => Source::Practice,
        }
    }
}

impl From<ModeParam> for Mode {
    fn from(param: ModeParam) -> Mode {
        match param {
            ModeParam::Major => Mode::Major,
            ModeParam::Minor => Mode::Minor,
            ModeParam::Blues => Mode::Blues,
        }
    }
}

impl From<NinthParam> for NinthRequest {
    fn from(param: NinthParam) -> NinthRequest {
        match param {
            NinthParam::ByContext => NinthRequest::ByContext,
            NinthParam::Nine => NinthRequest::Nine,
            NinthParam::Flat9 => NinthRequest::Flat9,
            NinthParam::Sharp9 => NinthRequest::Sharp9,
        }
    }
}

impl From<EleventhParam> for EleventhRequest {
    fn from(param: EleventhParam) -> EleventhRequest {
        match param {
            EleventhParam::ByContext => EleventhRequest::ByContext,
            EleventhParam::None => EleventhRequest::None,
            EleventhParam::Sharp11 => EleventhRequest::Sharp11,
        }
    }
}

impl From<ThirteenthParam> for ThirteenthRequest {
    fn from(param: ThirteenthParam) -> ThirteenthRequest {
        match param {
            ThirteenthParam::ByContext => ThirteenthRequest::ByContext,
            ThirteenthParam::None => ThirteenthRequest::None,
            ThirteenthParam::Thirteen => ThirteenthRequest::Thirteen,
            ThirteenthParam::Flat13 => ThirteenthRequest::Flat13,
        }
    }
}

impl From<PlainNinthParam> for PlainNinthRequest {
    fn from(param: PlainNinthParam) -> PlainNinthRequest {
        match param {
            PlainNinthParam::ByContext => PlainNinthRequest::ByContext,
            PlainNinthParam::None => PlainNinthRequest::None,
            PlainNinthParam::Nine => PlainNinthRequest::Nine,
        }
    }
}

impl From<MinorEleventhParam> for MinorEleventhRequest {
    fn from(param: MinorEleventhParam) -> MinorEleventhRequest {
        match param {
            MinorEleventhParam::ByContext => MinorEleventhRequest::ByContext,
            MinorEleventhParam::None => MinorEleventhRequest::None,
            MinorEleventhParam::Eleven => MinorEleventhRequest::Eleven,
        }
    }
}

impl From<MajorEleventhParam> for MajorEleventhRequest {
    fn from(param: MajorEleventhParam) -> MajorEleventhRequest {
        match param {
            MajorEleventhParam::ByContext => MajorEleventhRequest::ByContext,
            MajorEleventhParam::None => MajorEleventhRequest::None,
            MajorEleventhParam::Sharp11 => MajorEleventhRequest::Sharp11,
        }
    }
}

impl From<MajorTonicParam> for MajorTonicRequest {
    fn from(param: MajorTonicParam) -> MajorTonicRequest {
        match param {
            MajorTonicParam::ByContext => MajorTonicRequest::ByContext,
            MajorTonicParam::Six => MajorTonicRequest::Six,
            MajorTonicParam::Seven => MajorTonicRequest::Seven,
        }
    }
}

impl From<MinorTonicParam> for MinorTonicRequest {
    fn from(param: MinorTonicParam) -> MinorTonicRequest {
        match param {
            MinorTonicParam::ByContext => MinorTonicRequest::ByContext,
            MinorTonicParam::Six => MinorTonicRequest::Six,
            MinorTonicParam::Flat7 => MinorTonicRequest::Flat7,
            MinorTonicParam::Seven => MinorTonicRequest::Seven,
        }
    }
}

impl From<YieldParam> for Yielding {
    fn from(param: YieldParam) -> Yielding {
        match param {
            YieldParam::Off => Yielding::Off,
            YieldParam::Tensions => Yielding::Tensions,
            YieldParam::TensionsAndRegister => Yielding::TensionsAndRegister,
        }
    }
}

impl From<UnderParam> for Option<Style> {
    fn from(param: UnderParam) -> Option<Style> {
        match param {
            UnderParam::Off => None,
            UnderParam::FourWayClose => Some(Style::FourWayClose),
            UnderParam::DropTwo => Some(Style::DropTwo),
            UnderParam::DoubleLead => Some(Style::DoubleLead),
        }
    }
}

impl From<TextureParam> for Shapes {
    fn from(param: TextureParam) -> Shapes {
        Shapes::Texture(match param {
            TextureParam::GuideTones => Texture::GuideTones,
            TextureParam::ThreeNotes => Texture::ThreeNotes,
            TextureParam::FourNotes => Texture::FourNotes,
            TextureParam::Fourths => Texture::Fourths,
            TextureParam::Open => Texture::Open,
            TextureParam::TwoHands => Texture::TwoHands,
            TextureParam::UpperStructure => Texture::UpperStructure,
            TextureParam::AnyRotation => Texture::AnyRotation,
            TextureParam::MyVoicings => return Shapes::Own,
        })
    }
}

impl From<RhythmParam> for Rhythm {
    fn from(param: RhythmParam) -> Rhythm {
        match param {
            RhythmParam::Hold => Rhythm::Hold,
            RhythmParam::Charleston => Rhythm::Charleston,
            RhythmParam::LateCharleston => Rhythm::LateCharleston,
            RhythmParam::OffBeats => Rhythm::OffBeats,
            RhythmParam::TwoAndFour => Rhythm::TwoAndFour,
            RhythmParam::Push => Rhythm::Push,
            RhythmParam::Bossa => Rhythm::Bossa,
            RhythmParam::JazzWaltz => Rhythm::JazzWaltz,
            RhythmParam::Drawn => Rhythm::Drawn,
            RhythmParam::Played => Rhythm::Played,
            RhythmParam::ReverseCharleston => Rhythm::ReverseCharleston,
            RhythmParam::FourToTheBar => Rhythm::FourToTheBar,
            RhythmParam::Ballad => Rhythm::Ballad,
            RhythmParam::TwoBeat => Rhythm::TwoBeat,
            RhythmParam::Samba => Rhythm::Samba,
            RhythmParam::Bolero => Rhythm::Bolero,
            RhythmParam::SixEight => Rhythm::SixEight,
            RhythmParam::FiveFour => Rhythm::FiveFour,
            RhythmParam::GospelWaltz => Rhythm::GospelWaltz,
        }
    }
}
