//! What `judge --session` reports of a performance, chord by chord: as JSON and as a table. Imports
//! the planned chords, text in columns, the exchange, the practice and the theory.

use crate::judging::{self, FindingRow, MotionRow};
use crate::performance::NoteRow;
use crate::planned::{self, PlannedChord};
use crate::request::Request;
use crate::table::{aligned, widths};
use guidehand_exchange::midi::performance::{Performance, PlayedPart};
use guidehand_practice::AskedPosition;
use guidehand_practice::homework::{self, Homework, Marked, PlayedKey, RightHand, Struck, Ways};
use guidehand_theory::candidates::Register;
use guidehand_theory::chart::{Chart, TICKS_PER_QUARTER};
use guidehand_theory::judge::{Accepts, Question};
use guidehand_theory::key::{Key, Mode};
use guidehand_theory::pipeline::Taste;
use guidehand_theory::plan::Voiced;
use guidehand_theory::quality::Quality;
use guidehand_theory::symbol::{Sign, Symbol};
use guidehand_theory::tension;
use guidehand_theory::voicing::{Form, Position};
use serde::Serialize;
use std::collections::BTreeMap;
use std::fmt;

/// What is asked of a performance.
#[derive(Clone, Debug)]
pub struct HomeworkRequest {
    /// The chart, and what voicings of it are asked for.
    pub request: Request,
    /// What counts as right.
    pub accepts: Accepts,
    /// The position that is asked for. Where any good voicing counts, it makes no difference.
    pub position: AskedPosition,
    /// What the right hand plays.
    pub right_hand: RightHand,
    /// The bar of the file, from 1, in which the chart begins; if none, it is looked for.
    pub from_bar: Option<usize>,
    /// What is judged of several parts.
    pub part: PartAsked,
}

/// What is judged of a file with several parts.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum PartAsked {
    /// The one that plays the most chords.
    #[default]
    Chords,
    /// The one with this number, from 1.
    Number(usize),
    /// All of them together.
    All,
}

/// What came of a performance.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct HomeworkReport {
    /// What counts as right: `exact`, `same tensions` or `any good`.
    pub accepts: &'static str,
    /// What there is to say of all chords together.
    pub summary: SummaryRow,
    /// The chords in the order in which they were asked for.
    pub chords: Vec<HomeworkRow>,
    /// Quarter notes from the start of the file to the beginning of the chart.
    pub begins: f64,
    /// The lowest MIDI note that was taken for the right hand's; none if there is no right hand.
    pub split: Option<u8>,
    /// The parts of the file, in its order.
    pub parts: Vec<PlayedPartRow>,
    /// What is to be told of the file and of how it was read, each in one sentence.
    pub remarks: Vec<String>,
    /// The same as values.
    #[serde(skip)]
    pub homework: Homework,
}

/// A part of the file.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct PlayedPartRow {
    /// Its name; may be empty.
    pub name: String,
    /// Its channel, 1 to 16, where the channels of one track are the parts.
    pub channel: Option<u8>,
    /// How many notes it has.
    pub notes: usize,
    /// Whether it was judged.
    pub judged: bool,
}

/// All chords together.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SummaryRow {
    /// How many chords were asked for.
    pub asked: usize,
    /// How many of them were right at their first strike.
    pub right: usize,
    /// How many were struck on time.
    pub on_time: usize,
    /// How many were right and on time.
    pub right_on_time: usize,
    /// How many were not played.
    pub not_played: usize,
    /// What was wrong, the most frequent first.
    pub mistakes: Vec<MistakeRow>,
    /// The moves that went farthest beyond the least that was needed.
    pub farthest: Vec<MoveRow>,
}

/// A kind of mistake.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct MistakeRow {
    /// The kind of a finding, or `early`, `late` or `not played`.
    pub kind: &'static str,
    /// The slot that it is about, as in a finding.
    pub slot: Option<&'static str>,
    /// How often it was made.
    pub times: usize,
}

/// A move of the hand.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MoveRow {
    /// The bar of the chord to which the hand moved.
    pub bar: u32,
    /// Its beat.
    pub beat: f64,
    /// Its symbol.
    pub symbol: String,
    /// The half steps that all voices moved together.
    pub moved: u32,
    /// The least that they could have moved to a right answer.
    pub least: u32,
}

/// One chord.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct HomeworkRow {
    /// The bar as played, from 1; 0 is a pickup. Where the chart is played again, the bars are
    /// counted on.
    pub bar: u32,
    /// The beat in the bar, from 1, with its fraction.
    pub beat: f64,
    /// The symbol as written.
    pub symbol: String,
    /// The symbol of the voicing that was planned for it, in ASCII.
    pub sounding: String,
    /// The notes that were planned, from the lowest.
    pub asked: Vec<NoteRow>,
    /// The notes that were played, from the lowest, spelled over the chord; empty if there were none.
    pub played: Vec<NoteRow>,
    /// How they were played: `at once`, `rolled`, `held on` or `not played`.
    pub struck: &'static str,
    /// Whether the notes are right.
    pub right: bool,
    /// Whether they came on time.
    pub on_time: bool,
    /// How many beats, of a quarter note each, they were late, negative if early; 0 if they were on
    /// time; none if there were none.
    pub late: Option<f64>,
    /// All there is to tell of the notes.
    pub findings: Vec<FindingRow>,
    /// How often the chord was struck again.
    pub again: usize,
    /// How many of these strikes were right.
    pub again_right: usize,
    /// How far the hand moved from the answer before; none for the first.
    pub motion: Option<MotionRow>,
}

/// Why nothing was judged.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NotJudged {
    /// The chart asks for no chord.
    NoChords,
    /// The file has no part of this number.
    NoPart {
        /// The number that was asked for.
        asked: usize,
        /// How many parts there are.
        parts: usize,
    },
    /// The file has no bar of this number.
    NoBar(usize),
}

impl fmt::Display for NotJudged {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NotJudged::NoChords => f.write_str("the chart asks for no chord; expected one"),
            NotJudged::NoPart { asked, parts } => {
                write!(
                    f,
                    "there is no part {asked} in the file; expected 1 to {parts}"
                )
            }
            NotJudged::NoBar(bar) => {
                write!(
                    f,
                    "there is no bar {bar} in the file; expected a bar from 1"
                )
            }
        }
    }
}

impl std::error::Error for NotJudged {}

/// Judges a performance over a chart.
///
/// # Errors
/// A chart without chords, or a part or a bar that the file does not have.
pub fn report(
    asked: &HomeworkRequest,
    chart: &Chart,
    performance: &Performance,
) -> Result<HomeworkReport, NotJudged> {
    let planned = in_position(asked, planned::of_chart(&asked.request, chart));
    // Note for note the planned position is meant.
    let either = asked.position == AskedPosition::Either && asked.accepts != Accepts::Exact;
    let question = |planned: &PlannedChord| {
        let (placed, voiced) = planned.chord?;
        Some(Question {
            placed,
            voiced,
            either_position: either,
        })
    };
    let questions: Vec<Option<Question>> = planned.iter().map(question).collect();
    let chords = questions.iter().flatten();
    let most = chords.map(|q| q.voiced.voicing.voices().len()).max();
    let most = most.ok_or(NotJudged::NoChords)?;
    let start_ticks = asked.from_bar.map(|bar| begins(chart, performance, bar));
    let ways = Ways {
        accepts: asked.accepts,
        register: Register::DEFAULT,
        right_hand: asked.right_hand,
        start_ticks: start_ticks.transpose()?,
    };
    let judged = parts(asked.part, performance, most)?;
    let keys = keys(performance, &judged);
    let homework = homework::judge(chart, &questions, &keys, &ways);
    let chords = homework.chords.iter();
    let chords: Vec<HomeworkRow> = chords
        .map(|m| HomeworkRow::new(m, chart, &planned))
        .collect();
    let mut remarks = performance.remarks.clone();
    remarks.extend(remarks_of(&homework, performance, &judged, asked));
    let rows = performance.parts.iter().zip(&judged);
    let rows = rows.map(|(part, judged)| PlayedPartRow {
        name: part.name.clone(),
        channel: part.channel,
        notes: part.notes,
        judged: *judged,
    });
    Ok(HomeworkReport {
        accepts: judging::word(asked.accepts),
        summary: SummaryRow::new(&homework, &chords),
        chords,
        begins: beats(i64::from(homework.start_ticks)),
        split: homework.split.map(|note| note.number()),
        parts: rows.collect(),
        remarks,
        homework,
    })
}

/// The planned chords, each in the position that is asked for. A chord that has none there stays as it
/// is planned.
fn in_position(asked: &HomeworkRequest, mut planned: Vec<PlannedChord>) -> Vec<PlannedChord> {
    let request = &asked.request;
    let taste = Taste {
        texture: request.texture,
        requests: request.requests,
        ..Taste::default()
    };
    for (placed, voiced) in planned.iter_mut().filter_map(|p| p.chord.as_mut()) {
        let quality = placed.chord.quality;
        let is_there = |v: &Voiced| lies(asked.position, v.voicing.position, quality);
        if is_there(voiced) {
            continue;
        }
        let choices = tension::resolve(&placed.chord, &placed.function, request.requests);
        let candidates = taste.setting().candidates(&placed.chord, &choices);
        let there = candidates.filter(|(_, candidate)| is_there(candidate));
        let distance = |(cost, candidate): &(u32, Voiced)| {
            let apart = voiced.voicing.motion(&candidate.voicing);
            let same = candidate.voicing.degrees() == voiced.voicing.degrees();
            (!same, candidate.tensions.rank, apart, *cost)
        };
        if let Some((_, nearest)) = there.min_by_key(distance) {
            *voiced = nearest;
        }
    }
    planned
}

/// Whether a position of a chord of this quality is the one that is asked for.
fn lies(asked: AskedPosition, position: Position, quality: Quality) -> bool {
    match asked {
        AskedPosition::Either => true,
        AskedPosition::Third => position == Position::Third,
        AskedPosition::Seventh => position == Position::Seventh,
        AskedPosition::FormA => Form::of(position, quality) == Form::A,
        AskedPosition::FormB => Form::of(position, quality) == Form::B,
    }
}

/// The tick at which a chart begins that begins in a bar of the file. Its pickup lies at the end of
/// that bar.
fn begins(chart: &Chart, performance: &Performance, bar: usize) -> Result<u32, NotJudged> {
    let meter = chart.meter();
    let start = performance.bar_start(bar, meter);
    let pickup = chart.pickup_ticks();
    let within = if pickup > 0 {
        meter.bar_ticks().saturating_sub(pickup)
    } else {
        0
    };
    let start = start.and_then(|start| start.checked_add(within));
    start.ok_or(NotJudged::NoBar(bar))
}

/// Which parts are judged, in the order of the file.
fn parts(
    asked: PartAsked,
    performance: &Performance,
    chord_notes: usize,
) -> Result<Vec<bool>, NotJudged> {
    let count = performance.parts.len();
    let only = |number: usize| (1..=count).map(|part| part == number).collect();
    match asked {
        PartAsked::Number(number) if !(1..=count).contains(&number) => Err(NotJudged::NoPart {
            asked: number,
            parts: count,
        }),
        PartAsked::Number(number) => Ok(only(number)),
        PartAsked::All => Ok(vec![true; count]),
        PartAsked::Chords => {
            let chords = (1..=count).map(|number| {
                let keys = keys(performance, &only(number));
                (
                    homework::chords_in(&keys, chord_notes),
                    std::cmp::Reverse(number),
                )
            });
            let most = chords.max().filter(|(chords, _)| *chords > 0);
            Ok(most.map_or_else(|| vec![true; count], |(_, number)| only(number.0)))
        }
    }
}

/// The keys of the parts that are judged.
fn keys(performance: &Performance, judged: &[bool]) -> Vec<PlayedKey> {
    let notes = performance.notes.iter();
    let notes = notes.filter(|note| judged.get(note.part).copied().unwrap_or(false));
    let keys = notes.map(|note| PlayedKey {
        note: note.note,
        start_ticks: note.start_ticks,
        released_ticks: note.released_ticks,
        end_ticks: note.end_ticks,
        start_s: note.start_s,
    });
    keys.collect()
}

/// What is to be told of how the file was read.
fn remarks_of(
    homework: &Homework,
    performance: &Performance,
    judged: &[bool],
    asked: &HomeworkRequest,
) -> Vec<String> {
    let mut remarks = Vec::new();
    let names: Vec<String> = (performance.parts.iter().zip(judged).zip(1..))
        .filter(|((_, judged), _)| **judged)
        .map(|((part, _), number)| part_words(part, number))
        .collect();
    if asked.part == PartAsked::Chords && names.len() < judged.len() {
        let others = judged.len() - names.len();
        remarks.push(format!(
            "{} plays the most chords and is judged; {others} more, see --part",
            names.join(", ")
        ));
    }
    if asked.from_bar.is_none() && homework.start_ticks > 0 {
        let beats = beats(i64::from(homework.start_ticks));
        remarks.push(format!(
            "the chart begins {beats} beats into the file, as its chords tell; see --from-bar"
        ));
    }
    if let (RightHand::Found, Some(split)) = (asked.right_hand, homework.split) {
        let tonic = Key::usual(split.class(), Mode::Major).tonic;
        let name = tonic.at(split);
        remarks.push(format!(
            "the notes from {name} up are taken for the right hand's; see --split"
        ));
    }
    if homework.beside > 0 {
        remarks.push(format!(
            "{} chords or notes before the chart or after its end are left out",
            homework.beside
        ));
    }
    remarks
}

fn part_words(part: &PlayedPart, number: usize) -> String {
    let name = if part.name.is_empty() {
        String::new()
    } else {
        format!(" ({})", part.name)
    };
    let channel = part.channel.map(|channel| format!(", channel {channel}"));
    format!("part {number}{name}{}", channel.unwrap_or_default())
}

/// Ticks as beats, to a hundredth.
fn beats(ticks: i64) -> f64 {
    let ticks = i32::try_from(ticks).map_or(f64::MAX, f64::from);
    (ticks / f64::from(TICKS_PER_QUARTER) * 100.0).round() / 100.0
}

impl HomeworkRow {
    fn new(marked: &Marked, chart: &Chart, planned: &[PlannedChord]) -> HomeworkRow {
        let question = &marked.question;
        let (placed, voicing) = (&question.placed, &question.voiced.voicing);
        let root = placed.chord.root;
        let change = planned.get(marked.asked.change);
        let (bar, beat) = change.map_or((0, 1.0), |change| (change.bar, change.beat));
        let bars = chart.bars.len() - usize::from(chart.has_pickup());
        let bars = u32::try_from(bars).unwrap_or(u32::MAX);
        let answer = marked.answer.as_ref();
        let judgement = answer.map(|answer| &answer.judgement);
        let findings = judgement.map(|judgement| judgement.told(question));
        let findings = findings.into_iter().flatten();
        let motion = answer.and_then(|answer| answer.motion);
        HomeworkRow {
            bar: bar.saturating_add(bars.saturating_mul(marked.asked.round)),
            beat,
            symbol: change.map_or_else(String::new, |change| change.symbol.clone()),
            sounding: Symbol(&placed.sounding(voicing), Sign::Ascii).to_string(),
            asked: NoteRow::all(voicing, root),
            played: judgement.map_or_else(Vec::new, |j| NoteRow::all(j.played(), root)),
            struck: match answer.map(|answer| answer.struck) {
                None => "not played",
                Some(Struck::AtOnce) => "at once",
                Some(Struck::Rolled) => "rolled",
                Some(Struck::HeldOn) => "held on",
            },
            right: marked.is_right(),
            on_time: marked.is_on_time(),
            late: answer.map(|answer| beats(answer.late_ticks)),
            findings: findings.map(|told| FindingRow::new(&told)).collect(),
            again: marked.later.strikes,
            again_right: marked.later.right,
            motion: motion.map(|motion| MotionRow {
                moved: motion.moved,
                least: motion.least,
            }),
        }
    }
}

/// How many moves are shown.
const MOST_MOVES: usize = 3;

impl SummaryRow {
    fn new(homework: &Homework, rows: &[HomeworkRow]) -> SummaryRow {
        let count = |is: fn(&HomeworkRow) -> bool| rows.iter().filter(|row| is(row)).count();
        let mut counts: BTreeMap<(&'static str, Option<&'static str>), usize> = BTreeMap::new();
        for row in rows {
            let wrong = row.wrong().map(|finding| (finding.kind, finding.slot));
            let time = row.time_mistake().map(|kind| (kind, None));
            for mistake in wrong.chain(time) {
                *counts.entry(mistake).or_default() += 1;
            }
        }
        let mut mistakes: Vec<MistakeRow> = counts
            .into_iter()
            .map(|((kind, slot), times)| MistakeRow { kind, slot, times })
            .collect();
        mistakes.sort_by_key(|row| std::cmp::Reverse(row.times));
        let moves = rows.iter().filter_map(|row| {
            let MotionRow { moved, least } = row.motion?;
            (moved > least).then(|| MoveRow {
                bar: row.bar,
                beat: row.beat,
                symbol: row.symbol.clone(),
                moved,
                least,
            })
        });
        let mut farthest: Vec<MoveRow> = moves.collect();
        farthest.sort_by_key(|row| std::cmp::Reverse(row.moved - row.least));
        farthest.truncate(MOST_MOVES);
        SummaryRow {
            asked: homework.chords.len(),
            right: count(|row| row.right),
            on_time: count(|row| row.on_time),
            right_on_time: count(|row| row.right && row.on_time),
            not_played: count(|row| row.late.is_none()),
            mistakes,
            farthest,
        }
    }
}

impl fmt::Display for HomeworkReport {
    /// A table: bar, beat, chord, what was played, the verdict in words, time, motion; then what
    /// there is to say of all of it.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let heads = ["bar", "beat", "chord", "played", "time", "moves", "verdict"];
        let mut rows = vec![heads.map(str::to_owned)];
        for row in &self.chords {
            rows.extend(row.cells());
        }
        let widths = widths(&rows);
        rows.insert(1, widths.map(|width| "-".repeat(width)));
        for row in &mut rows {
            for index in [0, 1] {
                let width = widths[index];
                row[index] = format!("{:>width$}", row[index]);
            }
        }
        f.write_str(&aligned(&rows))?;
        writeln!(f)?;
        self.summary.fmt(f)
    }
}

impl HomeworkRow {
    /// What is wrong with the notes.
    fn wrong(&self) -> impl Iterator<Item = &FindingRow> {
        let findings = self.findings.iter();
        findings.filter(|finding| finding.kind != "right")
    }

    /// What is wrong with their time.
    fn time_mistake(&self) -> Option<&'static str> {
        match self.late {
            None => Some("not played"),
            Some(late) if late < 0.0 => Some("early"),
            Some(late) if late > 0.0 => Some("late"),
            Some(_) => None,
        }
    }

    /// The lines of the table: one for the chord, and one more for each further thing to tell.
    fn cells(&self) -> Vec<[String; 7]> {
        let notes: Vec<String> = self.played.iter().map(|note| note.name.clone()).collect();
        let beat = format!("{:.2}", self.beat);
        let mut words: Vec<String> = self.wrong().map(|finding| finding.words.clone()).collect();
        if self.right {
            words.push("right".to_owned());
        }
        if self.late.is_none() {
            words.push("not played".to_owned());
        }
        if self.struck == "rolled" || self.struck == "held on" {
            words.push(self.struck.to_owned());
        }
        words.extend(self.again_words());
        let motion = self.motion.map(|motion| match motion {
            MotionRow { moved, least } if moved > least => format!("{moved}, least {least}"),
            MotionRow { moved, .. } => moved.to_string(),
        });
        let mut lines: Vec<[String; 7]> = Vec::new();
        let mut words = words.into_iter();
        lines.push([
            self.bar.to_string(),
            beat.trim_end_matches('0').trim_end_matches('.').to_owned(),
            self.symbol.clone(),
            notes.join(" "),
            self.late.map_or_else(String::new, time_words),
            motion.unwrap_or_default(),
            words.next().unwrap_or_default(),
        ]);
        lines.extend(words.map(|words| {
            let mut line: [String; 7] = Default::default();
            line[6] = words;
            line
        }));
        lines
    }

    /// What became of the further strikes.
    fn again_words(&self) -> Option<String> {
        let wrong = self.again - self.again_right;
        match (self.right, self.again, wrong) {
            (_, 0, _) | (true, _, 0) => None,
            (true, again, wrong) => Some(format!("{wrong} of {again} further strikes wrong")),
            (false, _, 0) => Some("right when struck again".to_owned()),
            (false, again, wrong) => Some(format!(
                "{} of {again} further strikes right",
                again - wrong
            )),
        }
    }
}

/// How late so many beats are, in words: to the nearest quarter of a beat.
fn time_words(late: f64) -> String {
    if late == 0.0 {
        return "on time".to_owned();
    }
    let way = if late < 0.0 { "early" } else { "late" };
    let quarters = (late.abs() * 4.0).round().max(1.0) / 4.0;
    match quarters {
        0.25 => format!("1/4 beat {way}"),
        0.5 => format!("1/2 beat {way}"),
        0.75 => format!("3/4 beat {way}"),
        1.0 => format!("1 beat {way}"),
        more => format!("{more} beats {way}"),
    }
}

impl fmt::Display for MistakeRow {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let kind = match self.kind {
            "off" => "wrong note",
            "root" => "root played",
            "not asked" => "note not asked for",
            "no place" => "note without a place",
            "octave off" => "whole hand in another octave",
            "not good" => "no good voicing",
            kind => kind,
        };
        f.write_str(kind)?;
        if let Some(slot) = self.slot {
            write!(f, " ({slot})")?;
        }
        write!(f, " {}", self.times)
    }
}

impl fmt::Display for SummaryRow {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(
            f,
            "{} of {} chords right, {} of them on time.",
            self.right, self.asked, self.right_on_time
        )?;
        if !self.mistakes.is_empty() {
            let mistakes = self.mistakes.iter();
            let mistakes: Vec<String> = mistakes.map(ToString::to_string).collect();
            writeln!(f, "Mistakes: {}.", mistakes.join(", "))?;
        }
        if !self.farthest.is_empty() {
            let moves = self.farthest.iter().map(|row| {
                let MoveRow {
                    bar,
                    symbol,
                    moved,
                    least,
                    ..
                } = row;
                format!("{symbol} in bar {bar} ({moved} half steps, least {least})")
            });
            let moves: Vec<String> = moves.collect();
            writeln!(f, "Farthest moves: {}.", moves.join(", "))?;
        }
        Ok(())
    }
}
