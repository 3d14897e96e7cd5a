//! Homework that another program writes: planned chords played into MIDI files with known mistakes, by
//! mido in the Python environment of the tests. What is told of each chord must be what was done
//! to it. The player knows nothing of the judge.

#[path = "../../../tests/python/mod.rs"]
mod python;

use guidehand_exchange::midi::performance;
use guidehand_exchange::practice::{Order, practice};
use guidehand_practice::homework::{Marked, RightHand, Struck};
use guidehand_report::homework::{self, HomeworkReport, HomeworkRequest, PartAsked};
use guidehand_report::planned;
use guidehand_report::request::Request;
use guidehand_theory::chart::{Chart, TICKS_PER_QUARTER};
use guidehand_theory::judge::{Accepts, Finding};
use guidehand_theory::pitch::MidiNote;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::fmt;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// Progressions, each of which is played in all twelve keys (common practice, no published source).
const PROGRESSIONS: [&str; 8] = [
    "| Dm7 | G7 | Cmaj7 | % |",
    "| Dm7b5 | G7(b9) | Cm6 | % |",
    "| Cmaj7 A7 | Dm7 G7 | Em7 A7(b9) | Dm7 G7 |",
    "| C7 | F7 | C7 | Gm7 C7 | F7 | F#dim7 | C7 | Em7b5 A7 | Dm7 | G7 | C7 A7 | Dm7 G7 |",
    "| Bb6 G7 | Cm7 F7 | Bb6 G7 | Cm7 F7 | Fm7 Bb7 | Eb7 Edim7 | Bb6 F7 | Bb6 |",
    "3/4 | Cmaj7 | Am7 | Dm9 | G7sus4 | G13 | Cmaj9 |",
    "| Fm9 | Bb7alt | Ebmaj7(#11) | Db7(#11) | Cm(maj7) | N.C. | D7(b13) | G7(#9) |",
    "|: Am7 | D7 | [1 Gmaj7 | Cmaj7 :| [2 F#m7b5 | B7 | Em7 | % |",
];

/// How a piece is played.
struct Piece {
    name: String,
    text: String,
    chart: Chart,
    file: PathBuf,
    /// What the player is told.
    told: Value,
    has_line: bool,
    /// Quarter notes before the chart.
    lead: u32,
}

impl Piece {
    fn new(number: u64, progression: &str, folder: &Path) -> Piece {
        let text = practice(progression, Order::Random(number)).unwrap();
        let request = Request::new(text.clone());
        let chart = request.read().unwrap();
        let quarters = |ticks: u32| f64::from(ticks) / f64::from(TICKS_PER_QUARTER);
        let planned = planned::of_chart(&request, &chart);
        let chords = planned
            .iter()
            .zip(&chart.changes)
            .filter_map(|(planned, change)| {
                let (placed, voiced) = planned.chord?;
                let notes: Vec<u8> = voiced.voicing.notes().map(MidiNote::number).collect();
                Some(json!({
                    "at": quarters(change.start_ticks),
                    "length": quarters(change.length_ticks),
                    "notes": notes,
                    "root": placed.chord.root.class().number(),
                }))
            });
        let chords: Vec<Value> = chords.collect();
        let mut random = fastrand::Rng::with_seed(number);
        let meter = chart.meter();
        let has_line = random.bool();
        let bars = random.u32(0..3);
        let lead = bars * meter.bar_ticks() / TICKS_PER_QUARTER;
        let file = folder.join(format!("{number}.mid"));
        let touches = ["hold", "short", "again", "tied"];
        let quarters_of_files = [96, 120, 384, 480, 960, 9600];
        let told = json!({
            "file": file,
            "seed": number,
            "chords": chords,
            "quarters": quarters(chart.length_ticks()),
            "beats": meter.beats,
            "unit": meter.unit,
            "tempo": random.u32(60..=240),
            "quarter": quarters_of_files[random.usize(0..6)],
            "format": random.u32(0..2),
            "apart": random.bool(),
            "line": has_line,
            "pedal": random.bool(),
            "touch": touches[random.usize(0..4)],
            "lead": lead,
            "mistakes": 0.4,
        });
        Piece {
            name: format!("piece {number}, {progression}"),
            text,
            chart,
            file,
            told,
            has_line,
            lead,
        }
    }

    fn judged(&self, accepts: Accepts, either_position: bool) -> HomeworkReport {
        let performance = performance::read(&std::fs::read(&self.file).unwrap()).unwrap();
        let asked = HomeworkRequest {
            request: Request::new(self.text.clone()),
            accepts,
            either_position,
            right_hand: RightHand::Found,
            from_bar: None,
            part: PartAsked::Chords,
        };
        homework::report(&asked, &self.chart, &performance).unwrap()
    }
}

/// Lets the player play all pieces, and returns what it did to each of their chords.
fn performed(pieces: &[Piece]) -> Vec<Vec<Value>> {
    let target = Path::new(env!("CARGO_TARGET_TMPDIR")).parent().unwrap();
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/homework.py");
    let mut player = Command::new(python::for_tests(target))
        .arg(script)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut input = player.stdin.take().unwrap();
    let lines: String = pieces
        .iter()
        .map(|piece| format!("{}\n", piece.told))
        .collect();
    let writer = std::thread::spawn(move || input.write_all(lines.as_bytes()));
    let output = player.wait_with_output().unwrap();
    writer.join().unwrap().unwrap();
    assert!(output.status.success());
    let output = String::from_utf8(output.stdout).unwrap();
    let pieces = output
        .lines()
        .map(|line| serde_json::from_str(line).unwrap());
    pieces.collect()
}

/// Something that was done to a chord, or that is told of it, with the keys that it is about.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Deed {
    kind: &'static str,
    asked: Option<u8>,
    played: Option<u8>,
}

impl Deed {
    const fn of(kind: &'static str) -> Deed {
        Deed {
            kind,
            asked: None,
            played: None,
        }
    }
}

const KINDS: [&str; 11] = [
    "none",
    "half step",
    "octave",
    "missing",
    "extra",
    "root",
    "position",
    "early",
    "late",
    "rolled",
    "left out",
];

/// What the player did to a chord.
fn done(play: &Value) -> Deed {
    let kind = play["kind"].as_str().unwrap();
    let key = |name: &str| play[name].as_u64().and_then(|n| u8::try_from(n).ok());
    Deed {
        kind: KINDS.into_iter().find(|known| *known == kind).unwrap(),
        asked: key("asked"),
        played: key("played"),
    }
}

/// What the judge tells of a chord.
fn told(marked: &Marked) -> Vec<Deed> {
    let Some(answer) = &marked.answer else {
        return vec![Deed::of("left out")];
    };
    let findings = answer.judgement.findings().iter();
    let wrong = findings.filter(|finding| !finding.is_right());
    let mut deeds: Vec<Deed> = wrong
        .map(|finding| Deed {
            kind: match finding {
                Finding::Off { .. } if finding.half_steps().map(i32::abs) == Some(1) => "half step",
                Finding::OtherOctave { .. } => "octave",
                Finding::Missing(_) => "missing",
                Finding::NotAsked(_) | Finding::NoPlace(_) => "extra",
                Finding::RootPlayed(_) => "root",
                Finding::OtherPosition { .. } => "position",
                _ => "other",
            },
            asked: finding.asked().map(|voice| voice.note.number()),
            played: finding.played().map(MidiNote::number),
        })
        .collect();
    match answer.late_ticks {
        0 => {}
        ..0 => deeds.push(Deed::of("early")),
        1.. => deeds.push(Deed::of("late")),
    }
    if answer.struck == Struck::Rolled {
        deeds.push(Deed::of("rolled"));
    }
    assert_eq!(
        answer.judgement.is_right(),
        deeds
            .iter()
            .all(|deed| ["early", "late", "rolled"].contains(&deed.kind))
    );
    if deeds.is_empty() {
        deeds.push(Deed::of("none"));
    }
    deeds
}

/// How often a kind was done and told.
#[derive(Clone, Copy, Debug, Default)]
struct Count {
    both: u32,
    done_only: u32,
    told_only: u32,
}

impl Count {
    fn recall(&self) -> f64 {
        f64::from(self.both) / f64::from((self.both + self.done_only).max(1))
    }

    fn precision(&self) -> f64 {
        f64::from(self.both) / f64::from((self.both + self.told_only).max(1))
    }
}

impl fmt::Display for Count {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (precision, recall) = (100.0 * self.precision(), 100.0 * self.recall());
        let all = self.both + self.done_only;
        write!(
            f,
            "{all:5} played, precision {precision:6.2} %, recall {recall:6.2} %"
        )
    }
}

type Counts = BTreeMap<&'static str, Count>;

fn count(counts: &mut Counts, done: &Deed, told: &[Deed]) {
    for deed in told {
        let count = counts.entry(deed.kind).or_default();
        if deed == done {
            count.both += 1;
        } else {
            count.told_only += 1;
        }
    }
    if !told.contains(done) {
        counts.entry(done.kind).or_default().done_only += 1;
    }
}

fn folder() -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("homework");
    let _none_yet = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

/// Fewer than this many bars would say little.
const FEWEST_BARS: usize = 1_000;

#[test]
fn every_mistake_of_recorded_homework_is_named() {
    let folder = folder();
    let rounds = PROGRESSIONS.iter().cycle().take(3 * PROGRESSIONS.len());
    let pieces: Vec<Piece> = (1..)
        .zip(rounds)
        .map(|(number, progression)| Piece::new(number, progression, &folder))
        .collect();
    let bars: usize = pieces.iter().map(|piece| piece.chart.bars.len()).sum();
    assert!(bars >= FEWEST_BARS, "{bars} bars");
    let performed = performed(&pieces);
    assert_eq!(performed.len(), pieces.len());
    let mut counts = Counts::new();
    let mut ambiguous = 0;
    for (piece, plays) in pieces.iter().zip(&performed) {
        let report = piece.judged(Accepts::Exact, false);
        let chords = &report.homework.chords;
        assert_eq!(chords.len(), plays.len(), "{}", piece.name);
        assert_eq!(report.begins, f64::from(piece.lead), "{}", piece.name);
        assert!(
            report.split.is_none() || piece.has_line,
            "{}, {:?}",
            piece.name,
            report.split
        );
        let mut before: Option<&Marked> = None;
        for (marked, play) in chords.iter().zip(plays) {
            let done = done(play);
            let planned = &marked.question.voiced.voicing;
            // A chord that is left out after one with the same notes may have been held on.
            let same =
                before.is_some_and(|b| b.question.voiced.voicing.notes().eq(planned.notes()));
            before = Some(marked);
            if done.kind == "left out" && same {
                ambiguous += 1;
                continue;
            }
            let told = told(marked);
            if !told.contains(&done) || told.len() > 1 {
                println!(
                    "{}, tick {}: {:?}; planned {:?}, played {}, heard {:?}: {told:?}",
                    piece.name,
                    marked.asked.start_ticks,
                    done,
                    planned.notes().map(MidiNote::number).collect::<Vec<_>>(),
                    play["notes"],
                    marked.answer.as_ref().map(|a| &a.notes)
                );
            }
            count(&mut counts, &done, &told);
        }
    }
    println!("{bars} bars, {ambiguous} chords left aside");
    for (kind, count) in &counts {
        println!("{kind:>10}: {count}");
    }
    for kind in KINDS {
        let count = counts.get(kind).copied().unwrap_or_default();
        assert!(count.both > 50, "{kind}: {count}");
        assert!(
            count.precision() >= 0.99 && count.recall() >= 0.99,
            "{kind}: {count}"
        );
    }
}
