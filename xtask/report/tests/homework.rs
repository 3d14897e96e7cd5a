//! Homework that another program writes: planned chords played into MIDI files with known mistakes, by
//! mido in the Python environment of the tests. What is told of each chord must be what was done
//! to it. The player knows nothing of the judge.

#[path = "../../../tests/python/mod.rs"]
mod python;

use guidehand_exchange::midi::performance;
use guidehand_exchange::practice::{Order, practice};
use guidehand_practice::AskedPosition;
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

    fn judged(&self, accepts: Accepts) -> HomeworkReport {
        let performance = performance::read(&std::fs::read(&self.file).unwrap()).unwrap();
        let asked = HomeworkRequest {
            request: Request::new(self.text.clone()),
            accepts,
            position: AskedPosition::Either,
            right_hand: RightHand::Found,
            from_bar: None,
            part: PartAsked::Chords,
        };
        homework::report(&asked, &self.chart, &performance).unwrap()
    }
}

/// The player.
fn player() -> Command {
    let target = Path::new(env!("CARGO_TARGET_TMPDIR")).parent().unwrap();
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/homework.py");
    let mut player = Command::new(python::for_tests(target));
    player.arg(script);
    player
}

/// Lets the player play all pieces, and returns what it did to each of their chords.
fn performed(pieces: &[Piece]) -> Vec<Vec<Value>> {
    let mut player = player()
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

/// What the player did to a chord. An outer note that an octave takes to the other end of a close chord
/// makes another position of it, and is called so.
fn done(play: &Value) -> Deed {
    let kind = play["kind"].as_str().unwrap();
    let notes: Vec<u64> = play["notes"]
        .as_array()
        .unwrap()
        .iter()
        .filter_map(Value::as_u64)
        .collect();
    let span = notes
        .last()
        .zip(notes.first())
        .map(|(high, low)| high - low);
    if kind == "octave" && span < Some(12) {
        return Deed::of("position");
    }
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

fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR"))
        .join("homework")
        .join(name);
    let _none_yet = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

/// Fewer than this many bars would say little.
const FEWEST_BARS: usize = 1_000;

#[test]
fn every_mistake_of_recorded_homework_is_named() {
    let folder = folder("pieces");
    let rounds = PROGRESSIONS.iter().cycle().take(4 * PROGRESSIONS.len());
    let pieces: Vec<Piece> = (1..)
        .zip(rounds)
        .map(|(number, progression)| Piece::new(number, progression, &folder))
        .collect();
    let bars: usize = pieces.iter().map(|piece| piece.chart.bars.len()).sum();
    assert!(bars >= FEWEST_BARS, "{bars} bars");
    let performed = performed(&pieces);
    assert_eq!(performed.len(), pieces.len());
    let mut exact = Tally::default();
    let mut any = Tally::default();
    for (piece, plays) in pieces.iter().zip(&performed) {
        let report = piece.judged(Accepts::Exact);
        exact.add(piece, &report, plays, |_, _, done| Some(done));
        let report = piece.judged(Accepts::AnyGood);
        any.add(piece, &report, plays, where_any_counts);
    }
    println!("{bars} bars");
    println!(
        "held against the plan, with {} chords left aside",
        exact.aside
    );
    exact.expect(&KINDS);
    println!("any good voicing, with {} chords left aside", any.aside);
    any.expect(&[
        "none",
        "half step",
        "missing",
        "root",
        "early",
        "late",
        "rolled",
        "left out",
    ]);
}

/// What is to be told where any good voicing counts; none where the symbol leaves it open. The other
/// position is as good. Guide tones are needed, and the root is the bass's. Other notes may be
/// left out or exchanged for tensions, and in which octave they lie is open.
fn where_any_counts(marked: &Marked, play: &Value, done: Deed) -> Option<Deed> {
    if play["kind"] == "octave" {
        return None;
    }
    let question = &marked.question;
    let chord = &question.placed.chord;
    let guides = [chord.third(), chord.seventh()];
    let mut voices = question.voiced.voicing.voices().iter();
    let is_guide = voices.any(|voice| {
        Some(voice.note.number()) == done.asked && guides.contains(&Some(voice.degree))
    });
    match done.kind {
        "position" => Some(Deed::of("none")),
        "half step" | "missing" => is_guide.then_some(done),
        "extra" => None,
        _ => Some(done),
    }
}

/// How often each kind was done and told, and how many chords tell nothing.
#[derive(Default)]
struct Tally {
    counts: BTreeMap<&'static str, Count>,
    aside: usize,
}

impl Tally {
    /// Counts a piece. `expected` says what is to be told of what was done.
    fn add(
        &mut self,
        piece: &Piece,
        report: &HomeworkReport,
        plays: &[Value],
        expected: impl Fn(&Marked, &Value, Deed) -> Option<Deed>,
    ) {
        let chords = &report.homework.chords;
        assert_eq!(chords.len(), plays.len(), "{}", piece.name);
        assert_eq!(report.begins, f64::from(piece.lead), "{}", piece.name);
        assert!(report.split.is_none() || piece.has_line, "{}", piece.name);
        let mut before: Option<&Marked> = None;
        for (marked, play) in chords.iter().zip(plays) {
            let done = done(play);
            let planned = &marked.question.voiced.voicing;
            // Where the chord before has the same notes, one that is left out may have been held on,
            // and one that comes early may be that chord again.
            let same = |b: &Marked| b.question.voiced.voicing.notes().eq(planned.notes());
            let same = before.is_some_and(same) && ["left out", "early"].contains(&done.kind);
            before = Some(marked);
            let Some(done) = expected(marked, play, done).filter(|_| !same) else {
                self.aside += 1;
                continue;
            };
            let told = told(marked);
            if told.contains(&done)
                && let Some(late) = play["late"].as_f64()
            {
                let ticks = marked.answer.as_ref().map_or(0, |answer| answer.late_ticks);
                let heard = f64::from(i32::try_from(ticks).unwrap()) / 960.0;
                assert!(
                    (heard - late).abs() < 0.25,
                    "{}: {heard} for {late}",
                    piece.name
                );
            }
            if told.as_slice() != [done.clone()] {
                println!(
                    "{}, tick {}: {done:?}; planned {planned:?}, played {}, heard {:?}: {told:?}",
                    piece.name,
                    marked.asked.start_ticks,
                    play["notes"],
                    marked.answer.as_ref().map(|a| &a.notes)
                );
            }
            self.count(&done, &told);
        }
    }

    fn count(&mut self, done: &Deed, told: &[Deed]) {
        for deed in told {
            let count = self.counts.entry(deed.kind).or_default();
            if deed == done {
                count.both += 1;
            } else {
                count.told_only += 1;
            }
        }
        if !told.contains(done) {
            self.counts.entry(done.kind).or_default().done_only += 1;
        }
    }

    /// Prints the counts, and expects at least 99 % of these kinds.
    fn expect(&self, kinds: &[&'static str]) {
        for (kind, count) in &self.counts {
            println!("{kind:>10}: {count}");
        }
        for kind in kinds {
            let count = self.counts.get(kind).copied().unwrap_or_default();
            assert!(count.both > 50, "{kind}: {count}");
            assert!(
                count.precision() >= 0.99 && count.recall() >= 0.99,
                "{kind}: {count}"
            );
        }
    }
}

/// What is told of the notes of a bar's chord.
fn words(report: &HomeworkReport, bar: usize) -> String {
    let findings = report.chords[bar - 1].findings.iter();
    let wrong = findings.filter(|finding| finding.kind != "right");
    let words: Vec<&str> = wrong.map(|finding| finding.words.as_str()).collect();
    words.join("; ")
}

/// Homework as a student plays it, with what a teacher says to each chord.
#[test]
fn homework_made_by_hand_is_judged_as_a_teacher_does() {
    let file = folder("by hand").join("homework.mid");
    python::run(player().arg(&file));
    let text = "| Dm7 | G7 | Cmaj7 | A7 | Dm7 | G7(b9) | C6 | % |";
    let request = Request::new(text);
    let chart = request.read().unwrap();
    let asked = HomeworkRequest {
        request,
        accepts: Accepts::AnyGood,
        position: AskedPosition::Either,
        right_hand: RightHand::Found,
        from_bar: None,
        part: PartAsked::Chords,
    };
    let performance = performance::read(&std::fs::read(&file).unwrap()).unwrap();
    let report = homework::report(&asked, &chart, &performance).unwrap();
    println!("{report}");
    assert_eq!(report.begins, 4.0);
    assert!(report.split.is_some_and(|split| (70..=72).contains(&split)));
    let rows = report.chords.iter();
    let rows: Vec<_> = rows
        .map(|row| {
            (
                row.bar,
                row.right,
                row.late,
                row.struck,
                row.again,
                row.again_right,
            )
        })
        .collect();
    let expected = [
        (1, true, Some(0.0), "rolled", 0, 0),
        // The last finger is a fortieth of a beat behind the first.
        (2, true, Some(-0.47), "at once", 0, 0),
        (3, false, Some(0.0), "at once", 0, 0),
        (4, true, Some(0.0), "at once", 1, 0),
        (5, true, Some(0.0), "at once", 0, 0),
        (6, false, Some(0.0), "at once", 0, 0),
        (7, true, Some(1.02), "at once", 0, 0),
    ];
    assert_eq!(rows, expected);
    assert_eq!(words(&report, 3), "C is the root: the bass has it");
    assert!(words(&report, 6).contains("A is 9, asked b9, Ab"));
    let summary = &report.summary;
    assert_eq!(
        (summary.asked, summary.right, summary.right_on_time),
        (7, 5, 3)
    );
    // Held against the plan the other position is one, too.
    let exact = HomeworkRequest {
        accepts: Accepts::Exact,
        ..asked
    };
    let exact = homework::report(&exact, &chart, &performance).unwrap();
    assert_eq!(
        words(&exact, 5),
        "right notes, seventh lowest; asked third lowest"
    );
}

/// A file with as many events as there may be: chords in every quarter note, and a cluster of all keys
/// at once. Each strike is judged.
#[test]
fn the_largest_files_are_judged() {
    let chords: Vec<Vec<u8>> = vec![vec![53, 57, 60, 64], vec![53, 57, 59, 64]];
    let all: Vec<u8> = (0..128).collect();
    let many = |chord: &dyn Fn(usize) -> Vec<u8>, notes: usize| {
        let mut track = Vec::new();
        let (mut count, mut at) = (0, 0);
        while count < notes {
            let chord = chord(at);
            track.extend(chord.iter().flat_map(|note| [0, 0x90, *note, 80]));
            for (place, note) in chord.iter().enumerate() {
                track.extend([if place == 0 { 90 } else { 0 }, 0x80, *note, 0]);
            }
            // The rest of the quarter note.
            track.extend([6, 0xb0, 1, 0]);
            count += chord.len();
            at += 1;
        }
        track.extend([0, 0xff, 0x2f, 0]);
        let length = u32::try_from(track.len()).unwrap();
        let head: &[u8] = b"MThd\0\0\0\x06\0\0\0\x01\0\x60MTrk";
        [head, &length.to_be_bytes(), &track].concat()
    };
    for (file, least) in [
        (many(&|at| chords[at % 2].clone(), 200_000), 50_000),
        (many(&|_| all.clone(), 240_000), 1_000),
    ] {
        let performance = performance::read(&file).unwrap();
        let request = Request::new("| Dm7 / G7 / |");
        let chart = request.read().unwrap();
        let asked = HomeworkRequest {
            request,
            accepts: Accepts::AnyGood,
            position: AskedPosition::Either,
            right_hand: RightHand::Found,
            from_bar: None,
            part: PartAsked::Chords,
        };
        let report = homework::report(&asked, &chart, &performance).unwrap();
        let strikes: usize = report.chords.iter().map(|row| 1 + row.again).sum();
        assert!(strikes >= least, "{strikes}");
    }
}
