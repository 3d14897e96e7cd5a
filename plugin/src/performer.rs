//! The state machine between events in and events out. It imports neither the
//! framework nor the panel: events of the framework pass through it as a type
//! that it does not know.
//!
//! Everything that happens at one sample is taken in before chords are decided,
//! so that a note-off and a note-on at the same time never sound a chord between
//! them. Work in a block is bounded by its events and its frames.

mod chords;
mod keys;
mod notes;
mod show;

use crate::clock::{self, Clock};
use crate::comping::Comping;
use crate::ground::Ground;
use crate::hand::{Hand, HeldKey, TOGETHER_SECONDS};
use crate::ledger::{CHANNELS, Ledger};
use crate::listener::Heard;
use crate::rhythm::{Rhythm, Strike};
use crate::settings::{Settings, Source};
use crate::snapshot::{Snapshot, Sounding};
use crate::song::Song;
use guidehand_theory::chart::Meter;
use guidehand_theory::pipeline::Placed;
use guidehand_theory::plan::Voiced;
use guidehand_theory::voicing::Voicing;

/// What an event means to the performer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Input {
    /// A key goes down.
    NoteOn(HeldKey),
    /// A key goes up; none stands for every channel or key.
    NoteOff {
        /// 0 to 15.
        channel: Option<u8>,
        /// 0 to 127.
        key: Option<u8>,
    },
    /// All notes of a channel are to end; the event itself passes too.
    AllNotesOff {
        /// 0 to 15.
        channel: u8,
    },
    /// Anything else passes untouched.
    Other,
    /// An event without meaning, such as a key going down that has no number.
    Nothing,
}

/// An event with its time and the framework's own form of it.
#[derive(Clone, Copy, Debug)]
pub struct TimedInput<E> {
    /// Samples from the start of the block.
    pub time_samples: u32,
    /// What it means.
    pub input: Input,
    /// What passes through if it is not for us.
    pub event: E,
}

/// What goes out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Output<E> {
    /// An event of the input, untouched.
    Through(E),
    /// A generated note starts.
    NoteOn(HeldKey),
    /// A note ends.
    NoteOff {
        /// 0 to 15.
        channel: u8,
        /// 0 to 127.
        key: u8,
    },
}

/// Where events come from and go to, in the order of their times.
pub trait Port<E> {
    /// The next event of the block.
    fn next(&mut self) -> Option<TimedInput<E>>;

    /// Sends an event; false if the host does not take it.
    fn send(&mut self, time_samples: u32, output: Output<E>) -> bool;
}

/// What has come of a block.
#[derive(Clone, Copy, Debug, Default)]
pub struct Played {
    /// What the panel shows may have changed.
    pub shows_anew: bool,
    /// The chart that waited has taken over.
    pub next_song_plays: bool,
}

/// What a block brings of the chart.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum News {
    /// The chart is as before.
    #[default]
    None,
    /// It has been planned anew; the text is the same.
    Planned,
    /// It is another one.
    Edited,
}

/// What holds for one block.
#[derive(Clone, Copy)]
pub struct Block<'a> {
    /// The parameters.
    pub settings: &'a Settings,
    /// They may have changed since the block before.
    pub settings_moved: bool,
    /// The transport.
    pub clock: Clock,
    /// The block's length in samples.
    pub frames: u32,
    /// The chart.
    pub song: Option<&'a Song>,
    /// What is new of the chart.
    pub news: News,
    /// A chart that takes over at the next bar line.
    pub next_song: Option<&'a Song>,
}

impl<'a> Block<'a> {
    /// The clock as it counts for what is played: a chart may start late in the
    /// song.
    fn clock(&self, song: Option<&Song>) -> Clock {
        match (self.settings.source, song) {
            (Source::Chart | Source::Reading, Some(song)) => {
                let bars_before = f64::from(self.settings.from_bar.saturating_sub(1));
                let bar_ticks = f64::from(song.meter().bar_ticks());
                self.clock.starting_at(bars_before * bar_ticks)
            }
            _ => self.clock,
        }
    }

    /// What a rhythm is played over, while time passes.
    fn ground(&self, song: Option<&'a Song>) -> Option<Ground<'a>> {
        self.clock.position_ticks?;
        let rhythm = self.settings.feel.rhythm;
        match self.settings.source {
            _ if self.settings.bypass => None,
            Source::Chart if rhythm != Rhythm::Played => self.chart(song),
            Source::Roots if rhythm.by_pattern() => {
                Some(Ground::Root(self.clock.meter.unwrap_or(Meter::COMMON)))
            }
            _ => None,
        }
    }

    fn chart(&self, song: Option<&'a Song>) -> Option<Ground<'a>> {
        song.map(|song| Ground::Chart {
            song,
            repeats: self.settings.repeats,
        })
    }
}

/// A block and what follows from it.
struct Stage<'a> {
    block: &'a Block<'a>,
    settings: &'a Settings,
    /// The chart in force.
    song: Option<&'a Song>,
    news: News,
    clock: Clock,
    ground: Option<Ground<'a>>,
}

impl<'a> Stage<'a> {
    fn new(block: &'a Block<'a>, song: Option<&'a Song>, news: News) -> Stage<'a> {
        Stage {
            block,
            settings: block.settings,
            song,
            news,
            clock: block.clock(song),
            ground: block.ground(song),
        }
    }

    /// The chart in force, with its repeats.
    fn chart(&self) -> Option<Ground<'a>> {
        self.block.chart(self.song)
    }

    /// When a chart that waits takes over: at the first bar line of the block, or
    /// at once where no chart plays.
    fn takes_over_at(&self) -> Option<u32> {
        self.block.next_song?;
        let (Some(ground @ Ground::Chart { .. }), Some(here)) =
            (&self.ground, self.clock.in_force(0))
        else {
            return Some(0);
        };
        let Some(bar) = ground.bar(ground.bar_at(here)) else {
            return Some(0);
        };
        if here - bar.start_ticks < self.clock.ticks_per_sample {
            return Some(0);
        }
        self.clock.sample_of(bar.end_ticks(), self.block.frames)
    }

    /// The time signature of the bars under a held root.
    fn root_meter(&self) -> Option<Meter> {
        match self.ground {
            Some(Ground::Root(meter)) => Some(meter),
            _ => None,
        }
    }
}

/// What the keys of the left hand have done at the sample in hand.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
enum Gesture {
    #[default]
    Nothing,
    /// A root was struck.
    Struck,
    /// An extra key joined the root.
    Joined,
    Released,
}

/// The chord that sounds.
#[derive(Clone, Copy, Debug)]
struct Playing {
    sounding: Sounding,
    /// Its channel and velocity.
    key: HeldKey,
    /// When it ends by itself, in ticks.
    end_ticks: f64,
    /// When an inner voice moves, in ticks, and what sounds from then on.
    line: Option<(f64, Voicing)>,
}

/// What comes next by itself.
#[derive(Clone, Copy, Debug)]
enum Due {
    /// The chart that waits takes over.
    NextSong,
    End,
    Line(Voicing),
    Strike(Strike),
}

/// The performer: what is held, what sounds, and where in the chart it is.
#[derive(Debug, Default)]
pub struct Performer {
    ledger: Ledger,
    /// Keys that are held and do not pass, one bit each.
    captured: [u128; CHANNELS as usize],
    hand: Hand,
    /// The key that opened the gate, until no key is held.
    gate_key: Option<HeldKey>,
    gesture: Gesture,
    settings: Option<Settings>,
    comping: Comping,
    /// A rhythm is under way.
    runs: bool,
    /// The tempo that the bar in hand was worked out for.
    bpm: f64,
    /// The time signature of the bars under a held root.
    meter: Option<Meter>,
    playing: Option<Playing>,
    /// The chord of the root that is held.
    root: Option<(Placed, Voiced)>,
    last: Option<Sounding>,
    /// What the player's keys were last read as.
    heard: Option<Heard>,
    /// Keys below the split went down or up since they were last read.
    played: bool,
    /// The voicing that the next root leads on from.
    before: Option<Voicing>,
    now_samples: u64,
    together_samples: u64,
    shown: show::Shown,
    snapshot: Snapshot,
}

impl Performer {
    /// Sets the sample rate, in Hz.
    pub fn set_sample_rate(&mut self, rate_hz: f32) {
        let samples = (f64::from(rate_hz) * TOGETHER_SECONDS).round();
        self.together_samples = clock::whole(samples).map_or(0, u64::from);
    }

    /// Starts afresh. What sounded is owed its note-offs, which go out with the
    /// next block, since nothing can be sent from here.
    pub fn reset(&mut self) {
        let mut ledger = std::mem::take(&mut self.ledger);
        ledger.owe_all();
        *self = Performer {
            ledger,
            together_samples: self.together_samples,
            ..Performer::default()
        };
    }

    /// One block.
    pub fn process<E: Copy>(&mut self, block: &Block, port: &mut impl Port<E>) -> Played {
        let mut stage = Stage::new(block, block.song, block.news);
        let mut takes_over = stage.takes_over_at();
        let mut next_song_plays = false;
        self.pay(0, port);
        let feel_moved = self.apply_settings(&stage, port);
        self.locate(&stage, feel_moved, 0, port);
        // The framework cuts blocks where parameters change, and leaves an event at
        // the cut in the block before it: it may lie one past the last frame.
        let end = block.frames;
        let mut pending = port.next();
        loop {
            let input_time = pending.as_ref().map(|i| i.time_samples.min(end));
            let due = self.next_due(&stage);
            let due = match (takes_over, due) {
                (Some(time), Some((other, _))) if other < time => due,
                (Some(time), _) => Some((time, Due::NextSong)),
                (None, due) => due,
            };
            match (input_time, due) {
                (None, None) => break,
                (input, Some((time, Due::NextSong))) if input.is_none_or(|i| time <= i) => {
                    takes_over = None;
                    next_song_plays = true;
                    stage = Stage::new(block, block.next_song, News::Edited);
                    self.locate(&stage, false, time, port);
                }
                (input, Some((time, due))) if input.is_none_or(|i| time <= i) => {
                    self.act(&stage, due, time, port);
                }
                (Some(time), _) => {
                    while let Some(input) = pending
                        && input.time_samples.min(end) <= time
                    {
                        self.take(&stage, time, &input, port);
                        pending = port.next();
                    }
                    self.settle(&stage, time, port);
                }
                (None, Some(_)) => break,
            }
        }
        self.now_samples += u64::from(block.frames);
        Played {
            shows_anew: self.show(&stage),
            next_song_plays,
        }
    }

    /// Parameters that have changed since the last block act at its start; true
    /// if the rhythm has to be found anew.
    fn apply_settings<E: Copy>(&mut self, stage: &Stage, port: &mut impl Port<E>) -> bool {
        let new = stage.settings;
        if !stage.block.settings_moved && self.settings.is_some() {
            return false;
        }
        let Some(old) = self.settings.replace(*new).filter(|old| old != new) else {
            return false;
        };
        self.shown.mark_stale();
        let by_hand = |feel: &crate::rhythm::Feel| feel.rhythm == Rhythm::Played;
        let remapped = old.bypass != new.bypass
            || old.source != new.source
            || old.split != new.split
            || old.gate != new.gate
            || old.from_bar != new.from_bar
            || by_hand(&old.feel) != by_hand(&new.feel);
        if remapped {
            self.release_chord(0, port);
            self.hand.clear();
            self.root = None;
            self.gate_key = None;
            self.runs = false;
            return true;
        }
        if new.at_once {
            self.sound_anew(stage, port);
        }
        old.feel != new.feel || old.repeats != new.repeats
    }

    /// Finds the place in the rhythm when time starts, stops or jumps, and when
    /// the chart or the rhythm is new.
    fn locate<E: Copy>(
        &mut self,
        stage: &Stage,
        feel_moved: bool,
        time: u32,
        port: &mut impl Port<E>,
    ) {
        let place = stage.ground.as_ref().zip(stage.clock.in_force(time));
        let Some((ground, position)) = place else {
            if std::mem::take(&mut self.runs) {
                self.comping.leave();
                self.release_chord(time, port);
            }
            return;
        };
        let (feel, bpm) = (&stage.settings.feel, stage.clock.bpm);
        let jumped = !self.runs || stage.clock.jumped && time == 0;
        let news = stage.news;
        let bars = stage.root_meter();
        let other_bars = std::mem::replace(&mut self.meter, bars) != bars;
        if jumped || feel_moved || other_bars || news != News::None {
            self.runs = true;
            self.bpm = bpm;
            let strike = self.comping.locate(ground, feel, bpm, position);
            // What starts at this very sample has not been struck yet.
            let begins =
                |strike: &Strike| strike.start_ticks > position - stage.clock.ticks_per_sample;
            let struck = jumped || strike.as_ref().is_some_and(begins);
            if struck || stage.settings.at_once || news == News::Edited {
                self.sound_or_release(stage, strike, time, struck, port);
            }
        } else if self.bpm != bpm {
            self.bpm = bpm;
            if feel.follows_tempo() {
                self.comping.renew(ground, feel, bpm);
            }
        }
    }

    /// What comes next by itself, if it comes in this block.
    fn next_due(&mut self, stage: &Stage) -> Option<(u32, Due)> {
        let frames = stage.block.frames;
        let until = stage.clock.after(frames)?;
        let playing = self.playing.as_ref();
        let end = playing.map_or(f64::INFINITY, |playing| playing.end_ticks);
        let line = playing.and_then(|playing| playing.line);
        let turn = line.map_or(f64::INFINITY, |(at, _)| at);
        let strike = if self.runs {
            self.comping.due_ticks()
        } else {
            f64::INFINITY
        };
        if end.min(turn).min(strike) > until {
            return None;
        }
        let at = |ticks| stage.clock.sample_of(ticks, frames);
        let ending = at(end).map(|time| (time, Due::End));
        let turning = line.and_then(|(ticks, after)| Some((at(ticks)?, Due::Line(after))));
        let striking = stage
            .ground
            .as_ref()
            .filter(|_| self.runs)
            .and_then(|ground| {
                let feel = &stage.settings.feel;
                self.comping.next(ground, feel, stage.clock.bpm, until)
            })
            .and_then(|strike| Some((at(strike.start_ticks)?, Due::Strike(strike))));
        // Of several at one sample the end comes first; a line within a chord that is
        // over has no more to say.
        let all = [ending, striking, turning];
        all.into_iter().flatten().min_by_key(|(time, _)| *time)
    }

    /// What is due happens.
    fn act<E: Copy>(&mut self, stage: &Stage, due: Due, time: u32, port: &mut impl Port<E>) {
        match due {
            // It is not an act of the chart that is in force.
            Due::NextSong => {}
            Due::End => self.release_chord(time, port),
            Due::Line(after) => self.move_line(after, time, port),
            Due::Strike(strike) => {
                self.comping.advance();
                if strike.end_ticks > strike.start_ticks {
                    self.sound_strike(stage, &strike, time, true, port);
                }
            }
        }
    }
}

#[cfg(test)]
mod tests;
