//! Files that a user opens: MIDI files, MusicXML, melodies and own voicings. Imports `words` and the
//! theory's files.

use super::words::expect_place;
use guidehand_exchange::import::{self, ImportError, Imported, MOST_MISSED, Wanted, Wish};
use guidehand_exchange::kept::{KeptScale, MOST_KEPT};
use guidehand_exchange::midi;
use guidehand_exchange::musicxml::{self, Form, Page, Staves, Words};
use guidehand_exchange::own_voicings;
use guidehand_exchange::pages::plays_alike;
use guidehand_exchange::score::Score;
use guidehand_theory::candidates::Register;
use guidehand_theory::chart::{self, Chart};
use guidehand_theory::comping::{self, Yielding};
use guidehand_theory::kind;
use guidehand_theory::melody;
use guidehand_theory::own_shape::Own;
use guidehand_theory::pipeline;
use guidehand_theory::plan::Ends;
use guidehand_theory::shape::Texture;
use guidehand_theory::tension::Outcome;

/// Longer charts are not written out again.
const MOST_WRITTEN: usize = 200;

/// A MIDI file, whatever its first four bytes are.
///
/// # Panics
/// If the result is not a chart, or does not come back from a MIDI file.
pub fn midi_file(bytes: &[u8]) {
    let head = if bytes.starts_with(b"RIFF") {
        b"RIFF"
    } else {
        b"MThd"
    };
    let file = [head, bytes.get(4..).unwrap_or_default()].concat();
    sung(&file);
    if let Some(chart) = taken(&file, import::import(&file)) {
        let again = import::import(&midi::write(&planned(&chart)));
        let again = again.unwrap_or_else(|error| panic!("{error}"));
        assert!(plays_alike(&read(&again.text), &chart), "{}", again.text);
    }
}

/// Own voicings.
///
/// # Panics
/// If what is read does not come back, or if a file is refused without a reason or at a place that
/// it does not have.
pub fn own_voicings(bytes: &[u8]) {
    match own_voicings::read(bytes) {
        Ok(read) => {
            let written = own_voicings::write(&read);
            let again = own_voicings::read(written.as_bytes());
            assert_eq!(again.as_ref(), Ok(&read), "{written}");
        }
        Err(error) => {
            let lines = bytes.split(|byte| *byte == b'\n').count();
            assert!(error.line <= lines, "{error}");
            assert!(!error.problem.is_empty(), "{error}");
        }
    }
}

/// MusicXML, packed or not, or any other file.
///
/// # Panics
/// If the result is not a chart, or does not come back from MusicXML.
pub fn musicxml(bytes: &[u8]) {
    sung(bytes);
    if let Some(mut chart) = taken(bytes, import::import(bytes)) {
        // MusicXML can hold fewer chords than symbols can.
        for change in &mut chart.changes {
            let held = change
                .chord
                .map(|chord| kind::from_kind(&kind::to_kind(&chord)));
            change.chord = held.and_then(Result::ok).flatten();
        }
        for form in [Form::Written, Form::AsPlayed] {
            let page = Page {
                form,
                staves: Staves::Grand,
                bass: true,
                words: Words::ALL,
            };
            let file = musicxml::write(&planned(&chart), page);
            let again = import::import(file.as_bytes());
            let again = again.unwrap_or_else(|error| panic!("{error}\n{file}"));
            assert!(
                plays_alike(&read(&again.text), &chart),
                "{}\n{file}",
                again.text
            );
        }
    }
}

/// Reads the melody of a file with its chart, and over a chart that is known. Either lies within its
/// chart, and goes out and comes in again.
fn sung(bytes: &[u8]) {
    let wish = Wish {
        part: None,
        melody: Wanted::Found,
    };
    let with_chart = import::read(bytes, wish);
    let known = chart::parse(KNOWN).expect("a chart");
    let alone = import::melody(bytes, None, &known);
    let with_chart = with_chart.ok().map(|imported| {
        let chart = read(&imported.text);
        (imported, chart)
    });
    let alone = alone.ok().map(|imported| (imported, known));
    for (imported, chart) in with_chart.into_iter().chain(alone) {
        assert!(imported.missed.len() <= MOST_MISSED);
        let Some(found) = imported.melody else {
            continue;
        };
        let melody = &found.melody;
        assert!(melody.end_ticks() <= chart.length_ticks());
        let taken = found.lines.iter().filter(|line| line.is_taken);
        assert!(found.lines.is_empty() || taken.count() == 1);
        if chart.bars.len() > MOST_WRITTEN || melody.is_empty() {
            continue;
        }
        let mut score = Score::of(chart.clone(), 120.0);
        score.put_melody(melody, &pipeline::place(&chart, None));
        let file = midi::write(&score);
        let again = import::melody(&file, None, &chart);
        let again = again.unwrap_or_else(|error| panic!("{error}"));
        assert!(again.melody.is_some_and(|again| !again.melody.is_empty()));
        for form in [Form::Written, Form::AsPlayed] {
            let page = Page {
                form,
                ..Page::default()
            };
            let file = musicxml::write(&score, page);
            let again = import::melody(file.as_bytes(), None, &chart);
            let again = again.unwrap_or_else(|error| panic!("{error}\n{file}"));
            assert!(again.melody.is_some_and(|again| !again.melody.is_empty()));
        }
    }
}

/// A chart for melodies that come without one.
const KNOWN: &str = "Pickup G7 | 4/4 |: Dm7 | G7(b9) | [1 Cmaj7 :| [2 3/4 Cm7 | 6/8 F7 | N.C. |";

/// The text of a melody.
///
/// # Panics
/// If what is read does not come back from its text, if an error has no place in the text, or if
/// the chords under it clash with it without a word.
pub fn melody(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    let chart = chart::parse(KNOWN).expect("a chart");
    let melody = match melody::parse(&text, &chart) {
        Ok(melody) => melody,
        Err(errors) => {
            assert!(!errors.is_empty());
            for error in errors {
                expect_place(&text, error.source.clone());
                assert!(error.to_string().len() < 10_000 + 2 * bytes.len());
            }
            return;
        }
    };
    let placed = pipeline::place(&chart, None);
    let named = pipeline::named(&melody, &chart, &placed);
    let written = named.text(&chart);
    let again = melody::parse(&written, &chart);
    assert_eq!(again.as_ref(), Ok(&named), "{written}");
    let under = pipeline::under(&chart, &named, Yielding::TensionsAndRegister);
    let (texture, register, own) = (Texture::FourNotes, Register::DEFAULT, Own::NONE);
    let plan = pipeline::plan_under(&placed, texture, register, Ends::Open, &[], own, &under);
    for ((placed, agreeing), under) in placed.iter().zip(&plan).zip(&under) {
        let (Some(placed), Some(agreeing)) = (placed, agreeing) else {
            continue;
        };
        let rubs = comping::rubs(&agreeing.voiced.voicing, &placed.chord, under.above);
        for rub in rubs {
            let mut told = agreeing.yields.iter();
            let is_told =
                told.any(|told| told.outcome == Outcome::Stands && told.degree == rub.voice.degree);
            assert!(is_told, "{written}");
        }
    }
}

/// The chart that was read, if it is short enough to be written out again.
fn taken(bytes: &[u8], result: Result<Imported, ImportError>) -> Option<Chart> {
    let imported = match result {
        Ok(imported) => imported,
        Err(error) => {
            assert!(error.to_string().len() < 10_000 + 2 * bytes.len());
            return None;
        }
    };
    let chart = read(&imported.text);
    assert!(imported.missed.len() <= MOST_MISSED);
    for missed in &imported.missed {
        assert!(!missed.bar.is_empty() || missed.at.is_some(), "{missed:?}");
    }
    if let Some(kept) = &imported.kept {
        let of_kept = kept.read();
        let of_kept = of_kept.unwrap_or_else(|errors| panic!("{}: {errors:?}", kept.chart));
        assert!(
            plays_alike(&of_kept, &chart),
            "{}\n{}",
            kept.chart,
            imported.text
        );
        assert!(kept.pins.len().max(kept.scales.len()) <= MOST_KEPT);
        assert!(kept.pins.iter().all(|pin| pin.midi().is_some()));
        assert!(kept.scales.iter().all(KeptScale::is_known));
    }
    for heard in &imported.heard {
        assert!(heard.bar > 0 && heard.confidence <= 100, "{heard:?}");
        expect_place(&heard.symbol, 0..heard.symbol.len());
    }
    (chart.changes.len().max(chart.bars.len()) <= MOST_WRITTEN).then_some(chart)
}

fn read(text: &str) -> Chart {
    chart::parse(text).unwrap_or_else(|errors| panic!("{text}: {errors:?}"))
}

fn planned(chart: &Chart) -> Score {
    let chart = chart.clone();
    Score::planned(chart, 120.0, None, Texture::FourNotes, Register::DEFAULT)
}
