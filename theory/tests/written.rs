//! What a symbol writes, compared with what sounds for it.

mod domain;
#[path = "written/requests.rs"]
mod requests;
#[path = "domain/sounds.rs"]
mod sounds;

use guidehand_theory::chord::Chord;
use guidehand_theory::degree::Degree::{
    Eleven, Five, Flat5, Flat9, Flat13, Nine, Sharp5, Sharp9, Sharp11, Six, Thirteen,
};
use guidehand_theory::degree::{Degree, DegreeSet};
use guidehand_theory::key::Function;
use guidehand_theory::pcset::PcSet;
use guidehand_theory::quality::Quality;
use guidehand_theory::shape::Texture;
use guidehand_theory::symbol::{self, Sign, Symbol};
use guidehand_theory::tension::{self, TensionRequests};
use sounds::Sounds;

/// Chords that can take what is written: a bare fifth has no third, a suspended
/// second no settled sixth, and `alt` contradicts natural degrees.
fn chords() -> impl Iterator<Item = Chord> {
    let odd = [Quality::Power, Quality::SuspendedSecond, Quality::Altered];
    let all = domain::everyday().into_iter().chain(domain::systematic());
    all.filter(move |c| !odd.contains(&c.quality))
}

/// Those chords with their places: as tonics of both modes, and one more by turns.
fn placed() -> impl Iterator<Item = Vec<(Chord, Function)>> {
    chords().enumerate().map(|(i, chord)| {
        let places = domain::placed(chord).enumerate();
        let chosen = places.filter(|(place, _)| place.is_multiple_of(12) || *place == i % 24);
        chosen.map(|(_, placed)| placed).collect()
    })
}

/// The ninths, elevenths and thirteenths that are asked of dominants are for
/// dominants alone.
#[test]
fn asks_of_dominants_touch_no_other_chords() {
    let others = placed().flatten().filter(|(c, _)| !c.quality.is_dominant());
    for (chord, function) in others.step_by(7) {
        let unasked = tension::resolve(&chord, &function, TensionRequests::default());
        for requests in domain::all_asks() {
            assert_eq!(
                tension::resolve(&chord, &function, requests),
                unasked,
                "{chord:?}"
            );
        }
    }
}

/// A degree that is written altered, and not natural too, never sounds natural
/// as well, nor the other way round, whatever is asked.
#[test]
fn a_written_alteration_is_not_contradicted() {
    const FAMILIES: [(&[Degree], &[Degree]); 4] = [
        (&[Flat9, Sharp9], &[Nine]),
        (&[Sharp11], &[Eleven]),
        (&[Flat13], &[Thirteen, Six]),
        (&[Flat5, Sharp5], &[Five]),
    ];
    for places in placed() {
        let mut sounds = Sounds::new(&Texture::ALL);
        for (chord, function) in places {
            let sounding = sounds.of(&chord, &function);
            for (altered, natural) in FAMILIES {
                let (altered, natural) = (DegreeSet::of(altered), DegreeSet::of(natural));
                for (these, others) in [(altered, natural), (natural, altered)] {
                    if chord.written.intersects(these) && !chord.degrees().intersects(others) {
                        let bad = sounding.iter().find(|s| s.intersects(others));
                        let symbol = Symbol(&chord, Sign::Ascii);
                        assert_eq!(bad, None, "{symbol}, {function}");
                    }
                }
            }
        }
    }
}

/// Up to two alterations, which may include an altered fifth of the quality, all sound in
/// four notes, beside third and seventh.
#[test]
fn written_alterations_sound_in_four_notes() {
    for places in placed() {
        let mut sounds = Sounds::new(&[Texture::FourNotes]);
        for (chord, function) in places {
            let altered = chord.degrees().iter().filter(|d| d.is_altered());
            let altered: DegreeSet = altered.collect();
            if altered.len() > 2 {
                continue;
            }
            let keys = |degrees| PcSet::of_degrees(chord.root.class(), degrees);
            let all = sounds.of(&chord, &function);
            let bad = all.iter().find(|s| !keys(**s).holds(keys(altered)));
            let symbol = Symbol(&chord, Sign::Ascii);
            assert_eq!(bad, None, "{symbol}, {function}");
        }
    }
}

/// Five notes hold all of `13(b9,#11)`, and of the other thirteenths with two
/// written alterations, on every degree and whatever is asked.
#[test]
fn five_notes_hold_a_thirteenth_with_two_alterations() {
    const FIVE: [Texture; 2] = [Texture::TwoHands, Texture::UpperStructure];
    for text in ["C13(b9,#11)", "C13(#9,#11)", "C13b9#11"] {
        let chord = symbol::parse(text).unwrap();
        let wanted = chord.written.with(Thirteen);
        let mut sounds = Sounds::new(&FIVE);
        let mut met = 0;
        for (chord, function) in domain::placed(chord) {
            for degrees in sounds.of(&chord, &function) {
                let missed = wanted.minus(degrees);
                assert!(missed.is_empty(), "{text} without {missed}, {function}");
                met += 1;
            }
        }
        assert!(met > 0);
    }
}
