//! Practice, with a scripted player and host, in blocks of any size.

mod free;
mod planted;
mod random;
mod timed;

use super::*;
use crate::engine::practising::{Asking, PracticeAsk};
use crate::engine::settings::Source;
use crate::engine::timekeeper::Timekeeper;
use guidehand_practice::{
    Answered, Exercise, KeyOrder, Lesson, Making, Pace, Progression, Record, Tempo,
};
use guidehand_theory::judge::Accepts;
use guidehand_theory::own_shape::ShapeFamily;
use guidehand_theory::pitch::PitchClass;
use guidehand_theory::voicing::Voicing;
use std::collections::VecDeque;

/// The sample rate.
pub(super) const RATE: u64 = 48_000;

/// Samples of so many milliseconds.
pub(super) const fn ms(millis: u64) -> u64 {
    millis * RATE / 1000
}

/// So many samples in beats, at 120 beats a minute.
pub(super) fn beats(samples: u64) -> f64 {
    f64::from(u32::try_from(samples).unwrap()) / 24_000.0
}

/// What goes out, at a sample from the start.
pub(super) type Sent = (u64, Output<u32>);

/// A host and a player made of lists, from the start of the rig.
pub(super) struct Rig {
    pub performer: Performer,
    pub settings: Settings,
    pub song: Option<PlannedChart>,
    pub timekeeper: Timekeeper,
    /// What the host tells of its song at a sample.
    pub host: fn(u64) -> Option<f64>,
    pub loop_beats: Option<(f64, f64)>,
    /// The time signature at a sample.
    pub signature: fn(u64) -> (i32, i32),
    pub inputs: VecDeque<(u64, Input)>,
    pub now: u64,
    pub sent: Vec<Sent>,
    pub clicks: Vec<(u64, bool)>,
    pub answers: Vec<Answered>,
    pub lesson: std::sync::Arc<guidehand_practice::Drill>,
}

/// The song stands still.
pub(super) fn stands(_: u64) -> Option<f64> {
    None
}

struct Stage<'a> {
    inputs: VecDeque<TimedInput<u32>>,
    from: u64,
    sent: &'a mut Vec<Sent>,
    clicks: &'a mut Vec<(u64, bool)>,
}

impl Port<u32> for Stage<'_> {
    fn next(&mut self) -> Option<TimedInput<u32>> {
        self.inputs.pop_front()
    }

    fn send(&mut self, time: u32, output: Output<u32>) -> bool {
        self.sent.push((self.from + u64::from(time), output));
        true
    }

    fn click(&mut self, time: u32, accented: bool) {
        self.clicks.push((self.from + u64::from(time), accented));
    }
}

/// An exercise over single chords of two families in two keys, exactly as asked.
pub(super) fn exercise() -> Exercise {
    Exercise {
        families: vec![ShapeFamily::MinorSeventh, ShapeFamily::MajorSeventh],
        keys: [0, 5].map(PitchClass::wrapping).to_vec(),
        order: KeyOrder::Fourths,
        accepts: Accepts::Exact,
        more_after_s: None,
        ..Exercise::default()
    }
}

/// The same in time, at a tempo of its own.
pub(super) fn in_time(bpm: f64) -> Exercise {
    Exercise {
        pace: Pace::InTime {
            tempo: Tempo::Own {
                bpm,
                faster_by: 0.0,
            },
            beats_ahead: 2,
            count_in_bars: 1,
        },
        ..exercise()
    }
}

/// A lesson over an exercise, with a record that is empty.
pub(super) fn lesson(exercise: &Exercise, number: u64) -> Box<Lesson> {
    lesson_over(exercise, number, None)
}

/// The same over a chart.
pub(super) fn lesson_over(
    exercise: &Exercise,
    number: u64,
    chart: Option<&guidehand_practice::ChartToAsk>,
) -> Box<Lesson> {
    let making = Making {
        number,
        exercise,
        taste: &Settings::plain(Source::Practice).taste,
        shapes: &[],
        record: &Record::default(),
        now: guidehand_practice::Time::UNIX_EPOCH,
    };
    let made = making.drill(chart).unwrap();
    Box::new(Lesson::new(made.drill.into(), made.standings))
}

impl Rig {
    pub fn new(lesson: Box<Lesson>) -> Rig {
        let mut performer = performer();
        let drill = lesson.drill.clone();
        assert!(performer.practice().teach(lesson, false).is_none());
        Rig {
            performer,
            settings: Settings::plain(Source::Practice),
            song: None,
            timekeeper: Timekeeper::default(),
            host: stands,
            loop_beats: None,
            signature: |_| (4, 4),
            inputs: VecDeque::new(),
            now: 0,
            sent: Vec::new(),
            clicks: Vec::new(),
            answers: Vec::new(),
            lesson: drill,
        }
    }

    /// A rig in which practice begins with the first block.
    pub fn begun(lesson: Box<Lesson>) -> Rig {
        let mut rig = Rig::new(lesson);
        rig.begin_anew();
        rig
    }

    /// Another lesson like the one before begins.
    pub fn begin_anew(&mut self) {
        let exercise = self.lesson.exercise.clone();
        let lesson = lesson(&exercise, self.lesson.number + 1);
        self.teach(lesson, true);
    }

    pub fn teach(&mut self, lesson: Box<Lesson>, begins: bool) {
        self.lesson = lesson.drill.clone();
        assert!(self.performer.practice().teach(lesson, begins).is_some());
    }

    pub fn ask(&mut self, ask: PracticeAsk) {
        self.performer.practice().practise(ask);
    }

    /// A key goes down or up at a sample.
    pub fn input(&mut self, at: u64, input: Input) {
        let after = self.inputs.iter().position(|(time, _)| *time > at);
        self.inputs
            .insert(after.unwrap_or(self.inputs.len()), (at, input));
    }

    pub fn down(&mut self, at: u64, number: u8) {
        self.input(at, Input::NoteOn(key(number)));
    }

    pub fn up(&mut self, at: u64, number: u8) {
        self.input(
            at,
            Input::NoteOff {
                channel: Some(0),
                key: Some(number),
            },
        );
    }

    /// Keys that are held from one time to another.
    pub fn hold(&mut self, keys: &[u8], from: u64, to: u64) {
        for key in keys {
            self.down(from, *key);
            self.up(to, *key);
        }
    }

    /// Plays on, in blocks of these sizes, which repeat.
    pub fn run(&mut self, samples: u64, sizes: &[u32]) {
        let end = self.now + samples;
        let mut sizes = sizes.iter().cycle();
        while self.now < end {
            let left = u32::try_from(end - self.now).unwrap_or(u32::MAX);
            self.block((*sizes.next().unwrap()).min(left));
        }
    }

    fn block(&mut self, frames: u32) {
        let end = self.now + u64::from(frames);
        let mut inputs = VecDeque::new();
        while let Some((at, input)) = self.inputs.front().copied()
            && at < end
        {
            self.inputs.pop_front();
            let event = match input {
                Input::NoteOn(key) => u32::from(key.key),
                Input::NoteOff { key, .. } => 1000 + u32::from(key.unwrap_or(0)),
                _ => 5000,
            };
            inputs.push_back(TimedInput {
                time_samples: u32::try_from(at.saturating_sub(self.now)).unwrap(),
                input,
                event,
            });
        }
        let beats = (self.host)(self.now);
        let told = HostTransport {
            playing: beats.is_some(),
            position_beats: Some(beats.unwrap_or(0.0)),
            tempo_bpm: Some(120.0),
            signature: Some((self.signature)(self.now)),
            loop_beats: self.loop_beats,
            given: true,
            sample_rate_hz: 48_000.0,
            ..HostTransport::default()
        };
        let clock = self.timekeeper.clock(&told, 120.0, frames);
        let block = Block {
            settings: &self.settings,
            settings_moved: true,
            clock,
            frames,
            song: self.song.as_ref(),
            update: ChartUpdate::None,
            next_song: None,
            bass_events: &[],
            bass_from_samples: 0,
            audition: None,
        };
        let mut stage = Stage {
            inputs,
            from: self.now,
            sent: &mut self.sent,
            clicks: &mut self.clicks,
        };
        self.performer.process(&block, &mut stage);
        let answers = &mut self.answers;
        self.performer.practice().answers().drain(|answered| {
            answers.push(answered);
            true
        });
        self.now = end;
    }

    pub fn asking(&self) -> Asking {
        self.performer.snapshot().practice.unwrap()
    }

    /// The question in force.
    pub fn question(&self) -> u32 {
        self.asking().question.unwrap()
    }

    /// The keys of a question.
    pub fn keys_of(&self, question: u32) -> Vec<u8> {
        let asked = &self.lesson.questions[question as usize];
        keys_of(&asked.question.voiced.voicing)
    }

    /// Plays these keys now for some time, and lets go of them.
    pub fn play_for(&mut self, keys: &[u8], millis: u64) {
        let (from, to) = (self.now + 1, self.now + ms(millis));
        self.hold(keys, from, to);
        self.run(ms(millis) + 2, &[64]);
    }

    /// Everything that has been started has been ended.
    pub fn assert_nothing_hangs(&self) {
        let mut sounding = std::collections::BTreeMap::new();
        for (_, output) in &self.sent {
            match output {
                Output::NoteOn(key) => *sounding.entry(key.key).or_insert(0) += 1,
                Output::NoteOff { key, .. } => *sounding.entry(*key).or_insert(0) -= 1,
                Output::Through(event) if *event < 128 => {
                    *sounding.entry(u8::try_from(*event).unwrap()).or_insert(0) += 1;
                }
                Output::Through(event) => {
                    let key = u8::try_from(event - 1000).unwrap();
                    *sounding.entry(key).or_insert(0) -= 1;
                }
            }
        }
        sounding.retain(|_, count| *count != 0);
        assert!(sounding.is_empty(), "{sounding:?}");
    }

    /// The keys that were struck and do not come from the player.
    pub fn generated(&self) -> Vec<(u64, u8)> {
        let sent = self.sent.iter();
        let on = sent.filter_map(|(time, output)| match output {
            Output::NoteOn(key) => Some((*time, key.key)),
            _ => None,
        });
        on.collect()
    }
}

pub(super) fn keys_of(voicing: &Voicing) -> Vec<u8> {
    voicing.notes().map(|note| note.number()).collect()
}

/// An exercise over progressions.
pub(super) fn progression(progression: Progression) -> Exercise {
    Exercise {
        progression,
        ..exercise()
    }
}
