//! The state machine between events in and events out. It imports neither the
//! framework nor the panel: events of the framework pass through it as a type
//! that it does not know.
//!
//! Everything that happens at one sample is taken in before chords are decided,
//! so that a note-off and a note-on at the same time never sound a chord between
//! them. Work in a block is bounded by its events and its frames.

mod bass;
mod chords;
mod keys;
mod notes;
mod show;
mod stage;

pub use stage::Block;

use crate::engine::clock;
use crate::engine::comping::Comping;
use crate::engine::ear::Sound;
use crate::engine::hand::{Hand, HeldKey, TOGETHER_SECONDS};
use crate::engine::ledger::{CHANNELS, Ledger};
use crate::engine::listener::Heard;
use crate::engine::rhythm::{Rhythm, Strike};
use crate::engine::settings::Settings;
use crate::engine::snapshot::{Snapshot, Sounding};
use bass::Following;
use guidehand_theory::chart::Meter;
use guidehand_theory::pipeline::ChordInKey;
use guidehand_theory::plan::Voiced;
use guidehand_theory::voicing::Voicing;
use stage::Stage;

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
    /// The bass does something.
    Sound(Sound),
    /// A chord that a late bass held back is due after all.
    BackToChart,
    /// A strike has waited for the bass long enough.
    Waited,
    /// The bass has been silent for so long that it is over.
    BassOver,
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
    root: Option<(ChordInKey, Voiced)>,
    last: Option<Sounding>,
    /// What the player's keys were last read as.
    heard: Option<Heard>,
    /// Keys below the split went down or up since they were last read.
    played: bool,
    /// The voicing that the next root leads on from.
    before: Option<Voicing>,
    now_samples: u64,
    together_samples: u64,
    rate_hz: f64,
    following: Following,
    /// Of the block's sounds of a bass, those that were taken in.
    sounds_heard: usize,
    shown: show::Shown,
    snapshot: Snapshot,
}

impl Performer {
    /// Sets the sample rate, in Hz.
    pub fn set_sample_rate(&mut self, rate_hz: f32) {
        let samples = (f64::from(rate_hz) * TOGETHER_SECONDS).round();
        self.together_samples = clock::whole(samples).map_or(0, u64::from);
        self.rate_hz = f64::from(rate_hz);
    }

    /// Starts afresh. What sounded is owed its note-offs, which go out with the
    /// next block, since nothing can be sent from here.
    pub fn reset(&mut self) {
        let mut ledger = std::mem::take(&mut self.ledger);
        ledger.owe_all();
        *self = Performer {
            ledger,
            together_samples: self.together_samples,
            rate_hz: self.rate_hz,
            ..Performer::default()
        };
    }

    /// One block.
    pub fn process<E: Copy>(&mut self, block: &Block, port: &mut impl Port<E>) -> Played {
        self.sounds_heard = 0;
        let mut stage = Stage::new(block, block.song, block.news, self.following.lead);
        let mut takes_over = stage.takes_over_at();
        let mut next_song_plays = false;
        self.pay(0, port);
        let feel_moved = self.apply_settings(&stage, port);
        self.find_way(&stage, port);
        if stage.lead != self.following.lead {
            stage = Stage::new(block, block.song, block.news, self.following.lead);
        }
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
                    self.forget_place();
                    let lead = self.following.lead;
                    stage = Stage::new(block, block.next_song, News::Edited, lead);
                    self.locate(&stage, false, time, port);
                }
                (input, Some((time, due))) if input.is_none_or(|i| time <= i) => {
                    self.act(&stage, due, time, port);
                    if stage.lead != self.following.lead {
                        // Another place in the chart, or none any more, begins here.
                        let moved = stage.lead.shift_bars != self.following.lead.shift_bars;
                        self.runs &= !moved;
                        stage = stage.led(self.following.lead);
                        self.locate(&stage, false, time, port);
                    }
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
        let by_hand = |groove: &crate::engine::rhythm::Groove| groove.rhythm == Rhythm::Played;
        let remapped = old.bypass != new.bypass
            || old.source != new.source
            || old.split != new.split
            || old.gate != new.gate
            || old.from_bar != new.from_bar
            || old.bass.by_chart != new.bass.by_chart
            || by_hand(&old.groove) != by_hand(&new.groove);
        if remapped {
            self.release_chord(0, port);
            self.hand.clear();
            self.root = None;
            self.gate_key = None;
            self.following = Following::default();
            self.runs = false;
            return true;
        }
        if new.at_once {
            self.sound_anew(stage, port);
        }
        old.groove != new.groove || old.repeats != new.repeats
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
        let place = stage.timeline.as_ref().zip(stage.clock.in_force(time));
        let Some((timeline, position)) = place else {
            if std::mem::take(&mut self.runs) {
                self.comping.leave();
                self.release_chord(time, port);
            }
            return;
        };
        let (groove, bpm) = (&stage.settings.groove, stage.clock.bpm);
        let jumped = !self.runs || stage.clock.jumped && time == 0;
        let news = stage.news;
        if news == News::Edited {
            self.forget_place();
        }
        let bars = stage.root_meter();
        let other_bars = std::mem::replace(&mut self.meter, bars) != bars;
        if jumped || feel_moved || other_bars || news != News::None {
            self.runs = true;
            self.bpm = bpm;
            let strike = self.comping.locate(timeline, groove, bpm, position);
            // What starts at this very sample has not been struck yet.
            let begins =
                |strike: &Strike| strike.start_ticks > position - stage.clock.ticks_per_sample;
            let struck = jumped || strike.as_ref().is_some_and(begins);
            if struck || stage.settings.at_once || news == News::Edited {
                self.sound_or_release(stage, strike, time, struck, port);
            }
        } else if self.bpm != bpm {
            self.bpm = bpm;
            if groove.follows_tempo() {
                self.comping.renew(timeline, groove, bpm);
            }
        }
    }

    /// What comes next by itself, if it comes in this block.
    fn next_due(&mut self, stage: &Stage) -> Option<(u32, Due)> {
        let by_clock = self.due_by_clock(stage);
        match (self.due_by_ear(stage), by_clock) {
            (None, by_clock) => by_clock,
            (by_ear, None) => by_ear,
            (Some(by_ear), Some(by_clock)) if by_ear.0 < by_clock.0 => Some(by_ear),
            (Some(_), by_clock) => by_clock,
        }
    }

    /// What time brings next in this block.
    fn due_by_clock(&mut self, stage: &Stage) -> Option<(u32, Due)> {
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
            .timeline
            .as_ref()
            .filter(|_| self.runs)
            .and_then(|timeline| {
                let groove = &stage.settings.groove;
                self.comping.next(timeline, groove, stage.clock.bpm, until)
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
                let sounds = strike.end_ticks > strike.start_ticks;
                if sounds && !self.waits(&strike, time) {
                    self.sound_strike(stage, &strike, time, true, port);
                }
            }
            Due::Sound(sound) => self.hear_bass(stage, sound, time, port),
            Due::BackToChart => self.back_to_chart(stage, time, port),
            Due::Waited => self.waited(stage, time, port),
            Due::BassOver => self.end_bass(time, port),
        }
    }
}

#[cfg(test)]
mod tests;
