//! A bass that is heard at the audio inputs. With a chart the chords come from there, and the bass
//! moves them. Without one its roots are chords in the key. While the song stands still every note
//! that is sure is a root. Imports `source`, `struck`, `bass/*` and the parts of the engine.

mod finder;
mod in_chart;
mod mode;

use super::source::ChordSource;
use super::struck::{Playing, Rooted, Struck};
use crate::engine::bass_input::{BassEvent, BassNote};
use crate::engine::block::{Block, RhythmBars, Timing};
use crate::engine::clock;
use crate::engine::intent::{ChordEvent, Intent, chart_key};
use crate::engine::parts::Now;
use crate::engine::planned::PlannedChart;
use crate::engine::rhythm::Strike;
use crate::engine::settings::Settings;
use crate::engine::snapshot::{BassReading, Snapshot};
use crate::engine::ticks::{EIGHTH_TICKS, QUARTER_TICKS};
use finder::Finder;
use guidehand_theory::chart::Meter;
use guidehand_theory::chord::Chord;
use guidehand_theory::pipeline;
use guidehand_theory::pitch::PitchClass;
use guidehand_theory::root_note::Extras;
use guidehand_theory::under::Harmony;
use in_chart::InChart;
use mode::FollowMode;

/// The chord goes on for so many bars after the bass has ended.
const PATIENCE_BARS: f64 = 2.0;
/// The same while the song stands still, in seconds.
const PATIENCE_SECONDS: f64 = 1.0;
/// How long a strike on a strong beat waits for the note that tells its root, in seconds: it takes
/// that long to recognise a note.
const WAIT_SECONDS: f64 = 0.07;
/// How far from a strong beat a strike waits, in ticks.
const NEAR_TICKS: f64 = EIGHTH_TICKS / 3.0;
/// How sure a note must be to be a root by itself.
const SURE: f32 = 0.5;

/// The root of a bass without a chart.
#[derive(Debug, Default)]
struct Root {
    /// The root in force.
    class: Option<PitchClass>,
    /// The last root's chord. It stays until the bass is over.
    chord: Option<Rooted>,
}

/// Times in samples since the last reset.
#[derive(Debug, Default)]
struct Timers {
    /// A strike waits for a note until then.
    waits: Option<u64>,
    /// The bass is over then; none while a note sounds.
    over: Option<u64>,
}

/// A bass.
#[derive(Debug, Default)]
pub struct BassSource {
    mode: FollowMode,
    /// A bass is heard, and is not over.
    alive: bool,
    finder: Finder,
    in_chart: InChart,
    root: Root,
    struck: Struck,
    timers: Timers,
    reading: BassReading,
    /// Of the block's events of the bass, those that were taken in.
    events_heard: usize,
    /// Something has changed that the panel shows.
    changed: bool,
}

/// What comes next by itself.
#[derive(Clone, Copy)]
enum Due {
    /// The bass does something.
    Event(BassEvent),
    /// A chord that a late bass has delayed is due after all.
    BackToChart,
    /// A strike has waited for the bass long enough.
    Waited,
    /// The bass has been silent for so long that it is over.
    Over,
}

/// Where the host was when a note was struck, in ticks of what is played.
fn struck_at(note: &BassNote, now: &Now) -> Option<f64> {
    let ago = f64::from(note.ago_samples) * now.context.clock.ticks_per_sample;
    Some(now.position()? - ago)
}

/// A number of samples to wait, 0 or more.
fn wait(samples: f64) -> Option<u64> {
    clock::whole(samples).map(u64::from)
}

impl BassSource {
    /// What comes next in this block, and at which sample.
    fn next(&self, now: &Now) -> Option<(u32, Due)> {
        if self.mode == FollowMode::Off {
            return None;
        }
        let block = now.context.block;
        let within = |at: Option<u64>| {
            let time = u32::try_from(at?.saturating_sub(now.block_samples())).ok()?;
            Some(time).filter(|time| *time < block.frames)
        };
        let event = block.bass_event(self.events_heard);
        let event = event.map(|event| (event.time_samples, Due::Event(event)));
        let back = self.in_chart.late_until_ticks();
        let back = back.and_then(|ticks| now.context.clock.sample_of(ticks, block.frames));
        let back = back.map(|time| (time, Due::BackToChart));
        let waited = within(self.timers.waits).map(|time| (time, Due::Waited));
        let over = within(self.timers.over).map(|time| (time, Due::Over));
        let all = [back, event, waited, over];
        all.into_iter().flatten().min_by_key(|(time, _)| *time)
    }

    /// The place in the chart is the host's again.
    fn lose_place(&mut self) {
        self.finder.follower.reset();
        self.in_chart.lead_by(0);
        self.struck.forget();
    }

    /// The bass is over, and so is the chord.
    fn end(&mut self) -> Intent {
        self.alive = false;
        self.timers = Timers::default();
        self.in_chart.put_back();
        self.root = Root::default();
        self.reading = BassReading::Waiting;
        self.changed = true;
        Intent::Release
    }

    /// Takes in what the bass does.
    fn hear(&mut self, event: BassEvent, now: &Now) -> Intent {
        self.events_heard += 1;
        self.changed = true;
        let Some(note) = event.note else {
            let patience = self.patience_samples(now);
            self.timers.over = Some(now.samples().saturating_add(patience));
            return Intent::Hold;
        };
        self.timers.over = None;
        match self.mode {
            FollowMode::Off => Intent::Hold,
            FollowMode::Chart => self.hear_over_chart(&note, now),
            FollowMode::Key => self.hear_in_key(&note, now),
            FollowMode::Notes => self.hear_note(&note, now),
        }
    }

    /// How long after its last note a bass is over.
    fn patience_samples(&self, now: &Now) -> u64 {
        let samples = if self.mode == FollowMode::Notes {
            now.samples_of(PATIENCE_SECONDS)
        } else {
            PATIENCE_BARS * self.finder.bar_ticks() / now.context.clock.ticks_per_sample
        };
        wait(samples).unwrap_or(u64::from(u32::MAX))
    }

    fn hear_over_chart(&mut self, note: &BassNote, now: &Now) -> Intent {
        let Some((song, chart)) = now.context.song.zip(now.context.chart()) else {
            return Intent::Hold;
        };
        self.finder.count_in(song.meter());
        self.alive = true;
        let Some(at) = struck_at(note, now).filter(|at| chart.holds(*at)) else {
            return Intent::Hold;
        };
        let pickup = f64::from(song.pickup_ticks);
        let host = (at - now.context.shift_ticks - pickup) / QUARTER_TICKS;
        let class = note.note.class();
        let Some(place) = self.finder.follower.hear(&song.form(), class, host) else {
            return Intent::Hold;
        };
        let placed = song.changes.get(place.change).and_then(|c| c.placed);
        let root = |chord: Chord| chord.bass.unwrap_or(chord.root).class();
        self.reading = BassReading::Charted {
            standing: place.standing,
            chord: placed.map(|placed| placed.chord),
            root: placed.is_some_and(|placed| root(placed.chord) == class),
            shift_bars: place.shift_bars,
            confidence: place.confidence,
        };
        if place.shift_bars != self.in_chart.ahead_bars() {
            self.in_chart.lead_by(place.shift_bars);
            Intent::Hold
        } else if now.rhythm_runs() {
            self.in_chart.move_chord(&place, &mut self.struck, now)
        } else {
            Intent::Hold
        }
    }

    fn hear_in_key(&mut self, note: &BassNote, now: &Now) -> Intent {
        let meter = now.context.clock.meter.unwrap_or(Meter::COMMON);
        self.finder.count_in(meter);
        let Some(at) = struck_at(note, now) else {
            return Intent::Hold;
        };
        let class = note.note.class();
        let decision = self.finder.decider.hear(class, at / QUARTER_TICKS);
        let waited = self.timers.waits.take().is_some();
        let moves = decision.root.is_some() && decision.root != self.root.class;
        self.root.class = decision.root;
        self.alive |= decision.root.is_some();
        let intent = if moves {
            self.sound_root(true, now)
        } else if waited {
            Intent::Rejoin { struck: true }
        } else {
            Intent::Hold
        };
        self.read_root(decision.confidence);
        intent
    }

    fn hear_note(&mut self, note: &BassNote, now: &Now) -> Intent {
        let class = note.note.class();
        let mut intent = Intent::Hold;
        if note.confidence >= SURE && self.root.class != Some(class) {
            self.root.class = Some(class);
            self.alive = true;
            intent = self.sound_root(true, now);
        }
        self.read_root(note.confidence);
        intent
    }

    /// What the panel shows of a root.
    fn read_root(&mut self, confidence: f32) {
        self.reading = BassReading::Rooted {
            chord: self.root.chord.map(|rooted| rooted.placed.chord),
            confidence,
        };
    }

    /// Works out the chord of the root, and sounds it: at once, or by the rhythm while one runs.
    fn sound_root(&mut self, struck: bool, now: &Now) -> Intent {
        let settings = now.settings();
        let Some(class) = self.root.class else {
            return Intent::Hold;
        };
        let placed = pipeline::place_root(settings.key, class, Extras::NONE);
        let rooted = Rooted::new(placed, struck, self.root.chord, now);
        self.root.chord = Some(rooted);
        if now.rhythm_runs() {
            return Intent::Rejoin { struck };
        }
        if self.mode == FollowMode::Notes || !settings.groove.rhythm.by_pattern() {
            let chord = rooted.agreeing(&mut self.struck, struck, now);
            return Intent::Sound(ChordEvent::held(chord, chart_key(settings), struck));
        }
        Intent::Hold
    }
}

impl ChordSource for BassSource {
    fn timing(&self, block: &Block, song: Option<&PlannedChart>) -> Timing {
        let settings = block.settings;
        let bars = match FollowMode::of(settings, &block.clock, song) {
            _ if !self.alive => RhythmBars::None,
            FollowMode::Chart => RhythmBars::Chart,
            FollowMode::Key if settings.groove.rhythm.by_pattern() => RhythmBars::Host,
            _ => RhythmBars::None,
        };
        Timing {
            counts_from_chart: settings.bass.by_chart,
            bars,
            ahead_bars: self.in_chart.ahead_bars(),
        }
    }

    fn leave(&mut self) {
        *self = BassSource::default();
    }

    /// The bass may be followed in another way from now on.
    fn begin_block(&mut self, now: &Now) -> Intent {
        self.events_heard = 0;
        let context = now.context;
        let mode = FollowMode::of(context.settings, &context.clock, context.song);
        if mode == self.mode {
            if mode == FollowMode::Chart && context.clock.jumped {
                self.lose_place();
            }
            return Intent::Hold;
        }
        let followed = self.mode != FollowMode::Off;
        *self = BassSource {
            mode,
            changed: true,
            ..BassSource::default()
        };
        if followed {
            Intent::Release
        } else {
            Intent::Hold
        }
    }

    fn next_due(&self, now: &Now) -> Option<u32> {
        self.next(now).map(|(time, _)| time)
    }

    fn act(&mut self, now: &Now) -> Intent {
        match self.next(now) {
            Some((_, Due::Event(event))) => self.hear(event, now),
            Some((_, Due::BackToChart)) => {
                self.in_chart.put_back();
                if now.sounds() {
                    Intent::Rejoin { struck: true }
                } else {
                    Intent::Hold
                }
            }
            Some((_, Due::Waited)) => {
                // No note has come: the root in force holds.
                self.timers.waits = None;
                Intent::Rejoin { struck: true }
            }
            Some((_, Due::Over)) => self.end(),
            None => Intent::Hold,
        }
    }

    /// A strike of the pattern on a strong beat waits for the note that tells its root.
    fn delays(&mut self, strike: &Strike, now: &Now) -> bool {
        let half = 0.5 * self.finder.bar_ticks();
        let off = (strike.start_ticks + NEAR_TICKS).rem_euclid(half);
        let waits = self.mode == FollowMode::Key && off < 2.0 * NEAR_TICKS;
        if waits {
            let samples = wait(now.samples_of(WAIT_SECONDS)).unwrap_or(0);
            self.timers.waits = Some(now.samples() + samples);
        }
        waits
    }

    fn play(&mut self, strike: &Strike, struck: bool, now: &Now) -> Intent {
        let settings = now.settings();
        let song = now.context.song.filter(|_| settings.bass.by_chart);
        let chord = match song {
            Some(_) => {
                let change = self.in_chart.change_at(strike.start_ticks, &strike.span);
                if self.in_chart.goes_on(strike, change, now) {
                    return Intent::Extend {
                        end_ticks: strike.end_ticks,
                    };
                }
                let playing = Playing::of_span(strike.span.start_ticks);
                self.struck.charted((playing, change), struck, now)
            }
            None => {
                let rooted = self.root.chord;
                rooted.map(|rooted| rooted.agreeing(&mut self.struck, struck, now))
            }
        };
        match chord {
            Some(chord) => {
                let key = chart_key(settings);
                Intent::Sound(ChordEvent::of_strike(chord, key, strike, struck))
            }
            None => Intent::Release,
        }
    }

    fn play_anew(&mut self, now: &Now) -> Intent {
        if !now.sounds() {
            Intent::Hold
        } else if self.root.chord.is_some() {
            self.sound_root(false, now)
        } else {
            Intent::Rejoin { struck: false }
        }
    }

    fn in_force(&self, now: &Now) -> Option<Harmony> {
        if !self.alive {
            return None;
        }
        if !now.settings().bass.by_chart {
            return self.root.chord.map(|rooted| rooted.harmony(&self.struck));
        }
        let span = now.span_to_strike()?;
        let change = self.in_chart.change_at(now.place()?, &span);
        let playing = Playing::of_span(span.start_ticks);
        self.struck.in_chart((playing, change), now)
    }

    fn forget_place(&mut self) {
        self.lose_place();
    }

    fn take_changed(&mut self) -> bool {
        std::mem::take(&mut self.changed)
    }

    fn shows_chart(&self, settings: &Settings) -> bool {
        settings.bass.by_chart
    }

    fn show(&self, snapshot: &mut Snapshot, _now: &Now) {
        snapshot.bass = self.reading;
    }
}
