//! Plays a request on the built plugin and reports what came out. Nothing is compared here;
//! [`comp`](crate::comp) does that. Imports the host, sessions, saved states and the reports.

use crate::error::HostError;
use crate::event::{Event, TimedEvent};
use crate::host::Host;
use crate::paths::PLUGIN_ID;
use crate::session::{BlockSizes, Performance, Session, render};
use crate::state;
use crate::transport::{Signature, TransportChange};
use guidehand_exchange::kept::KeptPin;
use guidehand_report::performance::{EventRow, Report};
use guidehand_report::planned::{self, PlannedChord};
use guidehand_report::request::Request;
use guidehand_report::sung::{self, BlockRow, MelodyRow};
use guidehand_theory::chart::{Chart, TICKS_PER_QUARTER};
use guidehand_theory::key::Mode;
use guidehand_theory::under::TimedBlock;
use std::path::Path;

/// The plugin's default channel for the bass, from 0.
pub(crate) const BASS_CHANNEL: i16 = 1;

const SAMPLE_RATE_HZ: f64 = 48_000.0;
/// The frames of a block whose sound nobody hears. The notes are the same in blocks of any size.
const SILENT_BLOCK_FRAMES: u32 = 4_096;
/// The silence at the end for the decay of the last chord, in seconds.
const TAIL_SECONDS: f64 = 1.5;
/// A root is released this much before the next one, in quarter notes.
const ROOT_GAP_BEATS: f64 = 0.1;

/// What was played, and what the theory plans for it.
#[derive(Clone, Debug)]
pub struct PlayedRequest {
    /// What the host did.
    pub session: Session,
    /// What the plugin played.
    pub performance: Performance,
    /// The chords that the theory plans for the chart, one for each of its changes.
    pub of_chart: Vec<PlannedChord>,
    /// The chords that the theory plans for the roots.
    pub of_roots: Vec<PlannedChord>,
    /// The melody of the request.
    pub melody: Vec<MelodyRow>,
    /// The block chords that the theory plans under it, which the plugin does not play.
    pub blocks: Vec<TimedBlock>,
    block_rows: Vec<BlockRow>,
}

impl PlayedRequest {
    /// The report: the chords as they are planned, and the events as they came out
    /// of the plugin.
    #[must_use]
    pub fn report(&self) -> Report {
        let chords = self.of_chart.iter().chain(&self.of_roots);
        let report = Report::new(chords, events(&self.session, &self.performance.events));
        report.under(self.melody.clone(), self.block_rows.clone())
    }
}

/// Plays a request on the plugin in the file at `clap`. The chart is that of the
/// request.
///
/// # Errors
/// A plugin that cannot be loaded, or that refuses a call.
pub fn play(clap: &Path, request: &Request, chart: &Chart) -> Result<PlayedRequest, HostError> {
    let mut host = Host::open(clap, PLUGIN_ID)?;
    let of_chart = planned::of_chart(request, chart);
    prepare(
        &mut host,
        request,
        &planned::pins(request, chart, &of_chart),
    )?;
    let session = session(&host, request, chart)?;
    let performance = render(&mut host, &session)?;
    let melody = planned::melody(request, chart);
    let blocks = sung::blocks(request, chart, &of_chart);
    let of_roots = planned::of_roots(request, chart, &of_chart);
    Ok(PlayedRequest {
        session,
        performance,
        of_chart,
        of_roots,
        melody: sung::rows(&melody, chart),
        block_rows: sung::block_rows(&blocks, &melody, chart),
        blocks,
    })
}

/// Ticks as quarter notes.
pub(crate) fn beats(ticks: u32) -> f64 {
    f64::from(ticks) / f64::from(TICKS_PER_QUARTER)
}

/// The note events of a performance.
fn events(session: &Session, events: &[TimedEvent]) -> Vec<EventRow> {
    let rows = events.iter().filter_map(|timed| {
        let beats = session.beats_at(timed.at_samples);
        match timed.event {
            Event::NoteOn {
                channel,
                key,
                velocity,
                ..
            } => Some(EventRow::note_on(beats, channel, key, velocity)),
            Event::NoteOff {
                channel,
                key,
                velocity,
                ..
            } => Some(EventRow::note_off(beats, channel, key, velocity)),
            _ => None,
        }
    });
    rows.collect()
}

fn set(host: &mut Host, name: &str, text: &str) -> Result<(), HostError> {
    let id = host.param_by_name(name)?.id;
    let value = host.text_to_value(id, text)?;
    host.set_param(id, value)
}

/// Sets texture, bass and key, and puts the chart with these pins into the plugin's state, as a host
/// does that opens a project.
fn prepare(host: &mut Host, request: &Request, pins: &[KeptPin]) -> Result<(), HostError> {
    let texture = match &request.own {
        Some(_) => "my voicings",
        None => request.texture.name(),
    };
    let mut words = texture.chars();
    let first = words.next().into_iter().flat_map(char::to_uppercase);
    let capital: String = first.chain(words).collect();
    set(host, "Texture", &capital)?;
    set(host, "Chords from", "Chart")?;
    set(host, "Rhythm", request.rhythm.words())?;
    by_hand(host, request)?;
    set(
        host,
        "Audition tone",
        if request.tone { "On" } else { "Off" },
    )?;
    set(host, "Bass note", "On")?;
    // The chart is played once, so nothing leads on to its beginning.
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
        set(host, "Lock chart to key", "On")?;
    }
    let saved = host.save_state()?;
    let state = match &request.own {
        Some(own) => state::with_own_voicings(&saved, &request.chart, own),
        None => state::with_chart(&saved, &request.chart),
    };
    host.load_state(&state::with_picks(&state, pins, &request.scales))
}

/// Sets how the rhythm is played and what is asked of tensions.
fn by_hand(host: &mut Host, request: &Request) -> Result<(), HostError> {
    let hand = request.hand;
    let mut settings = vec![
        ("Looseness, time", format!("{} ms", hand.touch_ms)),
        ("Looseness, velocity", hand.touch_velocity.to_string()),
        ("Variation", format!("{} %", hand.variation)),
    ];
    settings.extend(hand.swing.map(|swing| ("Swing", format!("{swing} %"))));
    settings.extend(hand.seed.map(|seed| ("Take", seed.to_string())));
    for (name, words) in settings {
        set(host, name, &words)?;
    }
    for (name, words) in &request.asked {
        set(host, name, words)?;
    }
    Ok(())
}

/// The names of the plugin's key parameter, from C upwards.
const TONICS: [&str; 12] = [
    "C", "Db", "D", "Eb", "E", "F", "F#/Gb", "G", "Ab", "A", "Bb", "B",
];

fn session(host: &Host, request: &Request, chart: &Chart) -> Result<Session, HostError> {
    let mut session = Session::new(SAMPLE_RATE_HZ, request.tempo_bpm, 0);
    if !request.tone {
        session.keeps_audio = false;
        session.blocks = BlockSizes::Fixed(SILENT_BLOCK_FRAMES);
    }
    let meter = chart.meter();
    session.signature = Signature {
        numerator: meter.beats.into(),
        denominator: meter.unit.into(),
    };
    let mut beat = beats(chart.length_ticks());
    let chart_end = session.samples_at(beat);
    session.change(chart_end, TransportChange::Stop);
    let source = host.param_by_name("Chords from")?.id;
    session.param(chart_end, source, 0.0);
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
