//! A bar from its words: its length, its shares and what each of them says. Only `read`
//! imports this.

use super::reader::Reader;
use crate::chart::bars::{Share, Written};
use crate::chart::error::ChartProblem;
use crate::chart::limits::MOST_SHARES;
use crate::chart::marks::Roads;
use crate::chart::meter::Meter;
use crate::chart::reading::{Content, FormStepKind, ReadBar, Says, SourcePlace};
use crate::chart::words::{Sign, Word};
use crate::symbol;
use std::ops::Range;

impl Reader<'_> {
    /// Ends the bar that is being read, if there is one. `end` is the place of the bar line
    /// after it.
    pub(super) fn bar_ends(&mut self, end: usize) {
        let words = std::mem::take(&mut self.bar);
        let [first, ..] = words.as_slice() else {
            return;
        };
        let last = words.last().unwrap_or(first);
        let even = self.pending.even.map_or(first.at, |word| word.at);
        let source = even.min(first.at)..last.source().end;
        let sign = |sign: Sign| words.iter().find(|w| w.sign == sign);
        let content = match sign(Sign::Percent).or(sign(Sign::TwoBars)) {
            Some(word) if words.len() > 1 => {
                let error = self.place_ahead(word.source());
                let error = error.error(ChartProblem::PercentNotAlone);
                self.reading.errors.push(error);
                Content::Shares(vec![Says::Wrong])
            }
            Some(word) if word.sign == Sign::Percent => Content::Percent,
            Some(_) => Content::TwoBars,
            None => Content::Shares(Vec::new()),
        };
        self.bar(&words, source, content, end);
    }

    /// Adds a bar of these words. `line` is the place of the bar line after it.
    pub(super) fn bar(
        &mut self,
        words: &[&Word],
        source: Range<usize>,
        mut content: Content,
        line: usize,
    ) {
        self.count += 1;
        self.closed = None;
        let pending = std::mem::take(&mut self.pending);
        let place = self.place_at(source.clone());
        let by_beats = words.iter().any(|w| w.sign == Sign::Slash);
        if let Some(even) = pending.even
            && (by_beats || !matches!(content, Content::Shares(_)))
        {
            self.error(even.source(), ChartProblem::Even);
        }
        let pickup = pending.pickup.is_some() && self.reading.bars.is_empty();
        let played = self.meter_as_played(words.len(), pickup, by_beats, &source);
        if let Some(word) = words.get(MOST_SHARES) {
            self.error(word.source(), ChartProblem::Crowded(words.len()));
        }
        let words = words.get(..MOST_SHARES).unwrap_or(words);
        if let Content::Shares(says) = &mut content
            && says.is_empty()
        {
            *says = words.iter().map(|word| self.says(word)).collect();
        }
        let two_bars = matches!(content, Content::TwoBars);
        let written = Written {
            source,
            number: if pickup { 0 } else { self.count },
            meter: self.meter,
            shares: shares(words, played, by_beats || pickup, pending.even.is_some()),
            line,
            section: pending.section.map(|(section, _)| section),
            opens: pending.opens,
            closes: false,
            times: 2,
            ending: pending.ending,
            roads: Roads {
                segno: pending.segno,
                coda: pending.coda,
                ..Roads::default()
            },
            pickup,
            two_bars,
        };
        self.reading.bars.push(ReadBar {
            written,
            played,
            number: self.count,
            content,
        });
        self.bar_steps(place, pickup, two_bars);
    }

    /// The meter that a bar of this many words is played in. A pickup is as long as its words,
    /// a beat each.
    fn meter_as_played(
        &mut self,
        words: usize,
        pickup: bool,
        by_beats: bool,
        source: &Range<usize>,
    ) -> Meter {
        let meter = self.meter;
        if pickup {
            let beats = u8::try_from(words).unwrap_or(u8::MAX);
            match Meter::new(beats, meter.unit) {
                Some(short) if beats < meter.beats => return short,
                _ => self.error(source.clone(), ChartProblem::PickupLength(words, meter)),
            }
        } else if by_beats && words != usize::from(meter.beats) {
            self.error(source.clone(), ChartProblem::Beats(words, meter.beats));
        }
        meter
    }

    /// The steps for the bar that was added last.
    fn bar_steps(&mut self, place: SourcePlace, pickup: bool, two_bars: bool) {
        let index = self.reading.bars.len().saturating_sub(1);
        if pickup {
            self.step(place, FormStepKind::Pickup(index));
            // The bars are counted from the first full one.
            self.count -= 1;
            return;
        }
        if two_bars {
            self.step(place.clone(), FormStepKind::Bar(index));
            self.count += 1;
        }
        self.step(place, FormStepKind::Bar(index));
    }

    fn says(&mut self, word: &Word) -> Says {
        match word.sign {
            Sign::Slash => Says::Slash,
            Sign::Silence => Says::Silence,
            _ if word.text.contains(':') => {
                let problem = ChartProblem::BarLine(word.text.to_owned());
                self.error(word.source(), problem);
                Says::Wrong
            }
            _ => match symbol::parse_with(word.text, self.names) {
                Ok(chord) => Says::Chord(chord),
                Err(error) => {
                    let from = word.at + error.at;
                    let source = from..from + error.len;
                    let problem = ChartProblem::Symbol(word.text.to_owned(), error);
                    self.error(source, problem);
                    Says::Wrong
                }
            },
        }
    }
}

/// The places where the words of a bar begin in it.
fn shares(words: &[&Word], played: Meter, by_beats: bool, even: bool) -> Vec<Share> {
    let count = u32::try_from(words.len()).unwrap_or(u32::MAX);
    let at = |nth: u32| {
        if by_beats && count == u32::from(played.beats) {
            played.beat_ticks() * nth
        } else if even || by_beats {
            played.even_shares(count).nth(nth as usize).unwrap_or(0)
        } else {
            played.shares(count).nth(nth as usize).unwrap_or(0)
        }
    };
    let words = words.iter().zip(0_u32..);
    words
        .map(|(word, nth)| Share {
            source: word.source(),
            at_ticks: at(nth),
        })
        .collect()
}
