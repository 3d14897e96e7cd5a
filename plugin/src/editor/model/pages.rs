//! The pages beside the chart: which one is open, and what each remembers. The
//! panel's thread; `apply` changes them, and the regions read them.

use crate::editor::model::files::Files;
use crate::editor::model::harmonies::Harmonies;
use crate::editor::model::own::OwnPage;
use crate::editor::model::page::Page;
use crate::editor::model::practice::PracticePage;
use crate::editor::model::scale::ScaleChoice;
use crate::editor::model::take::Takes;
use crate::editor::model::ways::Ways;
use crate::engine::settings::Source;

/// The pages.
#[derive(Default)]
pub struct Pages {
    /// The one that is open.
    pub open: Page,
    /// The ways to dress the chord in hand.
    pub ways: Ways,
    /// What is being done with the player's own voicings.
    pub own: OwnPage,
    /// Other harmonies for the chart.
    pub harmonies: Harmonies,
    /// What is practised.
    pub practice: PracticePage,
    /// The recording of the right hand.
    pub takes: Takes,
    /// Files for it.
    pub files: Files,
    /// The scale that was chosen last over a chord that is not of the chart.
    pub scale: Option<ScaleChoice>,
    /// Where chords came from in the last frame.
    source: Source,
}

impl Pages {
    /// The page of the bass, and that of practice, open and close with their sources.
    pub fn follow_source(&mut self, source: Source) {
        if std::mem::replace(&mut self.source, source) == source {
            return;
        }
        self.open = match (source, self.open) {
            (Source::Bass, _) => Page::Bass,
            (Source::Practice, _) => Page::Practice,
            (_, Page::Bass | Page::Practice) => Page::default(),
            (_, open) => open,
        };
    }
}
