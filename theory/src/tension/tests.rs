//! Tension choices against the tables of the trade.

use super::*;
use crate::degree::Degree::{self, Five, Flat7, Flat9, Flat13, Nine, Sharp9, Sharp11, Thirteen};
use crate::degree::DegreeSet;
use crate::key::{self, Key, Resolution};
use crate::symbol::{self, Sign, Symbol};

fn choices(symbol: &str, next: &str, requests: TensionRequests) -> Vec<String> {
    let chords = [symbol, next].map(|s| symbol::parse(s).ok());
    let functions = key::analyse(&chords, None);
    let (chord, function) = (chords[0].unwrap(), functions[0].unwrap());
    resolve(&chord, &function, requests)
        .iter()
        .map(|t| {
            let others: Vec<_> = t.others.iter().take(3).map(|d| d.name()).collect();
            others.join(" ")
        })
        .collect()
}

fn first(symbol: &str, next: &str) -> String {
    choices(symbol, next, TensionRequests::default()).remove(0)
}

/// Common practice, no published source.
#[test]
fn open_dominants_follow_their_goal() {
    assert_eq!(first("G7", "Cmaj7"), "9 13 5");
    assert_eq!(first("G7", "Cm7"), "b9 b13 1");
    assert_eq!(first("Db7", "Cmaj7"), "9 #11 13");
    assert_eq!(choices("G7", "Cmaj7", TensionRequests::default()).len(), 4);
    assert_eq!(
        choices("G7", "Cm6", TensionRequests::default()),
        ["b9 b13 1", "#9 b13 1"]
    );
}

/// Common practice, no published source.
#[test]
fn written_tensions_are_kept_and_completed() {
    assert_eq!(first("G7b9", "Cmaj7"), "b9 13 5");
    assert_eq!(first("G7b9", "Cm7"), "b9 b13 1");
    assert_eq!(first("G7#9", "Cmaj7"), "#9 b13 1");
    assert_eq!(first("G7#9", "Cm7"), "#9 b13 1");
    assert_eq!(first("G13", "Cm7"), "13 9 5");
    assert_eq!(first("G7#11", "Cmaj7"), "#11 9 13");
    assert_eq!(first("G13#11", "Cmaj7"), "#11 13 9");
    assert_eq!(first("G7#5", "Cmaj7"), "#5 9 1");
    assert_eq!(
        choices("G7#5", "Cm7", TensionRequests::default()),
        ["#5 b9 1", "#5 #9 1"]
    );
    assert_eq!(first("G7sus4", "Cmaj7"), "9 13 5");
    assert_eq!(first("G7sus(b9)", "Cm7"), "b9 5 1");
    assert_eq!(
        choices("G7alt", "Cm7", TensionRequests::default()),
        ["#9 b13 #11", "b9 b13 #11"]
    );
}

#[test]
fn requests_fill_what_is_open() {
    let requests = TensionRequests {
        ninth: NinthRequest::Flat9,
        thirteenth: ThirteenthRequest::None,
        ..TensionRequests::default()
    };
    assert_eq!(choices("G7", "Cmaj7", requests), ["b9 5 1"]);
    assert_eq!(choices("G9", "Cmaj7", requests)[0], "9 5 1");
    let requests = TensionRequests {
        eleventh: EleventhRequest::Sharp11,
        ..TensionRequests::default()
    };
    assert_eq!(choices("G7", "Cmaj7", requests)[0], "#11 9 13");
    let requests = TensionRequests {
        thirteenth: ThirteenthRequest::Thirteen,
        ..TensionRequests::default()
    };
    assert_eq!(
        choices("G7alt", "Cm7", requests),
        ["#9 b13 #11", "b9 b13 #11"]
    );
}

/// Every request sounds on a plain dominant, wherever it goes.
#[test]
fn every_request_is_granted_on_a_plain_dominant() {
    let g7 = symbol::parse("G7").unwrap();
    let mut function = key::live(&g7, Key::C_MAJOR);
    for resolution in Resolution::ALL {
        function.resolution = resolution;
        for (ninth, degree) in [
            (NinthRequest::Nine, Nine),
            (NinthRequest::Flat9, Flat9),
            (NinthRequest::Sharp9, Sharp9),
        ] {
            for (thirteenth, other) in [
                (ThirteenthRequest::None, Five),
                (ThirteenthRequest::Thirteen, Thirteen),
                (ThirteenthRequest::Flat13, Flat13),
            ] {
                let requests = TensionRequests {
                    ninth,
                    thirteenth,
                    eleventh: EleventhRequest::None,
                    ..TensionRequests::default()
                };
                for choice in resolve(&g7, &function, requests) {
                    let two: DegreeSet = choice.others.iter().take(2).copied().collect();
                    assert_eq!(two, DegreeSet::of(&[degree, other]), "{resolution:?}");
                }
            }
        }
    }
}

#[test]
fn the_sounding_symbol_says_what_sounds() {
    let says = |symbol: &str, degrees: &[Degree]| {
        let chord = symbol::parse(symbol).unwrap();
        Symbol(&sounding(&chord, DegreeSet::of(degrees)), Sign::Ascii).to_string()
    };
    use Degree::{Flat3, Six, Three};
    assert_eq!(says("G7", &[Three, Thirteen, Flat7, Nine]), "G13");
    assert_eq!(says("G7", &[Three, Flat13, Flat7, Flat9]), "G7(b9,b13)");
    assert_eq!(says("G7", &[Three, Thirteen, Flat7, Flat9]), "G7(b9,13)");
    assert_eq!(says("Db7", &[Three, Sharp11, Flat7, Nine]), "Db9(#11)");
    assert_eq!(says("Dm7", &[Flat3, Five, Flat7, Nine]), "Dm9");
    assert_eq!(says("C", &[Three, Five, Six, Nine]), "C6/9");
    assert_eq!(
        says("Gsus", &[Degree::Four, Thirteen, Flat7, Nine]),
        "G13sus4"
    );
    assert_eq!(says("G7alt", &[Three, Flat13, Flat7, Sharp9]), "G7(#9,b13)");
    assert_eq!(
        says("G13(#11)", &[Three, Sharp11, Thirteen, Flat7]),
        "G13(#11)"
    );
}
