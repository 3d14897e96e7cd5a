//! What was picked for single chords goes out with a chart and comes back: pinned voicings and
//! chosen scales.

mod random;
mod written;

use guidehand_exchange::import::{self, Imported};
use guidehand_exchange::kept::{self, Kept, KeptPin, KeptScale};
use guidehand_exchange::musicxml::{self, Form, Page, Staves, Words};
use guidehand_exchange::practice::{self, Order};
use guidehand_exchange::score::Score;
use guidehand_theory::candidates::Register;
use guidehand_theory::chart::{self, Chart};
use guidehand_theory::pitch::NoteNames;
use guidehand_theory::scale;
use guidehand_theory::shape::Texture;
use proptest::prelude::*;
use serde_json::{Map, Value, json};
use std::collections::{BTreeMap, BTreeSet};
use std::num::NonZeroU16;
use written::WRITTEN;

fn read(kept: &Kept) -> Chart {
    let text = &kept.chart;
    kept.read()
        .unwrap_or_else(|errors| panic!("{text}: {errors:?}"))
}

/// The symbols of the written chords of a chart, and how often each is played.
fn chords(chart: &Chart) -> Vec<(String, u16)> {
    let passes = chart.passes().into_iter().zip(&chart.changes);
    let chords: BTreeMap<usize, (String, u16)> = passes
        .filter_map(|(pass, change)| {
            let pass = pass?;
            Some((pass.index, (kept::symbol(&change.chord?), pass.passes)))
        })
        .collect();
    chords.into_values().collect()
}

fn pin(chart: &Chart, chord: usize, pass: u16, notes: &[u8]) -> KeptPin {
    KeptPin {
        chord,
        symbol: chords(chart)[chord].0.clone(),
        pass: NonZeroU16::new(pass),
        notes: notes.to_vec(),
        later: Map::new(),
    }
}

fn scale(chart: &Chart, chord: usize, name: &str, above: u8) -> KeptScale {
    KeptScale {
        chord,
        symbol: chords(chart)[chord].0.clone(),
        scale: name.to_owned(),
        above,
        later: Map::new(),
    }
}

fn planned(kept: &Kept) -> Score {
    let setting = (Texture::FourNotes, Register::DEFAULT);
    Score::planned_around(read(kept), 120.0, None, setting, Some(kept))
}

fn imported(xml: &str) -> Imported {
    import::import(xml.as_bytes()).unwrap_or_else(|error| panic!("{error}\n{xml}"))
}

/// Random picks for the chords of a chart: for every time, for one time, and none.
fn picked_at_random(text: &str, random: &mut fastrand::Rng) -> Kept {
    let mut kept = Kept::of(text);
    let chart = read(&kept);
    let scales: Vec<&str> = scale::all().map(|scale| scale.name).collect();
    for (chord, (_, passes)) in chords(&chart).iter().enumerate() {
        let mut pinned = |pass: u16, random: &mut fastrand::Rng| {
            let keys: BTreeSet<u8> = (0..random.usize(1..=8))
                .map(|_| random.u8(36..84))
                .collect();
            let keys: Vec<u8> = keys.into_iter().collect();
            kept.pins.push(pin(&chart, chord, pass, &keys));
        };
        if random.u8(..3) == 0 {
            pinned(0, random);
        }
        for pass in 1..=*passes {
            if random.u8(..5) == 0 {
                pinned(pass, random);
            }
        }
        if random.u8(..3) == 0 {
            let name = random.choice(&scales).unwrap();
            kept.scales
                .push(scale(&chart, chord, name, random.u8(..12)));
        }
    }
    kept
}

/// Out and in again: the same text, the same picks, the same notes.
#[track_caller]
fn comes_back(kept: &Kept, page: Page) {
    let score = planned(kept);
    let xml = musicxml::write(&score, page);
    let back = imported(&xml);
    assert_eq!(back.missed, [], "{}", kept.chart);
    assert_eq!(
        back.text,
        chart::renamed(&kept.chart, kept.names, NoteNames::English)
    );
    let again = back.kept.unwrap();
    assert_eq!(&again, kept);
    assert_eq!(planned(&again).comping, score.comping);
    assert_eq!(musicxml::write(&planned(&again), page), xml);
}

const FORMS: [Form; 2] = [Form::Written, Form::AsPlayed];

#[test]
fn picks_of_written_charts_come_back() {
    let mut random = fastrand::Rng::with_seed(20_261_128);
    for text in WRITTEN {
        comes_back(&Kept::of(text), Page::default());
        for _ in 0..6 {
            let kept = picked_at_random(text, &mut random);
            for form in FORMS {
                let page = Page {
                    form,
                    bass: true,
                    staves: Staves::Grand,
                    words: Words::ALL,
                };
                comes_back(&kept, page);
            }
        }
    }
}

/// Charts that say what no page of MusicXML can hold, or that are laid out by hand, come back as
/// they were typed.
#[test]
fn a_text_comes_back_as_it_was_typed() {
    for text in [
        "  Dm7|G-7   C7(b9, b13) |\n\n  CΔ7 / / A7(no5) | %|",
        "[A] Dm7 | G7alt | [B] C6 | Gb/C7 | [A]",
        "Title: a | \u{85}\u{fffe} & <b> \"quoted\" \\ ♯\n| C6 |",
        "| C6 | C6 | N.C. | C6 |",
    ] {
        let kept = Kept::of(text);
        comes_back(&kept, Page::default());
        let pinned = Kept {
            pins: vec![pin(&read(&kept), 0, 0, &[52, 57])],
            ..kept
        };
        comes_back(&pinned, Page::default());
    }
    let german = Kept {
        names: NoteNames::German,
        ..Kept::of("| Hm7 | B7 b9 | Es6 |")
    };
    comes_back(&german, Page::default());
}

/// A repeat that sounds differently each time is written out, and comes back as it was typed.
#[test]
fn a_pin_for_one_time_comes_back_for_that_time() {
    let kept = Kept::of("|: Dm7 | G7 :|");
    let chart = read(&kept);
    let kept = Kept {
        pins: vec![pin(&chart, 1, 2, &[41, 45, 47, 52])],
        ..kept
    };
    let xml = musicxml::write(&planned(&kept), Page::default());
    assert!(!xml.contains("<repeat"), "{xml}");
    assert_eq!(xml.matches("<measure ").count(), 4);
    comes_back(&kept, Page::default());
    let remarks = imported(&xml).remarks;
    let told = "Read with the chart: 1 pinned voicing, 0 chosen scales.".to_owned();
    assert!(remarks.contains(&told), "{remarks:?}");
}

/// The form of the field, by hand.
#[test]
fn the_field_holds_this_json() {
    let kept = Kept::of("|: Dm7 | G7 :|");
    let chart = read(&kept);
    let kept = Kept {
        names: NoteNames::German,
        pins: vec![pin(&chart, 0, 0, &[53, 57]), pin(&chart, 1, 2, &[41])],
        scales: vec![
            scale(&chart, 1, "altered", 0),
            scale(&chart, 0, "blues", 10),
        ],
        ..kept
    };
    let json: Value = serde_json::from_str(&kept.to_json()).unwrap();
    let expected = json!({
        "chart": "|: Dm7 | G7 :|",
        "names": "german",
        "pins": [
            {"chord": 0, "symbol": "Dm7", "notes": [53, 57]},
            {"chord": 1, "symbol": "G7", "pass": 2, "notes": [41]},
        ],
        "scales": [
            {"chord": 1, "symbol": "G7", "scale": "altered"},
            {"chord": 0, "symbol": "Dm7", "scale": "blues", "above": 10},
        ],
    });
    assert_eq!(json, expected);
    assert_eq!(Kept::of("| C6 |").to_json(), r#"{"chart":"| C6 |"}"#);
}

/// A page of `| Dm7 | G7 | Cmaj7 |` with this field.
fn page_with(field: &str) -> String {
    let chart = chart::parse("| Dm7 | G7 | Cmaj7 |").unwrap();
    let xml = musicxml::write(&Score::of(chart, 120.0), Page::default());
    let escaped = field.replace('&', "&amp;").replace('<', "&lt;");
    let own = format!(
        "<identification><miscellaneous>\
         <miscellaneous-field name=\"other\">{{}}</miscellaneous-field>\
         <miscellaneous-field name=\"guidehand-kept\">{escaped}</miscellaneous-field>\
         </miscellaneous></identification><part-list>"
    );
    xml.replacen("<part-list>", &own, 1)
}

/// What is told of a field, and how many pins and scales are read from it.
fn told(field: &str) -> (Vec<String>, Option<(usize, usize)>) {
    let back = imported(&page_with(field));
    assert_eq!(
        chart::parse(&back.text).unwrap().changes.len(),
        3,
        "{field}"
    );
    let places = back.missed.iter().all(|missed| missed.at.is_some());
    assert!(places, "{:?}", back.missed);
    let kept = back.kept.map(|kept| (kept.pins.len(), kept.scales.len()));
    (back.missed.iter().map(ToString::to_string).collect(), kept)
}

#[test]
fn what_is_wrong_with_a_field_is_told_and_passed_over() {
    const EXPECTED: &str =
        "guidehand-kept: expected JSON with the text of a chart, its pins and its scales; ";
    for (field, words) in [
        ("", EXPECTED),
        ("nonsense", EXPECTED),
        ("[1, 2]", EXPECTED),
        (r#"{"chart": 3}"#, EXPECTED),
        (
            r#"{"chart": "| H7 |"}"#,
            "guidehand-kept: its chart cannot be read, bar 1",
        ),
        (
            r#"{"chart": "| C6 |", "names": "french"}"#,
            "guidehand-kept: expected \"german\" or nothing for names; it is passed over",
        ),
    ] {
        let (said, kept) = told(field);
        assert_eq!(kept, None, "{field}");
        assert_eq!(said.len(), 1, "{field}: {said:?}");
        assert!(said[0].starts_with(words), "{field}: {said:?}");
        assert!(said[0].ends_with("it is passed over"), "{field}: {said:?}");
    }
}

#[test]
fn what_is_wrong_with_a_pin_or_a_scale_leaves_the_others() {
    let field = |pins: &str, scales: &str| {
        format!(r#"{{"chart":"| Dm7 | G7 | Cmaj7 |","pins":{pins},"scales":{scales}}}"#)
    };
    let good = r#"{"chord":0,"symbol":"Dm7","notes":[53,57,60,64]}"#;
    for (bad, words) in [
        ("7", "pin 1: "),
        (
            r#"{"chord":0,"symbol":"Dm7"}"#,
            "pin 1: missing field `notes`",
        ),
        (
            r#"{"chord":0,"symbol":"Dm7","notes":[]}"#,
            "pin 1: expected 1 to 8 notes, each from 0 to 127",
        ),
        (
            r#"{"chord":0,"symbol":"Dm7","notes":[128]}"#,
            "pin 1: expected 1 to 8 notes",
        ),
        (
            r#"{"chord":0,"symbol":"Dm7","notes":[1,2,3,4,5,6,7,8,9]}"#,
            "pin 1: expected 1 to 8 notes",
        ),
        (
            r#"{"chord":0,"symbol":"Dm7","notes":[60],"pass":0}"#,
            "pin 1: ",
        ),
        (
            r#"{"chord":1,"symbol":"Dm7","notes":[60]}"#,
            "pin 1: expected Dm7 as chord 1 from 0, found G7",
        ),
        (
            r#"{"chord":3,"symbol":"Dm7","notes":[60]}"#,
            "pin 1: expected Dm7 as chord 3 from 0, found 3 chords",
        ),
    ] {
        let (said, kept) = told(&field(&format!("[{bad},{good}]"), "[]"));
        assert_eq!(kept, Some((1, 0)), "{bad}");
        assert_eq!(said.len(), 1, "{bad}: {said:?}");
        let said = &said[0];
        assert!(
            said.starts_with(&format!("guidehand-kept: {words}")),
            "{bad}: {said}"
        );
        assert!(said.ends_with("it is passed over"), "{bad}: {said}");
    }
    for (bad, words) in [
        (
            r#"{"chord":1,"symbol":"G7","scale":"nothing"}"#,
            "scale 1: expected a scale of the table",
        ),
        (
            r#"{"chord":1,"symbol":"G7","scale":"altered","above":12}"#,
            "scale 1: expected a scale of the table",
        ),
        (
            r#"{"chord":1,"symbol":"C7","scale":"altered"}"#,
            "scale 1: expected C7 as chord 1 from 0, found G7",
        ),
    ] {
        let (said, kept) = told(&field(&format!("[{good}]"), &format!("[{bad}]")));
        assert_eq!(kept, Some((1, 0)), "{bad}");
        assert_eq!(said.len(), 1, "{bad}: {said:?}");
        assert!(
            said[0].starts_with(&format!("guidehand-kept: {words}")),
            "{said:?}"
        );
    }
    let (said, kept) = told(&field("{}", "3"));
    assert_eq!(kept, Some((0, 0)));
    let expected = ["pins", "scales"]
        .map(|list| format!("guidehand-kept: expected a list for {list}; it is passed over"));
    assert_eq!(said, expected);
    let many = format!("[{}]", vec![good; kept::MOST_KEPT + 3].join(","));
    let (said, kept) = told(&field(&many, "[]"));
    assert_eq!(kept, Some((kept::MOST_KEPT, 0)));
    assert_eq!(
        said,
        ["guidehand-kept: expected at most 4096 pins; 3 more are passed over"]
    );
}

/// What a later version has written with a pin is written again.
#[test]
fn fields_of_later_versions_are_kept() {
    let pins = r#"[{"chord":0,"symbol":"Dm7","notes":[60],"touch":"soft"}]"#;
    let field = format!(r#"{{"chart":"| Dm7 | G7 | Cmaj7 |","pins":{pins}}}"#);
    let kept = imported(&page_with(&field)).kept.unwrap();
    assert_eq!(kept.pins[0].later["touch"], "soft");
    assert!(kept.to_json().contains(r#""touch":"soft""#));
}

/// The page was changed after it was written: its chords count, and what was picked stays where the
/// page plays the same chord at the same time.
#[test]
fn picks_stay_where_a_changed_page_plays_their_chords() {
    let kept = Kept::of("|: Dm7 | G7 :|");
    let chart = read(&kept);
    let kept = Kept {
        pins: vec![
            pin(&chart, 0, 0, &[53, 57, 60, 64]),
            pin(&chart, 1, 2, &[41, 45, 47, 52]),
        ],
        scales: vec![scale(&chart, 1, "altered", 0)],
        ..kept
    };
    // The page has four bars. Its last G7 becomes a Db7.
    let xml = musicxml::write(&planned(&kept), Page::default());
    let last = xml.rfind("<root-step>G<").unwrap();
    let changed = format!(
        "{}<root-step>D</root-step><root-alter>-1</root-alter>{}",
        &xml[..last],
        &xml[last + "<root-step>G</root-step>".len()..]
    );
    let back = imported(&changed);
    assert_eq!(back.text, "| Dm7 | G7 | Dm7 | Db7 |");
    let again = back.kept.unwrap();
    let page = read(&again);
    let expected = Kept {
        pins: vec![
            pin(&page, 0, 0, &[53, 57, 60, 64]),
            pin(&page, 2, 0, &[53, 57, 60, 64]),
        ],
        scales: vec![scale(&page, 1, "altered", 0)],
        ..Kept::of(&back.text)
    };
    assert_eq!(again, expected);
    let said: Vec<String> = back.missed.iter().map(ToString::to_string).collect();
    let of = |what: &str| {
        format!("bar 4, guidehand-kept: the {what} of G7 is passed over; expected G7 in its place")
    };
    assert_eq!(said, [of("pinned voicing"), of("chosen scale")]);
}

#[test]
fn a_page_without_a_field_holds_no_picks() {
    let chart = chart::parse("| Dm7 | G7 |").unwrap();
    let xml = musicxml::write(&Score::of(chart, 120.0), Page::default());
    assert!(!xml.contains("guidehand-kept"));
    assert_eq!(imported(&xml).kept, None);
}

#[test]
fn chosen_scales_stand_under_the_staff() {
    let kept = Kept::of("| Dm7 | G7 | C7 |");
    let chart = read(&kept);
    let kept = Kept {
        scales: vec![
            scale(&chart, 1, "altered", 0),
            scale(&chart, 2, "Mixolydian", 0),
        ],
        ..kept
    };
    let xml = musicxml::write(&planned(&kept), Page::default());
    let plain: String = xml.split_whitespace().collect::<Vec<_>>().join(" ");
    let words = |words: &str| {
        format!(
            "<direction placement=\"below\"> <direction-type> <words>{words}</words> \
             </direction-type> </direction> <harmony"
        )
    };
    let at = |name: &str| {
        plain
            .find(&words(name))
            .unwrap_or_else(|| panic!("{name}: {plain}"))
    };
    let bars: Vec<usize> = plain.match_indices("<measure ").map(|(at, _)| at).collect();
    assert!(bars[1] < at("G altered") && at("G altered") < bars[2]);
    assert!(bars[2] < at("C Mixolydian"));
    assert_eq!(plain.matches("<words>").count(), 2);
}

/// Half steps from the first key to the others, by hand: up to a tritone up, or down.
const NEARER: [(i32, i32); 12] = [
    (0, 0),
    (1, 1),
    (2, 2),
    (3, 3),
    (4, 4),
    (5, 5),
    (6, 6),
    (7, -5),
    (8, -4),
    (9, -3),
    (10, -2),
    (11, -1),
];

/// In each key the pinned notes are those of the first one, so many half steps away.
#[test]
fn pins_go_through_twelve_keys_by_plain_arithmetic() {
    for text in [
        "|: Dm7 | G7 :| C6 |",
        "[A] | Dm7 G7 | [B] | C6 | [A]",
        "Pickup G7 | C6 Fine | Dm7 D.C. |",
    ] {
        let kept = Kept::of(text);
        let chart = read(&kept);
        let low = [38, 45];
        // From E3 to A3: every key has a place in the register.
        let inside = [52, 57];
        let kept = Kept {
            pins: vec![pin(&chart, 0, 0, &inside), pin(&chart, 1, 1, &low)],
            scales: vec![scale(&chart, 1, "blues", 10)],
            ..kept
        };
        for order in [Order::HalfSteps, Order::Fourths, Order::Random(5)] {
            let (sheet, told) = practice::with_kept(&kept, order, &Register::DEFAULT).unwrap();
            assert_eq!(told, Vec::<String>::new());
            assert_eq!(sheet.chart, practice::practice(text, order).unwrap());
            let chart_of_sheet = read(&sheet);
            let first = kept.played(&chart);
            let all = sheet.played(&chart_of_sheet);
            assert_eq!(all.len(), 12 * first.len(), "{text}");
            let root =
                |chart: &Chart, change: usize| chart.changes[change].chord.unwrap().root.class();
            for (nth, picked) in all.iter().enumerate() {
                let of_first = &first[nth % first.len()];
                let before = of_first.pin.map(|pin| pin.notes.clone());
                let above = root(&chart_of_sheet, nth).above(root(&chart, nth % first.len()));
                let (_, by) = NEARER[usize::from(above)];
                let expected = before.map(|notes| {
                    let moved = notes.iter().map(|note| i32::from(*note) + by);
                    // A half step or two below D3, an octave higher.
                    let lift = if notes == inside && 52 + by < 50 {
                        12
                    } else {
                        0
                    };
                    moved
                        .map(|note| u8::try_from(note + lift).unwrap())
                        .collect::<Vec<u8>>()
                });
                assert_eq!(
                    picked.pin.map(|pin| pin.notes.clone()),
                    expected,
                    "{text}, {nth}"
                );
                assert_eq!(
                    picked.scale.map(|s| (&s.scale, s.above)),
                    of_first.scale.map(|s| (&s.scale, s.above))
                );
            }
        }
    }
}

#[test]
fn a_pin_without_a_place_in_a_key_is_told_of() {
    let kept = Kept::of("| G7 |");
    let kept = Kept {
        pins: vec![pin(&read(&kept), 0, 0, &[0, 127])],
        ..kept
    };
    let (sheet, told) = practice::with_kept(&kept, Order::HalfSteps, &Register::DEFAULT).unwrap();
    assert_eq!(sheet.pins.len(), 1);
    assert_eq!(told.len(), 11);
    let first = "The pinned voicing of G7 has no place in MIDI over Ab7, and is left out there.";
    assert_eq!(told[0], first);
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 150,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    /// Random charts with random picks, on every kind of page.
    #[test]
    fn random_picks_come_back(seed in any::<u64>()) {
        let mut random = fastrand::Rng::with_seed(seed);
        let text = random::chart(&mut random);
        let kept = picked_at_random(&text, &mut random);
        let form = FORMS[random.usize(..2)];
        let staves = [Staves::Symbols, Staves::One, Staves::Grand][random.usize(..3)];
        let page = Page { form, staves, bass: random.bool(), words: Words { forms: random.bool(), degrees: random.bool(), scales: random.bool() } };
        comes_back(&kept, page);
    }
}
