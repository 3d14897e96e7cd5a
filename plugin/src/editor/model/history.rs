//! What can be undone: the documents before, one step for each stretch of typing. The panel runs
//! it; `chart` imports it. Imports `chart_edit` and the document.
//!
//! The toolkit's own `Undoer` makes steps by the clock alone and keeps a number of them,
//! however long the texts are. A player undoes words, and memory is bounded in bytes.

use super::chart_edit::Edit;
use crate::document::{Document, MyVoicings};
use std::collections::VecDeque;
use std::sync::Arc;

/// The most steps that are kept.
const MOST_STEPS: usize = 1000;
/// The most that is kept, in bytes.
const MOST_BYTES: usize = 8 << 20;
/// Typing that pauses this long begins a new step, in seconds.
const PAUSE_SECONDS: f64 = 1.5;

/// What an edit did.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Stroke {
    /// It put one sign of a word.
    Letter,
    /// It put one space or bar line.
    Gap,
    /// It took one sign away.
    Erased,
    /// Anything more, such as a paste.
    Whole,
}

impl Stroke {
    fn of(before: &str, after: &str) -> Stroke {
        let edit = Edit::between(before, after);
        let put = after.get(edit.put()).unwrap_or("");
        let mut signs = put.chars();
        match (signs.next(), signs.next(), edit.taken().len()) {
            (Some(c), None, 0) if c.is_whitespace() || c == '|' => Stroke::Gap,
            (Some(_), None, 0) => Stroke::Letter,
            (None, None, 1..=4) => Stroke::Erased,
            _ => Stroke::Whole,
        }
    }

    /// Whether it belongs to the step that the stroke before it began.
    fn goes_on(self, before: Stroke) -> bool {
        matches!(
            (before, self),
            (Stroke::Letter, Stroke::Letter | Stroke::Gap)
                | (Stroke::Gap, Stroke::Gap)
                | (Stroke::Erased, Stroke::Erased)
        )
    }
}

/// Documents before and after the one in hand.
#[derive(Clone, Debug, Default)]
pub struct History {
    past: VecDeque<Document>,
    future: Vec<Document>,
    /// The last edit, and when it was.
    last: Option<Last>,
}

/// An edit of a text by hand.
#[derive(Clone, Copy, Debug)]
struct Last {
    stroke: Stroke,
    at_seconds: f64,
    /// It was one of the melody, and not one of the chart.
    of_melody: bool,
}

impl History {
    /// The text has changed by an edit.
    pub fn record(&mut self, before: &Document, after: &str, now_seconds: f64) {
        self.stroke(before, [&before.text, after], now_seconds, false);
    }

    /// The melody has changed by an edit.
    pub fn record_melody(&mut self, before: &Document, after: &str, now_seconds: f64) {
        self.stroke(before, [&before.melody, after], now_seconds, true);
    }

    fn stroke(
        &mut self,
        before: &Document,
        [old, new]: [&str; 2],
        at_seconds: f64,
        of_melody: bool,
    ) {
        if old == new {
            return;
        }
        let stroke = Stroke::of(old, new);
        let goes_on = self.future.is_empty()
            && self.last.is_some_and(|last| {
                let soon = at_seconds - last.at_seconds < PAUSE_SECONDS;
                last.of_melody == of_melody && stroke.goes_on(last.stroke) && soon
            });
        self.last = Some(Last {
            stroke,
            at_seconds,
            of_melody,
        });
        self.future.clear();
        if !goes_on {
            self.past.push_back(before.clone());
            self.trim();
        }
    }

    /// The document is another one at a stroke: loaded, pasted whole, transposed, or with a pick
    /// more or less.
    pub fn step(&mut self, before: &Document) {
        self.last = None;
        self.future.clear();
        self.past.push_back(before.clone());
        self.trim();
    }

    /// What has happened since the last step belongs to it.
    pub fn go_on(&mut self) {
        self.last = None;
        self.future.clear();
    }

    fn trim(&mut self) {
        let past = &mut self.past;
        while past.len() > MOST_STEPS || (bytes(past) > MOST_BYTES && past.len() > 1) {
            past.pop_front();
        }
    }

    /// Whether there is something to undo.
    #[must_use]
    pub fn can_undo(&self) -> bool {
        !self.past.is_empty()
    }

    /// Whether there is something to redo.
    #[must_use]
    pub fn can_redo(&self) -> bool {
        !self.future.is_empty()
    }

    /// The document before the last step; the one in hand can then be redone.
    pub fn undo(&mut self, now: &Document) -> Option<Document> {
        let before = self.past.pop_back()?;
        self.future.push(now.clone());
        self.last = None;
        Some(before)
    }

    /// The document that was undone last; the one in hand can then be undone.
    pub fn redo(&mut self, now: &Document) -> Option<Document> {
        let after = self.future.pop()?;
        self.past.push_back(now.clone());
        self.last = None;
        Some(after)
    }
}

/// About how much memory documents take, in bytes. Own voicings that several of them share count
/// once.
fn bytes(documents: &VecDeque<Document>) -> usize {
    let before = documents.iter().map(|one| Some(&one.own));
    let before = std::iter::once(None).chain(before);
    let of_one = |(document, before): (&Document, Option<&Arc<MyVoicings>>)| {
        let shared = before.is_some_and(|before| Arc::ptr_eq(before, &document.own));
        document.bytes() + if shared { 0 } else { document.own.bytes() }
    };
    documents.iter().zip(before).map(of_one).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Types a text sign by sign.
    fn typed(history: &mut History, text: &mut String, signs: &str, at_seconds: &mut f64) {
        for sign in signs.chars() {
            let before = text.clone();
            text.push(sign);
            *at_seconds += 0.1;
            history.record(&before.as_str().into(), text, *at_seconds);
        }
    }

    #[test]
    fn words_are_undone_one_by_one_and_come_back() {
        let mut history = History::default();
        let (mut text, mut at) = (String::new(), 0.0);
        typed(&mut history, &mut text, "| Dm7 | G7", &mut at);
        let mut seen = Vec::new();
        while let Some(before) = history.undo(&text.as_str().into()) {
            text = before.text.as_ref().to_owned();
            seen.push(text.clone());
        }
        assert_eq!(seen, ["| Dm7 | ", "| ", ""]);
        while let Some(after) = history.redo(&text.as_str().into()) {
            text = after.text.as_ref().to_owned();
        }
        assert_eq!(text, "| Dm7 | G7");
    }

    #[test]
    fn a_pause_a_paste_and_a_removal_are_steps_of_their_own() {
        let mut history = History::default();
        history.record(&"".into(), "C", 0.0);
        history.record(&"C".into(), "C6", 5.0);
        history.record(&"C6".into(), "C6 | F6 | Bb7", 5.1);
        history.record(&"C6 | F6 | Bb7".into(), "C6 | F6 | Bb", 5.2);
        history.record(&"C6 | F6 | Bb".into(), "C6 | F6 | B", 5.3);
        let past: Vec<&str> = history.past.iter().map(|past| &*past.text).collect();
        assert_eq!(past, ["", "C", "C6", "C6 | F6 | Bb7"]);
    }

    #[test]
    fn an_edit_after_an_undo_drops_what_was_undone() {
        let mut history = History::default();
        history.record(&"".into(), "| C6 |", 0.0);
        assert_eq!(history.undo(&"| C6 |".into()), Some("".into()));
        history.record(&"".into(), "F", 0.1);
        assert!(!history.can_redo());
        assert_eq!(history.undo(&"F".into()), Some("".into()));
        assert!(!history.can_undo());
    }

    #[test]
    fn memory_is_bounded() {
        let mut history = History::default();
        let long = "x".repeat(100_000);
        let text = |n: usize| format!("{n} {long}");
        for n in 0..500 {
            history.record(&(&text(n)).into(), &text(n + 1), 0.0);
        }
        let bytes: usize = history.past.iter().map(Document::bytes).sum();
        assert!(bytes <= MOST_BYTES, "{bytes}");
        assert_eq!(history.past.back(), Some(&(&text(499)).into()));
        for n in 0..2 * MOST_STEPS {
            history.record(&(&format!("{n} a")).into(), &format!("{n} bc"), 0.0);
        }
        assert_eq!(history.past.len(), MOST_STEPS);
    }

    /// Own voicings that the steps share are there once.
    #[test]
    fn shared_voicings_count_once() {
        let filler = serde_json::json!({"by": "x".repeat(MOST_BYTES / 4)});
        let own = Arc::new(MyVoicings::loaded(Some(filler)));
        let other = Arc::new(own.as_ref().clone());
        let mut history = History::default();
        for n in 0..100 {
            history.step(&Document::from(&format!("{n}")).with_own(own.clone()));
        }
        assert_eq!(history.past.len(), 100);
        for n in 0..5 {
            let own = if n % 2 == 0 { &other } else { &own };
            history.step(&Document::from(&format!("{n}")).with_own(own.clone()));
        }
        assert!(history.past.len() < 5, "{}", history.past.len());
    }

    /// Letters of the melody and letters of the chart are steps apart.
    #[test]
    fn each_text_has_its_own_strokes() {
        let mut history = History::default();
        let none = Document::from("");
        let melody = none.with_melody("A5");
        let both = Document::from("C").with_melody("A5");
        history.record_melody(&none, "A", 0.0);
        history.record_melody(&none.with_melody("A"), "A5", 0.1);
        history.record(&melody, "C", 0.2);
        assert_eq!(history.undo(&both), Some(melody));
        assert_eq!(history.undo(&none), Some(none));
        assert!(!history.can_undo());
    }
}
