//! What is tried by ear against a model: at random things are asked, stopped, played, bypassed, reset
//! and edited, and the notes sent must be those that the model expects.

use super::*;
use crate::engine::clock;
use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use std::collections::BTreeSet;

/// What the panel asks, as the model knows it.
#[derive(Clone, Debug)]
struct Wanted {
    pace: Pace,
    /// Keys and eighths.
    steps: Vec<(BTreeSet<u8>, u8)>,
    beneath: BTreeSet<u8>,
    also: bool,
}

#[derive(Clone, Debug)]
enum Deed {
    Ask(Wanted),
    Stop,
    Play,
    StandStill,
    Bypass(bool),
    Reset,
    Edit,
    Nothing,
}

/// The start or the end of a note: the sample, the key, and whether it starts.
type Sent = (u32, u8, bool);

/// What is tried, as it must sound.
#[derive(Default)]
struct Model {
    tried: Option<(u32, Wanted, f64)>,
    sent: Vec<Sent>,
}

fn of_request(wanted: &Wanted) -> Request {
    let keys = |keys: &BTreeSet<u8>| chord(&keys.iter().copied().collect::<Vec<_>>());
    let steps = wanted.steps.iter().map(|(set, eighths)| match set.len() {
        0 => Step::default().lasting(*eighths),
        1 => Step::note(note(*set.first().unwrap())).lasting(*eighths),
        _ => keys(set).lasting(*eighths),
    });
    Request::new(wanted.pace, steps)
        .over(keys(&wanted.beneath))
        .also_while_playing(wanted.also)
}

impl Model {
    /// The times and keys of the steps of what is tried, and its end.
    fn times(began: u32, wanted: &Wanted, swing: f64, bpm: f64) -> Vec<u32> {
        let beat = f64::from(RATE) * 60.0
            / if wanted.pace == Pace::Free {
                120.0
            } else {
                bpm
            };
        let off = if wanted.pace == Pace::Swung {
            swing
        } else {
            0.5
        };
        let mut eighths = 0;
        let mut times = vec![began];
        for (_, length) in &wanted.steps {
            eighths += u32::from(*length);
            let beats = f64::from(eighths / 2) + f64::from(eighths % 2) * off;
            times.push(began + clock::whole((beats * beat).round()).unwrap());
        }
        times
    }

    /// What is sent from one sample on, up to another.
    fn pass(&mut self, from: u32, until: u32, swing: f64) {
        let Some((began, wanted, bpm)) = &self.tried else {
            return;
        };
        let times = Self::times(*began, wanted, swing, *bpm);
        let last = times.len() - 1;
        let mut over = false;
        for (at, time) in times.iter().enumerate() {
            if !(from..until).contains(time) {
                continue;
            }
            let before = at.checked_sub(1).map(|before| &wanted.steps[before].0);
            for key in before.into_iter().flatten() {
                if !wanted.beneath.contains(key) {
                    self.sent.push((*time, *key, false));
                }
            }
            if at == last {
                over = true;
                self.sent
                    .extend(wanted.beneath.iter().map(|key| (*time, *key, false)));
                continue;
            }
            for key in &wanted.steps[at].0 {
                if at > 0 && wanted.beneath.contains(key) {
                    self.sent.push((*time, *key, false));
                }
                self.sent.push((*time, *key, true));
            }
            if at == 0 {
                let more = wanted.beneath.difference(&wanted.steps[0].0);
                self.sent.extend(more.map(|key| (*time, *key, true)));
            }
        }
        if over {
            self.tried = None;
        }
    }

    /// What is tried ends at a sample.
    fn end(&mut self, time: u32, swing: f64) {
        if let Some((began, wanted, bpm)) = self.tried.take() {
            let times = Self::times(began, &wanted, swing, bpm);
            let sounds = times.iter().take_while(|at| **at < time).count();
            if let Some(step) = sounds.checked_sub(1) {
                let all = wanted.steps[step].0.union(&wanted.beneath);
                self.sent.extend(all.map(|key| (time, *key, false)));
            }
        }
    }
}

fn wanted() -> impl Strategy<Value = Wanted> {
    let keys = |most| prop::collection::btree_set(48..80_u8, 0..most);
    let pace = prop::sample::select(vec![Pace::Free, Pace::Even, Pace::Swung]);
    let steps = prop::collection::vec((keys(5), 1..5_u8), 1..12);
    (pace, steps, keys(5), any::<bool>()).prop_map(|(pace, steps, beneath, also)| Wanted {
        pace,
        steps,
        beneath,
        also,
    })
}

fn deed() -> impl Strategy<Value = Deed> {
    prop_oneof![
        4 => wanted().prop_map(Deed::Ask),
        1 => Just(Deed::Stop),
        1 => Just(Deed::Play),
        1 => Just(Deed::StandStill),
        1 => any::<bool>().prop_map(Deed::Bypass),
        1 => Just(Deed::Reset),
        1 => Just(Deed::Edit),
        2 => Just(Deed::Nothing),
    ]
}

/// In one order where several come at a sample.
fn sorted(mut sent: Vec<Sent>) -> Vec<Sent> {
    // A key that is struck anew at a sample ends there first.
    sent.sort_by_key(|(time, key, starts)| (*time, *key, *starts));
    sent
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 200,
        failure_persistence: None,
        rng_seed: RngSeed::Fixed(1),
        ..ProptestConfig::default()
    })]

    #[test]
    fn the_notes_that_are_sent_are_those_that_are_expected(
        deeds in prop::collection::vec((deed(), 1..60_000_u32, 1..4_000_u32), 1..20),
        swing in 0.5..0.75_f64,
        bpms in prop::collection::vec(30.0..400.0_f64, 20),
    ) {
        let mut stage = Stage::new(Source::Reading);
        stage.settings.groove.swing = swing;
        let mut model = Model::default();
        for ((deed, frames, longest), bpm) in deeds.iter().zip(bpms) {
            let from = stage.now;
            stage.bpm = Some(bpm);
            let mut request = None;
            match deed {
                Deed::Ask(wanted) => {
                    model.end(from, swing);
                    model.tried = Some((from, wanted.clone(), bpm));
                    request = Some(Some(of_request(wanted)));
                }
                Deed::Stop => {
                    model.end(from, swing);
                    request = Some(None);
                }
                Deed::Play => stage.play(),
                Deed::StandStill => stage.stand_still(),
                Deed::Bypass(bypass) => stage.settings.bypass = *bypass,
                Deed::Reset => {
                    stage.performer.reset();
                    model.end(from, swing);
                }
                Deed::Edit => {
                    stage.update = ChartUpdate::Edited;
                    if stage.plays() {
                        model.end(from, swing);
                    }
                }
                Deed::Nothing => {}
            }
            let silenced = |(_, wanted, _): &(u32, Wanted, f64)| stage.plays() && !wanted.also;
            if stage.settings.bypass || model.tried.as_ref().is_some_and(silenced) {
                model.end(from, swing);
            }
            model.pass(from, from + frames, swing);
            let mut ask = request.as_ref().map(|request| request.as_ref());
            let mut rest = *frames;
            while rest > 0 {
                let block = rest.min(*longest);
                stage.block(block, ask.take(), &[]);
                rest -= block;
            }
        }
        model.end(stage.now, swing);
        stage.stop(64);
        prop_assert!(sounding(&stage.events).is_empty());
        let sent = stage.events.iter().map(|(time, event)| match event {
            Output::NoteOn(key) => (*time, key.key, true),
            Output::NoteOff { key, .. } => (*time, *key, false),
            Output::Through(_) => panic!("nothing passes"),
        });
        prop_assert_eq!(sorted(sent.collect()), sorted(model.sent));
    }
}
