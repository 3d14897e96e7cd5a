//! The chord in hand: the one at the cursor of the chart's text, which the panel shows at rest
//! and, if the player wants it, while the song plays. The panel's thread; `state` and `apply`
//! import it. Imports `chart`, `held` and `ways`.

use crate::editor::model::audition;
use crate::editor::model::chart::{ChartAction, ChartText};
use crate::editor::model::held::Held;
use crate::editor::model::outside::Outside;
use crate::editor::model::ways::Ways;
use crate::engine::settings::{Settings, Source};
use crate::engine::snapshot::Snapshot;

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
    /// The player has taken it, and nothing has sounded since.
    taken: bool,
}

impl Default for InHand {
    fn default() -> InHand {
        InHand {
            stays: false,
            sounds: true,
            at: None,
            taken: false,
        }
    }
}

impl InHand {
    /// Follows the cursor, and what the engine tells. Once a frame, before anything is drawn.
    pub fn follow(&mut self, text: &ChartText, engine: &Snapshot) {
        self.at = Held::at_cursor(text).map(|held| held.change);
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
        let held = Held::at_cursor(text);
        let tried = ways.sounding(settings.bass_channel.is_some());
        let sounding = tried.or_else(|| held.and_then(|held| held.sounding(held.change, settings)));
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
        ways: &Ways,
        outside: &mut dyn Outside,
    ) {
        match action {
            InHandAction::Take { again } => self.take(text, again, outside),
            InHandAction::Previous | InHandAction::Next => {
                let held = Held::at_cursor(text);
                let beside = held.and_then(|held| held.beside(action == InHandAction::Next));
                if let Some(at) = beside.and_then(|at| text.in_text(at)) {
                    text.apply(ChartAction::GoTo(at), outside);
                    text.apply(ChartAction::Select(at..at), outside);
                }
                self.take(text, true, outside);
            }
            InHandAction::Hear => {
                let held = Held::at_cursor(text);
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
            InHandAction::Stay(stays) => self.stays = stays,
            InHandAction::Sound(sounds) => self.sounds = sounds,
        }
    }

    /// Takes the chord at the cursor. It is heard if it is another one, or `again`.
    fn take(&mut self, text: &ChartText, again: bool, outside: &mut dyn Outside) {
        let held = Held::at_cursor(text);
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
