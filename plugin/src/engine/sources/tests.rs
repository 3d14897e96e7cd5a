//! Sources alone: what they want, without a performer that carries it out.

use super::*;
use crate::engine::bass_input::{BassEvent, BassNote};
use crate::engine::block::{Block, BlockContext, ChartUpdate, RhythmBars};
use crate::engine::clock::{Clock, HostTransport};
use crate::engine::hand::HeldKey;
use crate::engine::intent::{ChordEvent, Intent};
use crate::engine::parts::Parts;
use crate::engine::planned::PlannedChart;
use crate::engine::rhythm::{ChordSpan, Strike};
use crate::engine::settings::{PlanFor, Settings, Source};
use guidehand_theory::chart::parse;
use guidehand_theory::pitch::MidiNote;

const LEFT: HeldKey = HeldKey {
    channel: 2,
    key: 38,
    velocity: 0.5,
};

const RIGHT: HeldKey = HeldKey { key: 72, ..LEFT };

fn block<'a>(settings: &'a Settings, song: &'a PlannedChart, events: &'a [BassEvent]) -> Block<'a> {
    let host = HostTransport {
        playing: settings.source == Source::Chart,
        position_beats: Some(0.0),
        tempo_bpm: Some(120.0),
        sample_rate_hz: 48_000.0,
        ..HostTransport::default()
    };
    Block {
        settings,
        settings_moved: true,
        clock: Clock::new(&host),
        frames: 512,
        song: Some(song),
        update: ChartUpdate::None,
        next_song: None,
        bass_events: events,
        bass_from_samples: 0,
        audition: None,
    }
}

fn song() -> PlannedChart {
    PlannedChart::plan(&parse("| Dm7 | G7 |").unwrap(), PlanFor::default(), 0)
}

fn context<'a>(source: &impl ChordSource, block: &'a Block<'a>) -> BlockContext<'a> {
    let timing = source.timing(block, block.song);
    BlockContext::new(block, block.song, ChartUpdate::None, timing)
}

/// The chord that is to sound, with its root as a word.
fn sounds(intent: &Intent) -> Option<(String, ChordEvent)> {
    match intent {
        Intent::Sound(chord) => Some((chord.placed.chord.root.to_string(), *chord)),
        _ => None,
    }
}

#[test]
fn a_root_is_taken_and_makes_a_chord_once_its_sample_is_over() {
    let (settings, song, parts) = (Settings::plain(Source::Roots), song(), Parts::default());
    let mut source = roots::RootSource::default();
    let block = block(&settings, &song, &[]);
    let context = context(&source, &block);
    let now = parts.at(&context, 7);
    assert!(matches!(source.key_down(RIGHT, &now), Intent::Pass));
    assert!(matches!(source.settle(&now), Intent::Hold));
    assert!(matches!(source.key_down(LEFT, &now), Intent::Hold));
    let (root, chord) = sounds(&source.settle(&now)).unwrap();
    assert_eq!((root.as_str(), chord.key), ("D", LEFT));
    assert!(chord.struck && chord.end_ticks.is_infinite());
    assert!(matches!(source.settle(&now), Intent::Hold), "once");
    source.key_up(LEFT.channel, LEFT.key, &now);
    assert!(matches!(source.settle(&now), Intent::Release));
}

#[test]
fn the_chart_plays_what_a_strike_asks_for_while_its_gate_is_open() {
    let (mut settings, song) = (Settings::plain(Source::Chart), song());
    let mut source = chart::ChartSource::default();
    let strike = Strike {
        end_ticks: 480.0,
        span: ChordSpan {
            change: 1,
            ..ChordSpan::default()
        },
        loudness: 1.0,
        ..Strike::default()
    };
    for gate in [false, true] {
        settings.chart.gate = gate;
        let parts = Parts::default();
        let block = block(&settings, &song, &[]);
        let context = context(&source, &block);
        assert_eq!(context.timing.bars, RhythmBars::Chart);
        let now = parts.at(&context, 0);
        assert_eq!(sounds(&source.play(&strike, true, &now)).is_some(), !gate);
        let passes = matches!(source.key_down(LEFT, &now), Intent::Pass);
        assert_eq!(passes, !gate, "a key is taken where it opens the gate");
        if gate {
            assert!(matches!(
                source.settle(&now),
                Intent::Rejoin { struck: true }
            ));
        }
        let (root, chord) = sounds(&source.play(&strike, true, &now)).unwrap();
        assert_eq!((root.as_str(), chord.end_ticks), ("G", 480.0));
        assert_eq!(chord.key.channel, if gate { LEFT.channel } else { 0 });
    }
}

#[test]
fn what_is_played_passes_and_wants_nothing() {
    let (settings, song) = (Settings::plain(Source::Reading), song());
    let mut source = played::PlayedSource::default();
    let parts = Parts {
        keys_moved: true,
        ..Parts::default()
    };
    let block = block(&settings, &song, &[]);
    let context = context(&source, &block);
    let now = parts.at(&context, 0);
    for key in [LEFT, RIGHT] {
        assert!(matches!(source.key_down(key, &now), Intent::Pass));
    }
    assert!(matches!(source.settle(&now), Intent::Hold));
    assert_eq!(source.next_due(&now), None);
}

#[test]
fn a_bass_is_due_with_its_notes_and_makes_chords_of_those_that_are_sure() {
    let (mut settings, song, parts) = (Settings::plain(Source::Bass), song(), Parts::default());
    settings.bass.by_chart = false;
    let note = |time_samples, key, confidence| BassEvent {
        time_samples,
        note: Some(BassNote {
            note: MidiNote::clamp(key),
            confidence,
            ago_samples: 0,
        }),
    };
    let events = [note(9, 31, 0.2), note(40, 38, 0.9)];
    let mut source = bass::BassSource::default();
    let block = block(&settings, &song, &events);
    let context = context(&source, &block);
    let start = parts.at(&context, 0);
    assert_eq!(source.next_due(&start), None, "it is not followed yet");
    assert!(matches!(source.begin_block(&start), Intent::Hold));
    assert_eq!(source.next_due(&start), Some(9));
    assert!(matches!(source.act(&parts.at(&context, 9)), Intent::Hold));
    assert_eq!(source.next_due(&start), Some(40));
    let intent = source.act(&parts.at(&context, 40));
    assert_eq!(sounds(&intent).unwrap().0, "D");
    assert_eq!(source.next_due(&start), None);
    assert!(source.take_changed() && !source.take_changed());
}
