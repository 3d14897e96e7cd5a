//! Textures, compared with common tables; laws that no voicing breaks; and the edges of
//! the register.

use guidehand_theory::candidates::Register;
use guidehand_theory::chord::Chord;
use guidehand_theory::key::{self, Key};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::quality;
use guidehand_theory::symbol;
use guidehand_theory::tension::{
    self, EleventhRequest, NinthRequest, TensionRequests, Tensions, ThirteenthRequest,
};
use guidehand_theory::voicing::Voicing;

#[path = "textures/edges.rs"]
mod edges;
#[path = "textures/laws.rs"]
mod laws;
#[path = "textures/tables.rs"]
mod tables;

fn register(lowest: i32, highest: i32) -> Register {
    Register::new(MidiNote::clamp(lowest), MidiNote::clamp(highest))
}

fn names(voicing: &Voicing) -> String {
    let names: Vec<_> = voicing.voices().iter().map(|v| v.degree.name()).collect();
    names.join(" ")
}

/// Symbols beyond the plain qualities: alterations, extents, added notes, and what
/// the ear has to guess.
const SYMBOLS: [&str; 58] = [
    "C9",
    "C13",
    "C7b9",
    "C7#9",
    "C7#11",
    "C7b13",
    "C7#5",
    "C7b5",
    "C9#5",
    "C9#11",
    "C9b5",
    "C13#11",
    "C13b9",
    "C13#9",
    "C13(b9,#11)",
    "C7(b9,b13)",
    "C7(#9,b13)",
    "C7(b9,#11)",
    "C7(#9,#11)",
    "C7(b9,#11,b13)",
    "C7(#5,#9)",
    "C7(b9,#9)",
    "C11",
    "C13sus",
    "C9sus",
    "C7sus(b9)",
    "C13sus(b9)",
    "Cmaj9",
    "Cmaj11",
    "Cmaj13",
    "Cmaj7#11",
    "Cmaj9#11",
    "Cmaj13(#11)",
    "Cmaj7#5",
    "Cmaj7b5",
    "C6/9",
    "C6/9(#11)",
    "Cm9",
    "Cm11",
    "Cm13",
    "Cm6/9",
    "Cm7(b13)",
    "Cm9(maj7)",
    "Cm9b5",
    "Cm11b5",
    "Cadd9",
    "Cadd11",
    "Cm(add9)",
    "Cm(add11)",
    "C7no3",
    "C7no5",
    "C7b9no5",
    "Cmaj7no3",
    "C/E",
    "C7/Bb",
    "D/C7",
    "Cm7/F",
    "F/G",
];

fn chords() -> Vec<(String, Chord)> {
    let plain = quality::TABLE.iter().map(|row| format!("C{}", row.suffix));
    let more = SYMBOLS.iter().map(|text| (*text).to_string());
    plain
        .chain(more)
        .map(|text| {
            let chord = symbol::parse(&text).unwrap_or_else(|e| panic!("{text}: {e:?}"));
            (text, chord)
        })
        .collect()
}

/// Every choice of tensions that a chord has in any key, and as the player asks.
fn choices(chord: &Chord) -> Vec<Tensions> {
    let mut all: Vec<Tensions> = Vec::new();
    let mut add = |tensions: Tensions| {
        let same = |t: &Tensions| {
            (t.third, t.seventh, t.others) == (tensions.third, tensions.seventh, tensions.others)
        };
        if !all.iter().any(same) {
            all.push(tensions);
        }
    };
    for next in ["F", "Fm", "B", "Bb", "D", "Dm7", "G7", "Am"] {
        let next = symbol::parse(next).unwrap();
        let functions = key::analyse(&[Some(*chord), Some(next)], None);
        for tensions in tension::resolve(chord, &functions[0].unwrap(), TensionRequests::default())
        {
            add(tensions);
        }
    }
    let function = key::live(chord, Key::C_MAJOR);
    for ninth in [
        NinthRequest::ByContext,
        NinthRequest::Nine,
        NinthRequest::Flat9,
        NinthRequest::Sharp9,
    ] {
        for eleventh in [
            EleventhRequest::ByContext,
            EleventhRequest::None,
            EleventhRequest::Sharp11,
        ] {
            for thirteenth in [
                ThirteenthRequest::ByContext,
                ThirteenthRequest::None,
                ThirteenthRequest::Thirteen,
                ThirteenthRequest::Flat13,
            ] {
                let requests = TensionRequests {
                    ninth,
                    eleventh,
                    thirteenth,
                    ..TensionRequests::default()
                };
                for tensions in tension::resolve(chord, &function, requests) {
                    add(tensions);
                }
            }
        }
    }
    all
}
