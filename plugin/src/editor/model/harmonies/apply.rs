//! What becomes of other harmonies when the player acts. The panel's thread; the
//! model's `apply` calls it.

use super::action::HarmoniesAction;
use super::dressing::{self, Wishes};
use super::melody::{self, RightHand};
use super::offers::{self, Offer};
use super::state::{Harmonies, Tried};
use crate::editor::model::outside::Outside;
use guidehand_theory::chart;
use guidehand_theory::chart::Chart;
use guidehand_theory::reharm::Dress;
use std::sync::Arc;

impl Harmonies {
    /// Carries out what the player asked for. `text` is the chart's text. Returns the text of another
    /// melody, if there is to be one.
    pub fn apply(
        &mut self,
        action: HarmoniesAction,
        text: &str,
        outside: &mut dyn Outside,
    ) -> Option<String> {
        match action {
            HarmoniesAction::Press(offer) => self.press(&offer, text, outside),
            HarmoniesAction::Flip(sounds) => self.flip(sounds, outside),
            HarmoniesAction::Keep => {
                if let Some(tried) = self.tried.take() {
                    outside.keep(&tried.text);
                }
            }
            HarmoniesAction::Drop => {
                self.tried = None;
                self.wishes = Wishes::default();
                self.said.clear();
                outside.try_out(None);
            }
            HarmoniesAction::Melody(line) => return self.line_typed(line),
            HarmoniesAction::Listen(listens) => {
                self.right_hand = listens.then(RightHand::default);
            }
            HarmoniesAction::AllBars(all) => self.all_bars = all,
            HarmoniesAction::Dress(dress) => self.dress(dress, text, outside),
        }
        None
    }

    fn press(&mut self, offer: &Offer, text: &str, outside: &mut dyn Outside) {
        if let Some(tried) = self.tried.as_ref()
            && tried.offer.as_ref() == Some(offer)
        {
            let sounds = !tried.sounds;
            return self.flip(sounds, outside);
        }
        let Some(chart) = &self.chart else { return };
        self.said.clear();
        match offer.write(text, chart) {
            Some(text) => {
                self.wishes = Wishes::default();
                self.try_out(offer.name.clone(), Some(offer.clone()), text, outside);
            }
            None => {
                "The chart cannot hold it: a bar that is played more than once would differ, or a \
                 chord falls between two beats."
                    .clone_into(&mut self.said);
            }
        }
    }

    fn try_out(
        &mut self,
        name: String,
        offer: Option<Offer>,
        text: String,
        outside: &mut dyn Outside,
    ) {
        outside.try_out(Some(&text));
        let names = self.chart.as_ref().map(|chart| chart.names);
        let read = chart::parse_with(&text, names.unwrap_or_default());
        self.tried = Some(Tried {
            name,
            offer,
            sounds: true,
            chart: read.ok().map(Arc::new),
            text,
        });
    }

    fn flip(&mut self, sounds: bool, outside: &mut dyn Outside) {
        if let Some(tried) = &mut self.tried {
            tried.sounds = sounds;
            outside.try_out(sounds.then_some(&tried.text));
        }
    }

    /// Dresses bars, and tries that.
    fn dress(&mut self, dress: Dress, text: &str, outside: &mut dyn Outside) {
        let Some(chart) = self.chart.clone() else {
            return;
        };
        let Some(bars) = self.bars(&chart) else {
            return;
        };
        self.wishes.wish(&chart, bars, dress);
        let pinned = outside.plan_for().pinned;
        let dressed = dressing::dressed(text, &chart, &self.wishes, &self.notes, pinned);
        self.said = dressed.words();
        match dressed.text {
            Some(text) => {
                let name = self.dress_name(&chart);
                self.try_out(name.to_owned(), None, text, outside);
            }
            None => {
                self.tried = None;
                outside.try_out(None);
                let wished = self.wishes.of_all(&chart) != Some(Dress::Written);
                if wished && self.said.is_empty() {
                    "Nothing is to be changed there.".clone_into(&mut self.said);
                }
            }
        }
    }

    fn dress_name(&self, chart: &Chart) -> &'static str {
        match self.wishes.of_all(chart) {
            Some(Dress::Plain) => "basic",
            Some(Dress::Dressed) => "with ii-Vs",
            Some(Dress::Rich) => "full",
            Some(Dress::Written) | None => "bar by bar",
        }
    }

    /// Takes over the line of the melody as typed. Returns the text of the melody with it.
    fn line_typed(&mut self, line: String) -> Option<String> {
        self.line = line;
        let (chart, at) = self.chart.clone().zip(self.at())?;
        if self.melody_broken {
            "The written melody has errors; mend it first.".clone_into(&mut self.line_error);
            return None;
        }
        match melody::read_line(&self.line, at.len(), chart.names) {
            Ok(names) => {
                self.line_error.clear();
                let melody = melody::with_line(&self.melody, &chart, &at, &names);
                let text = melody.text(&chart);
                self.put_melody(&text, &chart);
                // What was typed stays as it was typed.
                if let Some(asked) = &mut self.asked {
                    asked.melody = self.melody.clone();
                    self.offers = offers::offers(&chart, &at, &self.notes, asked.pinned);
                }
                Some(text)
            }
            Err(words) => {
                self.line_error = words;
                None
            }
        }
    }
}
