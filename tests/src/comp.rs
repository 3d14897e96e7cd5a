//! Plays a chart and then a line of roots on the built plugin, and checks every note against the
//! theory. The report does not need this check: [`play`](crate::play) makes it. Imports `play`, the
//! model of the rhythms, the reports, the theory and the scores of files.

use crate::error::HostError;
use crate::expected::{Oracle, RhythmSettings};
use crate::notes::{PairingError, PlayedNote, note_pairs};
use crate::play::{BASS_CHANNEL, PlayedRequest, beats, play};
use crate::session::{Performance, Session};
use guidehand_exchange::score as written;
use guidehand_report::performance::Report;
use guidehand_report::planned::PlannedChord;
use guidehand_report::request::{ChartErrors, Request};
use guidehand_theory::candidates::Register;
use guidehand_theory::chart::{Chart, TICKS_PER_QUARTER};
use guidehand_theory::pipeline::LOWEST_BASS;
use std::collections::BTreeSet;
use std::error::Error;
use std::fmt;
use std::path::Path;

/// The result of a request.
#[derive(Clone, Debug)]
pub struct Comp {
    /// Chord by chord, and the events.
    pub report: Report,
    /// What was played, for files: the chart, the plugin's notes spelled by their
    /// degrees, the bass that the chart names.
    pub score: written::Score,
    /// What the plugin played.
    pub performance: Performance,
}

/// Why there is no result.
#[derive(Debug)]
pub enum CompError {
    /// The chart cannot be read.
    Chart(ChartErrors),
    /// The plugin or its host failed.
    Host(HostError),
    /// The plugin's notes do not pair up.
    Notes(PairingError),
    /// The plugin plays other notes than the theory says: a defect.
    Disagreement {
        /// Where, in quarter notes.
        at_beats: f64,
        /// The symbol.
        symbol: String,
        /// What the theory says.
        expected: Vec<i16>,
        /// The result of a request.
        found: Vec<i16>,
    },
}

impl fmt::Display for CompError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            CompError::Chart(errors) => write!(f, "{errors}"),
            CompError::Host(error) => write!(f, "{error}"),
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

impl Error for CompError {}

impl From<ChartErrors> for CompError {
    fn from(errors: ChartErrors) -> Self {
        CompError::Chart(errors)
    }
}

impl From<HostError> for CompError {
    fn from(error: HostError) -> Self {
        CompError::Host(error)
    }
}

/// Plays a request on the plugin in the file at `clap`, and compares every note
/// with the theory.
///
/// # Errors
/// A chart that cannot be read, with every place; a plugin that cannot be
/// loaded; or notes that are not those of the theory.
pub fn comp(clap: &Path, request: &Request) -> Result<Comp, CompError> {
    let chart = request.read()?;
    let played = play(clap, request, &chart)?;
    let (comping, bass) = check(request, &chart, &played)?;
    let tempo = request.tempo_bpm;
    let setting = (request.texture, Register::DEFAULT);
    let kept = request.kept();
    let sung = request.melody.as_ref().map(|melody| written::Sung {
        melody,
        yielding: request.yielding,
        blocks: None,
    });
    let kept = Some(&kept);
    let key = request.key;
    let mut planned =
        written::Score::planned_under(chart, tempo, key, setting, kept, sung.as_ref());
    planned.put_blocks(&played.blocks);
    let words = played.of_chart.iter().filter_map(|chord| {
        let (placed, voiced) = chord.chord?;
        Some(written::ChordWords::of(
            chord.start_ticks,
            &placed,
            &voiced.voicing,
        ))
    });
    let words = words.collect();
    Ok(Comp {
        report: played.report(),
        score: written::Score {
            comping,
            bass,
            words,
            off_beat: settings(request).ratio(tempo),
            ..planned
        },
        performance: played.performance,
    })
}

/// Compares what was played with the theory. Returns the notes of the chords and of the bass as
/// they are written.
fn check(
    request: &Request,
    chart: &Chart,
    played: &PlayedRequest,
) -> Result<(Vec<written::Note>, Vec<written::Note>), CompError> {
    let session = &played.session;
    let notes = note_pairs(&played.performance.events).map_err(CompError::Notes)?;
    let (bass, notes): (Vec<PlayedNote>, Vec<PlayedNote>) =
        (notes.into_iter()).partition(|note| note.channel == BASS_CHANNEL);
    let mut strikes = if request.hand.is_exact() {
        strikes(request, chart, &played.of_chart)
    } else {
        struck(session, &notes, chart, &played.of_chart)
    };
    let roots = played.of_roots.iter();
    strikes.extend(roots.map(|chord| (beats(chord.start_ticks), chord)));
    let of_chords = |chord: &PlannedChord| {
        chord.chord.map_or_else(Vec::new, |(placed, voiced)| {
            written::Note::of_voicing(&voiced.voicing, placed.chord.root, 0, 0, 0).collect()
        })
    };
    let comping = compare(session, &notes, &strikes, of_chords)?;
    Ok((comping, compare(session, &bass, &strikes, bass_of)?))
}

/// The bass of a chord, without its time.
fn bass_of(chord: &PlannedChord) -> Vec<written::Note> {
    let placed = chord.chord.map(|(placed, _)| placed);
    let bass = placed.and_then(|placed| {
        Some(written::Note {
            start_ticks: 0,
            length_ticks: 0,
            note: placed.bass(LOWEST_BASS)?,
            name: placed.chord.bass.unwrap_or(placed.chord.root),
            velocity: 0,
            hand: written::Hand::Left,
        })
    });
    bass.into_iter().collect()
}

/// A chord may come an eighth before its time, and touch may bring it a little earlier.
const EARLY_TICKS: f64 = 0.625 * TICKS_PER_QUARTER as f64;

/// Each time that a chord of the chart is struck by a hand whose strikes nobody foresees: where notes
/// start, and the chord that they are. That is the coming chord if it is near and the notes are its
/// own, and otherwise the chord in force. A chord that is never struck is to be struck on its start,
/// so that [`compare`] misses it.
fn struck<'a>(
    session: &Session,
    notes: &[PlayedNote],
    chart: &Chart,
    chords: &'a [PlannedChord],
) -> Vec<(f64, &'a PlannedChord)> {
    let end = beats(chart.length_ticks());
    let mut notes = notes.to_vec();
    notes.sort_unstable_by_key(|note| (note.start_samples, note.key));
    let mut strikes: Vec<(f64, &PlannedChord)> = Vec::new();
    for strike in notes.chunk_by(|a, b| a.start_samples == b.start_samples) {
        let [first, ..] = strike else { continue };
        let at_beats = session.beats_at(first.start_samples);
        if at_beats >= end - session.beats_at(2) {
            break;
        }
        let at_ticks = at_beats * f64::from(TICKS_PER_QUARTER);
        let begun = |chord: &PlannedChord| f64::from(chord.start_ticks) <= at_ticks + 1.0;
        let here = chords.partition_point(begun);
        let keys = strike.iter().map(|note| note.key);
        let is_coming = |chord: &&PlannedChord| {
            f64::from(chord.start_ticks) - at_ticks <= EARLY_TICKS
                && keys_of(chord).into_iter().eq(keys.clone())
        };
        let coming = chords.get(here).filter(is_coming);
        let in_force = here.checked_sub(1).and_then(|here| chords.get(here));
        strikes.extend(coming.or(in_force).map(|chord| (at_beats, chord)));
    }
    let heard = strikes.iter().map(|(_, chord)| chord.start_ticks);
    let heard: BTreeSet<u32> = heard.collect();
    let missing =
        |chord: &&PlannedChord| chord.chord.is_some() && !heard.contains(&chord.start_ticks);
    let missing = chords.iter().filter(missing);
    strikes.extend(missing.map(|chord| (beats(chord.start_ticks), chord)));
    strikes.sort_by(|(a, _), (b, _)| a.total_cmp(b));
    strikes
}

/// The keys that the theory says for a chord.
fn keys_of(chord: &PlannedChord) -> Vec<i16> {
    let voicing = chord.chord.map(|(_, voiced)| voiced.voicing);
    let notes = voicing.iter().flat_map(|voicing| voicing.notes());
    notes.map(|note| i16::from(note.number())).collect()
}

/// The settings of a rhythm as they are asked for.
fn settings(request: &Request) -> RhythmSettings {
    let usual = RhythmSettings::new(request.rhythm);
    let swing = request.hand.swing;
    RhythmSettings {
        swing: swing.map_or(usual.swing, |percent| f64::from(percent) / 100.0),
        repeats: false,
        ..usual
    }
}

/// Each time that a chord of the chart is struck: the place in quarter notes, and
/// the chord.
fn strikes<'a>(
    request: &Request,
    chart: &Chart,
    chords: &'a [PlannedChord],
) -> Vec<(f64, &'a PlannedChord)> {
    let comping = settings(request);
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

/// The notes that start with a strike must be those that are `of` its chord, and every note
/// must start with a strike. Returns the notes as
/// they are written.
fn compare(
    session: &Session,
    notes: &[PlayedNote],
    strikes: &[(f64, &PlannedChord)],
    of: impl Fn(&PlannedChord) -> Vec<written::Note>,
) -> Result<Vec<written::Note>, CompError> {
    let disagree = |at_beats, symbol: &str, expected, found| CompError::Disagreement {
        at_beats,
        symbol: symbol.to_owned(),
        expected,
        found,
    };
    let unasked = |note: &PlayedNote| {
        let at_beats = session.beats_at(note.start_samples);
        disagree(at_beats, "no chord", Vec::new(), vec![note.key])
    };
    let mut comping = Vec::with_capacity(notes.len());
    // In the order of their starts, so that each strike is compared with the next notes alone.
    let mut notes = notes.to_vec();
    notes.sort_by_key(|note| note.start_samples);
    let mut rest = notes.as_slice();
    for (at_beats, chord) in strikes {
        let after = |note: &PlayedNote| session.beats_at(note.start_samples) - at_beats;
        // A strike falls on the first sample at or after its place.
        let tolerance = session.beats_at(2);
        if let Some(note) = rest.first().filter(|note| after(note) <= -tolerance) {
            return Err(unasked(note));
        }
        let count = rest.iter().take_while(|n| after(n) < tolerance).count();
        let (found, later) = rest.split_at(count);
        rest = later;
        let mut found = found.to_vec();
        found.sort_unstable_by_key(|note| note.key);
        let expected = of(chord);
        let keys = found.iter().map(|note| note.key);
        let wanted = expected.iter().map(|note| i16::from(note.note.number()));
        if !keys.clone().eq(wanted.clone()) {
            let (wanted, keys) = (wanted.collect(), keys.collect());
            return Err(disagree(*at_beats, &chord.symbol, wanted, keys));
        }
        let pairs = found.iter().zip(expected);
        comping.extend(pairs.map(|(played, voice)| as_written(session, played, voice)));
    }
    rest.first().map_or(Ok(comping), |note| Err(unasked(note)))
}

/// A voice with the time and velocity that it was played with.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "rounded, not negative, and far below the limits"
)]
fn as_written(session: &Session, played: &PlayedNote, voice: written::Note) -> written::Note {
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
