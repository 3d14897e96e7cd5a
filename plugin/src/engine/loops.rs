//! The loop that the host plays, and how the host gets from its end to its start. Used on the audio
//! thread; imports `clock`.
//!
//! A host that tells its loop may end a block at the loop's end, go on at the start within the block,
//! or lead beyond the end and begin the next block at the start. Which of the last two it does shows
//! in the block after a turn. A host that does not tell its loop shows it by jumping.

use crate::engine::clock::{Ahead, Clock, LoopRange};
use guidehand_theory::chart::TICKS_PER_QUARTER;

/// How close a position has to be to a place of a loop to count as that place, in ticks. Some hosts
/// round positions to half a tick.
const NEAR_TICKS: f64 = 1.0;

/// A block that leads less far beyond the end of a loop does not show what the host does there, in
/// ticks.
const TELLING_TICKS: f64 = 2.0 * NEAR_TICKS;

/// How often a host has to jump from one place to another before that counts as a loop.
const LEARNED: u8 = 2;

/// The last block has come to the end of a loop.
#[derive(Clone, Copy, Debug)]
struct Crossing {
    range: LoopRange,
    /// How far it has led beyond the end.
    beyond_ticks: f64,
    /// Time has waited at the end; otherwise it has gone on at the start.
    waited: bool,
}

/// What is known of the host's loops.
#[derive(Clone, Copy, Debug, Default)]
pub struct Loops {
    /// The host begins a block at the loop's start, however far the one before has led beyond the end.
    restarts: bool,
    crossing: Option<Crossing>,
    /// The loop that the last part of the block has played in.
    turning: Option<LoopRange>,
    /// The loop of a host that tells of none, and how often the host has jumped so.
    guessed: Option<(LoopRange, u8)>,
    /// Where the host's last block began.
    began_ticks: Option<f64>,
}

impl Loops {
    /// Starts afresh, but for how the host treats loops.
    pub fn reset(&mut self) {
        *self = Loops {
            restarts: self.restarts,
            ..Loops::default()
        };
    }

    /// Whether the host begins a block at the loop's start.
    #[cfg(test)]
    pub const fn restarts(&self) -> bool {
        self.restarts
    }

    /// A block of the host begins while the song plays, or the song stands still. What the block before
    /// has led to is compared with where the song is.
    pub fn arrive(
        &mut self,
        clock: &mut Clock,
        told: Option<LoopRange>,
        expected_ticks: Option<f64>,
    ) {
        let began = std::mem::replace(&mut self.began_ticks, clock.position_ticks);
        let crossing = self.crossing.take();
        if told.is_some() {
            self.guessed = None;
        }
        let Some(here) = clock.position_ticks else {
            return;
        };
        let is_at = |place: f64| (here - place).abs() <= NEAR_TICKS;
        if let Some(Crossing {
            range,
            beyond_ticks,
            waited,
        }) = crossing
        {
            // A block that ends where the loop does leads to its start in any case.
            let whole = beyond_ticks + TELLING_TICKS > range.length_ticks();
            let tells = beyond_ticks > TELLING_TICKS && (waited || !whole);
            if tells && is_at(range.start_ticks) {
                self.restarts = true;
                // The chord of the start sounds already.
                clock.jumped &= waited;
            } else if tells && is_at(range.start_ticks + beyond_ticks) {
                self.restarts = false;
            } else if is_at(range.end_ticks + beyond_ticks) {
                self.guessed = None;
            }
        }
        if clock.jumped
            && told.is_none()
            && let Some((began, ended)) = began.zip(expected_ticks)
        {
            self.guessed = guess(began, ended, here).map(|range| match self.guessed {
                Some((before, seen)) if before == range => (range, seen.saturating_add(1)),
                _ => (range, 1),
            });
        }
    }

    /// A position in a later part of a block, which the framework counts evenly from the start of the
    /// block, as a position in the loop near an expected one.
    pub fn within_block(&self, clock: &Clock, expected_ticks: Option<f64>) -> Option<Clock> {
        let crossing = self.crossing.filter(|crossing| !crossing.waited)?;
        let length = crossing.range.length_ticks();
        let ahead = clock.standing_ticks? - expected_ticks?;
        Some(clock.starting_at((ahead / length).round() * length))
    }

    /// Works out what comes of time in a block, or in a later part of one. True if the song turns at
    /// its first sample.
    pub fn look_ahead(
        &mut self,
        clock: &mut Clock,
        told: Option<LoopRange>,
        is_part: bool,
    ) -> bool {
        let turning = self.turning.take().filter(|_| is_part && !clock.jumped);
        if let Some(crossing) = self.crossing
            && crossing.waited
            && is_part
            && !clock.jumped
        {
            clock.ahead = Ahead::Wait(crossing.range);
            return false;
        }
        let learned = self.guessed.filter(|(_, seen)| *seen >= LEARNED);
        let Some(range) = told.or(learned.map(|(range, _)| range)) else {
            return false;
        };
        // A song that has been led to a place past the loop plays on there, but a part of a block may
        // begin right at the end.
        let before_end = |here| here < range.end_ticks;
        let within = turning == Some(range) || clock.position_ticks.is_some_and(before_end);
        let ends_here = clock.sample_of(range.end_ticks, 1).is_some();
        if !within || ends_here && clock.jumped || range.length_ticks() < clock.ticks_per_sample {
            return false;
        }
        if self.restarts || told.is_none() {
            clock.ahead = Ahead::Wait(range);
            return false;
        }
        if ends_here {
            *clock = clock.turned(range, 0);
        }
        clock.ahead = Ahead::Turn(range);
        self.turning = Some(range);
        ends_here
    }

    /// A block ends, or a part of one, at a position: remembers whether it has come to the end of a
    /// loop.
    pub fn leave(&mut self, clock: &Clock, is_part: bool, ended_ticks: Option<f64>, turned: bool) {
        let before = self.crossing.take().filter(|_| is_part && !clock.jumped);
        let Some(ended) = ended_ticks.filter(|_| clock.position_ticks.is_some()) else {
            return;
        };
        self.crossing = match clock.ahead {
            Ahead::Wait(range) => {
                let reached = ended + clock.tolerance_ticks() >= range.end_ticks;
                reached.then_some(Crossing {
                    range,
                    beyond_ticks: ended - range.end_ticks,
                    waited: true,
                })
            }
            Ahead::Turn(range) if turned => Some(Crossing {
                range,
                beyond_ticks: ended - range.start_ticks,
                waited: false,
            }),
            _ => before.map(|before| Crossing {
                beyond_ticks: ended - before.range.start_ticks,
                ..before
            }),
        };
    }
}

/// The loop of a host that jumps to a place after a block: from a beat to a beat. It ends within the
/// block, and the place is the start, or as far beyond it as the block has led beyond the end.
fn guess(began_ticks: f64, ended_ticks: f64, here_ticks: f64) -> Option<LoopRange> {
    let beat = f64::from(TICKS_PER_QUARTER);
    let end_ticks = ((ended_ticks + NEAR_TICKS) / beat).floor() * beat;
    let beyond = ended_ticks - end_ticks;
    let starts = [here_ticks, here_ticks - beyond];
    let on_beats = starts.map(|start| (start, (start / beat).round() * beat));
    let is_near = |(start, on_beat): &&(f64, f64)| (start - on_beat).abs() <= NEAR_TICKS;
    let (_, start_ticks) = *on_beats.iter().find(is_near)?;
    let range = LoopRange {
        start_ticks,
        end_ticks,
    };
    (end_ticks > began_ticks && range.length_ticks() > 0.0).then_some(range)
}
