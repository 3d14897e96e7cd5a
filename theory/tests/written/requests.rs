//! What the player asks of chords, against what they write, over the whole domain:
//! every quality, every request, every function.

use super::domain;
use guidehand_theory::chord::Chord;
use guidehand_theory::degree::Degree::{
    self, Eleven, Five, Flat5, Flat7, Flat9, Flat13, Four, Nine, Root, Seven, Sharp5, Sharp9,
    Sharp11, Six, Thirteen, Three, Two,
};
use guidehand_theory::degree::DegreeSet;
use guidehand_theory::key::{self, Function, Key, Mode, Role};
use guidehand_theory::pitch::{MidiNote, NoteName, PitchClass};
use guidehand_theory::quality::{Extent, Quality};
use guidehand_theory::symbol::{self, Sign, Symbol};
use guidehand_theory::tension::{
    self, MajorEleventhRequest, MajorTonicRequest, MinorEleventhRequest, MinorTonicRequest,
    PlainNinthRequest, TensionRequests, Tensions,
};

const MAJOR: [Quality; 3] = [Quality::Major, Quality::Sixth, Quality::MajorSeventh];
const MINOR: [Quality; 4] = [
    Quality::Minor,
    Quality::MinorSixth,
    Quality::MinorSeventh,
    Quality::MinorMajorSeventh,
];

/// Every request that concerns chords which are no dominants.
fn further_asks() -> Vec<TensionRequests> {
    let mut all = Vec::new();
    for plain_ninth in [
        PlainNinthRequest::ByContext,
        PlainNinthRequest::None,
        PlainNinthRequest::Nine,
    ] {
        for minor_eleventh in [
            MinorEleventhRequest::ByContext,
            MinorEleventhRequest::None,
            MinorEleventhRequest::Eleven,
        ] {
            for major_eleventh in [
                MajorEleventhRequest::ByContext,
                MajorEleventhRequest::None,
                MajorEleventhRequest::Sharp11,
            ] {
                for major_tonic in [
                    MajorTonicRequest::ByContext,
                    MajorTonicRequest::Six,
                    MajorTonicRequest::Seven,
                ] {
                    for minor_tonic in [
                        MinorTonicRequest::ByContext,
                        MinorTonicRequest::Six,
                        MinorTonicRequest::Flat7,
                        MinorTonicRequest::Seven,
                    ] {
                        all.push(TensionRequests {
                            plain_ninth,
                            minor_eleventh,
                            major_eleventh,
                            major_tonic,
                            minor_tonic,
                            ..TensionRequests::default()
                        });
                    }
                }
            }
        }
    }
    all
}

/// The same request without what does not concern the chord, by the names of the
/// requests: ninths and elevenths by quality, sixths and sevenths of tonics.
fn that_concerns(requests: TensionRequests, chord: &Chord, function: &Function) -> TensionRequests {
    let tonic = function.role == Role::Tonic;
    let (major, minor) = (
        MAJOR.contains(&chord.quality),
        MINOR.contains(&chord.quality),
    );
    let mut kept = requests;
    if chord.quality.is_dominant() {
        kept.plain_ninth = PlainNinthRequest::ByContext;
    }
    if !minor && chord.quality != Quality::HalfDiminished {
        kept.minor_eleventh = MinorEleventhRequest::ByContext;
    }
    if !major {
        kept.major_eleventh = MajorEleventhRequest::ByContext;
    }
    if !(major && tonic) {
        kept.major_tonic = MajorTonicRequest::ByContext;
    }
    if !(minor && tonic) {
        kept.minor_tonic = MinorTonicRequest::ByContext;
    }
    kept
}

fn chords() -> Vec<Chord> {
    let everyday = domain::everyday().into_iter();
    everyday
        .chain(domain::systematic().into_iter().step_by(23))
        .collect()
}

/// A chord as a tonic, in both modes, and on a few other degrees of both.
fn places(chord: Chord) -> impl Iterator<Item = (Chord, Function)> {
    let all = domain::placed(chord).enumerate();
    all.filter(|(i, _)| matches!(i % 12, 0 | 2 | 4 | 5 | 10))
        .map(|(_, placed)| placed)
}

fn all(t: &Tensions) -> DegreeSet {
    let guides = t.third.into_iter().chain(t.seventh);
    guides.chain(t.others).collect()
}

/// What four notes hold: the guide tones and the first two of the others.
fn four(t: &Tensions) -> DegreeSet {
    let guides = t.third.into_iter().chain(t.seventh);
    guides.chain(t.others.into_iter().take(2)).collect()
}

fn each(mut check: impl FnMut(&Chord, &Function, TensionRequests, &Tensions)) {
    let (further, of_dominants) = (further_asks(), domain::all_asks());
    for chord in chords() {
        let dominant = chord.quality.is_dominant();
        let requests = if dominant { &of_dominants } else { &further };
        for (chord, function) in places(chord) {
            let mut before = None;
            for requests in requests
                .iter()
                .map(|a| that_concerns(*a, &chord, &function))
            {
                // Requests that do not concern the chord repeat the same one.
                if before == Some(requests) {
                    continue;
                }
                let choices = tension::resolve(&chord, &function, requests);
                for choice in &choices {
                    check(&chord, &function, requests, choice);
                }
                before = Some(requests);
            }
        }
    }
}

/// A request touches the chords that it names and no others.
#[test]
fn requests_touch_no_other_chords() {
    for chord in chords() {
        for (chord, function) in places(chord) {
            for requests in further_asks().into_iter().step_by(5) {
                let concerns = that_concerns(requests, &chord, &function);
                assert_eq!(
                    tension::resolve(&chord, &function, requests),
                    tension::resolve(&chord, &function, concerns),
                    "{} {requests:?}",
                    Symbol(&chord, Sign::Ascii)
                );
            }
        }
    }
}

/// Whatever is asked, what the symbol writes is among what sounds.
#[test]
fn what_is_written_is_kept_whatever_is_asked() {
    each(|chord, function, requests, choice| {
        let symbol = Symbol(chord, Sign::Ascii);
        // A written 11 stands for the third, or the 4, of a dominant.
        let eleventh = chord.quality.is_dominant() && chord.degrees().contains(Eleven);
        let mut missed = chord.written.minus(all(choice));
        if eleventh {
            missed = missed.without(Eleven);
        }
        // `alt` names no natural degrees, and a chord with three sixths is none.
        if !matches!(chord.quality, Quality::Altered) {
            assert!(missed.is_empty(), "{symbol} loses {missed}: {choice:?}");
        }
        let guides: DegreeSet = chord.third().into_iter().chain(chord.seventh()).collect();
        let plain = *chord == Chord::new(chord.root, chord.quality);
        let tonic = plain && function.role == Role::Tonic;
        let replaced = tonic && (requests.major_tonic, requests.minor_tonic) != Default::default();
        if !replaced && !eleventh {
            let missed = guides.minus(all(choice));
            assert!(missed.is_empty(), "{symbol} loses {missed}: {choice:?}");
        }
    });
}

/// Nothing sounds natural and altered at once, in four notes, unless the symbol
/// writes both.
#[test]
fn no_two_degrees_clash() {
    const PAIRS: [(Degree, Degree); 17] = [
        (Flat9, Nine),
        (Sharp9, Nine),
        (Flat9, Two),
        (Flat9, Sharp9),
        (Eleven, Three),
        (Four, Three),
        (Eleven, Sharp11),
        (Four, Sharp11),
        (Five, Flat5),
        (Five, Sharp5),
        (Five, Flat13),
        (Thirteen, Flat13),
        (Thirteen, Sharp5),
        (Six, Flat13),
        (Six, Sharp5),
        (Six, Thirteen),
        (Flat7, Seven),
    ];
    each(|chord, _, requests, choice| {
        let sounds = four(choice);
        for (a, b) in PAIRS {
            let pair = DegreeSet::of(&[a, b]);
            // Both stated: the symbol says so itself.
            let stated = pair.minus(chord.degrees()).is_empty();
            let clash = pair.minus(sounds).is_empty() && !stated;
            let symbol = Symbol(chord, Sign::Ascii);
            assert!(!clash, "{symbol} {a} with {b} {requests:?}: {choice:?}");
        }
    });
}

/// Whether a chord says all that it holds: it has no third, or is a triad with an
/// added note. Such a chord takes nothing, asked or not.
fn is_full(chord: &Chord) -> bool {
    let triads = [
        Quality::SuspendedSecond,
        Quality::Major,
        Quality::Minor,
        Quality::Diminished,
        Quality::Augmented,
    ];
    let added = chord.written.iter().any(|d| d.family().is_some());
    chord.third().is_none() || triads.contains(&chord.quality) && chord.seventh().is_none() && added
}

/// A ninth sounds when asked for and is silent when not wanted; it gives way to a
/// written ninth, to a written second, and in a full chord.
#[test]
fn ninths_are_granted_or_refused_by_rule() {
    let (mut granted, mut silent) = (0, 0);
    each(|chord, _, requests, choice| {
        let written = DegreeSet::of(&[Flat9, Nine, Sharp9, Two]).intersects(chord.degrees());
        if chord.quality.is_dominant() || written || is_full(chord) {
            return;
        }
        let symbol = Symbol(chord, Sign::Ascii);
        let omitted = chord.omitted.contains(Nine);
        match requests.plain_ninth {
            PlainNinthRequest::Nine if !omitted => {
                assert!(all(choice).contains(Nine), "{symbol}: {choice:?}");
                // Four notes hold it unless the symbol fills both slots.
                let fills = chord.degrees().iter();
                let fills = fills.filter(|d| d.is_altered() || d.family().is_some());
                let eleventh = requests.minor_eleventh == MinorEleventhRequest::Eleven
                    || requests.major_eleventh == MajorEleventhRequest::Sharp11;
                let full = fills.count() + usize::from(eleventh) > 1;
                assert!(full || four(choice).contains(Nine), "{symbol}: {choice:?}");
                granted += 1;
            }
            PlainNinthRequest::None => {
                assert!(!all(choice).contains(Nine), "{symbol}: {choice:?}");
                silent += 1;
            }
            _ => {}
        }
    });
    assert!(granted > 1_000 && silent > 1_000, "{granted} {silent}");
}

/// 11 on minor and half-diminished chords, #11 on major ones; they give way to a
/// written eleventh of the other kind, to b5, and in a full chord.
#[test]
fn elevenths_are_granted_or_refused_by_rule() {
    let mut granted = 0;
    each(|chord, _, requests, choice| {
        let stated = chord.degrees();
        if stated.intersects(DegreeSet::of(&[Eleven, Sharp11])) || is_full(chord) {
            return;
        }
        let minor = MINOR.contains(&chord.quality) || chord.quality == Quality::HalfDiminished;
        let symbol = Symbol(chord, Sign::Ascii);
        if minor && requests.minor_eleventh == MinorEleventhRequest::Eleven {
            assert!(
                chord.omitted.contains(Eleven) || all(choice).contains(Eleven),
                "{symbol}"
            );
            granted += 1;
        }
        if minor && requests.minor_eleventh == MinorEleventhRequest::None {
            assert!(!all(choice).contains(Eleven), "{symbol}");
        }
        let major = MAJOR.contains(&chord.quality);
        if major && requests.major_eleventh == MajorEleventhRequest::Sharp11 {
            assert_eq!(
                all(choice).contains(Sharp11),
                !stated.contains(Flat5),
                "{symbol}"
            );
            granted += 1;
        } else if major {
            assert!(!all(choice).contains(Sharp11), "{symbol}");
        }
    });
    assert!(granted > 1_000, "{granted}");
}

/// The sixth or seventh of a tonic is what is asked where the symbol is a plain
/// triad, sixth or seventh chord, and what is written otherwise.
#[test]
fn tonics_take_the_sixth_or_seventh_that_is_asked() {
    let (mut granted, mut refused) = (0, 0);
    each(|chord, function, requests, choice| {
        let asked = if MAJOR.contains(&chord.quality) {
            match requests.major_tonic {
                MajorTonicRequest::ByContext => None,
                MajorTonicRequest::Six => Some(Six),
                MajorTonicRequest::Seven => Some(Seven),
            }
        } else if MINOR.contains(&chord.quality) {
            match requests.minor_tonic {
                MinorTonicRequest::ByContext => None,
                MinorTonicRequest::Six => Some(Six),
                MinorTonicRequest::Flat7 => Some(Flat7),
                MinorTonicRequest::Seven => Some(Seven),
            }
        } else {
            None
        };
        let Some(asked) = asked.filter(|_| function.role == Role::Tonic) else {
            return;
        };
        let plain =
            chord.extent == Extent::Plain && chord.written.is_empty() && chord.omitted.is_empty();
        let symbol = Symbol(chord, Sign::Ascii);
        if plain {
            assert_eq!(choice.seventh, Some(asked), "{symbol}");
            let sounding = tension::sounding(chord, four(choice));
            assert_eq!(sounding.seventh(), Some(asked), "{symbol}");
            granted += 1;
        } else if chord.seventh().is_some() {
            assert_eq!(choice.seventh, chord.seventh(), "{symbol}");
            refused += 1;
        }
    });
    assert!(granted > 50 && refused > 500, "{granted} {refused}");
}

fn asked(text: &str, key: &str, requests: TensionRequests) -> (String, String) {
    let chord = symbol::parse(text).unwrap();
    let function = key::live(&chord, Key::parse(key).unwrap());
    let choice = tension::resolve(&chord, &function, requests)[0];
    let sounding = tension::sounding(&chord, four(&choice));
    let name = Symbol(&sounding, Sign::Ascii).to_string();
    (four(&choice).to_string(), name)
}

/// Common practice, no published source.
#[test]
fn chords_sound_and_are_named_as_asked() {
    let requests = TensionRequests::default();
    let ninth = |plain_ninth| TensionRequests {
        plain_ninth,
        ..requests
    };
    let eleven = TensionRequests {
        minor_eleventh: MinorEleventhRequest::Eleven,
        ..requests
    };
    let sharp = TensionRequests {
        major_eleventh: MajorEleventhRequest::Sharp11,
        ..requests
    };
    let major = |major_tonic| TensionRequests {
        major_tonic,
        ..requests
    };
    let minor = |minor_tonic| TensionRequests {
        minor_tonic,
        ..requests
    };
    let (six, seven) = (
        major(MajorTonicRequest::Six),
        major(MajorTonicRequest::Seven),
    );
    for (text, key, requests, degrees, name) in [
        ("Dm7", "C", requests, "9 b3 5 b7", "Dm9"),
        (
            "Dm7",
            "C",
            ninth(PlainNinthRequest::None),
            "1 b3 5 b7",
            "Dm7",
        ),
        ("Dm7", "C", eleven, "9 b3 11 b7", "Dm11"),
        // The iii has no 9 in its key.
        ("Em7", "C", requests, "1 b3 5 b7", "Em7"),
        (
            "Em7",
            "C",
            ninth(PlainNinthRequest::Nine),
            "9 b3 5 b7",
            "Em9",
        ),
        ("Am7", "C", requests, "9 b3 5 b7", "Am9"),
        ("Bm7b5", "C", requests, "1 b3 b5 b7", "Bm7b5"),
        ("Bm7b5", "C", eleven, "b3 11 b5 b7", "Bm7b5(11)"),
        (
            "Dm7b5",
            "Cm",
            ninth(PlainNinthRequest::Nine),
            "9 b3 b5 b7",
            "Dm9b5",
        ),
        ("Cmaj7", "C", requests, "9 3 5 7", "Cmaj9"),
        ("Cmaj7", "C", sharp, "9 3 #11 7", "Cmaj9(#11)"),
        ("C6", "C", sharp, "9 3 #11 6", "C6/9(#11)"),
        ("Fmaj7", "C", sharp, "9 3 #11 7", "Fmaj9(#11)"),
        (
            "Cmaj7",
            "C",
            ninth(PlainNinthRequest::None),
            "1 3 5 7",
            "Cmaj7",
        ),
        ("C", "C", requests, "9 3 5 6", "C6/9"),
        ("C", "C", seven, "9 3 5 7", "Cmaj9"),
        ("Cmaj7", "C", six, "9 3 5 6", "C6/9"),
        ("C6", "C", seven, "9 3 5 7", "Cmaj9"),
        ("Cmaj9", "C", six, "9 3 5 7", "Cmaj9"),
        ("C6/9", "C", seven, "9 3 5 6", "C6/9"),
        ("Fmaj7", "C", six, "9 3 5 7", "Fmaj9"),
        ("Cm", "Cm", requests, "9 b3 5 6", "Cm6/9"),
        (
            "Cm",
            "Cm",
            minor(MinorTonicRequest::Flat7),
            "9 b3 5 b7",
            "Cm9",
        ),
        (
            "Cm7",
            "Cm",
            minor(MinorTonicRequest::Six),
            "9 b3 5 6",
            "Cm6/9",
        ),
        (
            "Cm7",
            "Cm",
            minor(MinorTonicRequest::Seven),
            "9 b3 5 7",
            "Cm(maj9)",
        ),
        (
            "Cm(maj7)",
            "Cm",
            minor(MinorTonicRequest::Flat7),
            "9 b3 5 b7",
            "Cm9",
        ),
        (
            "Fm7",
            "Cm",
            minor(MinorTonicRequest::Six),
            "9 b3 5 b7",
            "Fm9",
        ),
    ] {
        let expected = (degrees.to_owned(), name.to_owned());
        assert_eq!(asked(text, key, requests), expected, "{text} in {key}");
    }
}

/// Symbols that say all that they hold. Common practice, no published source.
#[test]
fn full_symbols_gain_nothing() {
    for (text, degrees, name) in [
        ("C11", "9 11 5 b7", "C11"),
        ("C5", "1 5", "C5"),
        ("Cadd9", "1 9 3 5", "C(add9)"),
        ("Cm(add9)", "1 9 b3 5", "Cm(add9)"),
        ("C7no3", "1 5 b7", "C7(no3)"),
        ("C(no3)", "1 5", "C(no3)"),
        ("Cmaj7(no3)", "1 5 7", "Cmaj7(no3)"),
    ] {
        for key in ["C", "F", "Fm"] {
            let expected = (degrees.to_owned(), name.to_owned());
            assert_eq!(
                asked(text, key, TensionRequests::default()),
                expected,
                "{text} in {key}"
            );
        }
    }
}

/// A melody that holds the root asks a major chord for its sixth, tonic or not, whatever else the
/// symbol writes.
#[test]
fn the_root_in_the_melody_takes_a_sixth_below() {
    let c = Key {
        tonic: NoteName::from_fifths(0),
        mode: Mode::Major,
    };
    let under = |text: &str, melody: Option<Degree>| {
        let chord = symbol::parse(text).unwrap();
        let function = key::live(&chord, c);
        let choices = tension::resolve(&chord, &function, TensionRequests::default());
        let note = |d: Degree| MidiNote::clamp(72).next_of(d.class(chord.root)).unwrap();
        let agreed = tension::agree(&choices, &chord, melody.map(note).into_iter().collect());
        agreed.choices[0].seventh
    };
    for (text, seventh) in [
        ("Cmaj7", Six),
        ("Fmaj7", Six),
        ("C", Six),
        ("Cmaj9", Six),
        ("Cmaj7(#11)", Six),
        ("Dm7", Flat7),
        ("G7", Flat7),
    ] {
        assert_eq!(under(text, Some(Root)), Some(seventh), "{text}");
    }
    for other in Degree::ALL.into_iter().filter(|d| *d != Root) {
        assert_eq!(under("Cmaj7", Some(other)), Some(Seven), "{other}");
    }
    assert_eq!(under("Cmaj7", None), Some(Seven));
    assert_eq!(PitchClass::wrapping(0), c.tonic.class());
}
