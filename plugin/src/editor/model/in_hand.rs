//! The chord in hand: the one at the cursor of the chart's text, which the panel shows at rest
//! and, if the player wants it, while the song plays. The panel's thread; `state` and `apply`
//! import it. Imports `chart` and `chart_reading`.

use crate::editor::model::chart::{ChartAction, ChartText};
use crate::editor::model::outside::Outside;
use crate::engine::planned::PlannedChart;
use crate::engine::settings::{Settings, Source};
use crate::engine::snapshot::{Snapshot, Sounding};
use guidehand_theory::pipeline::{ChordInKey, LOWEST_BASS};

/// What a player asks for about the chord in hand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum InHandAction {
    /// The chord at the cursor is taken in hand.
    Take,
    /// The chord before it in the text is.
    Previous,
    /// The one after it is.
    Next,
    /// It stays on show while the song plays, or the song is followed.
    Stay(bool),
}

/// How the chord in hand is shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct InHand {
    /// It stays on show while the song plays.
    pub stays: bool,
    /// The player has taken it, and nothing has sounded since.
    taken: bool,
}

/// The chord in hand, in its chart.
#[derive(Clone, Copy, Debug)]
pub struct Held<'a> {
    /// The chart.
    pub planned: &'a PlannedChart,
    /// Which change it is.
    pub change: usize,
    /// Where symbols begin in the text, see `Reading::symbols`.
    symbols: &'a [(usize, usize)],
    /// Which of the symbols it is.
    nth: usize,
}

impl<'a> Held<'a> {
    /// The chord at the cursor, or the next one after a silence. Of a chord that is played several
    /// times it is the first playing.
    #[must_use]
    pub fn at_cursor(text: &'a ChartText) -> Option<Held<'a>> {
        let reading = text.planned()?;
        let planned = reading.planned()?;
        let symbols = reading.symbols();
        let cursor = text.selection_in(reading).map_or(0, |part| part.start);
        let begun = symbols.partition_point(|(start, _)| *start <= cursor);
        let count = symbols.len();
        let nth = begun.saturating_sub(1);
        let is_chord = |nth: &usize| {
            let change = symbols.get(*nth).and_then(|(_, at)| planned.changes.get(*at));
            change.is_some_and(|change| change.placed.is_some())
        };
        let nth = (nth..count).chain((0..nth).rev()).find(is_chord)?;
        Some(Held {
            symbols,
            planned,
            nth,
            change: symbols.get(nth)?.1,
        })
    }

    /// The chord in its key.
    #[must_use]
    pub fn chord(&self) -> Option<ChordInKey> {
        self.planned.changes.get(self.change)?.placed
    }

    /// The chord that follows as the chart is played, which may be this one again.
    #[must_use]
    pub fn after(&self) -> Option<usize> {
        let changes = &self.planned.changes;
        let is_chord = |at: &usize| changes.get(*at).is_some_and(|c| c.placed.is_some());
        let again = self.planned.index_at(f64::from(self.planned.pickup_ticks));
        let later = self.change + 1..changes.len();
        later.chain(again..changes.len()).find(is_chord)
    }

    /// Where the chord that stands before it in the text begins, in bytes of the text that was
    /// read, or the one that stands after it.
    fn beside(&self, next: bool) -> Option<usize> {
        let is_chord = |(_, at): &&(usize, usize)| {
            let change = self.planned.changes.get(*at);
            change.is_some_and(|change| change.placed.is_some())
        };
        let found = if next {
            self.symbols.get(self.nth + 1..)?.iter().find(is_chord)
        } else {
            self.symbols.get(..self.nth)?.iter().rev().find(is_chord)
        };
        found.map(|(start, _)| *start)
    }

    /// What sounds of a change.
    fn sounding(&self, change: usize, settings: &Settings) -> Option<Sounding> {
        let (placed, voiced) = self.planned.voiced(change, &settings.taste)?;
        let bass = settings.bass_channel.and_then(|_| placed.bass(LOWEST_BASS));
        Some(Sounding {
            placed,
            voiced,
            bass,
            read: None,
        })
    }
}

impl InHand {
    /// Follows what the engine tells.
    pub fn follow(&mut self, engine: &Snapshot) {
        if engine.sounding.is_some() {
            self.taken = false;
        }
    }

    /// Whether the chord in hand is on show, and not what the engine tells.
    #[must_use]
    pub fn is_shown(&self, engine: &Snapshot, settings: &Settings) -> bool {
        let plays = engine.playing && settings.source == Source::Chart;
        if self.stays {
            return plays || engine.sounding.is_none();
        }
        let rests = engine.sounding.is_none() && !plays;
        rests && (self.taken || settings.source == Source::Chart || engine.last.is_none())
    }

    /// What is on show: what the engine tells, or in its place the chord in hand.
    #[must_use]
    pub fn on_show(&self, text: &ChartText, engine: &Snapshot, settings: &Settings) -> Snapshot {
        if !self.is_shown(engine, settings) {
            return *engine;
        }
        let held = Held::at_cursor(text);
        let sounding = held.and_then(|held| held.sounding(held.change, settings));
        let Some((held, sounding)) = held.zip(sounding) else {
            return *engine;
        };
        let next = held.after().and_then(|at| held.sounding(at, settings));
        Snapshot {
            sounding: Some(sounding),
            next: next.map(|next| next.placed),
            next_voiced: next.map(|next| next.voiced),
            beat_ticks: None,
            change: Some(held.change),
            ..*engine
        }
    }

    /// Carries out what the player asked for.
    pub fn apply(
        &mut self,
        action: InHandAction,
        text: &mut ChartText,
        outside: &mut dyn Outside,
    ) {
        match action {
            InHandAction::Take => self.taken = true,
            InHandAction::Previous | InHandAction::Next => {
                let held = Held::at_cursor(text);
                let beside = held.and_then(|held| held.beside(action == InHandAction::Next));
                if let Some(at) = beside.and_then(|at| text.in_text(at)) {
                    text.apply(ChartAction::GoTo(at), outside);
                    text.apply(ChartAction::Select(at..at), outside);
                }
                self.taken = true;
            }
            InHandAction::Stay(stays) => self.stays = stays,
        }
    }
}
