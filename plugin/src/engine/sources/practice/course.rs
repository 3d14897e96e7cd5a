//! Practice in time: when items begin, when questions are asked and when their chords fall, and when it
//! clicks. All in ticks. Imports `tempo` and the parts of the engine.

use super::tempo::{OwnTempo, Time};
use crate::engine::clock::{Ahead, LoopRange};
use crate::engine::parts::Now;
use guidehand_practice::Tempo;
use guidehand_theory::chart::Meter;

/// An item as it lies in time.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ItemTimes {
    /// Where its first bar begins, in the ticks in which its chords are placed.
    pub start_ticks: f64,
    /// When its last chord falls.
    pub last_ticks: f64,
    /// Where its last bar ends.
    pub end_ticks: f64,
}

/// How the exercise is counted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pacing {
    /// The tempo.
    pub tempo: Tempo,
    /// A question is asked so many beats before its chord falls.
    pub beats_ahead: u8,
    /// Bars of clicks before the first chord.
    pub count_in_bars: u8,
    /// Questions come from the chart.
    pub by_chart: bool,
    /// The time signature, where the host does not tell one that counts.
    pub meter: Meter,
}

/// Practice in time.
#[derive(Clone, Copy, Debug, Default)]
pub struct Course {
    time: Time,
    by_chart: bool,
    /// The time signature of the host, where its bars count.
    told_meter: Option<Meter>,
    beat_ticks: f64,
    bar_ticks: f64,
    ahead_ticks: f64,
    /// Where the item in force begins.
    base_ticks: f64,
    /// The first chord falls here, on a bar line, or later.
    first_ticks: f64,
    /// The next click, and where clicks end.
    clicks: Option<(f64, f64)>,
    /// Beats that are left of the count-in.
    beats_left: u8,
    /// The loop in which the host plays, in ticks of the host.
    loop_range: Option<LoopRange>,
    /// Where the time round the loop ends in which the item in force lies.
    round_ends: f64,
}

/// How far from the start of its loop a host may be when it has gone back to it, in ticks.
const BACK_TICKS: f64 = 1.0;

/// The loop that the host plays in.
const fn loop_in_force(now: &Now) -> Option<LoopRange> {
    match now.context.clock.ahead {
        Ahead::Turn(range) | Ahead::Wait(range) => Some(range),
        Ahead::Nothing | Ahead::Begin(_) => None,
    }
}

/// A click.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Click {
    /// It is the first beat of a bar.
    pub accented: bool,
}

fn small(number: f64) -> u8 {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped"
    )]
    {
        number.clamp(0.0, 255.0) as u8
    }
}

impl Course {
    /// Practice begins here, with an item that lies so; none while the host stands still. It is counted
    /// in if that is wanted.
    pub fn begin(pacing: &Pacing, item: &ItemTimes, counts_in: bool, now: &Now) -> Option<Course> {
        let time = match pacing.tempo {
            Tempo::Host => Time::default(),
            Tempo::Own { bpm, .. } => Time::Own(OwnTempo::begin(bpm, now)),
        };
        let here = time.here(now)?;
        let by_host = time.is_host();
        let told = now.context.clock.meter;
        let told = told.filter(|_| by_host && !pacing.by_chart);
        let meter = told.unwrap_or(pacing.meter);
        let mut course = Course {
            time,
            loop_range: loop_in_force(now).filter(|_| by_host),
            by_chart: pacing.by_chart,
            told_meter: told,
            beat_ticks: f64::from(meter.beat_ticks()),
            bar_ticks: f64::from(meter.bar_ticks()),
            ahead_ticks: f64::from(pacing.beats_ahead.max(1)) * f64::from(meter.beat_ticks()),
            ..Course::default()
        };
        course.round_ends = course.loop_range.map_or(0.0, |range| range.end_ticks);
        let bars = if counts_in { pacing.count_in_bars } else { 0 };
        let line = if bars == 0 {
            course.bar_line(here + course.beat_ticks, now)
        } else {
            course.bar_line(here, now)
        };
        course.first_ticks = line + f64::from(bars) * course.bar_ticks;
        let ever = if by_host {
            course.first_ticks
        } else {
            f64::INFINITY
        };
        course.clicks = if by_host && bars == 0 {
            None
        } else {
            // A tempo of its own is told from its first beat on.
            Some((if by_host { line } else { 0.0 }, ever))
        };
        course.base_ticks = course.first_base(item, now);
        if course.clicks() {
            course.beats_left = course.beats_to_first(here);
        }
        Some(course)
    }

    /// Where the first item begins: its first chord falls in the first bar. An item of the chart lies
    /// where the song has it, if the time is the host's.
    fn first_base(&self, item: &ItemTimes, now: &Now) -> f64 {
        match now.context.song.filter(|_| self.lies_in_song()) {
            Some(song) => song.round_at(self.first_ticks).max(0.0) * song.round_ticks(),
            None => self.first_ticks - item.start_ticks,
        }
    }

    /// Whether questions lie where the song has their chords.
    fn lies_in_song(&self) -> bool {
        self.by_chart && self.time.is_host()
    }

    /// The first bar line at or after a position.
    fn bar_line(&self, at_ticks: f64, now: &Now) -> f64 {
        let tolerance = self.tolerance(now);
        if !self.lies_in_song() {
            let bars = ((at_ticks - 2.0 * tolerance) / self.bar_ticks).ceil();
            return bars * self.bar_ticks;
        }
        let timeline = now.context.chart();
        let bar = timeline.and_then(|timeline| timeline.bar(timeline.bar_at(at_ticks)));
        match bar {
            Some(bar) if at_ticks - bar.start_ticks <= 2.0 * tolerance => bar.start_ticks,
            Some(bar) => bar.end_ticks(),
            None => 0.0,
        }
    }

    /// What counts as the same place, in ticks: hosts round positions.
    pub fn tolerance(&self, now: &Now) -> f64 {
        self.time.ticks_per_sample(now) * 2.0e-3
    }

    fn beats_to_first(&self, here: f64) -> u8 {
        small(((self.first_ticks - here) / self.beat_ticks - 0.01).ceil())
    }

    /// The host has gone on: it may play in another loop, or be back at the start of its loop. False if
    /// the course cannot go on where it was, or in other bars.
    pub fn follow(&mut self, now: &Now) -> bool {
        let Time::Host { ahead_ticks } = &mut self.time else {
            return true;
        };
        let clock = &now.context.clock;
        let other_bars = self.told_meter.zip(clock.meter);
        if other_bars.is_some_and(|(told, now)| told != now) {
            return false;
        }
        if !clock.jumped {
            let range = loop_in_force(now);
            if range != self.loop_range {
                self.loop_range = range;
                self.round_ends = range.map_or(0.0, |range| range.end_ticks + *ahead_ticks);
            }
            return true;
        }
        let Some((range, here)) = self.loop_range.zip(now.position()) else {
            return false;
        };
        let bars = range.length_ticks() / self.bar_ticks;
        let whole = self.by_chart || (bars - bars.round()).abs() < 1.0e-6;
        let is_back = (here - range.start_ticks).abs() <= BACK_TICKS;
        *ahead_ticks += range.length_ticks();
        is_back && whole
    }

    /// Where the host goes back to the start of its loop after the item in force, if questions lie where
    /// the song has their chords.
    fn loop_end(&self) -> Option<(f64, LoopRange)> {
        let range = self.loop_range.filter(|_| self.lies_in_song())?;
        Some((self.round_ends, range))
    }

    /// Whether the host goes back to the start of its loop before a position.
    pub fn is_beyond_loop(&self, ticks: f64) -> bool {
        self.loop_end()
            .is_some_and(|(end, _)| ticks >= end - 1.0e-3)
    }

    /// Another item takes its place in time. `before` is the one before it.
    pub fn go_on(&mut self, before: &ItemTimes, item: &ItemTimes, cut: bool, now: &Now) {
        if let Some((end, range)) = self.loop_end()
            && let Some(song) = now.context.song
            && (cut || self.is_beyond_loop(self.next_base(before, now)))
        {
            let round = song.round_at(range.start_ticks).max(0.0) * song.round_ticks();
            self.base_ticks = end - range.start_ticks + round;
            self.first_ticks = end;
            self.round_ends += range.length_ticks();
            return;
        }
        self.base_ticks = self.next_base(before, now);
        if !self.lies_in_song() {
            self.base_ticks -= item.start_ticks;
        }
    }

    /// Where the bars of the next item begin.
    fn next_base(&self, item: &ItemTimes, now: &Now) -> f64 {
        if let Some(song) = now.context.song.filter(|_| self.lies_in_song()) {
            return self.base_ticks + song.round_ticks();
        }
        let over = self.base_ticks + item.end_ticks;
        // Whether the last question was right is known a beat after its chord has fallen.
        let known = self.base_ticks + item.last_ticks + self.beat_ticks + self.ahead_ticks;
        let earliest = if self.by_chart { over } else { over.max(known) };
        let bars = ((earliest - self.first_ticks) / self.bar_ticks - 1.0e-6).ceil();
        self.first_ticks + bars * self.bar_ticks
    }

    /// When the item after this one is chosen.
    pub fn next_item_at(&self, item: &ItemTimes, cut: bool, now: &Now) -> f64 {
        let base = self.next_base(item, now);
        let begins = match self.loop_end() {
            Some((end, _)) if cut || base >= end => end,
            _ => base,
        };
        begins - self.ahead_ticks
    }

    /// When a chord falls that starts so many ticks after its item.
    pub fn falls(&self, start_ticks: u32) -> f64 {
        self.base_ticks + f64::from(start_ticks)
    }

    /// Whether a chord that falls then is still to be asked for.
    pub fn is_to_come(&self, falls_ticks: f64, now: &Now) -> bool {
        falls_ticks >= self.first_ticks - 2.0 * self.tolerance(now)
    }

    /// When a question is asked whose chord falls then.
    pub const fn asked_at(&self, falls_ticks: f64) -> f64 {
        falls_ticks - self.ahead_ticks
    }

    /// How far off an answer may be and is still on time, in ticks.
    pub const fn on_time_ticks(&self) -> f64 {
        self.beat_ticks / 4.0
    }

    /// How long before its chord falls a wrong answer counts against a question, in ticks: an eighth,
    /// by which chords are anticipated (common practice, no published source), and what is on time
    /// for that.
    pub const fn anticipated_ticks(&self) -> f64 {
        self.beat_ticks / 2.0 + self.on_time_ticks()
    }

    /// Ticks as beats.
    pub fn beats(&self, ticks: f64) -> f32 {
        #[expect(clippy::cast_possible_truncation, reason = "a few beats")]
        {
            (ticks / self.beat_ticks) as f32
        }
    }

    /// When it clicks next.
    pub fn click_at(&self) -> Option<f64> {
        self.clicks.map(|(at, _)| at)
    }

    /// It clicks.
    pub fn click(&mut self) -> Option<Click> {
        let (at, end) = self.clicks?;
        let next = at + self.beat_ticks;
        self.clicks = (next < end - 1.0e-3).then_some((next, end));
        self.beats_left = self.beats_to_first(at);
        let beats = ((at - self.first_ticks) / self.beat_ticks).round();
        let bar_beats = (self.bar_ticks / self.beat_ticks).round();
        Some(Click {
            accented: beats.rem_euclid(bar_beats) < 0.5,
        })
    }

    /// Whether clicks give the time.
    pub const fn clicks(&self) -> bool {
        self.clicks.is_some()
    }

    /// Beats that are left until the first chord, while it is counted in.
    pub const fn beats_left(&self) -> Option<u8> {
        match self.beats_left {
            0 => None,
            beats => Some(beats),
        }
    }

    /// When the first chord falls, while it is counted in and no click tells it.
    pub fn first_at(&self) -> Option<f64> {
        (self.beats_left > 0 && self.clicks.is_none()).then_some(self.first_ticks)
    }

    /// The first chord has fallen.
    pub const fn first_has_fallen(&mut self) {
        self.beats_left = 0;
    }

    /// The tempo grows where the item in force begins.
    pub fn grow_faster(&mut self, by_bpm: f64, item: &ItemTimes) {
        let base = self.base_ticks + item.start_ticks;
        if let Time::Own(own) = &mut self.time {
            own.faster_at(base, by_bpm);
        }
    }

    /// The time in which questions fall.
    pub const fn time(&self) -> &Time {
        &self.time
    }

    /// The same, to be changed.
    pub const fn time_mut(&mut self) -> &mut Time {
        &mut self.time
    }
}
