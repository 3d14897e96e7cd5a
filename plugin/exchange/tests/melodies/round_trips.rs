//! Melodies in our own files, which are read again.

use crate::{chart_of, random, read};
use guidehand_exchange::midi;
use guidehand_exchange::musicxml::{self, Form, Page, Staves, Words};
use guidehand_exchange::score::{Score, Sung};
use guidehand_theory::candidates::Register;
use guidehand_theory::chart::Chart;
use guidehand_theory::comping::Yielding;
use guidehand_theory::melody::{self, Melody, MelodyNote};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::shape::Texture;
use guidehand_theory::under::{Style, Taste};

fn melody_of(text: &str, chart: &Chart) -> Melody {
    melody::parse(text, chart).unwrap_or_else(|errors| panic!("{text}: {errors:?}"))
}

const CHART: &str = "Pickup G7 | [A] |: Dm7 | G7(b9) | [1 Cmaj7 | % :| [2 C6/9 | N.C. |";

/// Quarters, triplets, ties over the bar line and over a repeat, and a rest.
const MELODY: &str = "| G4 | A4/8t B4 C5 D5/4. E5 | F5/2 Ab5/4 G5~ | G5/2 r/4 E5/8 C5 \
    | B4/16 C5 B4 A4 G4/2. | A4/8t B4 C5 D5/4. E5 | F5/2 Ab5/4 G5~ | G5/1 | r/2 C6 |";

fn with_melody(chart: &str, melody: &Melody, style: Option<Style>) -> Score {
    let taste = style.map(|style| {
        let taste = Taste {
            style,
            ..Taste::default()
        };
        (taste, 0)
    });
    let sung = Sung {
        melody,
        yielding: Yielding::TensionsAndRegister,
        blocks: taste,
    };
    let setting = (Texture::FourNotes, Register::DEFAULT);
    Score::planned_under(chart_of(chart), 120.0, None, setting, None, Some(&sung))
}

/// What comes back of a melody: the names where the file holds them.
fn sounding(melody: &Melody) -> Vec<(MidiNote, u32, u32)> {
    let notes = melody.notes().iter();
    notes
        .map(|note| (note.note, note.start_ticks, note.length_ticks))
        .collect()
}

#[test]
fn our_own_pages_come_back_with_their_melody() {
    let chart = chart_of(CHART);
    let melody = melody_of(MELODY, &chart);
    for style in [
        None,
        Some(Style::FourWayClose),
        Some(Style::DropTwo),
        Some(Style::DoubleLead),
    ] {
        let score = with_melody(CHART, &melody, style);
        assert_eq!(score.blocks.is_empty(), style.is_none());
        for form in [Form::Written, Form::AsPlayed] {
            for staves in [Staves::Symbols, Staves::One, Staves::Grand] {
                let page = Page {
                    form,
                    staves,
                    bass: true,
                    words: Words::ALL,
                };
                let file = musicxml::write(&score, page);
                let back = read(file.as_bytes(), None);
                let again = chart_of(&back.text);
                assert!(
                    guidehand_exchange::pages::plays_alike(&again, &chart),
                    "{}",
                    back.text
                );
                let found = back.melody.unwrap();
                assert_eq!(
                    found.melody.text(&again),
                    MELODY,
                    "{style:?} {page:?}\n{file}"
                );
                let taken = found.lines.iter().find(|line| line.is_taken).unwrap();
                assert_eq!(taken.name, "Melody");
            }
        }
        let file = midi::write(&score);
        let back = read(&file, None);
        assert_eq!(back.missed, Vec::new());
        assert_eq!(sounding(&back.melody.unwrap().melody), sounding(&melody));
    }
}

/// A lead sheet has the melody under the symbols, and nothing else.
#[test]
fn a_page_of_symbols_shows_the_melody_alone() {
    let chart = chart_of("| C6 |");
    let melody = melody_of("| C5/2 E5 |", &chart);
    let score = with_melody("| C6 |", &melody, Some(Style::FourWayClose));
    let page = |staves| {
        let page = Page {
            staves,
            ..Page::default()
        };
        musicxml::write(&score, page)
    };
    let names = |file: &str| file.matches("<part-name>").count();
    let lead = page(Staves::Symbols);
    assert_eq!((names(&lead), lead.matches("<harmony").count()), (1, 1));
    let both = page(Staves::One);
    assert_eq!((names(&both), both.matches("<harmony").count()), (2, 1));
    // E4 G4 A4 C5, then G4 A4 C5 E5 (common practice, no published source).
    assert_eq!(lead.matches("<chord/>").count(), 6);
}

/// Sixteenths and longer notes, and triplets of eighths on the beat.
fn random_melody(chart: &Chart, random: &mut fastrand::Rng) -> Melody {
    let (mut at, end) = (0, chart.length_ticks());
    let mut notes = Vec::new();
    while at < end {
        let plain = [240, 480, 720, 960, 1440, 1920, 3840];
        let lengths = if at % 960 == 0 && random.bool() {
            vec![320; 3]
        } else {
            vec![plain[random.usize(..plain.len())]]
        };
        for length_ticks in lengths {
            let length_ticks = length_ticks.min(end.saturating_sub(at));
            if random.u8(..5) > 0 {
                notes.push(MelodyNote {
                    note: MidiNote::clamp(random.i32(60..85)),
                    name: None,
                    start_ticks: at,
                    length_ticks,
                });
            }
            at += length_ticks;
        }
    }
    Melody::new(notes)
}

/// Any melody in sixteenths and triplets comes back from a MIDI file and from a page, tick by tick.
#[test]
fn random_melodies_come_back_from_files() {
    let mut random = fastrand::Rng::with_seed(20_261_128);
    let mut pages = 0;
    for _ in 0..300 {
        let text = random::chart(&mut random);
        let chart = chart_of(&text);
        let melody = random_melody(&chart, &mut random);
        if melody.is_empty() {
            continue;
        }
        let style = Style::ALL[random.usize(..3)];
        let score = with_melody(&text, &melody, Some(style));
        let back = read(&midi::write(&score), None);
        assert_eq!(
            sounding(&back.melody.unwrap().melody),
            sounding(&melody),
            "{text}"
        );
        if !in_quarters(&chart) {
            continue;
        }
        pages += 1;
        for form in [Form::Written, Form::AsPlayed] {
            let page = Page {
                form,
                ..Page::default()
            };
            let back = read(musicxml::write(&score, page).as_bytes(), None);
            assert_eq!(
                sounding(&back.melody.unwrap().melody),
                sounding(&melody),
                "{text}"
            );
        }
    }
    assert!(pages > 20, "{pages}");
}

/// Whether all bars count in quarters and the chords stand on sixteenths, so that a page can show
/// sixteenths and triplets of each beat.
fn in_quarters(chart: &Chart) -> bool {
    let bars = chart.bars.iter().all(|bar| bar.meter.unit == 4);
    let changes = chart.changes.iter();
    bars && changes
        .into_iter()
        .all(|change| change.start_ticks % 240 == 0)
}
