//! Plays a chart, and then a line of roots, on the built plugin, and says what
//! came out chord by chord: the events are the plugin's, the names and degrees
//! the theory's, and the two are compared note by note. Imports the host,
//! sessions, the model of the rhythms, the theory and the scores of files.

use crate::error::HostError;
use crate::expected::{Comping, Oracle, Rhythm};
use crate::host::Host;
use crate::notes::{Note, PairingError, note_pairs};
use crate::report::{ChordRow, EventRow, Report};
use crate::session::{Performance, Session, render};
use crate::transport::{Signature, TransportChange};
use guidehand_exchange::score as written;
use guidehand_theory::candidates::Register;
use guidehand_theory::chart::{self, Chart, ChartError, TICKS_PER_QUARTER};
use guidehand_theory::key::{Key, Mode};
use guidehand_theory::pipeline::{self, ChordInKey, Taste};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::plan::{Ends, Voiced};
use guidehand_theory::root_note::Extras;
use guidehand_theory::shape::Texture;
use std::error::Error;
use std::fmt;
use std::path::Path;

/// The plugin's CLAP id.
pub const PLUGIN_ID: &str = "org.guidehand.guidehand";

const SAMPLE_RATE_HZ: f64 = 48_000.0;
/// Silence at the end, so that the last chord can die away, in seconds.
const TAIL_SECONDS: f64 = 1.5;
/// Root notes are lifted this much before the next one, in quarter notes.
const ROOT_GAP_BEATS: f64 = 0.1;

/// A root note to play after the chart.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Root {
    /// The MIDI note, below the split (60).
    pub key: u8,
    /// How long it is held, in quarter notes.
    pub beats: u8,
}

/// What to play.
#[derive(Clone, Debug)]
pub struct Request {
    /// The chart's text.
    pub chart: String,
    /// The key that holds for the chart and for the roots; found in the chart,
    /// and C major for the roots, if none is given.
    pub key: Option<Key>,
    /// Quarter notes a minute.
    pub tempo_bpm: f64,
    /// The texture.
    pub texture: Texture,
    /// When the chart's chords are struck.
    pub rhythm: Rhythm,
    /// Roots to play after the chart.
    pub roots: Vec<Root>,
}

/// What came out.
#[derive(Clone, Debug)]
pub struct Comp {
    /// Chord by chord, and the events.
    pub report: Report,
    /// What was played, for files: the chart, the plugin's notes spelled by their
    /// degrees, the bass that the chart names.
    pub score: written::Score,
    /// What the plugin made of it.
    pub performance: Performance,
}

/// Why nothing came out.
#[derive(Debug)]
pub enum CompError {
    /// The chart cannot be read; the text goes along, to point into it.
    Chart(String, Vec<ChartError>),
    /// The plugin or its host failed.
    Host(HostError),
    /// The plugin has no such parameter value, or a state of an unknown kind.
    Plugin(String),
    /// The plugin's notes do not pair up.
    Notes(PairingError),
    /// The plugin sounds other notes than the theory says: a defect.
    Disagreement {
        /// Where, in quarter notes.
        at_beats: f64,
        /// The symbol.
        symbol: String,
        /// What the theory says.
        expected: Vec<i16>,
        /// What came out.
        found: Vec<i16>,
    },
}

impl fmt::Display for CompError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            CompError::Chart(text, errors) => {
                for (i, error) in errors.iter().enumerate() {
                    if i > 0 {
                        writeln!(f)?;
                    }
                    point_at(f, text, error)?;
                }
                Ok(())
            }
            CompError::Host(error) => write!(f, "{error}"),
            CompError::Plugin(words) => f.write_str(words),
            CompError::Notes(error) => write!(f, "the plugin's notes do not pair up: {error}"),
            CompError::Disagreement {
                at_beats,
                symbol,
                expected,
                found,
            } => write!(
                f,
                "at beat {at_beats}, {symbol}: the theory says {expected:?}, the plugin {found:?}"
            ),
        }
    }
}

/// The line of the chart that is in trouble, with marks under the place.
fn point_at(f: &mut fmt::Formatter<'_>, text: &str, error: &ChartError) -> fmt::Result {
    let from = error.source.start.min(text.len());
    let line_start = text
        .get(..from)
        .and_then(|t| t.rfind('\n'))
        .map_or(0, |i| i + 1);
    let line = text
        .get(line_start..)
        .and_then(|t| t.lines().next())
        .unwrap_or("");
    let before = text.get(line_start..from).unwrap_or("").chars().count();
    let inside = text.get(error.source.clone()).unwrap_or("");
    let marks = inside.lines().next().unwrap_or("").chars().count().max(1);
    writeln!(f, "{error}")?;
    write!(f, "  {line}\n  {:before$}{:^<marks$}", "", "")
}

impl Error for CompError {}

impl From<HostError> for CompError {
    fn from(error: HostError) -> Self {
        CompError::Host(error)
    }
}

/// A chord that the theory expects, and where it starts.
struct Expected {
    symbol: String,
    bar: u32,
    beat: f64,
    at_beats: f64,
    chord: Option<(ChordInKey, Voiced)>,
}

/// Plays a request on the plugin in the file at `clap`.
///
/// # Errors
/// A chart that cannot be read, with every place; a plugin that cannot be
/// loaded; or notes that are not those of the theory.
pub fn comp(clap: &Path, request: &Request) -> Result<Comp, CompError> {
    let chart = chart::parse(&request.chart)
        .map_err(|errors| CompError::Chart(request.chart.clone(), errors))?;
    let mut host = Host::open(clap, PLUGIN_ID)?;
    prepare(&mut host, request)?;
    let session = session(&host, request, &chart)?;
    let performance = render(&mut host, &session)?;

    let of_chart = expect_chart(request, &chart);
    let of_roots = expect_roots(request, &chart);
    let mut strikes = strikes(request, &chart, &of_chart);
    strikes.extend(of_roots.iter().map(|chord| (chord.at_beats, chord)));
    let notes = note_pairs(&performance.events).map_err(CompError::Notes)?;
    let comping = compare(&session, &notes, &strikes)?;

    let mut before = None;
    let chords = of_chart.iter().chain(&of_roots);
    let report = Report {
        chords: chords.map(|chord| row(chord, &mut before)).collect(),
        events: EventRow::all(&session, &performance.events),
    };
    let (tempo, texture) = (request.tempo_bpm, request.texture);
    let planned = written::Score::planned(chart, tempo, request.key, texture, Register::DEFAULT);
    Ok(Comp {
        report,
        score: written::Score { comping, ..planned },
        performance,
    })
}

fn set(host: &mut Host, name: &str, text: &str) -> Result<(), CompError> {
    let id = host.param_by_name(name)?.id;
    let value = host.text_to_value(id, text)?;
    Ok(host.set_param(id, value)?)
}

/// Sets texture and key, and puts the chart into the plugin's state, as a host
/// does that opens a project.
fn prepare(host: &mut Host, request: &Request) -> Result<(), CompError> {
    let texture = request.texture.name();
    let mut words = texture.chars();
    let first = words.next().into_iter().flat_map(char::to_uppercase);
    let capital: String = first.chain(words).collect();
    set(host, "Texture", &capital)?;
    set(host, "Chords from", "Chart")?;
    set(host, "Rhythm", request.rhythm.words())?;
    // Once through: what would lead on to the chart's beginning is left out.
    set(host, "Chart repeats", "Off")?;
    if let Some(key) = request.key {
        let tonic = TONICS.get(usize::from(key.tonic.class().number()));
        set(host, "Key", tonic.unwrap_or(&"C"))?;
        let mode = match key.mode {
            Mode::Major => "Major",
            Mode::Minor => "Minor",
            Mode::Blues => "Blues",
        };
        set(host, "Mode", mode)?;
        set(host, "Key holds for chart", "On")?;
    }
    let state = with_chart(&host.save_state()?, &request.chart)?;
    Ok(host.load_state(&state)?)
}

/// The names of the plugin's key parameter, from C upwards.
const TONICS: [&str; 12] = [
    "C", "Db", "D", "Eb", "E", "F", "F#/Gb", "G", "Ab", "A", "Bb", "B",
];

/// A saved state with another chart in it. The framework saves JSON behind its
/// length in eight bytes, the lowest first.
///
/// # Errors
/// If the state is not of that kind.
pub fn with_chart(state: &[u8], text: &str) -> Result<Vec<u8>, CompError> {
    let strange = |e: serde_json::Error| CompError::Plugin(format!("an unknown state: {e}"));
    let json = state.get(LENGTH_BYTES..).unwrap_or_default();
    let mut state: serde_json::Value = serde_json::from_slice(json).map_err(strange)?;
    let chart = serde_json::json!({ "text": text }).to_string();
    match state.get_mut("fields").and_then(|f| f.get_mut("chart")) {
        Some(field) => *field = serde_json::Value::String(chart),
        None => return Err(CompError::Plugin("a state without a chart".to_owned())),
    }
    let json = serde_json::to_vec(&state).map_err(strange)?;
    let mut bytes = (json.len() as u64).to_le_bytes().to_vec();
    bytes.extend(json);
    Ok(bytes)
}

const LENGTH_BYTES: usize = 8;

fn chart_beats(chart: &Chart) -> f64 {
    f64::from(chart.length_ticks()) / f64::from(TICKS_PER_QUARTER)
}

fn session(host: &Host, request: &Request, chart: &Chart) -> Result<Session, CompError> {
    let mut session = Session::new(SAMPLE_RATE_HZ, request.tempo_bpm, 0);
    let meter = chart.meter();
    session.signature = Signature {
        numerator: meter.beats.into(),
        denominator: meter.unit.into(),
    };
    let chart_end = session.samples_at(chart_beats(chart));
    session.change(chart_end, TransportChange::Stop);
    let source = host.param_by_name("Chords from")?.id;
    session.param(chart_end, source, 0.0);
    let mut beat = chart_beats(chart);
    for root in &request.roots {
        let end = beat + f64::from(root.beats);
        let (from, to) = (
            session.samples_at(beat),
            session.samples_at(end - ROOT_GAP_BEATS),
        );
        session.note(from, to, root.key.into());
        beat = end;
    }
    let tail = TAIL_SECONDS * request.tempo_bpm / 60.0;
    session.length_samples = session.samples_at(beat + tail);
    Ok(session)
}

fn expect_chart(request: &Request, chart: &Chart) -> Vec<Expected> {
    let placed = pipeline::place(chart, request.key);
    let plan = pipeline::plan(&placed, request.texture, Register::DEFAULT, Ends::Cyclic);
    let chords = placed.into_iter().zip(plan);
    let changes = chart.changes.iter().zip(chords);
    changes
        .map(|(change, (placed, voiced))| {
            let (bar, beat) = chart.bar_and_beat(change.start_ticks);
            Expected {
                symbol: request
                    .chart
                    .get(change.source.clone())
                    .unwrap_or("")
                    .to_owned(),
                bar,
                beat,
                at_beats: f64::from(change.start_ticks) / f64::from(TICKS_PER_QUARTER),
                chord: placed.zip(voiced),
            }
        })
        .collect()
}

fn expect_roots(request: &Request, chart: &Chart) -> Vec<Expected> {
    let taste = Taste {
        texture: request.texture,
        ..Taste::default()
    };
    let key = request.key.unwrap_or(Key::C_MAJOR);
    let chart_chords = expect_chart(request, chart);
    // The plugin's voices lead on from the last chord of the chart.
    let mut before = chart_chords
        .iter()
        .rev()
        .find_map(|e| e.chord)
        .map(|(_, v)| v.voicing);
    let mut at_beats = chart_beats(chart);
    let mut roots = Vec::new();
    for root in &request.roots {
        let class = MidiNote::clamp(root.key.into()).class();
        let placed = pipeline::place_root(key, class, Extras::NONE);
        let voiced = pipeline::step(before.as_ref(), &placed, &taste);
        before = Some(voiced.voicing);
        let ticks = at_beats * f64::from(TICKS_PER_QUARTER);
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a chart and a few roots are never that long"
        )]
        let (bar, beat) = chart.bar_and_beat(ticks.round() as u32);
        roots.push(Expected {
            symbol: placed.chord.root.to_string(),
            bar,
            beat,
            at_beats,
            chord: Some((placed, voiced)),
        });
        at_beats += f64::from(root.beats);
    }
    roots
}

/// Each time that a chord of the chart is struck: when, in quarter notes, and
/// which chord.
fn strikes<'a>(
    request: &Request,
    chart: &Chart,
    chords: &'a [Expected],
) -> Vec<(f64, &'a Expected)> {
    let comping = Comping {
        repeats: false,
        ..Comping::new(request.rhythm)
    };
    let end = f64::from(chart.length_ticks());
    let strikes = Oracle::new(&request.chart).strikes(&comping, request.tempo_bpm, end);
    let of_strike = |at_ticks: f64, change| {
        let chord = chords.get(change)?;
        Some((at_ticks / f64::from(TICKS_PER_QUARTER), chord))
    };
    strikes
        .iter()
        .filter_map(|strike| of_strike(strike.start_ticks, strike.change))
        .collect()
}

/// The notes that start with a strike must be those of its chord, and every note
/// must start with one. Tells the notes as they are written.
fn compare(
    session: &Session,
    notes: &[Note],
    strikes: &[(f64, &Expected)],
) -> Result<Vec<written::Note>, CompError> {
    let disagree = |at_beats, symbol: &str, expected, found| CompError::Disagreement {
        at_beats,
        symbol: symbol.to_owned(),
        expected,
        found,
    };
    let mut comping = Vec::with_capacity(notes.len());
    let mut rest: Vec<Note> = notes.to_vec();
    for (at_beats, chord) in strikes {
        // A strike falls on the first sample at or after its place.
        let near = |note: &Note| {
            (session.beats_at(note.start_samples) - at_beats).abs() < session.beats_at(2)
        };
        let (mut found, others): (Vec<Note>, Vec<Note>) = rest.into_iter().partition(near);
        rest = others;
        found.sort_unstable_by_key(|note| note.key);
        let expected: Vec<written::Note> = chord.chord.map_or_else(Vec::new, |(placed, voiced)| {
            written::Note::of_voicing(&voiced.voicing, placed.chord.root, 0, 0, 0).collect()
        });
        let keys = found.iter().map(|note| note.key);
        let wanted = expected.iter().map(|note| i16::from(note.note.number()));
        if !keys.clone().eq(wanted.clone()) {
            let (wanted, keys) = (wanted.collect(), keys.collect());
            return Err(disagree(*at_beats, &chord.symbol, wanted, keys));
        }
        let pairs = found.iter().zip(expected);
        comping.extend(pairs.map(|(played, voice)| as_written(session, played, voice)));
    }
    match rest.first() {
        None => Ok(comping),
        Some(note) => {
            let at_beats = session.beats_at(note.start_samples);
            Err(disagree(at_beats, "no chord", Vec::new(), vec![note.key]))
        }
    }
}

/// A voice with the time and velocity that it was played with.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "rounded, not negative, and far below the limits"
)]
fn as_written(session: &Session, played: &Note, voice: written::Note) -> written::Note {
    let ticks = |samples| {
        let ticks = session.beats_at(samples) * f64::from(TICKS_PER_QUARTER);
        ticks.round() as u32
    };
    let (start, end) = (ticks(played.start_samples), ticks(played.end_samples));
    written::Note {
        start_ticks: start,
        length_ticks: end - start,
        velocity: (played.velocity * 127.0).round().clamp(1.0, 127.0) as u8,
        ..voice
    }
}

fn row(chord: &Expected, before: &mut Option<Voiced>) -> ChordRow {
    let motion = chord.chord.and_then(|(_, now)| {
        let last = before.replace(now)?;
        Some(last.voicing.motion(&now.voicing))
    });
    ChordRow::new(
        chord.bar,
        chord.beat,
        &chord.symbol,
        chord.chord.as_ref(),
        motion,
    )
}
