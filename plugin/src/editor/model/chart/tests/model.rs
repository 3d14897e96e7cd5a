//! Random sessions at the chart beside a plain model of what they come to. Only tests import it.

use super::*;
use guidehand_theory::chart;
use guidehand_theory::symbol::{self, Sign, Symbol};
use proptest::prelude::*;

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
