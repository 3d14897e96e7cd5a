//! What a player asks for at the chart is carried out here, most of it as one step that can be undone:
//! another chart, another pick, other names, a half step. The panel runs it. It is a part of the chart's
//! own functions, and imports `chart`, `history` and `transpose`.

use super::{ChartAction, ChartText, MOST_MOVED, Moved};
use crate::document::{ChordAt, Document, Followed, Pass, Picks, PinNotes};
use crate::editor::model::outside::Outside;
use crate::editor::model::transpose::{self, Direction};
use guidehand_exchange::kept::Kept;
use guidehand_theory::chart;
use guidehand_theory::melody::Melody;
use guidehand_theory::pipeline;
use guidehand_theory::pitch::NoteNames;

impl ChartText {
    /// Carries out what the player asked for.
    pub fn apply(&mut self, action: ChartAction, outside: &mut dyn Outside) {
        match action {
            ChartAction::Type {
                text,
                cursor,
                now_seconds,
                finished,
            } => {
                self.history.record(&self.document, &text, now_seconds);
                let names = self.names();
                let end = Some(cursor.end);
                let followed = self.settled.edited(&text, names, end);
                self.document = followed.document.with_picks_of(&self.begun, names, end);
                self.losing = followed.dropped;
                self.dropped.clear();
                self.selected = Some(cursor);
                self.edition = if finished {
                    outside.set_chart(&self.document)
                } else {
                    outside.type_chart(&self.document)
                };
                self.refresh(outside.chart());
            }
            ChartAction::Select(part) => self.selected = Some(part),
            ChartAction::GoTo(at) => self.lead_to(at),
            ChartAction::Undo => {
                if let Some(document) = self.history.undo(&self.document) {
                    self.replace(document, outside);
                }
            }
            ChartAction::Redo => {
                if let Some(document) = self.history.redo(&self.document) {
                    self.replace(document, outside);
                }
            }
            ChartAction::Transpose(direction) => self.transpose(direction, outside),
            ChartAction::Names(names) => self.rename(names, outside),
            ChartAction::Put(text) => self.put(&text, &[], outside),
            ChartAction::Write(text, pins) => self.put(&text, &pins, outside),
            ChartAction::Pin { at, pass, notes } => {
                let pin = |picks: &Picks, at| picks.pin(at, pass, notes);
                self.pick(at, pin, outside);
            }
            ChartAction::Unpin { at, pass } => {
                let passes = self.reading.passes_of(at.index);
                let unpin = |picks: &Picks, at| picks.unpin(&at, pass, passes);
                self.pick(at, unpin, outside);
            }
            ChartAction::ChooseScale { at, scale } => {
                let choose = |picks: &Picks, at| picks.choose(at, scale);
                self.pick(at, choose, outside);
            }
            ChartAction::Melody {
                text,
                now_seconds,
                finished,
            } => {
                self.history
                    .record_melody(&self.document, &text, now_seconds);
                self.take_melody(&text, finished, outside);
            }
            ChartAction::Own(own) => self.put_document(self.document.with_own(own), outside),
        }
    }

    /// Another melody, in the place of the one in hand: as a step of its own, or as a part of the step
    /// before.
    pub fn write_melody(&mut self, text: &str, is_step: bool, outside: &mut dyn Outside) {
        if *text == *self.document.melody {
            return;
        }
        if is_step {
            self.history.step(&self.document);
        } else {
            self.history.go_on();
        }
        self.take_melody(text, false, outside);
    }

    /// The melody goes with the text wherever that follows from.
    fn take_melody(&mut self, text: &str, finished: bool, outside: &mut dyn Outside) {
        let document = self.document.with_melody(text);
        for one in [&mut self.settled, &mut self.begun] {
            one.melody = document.melody.clone();
        }
        self.document = document;
        self.edition = if finished {
            outside.set_chart(&self.document)
        } else {
            outside.type_chart(&self.document)
        };
        self.refresh(outside.chart());
    }

    /// Puts a whole other chart in the place of the one in hand, as one step. `text` has the English
    /// names of the notes. `kept` is the text as it was typed, with what was picked for its chords,
    /// where that is known. Otherwise what was picked stays with the chords that stay. `melody` takes
    /// the place of the one in hand, if there is one.
    pub fn bring(
        &mut self,
        text: &str,
        kept: Option<&Kept>,
        melody: Option<&Melody>,
        outside: &mut dyn Outside,
    ) {
        let names = self.names();
        let english = || chart::renamed(text, NoteNames::English, names);
        let followed = match kept {
            None => self.settled.edited(&english(), names, None),
            Some(kept) => {
                let is_typed = kept.names == names;
                let text = if is_typed {
                    kept.chart.clone()
                } else {
                    english()
                };
                Followed {
                    document: self.document.with_kept(&text, kept),
                    dropped: Vec::new(),
                }
            }
        };
        let mut document = followed.document;
        if let (Some(melody), Ok(chart)) = (melody, chart::parse_with(&document.text, names)) {
            let placed = pipeline::place(&chart, outside.plan_for().pinned);
            let named = pipeline::named(melody, &chart, &placed);
            document = document.with_melody(named.text(&chart));
        }
        self.put_document(document, outside);
        self.dropped = followed.dropped;
    }

    /// A whole other chart, as one step. What was picked stays with the chords that stay, and these
    /// pins come to it.
    fn put(&mut self, text: &str, pins: &[(ChordAt, PinNotes)], outside: &mut dyn Outside) {
        let names = self.names();
        let followed = self.settled.edited(text, names, None);
        let mut document = followed.document;
        for (at, notes) in pins {
            if document.has(at, names) {
                let picks = document.picks.pin(at.clone(), Pass::Every, *notes);
                document = document.with(picks);
            }
        }
        self.put_document(document, outside);
        self.dropped = followed.dropped;
    }

    /// Another document, as one step.
    fn put_document(&mut self, document: Document, outside: &mut dyn Outside) {
        if document != self.document {
            self.history.step(&self.document);
            self.replace(document, outside);
        }
    }

    /// Something else is picked for a chord, as one step. Nothing happens if the chord is not there:
    /// then it was asked for about another text.
    fn pick(
        &mut self,
        at: ChordAt,
        change: impl FnOnce(&Picks, ChordAt) -> Picks,
        outside: &mut dyn Outside,
    ) {
        if self.document.has(&at, self.names()) {
            let picks = change(&self.document.picks, at);
            self.put_document(self.document.with(picks), outside);
        }
    }

    /// The notes of the text have their names in another language. A step of its own only where
    /// that drops what was picked.
    fn rename(&mut self, names: NoteNames, outside: &mut dyn Outside) {
        if names != self.names() {
            let followed = self.document.renamed(names);
            if followed.document != self.document {
                self.history.step(&self.document);
            }
            self.take(followed.document);
            self.dropped = followed.dropped;
        }
        outside.set_note_names(names);
    }

    /// A half step up or down; there and back is the very text before.
    fn transpose(&mut self, direction: Direction, outside: &mut dyn Outside) {
        let text = &self.document.text;
        if self.moved.last().is_some_and(|m| m.after.text != *text) {
            self.moved.clear();
        }
        let half_steps = match direction {
            Direction::Up => 1,
            Direction::Down => -1,
        };
        let names = self.names();
        let register = outside.plan_for().register;
        let moved = |document: &Document, text: &str| {
            document.transposed(text, half_steps, names, &register)
        };
        if let Some(back) = self.moved.pop_if(|m| m.direction == direction.back()) {
            if back.after == self.document {
                return self.put_document(back.before, outside);
            }
            // Something has been picked meanwhile.
            let followed = moved(&self.document, &back.before.text);
            return self.put_followed(followed, outside);
        }
        let text = transpose::transposed(text, direction, names);
        let followed = moved(&self.document, &text);
        if self.moved.len() >= MOST_MOVED {
            self.moved.remove(0);
        }
        self.moved.push(Moved {
            before: self.document.clone(),
            after: followed.document.clone(),
            direction,
        });
        self.put_followed(followed, outside);
    }

    /// Another document, as one step, with what is dropped on the way.
    fn put_followed(&mut self, followed: Followed, outside: &mut dyn Outside) {
        self.put_document(followed.document, outside);
        self.dropped = followed.dropped;
    }
}
