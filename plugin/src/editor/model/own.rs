//! The player's own voicings under edit: the chord in hand gives one, and a file gives several. The
//! panel's thread; `pages` keeps what is typed, and `apply` and `state` change it. Imports `chart`,
//! `files` and `ways`.

use crate::document::{JoinError, Joined, MyVoicings, VoicingName};
use crate::editor::model::chart::{ChartAction, ChartText};
use crate::editor::model::files::Said;
use crate::editor::model::outside::Outside;
use crate::editor::model::ways::Ways;
use crate::editor::view::words;
use guidehand_exchange::own_voicings::{KeepError, OwnVoicings};
use std::sync::Arc;

/// What a player asks for about them.
#[derive(Clone, Debug, PartialEq)]
pub enum OwnAction {
    /// The name is edited.
    Name(String),
    /// The voicing of the chord in hand is kept under the name that is typed.
    Keep,
    /// One of them gets the name that is typed.
    Rename(VoicingName),
    /// One of them is taken away.
    Delete(VoicingName),
}

/// What is being done with them.
#[derive(Debug, Default)]
pub struct OwnPage {
    name: String,
    said: String,
}

impl OwnPage {
    /// The name as typed.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// What could not be done, in words; empty if nothing was.
    #[must_use]
    pub fn said(&self) -> &str {
        &self.said
    }

    /// Carries out what the player asked for.
    pub fn apply(
        &mut self,
        action: OwnAction,
        chart: &mut ChartText,
        ways: &Ways,
        outside: &mut dyn Outside,
    ) {
        self.said.clear();
        let own = chart.document().own.clone();
        match action {
            OwnAction::Name(name) => self.name = name,
            OwnAction::Keep => match ways.shape() {
                None => {}
                Some(Err(error)) => {
                    self.said = format!("It cannot be kept: {}.", words(&error));
                }
                Some(Ok(shape)) => {
                    let kept = own.with(&self.name, shape);
                    self.take(kept, chart, outside);
                }
            },
            OwnAction::Rename(which) => {
                let renamed = own.renamed(&which, &self.name);
                self.take(renamed, chart, outside);
            }
            OwnAction::Delete(which) => {
                let rest = Arc::new(own.without(&which));
                chart.apply(ChartAction::Own(rest), outside);
            }
        }
    }

    /// Takes over other voicings, or says why there are none.
    fn take(
        &mut self,
        voicings: Result<MyVoicings, KeepError>,
        chart: &mut ChartText,
        outside: &mut dyn Outside,
    ) {
        match voicings {
            Ok(voicings) => {
                self.name.clear();
                chart.apply(ChartAction::Own(Arc::new(voicings)), outside);
            }
            Err(KeepError::NoName) => "Type a name for it first.".clone_into(&mut self.said),
            Err(error) => self.said = format!("It cannot be kept so: {error}."),
        }
    }
}

/// The voicings of a file come to those of the player, as one step.
pub fn join(
    chart: &mut ChartText,
    voicings: &OwnVoicings,
    outside: &mut dyn Outside,
) -> Result<Joined, JoinError> {
    let joined = chart.document().own.joined(voicings)?;
    if joined.voicings != *chart.document().own {
        let own = Arc::new(joined.voicings.clone());
        chart.apply(ChartAction::Own(own), outside);
    }
    Ok(joined)
}

/// What is said of a file with voicings.
#[must_use]
pub fn told(path: &str, joined: &Result<Joined, JoinError>) -> Said {
    let Joined {
        new,
        known,
        renamed,
        ..
    } = match joined {
        Ok(joined) => joined,
        Err(error) => {
            return Said {
                words: format!("Nothing is taken from {path}: {error}."),
                failed: true,
                lines: Vec::new(),
            };
        }
    };
    let come = match new {
        0 if *known == 0 => "it holds no voicings".to_owned(),
        0 => "you have all of its voicings already".to_owned(),
        1 => "1 voicing comes to yours".to_owned(),
        new => format!("{new} voicings come to yours"),
    };
    let there = match (new, known) {
        (0, _) | (_, 0) => String::new(),
        (_, 1) => ", 1 was there already".to_owned(),
        (_, known) => format!(", {known} were there already"),
    };
    let undo = match new {
        0 => "",
        _ => "; undo takes them away again",
    };
    let named = |(name, now): &(String, String)| {
        format!("{name} is called {now} here, for another voicing of its family has that name.")
    };
    Said {
        words: format!("{path} is read: {come}{there}{undo}."),
        failed: false,
        lines: renamed.iter().map(named).collect(),
    }
}
