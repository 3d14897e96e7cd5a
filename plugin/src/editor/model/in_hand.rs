//! The chord in hand: the one at the cursor of the chart's text, which the panel shows at rest
//! and, if the player wants it, while the song plays. The panel's thread; `state` and `apply`
//! import it. Imports `chart`, `held` and `ways`.

use crate::editor::model::audition;
use crate::editor::model::chart::{ChartAction, ChartText};
use crate::editor::model::held::Held;
use crate::editor::model::outside::Outside;
use crate::editor::model::ways::Ways;
use crate::engine::settings::{Settings, Source};
use crate::engine::snapshot::{Snapshot, Yielded};
use crate::params::SavedPanel;

/// What a player asks for about the chord in hand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum InHandAction {
    /// The chord at the cursor is taken in hand.
    Take {
        /// It is heard once more where it is in hand already.
        again: bool,
    },
    /// The chord before it in the text is.
    Previous,
    /// The one after it is.
    Next,
    /// It stays on show while the song plays, or the song is followed.
    Stay(bool),
    /// It is heard.
    Hear,
    /// The chord before, this one and the next are heard.
    HearInContext,
    /// What is taken in hand is heard, or is not.
    Sound(bool),
    /// Of a chord that is played several times this time is in hand, from 1.
    Time(u16),
}

/// How the chord in hand is shown and heard.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct InHand {
    /// It stays on show while the song plays.
    pub stays: bool,
    /// It is heard when it is taken.
    pub sounds: bool,
    /// Which change it was before this frame.
    at: Option<usize>,
    /// Its place among the chords of the text.
    index: Option<usize>,
    /// Which time it is played, from 1.
    pass: u16,
    /// The player has taken it, and nothing has sounded since.
    taken: bool,
}

impl Default for InHand {
    fn default() -> InHand {
        InHand {
            stays: false,
            sounds: true,
            at: None,
            index: None,
            pass: 1,
            taken: false,
        }
    }
}

impl InHand {
    /// The chord in hand. Of a chord that is played several times it is the time that the player
    /// has chosen, or the last one that the song has played since the chord was taken; the first
    /// one before that.
    #[must_use]
    pub fn held<'a>(&self, text: &'a ChartText) -> Option<Held<'a>> {
        Held::at_cursor(text).map(|held| held.at_time(self.pass))
    }

    /// Follows the cursor, what the engine tells, and the switches that are saved. While something
    /// is tried, its time stays. Once a frame, before anything is drawn.
    pub fn follow(&mut self, text: &ChartText, engine: &Snapshot, tries: bool, saved: &SavedPanel) {
        (self.stays, self.sounds) = (saved.stays, saved.sounds);
        self.start_at_the_first_time(text);
        let change = engine.change.filter(|_| engine.playing && !tries);
        let played = change.and_then(|change| text.reading().chord_at(change));
        if let Some(played) = played
            && Some(played.index) == self.index
        {
            self.pass = played.pass;
        }
        self.at = self.held(text).map(|held| held.change);
        if engine.sounding.is_some() {
            self.taken = false;
        }
    }

    /// Whether the chord in hand is on show, and not what the engine tells.
    #[must_use]
    pub fn is_shown(&self, engine: &Snapshot, settings: &Settings) -> bool {
        if settings.source == Source::Practice {
            // It would cover the question.
            return false;
        }
        let plays = engine.playing && settings.source == Source::Chart;
        if self.stays {
            return plays || engine.sounding.is_none();
        }
        let rests = engine.sounding.is_none() && !plays;
        rests && (self.taken || settings.source == Source::Chart || engine.last.is_none())
    }

    /// What is on show: what the engine tells, or in its place the chord in hand.
    #[must_use]
    pub fn on_show(
        &self,
        text: &ChartText,
        ways: &Ways,
        engine: &Snapshot,
        settings: &Settings,
    ) -> Snapshot {
        if !self.is_shown(engine, settings) {
            return *engine;
        }
        let held = self.held(text);
        let tried = ways.sounding(settings.bass_channel.is_some());
        let sounding = tried.or_else(|| held.and_then(|held| held.sounding(held.change, settings)));
        let Some((held, sounding)) = held.zip(sounding) else {
            return *engine;
        };
        let next = held.after().and_then(|at| held.sounding(at, settings));
        Snapshot {
            sounding: Some(sounding),
            yielded: Yielded::default(),
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
        ways: &Ways,
        outside: &mut dyn Outside,
    ) {
        match action {
            InHandAction::Take { again } => self.take(text, again, outside),
            InHandAction::Previous | InHandAction::Next => {
                let held = self.held(text);
                let beside = held.and_then(|held| held.beside(action == InHandAction::Next));
                if let Some(at) = beside.and_then(|at| text.in_text(at)) {
                    text.apply(ChartAction::GoTo(at), outside);
                    text.apply(ChartAction::Select(at..at), outside);
                }
                self.take(text, true, outside);
            }
            InHandAction::Hear => {
                let held = self.held(text);
                let planned = || held.and_then(|held| held.heard(&outside.settings()));
                if let Some(heard) = ways.heard().or_else(planned) {
                    outside.audition(&audition::chord(&heard).also_while_playing(true));
                }
            }
            InHandAction::HearInContext => {
                let repeats = outside.settings().chart.repeats;
                if let Some(request) = ways.in_context(repeats) {
                    outside.audition(&request.also_while_playing(true));
                }
            }
            InHandAction::Stay(stays) => {
                self.stays = stays;
                let panel = outside.panel();
                outside.set_panel(SavedPanel { stays, ..panel });
            }
            InHandAction::Sound(sounds) => {
                self.sounds = sounds;
                let panel = outside.panel();
                outside.set_panel(SavedPanel { sounds, ..panel });
            }
            InHandAction::Time(pass) => {
                self.pass = pass;
                self.take(text, true, outside);
            }
        }
    }

    /// Of another chord than before the first time is in hand.
    fn start_at_the_first_time(&mut self, text: &ChartText) {
        let index = Held::at_cursor(text).and_then(|held| Some(held.played()?.index));
        if self.index != index {
            (self.index, self.pass) = (index, 1);
        }
    }

    /// Takes the chord at the cursor. It is heard if it is another one, or `again`.
    fn take(&mut self, text: &ChartText, again: bool, outside: &mut dyn Outside) {
        self.start_at_the_first_time(text);
        let held = self.held(text);
        let at = held.map(|held| held.change);
        let other = std::mem::replace(&mut self.at, at) != at;
        self.taken = true;
        if let Some(held) = held
            && self.sounds
            && (again || other)
            && let Some(heard) = held.heard(&outside.settings())
        {
            outside.audition(&audition::chord(&heard));
        }
    }
}
