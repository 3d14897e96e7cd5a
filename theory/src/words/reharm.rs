//! Words for other harmonies: what a proposal is called, why it works, and which notes of the
//! melody clash with it. Imports `out`.

use super::out::{Out, Words, display_in_ascii};
use crate::reharm::{ClashingNote, Fall, Lender, Name, Reason, Substitution, Turnaround};
use std::fmt::{self, Write};

display_in_ascii!(ClashingNote, Substitution, Name, Reason);

impl Words for Substitution {
    fn write(&self, out: &mut Out) -> fmt::Result {
        out.write_str(match self {
            Substitution::AlteredDominant => "altered dominant",
            Substitution::TritoneSubstitute => "tritone substitute",
            Substitution::RelatedTwo => "related ii",
            Substitution::SecondaryDominant => "secondary dominant",
            Substitution::Suspension => "suspension",
            Substitution::Backdoor => "backdoor",
            Substitution::Diminished => "diminished",
            Substitution::LineCliche => "line cliche",
            Substitution::Approach => "approach by step",
            Substitution::Blues => "blues",
            Substitution::Deceptive => "deceptive cadence",
            Substitution::Relative => "relative exchange",
            Substitution::Interchange => "modal interchange",
            Substitution::Chain => "extended dominants",
            Substitution::SideSlip => "side-slip",
            Substitution::Turnaround => "turnaround",
            Substitution::ThirdsCycle => "thirds cycle",
            Substitution::Pedal => "pedal",
        })
    }
}

impl Words for Name {
    fn write(&self, out: &mut Out) -> fmt::Result {
        out.write_str(match *self {
            Name::Flat9And13 => "♭9 and 13",
            Name::Sharp11 => "♯11",
            Name::Flat9AndFlat13 => "♭9 and ♭13",
            Name::Sharp9AndFlat13 => "♯9 and ♭13",
            Name::Altered => "altered",
            Name::BackdoorDominant => "backdoor dominant",
            Name::BackdoorTwoFive => "backdoor ii-V",
            Name::TwoByFifths => "two dominants by fifths",
            Name::ThreeByFifths => "three dominants by fifths",
            Name::TwoByHalfSteps => "two dominants by half steps",
            Name::ThreeByHalfSteps => "three dominants by half steps",
            Name::ByFifths => "dominants by fifths",
            Name::ByHalfSteps => "dominants by half steps",
            Name::Deceptive(instead) => {
                let instead = out.words(&instead);
                return write!(out, "deceptive: {instead}");
            }
            Name::DelayedBy(first) => {
                let first = out.words(&first);
                return write!(out, "delayed by {first}");
            }
            Name::DelayedByTwo(first, second) => {
                let (first, second) = (out.words(&first), out.words(&second));
                return write!(out, "delayed by {first} and {second}");
            }
            Name::MajorEnding => "major ending in minor",
            Name::PassingUp => "passing diminished, upwards",
            Name::PassingDown => "passing diminished, downwards",
            Name::RaisedFour => "♯ivdim between IV and I",
            Name::RaisedFourForFour => "♯ivdim for IV",
            Name::ClicheInMinor => "line cliche, 1 7 ♭7 6",
            Name::ClicheInBass => "line cliche in the bass",
            Name::ClicheInMajor => "line cliche, 5 ♯5 6",
            Name::ApproachFromAbove => "approach from a half step above",
            Name::ApproachFromBelow => "approach from a half step below",
            Name::WalkUp => "walk up to the next chord",
            Name::WalkDown => "walk down to the next chord",
            Name::QuickChange => "quick change",
            Name::SixSeven => "VI7 for I7",
            Name::TwoFiveOfTwo => "ii-V of ii for I7",
            Name::DownToSix => "dominants by half steps down to VI7",
            Name::TwoFivesDown => "ii-Vs by half steps down to ii",
            Name::FiveFourForTwoFive => "V-IV for ii-V",
            Name::TwoFiveForFiveFour => "ii-V for V-IV",
            Name::FlatSixFiveForFiveFour => "♭VI7-V7 for V-IV",
            Name::AboveTwo => "diminished above ii",
            Name::LeadingTone => "leading-tone diminished",
            Name::CommonToneDelay => "common-tone diminished, delaying the chord",
            Name::CommonToneOutAndBack => "common-tone diminished, out and back",
            Name::For { new, old } => {
                let (new, old) = (out.words(&new), out.words(&old));
                return write!(out, "{new} for {old}");
            }
            Name::FourSeven => "IV7 for iv",
            Name::MinorPlagal => "minor plagal",
            Name::FourTurnsMinor => "IV turns minor",
            Name::DominantPedal => "dominant pedal",
            Name::TonicPedal => "tonic pedal",
            Name::TwoBeforeFive => "ii before its V",
            Name::HalfDiminishedTwo => "iiø before a minor goal",
            Name::SubstituteTwoFive => "ii-V of the tritone substitute",
            Name::BeforeNext => "secondary dominant before the next chord",
            Name::BeforeTonic => "dominant before the tonic",
            Name::OnTheSameRoot => "dominant on the same root",
            Name::TwoFiveBeforeNext => "ii-V before the next chord",
            Name::SubstituteBeforeNext => "substitute dominant before the next chord",
            Name::SubstituteForChord => "substitute dominant for the chord",
            Name::SlipFromAbove => "side-slip from above",
            Name::SlipAboveAndBack => "side-slip above and back",
            Name::SlipFromBelow => "side-slip from below",
            Name::SlipBelowAndBack => "side-slip below and back",
            Name::SlipOnMinor => "side-slip on a minor chord",
            Name::SusForTwoFive => "sus for ii-V",
            Name::SusThenFive => "sus, then V, for ii-V",
            Name::TwoOverFive => "ii over the root of V",
            Name::SusBeforeFive => "sus before its V",
            Name::SusForFive => "sus for V",
            Name::CycleForTwoFiveOne => "thirds cycle for ii-V-I",
            Name::CycleForFiveOne => "thirds cycle for V-I",
            Name::CycleFromOneToOne => "thirds cycle from I to I",
            Name::Substitute => "tritone substitute",
            Name::ThenSubstitute => "dominant, then its tritone substitute",
            Name::ForSubstitute => "dominant for its tritone substitute",
            Name::Turnaround(turnaround) => turnaround_name(turnaround),
        })
    }
}

/// The numerals of a turnaround. Those with `dim` keep ASCII signs everywhere.
const fn turnaround_name(turnaround: Turnaround) -> &'static str {
    match turnaround {
        Turnaround::Plain => "I-vi-ii-V",
        Turnaround::WithSecondary => "I-VI7-ii-V",
        Turnaround::FromThree => "iii-VI7-ii-V",
        Turnaround::RaisedOne => "I-#idim-ii-V",
        Turnaround::DiminishedThree => "I-biiidim-ii-V",
        Turnaround::FromThreeDiminished => "iii-biiidim-ii-V",
        Turnaround::Dominants => "I-VI7-II7-V7",
        Turnaround::DominantsFromThree => "III7-VI7-II7-V7",
        Turnaround::Substitute => "I-vi-ii-♭II7",
        Turnaround::Substitutes => "I-♭III7-♭VI7-♭II7",
        Turnaround::MajorSevenths => "I-♭III-♭VI-♭II, major sevenths",
        Turnaround::PlainInMinor => "i-viø-iiø-V in minor",
        Turnaround::FlatSixInMinor => "i-♭VI-iiø-V in minor",
        Turnaround::MajorSeventhsInMinor => "i-♭III-♭VI-♭II in minor",
        Turnaround::DominantsInMinor => "i-♭III7-♭VI7-V7 in minor",
    }
}

/// Two to four notes.
const fn counted(count: u8) -> &'static str {
    match count {
        2 => "two",
        3 => "three",
        _ => "four",
    }
}

const fn falls(fall: Fall) -> &'static str {
    match fall {
        Fall::Fifth => "falls a fifth",
        Fall::FifthToMinor => "falls a fifth to minor",
        Fall::HalfStep => "falls a half step",
    }
}

const fn lender_name(lender: Lender) -> &'static str {
    match lender {
        Lender::Major => "the parallel major",
        Lender::Minor => "the parallel minor",
        Lender::Dorian => "Dorian",
        Lender::Phrygian => "Phrygian",
    }
}

/// Writes words with chords in them.
macro_rules! say {
    ($out:ident, $words:literal $(, $name:ident = $chord:ident)* $(,)?) => {{
        $(let $name = $out.symbol(&$chord);)*
        write!($out, $words)
    }};
}

impl Words for Reason {
    fn write(&self, out: &mut Out) -> fmt::Result {
        match *self {
            Reason::BearsTensions { five, fall } => {
                let way = falls(fall);
                say!(out, "{v} {way} and bears tensions that lead on", v = five)
            }
            Reason::MayBeAltered { five, fall } => {
                let way = falls(fall);
                say!(
                    out,
                    "{v} {way}, so all its tensions may be altered",
                    v = five
                )
            }
            Reason::StepsUp { new, next } => say!(out, "{a} steps up to {b}", a = new, b = next),
            Reason::PreparesStepUp { before, new, next } => {
                say!(
                    out,
                    "{a} prepares it, and {b} steps up to {c}",
                    a = before,
                    b = new,
                    c = next
                )
            }
            Reason::EachLeads { next } => {
                say!(
                    out,
                    "each dominant leads to the next one, the last to {a}",
                    a = next
                )
            }
            Reason::RootsFallByFifths { next } => {
                say!(
                    out,
                    "the roots fall by fifths to {a}, so each may be a dominant",
                    a = next
                )
            }
            Reason::RootsFallByHalfSteps { next } => say!(
                out,
                "every second dominant substituted: the roots fall by half steps to {a}",
                a = next
            ),
            Reason::PromisesTonic { before, tonic } => {
                say!(out, "{a} leads one to wait for {b}", a = before, b = tonic)
            }
            Reason::TonicComesLate { first, tonic } => {
                say!(out, "{a} comes first; {b} comes late", a = first, b = tonic)
            }
            Reason::WithoutRoot { new, five } => {
                say!(out, "{a} is {b} without its root", a = new, b = five)
            }
            Reason::BassByHalfSteps { next } => {
                say!(out, "the bass moves by half steps to {a}", a = next)
            }
            Reason::FallsHalfStep { new, next } => {
                say!(out, "{a} falls a half step to {b}", a = new, b = next)
            }
            Reason::FallsFifth { new, next } => {
                say!(out, "{a} falls a fifth to {b}", a = new, b = next)
            }
            Reason::SharesRoot { new, old } => {
                say!(out, "{a} shares its root with {b}", a = new, b = old)
            }
            Reason::ComesFrom { new, lender } => {
                let from = lender_name(lender);
                say!(out, "{a} comes from {from}", a = new)
            }
            Reason::ThirdFalls { new } => {
                let from = lender_name(Lender::Minor);
                say!(
                    out,
                    "the third falls on its way; {a} comes from {from}",
                    a = new
                )
            }
            Reason::StaysInBass { bass } => {
                let bass = out.words(&bass);
                write!(out, "{bass} stays in the bass while the chords move")
            }
            Reason::TritoneAway { two, five, next } => say!(
                out,
                "{a} {b} a tritone away, down by a half step to {c}",
                a = two,
                b = five,
                c = next
            ),
            Reason::Prepares { new, five } => say!(out, "{a} prepares {b}", a = new, b = five),
            Reason::SubstituteWithTwo { five, next } => say!(
                out,
                "the substitute of {a} with a ii of its own, down by a half step to {b}",
                a = five,
                b = next
            ),
            Reason::SharesNotes { new, old, count } => {
                let count = counted(count);
                say!(out, "{a} shares {count} notes with {b}", a = new, b = old)
            }
            Reason::RisesToFifth { new, next } => say!(
                out,
                "the root of {a} rises a half step to the fifth of {b}",
                a = new,
                b = next
            ),
            Reason::LineFalls { triad } => say!(
                out,
                "an inner voice falls by half steps from the root of {a}",
                a = triad
            ),
            Reason::BassFalls { triad } => say!(
                out,
                "the bass falls by half steps from the root of {a}",
                a = triad
            ),
            Reason::LineRises { triad } => say!(
                out,
                "an inner voice rises by half steps from the fifth of {a}",
                a = triad
            ),
            Reason::HalfStepBeside { new, next } => say!(
                out,
                "{a} is the shape of {b} a half step beside it",
                a = new,
                b = next
            ),
            Reason::StepsThroughKey { next } => {
                say!(out, "the roots step through the key to {a}", a = next)
            }
            Reason::OutAndBackHome { new } => {
                say!(out, "the blues goes to {a} early and comes back", a = new)
            }
            Reason::RoadHome { next } => {
                say!(out, "another road of the blues to {a}", a = next)
            }
            Reason::SlidesTo { six, next } => say!(
                out,
                "dominants fall by half steps to {a}, which leads to {b}",
                a = six,
                b = next
            ),
            Reason::TwoFivesDown { next } => {
                say!(
                    out,
                    "each ii lies a half step above the next, down to {a}",
                    a = next
                )
            }
            Reason::LeadsTo { new, next } => say!(out, "{a} leads to {b}", a = new, b = next),
            Reason::TwoFiveLeads { two, five, next } => {
                say!(out, "{a} {b} lead to {c}", a = two, b = five, c = next)
            }
            Reason::BesideKey { two, five } => {
                say!(
                    out,
                    "{a} {b} lie a half step beside the key",
                    a = two,
                    b = five
                )
            }
            Reason::AboveAndBack { new } => {
                say!(out, "{a} lies a half step above and falls back", a = new)
            }
            Reason::HoldsOver { sus, two, five } => {
                say!(
                    out,
                    "{a} holds {b} over the root of {c}",
                    a = sus,
                    b = two,
                    c = five
                )
            }
            Reason::FourthFallsToThirdOf { sus, five } => {
                say!(
                    out,
                    "the fourth of {a} falls to the third of {b}",
                    a = sus,
                    b = five
                )
            }
            Reason::SoundsAs { slash, sus } => say!(out, "{a} sounds as {b}", a = slash, b = sus),
            Reason::FourthFalls { sus } => {
                say!(out, "the fourth of {a} falls to the third", a = sus)
            }
            Reason::KeepsThirdOpen { sus } => say!(out, "{a} keeps the third open", a = sus),
            Reason::LeadRound { tonic } => {
                say!(
                    out,
                    "tonics a major third apart lead round to {a}",
                    a = tonic
                )
            }
            Reason::SameGuideTones { new, five, next } => say!(
                out,
                "{a} has the guide tones of {b} and falls a half step to {c}",
                a = new,
                b = five,
                c = next
            ),
            Reason::LeadBack { next } => say!(out, "four chords lead back to {a}", a = next),
        }
    }
}

impl Words for ClashingNote {
    /// `A♭ over A7: a half step above its ♭7`
    fn write(&self, out: &mut Out) -> fmt::Result {
        let (note, chord) = (out.words(&self.note), out.symbol(&self.chord));
        write!(out, "{note} over {chord}: ")?;
        match self.above {
            Some(tone) => {
                let tone = out.words(&tone);
                write!(out, "a half step above its {tone}")
            }
            None => out.write_str("in none of its scales"),
        }
    }
}
