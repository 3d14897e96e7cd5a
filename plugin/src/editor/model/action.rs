//! What a player asks for at the panel. Regions tell it while they are drawn, and
//! `apply` carries it out afterwards. The panel's thread; all of the editor may
//! import it.

use crate::editor::model::chart::ChartAction;
use crate::editor::model::files::FilesAction;
use crate::editor::model::harmonies::HarmoniesAction;
use crate::editor::model::in_hand::InHandAction;
use crate::editor::model::own::OwnAction;
use crate::editor::model::page::Page;
use crate::editor::model::parameters::Move;
use crate::editor::model::practice::PracticeAction;
use crate::editor::model::scale::ScaleChoice;
use crate::editor::model::take::TakeAction;
use crate::editor::model::ways::WaysAction;
use crate::engine::rhythm::Drawn;
use crate::engine::trial::Request;
use crate::params::{Look, PanelView};
use std::ops::RangeInclusive;

/// What a player asks for.
#[derive(Clone, Debug, PartialEq)]
pub enum Action {
    /// A parameter moves.
    Parameter(Move),
    /// The program that needs no host plays from the start, or stops.
    Play(bool),
    /// Something is to be heard, in place of what is tried by ear already.
    Hear(Box<Request>),
    /// What is tried by ear ends.
    #[cfg_attr(not(test), expect(dead_code, reason = "no region asks for it yet"))]
    StopHearing,
    /// The chart is worked on.
    Chart(ChartAction),
    /// The chord in hand is worked on.
    InHand(InHandAction),
    /// The ways to dress it are worked on.
    Ways(WaysAction),
    /// The player's own voicings are worked on.
    Own(OwnAction),
    /// The chart as it was before another harmony was kept comes back.
    RestoreOriginal,
    /// Another pattern is drawn.
    Draw(Drawn),
    /// Another page opens.
    Page(Page),
    /// Another scale is chosen over the chord on show, which is not of the chart.
    Scale(ScaleChoice),
    /// Other harmonies are worked on.
    Harmonies(HarmoniesAction),
    /// Practice is worked on.
    Practice(PracticeAction),
    /// The right hand is recorded, or no longer.
    Take(TakeAction),
    /// Files are worked on.
    Files(FilesAction),
    /// The panel looks otherwise.
    Panel(PanelAction),
}

/// What a player asks of the panel itself.
#[derive(Clone, Debug, PartialEq)]
pub enum PanelAction {
    /// Light or dark.
    Look(Look),
    /// How much it shows.
    View(PanelView),
    /// What is read from afar is larger, or no longer.
    LargePrint(bool),
    /// How large everything is.
    Zoom(f32),
    /// The size of the window, in points of the zoom.
    Size([f32; 2]),
    /// The keyboard keeps showing these keys, or no longer.
    KeepKeys(Option<RangeInclusive<u8>>),
    /// The keyboard shows the scale, or no longer.
    ScaleOnKeys(bool),
}

/// What has been asked for in one frame, in its order.
#[derive(Debug, Default)]
pub struct Actions(Vec<Action>);

impl Actions {
    /// One more.
    pub fn push(&mut self, action: Action) {
        self.0.push(action);
    }

    /// A move of a parameter more.
    pub fn move_parameter(&mut self, one: Move) {
        self.push(Action::Parameter(one));
    }

    /// Whether nothing has been asked for.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

impl IntoIterator for Actions {
    type Item = Action;
    type IntoIter = std::vec::IntoIter<Action>;

    fn into_iter(self) -> Self::IntoIter {
        self.0.into_iter()
    }
}
