//! A player with a chord in hand, at random, and a host that plays, stops, jumps, bypasses and resets
//! meanwhile: what the host gets must be what the chart, its pins and what is tried by ear call for.
//! Undo brings back the saved chart byte by byte, and a saved chart plays the same.

use super::audition::{block, plugin};
use super::*;
use crate::document::{ChordPlayed, Document, Pass};
use crate::editor::player::{Deed, Player, Ways};
use crate::params::{NinthParam, RhythmParam, SourceParam, TextureParam};
use guidehand_theory::chart::{self, TICKS_PER_QUARTER};
use proptest::prelude::*;
use proptest::test_runner::{RngSeed, TestCaseError, TestRunner};
use std::cell::Cell;
use std::collections::BTreeSet;

/// At 48 kHz and 120 beats a minute a quarter note has so many samples, and each tick a whole number.
const QUARTER_SAMPLES: u32 = 24_000;

/// Chords on beats only, so that every change falls on a sample.
const CHARTS: [&str; 5] = [
    "| Dm7 | G7 | Cmaj7 | A7 |",
    "|: Dm7 G7 | [1 Cmaj7 A7 :| [2 Cmaj7 |",
    "| Gm7 C7b9 | N.C. | Fmaj7 | Bb13 |",
    "| G7 |",
    "3/4 | Cm7b5 | F7alt | Bbm6 / G7 |",
];

/// What is typed: chords, halves of chords, and what is no chord.
const TYPED: [&str; 8] = ["G", "7", "b9", " | ", "Dm7 ", "H", "(", ""];

/// What happens.
#[derive(Clone, Debug)]
enum Event {
    Player(Deed),
    Plays(bool),
    /// The song goes on from this quarter note.
    Jump(u32),
    Bypass(bool),
    Texture(TextureParam),
    Ninth(NinthParam),
    Reset,
    /// The player rests, and what was typed comes into force.
    Rest,
}

/// What has been checked, over all cases.
#[derive(Debug, Default)]
struct Counts {
    undone: Cell<u32>,
    kept: Cell<u32>,
    pins: Cell<u32>,
    tried: Cell<u32>,
    tried_in_song: Cell<u32>,
    played: Cell<u32>,
    reopened: Cell<u32>,
}

fn one_more(count: &Cell<u32>) {
    count.set(count.get() + 1);
}

/// Sets the plugin up so that what the chart calls for is told by the position alone.
fn plain(plugin: &Guidehand) {
    let params = &plugin.params;
    set(&params.source, SourceParam::Chart);
    set(&params.rhythm, RhythmParam::Hold);
    set(&params.ahead, false);
    set(&params.swing, 0.5);
}

/// The plugin in its host, and the player at its panel.
struct World<'a> {
    plugin: Guidehand,
    player: Player,
    /// The position of the song, in samples; none while it stands still.
    plays: Option<u32>,
    /// What sounds at the host.
    sounds: BTreeSet<u8>,
    /// What was asked last sounds while the song plays, too.
    also: bool,
    /// What the chart may sound: what it has called for since its change came.
    due: Vec<BTreeSet<u8>>,
    /// The change that sounds, and in which round.
    change: Option<(usize, u32)>,
    counts: &'a Counts,
}

impl<'a> World<'a> {
    fn new(counts: &'a Counts) -> World<'a> {
        let mut plugin = plugin();
        plain(&plugin);
        let panel = plugin.panel_ends.take().unwrap();
        World {
            player: Player::new(plugin.params.clone(), panel),
            plugin,
            plays: None,
            sounds: BTreeSet::new(),
            also: false,
            due: Vec::new(),
            change: None,
            counts,
        }
    }

    fn happens(&mut self, event: &Event) -> Result<(), TestCaseError> {
        let params = self.plugin.params.clone();
        match event {
            Event::Player(deed) => return self.acts(deed),
            Event::Plays(true) => self.plays = Some(0),
            Event::Plays(false) => self.plays = None,
            Event::Jump(quarters) => self.plays = self.plays.map(|_| quarters * QUARTER_SAMPLES),
            Event::Bypass(bypass) => set(&params.bypass, *bypass),
            Event::Texture(texture) => {
                set(&params.texture, *texture);
                params.chart.settle();
            }
            Event::Ninth(ninth) => set(&params.ninth, *ninth),
            Event::Reset => {
                self.plugin.reset();
                self.due.clear();
            }
            Event::Rest => params.chart.settle(),
        }
        if matches!(event, Event::Plays(_) | Event::Jump(_)) {
            self.due.clear();
        }
        self.player.frame();
        Ok(())
    }

    /// The player does something. What is undone is as before, byte by byte, and done again as after.
    fn acts(&mut self, deed: &Deed) -> Result<(), TestCaseError> {
        let before = self.player.saved();
        let (tries, asked) = (self.player.tries(), self.player.asked());
        self.player.act(deed);
        if self.player.asked() != asked {
            // What is only taken is silent while the song plays.
            self.also = matches!(
                deed,
                Deed::Hear | Deed::HearInContext | Deed::Try(_) | Deed::Lay(_)
            );
        }
        let after = self.player.saved();
        if after == before || matches!(deed, Deed::Undo | Deed::Redo) {
            return Ok(());
        }
        if matches!(deed, Deed::Keep | Deed::KeepOnce) {
            prop_assert!(tries, "nothing was tried, and something was kept");
            one_more(&self.counts.kept);
        }
        prop_assert!(self.player.can_undo(), "{:?} cannot be undone", deed);
        self.player.act(&Deed::Undo);
        // Beside a text that cannot be read stands the last one that could, which is a newer one now.
        if !before.contains("\"sounding\"") {
            prop_assert_eq!(self.player.saved(), before, "undone: {:?}", deed);
        }
        self.player.act(&Deed::Redo);
        prop_assert_eq!(self.player.saved(), after, "done again: {:?}", deed);
        one_more(&self.counts.undone);
        Ok(())
    }

    /// The change of the chart in force at the last sample of a block, and in which round of the chart.
    fn change_at(&self, sample: u32) -> Option<(usize, u32)> {
        let chart = self.plugin.chart.as_ref()?;
        let ticks = u64::from(sample) * u64::from(TICKS_PER_QUARTER) / u64::from(QUARTER_SAMPLES);
        let ticks = u32::try_from(ticks).unwrap();
        let round = ticks / chart.length_ticks;
        let at = chart.index_at(f64::from(ticks % chart.length_ticks));
        Some((at, round))
    }

    /// What the chart in force calls for in a change.
    fn called_for(&self, change: usize) -> BTreeSet<u8> {
        let chart = self.plugin.chart.as_ref().unwrap();
        let voiced = chart.voiced(change, &self.plugin.params.settings().taste);
        let notes = voiced.map(|(_, voiced)| voiced.voicing);
        let notes = notes.iter().flat_map(|voicing| voicing.notes());
        notes.map(|note| note.number()).collect()
    }

    /// One block of the host, and the check of what it brings.
    fn block(&mut self, frames: u32) -> Result<(), TestCaseError> {
        let position = self
            .plays
            .map(|at| f64::from(at) / f64::from(QUARTER_SAMPLES));
        let (sent, _) = block(&mut self.plugin, usize::try_from(frames).unwrap(), position);
        for (time, key, starts) in &sent {
            let paired = if *starts {
                self.sounds.insert(*key)
            } else {
                self.sounds.remove(key)
            };
            prop_assert!(paired, "{} at {}: {:?}", key, time, sent);
        }
        let trying = self.plugin.performer.snapshot().trying;
        let tried = trying.map_or(0, |trying| trying.keys | trying.beneath);
        let tried: BTreeSet<u8> = (0..128).filter(|key| tried & (1 << key) != 0).collect();
        let bypass = self.plugin.params.bypass.value();
        let change = self.plays.and_then(|at| self.change_at(at + frames - 1));
        let due = change.map_or_else(BTreeSet::new, |(at, _)| self.called_for(at));
        if bypass || change != self.change {
            self.due.clear();
        }
        self.change = change;
        if !self.due.contains(&due) {
            self.due.push(due);
        }
        if bypass {
            prop_assert!(self.sounds.is_empty(), "bypassed: {:?}", self.sounds);
        } else {
            if change.is_some() {
                prop_assert!(trying.is_none() || self.also, "{:?} is heard", trying);
            }
            let with_tried = |due: &BTreeSet<u8>| due.union(&tried).eq(&self.sounds);
            prop_assert!(
                self.due.iter().any(with_tried),
                "{:?} sound, of {:?} and {:?}",
                self.sounds,
                self.due,
                tried
            );
            if trying.is_some() {
                let count = if change.is_some() {
                    &self.counts.tried_in_song
                } else {
                    &self.counts.tried
                };
                one_more(count);
            }
            if change.is_some() && !self.sounds.is_empty() {
                one_more(&self.counts.played);
            }
        }
        self.plays = self.plays.map(|at| at + frames);
        self.player.frame();
        self.pins()
    }

    /// In the chart in force each pinned chord has the notes of its pin, whatever else is set.
    fn pins(&self) -> Result<(), TestCaseError> {
        let Document { text, picks, .. } = self.player.document();
        let (Ok(read), Some(planned)) = (chart::parse(&text), &self.plugin.chart) else {
            return Ok(());
        };
        let latest = self.plugin.params.chart.latest();
        if latest.edition != planned.edition {
            return Ok(());
        }
        for (change, played) in ChordPlayed::of(&read).into_iter().enumerate() {
            let Some(pin) = played.and_then(|played| {
                let mut pins = picks.pins().iter();
                pins.find(|pin| pin.at == played.at() && pin.pass == Pass::Every)
            }) else {
                continue;
            };
            let notes: BTreeSet<u8> = pin.notes.notes().iter().map(|n| n.number()).collect();
            prop_assert_eq!(self.called_for(change), notes, "{:?} in {}", pin, text);
            one_more(&self.counts.pins);
        }
        Ok(())
    }

    /// A chart that is saved and opened in another instance plays as this one.
    fn reopens(mut self) -> Result<(), TestCaseError> {
        let saved = self.player.saved();
        let params = self.plugin.params.clone();
        params.chart.settle();
        self.player.act(&Deed::StopHearing);
        set(&params.bypass, false);
        self.plays = None;
        self.due.clear();
        self.block(64)?;
        prop_assert!(self.sounds.is_empty(), "at rest: {:?}", self.sounds);
        let mut other = plugin();
        plain(&other);
        set(&other.params.texture, params.texture.value());
        set(&other.params.ninth, params.ninth.value());
        let chart = serde_json::from_str(&saved).unwrap();
        other.params.chart.load(chart);
        let again = serde_json::to_string(&other.params.chart.saved()).unwrap();
        prop_assert_eq!(&again, &self.player.saved(), "saved: {}", saved);
        let mut heard = 0;
        for at in 0..12 {
            let frames = usize::try_from(QUARTER_SAMPLES).unwrap();
            let from = Some(f64::from(at));
            let [here, there] = [&mut self.plugin, &mut other].map(|p| block(p, frames, from).0);
            heard += here.len();
            prop_assert_eq!(here, there, "quarter note {} of {}", at, saved);
        }
        if heard > 0 {
            one_more(&self.counts.reopened);
        }
        Ok(())
    }
}

fn deed() -> impl Strategy<Value = Deed> {
    let chart = prop::sample::select(&CHARTS[..]);
    let typed = prop::sample::select(&TYPED[..]);
    let keys = prop::collection::btree_set(40..84_u8, 1..9);
    prop_oneof![
        6 => (0..1000_usize).prop_map(Deed::Take),
        1 => Just(Deed::TakeAgain),
        2 => Just(Deed::Previous),
        2 => Just(Deed::Next),
        1 => any::<bool>().prop_map(Deed::Sounds),
        1 => Just(Deed::Hear),
        1 => Just(Deed::HearInContext),
        2 => Just(Deed::Show(Ways::Dressings)),
        2 => Just(Deed::Show(Ways::Voicings)),
        8 => (0..40_usize).prop_map(Deed::Try),
        8 => Just(Deed::Keep),
        2 => Just(Deed::KeepOnce),
        1 => (1..4_u16).prop_map(Deed::Time),
        1 => Just(Deed::Drop),
        5 => keys.prop_map(|keys| Deed::Lay(keys.into_iter().collect())),
        2 => Just(Deed::Unpin),
        2 => prop::option::of(0..40_usize).prop_map(Deed::Choose),
        3 => (0..1001_usize, 0..4_usize, typed, any::<bool>())
            .prop_map(|(at, erased, put, finished)| Deed::Type(at, erased, put, finished)),
        1 => chart.prop_map(Deed::Put),
        2 => any::<bool>().prop_map(Deed::Transpose),
        3 => Just(Deed::Undo),
        2 => Just(Deed::Redo),
        1 => Just(Deed::StopHearing),
    ]
}

fn event() -> impl Strategy<Value = Event> {
    let textures = [
        TextureParam::FourNotes,
        TextureParam::TwoHands,
        TextureParam::Fourths,
    ];
    let ninths = [NinthParam::ByContext, NinthParam::Flat9];
    prop_oneof![
        16 => deed().prop_map(Event::Player),
        2 => any::<bool>().prop_map(Event::Plays),
        1 => (0..40_u32).prop_map(Event::Jump),
        1 => any::<bool>().prop_map(Event::Bypass),
        1 => prop::sample::select(textures.to_vec()).prop_map(Event::Texture),
        1 => prop::sample::select(ninths.to_vec()).prop_map(Event::Ninth),
        1 => Just(Event::Reset),
        1 => Just(Event::Rest),
    ]
}

#[test]
fn what_is_sent_is_what_is_called_for_whatever_a_player_does() {
    let config = ProptestConfig {
        cases: 60,
        failure_persistence: None,
        rng_seed: RngSeed::Fixed(1),
        ..ProptestConfig::default()
    };
    let events = prop::collection::vec((event(), 1..30_000_u32), 10..60);
    let counts = Counts::default();
    let played = TestRunner::new(config).run(&events, |events| {
        let mut world = World::new(&counts);
        for (event, frames) in &events {
            world.happens(event)?;
            world.block(*frames)?;
        }
        world.reopens()
    });
    played.unwrap_or_else(|fault| panic!("{fault}"));
    // The walk leads everywhere.
    let Counts {
        undone,
        kept,
        pins,
        tried,
        tried_in_song,
        played,
        reopened,
    } = &counts;
    for (what, least) in [
        (undone, 150),
        (kept, 15),
        (pins, 300),
        (tried, 200),
        (tried_in_song, 50),
        (played, 200),
        (reopened, 40),
    ] {
        assert!(what.get() >= least, "{counts:?}");
    }
}
