//! A performer with the panel and the song around it, for the tests of what is tried by ear.

use super::*;
use guidehand_theory::degree::Degree;
use guidehand_theory::voicing::{Position, Voicing};

pub const RATE: u32 = 48_000;

pub fn note(key: u8) -> MidiNote {
    MidiNote::new(key).unwrap()
}

pub fn chord(keys: &[u8]) -> Step {
    let mut voicing = Voicing::empty(Position::AsPlayed);
    for key in keys {
        assert!(voicing.push(note(*key), Degree::Root));
    }
    Step::chord(&voicing)
}

pub fn line(keys: &[u8]) -> impl Iterator<Item = Step> {
    keys.iter().map(|key| Step::note(note(*key)))
}

/// A scale over a chord that holds its fourth note too.
pub fn scale() -> Request {
    let steps = line(&[72, 74, 76, 77, 76, 74, 72]);
    Request::new(Pace::Swung, steps).over(chord(&[65, 69, 71, 76]).struck(64))
}

pub fn song(text: &str) -> PlannedChart {
    PlannedChart::plan(&chart::parse(text).unwrap(), PlanFor::default(), 0)
}

/// A performer with all that happens to it, in samples from its beginning.
pub struct Stage<'a> {
    pub performer: Performer,
    pub settings: Settings,
    pub song: Option<&'a PlannedChart>,
    pub next_song: Option<&'a PlannedChart>,
    /// The chart of the next block is another one.
    pub update: ChartUpdate,
    /// The tempo that the host tells.
    pub bpm: Option<f64>,
    /// The clock is that of hosts that keep no time.
    pub ours: bool,
    /// Samples that the song has played; none while it stands still.
    plays: Option<u32>,
    starts: bool,
    pub now: u32,
    asked: u32,
    pub events: Vec<Event>,
    /// The room in the host's queue in each block.
    pub room: Option<usize>,
}

impl<'a> Stage<'a> {
    pub fn new(source: Source) -> Stage<'a> {
        Stage {
            performer: performer(),
            settings: Settings::plain(source),
            song: None,
            next_song: None,
            update: ChartUpdate::None,
            bpm: Some(120.0),
            ours: false,
            plays: None,
            starts: false,
            now: 0,
            asked: 0,
            events: Vec::new(),
            room: None,
        }
    }

    pub fn play(&mut self) {
        self.plays = Some(0);
        self.starts = true;
    }

    pub fn stand_still(&mut self) {
        self.plays = None;
    }

    pub fn plays(&self) -> bool {
        self.plays.is_some()
    }

    pub fn clock(&self) -> Clock {
        let seconds = f64::from(self.plays.unwrap_or(0)) / f64::from(RATE);
        let beats = seconds * self.bpm.unwrap_or(120.0) / 60.0;
        let clock = Clock::new(&HostTransport {
            playing: self.plays.is_some(),
            position_beats: Some(beats),
            tempo_bpm: self.bpm,
            sample_rate_hz: f64::from(RATE),
            ..HostTransport::default()
        });
        Clock {
            jumped: self.starts,
            ours: self.ours,
            ..clock
        }
    }

    /// One block, in which something is asked; returns what comes out of it.
    pub fn block(
        &mut self,
        frames: u32,
        ask: Option<Option<&Request>>,
        inputs: &[TimedInput<u32>],
    ) -> Vec<Event> {
        let ask = ask.map(|request| {
            self.asked += 1;
            Ask {
                number: self.asked,
                request: request.copied(),
            }
        });
        let scene = Scene {
            settings: self.settings,
            clock: self.clock(),
            frames,
            song: self.song,
            update: std::mem::take(&mut self.update),
            next_song: self.next_song,
            audition: ask.as_ref(),
        };
        let mut script = Script {
            inputs: inputs.iter().copied().collect(),
            room: self.room,
            ..Script::default()
        };
        let outcome = run(&mut self.performer, &scene, &mut script);
        if outcome.next_song_plays {
            self.song = self.next_song.take();
        }
        self.starts = false;
        self.plays = self.plays.map(|played| played + frames);
        let here = self.now;
        let events = script.outputs.iter().map(|(time, e)| (here + time, *e));
        self.events.extend(events);
        self.now += frames;
        script.outputs
    }

    pub fn ask(&mut self, request: &Request, frames: u32) -> Vec<Event> {
        self.block(frames, Some(Some(request)), &[])
    }

    pub fn stop(&mut self, frames: u32) -> Vec<Event> {
        self.block(frames, Some(None), &[])
    }

    pub fn wait(&mut self, frames: u32) -> Vec<Event> {
        self.block(frames, None, &[])
    }
}

/// Every note-on has one note-off: no key is struck while it sounds, or ended while it does not.
/// Returns the keys that sound at the end.
pub fn sounding(events: &[Event]) -> Vec<(u8, u8)> {
    let mut sounding = Vec::new();
    for (time, event) in events {
        let (channel, key, starts) = match event {
            Output::NoteOn(key) => (key.channel, key.key, true),
            Output::NoteOff { channel, key } => (*channel, *key, false),
            Output::Through(code) => (0, u8::try_from(code % 1000).unwrap(), *code < 1000),
        };
        let at = sounding.iter().position(|other| *other == (channel, key));
        match (starts, at) {
            (true, None) => sounding.push((channel, key)),
            (false, Some(at)) => {
                sounding.remove(at);
            }
            _ => panic!("{key} at {time}: {event:?}"),
        }
    }
    sounding
}

pub fn resting() -> Stage<'static> {
    Stage::new(Source::Reading)
}
