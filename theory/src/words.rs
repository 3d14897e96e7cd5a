//! Everything that the theory says, in English: the names of keys, functions and substitutions,
//! and every reason. All sentences are written in this folder and nowhere else, so that a
//! translation affects only this folder. Any thread may run it, but collecting the text
//! allocates. Imports everything above it; nothing of the theory imports it.

mod chart;
mod dressing;
mod harmony;
mod judge;
mod melody;
mod out;
mod own_shape;
mod pin;
mod reading;
mod reharm;
mod scale;
mod symbol;
mod tension;
mod under;
mod voicing;

pub use out::{InWords, Out, Words};

#[cfg(test)]
mod tests {
    use super::*;
    use crate::key::{Case, Key, Numeral};
    use crate::reharm::{ClashingNote, Name};
    use crate::symbol::{self, Sign};
    use crate::{degree::Degree, dressing, scale, tension};

    fn both(what: &impl Words) -> [String; 2] {
        [Sign::Ascii, Sign::Unicode].map(|sign| InWords(what, sign).to_string())
    }

    #[test]
    fn notes_and_degrees_take_the_signs_and_words_keep_their_letters() {
        let key = Key::parse("Bb blues").unwrap();
        assert_eq!(both(&key), ["Bb blues", "B♭ blues"]);
        let (above, case) = (6, Case::HalfDiminished);
        let numeral = Numeral { above, case };
        assert_eq!(both(&numeral), ["#ivø", "♯ivø"]);
        let name = Name::Deceptive(numeral);
        assert_eq!(both(&name), ["deceptive: #ivø", "deceptive: ♯ivø"]);
        let reason = scale::Reason::Flat5IsSharp11;
        assert_eq!(both(&reason), ["the b5 is its #11", "the ♭5 is its ♯11"]);
        let reason = tension::Reason::RootInMelody;
        assert_eq!(
            both(&reason),
            ["dressed with the sixth, under the root in the melody"; 2]
        );
        let told = tension::Yield {
            degree: Degree::Flat13,
            outcome: tension::Outcome::To(Degree::Thirteen),
            melody: symbol::parse("Bb").unwrap().root,
            ..tension::Yield::default()
        };
        let words = [
            "b13 yields to 13: Bb in the melody",
            "♭13 yields to 13: B♭ in the melody",
        ];
        assert_eq!(both(&told), words);
        let left_out = tension::Yield {
            outcome: tension::Outcome::LeftOut,
            ..told
        };
        let words = "b13 is left out: Bb in the melody";
        assert_eq!(left_out.to_string(), words);
        let flat9 = scale::all().find(|s| s.name == "Dorian b9").unwrap();
        let reason = dressing::Reason::OutsideScale(Degree::Sharp11, flat9);
        let words = [
            "#11 is not in the chord's scale here, Dorian b9",
            "♯11 is not in the chord's scale here, Dorian ♭9",
        ];
        assert_eq!(both(&reason), words);
        let chord = symbol::parse("Bbmaj7").unwrap();
        let clash = ClashingNote {
            note: symbol::parse("Cb").unwrap().root,
            chord,
            above: Some(Degree::Flat7),
        };
        let words = [
            "Cb over Bbmaj7: a half step above its b7",
            "C♭ over B♭maj7: a half step above its ♭7",
        ];
        assert_eq!(both(&clash), words);
    }
}
