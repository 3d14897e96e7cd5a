//! Charts that are written and read again, and bytes that are no files.

mod random;
mod written;

use guidehand_exchange::import::{self, ImportError, Imported};
use guidehand_exchange::musicxml::{self, Form, Page, Staves, Words};
use guidehand_exchange::pages::plays_alike;
use guidehand_exchange::score::Score;
use guidehand_exchange::sheet::Sheet;
use guidehand_exchange::{midi, practice};
use guidehand_theory::candidates::Register;
use guidehand_theory::chart::{self, Chart};
use guidehand_theory::chord::Chord;
use guidehand_theory::key::Key;
use guidehand_theory::kind;
use guidehand_theory::quality::Quality;
use guidehand_theory::shape::Texture;
use proptest::collection::vec;
use proptest::prelude::{Strategy, any};
use proptest::sample::{Index, select};
use proptest::test_runner::{Config, RngSeed, TestRunner};
use std::cell::Cell;
use std::io::{Cursor, Write};
use written::WRITTEN;

const SEED: u64 = 20_260_104;

fn read(text: &str) -> Chart {
    chart::parse(text).unwrap_or_else(|errors| panic!("{text}: {errors:?}"))
}

fn charts() -> impl Iterator<Item = String> {
    let mut random = fastrand::Rng::with_seed(SEED);
    (0..400).map(move |_| random::chart(&mut random))
}

/// Runs a check on random values, the same ones in every run. A value that fails is made as small
/// as it can be before it is reported.
fn random_cases<S: Strategy>(cases: u32, values: &S, check: impl Fn(S::Value)) {
    let config = Config {
        cases,
        failure_persistence: None,
        rng_seed: RngSeed::Fixed(SEED),
        ..Config::default()
    };
    let outcome = TestRunner::new(config).run(values, |value| {
        check(value);
        Ok(())
    });
    outcome.unwrap_or_else(|error| panic!("{error}"));
}

fn planned(chart: &Chart) -> Score {
    Score::planned(
        chart.clone(),
        140.0,
        None,
        Texture::FourNotes,
        Register::DEFAULT,
    )
}

fn imported(bytes: &[u8], of: &str) -> Imported {
    import::import(bytes).unwrap_or_else(|error| panic!("{of}: {error}"))
}

/// The chart with every chord as MusicXML can hold it. A polychord is shown by the text of its
/// kind.
fn in_kinds(chart: &Chart) -> Chart {
    let mut chart = chart.clone();
    let held = |chord: Chord| {
        let held = kind::from_kind(&kind::to_kind(&chord)).unwrap()?;
        let shown = chord.upper.is_some() && chord.bass.is_none();
        Some(match shown && held.stack() == chord.stack() {
            true => chord,
            false => held,
        })
    };
    for change in &mut chart.changes {
        change.chord = change.chord.and_then(held);
    }
    chart
}

/// Nothing of them is lost in either format, or it is told.
#[test]
fn written_charts_go_out_and_in_again() {
    for text in WRITTEN {
        let chart = read(text);
        let score = Score::of(chart.clone(), 120.0);
        let page = imported(musicxml::write(&score, Page::default()).as_bytes(), text);
        assert_eq!(page.missed, [], "{text}");
        let again = read(&page.text);
        assert!(plays_alike(&again, &chart), "{text}\n{}", page.text);
        // Letters, repeats, endings and jumps stand where they stood.
        assert_eq!(page.text, Sheet::written(&chart).to_text());
        let file = imported(&midi::write(&score), text);
        assert_eq!(file.missed, [], "{text}");
        assert_eq!(read(&file.text).title, chart.title, "{text}");
        let told = "A chart holds chords and the form; passed over: the tempo.";
        assert_eq!(page.remarks, [told], "{text}");
        assert_eq!(file.remarks, [told], "{text}");
        let played = |chart: &Chart| -> Vec<_> {
            let changes = chart.changes.iter();
            changes.map(|c| (c.start_ticks, c.chord)).collect()
        };
        assert_eq!(
            played(&read(&file.text)),
            played(&chart),
            "{text}\n{}",
            file.text
        );
    }
}

/// Neither format has a name for the blues, so it has the signature of the major key (common
/// practice, no published source).
#[test]
fn a_blues_has_the_signature_of_its_major_key() {
    for (tonic, fifths) in [("C", 0), ("Bb", -2), ("F#", 6), ("E", 4), ("Db", -5)] {
        let text = format!("| {tonic}7 |");
        let score = Score {
            key: Key::parse(&format!("{tonic} blues")).unwrap(),
            ..planned(&read(&text))
        };
        let page = musicxml::write(&score, Page::default());
        let said = format!("<fifths>{fifths}</fifths>");
        assert!(page.contains(&said), "{tonic}: {page}");
        assert!(page.contains("<mode>major</mode>"), "{tonic}");
        // Standard MIDI Files 1.0: FF 59 02, sharps or flats, 0 for major.
        let file = midi::write(&score);
        let sharps = i8::to_be_bytes(fifths)[0];
        let event = [0xff, 0x59, 2, sharps, 0];
        let found = file.windows(event.len()).any(|bytes| bytes == event);
        assert!(found, "{tonic}: {file:02x?}");
    }
}

#[test]
fn sheets_print_as_the_chart_that_they_came_from() {
    let mut kept = 0;
    for text in charts() {
        let chart = read(&text);
        for sheet in [Sheet::written(&chart), Sheet::played(&chart)] {
            let again = sheet.to_text();
            assert!(plays_alike(&read(&again), &chart), "{text}\n{again}");
        }
        let repeats = chart.bars.len() > chart.written.len();
        let page = Sheet::written(&chart).bars.len();
        kept += usize::from(repeats && page < chart.bars.len());
    }
    assert!(kept > 60, "repeats are kept in only {kept} charts");
}

#[test]
fn pages_hold_repeats_and_recalled_letters() {
    let page = |text: &str| Sheet::written(&read(text)).to_text();
    for same in [
        "|: C6 | F6 | [1 G7 :| [2 G7 |\n| C6 |",
        "[A] |: Dm7 | G7 :|\n[B] | Cmaj7 | % | F6 / / G7 | / / / / |",
        "| 3/4 C6 | F6 G7 | 4/4 N.C. |",
    ] {
        assert_eq!(page(same), same);
    }
    assert_eq!(
        page("[A] C6 | [B] F6 :| [A]"),
        "[A] | C6 |\n[B] |: F6 :|\n[A] | C6 |"
    );
    assert_eq!(
        page("|: C6 | [1 F6 :| [2 G7 :| A7"),
        "|: C6 | [1 F6 :| [2 G7 | A7 |"
    );
    // This bar sounds different each time round.
    assert_eq!(
        page("C6 F6 |: % | G7 A7 :|"),
        "| C6 F6 | C6 F6 | G7 A7 | G7 A7 |\n| G7 A7 |"
    );
}

#[test]
fn pages_hold_the_signs_of_the_road() {
    let page = |text: &str| Sheet::written(&read(text)).to_text();
    for same in [
        "| C6 | F6 Fine | G7 | A7 D.C. al Fine |",
        "| C6 | Segno F6 | G7 To Coda | A7 D.S. al Coda |\n| Coda D7 | C6 |",
        "| C6 | F6 D.C. |",
        "|: C6 | F6 :| x3 | G7 |",
        "|: C6 :| x4 |: F6 :| x3",
        "| Pickup G7 / | C6 | F6 |",
        "Low Tide\n| C6 | F6 |",
        "Title: Am\n[Bridge] | C6 | F6 |",
        "| Dm7 G7 C6 | even Dm7 G7 C6 | Dm7 / G7 / |",
        "| 3/4 C6 F6 | 5/4 G7 C6 | 6/8 F6 G7 |",
    ] {
        let written = page(same);
        assert_eq!(written, same.replace("| Dm7 / G7 / |", "| Dm7 G7 |"));
    }
    // Bars that are repeated together are written out if they are struck again.
    assert_eq!(page("| C6 | F6 | %% |"), "| C6 | F6 | C6 | F6 |");
    assert_eq!(page("| C6 | | %% |"), "| C6 | % | % | % |");
    assert_eq!(
        page("A: | C6 | 1. F6 :| 2. . . . G7 |]"),
        "[A] |: C6 | [1 F6 :| [2 / / / G7 |"
    );
    // A section that is played again has its signs only once.
    assert_eq!(
        page("[A] Segno C6 | [B] F6 To Coda | [A] | [C] G7 D.S. al Coda | Coda A7"),
        "[A] | Segno C6 |\n[B] | F6 To Coda |\n[A] | C6 |\n[C] | G7 D.S. al Coda |\n| Coda A7 |"
    );
}

/// Random sequences of signs: if they make a chart, its pages play like the chart.
#[test]
fn signs_in_any_order_print_as_what_they_play() {
    const SIGNS: [&str; 34] = [
        "|",
        "|",
        "|",
        "|",
        "|:",
        ":|",
        ":|",
        ":| x3",
        "[1",
        "[2",
        "1.",
        "[A]",
        "B:",
        "[A]",
        "3/4",
        "6/8",
        "%",
        "%%",
        "C6",
        "F6",
        "G7",
        "Am7",
        "/ . G7",
        "C6 D7 E7",
        "even C6 D7 E7",
        "N.C.",
        "Segno",
        "Coda",
        "To Coda",
        "Fine",
        "D.C.",
        "D.S. al Coda",
        "D.C. al Fine",
        "Pickup",
    ];
    let (charts, jumps) = (Cell::new(0), Cell::new(0));
    random_cases(60_000, &vec(select(&SIGNS[..]), 2..24), |words| {
        let text = words.join(" ");
        let Ok(chart) = chart::parse(&text) else {
            return;
        };
        let jump = chart.written.iter().any(|w| w.roads.jump.is_some());
        charts.set(charts.get() + 1);
        jumps.set(jumps.get() + usize::from(jump));
        for sheet in [Sheet::written(&chart), Sheet::played(&chart)] {
            let again = sheet.to_text();
            let read = chart::parse(&again).unwrap_or_else(|e| panic!("{text}\n{again}\n{e:?}"));
            assert!(plays_alike(&read, &chart), "{text}\n{again}");
            assert_eq!(read.has_pickup(), chart.has_pickup(), "{text}\n{again}");
        }
    });
    let (charts, jumps) = (charts.get(), jumps.get());
    assert!(
        charts > 500 && jumps > 50,
        "{charts} charts, {jumps} with jumps"
    );
}

#[test]
fn practice_sheets_write_jumps_out() {
    let text = practice::practice("Pickup G7 | C6 Fine | Dm7 D.C. |", practice::Order::Fourths);
    let text = text.unwrap();
    assert!(!text.contains("D.C.") && !text.contains("Fine"), "{text}");
    let chart = read(&text);
    assert_eq!(chart.bars.len(), 12 * 4);
    assert_eq!(chart.length_ticks(), 12 * (960 + 3 * 3840));
}

/// A marker that is a bare letter may name a section, so these chords need another name.
#[test]
fn midi_files_hold_charts_of_plain_major_chords() {
    for text in [
        "| C | % |",
        "| A | B | C |",
        "[A] | C | F |\n[B] | G | C |",
        "| Bb | C |",
    ] {
        let chart = read(text);
        let back = imported(&midi::write(&planned(&chart)), text);
        assert!(
            plays_alike(&read(&back.text), &chart),
            "{text}\n{}",
            back.text
        );
        assert_eq!(back.heard, [], "{text}");
    }
}

#[test]
fn midi_files_hold_the_chart_as_it_is_played() {
    for text in charts() {
        let chart = read(&text);
        for score in [Score::of(chart.clone(), 120.0), planned(&chart)] {
            let back = imported(&midi::write(&score), &text);
            assert_eq!(back.missed, [], "{text}");
            assert!(
                plays_alike(&read(&back.text), &chart),
                "{text}\n{}",
                back.text
            );
            let sections = |chart: &Chart| -> Vec<_> {
                let written = |bar: &chart::Bar| chart.written[bar.written].section;
                chart.bars.iter().map(written).collect()
            };
            assert_eq!(sections(&read(&back.text)), sections(&chart), "{text}");
        }
    }
}

#[test]
fn musicxml_holds_the_chart_and_its_page() {
    for text in charts().take(80) {
        let chart = read(&text);
        let expected = in_kinds(&chart);
        let score = planned(&chart);
        for form in [Form::Written, Form::AsPlayed] {
            for staves in [Staves::Symbols, Staves::One, Staves::Grand] {
                let page = Page {
                    form,
                    staves,
                    bass: true,
                    words: Words::ALL,
                };
                // Repeats are written out if their passes differ, see below.
                let sheet = musicxml::sheet(&score, page);
                let file = musicxml::write(&score, page);
                let back = imported(file.as_bytes(), &text);
                assert_eq!(back.missed, [], "{text}");
                let again = read(&back.text);
                assert!(
                    plays_alike(&again, &expected),
                    "{text}\n{}\n{file}",
                    back.text
                );
                let repeats = |sheet: &Sheet| -> Vec<_> {
                    let bars = sheet.bars.iter();
                    bars.map(|b| (b.opens, b.closes, b.ending, b.section))
                        .collect()
                };
                assert_eq!(
                    repeats(&Sheet::written(&again)),
                    repeats(&sheet),
                    "{text}\n{}",
                    back.text
                );
            }
        }
    }
}

/// The parts of a chord that MusicXML holds, so that the test above means something.
#[test]
fn most_chords_go_through_musicxml_unchanged() {
    let (mut same, mut all) = (0, 0);
    for text in charts() {
        let chart = read(&text);
        for (was, is) in chart.changes.iter().zip(in_kinds(&chart).changes) {
            all += 1;
            let plain = |c: &Chord| c.upper.is_none() && c.quality != Quality::Altered;
            let holds = was.chord.as_ref().is_none_or(plain);
            assert!(!holds || was.chord == is.chord, "{:?}", was.chord);
            same += usize::from(holds);
        }
    }
    assert!(same * 10 > all * 8, "{same} of {all}");
}

#[test]
fn practice_sheets_visit_every_key_once() {
    let text = "[A] |: Dm7 | G7(b9) | [1 Cmaj7 | % :| [2 C6/G | N.C. |";
    for order in [
        practice::Order::Fourths,
        practice::Order::HalfSteps,
        practice::Order::Random(3),
    ] {
        let sheet = read(&practice::practice(text, order).unwrap());
        let progression = read(text);
        assert_eq!(sheet.bars.len(), 12 * progression.bars.len());
        let mut roots = Vec::new();
        for block in sheet.changes.chunks(progression.changes.len()) {
            let shift = |now: &Chord, was: &Chord| now.root.class().above(was.root.class());
            let pairs = block.iter().zip(&progression.changes);
            let shifts: Vec<u8> = pairs
                .filter_map(|(now, was)| Some(shift(now.chord.as_ref()?, was.chord.as_ref()?)))
                .collect();
            assert!(shifts.windows(2).all(|w| w[0] == w[1]), "{shifts:?}");
            roots.push(shifts[0]);
        }
        let distances: Vec<u8> = roots.windows(2).map(|w| (w[1] + 12 - w[0]) % 12).collect();
        match order {
            practice::Order::Fourths => assert!(distances.iter().all(|d| *d == 5)),
            practice::Order::HalfSteps => assert!(distances.iter().all(|d| *d == 1)),
            practice::Order::Random(_) => {}
        }
        roots.sort_unstable();
        assert_eq!(roots, (0..12).collect::<Vec<u8>>());
        for chord in sheet.changes.iter().filter_map(|c| c.chord) {
            assert!(chord.root.accidental.abs() <= 1, "{chord:?}");
        }
    }
    let first = practice::practice("| Dm7 | G7 | Cmaj7 | % |", practice::Order::Fourths).unwrap();
    let lines: Vec<&str> = first.lines().collect();
    assert_eq!(lines[0], "| Dm7 | G7 | Cmaj7 | % |");
    assert_eq!(lines[4], "| Bbm7 | Eb7 | Abmaj7 | % |");
    assert_eq!(lines[6], "| Abm7 | Db7 | Gbmaj7 | % |");
    assert_eq!(lines[11], "| Am7 | D7 | Gmaj7 | % |");
    let long = "C6 | ".repeat(2_000);
    assert!(practice::practice(&long, practice::Order::Fourths).is_err());
}

/// Comping with its bass and without symbols is read as the planned chords, by the root and the
/// guide tones of each.
#[test]
fn chords_are_read_from_notes() {
    let progression = "| Dm7 | G7 | Cmaj7 | Am7 | Em7 A7 | Dm7 G7 | C6 | % |";
    let sheet = practice::practice(progression, practice::Order::Fourths).unwrap();
    let chart = read(&sheet);
    let mut score = planned(&chart);
    // The symbols are removed: the same notes over a chart of silence.
    let bars = vec!["N.C."; chart.bars.len()].join(" | ");
    score.chart = read(&bars);
    let mut bytes = midi::write(&score);
    while let Some(at) = bytes.windows(4).position(|w| w == b"N.C.") {
        bytes[at..at + 4].copy_from_slice(b"    ");
    }
    let back = imported(&bytes, "comping");
    let again = read(&back.text);
    assert_eq!(back.heard.len(), again.changes.len());
    assert!(back.heard.iter().all(|h| !h.reason.to_string().is_empty()));
    let roots = |chart: &Chart| -> Vec<_> {
        let chords = chart
            .changes
            .iter()
            .filter_map(|c| Some((c.start_ticks, c.chord?)));
        chords
            .map(|(at, c)| (at, c.root.class(), c.third(), c.seventh()))
            .collect()
    };
    assert_eq!(roots(&again), roots(&chart), "{}", back.text);
}

#[test]
fn text_comes_in_as_it_is() {
    let text = "  |: Dm7 | G7 :|\r\n | Cmaj7 |";
    assert_eq!(imported(text.as_bytes(), text).text, text);
    assert!(matches!(
        import::import(b"| H7 |"),
        Err(ImportError::Chart(_))
    ));
    assert_eq!(import::import(b"hello"), Err(ImportError::Unknown));
    assert_eq!(import::import(b""), Err(ImportError::Unknown));
    let binary = b"| \x05\x80G7 |\0";
    assert_eq!(import::import(binary), Err(ImportError::Unknown));
}

/// Random bytes, and files with bytes changed, removed and doubled. The result is always an error
/// or a chart that can be read.
#[test]
fn broken_files_never_panic() {
    let check = |bytes: &[u8]| {
        if let Ok(back) = import::import(bytes) {
            assert!(chart::parse(&back.text).is_ok(), "{}", back.text);
        }
    };
    let heads: [&[u8]; 6] = [
        b"",
        b"MThd\0\0\0\x06",
        b"PK\x03\x04",
        b"<",
        b"\xff\xfe<\0",
        b"<score-partwise>",
    ];
    let bytes = (select(heads.to_vec()), vec(any::<u8>(), 0..300));
    random_cases(2_000, &bytes, |(head, rest)| check(&[head, &rest].concat()));
    let mut valid = Vec::new();
    for text in charts().take(12) {
        let score = planned(&read(&text));
        valid.push(midi::write(&score));
        let file = musicxml::write(&score, Page::default());
        valid.push(container(&file));
        valid.push(file.into_bytes());
    }
    let changes = vec((any::<Index>(), 0..4_u8, any::<u8>()), 1..6);
    for file in &valid {
        random_cases(30, &changes, |changes| {
            let mut bytes = file.clone();
            for (place, kind, value) in changes {
                let at = place.index(bytes.len());
                match kind {
                    0 => bytes[at] = value,
                    1 => bytes[at] ^= 1 << (value % 8),
                    2 => bytes.truncate(at.max(8)),
                    _ => {
                        let end = (at + usize::from(value)).min(bytes.len());
                        let piece = bytes[at..end].to_vec();
                        bytes.splice(at..at, piece);
                    }
                }
            }
            check(&bytes);
        });
    }
}

/// A score packed into a container.
fn container(score: &str) -> Vec<u8> {
    let mut zip = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let list = "<container><rootfiles><rootfile full-path=\"score.xml\"/></rootfiles></container>";
    for (name, text) in [("META-INF/container.xml", list), ("score.xml", score)] {
        let options = zip::write::SimpleFileOptions::default();
        zip.start_file(name, options).unwrap();
        zip.write_all(text.as_bytes()).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

/// Each kind of words stands on a line of its own, and a chosen scale in the place of the suggested
/// one. G7 in C major takes 9 and 13 and the Mixolydian scale (common practice, no published source).
#[test]
fn pages_say_in_words_what_is_asked_for() {
    let chart = chart::parse("| Dm7 | G7 | Cmaj7 |").unwrap();
    let mut score = Score::planned(chart, 120.0, None, Texture::FourNotes, Register::DEFAULT);
    let said = |score: &Score, words: Words| -> Vec<String> {
        let page = Page {
            words,
            ..Page::default()
        };
        let text = musicxml::write(score, page);
        let after = text.split("<words>").skip(1);
        let words = after.map(|after| after.split_once("</words>").unwrap().0.to_owned());
        words.collect()
    };
    assert_eq!(said(&score, Words::default()), Vec::<String>::new());
    assert_eq!(said(&score, Words::FORMS), ["A", "A", "A"]);
    let all = said(&score, Words::ALL);
    assert_eq!(all[3..6], ["A", "b7 9 3 13", "G Mixolydian"]);
    let scales = Words {
        scales: true,
        ..Words::default()
    };
    assert_eq!(
        said(&score, scales),
        ["D Dorian", "G Mixolydian", "C Ionian"]
    );
    let bar = score.chart.bars[1].start_ticks;
    score.scales.push((bar, "G Lydian dominant".to_owned()));
    assert_eq!(
        said(&score, scales),
        ["D Dorian", "G Lydian dominant", "C Ionian"]
    );
}
