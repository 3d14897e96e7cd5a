//! From bars in the order of playing to ticks and changes. Imports `bars`, `error`, `limits`
//! and `reading`.

use super::reading::{Content, ReadBar, Says};
use super::{Bar, Change, ChartError, ChartProblem, MOST_CHANGES};
use crate::chord::Chord;
use std::ops::Range;

/// The bars and the changes as played, from bars as read and the order in which they are
/// played.
///
/// # Errors
/// Every sign that has nothing before it to repeat, or nothing that fits, once for each place.
/// If there are too many changes, that is the last error.
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
    /// The number of changes before each of the bars.
    firsts: Vec<usize>,
    /// Set between the two bars of a `%%`: whether the chord before goes on through both.
    half: Option<bool>,
    now_ticks: u32,
    /// Whether the error of each written bar has been reported.
    told: Vec<bool>,
    errors: Vec<ChartError>,
}

impl Player {
    fn bar(&mut self, written: usize, bar: &ReadBar) {
        let number = self.bars.len();
        self.firsts.push(self.changes.len());
        let meter = bar.played;
        self.bars.push(Bar {
            start_ticks: self.now_ticks,
            meter,
            written,
        });
        match &bar.content {
            Content::Percent | Content::Empty => {
                if self.has_before(number, 1, written, bar) {
                    let first = number.saturating_sub(1);
                    if !self.is_one_chord(first, number) {
                        self.repeat(first, true);
                    }
                }
            }
            Content::TwoBars => self.half_of_two(number, written, bar),
            Content::Shares(says) => self.shares(written, bar, says),
        }
        self.now_ticks += meter.bar_ticks();
    }

    /// Whether the bar that was played `back` bars before is as long as this one. If not, that
    /// is an error.
    fn has_before(&mut self, number: usize, back: usize, written: usize, bar: &ReadBar) -> bool {
        let sign = if back > 1 { "%%" } else { "%" };
        let before = number.checked_sub(back).and_then(|i| self.bars.get(i));
        let problem = match before {
            None if matches!(bar.content, Content::Empty) => ChartProblem::EmptyBar,
            None => ChartProblem::NothingToRepeat(sign),
            Some(b) if b.meter.bar_ticks() != bar.played.bar_ticks() => {
                ChartProblem::PercentLength(b.meter, bar.played)
            }
            Some(_) => return true,
        };
        self.error(written, bar, bar.written.source.clone(), problem);
        false
    }

    /// One of the two bars of a `%%`. Each repeats the bar that was played two bars before it.
    fn half_of_two(&mut self, number: usize, written: usize, bar: &ReadBar) {
        let goes_on = self.half.take();
        if !self.has_before(number, 2, written, bar) {
            self.half = goes_on.is_none().then_some(true);
            return;
        }
        let first = number.saturating_sub(2);
        match goes_on {
            Some(true) => {}
            Some(false) => self.repeat(first, false),
            None => {
                let one = self.is_one_chord(first, number);
                if !one {
                    self.repeat(first, true);
                }
                self.half = Some(one);
            }
        }
    }

    fn shares(&mut self, written: usize, bar: &ReadBar, says: &[Says]) {
        for (share, says) in bar.written.shares.iter().zip(says) {
            let chord = match *says {
                Says::Slash if self.changes.is_empty() => {
                    let problem = ChartProblem::NothingToRepeat("/");
                    self.error(written, bar, share.source.clone(), problem);
                    continue;
                }
                Says::Slash => continue,
                Says::Chord(chord) => Some(chord),
                Says::Silence | Says::Wrong => None,
            };
            let start_ticks = self.now_ticks + share.at_ticks;
            self.change(chord, start_ticks, share.source.clone());
        }
    }

    /// The changes of the bars from one up to another.
    fn changes_of(&self, from: usize, until: usize) -> Range<usize> {
        let first = |bar: usize| self.firsts.get(bar).copied();
        let end = self.changes.len();
        first(from).unwrap_or(end)..first(until).unwrap_or(end)
    }

    /// Whether bars have one chord, or no chord of their own. A repeat of such bars prolongs
    /// the chord.
    fn is_one_chord(&self, from: usize, until: usize) -> bool {
        let its = self.changes.get(self.changes_of(from, until));
        let start = self.bars.get(from).map(|bar| bar.start_ticks);
        its.is_none_or(|its| {
            its.len() < 2 && its.first().is_none_or(|c| Some(c.start_ticks) == start)
        })
    }

    /// Plays a bar again that is as long as this one. With `anew`, a chord that it took over
    /// from the bar before is struck too.
    fn repeat(&mut self, number: usize, anew: bool) {
        let Some(start) = self.bars.get(number).map(|bar| bar.start_ticks) else {
            return;
        };
        let its = self.changes_of(number, number + 1);
        let mut again = self.changes.get(its.clone()).unwrap_or(&[]).to_vec();
        let on_the_one = again.first().is_some_and(|c| c.start_ticks == start);
        let held = its.start.checked_sub(1).filter(|_| anew && !on_the_one);
        if let Some(mut held) = held.and_then(|i| self.changes.get(i)).cloned() {
            held.start_ticks = start;
            again.insert(0, held);
        }
        for change in again {
            let start_ticks = self.now_ticks + change.start_ticks - start;
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
