//! What is picked for chords, through edits, undo and saving, against a plain model of it.

use super::*;
use crate::document::Unknown;
use crate::editor::model::recorder::{OutsideCall, Recorder};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::symbol::{self, Sign, Symbol};
use proptest::prelude::*;
use std::num::NonZeroU16;

/// The A form of G13: F A B E.
const G13: [u8; 4] = [53, 57, 59, 64];

const TEXT: &str = "| Dm7 | G7 | Cmaj7 |";

fn notes(keys: &[u8]) -> PinNotes {
    PinNotes::new(keys.iter().map(|key| MidiNote::new(*key).unwrap())).unwrap()
}

fn at(index: usize, symbol: &str) -> ChordAt {
    ChordAt {
        index,
        symbol: symbol.to_owned(),
    }
}

fn pin(index: usize, symbol: &str) -> ChartAction {
    ChartAction::Pin {
        at: at(index, symbol),
        pass: Pass::Every,
        notes: notes(&G13),
    }
}

fn typed(text: &str, cursor: usize) -> ChartAction {
    ChartAction::Type {
        text: text.to_owned(),
        cursor: cursor..cursor,
        now_seconds: 0.0,
        finished: false,
    }
}

/// A chart under edit, which nobody plans.
fn with(text: &str) -> (ChartText, Recorder) {
    let mut outside = Recorder::unplanned();
    outside.set_chart(&text.into());
    outside.read();
    outside.told.clear();
    (ChartText::new(outside.chart()), outside)
}

fn pins(chart: &ChartText) -> Vec<(usize, String)> {
    let pins = chart.document().picks.pins().iter();
    pins.map(|pin| (pin.at.index, pin.at.symbol.clone()))
        .collect()
}

#[test]
fn a_pin_is_one_step_that_is_undone_and_done_again() {
    let (mut chart, mut outside) = with(TEXT);
    chart.apply(pin(1, "G7"), &mut outside);
    assert_eq!(pins(&chart), [(1, "G7".to_owned())]);
    chart.apply(ChartAction::Undo, &mut outside);
    assert!(chart.document().picks.is_empty() && !chart.can_undo());
    chart.apply(ChartAction::Redo, &mut outside);
    assert_eq!(pins(&chart), [(1, "G7".to_owned())]);
    let unpin = ChartAction::Unpin {
        at: at(1, "G7"),
        pass: Pass::Every,
    };
    chart.apply(unpin, &mut outside);
    assert!(chart.document().picks.is_empty());
    // Each of them is handed on, so that the host is told to save.
    let handed_on = OutsideCall::Chart(TEXT.to_owned());
    assert_eq!(outside.told, vec![handed_on; 4]);
}

#[test]
fn what_is_picked_for_a_chord_that_is_not_there_is_not_done() {
    let (mut chart, mut outside) = with(TEXT);
    chart.apply(pin(1, "Gm7"), &mut outside);
    chart.apply(pin(3, "G7"), &mut outside);
    assert_eq!(outside.told, []);
    assert!(!chart.can_undo());
}

/// On the way from `G7` to `G13` stands a symbol that the notes do not fit.
#[test]
fn a_pin_outlasts_the_letters_of_another_symbol() {
    let (mut chart, mut outside) = with(TEXT);
    chart.apply(pin(1, "G7"), &mut outside);
    for (symbol, there) in [
        ("G", true),
        ("Gm", false),
        ("G", true),
        ("G1", true),
        ("G13", true),
    ] {
        let text = TEXT.replace("G7", symbol);
        let cursor = text.find(symbol).unwrap() + symbol.len();
        chart.apply(typed(&text, cursor), &mut outside);
        outside.read();
        chart.refresh(outside.chart());
        assert_eq!(!pins(&chart).is_empty(), there, "{symbol}");
        assert_eq!(chart.dropped(), [], "nothing is told while it is typed");
    }
    assert_eq!(pins(&chart), [(1, "G13".to_owned())]);
}

#[test]
fn what_is_lost_is_told_when_typing_rests_and_comes_back_with_undo() {
    let (mut chart, mut outside) = with(TEXT);
    chart.apply(pin(1, "G7"), &mut outside);
    let text = TEXT.replace("G7", "Gm7");
    chart.apply(typed(&text, 9), &mut outside);
    outside.rest();
    chart.refresh(outside.chart());
    let told: Vec<String> = chart.dropped().iter().map(ToString::to_string).collect();
    assert_eq!(
        told,
        ["The pinned voicing of G7 is dropped: it does not fit Gm7."]
    );
    chart.apply(ChartAction::Undo, &mut outside);
    assert_eq!((chart.dropped(), pins(&chart).len()), (&[][..], 1));
    chart.apply(ChartAction::Put("| C6 |".to_owned()), &mut outside);
    assert_eq!(chart.dropped().len(), 1);
    assert!(pins(&chart).is_empty());
}

/// Typing rests while a symbol is half typed, and goes on.
#[test]
fn what_is_typed_away_comes_back_where_it_is_typed_again() {
    let (mut chart, mut outside) = with(TEXT);
    chart.apply(pin(1, "G7"), &mut outside);
    let mut types = |chart: &mut ChartText, symbol: &str| {
        let text = TEXT.replace("G7", symbol);
        let cursor = text.len() - " | Cmaj7 |".len();
        chart.apply(typed(&text, cursor), &mut outside);
        outside.rest();
        chart.refresh(outside.chart());
    };
    let pinned = [(1, "G7".to_owned())];
    types(&mut chart, "Gm7");
    assert_eq!(pins(&chart), []);
    assert_eq!(chart.dropped().len(), 1);
    types(&mut chart, "G");
    assert_eq!(pins(&chart), []);
    types(&mut chart, "G7");
    assert_eq!(pins(&chart), pinned);
    assert_eq!(chart.dropped(), []);
    // Between other chords it is another one.
    types(&mut chart, "Gm7");
    types(&mut chart, "C6 | G7");
    assert_eq!(pins(&chart), []);
    types(&mut chart, "G7");
    assert_eq!(pins(&chart), pinned);
}

/// The repeat goes, and the pin for the second time with it.
#[test]
fn a_pin_for_a_time_that_is_not_played_any_more_is_dropped_with_a_word() {
    let (mut chart, mut outside) = with("|: Dm7 | G7 :| C6 |");
    for pass in [1, 2] {
        let pin = ChartAction::Pin {
            at: at(1, "G7"),
            pass: Pass::Only(NonZeroU16::new(pass).unwrap()),
            notes: notes(&G13),
        };
        chart.apply(pin, &mut outside);
    }
    let text = "| F6 | Dm7 | G7 | C6 |";
    chart.apply(typed(text, text.len()), &mut outside);
    assert_eq!(pins(&chart), [(2, "G7".to_owned())]);
    outside.rest();
    chart.refresh(outside.chart());
    let told: Vec<String> = chart.dropped().iter().map(ToString::to_string).collect();
    let words =
        "The pinned voicing of G7 for the 2nd time is dropped: there is no 2nd time any more.";
    assert_eq!(told, [words]);
    chart.apply(ChartAction::Undo, &mut outside);
    assert_eq!(pins(&chart).len(), 2);
}

#[test]
fn a_pin_goes_up_and_down_with_the_chart() {
    let (mut chart, mut outside) = with(TEXT);
    chart.apply(pin(1, "G7"), &mut outside);
    let before = chart.document().clone();
    let up = ChartAction::Transpose(Direction::Up);
    let down = ChartAction::Transpose(Direction::Down);
    chart.apply(up, &mut outside);
    assert_eq!(pins(&chart), [(1, "Ab7".to_owned())]);
    // Something else is picked in the other key, and goes back with the rest.
    chart.apply(pin(2, "Dbmaj7"), &mut outside);
    chart.apply(down, &mut outside);
    assert_eq!(*chart.document().text, *before.text);
    assert_eq!(
        pins(&chart),
        [(1, "G7".to_owned()), (2, "Cmaj7".to_owned())]
    );
    let first = &chart.document().picks.pins()[0];
    assert_eq!(first.notes, before.picks.pins()[0].notes);
}

#[test]
fn a_harmony_that_is_kept_tells_what_it_drops() {
    let (mut chart, mut outside) = with(TEXT);
    chart.apply(pin(1, "G7"), &mut outside);
    outside.keep("| Dm7 | Gmaj7 | Cmaj7 |");
    outside.read();
    chart.refresh(outside.chart());
    assert_eq!(chart.dropped().len(), 1);
    chart.apply(ChartAction::Undo, &mut outside);
    assert_eq!(pins(&chart), [(1, "G7".to_owned())]);
}

#[test]
fn a_scale_is_chosen_and_is_on_show() {
    let (mut chart, mut outside) = with(TEXT);
    let altered = ScaleName {
        name: "altered".to_owned(),
        above: 0,
    };
    let choose = |scale| ChartAction::ChooseScale {
        at: at(1, "G7"),
        scale,
    };
    chart.apply(choose(Some(altered.clone())), &mut outside);
    outside.read();
    chart.refresh(outside.chart());
    let written = symbol::parse("G7").unwrap();
    let shown = chart.on_show(Some(1), &written).unwrap();
    assert_eq!((shown.at, shown.scale), (at(1, "G7"), Some(altered)));
    assert_eq!(chart.on_show(Some(0), &written), None, "another chord");
    chart.apply(choose(None), &mut outside);
    assert!(chart.document().picks.is_empty());
}

#[test]
fn one_time_only_or_every_time_is_asked_where_they_differ() {
    let (mut chart, mut outside) = with("|: Dm7 | G7 :| C6 |");
    let taste = guidehand_theory::pipeline::Taste::default();
    outside.rest();
    chart.refresh(outside.chart());
    assert!(!chart.reading().passes_differ(4, &taste), "played once");
    let second = ChartAction::Pin {
        at: at(1, "G7"),
        pass: Pass::Only(NonZeroU16::new(2).unwrap()),
        notes: notes(&G13),
    };
    chart.apply(second, &mut outside);
    outside.rest();
    chart.refresh(outside.chart());
    let low = notes(&[41, 45, 47, 52]);
    let every = ChartAction::Pin {
        at: at(1, "G7"),
        pass: Pass::Only(NonZeroU16::new(1).unwrap()),
        notes: low,
    };
    chart.apply(every, &mut outside);
    outside.rest();
    chart.refresh(outside.chart());
    assert!(chart.reading().passes_differ(1, &taste));
    assert_eq!(chart.reading().passes_of(1), 2);
}

/// A step of a random session. Numbers choose among what there is.
#[derive(Clone, Debug)]
enum Step {
    /// Another chord is put in front of one.
    Insert(usize, usize),
    /// A chord is taken out.
    Remove(usize),
    /// A chord becomes another one.
    Replace(usize, usize),
    Pin(usize, u16, Vec<u8>),
    Unpin(usize),
    Scale(usize, bool),
    Transpose(bool),
    Undo,
    Redo,
    /// The state is saved, and loaded into another instance.
    Load,
}

fn steps() -> impl Strategy<Value = Vec<Step>> {
    let keys = prop::collection::btree_set(40_u8..80, 1..=6);
    let keys = keys.prop_map(|keys| keys.into_iter().collect());
    let step = prop_oneof![
        (0_usize..9, 0_usize..99).prop_map(|(at, chord)| Step::Insert(at, chord)),
        (0_usize..9).prop_map(Step::Remove),
        (0_usize..9, 0_usize..99).prop_map(|(at, chord)| Step::Replace(at, chord)),
        (0_usize..9, 0_u16..3, keys).prop_map(|(at, pass, keys)| Step::Pin(at, pass, keys)),
        (0_usize..9).prop_map(Step::Unpin),
        (0_usize..9, any::<bool>()).prop_map(|(at, on)| Step::Scale(at, on)),
        any::<bool>().prop_map(Step::Transpose),
        Just(Step::Undo),
        Just(Step::Undo),
        Just(Step::Redo),
        Just(Step::Load),
    ];
    prop::collection::vec(step, 1..24)
}

/// A chord as the plain model knows it: with what was picked for it.
#[derive(Clone, Debug, Default, PartialEq)]
struct Plain {
    symbol: String,
    pins: Vec<(Pass, PinNotes)>,
    scale: Option<ScaleName>,
}

/// Symbols that a text holds at most once each, so that it is plain which chord is which.
const SYMBOLS: [&str; 16] = [
    "Dm7", "G7", "Cmaj7", "A7", "Em7b5", "Bb7", "Ebmaj7", "F#m7", "B7b9", "Abm7", "Db7", "Gbmaj7",
    "F6", "C#dim7", "D7sus4", "E7alt",
];

fn text_of(chords: &[Plain]) -> String {
    let bars = chords.iter().map(|chord| format!(" {} |", chord.symbol));
    format!("|{}", bars.collect::<String>())
}

impl Plain {
    /// The chord in its place, by the symbol that documents hold.
    fn at(&self, index: usize) -> ChordAt {
        let chord = symbol::parse(&self.symbol).unwrap();
        at(index, &Symbol(&chord, Sign::Ascii).to_string())
    }

    /// The same chord with another symbol: what does not fit is dropped.
    fn becomes(&self, symbol: &str) -> Plain {
        let chord = symbol::parse(symbol).unwrap();
        let was = symbol::parse(&self.symbol).unwrap();
        let mut now = Plain {
            symbol: symbol.to_owned(),
            ..self.clone()
        };
        now.pins.retain(|(_, notes)| notes.fit(&was, &chord));
        now.scale = now.scale.filter(|scale| scale.fits(&chord));
        now
    }
}

/// The chart under edit beside the plain model.
struct Session {
    chart: ChartText,
    outside: Recorder,
    now: Vec<Plain>,
    past: Vec<(Vec<Plain>, String)>,
    future: Vec<(Vec<Plain>, String)>,
    /// Half steps that can be taken back: up or down, before and after.
    moved: Vec<(bool, Vec<Plain>, Vec<Plain>)>,
    /// What there was before it was typed into.
    begun: Vec<Plain>,
    seconds: f64,
}

impl Session {
    fn new() -> Session {
        let names = ["Dm7", "G7", "Cmaj7"];
        let now: Vec<Plain> = names
            .map(|symbol| Plain {
                symbol: symbol.to_owned(),
                ..Plain::default()
            })
            .into();
        let (chart, outside) = with(&text_of(&now));
        Session {
            chart,
            outside,
            begun: now.clone(),
            now,
            past: Vec::new(),
            future: Vec::new(),
            moved: Vec::new(),
            seconds: 0.0,
        }
    }

    /// The chart as it is saved.
    fn saved(&self) -> String {
        self.outside.saved()
    }

    fn act(&mut self, action: ChartAction) {
        self.chart.apply(action, &mut self.outside);
        self.outside.read();
        self.chart.refresh(self.outside.chart());
    }

    /// Something is picked: a step in the history, too, unless it changes nothing.
    fn picks(&mut self, now: Vec<Plain>, action: ChartAction) {
        if now != self.now {
            self.begun.clone_from(&now);
        }
        self.goes_to(now, action);
    }

    /// With what was lost of a chord since typing began, if it stands between its neighbours again.
    fn with_lost(&self, mut now: Vec<Plain>) -> Vec<Plain> {
        let around = |chords: &[Plain], at: usize| {
            let symbol = |at: usize| Some(chords.get(at)?.symbol.clone());
            [
                at.checked_sub(1).and_then(symbol),
                symbol(at),
                symbol(at + 1),
            ]
        };
        let chords = now.clone();
        for (at, chord) in now.iter_mut().enumerate() {
            let was =
                (0..self.begun.len()).find(|was| around(&self.begun, *was) == around(&chords, at));
            let Some(was) = was.map(|was| &self.begun[was]) else {
                continue;
            };
            for pin in &was.pins {
                if chord.pins.iter().all(|(pass, _)| *pass != pin.0) {
                    chord.pins.push(*pin);
                }
            }
            chord.pins.sort_by_key(|(pass, _)| *pass);
            chord.scale = chord.scale.take().or_else(|| was.scale.clone());
        }
        now
    }

    /// A step that is one in the history, too, unless it changes nothing.
    fn goes_to(&mut self, now: Vec<Plain>, action: ChartAction) {
        let before = (self.now.clone(), self.saved());
        self.act(action);
        if now != self.now {
            self.past.push(before);
            self.future.clear();
            self.now = now;
        }
    }

    /// A text is typed at a stroke.
    fn types(&mut self, now: Vec<Plain>, edited: usize) {
        let text = text_of(&now);
        let behind = text_of(&now[edited..]);
        let cursor = text.len() - behind.len() + 1;
        self.seconds += 10.0;
        let action = ChartAction::Type {
            text,
            cursor: cursor..cursor,
            now_seconds: self.seconds,
            finished: true,
        };
        let now = self.with_lost(now);
        self.goes_to(now, action);
    }

    /// A half step back leads to the very chords before, in the octaves in which they were, as long
    /// as nothing has been changed meanwhile. `now` is what the half step leads to otherwise.
    fn there_and_back(&mut self, up: bool, now: &mut Vec<Plain>) {
        let here = text_of(&self.now);
        if self
            .moved
            .last()
            .is_some_and(|(.., after)| text_of(after) != here)
        {
            self.moved.clear();
        }
        match self.moved.pop_if(|(went_up, ..)| *went_up != up) {
            Some((_, before, after)) if after == self.now => *now = before,
            Some(_) => {}
            None => self.moved.push((up, self.now.clone(), now.clone())),
        }
    }

    fn unused(&self, number: usize) -> Option<&'static str> {
        let used = |symbol: &&&str| self.now.iter().all(|chord| chord.symbol != **symbol);
        let unused: Vec<&&str> = SYMBOLS.iter().filter(used).collect();
        (!unused.is_empty()).then(|| *unused[number % unused.len()])
    }

    fn at(&self, index: usize) -> ChordAt {
        self.now[index].at(index)
    }

    fn step(&mut self, step: &Step) {
        let count = self.now.len();
        let mut now = self.now.clone();
        match step {
            Step::Insert(index, number) => {
                let (index, new) = (index % (count + 1), self.unused(*number));
                let Some(new) = new.filter(|_| count < 9) else {
                    return;
                };
                let new = Plain {
                    symbol: new.to_owned(),
                    ..Plain::default()
                };
                now.insert(index, new);
                self.types(now, index + 1);
            }
            Step::Remove(index) if count > 1 => {
                now.remove(index % count);
                self.types(now, index % count);
            }
            Step::Remove(_) => {}
            Step::Replace(index, number) => {
                let (index, new) = (index % count, self.unused(*number));
                let Some(new) = new else { return };
                now[index] = now[index].becomes(new);
                self.types(now, index + 1);
            }
            Step::Pin(index, pass, keys) => {
                let index = index % count;
                let pass = NonZeroU16::new(*pass).map_or(Pass::Every, Pass::Only);
                let notes = notes(keys);
                let pins = &mut now[index].pins;
                pins.retain(|(other, _)| pass != Pass::Every && *other != pass);
                pins.push((pass, notes));
                pins.sort_by_key(|(pass, _)| *pass);
                let at = self.at(index);
                self.picks(now, ChartAction::Pin { at, pass, notes });
            }
            Step::Unpin(index) => {
                let index = index % count;
                now[index].pins.clear();
                let (at, pass) = (self.at(index), Pass::Every);
                self.picks(now, ChartAction::Unpin { at, pass });
            }
            Step::Scale(index, on) => {
                let index = index % count;
                let scale = on.then(|| ScaleName {
                    name: "altered".to_owned(),
                    above: 0,
                });
                now[index].scale.clone_from(&scale);
                let at = self.at(index);
                self.picks(now, ChartAction::ChooseScale { at, scale });
            }
            Step::Transpose(up) => {
                let (direction, by) = if *up {
                    (Direction::Up, 1)
                } else {
                    (Direction::Down, -1)
                };
                let before = (self.now.clone(), self.saved());
                self.act(ChartAction::Transpose(direction));
                // The names in the new key are another test's matter.
                let text = self.chart.text().to_owned();
                let symbols = chart::chords(&text, NoteNames::English);
                let register = self.outside.plan_for().register;
                for (chord, (place, read)) in now.iter_mut().zip(symbols) {
                    let was = symbol::parse(&chord.symbol).unwrap();
                    let moved = read.unwrap().root.class();
                    assert_eq!(moved, was.root.class().up(by), "{text}");
                    chord.symbol = text[place].to_owned();
                    for (_, notes) in &mut chord.pins {
                        *notes = notes.transposed(by, &register).unwrap();
                    }
                }
                self.there_and_back(*up, &mut now);
                self.now = now;
                self.past.push(before);
                self.future.clear();
                self.begun.clone_from(&self.now);
            }
            Step::Undo => {
                let before = (self.now.clone(), self.saved());
                self.act(ChartAction::Undo);
                if let Some((now, saved)) = self.past.pop() {
                    assert_eq!(self.saved(), saved, "byte for byte");
                    self.future.push(before);
                    self.begun.clone_from(&now);
                    self.now = now;
                }
            }
            Step::Redo => {
                let before = (self.now.clone(), self.saved());
                self.act(ChartAction::Redo);
                if let Some((now, saved)) = self.future.pop() {
                    assert_eq!(self.saved(), saved, "byte for byte");
                    self.past.push(before);
                    self.begun.clone_from(&now);
                    self.now = now;
                }
            }
            Step::Load => {
                let saved = self.saved();
                self.outside.load(&saved);
                assert_eq!(self.saved(), saved, "byte for byte");
                self.chart.refresh(self.outside.chart());
            }
        }
    }

    /// The document is what the plain model says.
    fn agrees(&self) {
        let document = self.chart.document();
        assert_eq!(&*document.text, text_of(&self.now));
        let mut pins = Vec::new();
        let mut scales = Vec::new();
        for (index, chord) in self.now.iter().enumerate() {
            let pin = |(pass, notes): &(Pass, PinNotes)| (chord.at(index), *pass, *notes);
            pins.extend(chord.pins.iter().map(pin));
            let scale = chord.scale.iter();
            scales.extend(scale.map(|scale| (chord.at(index), scale.clone())));
        }
        let found = document.picks.pins().iter();
        let found: Vec<_> = found.map(|p| (p.at.clone(), p.pass, p.notes)).collect();
        assert_eq!(found, pins);
        let found = document.picks.scales().iter();
        let found: Vec<_> = found.map(|s| (s.at.clone(), s.scale.clone())).collect();
        assert_eq!(found, scales);
        assert_eq!(self.outside.chart().document(), *document);
        let nothing = Unknown::new();
        assert!(document.picks.pins().iter().all(|pin| pin.later == nothing));
    }
}

proptest! {
    #![proptest_config(ProptestConfig {
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    /// Whatever is edited, picked, transposed, undone, done again, saved and loaded: the document
    /// is what a plain model says, and undo gives back the same state byte for byte.
    #[test]
    fn the_document_is_what_a_plain_model_says(steps in steps()) {
        let mut session = Session::new();
        for step in &steps {
            session.step(step);
            session.agrees();
        }
        while !session.past.is_empty() {
            session.step(&Step::Undo);
            session.agrees();
        }
    }
}
