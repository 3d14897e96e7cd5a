//! From bars in the order of playing to ticks and changes.
//! Imports `read`, and the types of `chart`.

use super::read::{Content, ReadBar, Says, Share};
use super::{Bar, Change, ChartError, ChartProblem, MOST_CHANGES};
use crate::chord::Chord;
use std::ops::Range;

/// The bars and the changes as played, for bars as read and the order to play
/// them in.
///
/// # Errors
/// What has nothing before it to repeat, or nothing that fits, once for each
/// place; or that there are too many changes, after which nothing is played.
pub(super) fn play(
    bars: &[ReadBar],
    order: &[usize],
) -> Result<(Vec<Bar>, Vec<Change>), Vec<ChartError>> {
    let mut player = Player {
        told: vec![false; bars.len()],
        ..Player::default()
    };
    for &written in order {
        let Some(bar) = bars.get(written) else {
            continue;
        };
        player.bar(written, bar);
        if player.changes.len() > MOST_CHANGES {
            let source = bar.written.source.clone();
            player.error(written, bar, source, ChartProblem::TooMany);
            break;
        }
    }
    player.finish()
}

#[derive(Default)]
struct Player {
    bars: Vec<Bar>,
    changes: Vec<Change>,
    /// Where in `changes` the bar before begins and ends.
    before: Range<usize>,
    now_ticks: u32,
    /// Which written bars have had their error.
    told: Vec<bool>,
    errors: Vec<ChartError>,
}

impl Player {
    fn bar(&mut self, written: usize, bar: &ReadBar) {
        let first = self.changes.len();
        let before = self.bars.last().copied();
        let meter = bar.written.meter;
        self.bars.push(Bar {
            start_ticks: self.now_ticks,
            meter,
            written,
        });
        match &bar.content {
            Content::Percent => {
                let problem = match before {
                    None => Some(ChartProblem::NothingToRepeat("%")),
                    Some(b) if b.meter.bar_ticks() != meter.bar_ticks() => {
                        Some(ChartProblem::PercentLength(b.meter, meter))
                    }
                    Some(before) => {
                        self.repeat(before.start_ticks);
                        None
                    }
                };
                if let Some(problem) = problem {
                    self.error(written, bar, bar.written.source.clone(), problem);
                }
            }
            Content::Shares(shares) => self.shares(written, bar, shares),
        }
        self.before = first..self.changes.len();
        self.now_ticks += meter.bar_ticks();
    }

    fn shares(&mut self, written: usize, bar: &ReadBar, shares: &[Share]) {
        let bar_ticks = bar.written.meter.bar_ticks();
        let count = u32::try_from(shares.len()).map_or(1, |n| n.max(1));
        for (share, nth) in shares.iter().zip(0_u32..) {
            let chord = match share.says {
                Says::Slash if self.changes.is_empty() => {
                    let problem = ChartProblem::NothingToRepeat("/");
                    self.error(written, bar, share.source.clone(), problem);
                    continue;
                }
                Says::Slash => continue,
                Says::Chord(chord) => Some(chord),
                Says::Silence | Says::Wrong => None,
            };
            let start_ticks = self.now_ticks + bar_ticks * nth / count;
            self.change(chord, start_ticks, share.source.clone());
        }
    }

    /// Plays the bar before again, which is as long as this one.
    fn repeat(&mut self, its_start_ticks: u32) {
        // A bar of one chord, or of none of its own, is prolonged; any other bar
        // is played again, with the chord that it took over from before.
        let again = self.changes.get(self.before.clone()).unwrap_or(&[]);
        let mut again = again.to_vec();
        let on_the_one = again
            .first()
            .is_none_or(|c| c.start_ticks == its_start_ticks);
        if on_the_one && again.len() < 2 {
            return;
        }
        let held = self.before.start.checked_sub(1);
        if !on_the_one && let Some(mut held) = held.and_then(|i| self.changes.get(i)).cloned() {
            held.start_ticks = its_start_ticks;
            again.insert(0, held);
        }
        for change in again {
            let start_ticks = self.now_ticks + change.start_ticks - its_start_ticks;
            self.change(change.chord, start_ticks, change.source);
        }
    }

    fn change(&mut self, chord: Option<Chord>, start_ticks: u32, source: Range<usize>) {
        self.changes.push(Change {
            chord,
            start_ticks,
            length_ticks: 0,
            source,
            bar: self.bars.len().saturating_sub(1),
        });
    }

    fn error(
        &mut self,
        written: usize,
        bar: &ReadBar,
        source: Range<usize>,
        problem: ChartProblem,
    ) {
        let first_time = self.told.get_mut(written).filter(|told| !**told);
        if let Some(told) = first_time {
            *told = true;
            self.errors.push(ChartError {
                source,
                bar: bar.number,
                problem,
            });
        }
    }

    fn finish(mut self) -> Result<(Vec<Bar>, Vec<Change>), Vec<ChartError>> {
        if !self.errors.is_empty() {
            return Err(self.errors);
        }
        let mut end = self.now_ticks;
        for change in self.changes.iter_mut().rev() {
            change.length_ticks = end - change.start_ticks;
            end = change.start_ticks;
        }
        Ok((self.bars, self.changes))
    }
}
