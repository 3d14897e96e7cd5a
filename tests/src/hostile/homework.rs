//! Recorded homework: a MIDI file as what is played, judged over a small chart. Imports nothing of its
//! folder.

use guidehand_exchange::midi::performance::{self, Performance};
use guidehand_practice::AskedPosition;
use guidehand_practice::homework::RightHand;
use guidehand_report::homework::{self, HomeworkReport, HomeworkRequest, PartAsked};
use guidehand_report::request::Request;
use guidehand_theory::judge::Accepts;

/// The charts that performances are held against: one with a pickup, silence and short chords.
const CHARTS: [&str; 2] = [
    "| Dm7 | G7 | Cmaj7 | % |",
    "3/4 Pickup G7 |: Cmaj7 | Am7 D7 Gm7 C7 | N.C. | F6 :|",
];

/// A MIDI file as a performance, whatever its first four bytes are.
///
/// # Panics
/// If what is read contradicts itself, or is not judged chord by chord.
pub fn performance(bytes: &[u8]) {
    let head = if bytes.starts_with(b"RIFF") {
        b"RIFF"
    } else {
        b"MThd"
    };
    let file = [head, bytes.get(4..).unwrap_or_default()].concat();
    let read = match performance::read(&file) {
        Ok(read) => read,
        Err(error) => {
            assert!(error.to_string().len() < 1_000, "{error}");
            return;
        }
    };
    expect_sound(&read);
    for chart in CHARTS {
        for accepts in [Accepts::Exact, Accepts::AnyGood] {
            for part in [PartAsked::Chords, PartAsked::All] {
                expect_judged(&judged(chart, accepts, part, &read));
            }
        }
    }
}

/// Times go on, and parts count their notes.
fn expect_sound(read: &Performance) {
    let notes = &read.notes;
    assert!(!notes.is_empty() && !read.parts.is_empty());
    for note in notes {
        assert!(note.start_ticks <= note.released_ticks, "{note:?}");
        assert!(note.released_ticks <= note.end_ticks, "{note:?}");
        assert!(note.start_s.is_finite(), "{note:?}");
    }
    for pair in notes.windows(2) {
        assert!(pair[0].start_ticks <= pair[1].start_ticks, "{pair:?}");
        assert!(pair[0].start_s <= pair[1].start_s, "{pair:?}");
    }
    for (number, part) in read.parts.iter().enumerate() {
        let count = notes.iter().filter(|note| note.part == number).count();
        assert_eq!(count, part.notes);
    }
}

fn judged(
    chart: &str,
    accepts: Accepts,
    part: PartAsked,
    performance: &Performance,
) -> HomeworkReport {
    let request = Request::new(chart);
    let chart = request.read().unwrap_or_else(|error| panic!("{error}"));
    let asked = HomeworkRequest {
        request,
        accepts,
        position: AskedPosition::Either,
        right_hand: RightHand::Found,
        from_bar: None,
        part,
    };
    let report = homework::report(&asked, &chart, performance);
    report.unwrap_or_else(|error| panic!("{error}"))
}

/// Each chord has a verdict, and the summary counts them.
fn expect_judged(report: &HomeworkReport) {
    let summary = &report.summary;
    assert_eq!(summary.asked, report.chords.len());
    assert!(summary.right <= summary.asked - summary.not_played);
    assert!(summary.right_on_time <= summary.right.min(summary.on_time));
    for row in &report.chords {
        let fine = row.findings.iter().all(|finding| finding.kind == "right");
        assert_eq!(row.right, fine && row.late.is_some(), "{row:?}");
        assert_eq!(row.late.is_none(), row.played.is_empty(), "{row:?}");
        assert!(row.again_right <= row.again, "{row:?}");
    }
    assert!(report.to_string().ends_with('\n'));
}
