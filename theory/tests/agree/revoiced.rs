//! The note that moves when the melody speaks against a chord that sounds.

use super::oracle::clashing;
use crate::domain;
use guidehand_theory::comping::{Under, Yielding};
use guidehand_theory::key::{self, Key};
use guidehand_theory::pipeline::{self, ChordInKey, Taste};
use guidehand_theory::pitch::{MidiNote, SpelledPitch};
use guidehand_theory::plan::Voiced;
use guidehand_theory::shape::Texture;
use guidehand_theory::symbol;
use guidehand_theory::tension::Above;
use guidehand_theory::voicing::{Voice, Voicing};

fn under(melody: MidiNote) -> Under {
    Under {
        above: Above::NONE.with(melody),
        yielding: Yielding::Tensions,
    }
}

/// Common practice, no published source.
#[test]
fn one_note_moves_to_the_nearest_that_agrees() {
    for (symbol, sounding, melody, after, told) in [
        (
            "G7",
            "F3 A3 B3 E4",
            "Eb5",
            "F3 A3 B3 Eb4",
            "13 yields to b13: Eb in the melody",
        ),
        (
            "G7",
            "F3 A3 B3 E4",
            "Ab4",
            "F3 Ab3 B3 E4",
            "9 yields to b9: Ab in the melody",
        ),
        ("G7", "F3 A3 B3 E4", "A4", "", ""),
        (
            "G7",
            "F3 A3 B3 E4",
            "C5",
            "F3 A3 C4 E4",
            "3 yields to 4: C in the melody",
        ),
        (
            "Dm7",
            "F3 A3 C4 E4",
            "F#5",
            "G3 A3 C4 E4",
            "b3 yields to 4: F# in the melody",
        ),
        (
            "Cmaj7",
            "E3 G3 B3 D4",
            "C5",
            "E3 G3 A3 D4",
            "7 yields to 6: C in the melody",
        ),
        (
            "Cmaj7",
            "E3 G3 B3 D4",
            "F#5",
            "E3 F#3 B3 D4",
            "5 yields to #11: F# in the melody",
        ),
        (
            "Dm7",
            "F3 A3 C4 E4",
            "F5",
            "F3 A3 C4 D4",
            "9 yields to 1: F in the melody",
        ),
        (
            "G7(b9)",
            "F3 Ab3 B3 E4",
            "A4",
            "F3 G3 B3 E4",
            "b9, as written, is left out and 1 fills its place: A in the melody",
        ),
    ] {
        let chord = symbol::parse(symbol).unwrap();
        let placed = ChordInKey::new(chord, key::live(&chord, Key::C_MAJOR));
        let notes = |text: &str| -> Vec<MidiNote> {
            let notes = text.split_whitespace();
            notes
                .map(|n| SpelledPitch::parse(n).unwrap().midi().unwrap())
                .collect()
        };
        let voiced = pipeline::step(None, &placed, &Taste::default());
        // The voicing of the row, with the degrees of those that the step offers.
        let setting = Taste::default().setting();
        let choices = [voiced.tensions].into_iter().collect();
        let row = notes(sounding);
        let found = setting.candidates(&chord, &choices);
        let found = found
            .map(|(_, v)| v)
            .find(|v| v.voicing.notes().eq(row.iter().copied()));
        let voiced = found.unwrap_or_else(|| panic!("{symbol} as {sounding}"));
        let moved = pipeline::revoice(&voiced, &placed, &under(notes(melody)[0]));
        let (moved, words) = moved.map_or((Vec::new(), String::new()), |found| {
            let words: Vec<String> = found.yields.iter().map(ToString::to_string).collect();
            (found.voiced.voicing.notes().collect(), words.join("; "))
        });
        assert_eq!(moved, notes(after), "{symbol} under {melody}");
        assert_eq!(words, told, "{symbol} under {melody}");
    }
}

/// Every everyday chord on every root, under every note of two octaves, in every texture: what
/// agrees stays, and what moves goes no farther than it must.
#[test]
fn only_what_clashes_moves_and_no_farther_than_it_must() {
    let (mut moved, mut out, mut stayed) = (0, 0, 0);
    let places = domain::everyday().into_iter().flat_map(domain::placed);
    for (turn, (chord, function)) in places.enumerate() {
        let placed = ChordInKey::new(chord, function);
        let taste = Taste {
            texture: Texture::ALL[turn % Texture::ALL.len()],
            ..Taste::default()
        };
        let sounding = pipeline::step(None, &placed, &taste);
        for melody in (58..82).map(MidiNote::clamp) {
            let clashing = clashing(&sounding.voicing, &placed.chord, melody);
            let found = pipeline::revoice(&sounding, &placed, &under(melody));
            let Some(found) = found else {
                assert!(clashing.is_empty(), "{placed:?} {melody:?} {sounding:?}");
                stayed += 1;
                continue;
            };
            check(&placed, &sounding.voicing, &found.voiced, &clashing, melody);
            let same = found.voiced.voicing.voices().len() == sounding.voicing.voices().len();
            *(if same { &mut moved } else { &mut out }) += 1;
        }
    }
    assert!(
        moved > 10_000 && out > 1_000 && stayed > 10_000,
        "{moved} {out} {stayed}"
    );
}

fn check(
    placed: &ChordInKey,
    before: &Voicing,
    after: &Voiced,
    clashes: &[Voice],
    melody: MidiNote,
) {
    let case = || format!("{placed:?} {melody:?}\n{before:?}\n{after:?}");
    let new = &after.voicing;
    let gone = before.voices().iter().filter(|v| !new.voices().contains(v));
    let gone: Vec<&Voice> = gone.collect();
    assert!(!gone.is_empty(), "{}", case());
    assert!(gone.iter().all(|v| clashes.contains(v)), "{}", case());
    // Nothing clashes any more.
    let clashing = clashing(new, &placed.chord, melody);
    assert!(clashing.is_empty(), "{}", case());
    let come = new.voices().iter().filter(|v| !before.voices().contains(v));
    for voice in come {
        // It lies within a tritone of a note that went, or the nearer keys are taken or clash.
        let apart = |v: &&&Voice| v.note.number().abs_diff(voice.note.number());
        let from = gone.iter().min_by_key(apart).unwrap();
        if apart(&from) > 6 {
            let nearer = i32::from(apart(&from)) - 12;
            let other = if voice.note > from.note {
                nearer
            } else {
                -nearer
            };
            let key = MidiNote::clamp(from.note.semitones() + other);
            let taken = before.notes().any(|n| n == key);
            let beside = key.number().abs_diff(melody.number()) <= 1 || key >= melody;
            assert!(taken || beside, "{}", case());
        }
    }
    assert!(
        usize::from(new.left_hand) <= new.voices().len(),
        "{}",
        case()
    );
}
