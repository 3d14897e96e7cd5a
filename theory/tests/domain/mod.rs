//! What tests of suggestions and tensions go through: symbols, requests and keys.

#[path = "../data/mod.rs"]
pub mod data;

use guidehand_theory::chord::Chord;
use guidehand_theory::key::{self, Function, Key, Mode};
use guidehand_theory::pitch::PitchClass;
use guidehand_theory::quality::TABLE;
use guidehand_theory::symbol;
use guidehand_theory::tension::{
    EleventhRequest, MajorEleventhRequest, MajorTonicRequest, MinorEleventhRequest,
    MinorTonicRequest, NinthRequest, PlainNinthRequest, TensionRequests, ThirteenthRequest,
};
use std::collections::HashSet;

/// The everyday symbols, every chord once, on C.
pub fn everyday() -> Vec<Chord> {
    let rows = data::rows(include_str!("../data/everyday-symbols.txt"));
    distinct(rows.map(|[symbol, _degrees, _libraries]| symbol.to_owned()))
}

/// Every quality with every extent that it takes and every pair of written
/// degrees that can be read, on C.
pub fn systematic() -> Vec<Chord> {
    const WRITTEN: [&str; 10] = ["", "b9", "9", "#9", "11", "#11", "b5", "#5", "b13", "13"];
    let stems = TABLE.iter().flat_map(|row| {
        let extended = row.extended.into_iter().flat_map(|(before, after)| {
            ["9", "11", "13"].map(|number| format!("{before}{number}{after}"))
        });
        std::iter::once(row.suffix.to_owned()).chain(extended)
    });
    let texts = stems.flat_map(|stem| {
        let pairs = WRITTEN.iter().enumerate().flat_map(|(i, first)| {
            let others = WRITTEN.iter().skip(i + 1);
            others.map(move |second| (first, second))
        });
        let written = pairs.map(move |(first, second)| format!("C{stem}({first},{second})"));
        written.collect::<Vec<_>>()
    });
    distinct(texts)
}

/// The chords of those texts that can be read, without their bass, moved to C.
fn distinct(texts: impl Iterator<Item = String>) -> Vec<Chord> {
    let mut seen = HashSet::new();
    texts
        .filter_map(|text| symbol::parse(&text).ok())
        .map(|chord| {
            Chord {
                bass: None,
                ..chord
            }
            .transposed(-chord.root.fifths())
        })
        .filter(|chord| seen.insert(*chord))
        .collect()
}

/// The requests for chords that are not dominants: each by itself, and ninth with
/// eleventh.
pub fn further_asks() -> Vec<TensionRequests> {
    let none = TensionRequests::default();
    let mut requests = vec![none];
    for major_tonic in [MajorTonicRequest::Six, MajorTonicRequest::Seven] {
        requests.push(TensionRequests {
            major_tonic,
            ..none
        });
    }
    for minor_tonic in [
        MinorTonicRequest::Six,
        MinorTonicRequest::Flat7,
        MinorTonicRequest::Seven,
    ] {
        requests.push(TensionRequests {
            minor_tonic,
            ..none
        });
    }
    for plain_ninth in [PlainNinthRequest::None, PlainNinthRequest::Nine] {
        for (minor_eleventh, major_eleventh) in [
            (MinorEleventhRequest::None, MajorEleventhRequest::None),
            (MinorEleventhRequest::Eleven, MajorEleventhRequest::Sharp11),
        ] {
            requests.push(TensionRequests {
                plain_ninth,
                minor_eleventh,
                major_eleventh,
                ..none
            });
        }
    }
    requests
}

/// Every request for dominants, whatever the chord.
pub fn all_asks() -> Vec<TensionRequests> {
    let ninths = [
        NinthRequest::ByContext,
        NinthRequest::Nine,
        NinthRequest::Flat9,
        NinthRequest::Sharp9,
    ];
    let elevenths = [
        EleventhRequest::ByContext,
        EleventhRequest::None,
        EleventhRequest::Sharp11,
    ];
    let thirteenths = [
        ThirteenthRequest::ByContext,
        ThirteenthRequest::None,
        ThirteenthRequest::Thirteen,
        ThirteenthRequest::Flat13,
    ];
    let mut requests = Vec::new();
    for ninth in ninths {
        for eleventh in elevenths {
            for thirteenth in thirteenths {
                requests.push(TensionRequests {
                    ninth,
                    eleventh,
                    thirteenth,
                    ..TensionRequests::default()
                });
            }
        }
    }
    requests
}

/// The chord on all twelve roots of a major and a minor key. Tensions and scales move
/// with chord and key (another test asserts it), so that these two keys stand for all 24.
pub fn placed(chord: Chord) -> impl Iterator<Item = (Chord, Function)> {
    let keys = [Mode::Major, Mode::Minor].map(|mode| Key::usual(PitchClass::wrapping(0), mode));
    keys.into_iter().flat_map(move |key| {
        (0..12).map(move |root| {
            let root = key.name(PitchClass::wrapping(root));
            let chord = chord.transposed(root.fifths());
            (chord, key::live(&chord, key))
        })
    })
}
