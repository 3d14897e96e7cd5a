//! A player at the panel without a window, for tests: takes chords in hand, tries, keeps, pins, types
//! and undoes, and the model hears of it as from the regions. Only tests import it.

use crate::bridge::ends::PanelEnds;
use crate::document::{ChordAt, Document, Pass, ScaleName};
use crate::editor::model::action::Action;
use crate::editor::model::apply::apply;
use crate::editor::model::chart::ChartAction;
use crate::editor::model::held::Time;
use crate::editor::model::in_hand::InHandAction;
use crate::editor::model::page::Page;
use crate::editor::model::transpose::Direction;
use crate::editor::model::ways::{Shows, WaysAction};
use crate::editor::window::bench::Host;
use crate::editor::window::outside::PluginOutside;
use crate::editor::window::session::Session;
use crate::params::GuidehandParams;
use guidehand_theory::scale;
use nice_plug::prelude::ParamSetter;
use std::sync::Arc;

/// What a player does.
#[derive(Clone, Debug)]
pub enum Deed {
    /// The cursor goes to a place in the text, in thousandths of it, and the chord there is taken.
    Take(usize),
    TakeAgain,
    Previous,
    Next,
    /// What is taken is heard, or is not.
    Sounds(bool),
    Hear,
    HearInContext,
    Show(Ways),
    /// A row, counted on from the first one again after the last.
    Try(usize),
    Keep,
    /// It is kept for the time in hand only, where that is asked.
    KeepOnce,
    Drop,
    /// These keys are tried as the notes of the chord.
    Lay(Vec<u8>),
    Unpin,
    /// Of a chord that is played several times this time is taken, from 1.
    Time(u16),
    /// The scale of the table with this number, or none.
    Choose(Option<usize>),
    /// At a place in thousandths of the text so many letters are erased, and these are typed.
    Type(usize, usize, &'static str, bool),
    Put(&'static str),
    Transpose(bool),
    Undo,
    Redo,
    StopHearing,
}

/// Which ways are shown.
#[derive(Clone, Copy, Debug)]
pub enum Ways {
    Dressings,
    Voicings,
}

/// A player at the panel.
pub struct Player {
    params: Arc<GuidehandParams>,
    ends: PanelEnds,
    host: Host,
    session: Session,
    /// Seconds of the window. Nothing that is typed goes on with what was typed before.
    now_seconds: f64,
}

impl Player {
    pub fn new(params: Arc<GuidehandParams>, ends: PanelEnds) -> Player {
        let mut player = Player {
            host: Host::new(&params),
            session: Session::new(&params),
            params,
            ends,
            now_seconds: 0.0,
        };
        player.apply(Action::Page(Page::Chord));
        player.frame();
        player
    }

    /// One frame of the panel, in which nothing is drawn.
    pub fn frame(&mut self) {
        self.session.snapshot = self.ends.snapshot.read();
        let setter = ParamSetter::new(&self.host);
        let Session {
            model,
            snapshot,
            revision_sent,
            asked,
            ..
        } = &mut self.session;
        let ends = (&*self.params, &self.ends);
        let mut outside = PluginOutside::new(ends, &setter, revision_sent, asked);
        model.refresh(snapshot, &mut outside);
    }

    fn apply(&mut self, action: Action) {
        let setter = ParamSetter::new(&self.host);
        let Session {
            model,
            revision_sent,
            asked,
            ..
        } = &mut self.session;
        let ends = (&*self.params, &self.ends);
        let mut outside = PluginOutside::new(ends, &setter, revision_sent, asked);
        apply(model, action, &mut outside);
    }

    /// Does something, as it is done between two frames. Nothing happens where there is nothing to do
    /// it with, such as a row in an empty list.
    pub fn act(&mut self, deed: &Deed) {
        let model = &self.session.model;
        let in_hand = |action| Some(Action::InHand(action));
        let ways = |action| Some(Action::Ways(action));
        let chart = |action| Some(Action::Chart(action));
        let action = match deed {
            Deed::Take(place) => {
                let at = place_in(model.chart.text(), *place);
                self.apply(Action::Chart(ChartAction::Select(at..at)));
                in_hand(InHandAction::Take { again: false })
            }
            Deed::TakeAgain => in_hand(InHandAction::Take { again: true }),
            Deed::Previous => in_hand(InHandAction::Previous),
            Deed::Next => in_hand(InHandAction::Next),
            Deed::Sounds(sounds) => in_hand(InHandAction::Sound(*sounds)),
            Deed::Hear => in_hand(InHandAction::Hear),
            Deed::HearInContext => in_hand(InHandAction::HearInContext),
            Deed::Show(shown) => ways(WaysAction::Show(match shown {
                Ways::Dressings => Shows::Dressings,
                Ways::Voicings => Shows::Voicings,
            })),
            Deed::Try(row) => {
                let row = row.checked_rem(model.pages.ways.rows().len());
                row.and_then(|row| ways(WaysAction::Try(row)))
            }
            Deed::Keep => ways(WaysAction::Keep(Pass::Every)),
            Deed::KeepOnce => {
                let once = model.pages.ways.time().map_or(Pass::Every, Time::only);
                ways(WaysAction::Keep(once))
            }
            Deed::Drop => ways(WaysAction::Drop),
            Deed::Lay(keys) => {
                let keys = keys.iter().fold(0, |keys, key| keys | 1 << key);
                ways(WaysAction::Lay(keys))
            }
            Deed::Unpin => ways(WaysAction::Unpin(Pass::Every)),
            Deed::Time(pass) => in_hand(InHandAction::Time(*pass)),
            Deed::Choose(number) => self.at_hand().and_then(|at| {
                let scale = number.and_then(|number| scale::all().nth(number));
                let scale = scale.map(|scale| ScaleName {
                    name: scale.name.to_owned(),
                    above: 0,
                });
                chart(ChartAction::ChooseScale { at, scale })
            }),
            Deed::Type(place, erased, put, finished) => {
                let text = model.chart.text();
                let from = place_in(text, *place);
                let until = text[from..].char_indices().nth(*erased);
                let until = until.map_or(text.len(), |(at, _)| from + at);
                let cursor = from + put.len();
                self.now_seconds += 10.0;
                chart(ChartAction::Type {
                    text: format!("{}{put}{}", &text[..from], &text[until..]),
                    cursor: cursor..cursor,
                    now_seconds: self.now_seconds,
                    finished: *finished,
                })
            }
            Deed::Put(text) => chart(ChartAction::Put((*text).to_owned())),
            Deed::Transpose(true) => chart(ChartAction::Transpose(Direction::Up)),
            Deed::Transpose(false) => chart(ChartAction::Transpose(Direction::Down)),
            Deed::Undo => chart(ChartAction::Undo),
            Deed::Redo => chart(ChartAction::Redo),
            Deed::StopHearing => Some(Action::StopHearing),
        };
        if let Some(action) = action {
            self.apply(action);
        }
        self.frame();
    }

    /// The chord in hand, in its place in the text.
    fn at_hand(&self) -> Option<ChordAt> {
        let model = &self.session.model;
        Some(model.in_hand.held(&model.chart)?.played()?.at())
    }

    /// How often something was asked to be heard, or to end, so far.
    pub fn asked(&self) -> u32 {
        self.ends.audition.number()
    }

    /// Whether an edit can be taken back.
    pub fn can_undo(&self) -> bool {
        self.session.model.chart.can_undo()
    }

    /// Whether something is tried.
    pub fn tries(&self) -> bool {
        self.session.model.pages.ways.tries()
    }

    /// The text with its picks.
    pub fn document(&self) -> Document {
        self.session.model.chart.document().clone()
    }

    /// The chart as it is saved.
    pub fn saved(&self) -> String {
        serde_json::to_string(&self.params.chart.saved()).unwrap()
    }
}

/// A place in a text, from thousandths of it, where a letter begins.
fn place_in(text: &str, thousandths: usize) -> usize {
    text.floor_char_boundary(text.len() * thousandths / 1000)
}
