//! The buses of the VST3 build: they are those of the CLAP build. Also what a host may do with
//! them.

use crate::plugin;
use crate::vst3::{mute, root, struck, untouched};
use guidehand_tests::vst3::{Bus, Direction, Instance, Media};
use vst3::ComPtr;
use vst3::Steinberg::Vst::{IAudioProcessor, IAudioProcessorTrait};
use vst3::Steinberg::kResultOk;

#[test]
fn buses_are_those_of_the_other_format() {
    let instance = untouched();
    let host = plugin::untouched();
    let channels = |buses: &[Bus]| -> Vec<u32> {
        let count = |bus: &Bus| u32::try_from(bus.channels).unwrap();
        buses.iter().map(count).collect()
    };
    let inputs = instance.buses(Media::Audio, Direction::In).unwrap();
    let outputs = instance.buses(Media::Audio, Direction::Out).unwrap();
    let theirs = |ports: &[guidehand_tests::ports::AudioPort]| -> Vec<u32> {
        ports.iter().map(|port| port.channels).collect()
    };
    assert_eq!(channels(&inputs), theirs(&host.ports().audio_inputs));
    assert_eq!(channels(&outputs), theirs(&host.ports().audio_outputs));
    assert_eq!(channels(&outputs), [2]);
    assert!(outputs[0].is_main && outputs[0].is_active_by_default);
    assert_eq!(outputs[0].name, "Audition");
    for way in [Direction::In, Direction::Out] {
        let events = instance.buses(Media::Events, way).unwrap();
        assert_eq!(channels(&events), [16], "{way:?}");
        assert!(events[0].is_main && events[0].is_active_by_default);
    }
}

#[test]
fn buses_that_are_not_there_are_refused() {
    let mut instance = untouched();
    for media in [Media::Audio, Media::Events] {
        for way in [Direction::In, Direction::Out] {
            let count = instance.buses(media, way).unwrap().len();
            let count = i32::try_from(count).unwrap();
            for index in [-1, count] {
                let what = format!("{media:?} {way:?} {index}");
                assert!(instance.bus(media, way, index).is_err(), "{what}");
                let activated = instance.set_bus_active(media, way, index, true);
                assert!(activated.is_err(), "{what}");
                let speakers = instance.speakers(way, index);
                assert!(speakers.is_err() || media == Media::Events, "{what}");
            }
            for index in 0..count {
                instance.set_bus_active(media, way, index, false).unwrap();
                instance.set_bus_active(media, way, index, true).unwrap();
            }
        }
    }
}

/// The speakers of all buses of one direction.
fn speakers(instance: &Instance, way: Direction) -> Vec<u64> {
    let count = instance.buses(Media::Audio, way).unwrap().len();
    let all = 0..i32::try_from(count).unwrap();
    all.map(|index| instance.speakers(way, index).unwrap())
        .collect()
}

const STEREO: u64 = 0b11;

#[test]
fn speakers_are_taken_as_they_are_told_and_no_others() {
    let mut instance = untouched();
    let inputs = speakers(&instance, Direction::In);
    let outputs = speakers(&instance, Direction::Out);
    assert_eq!(outputs, [STEREO]);
    for (ins, outs) in [
        (inputs.clone(), vec![1]),
        (inputs.clone(), vec![STEREO, STEREO]),
        (inputs.clone(), vec![]),
        ([inputs.as_slice(), &[STEREO; 3]].concat(), outputs.clone()),
    ] {
        assert!(
            !instance.offer_speakers(&ins, &outs).unwrap(),
            "{ins:?} {outs:?}"
        );
        assert_eq!(speakers(&instance, Direction::In), inputs);
        assert_eq!(speakers(&instance, Direction::Out), outputs);
    }
    assert!(
        instance.offer_speakers(&inputs, &outputs).unwrap(),
        "{inputs:?} and {outputs:?} are its own"
    );
    assert_eq!(instance.sample_sizes(), [true, false]);
    assert_eq!(instance.latency_samples(), 0);
}

/// The list of inputs has the number of members that is told (`ivstaudioprocessor.h`), and what lies
/// behind it does not matter.
#[test]
fn what_lies_behind_a_list_of_speakers_does_not_matter() {
    let instance = untouched();
    let (mono, own) = (1, speakers(&instance, Direction::In));
    for behind in [mono, STEREO] {
        for (first, is_taken) in [(STEREO, true), (mono, false)] {
            let mut inputs = [first, behind];
            let mut outputs = [STEREO, behind];
            let count = i32::try_from(own.len()).unwrap();
            let processor: ComPtr<IAudioProcessor> = instance.cast().unwrap();
            // SAFETY: both lists have at least the number of members that is told.
            let result = unsafe {
                let (inputs, outputs) = (inputs.as_mut_ptr(), outputs.as_mut_ptr());
                processor.setBusArrangements(inputs, count, outputs, 1)
            };
            assert_eq!(result == kResultOk, is_taken, "{first} before {behind}");
        }
    }
}

/// Each layout plays, whether its last input, the bass, is active or not.
#[test]
fn every_count_of_inputs_that_is_taken_plays() {
    let mut counts = Vec::new();
    for count in 0..4 {
        let mut instance = mute();
        if !instance
            .offer_speakers(&vec![STEREO; count], &[STEREO])
            .unwrap()
        {
            continue;
        }
        counts.push(count);
        assert_eq!(speakers(&instance, Direction::In).len(), count);
        for is_active in [true, false] {
            if let Some(last) = count.checked_sub(1) {
                let last = i32::try_from(last).unwrap();
                instance
                    .set_bus_active(Media::Audio, Direction::In, last, is_active)
                    .unwrap();
            }
            instance.start(48_000.0, 64).unwrap();
            let block = instance.process(64, &root(), None).unwrap();
            let what = format!("{count} inputs, the last one active: {is_active}");
            assert!(struck(&block.events) > 1, "{what}");
            assert!(block.left.iter().all(|sample| *sample == 0.0), "{what}");
        }
    }
    let own = speakers(&untouched(), Direction::In).len();
    assert!(
        counts.contains(&own),
        "{own} are its own, {counts:?} are taken"
    );
}
