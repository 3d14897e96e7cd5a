//! Keys, functions and reasons, compared with common forms and relations: common
//! practice, no published source. The charts are made up, and the keys were written down
//! before any program was run.

use guidehand_theory::chart;
use guidehand_theory::chord::Chord;
use guidehand_theory::key::{self, Case, Function, Key, Mode, Resolution, Role};
use guidehand_theory::pitch::{NoteName, PitchClass};
use guidehand_theory::quality::{self, Quality};
use guidehand_theory::symbol;
use guidehand_theory::tension::{self, NinthRequest, Reason, TensionRequests};
use std::collections::HashSet;

#[path = "keys/forms.rs"]
mod forms;

/// The chords of a chart with their lengths, and the bars that they begin in.
fn read(text: &str) -> (Vec<(Option<Chord>, u32)>, Vec<usize>) {
    let chart = chart::parse(text).unwrap_or_else(|e| panic!("{text}: {e:?}"));
    let changes = chart.changes.iter();
    changes
        .map(|c| ((c.chord, c.length_ticks), c.bar + 1))
        .unzip()
}

fn transposed(chords: &[(Option<Chord>, u32)], fifths: i8) -> Vec<(Option<Chord>, u32)> {
    let moved = chords.iter();
    moved
        .map(|(chord, ticks)| (chord.map(|c| c.transposed(fifths)), *ticks))
        .collect()
}

/// All twelve keys, as fifths from the one that is written.
const TWELVE: std::ops::RangeInclusive<i8> = -6..=5;

/// The forms of [`forms::FORMS`], in twelve keys.
#[test]
fn forms_are_heard_in_their_keys() {
    let mut misses = Vec::new();
    for form in forms::FORMS {
        let (chords, bars) = read(form.chart);
        for fifths in TWELVE {
            let heard = key::analyse_in_time(&transposed(&chords, fifths), None);
            for (bar, function) in bars.iter().zip(&heard) {
                let Some(function) = function else { continue };
                let wanted = form.keys.iter().rev().find(|(from, _)| from <= bar);
                let Some((_, wanted)) = wanted else { continue };
                let fits = wanted.split('|').any(|key| {
                    let key = Key::parse(key).unwrap();
                    key.mode == function.key.mode
                        && key.tonic.class().up(fifths * 7) == function.key.tonic.class()
                });
                if !fits && fifths == 0 {
                    misses.push(format!("{} bar {bar}: {function}, not {wanted}", form.name));
                } else if !fits {
                    misses.push(format!("{} moved {fifths}: bar {bar}", form.name));
                }
            }
        }
    }
    assert!(misses.is_empty(), "{}", misses.join("\n"));
}

/// Functions in words, chord by chord.
#[test]
fn chords_do_what_a_musician_would_say() {
    let mut misses = Vec::new();
    for (text, wanted) in forms::FUNCTIONS {
        let (chords, _) = read(text);
        let functions = key::analyse_in_time(&chords, None);
        let words: Vec<String> = functions
            .iter()
            .flatten()
            .map(Function::to_string)
            .collect();
        let wanted: Vec<&str> = wanted.split(';').map(str::trim).collect();
        for (at, wanted) in wanted.iter().enumerate() {
            let said = words.get(at).map_or("nothing", String::as_str);
            let fits = match wanted.split_once(" in ") {
                _ if *wanted == "*" => true,
                Some(_) => said == *wanted,
                None => said.split(" in ").next() == Some(wanted),
            };
            if !fits {
                misses.push(format!("{text}, chord {}: {said}, not {wanted}", at + 1));
            }
        }
    }
    assert!(misses.is_empty(), "{}", misses.join("\n"));
}

const BEAT_TICKS: u32 = chart::TICKS_PER_QUARTER;
const SEED: u64 = 20;

/// A random chart: any quality on any root, from half a beat to four bars, with silences;
/// often the next root lies a fifth or a half step below, as in music.
fn chance(rng: &mut fastrand::Rng) -> Vec<(Option<Chord>, u32)> {
    let mut root = rng.i32(0..12);
    let length = rng.usize(1..24);
    let mut chords = Vec::new();
    for _ in 0..length {
        root += *rng
            .choice(&[0, 5, 5, 5, 11, 2, 1, 7, 3, 4, 6, 8, 9, 10])
            .unwrap();
        let common = [
            Quality::Dominant,
            Quality::MinorSeventh,
            Quality::MajorSeventh,
            Quality::HalfDiminished,
        ];
        let quality = if rng.bool() {
            *rng.choice(&common).unwrap()
        } else {
            rng.choice(&quality::TABLE).unwrap().quality
        };
        let mut chord = Chord::new(spelled(rng, PitchClass::wrapping(root)), quality);
        if rng.u8(0..8) == 0 {
            let bass = PitchClass::wrapping(rng.i32(0..12));
            chord.bass = Some(spelled(rng, bass));
        }
        let silent = rng.u8(0..20) == 0;
        let ticks = *rng
            .choice(&[
                BEAT_TICKS / 2,
                BEAT_TICKS,
                2 * BEAT_TICKS,
                4 * BEAT_TICKS,
                16 * BEAT_TICKS,
            ])
            .unwrap();
        chords.push(((!silent).then_some(chord), ticks));
    }
    chords
}

/// One of the names of a key.
fn spelled(rng: &mut fastrand::Rng, class: PitchClass) -> NoteName {
    let names: Vec<NoteName> = (-12..=12)
        .map(NoteName::from_fifths)
        .filter(|name| name.class() == class)
        .collect();
    *rng.choice(&names).unwrap()
}

/// Everything about a chord that may not depend on the key of the chart, nor on how
/// its notes are spelled.
#[derive(Debug, PartialEq)]
struct Relative {
    tonic: u8,
    mode: Mode,
    role: Role,
    resolution: Resolution,
    case: Case,
    is_two: bool,
    tensions: Vec<String>,
}

fn relative(chords: &[(Option<Chord>, u32)]) -> Vec<Option<Relative>> {
    let first = chords.iter().find_map(|(chord, _)| *chord);
    let from = first.map_or(PitchClass::wrapping(0), |c| c.root.class());
    let functions = key::analyse_in_time(chords, None);
    let pairs = chords.iter().zip(functions);
    pairs
        .map(|((chord, _), function)| {
            let (chord, function) = ((*chord)?, function?);
            let choices = tension::resolve(&chord, &function, TensionRequests::default());
            let tensions = choices
                .iter()
                .map(|t| format!("{:?} {}", t.others, t.reason));
            Some(Relative {
                tonic: function.key.tonic.class().above(from),
                mode: function.key.mode,
                role: function.role,
                resolution: function.resolution,
                case: function.case,
                is_two: function.is_two,
                tensions: tensions.collect(),
            })
        })
        .collect()
}

/// Twelve keys agree, in the forms and in random charts.
#[test]
fn nothing_depends_on_the_key_of_the_chart() {
    let mut rng = fastrand::Rng::with_seed(SEED);
    let forms = forms::FORMS.iter().map(|form| read(form.chart).0);
    let functions = forms::FUNCTIONS.iter().map(|(text, _)| read(text).0);
    let mut charts: Vec<_> = forms.chain(functions).collect();
    charts.extend((0..200).map(|_| chance(&mut rng)));
    for chart in charts {
        let here = relative(&chart);
        for fifths in TWELVE {
            assert_eq!(
                here,
                relative(&transposed(&chart, fifths)),
                "moved {fifths}: {chart:?}"
            );
        }
    }
}

/// In B7 to Fb, the goal is E by another name.
#[test]
fn nothing_depends_on_the_names_of_roots() {
    let mut rng = fastrand::Rng::with_seed(SEED);
    for _ in 0..500 {
        let chart = chance(&mut rng);
        let mut renamed = chart.clone();
        for chord in renamed.iter_mut().filter_map(|(chord, _)| chord.as_mut()) {
            chord.root = spelled(&mut rng, chord.root.class());
        }
        assert_eq!(relative(&chart), relative(&renamed), "{chart:?}");
    }
}

/// The stays in one key, with their lengths; the last joins the first where the
/// chart returns to its key.
fn stays(chart: &[(Option<Chord>, u32)]) -> Vec<(Key, Vec<Chord>, u32)> {
    let functions = key::analyse_in_time(chart, None);
    let mut stays: Vec<(Key, Vec<Chord>, u32)> = Vec::new();
    for ((chord, ticks), function) in chart.iter().zip(functions) {
        let (Some(chord), Some(function)) = (chord, function) else {
            continue;
        };
        match stays.last_mut() {
            Some((key, chords, length)) if *key == function.key => {
                chords.push(*chord);
                *length += ticks.div_ceil(BEAT_TICKS);
            }
            _ => stays.push((function.key, vec![*chord], ticks.div_ceil(BEAT_TICKS))),
        }
    }
    if stays.len() > 1 && stays[0].0 == stays[stays.len() - 1].0 {
        let (_, chords, length) = stays.remove(0);
        let last = stays.last_mut().unwrap();
        last.1.extend(chords);
        last.2 += length;
    }
    stays
}

/// V, its substitute, the backdoor or the leading-tone chord before the tonic.
fn holds_a_cadence(key: Key, chords: &[Chord]) -> bool {
    let tonic = |c: &Chord| {
        key.above(c.root.class()) == 0
            && match key.mode {
                Mode::Major => c.is_major(),
                Mode::Minor => c.quality.is_minor() || is_bare(c),
                Mode::Blues => true,
            }
    };
    chords.windows(2).any(|pair| {
        // A suspended dominant may be written as a chord over its root.
        let bass = pair[0].bass.unwrap_or(pair[0].root);
        let dominant = [pair[0].root, bass]
            .iter()
            .any(|root| matches!(key.above(root.class()), 1 | 7 | 10 | 11));
        dominant && tonic(&pair[1])
    })
}

/// A key that lasts less than two bars needs a cadence in it.
#[test]
fn short_keys_hold_a_cadence() {
    let mut rng = fastrand::Rng::with_seed(SEED);
    let mut short = 0;
    for _ in 0..3_000 {
        let chart = chance(&mut rng);
        let first = chart.iter().find_map(|(chord, _)| *chord);
        let stays = stays(&chart);
        if stays.len() < 2 {
            continue;
        }
        for (key, chords, length) in stays {
            // A major seventh at the start is at home however short it is.
            let certain = first.is_some_and(|c| {
                c.quality == Quality::MajorSeventh && key.above(c.root.class()) == 0
            });
            if length < 8 && !certain {
                short += 1;
                // Chords that continue each other stand between V and I at times.
                let mut heard = chords.clone();
                heard.dedup_by_key(|c| (c.root, c.quality));
                assert!(holds_a_cadence(key, &heard), "{key} in {chart:?}");
            }
        }
    }
    assert!(short > 20, "the charts of chance hold short keys: {short}");
}

/// A major seventh at the start is I of a major key. It is another degree only if that is
/// the IV or the bII of the key that most of the chart is in, or the bVI of a minor one.
#[test]
fn a_major_seventh_at_the_start_is_at_home() {
    let mut rng = fastrand::Rng::with_seed(SEED);
    let (mut at_home, mut elsewhere) = (0, 0);
    for _ in 0..1_000 {
        let mut chart = chance(&mut rng);
        let root = PitchClass::wrapping(rng.i32(0..12));
        let root = spelled(&mut rng, root);
        chart.insert(
            0,
            (
                Some(Chord::new(root, Quality::MajorSeventh)),
                4 * BEAT_TICKS,
            ),
        );
        let functions = key::analyse_in_time(&chart, None);
        let function = functions[0].unwrap();
        if function.role == Role::Tonic {
            at_home += 1;
            assert_eq!(function.key.mode, Mode::Major);
            continue;
        }
        elsewhere += 1;
        let minor = function.key.mode == Mode::Minor;
        let known = matches!((function.above, minor), (1, _) | (5, false) | (8, true));
        assert!(known, "{function} in {chart:?}");
        let heard = functions.iter().flatten();
        assert!(
            heard.filter(|f| f.key == function.key).count() > 1,
            "{chart:?}"
        );
    }
    assert!(at_home > 9 * elsewhere, "{at_home} against {elsewhere}");
}

/// Whether the words of a reason are true of a dominant and the chord after it.
fn is_true(reason: &str, dominant: &Chord, next: &Chord, key: Key) -> bool {
    let rise = next.root.class().above(dominant.root.class());
    let (on, to) = (
        key.above(dominant.root.class()),
        key.above(next.root.class()),
    );
    let to_dominant = next.quality.is_dominant();
    let to_minor = next.quality.is_minor() && !is_diminished(next);
    let bare = is_bare(next);
    let to_major = !to_dominant && !next.quality.is_minor() && !bare;
    let minor_key = key.mode == Mode::Minor;
    match reason {
        "falls a fifth to a major chord" => rise == 5 && to_major,
        "falls a fifth to a minor chord" => rise == 5 && to_minor,
        "falls a fifth to a diminished chord" => rise == 5 && is_diminished(next),
        "falls a fifth to a chord without a third" => rise == 5 && bare,
        "falls a fifth to another dominant" => rise == 5 && to_dominant,
        "falls a half step" => rise == 11,
        "steps up to the tonic" => rise == 2 && to == 0 && !to_minor && !minor_key,
        "leads to iii, which stands for I" => on == 10 && to == 4 && to_minor && !minor_key,
        "bVI7, prepares the dominant" => on == 8 && (to == 7 || to == 2 && to_minor),
        "II7, prepares the dominant" => {
            on == 2 && !minor_key && (to == 7 && to_dominant || to == 2 && to_minor)
        }
        "II7, prepares the dominant of a minor key" => on == 2 && minor_key && to == 7,
        "promises a major chord, goes elsewhere"
        | "promises a minor chord, goes elsewhere"
        | "promises the dominant, goes elsewhere" => rise != 5,
        "a dominant from outside the key" => rise != 5 && matches!(on, 1 | 3 | 4 | 6 | 8 | 10),
        "I7 of the blues, leads to IV7" => {
            key.mode == Mode::Blues && on == 0 && to == 5 && to_dominant
        }
        "at rest on IV" => on == 5 && rise != 5,
        // In the blues I7 is at home also where IV7 comes next.
        "at rest" => rise != 5 || key.mode == Mode::Blues && on == 0 && to_dominant,
        "altered, by voice leading" => dominant.quality == Quality::Altered,
        _ => false,
    }
}

fn is_bare(chord: &Chord) -> bool {
    matches!(chord.quality, Quality::Power | Quality::SuspendedSecond)
}

fn is_diminished(chord: &Chord) -> bool {
    matches!(
        chord.quality,
        Quality::Diminished | Quality::DiminishedSeventh
    )
}

/// Every dominant before every quality on every root, in every key.
#[test]
fn reasons_agree_with_the_next_chord() {
    let g = |quality| Chord::new(NoteName::from_fifths(1), quality);
    let mut said = HashSet::new();
    for dominant in quality::TABLE
        .iter()
        .filter(|row| row.quality.is_dominant())
    {
        for next in &quality::TABLE {
            for up in 0..12 {
                let root = Key::usual(PitchClass::wrapping(7 + up), Mode::Major).tonic;
                let pair = [g(dominant.quality), Chord::new(root, next.quality)];
                for tonic in 0..12 {
                    for mode in [Mode::Major, Mode::Minor, Mode::Blues] {
                        let key = Key::usual(PitchClass::wrapping(tonic), mode);
                        let functions = key::analyse(&pair.map(Some), Some(key));
                        let function = functions[0].unwrap();
                        for choice in
                            tension::resolve(&pair[0], &function, TensionRequests::default())
                        {
                            said.insert(choice.reason);
                            assert!(
                                is_true(&choice.reason.to_string(), &pair[0], &pair[1], key),
                                "{:?} to {} {:?} in {key}: {}",
                                dominant.quality,
                                root,
                                next.quality,
                                choice.reason
                            );
                        }
                    }
                }
            }
        }
    }
    let all: HashSet<Reason> = Resolution::ALL.into_iter().map(Reason::Goes).collect();
    let missing: Vec<_> = all.difference(&said).collect();
    // A pair of chords alone has no ii before its I7, and that I7 lasts a bar.
    assert_eq!(
        missing,
        [&Reason::Goes(Resolution::ToFour)],
        "reasons that no pair gives"
    );
}

/// The choices for one chord of a chart: the tensions that are chosen for it, and a
/// natural fifth where one is chosen with them.
fn choices(text: &str, at: usize, requests: TensionRequests) -> Vec<String> {
    let (chords, _) = read(text);
    let functions = key::analyse_in_time(&chords, None);
    let (chord, function) = (chords[at].0.unwrap(), functions[at].unwrap());
    tension::resolve(&chord, &function, requests)
        .iter()
        .map(|choice| {
            let wanted = choice.others.iter().filter(|d| d.family().is_some());
            let mut names: Vec<&str> = wanted.map(|d| d.name()).collect();
            names.sort_by_key(|name| {
                let order = ["b9", "9", "#9", "#11", "b13", "13"];
                order.iter().position(|n| n == name)
            });
            names.join(" ")
        })
        .collect()
}

/// Which tensions a dominant takes where the symbol leaves them open, by where it
/// goes: the first choice and the others, in order.
#[test]
fn open_dominants_take_the_tensions_of_the_trade() {
    let substitute: &[&str] = &["9 #11 13", "9 13"];
    let to_major: &[&str] = &["9 13", "b9 13", "9 #11", "b9 b13"];
    let to_minor: &[&str] = &["b9 b13", "#9 b13"];
    let chain: &[&str] = &["9 13", "9 #11 13", "b9 13", "b9 b13"];
    let two: &[&str] = &["9 #11", "9 13"];
    let blues = "| C7 | F7 | C7 | % | F7 | % | C7 | % | G7 | F7 | C7 | G7 |";
    let jazz =
        "| C7 | F7 | C7 | Gm7 C7 | F7 | F#dim7 | C7 | Em7b5 A7 | Dm7 | G7 | C7 A7 | Dm7 G7 |";
    for (text, at, wanted) in [
        ("| G7 | Cmaj7 | % |", 0, to_major),
        ("| G7 | Cm6 | % |", 0, to_minor),
        ("| Cmaj7 | Dm7 Db7 | Cmaj7 | G7 |", 2, substitute),
        ("| Cmaj7 | Fm7 Bb7 | Cmaj7 | G7 |", 2, substitute),
        ("| Cmaj7 | Fm7 Bb7 | Em7 A7 | Dm7 G7 |", 2, substitute),
        ("| Cm6 | Ab7 | G7 | Cm6 |", 1, substitute),
        ("| Cm6 | Ab7 | Dm7b5 | G7 |", 1, substitute),
        ("| Cmaj7 | Ab7 | G7 | Cmaj7 |", 1, substitute),
        ("| Cmaj7 | Ab7 | Dm7 | G7 |", 1, substitute),
        ("| Cmaj7 | D7 | Dm7 | G7 |", 1, two),
        ("| Cmaj7 | D7 | G7 | Cmaj7 |", 1, two),
        ("| Cm6 | D7 | G7 | Cm6 |", 1, &["b9 b13", "9 #11"]),
        ("| Cmaj7 | E7 | Fmaj7 | G7 |", 1, to_minor),
        ("| Cmaj7 | G7 | Am7 | G7 | Cmaj7 | % |", 1, to_major),
        ("| Cmaj7 | A7 | Fm6 | Cmaj7 |", 1, to_minor),
        ("| Bb6 | F7 | Bb6 | % | D7 | G7 | C7 | F7 |", 3, chain),
        (blues, 0, &["9 13", "#9"]),
        (blues, 1, &["9 13", "9 #11 13"]),
        (blues, 2, &["9 13", "b9 b13", "#9 b13"]),
        (jazz, 4, &["9 13", "b9 b13", "#9 b13"]),
        ("| G7sus4 | Cmaj7 | % |", 0, &["9 13"]),
        ("| G7sus4 | Cm6 | % |", 0, &["9 13", "b9"]),
    ] {
        assert_eq!(
            choices(text, at, TensionRequests::default()),
            wanted,
            "{text} chord {at}"
        );
    }
}

/// A #9 that is asked for takes 13 with it on a substitute or a IV7, and b13 on a
/// dominant that falls a fifth.
#[test]
fn an_asked_sharp_nine_takes_its_thirteenth() {
    let requests = TensionRequests {
        ninth: NinthRequest::Sharp9,
        ..TensionRequests::default()
    };
    for (text, at, wanted) in [
        ("| Dm7 | Db7 | Cmaj7 | % |", 1, "#9 13"),
        (
            "| C7 | F7 | C7 | % | F7 | % | C7 | % | G7 | F7 | C7 | G7 |",
            1,
            "#9 13",
        ),
        ("| Dm7 | G7 | Cmaj7 | % |", 1, "#9 b13"),
        ("| Dm7b5 | G7 | Cm6 | % |", 1, "#9 b13"),
        ("| Cmaj7 | A7 | D7 | G7 |", 1, "#9 b13"),
    ] {
        assert_eq!(choices(text, at, requests)[0], wanted, "{text}");
    }
}

/// A ii is a minor seventh or half-diminished chord that goes to its dominant, or to
/// the substitute of that dominant.
#[test]
fn twos_know_their_dominants() {
    for (text, at, wanted) in [
        ("| Dm7 | G7 | Cmaj7 | % |", 0, true),
        ("| Dm7 | G7sus4 | G7 | Cmaj7 |", 0, true),
        ("| Dm9 | Dm11 | G7 | Cmaj7 |", 0, true),
        ("| Dm7 | Db7 | Cmaj7 | % |", 0, true),
        ("| Bm7b5 | E7 | Am7 | % |", 0, true),
        ("| Cmaj7 | Em7 A7 | Dm7 | G7 |", 1, true),
        ("| Cmaj7 | Abm7 Db7 | Cmaj7 | G7 |", 1, true),
        ("| Cmaj7 | Fm7 Bb7 | Cmaj7 | G7 |", 1, true),
        ("| Cmaj7 | Am7 | Dm7 | G7 |", 1, false),
        ("| Cmaj7 | Em7 | Fmaj7 | G7 |", 1, false),
        // A half step below stands a dominant that falls no further.
        ("| Cmaj7 | Em7 | Eb7 | Abmaj7 |", 1, false),
        ("| Cm6 | F7 | Cm6 | % |", 0, false),
    ] {
        let (chords, _) = read(text);
        let function = key::analyse_in_time(&chords, None)[at].unwrap();
        assert_eq!(function.is_two, wanted, "{text} chord {at}");
    }
}

/// A chord that is played now has the function of its degree; I7 and IV7 are at home in
/// the blues.
#[test]
fn played_chords_have_functions() {
    for (chord, key, wanted) in [
        ("C7", "C blues", "I in C blues"),
        ("F7", "C blues", "IV in C blues"),
        ("F#dim7", "C blues", "#iv°, passing in C blues"),
        ("Dm7", "C", "ii in C major"),
        ("A7", "C", "V of ii in C major"),
        ("Bm7b5", "C", "viiø in C major"),
        ("Bdim7", "C minor", "vii° in C minor"),
        ("Fm7", "C", "iv, borrowed in C major"),
        ("F/G", "C", "V in C major"),
        ("Cm6", "C minor", "i in C minor"),
    ] {
        let function = key::live(&symbol::parse(chord).unwrap(), Key::parse(key).unwrap());
        assert_eq!(function.to_string(), wanted, "{chord}");
    }
}
