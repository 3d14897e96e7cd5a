//! The parts that chords play in a key, and where dominants go.

use std::fmt;

/// A chord's part in its key. Roman numerals of targets count from the tonic.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// A chord of the key on its own degree.
    Diatonic,
    /// The tonic.
    Tonic,
    /// The dominant of the key.
    Dominant,
    /// The dominant of another degree, semitones above the tonic.
    SecondaryDominant(u8),
    /// The ii of a secondary dominant's target, semitones above the tonic.
    RelatedTwo(u8),
    /// A dominant a half step above its target.
    TritoneSubstitute(u8),
    /// bVII7 that steps up to the tonic.
    Backdoor,
    /// A diminished chord a half step below, or above, the next root.
    PassingDiminished,
    /// A diminished chord on the root of the chord it goes to.
    CommonToneDiminished,
    /// The diminished chord on the leading tone.
    LeadingTone,
    /// A chord of the parallel key.
    Borrowed,
    /// A chord from further away.
    Chromatic,
}

/// Where a chord goes, as far as a dominant's tensions care.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Goes {
    /// Down a fifth to a major chord.
    FifthToMajor,
    /// Down a fifth to a minor chord.
    FifthToMinor,
    /// Down a half step.
    HalfStep,
    /// bVII7 up a step to the tonic.
    Backdoor,
    /// bVI7 down a half step to V, or II7 to ii or V.
    ToTheDominant,
    /// It stays, or goes where no dominant is bound to go.
    Rest,
}

impl Goes {
    /// The reason that it gives for a choice, in a line.
    #[must_use]
    pub const fn reason(self) -> &'static str {
        match self {
            Goes::FifthToMajor => "falls a fifth to a major chord",
            Goes::FifthToMinor => "falls a fifth to a minor chord",
            Goes::HalfStep => "falls a half step",
            Goes::Backdoor => "steps up to the tonic",
            Goes::ToTheDominant => "prepares the dominant",
            Goes::Rest => "at rest",
        }
    }
}

const NUMERALS: [&str; 12] = [
    "I", "bII", "II", "bIII", "III", "IV", "#IV", "V", "bVI", "VI", "bVII", "VII",
];

fn numeral(above: u8) -> &'static str {
    NUMERALS.get(usize::from(above)).copied().unwrap_or("?")
}

impl Role {
    pub(super) fn write(self, f: &mut fmt::Formatter<'_>, above: u8) -> fmt::Result {
        let here = numeral(above);
        match self {
            Role::Diatonic | Role::Tonic | Role::Dominant => f.write_str(here),
            Role::SecondaryDominant(to) => write!(f, "V of {}", numeral(to)),
            Role::RelatedTwo(of) => write!(f, "ii of {}", numeral(of)),
            Role::TritoneSubstitute(to) => write!(f, "tritone substitute to {}", numeral(to)),
            Role::Backdoor => write!(f, "{here}, backdoor"),
            Role::PassingDiminished => write!(f, "{here}, passing diminished"),
            Role::CommonToneDiminished => write!(f, "{here}, common-tone diminished"),
            Role::LeadingTone => write!(f, "{here}, leading tone"),
            Role::Borrowed => write!(f, "{here}, borrowed"),
            Role::Chromatic => write!(f, "{here}, chromatic"),
        }
    }
}
