//! The VST3 build in hosts that pass what the interface allows and others do not expect, and what it
//! does not allow. The headers that are named are those of the VST3 SDK, from memory: the `vst3` crate
//! holds their declarations without their comments.

use crate::vst3::{load_chart, module, mute, set, struck};
use guidehand_tests::vst3::changes::Changes;
use guidehand_tests::vst3::events::{self, Events};
use guidehand_tests::vst3::{Block, Direction, Instance, Media, Passing, rude};
use guidehand_tests::{Event, TimedEvent};
use vst3::Steinberg::Vst::{
    IAudioProcessor, IAudioProcessorTrait, ProcessData, ProcessSetup, SymbolicSampleSizes_,
};
use vst3::Steinberg::kResultOk;

const RATE_HZ: f64 = 48_000.0;
const FRAMES: u32 = 64;

/// A list of notes as the interface has them; their times may lie anywhere.
fn list(notes: &[(i32, Event)]) -> Events {
    let notes = notes.iter().map(|(at, event)| events::write(*event, *at));
    Events::holding(notes.map(|note| note.expect("a note")).collect())
}

fn on(key: i16) -> Event {
    Event::note_on(0, key, 0.75)
}

fn off(key: i16) -> Event {
    Event::note_off(0, key)
}

/// Plays two roots in blocks that pass audio in these ways.
fn play(instance: &mut Instance, inputs: Passing, outputs: Passing) -> Vec<Block> {
    (instance.inputs_passed, instance.outputs_passed) = (inputs, outputs);
    instance.start(RATE_HZ, FRAMES).unwrap();
    let blocks = (0..40).map(|index| {
        let events = match index {
            1 | 20 => vec![TimedEvent::new(3, on(48))],
            12 | 30 => vec![TimedEvent::new(60, off(48))],
            _ => Vec::new(),
        };
        let block = instance.process(FRAMES, &events, None);
        block.unwrap_or_else(|error| panic!("{inputs:?} {outputs:?}, block {index}: {error}"))
    });
    blocks.collect()
}

/// All notes come at their samples, and each channel that is passed has what it has when all are.
fn expect_the_same(inputs: &[Passing], outputs: &[Passing]) {
    let mut instance = mute();
    set(&mut instance, "Audition tone", "On");
    let expected = play(&mut instance, Passing::Whole, Passing::Whole);
    let notes: usize = expected.iter().map(|block| struck(&block.events)).sum();
    assert!(notes > 4, "{notes} notes");
    assert!(
        expected
            .iter()
            .flat_map(|block| &block.left)
            .any(|s| *s != 0.0)
    );
    for inputs in inputs {
        for outputs in outputs {
            let found = play(&mut instance, *inputs, *outputs);
            let what = format!("{inputs:?} {outputs:?}");
            let (left, right) = match outputs {
                Passing::Whole | Passing::TooMuch => (true, true),
                Passing::FirstChannel | Passing::NullSecondChannel => (true, false),
                _ => (false, false),
            };
            for (found, expected) in found.iter().zip(&expected) {
                assert_eq!(found.events, expected.events, "{what}");
                assert!(!left || found.left == expected.left, "{what}");
                assert!(!right || found.right == expected.right, "{what}");
                if *outputs == Passing::TooMuch {
                    assert!(found.spare.iter().all(|sample| *sample == 0.0), "{what}");
                }
            }
        }
    }
}

/// `ivstaudioprocessor.h`, `AudioBusBuffers`: channel buffers may be null where a bus is not active.
#[test]
fn channels_of_the_output_may_be_null() {
    use Passing::{NullChannels, NullLists, NullSecondChannel};
    expect_the_same(
        &[Passing::Whole],
        &[NullChannels, NullLists, NullSecondChannel],
    );
}

/// As above, for the side-chain.
#[test]
fn channels_of_the_side_chain_may_be_null() {
    use Passing::{NullChannels, NullLists, NullSecondChannel};
    let outputs = [Passing::Whole, NullChannels];
    expect_the_same(&[NullChannels, NullLists, NullSecondChannel], &outputs);
}

/// A slot for MIDI effects has no audio (common practice, no published source).
#[test]
fn a_host_without_audio_gets_every_note() {
    use Passing::{NoChannels, Nothing, NullBuses, OneLess};
    let none = [NoChannels, NullBuses, Nothing, OneLess];
    expect_the_same(&none, &none);
}

/// `ivstaudioprocessor.h`, `ProcessData`: the number of buses is what is passed, whatever is declared.
#[test]
fn buses_that_are_not_passed_are_not_read() {
    expect_the_same(&[Passing::OneLess], &[Passing::Whole, Passing::OneLess]);
}

/// Rude: the interface has a bus pass the channels of its arrangement.
#[test]
fn other_numbers_of_channels_than_declared_do_no_harm() {
    use Passing::{FirstChannel, NegativeChannels, TooMuch, Whole};
    let all = [FirstChannel, NegativeChannels, TooMuch, Whole];
    expect_the_same(&all, &all);
}

/// The framework hands over the output as it was where the main input is missing, which is what the
/// host played last.
#[test]
fn a_main_input_that_is_not_passed_is_silent() {
    let mut instance = mute();
    assert!(instance.offer_speakers(&[0b11, 0b11], &[0b11]).unwrap());
    for inputs in Passing::ALL {
        let blocks = play(&mut instance, inputs, Passing::Whole);
        let mut samples = blocks.iter().flat_map(|b| b.left.iter().chain(&b.right));
        assert!(samples.all(|sample| *sample == 0.0), "{inputs:?}");
        let notes: usize = blocks.iter().map(|block| struck(&block.events)).sum();
        assert!(notes > 4, "{inputs:?}: {notes} notes");
    }
}

/// An instance that plays a chart in the clock of its own.
fn with_chart() -> Instance {
    let mut instance = mute();
    set(&mut instance, "Chords from", "Chart");
    set(&mut instance, "Rhythm", "Charleston");
    load_chart(&mut instance, "| Dm7 G7 | Cmaj7 |");
    instance.start(RATE_HZ, 1_024).unwrap();
    instance
}

/// The notes of a chart in 200 blocks. Before each of them something happens.
fn chart_notes(
    instance: &mut Instance,
    mut before: impl FnMut(&mut Instance, u64),
) -> Vec<TimedEvent> {
    let mut notes = Vec::new();
    for index in 0..200 {
        before(instance, index);
        let block = instance.process(1_024, &[], None).unwrap();
        let at = |event: TimedEvent| TimedEvent::new(index * 1_024 + event.at_samples, event.event);
        notes.extend(block.events.into_iter().map(at));
    }
    assert!(struck(&notes) > 8, "{notes:?}");
    notes
}

/// A host that has passed an output means no block by a call without one and without notes (common
/// practice, no published source): it hands parameters over, and time stands still.
#[test]
fn a_call_without_an_output_after_others_with_one_takes_no_time() {
    let expected = chart_notes(&mut with_chart(), |_, _| {});
    let found = chart_notes(&mut with_chart(), |instance, index| {
        if index % 3 != 1 {
            return;
        }
        instance.outputs_passed = Passing::NoChannels;
        let texture = instance.param_by_name("Texture").unwrap().id;
        let changes = Changes::default();
        changes.add(texture, 0, instance.param_value(texture));
        let flushed = instance.process_lists(1_024, None, Some(changes), None);
        assert_eq!(flushed.unwrap().events, []);
        instance.outputs_passed = Passing::Whole;
    });
    assert_eq!(found, expected);
}

/// `ivstcomponent.h`, `IComponent::activateBus`: a bus that is not active passes nothing, and the
/// notes go on.
#[test]
fn an_output_that_is_not_active_any_more_takes_no_notes_away() {
    let expected = chart_notes(&mut with_chart(), |_, _| {});
    let found = chart_notes(&mut with_chart(), |instance, index| {
        if index == 20 {
            let result = instance.set_bus_active(Media::Audio, Direction::Out, 0, false);
            result.unwrap();
        }
    });
    assert_eq!(found, expected);
}

/// `ivstevents.h`, `Event::sampleOffset`: related to the start of the block. Before it counts as its
/// first sample, and after it as its last.
#[test]
fn notes_outside_of_the_block_sound_at_its_edges() {
    let mut instance = mute();
    instance.start(RATE_HZ, FRAMES).unwrap();
    let edges = [
        (i32::MIN, 0),
        (-1, 0),
        (64, 63),
        (9_999, 63),
        (i32::MAX, 63),
    ];
    for (told, expected) in edges {
        let notes = list(&[(told, on(72))]);
        let block = instance.process_lists(64, Some(notes), None, None).unwrap();
        let at = block.events.iter().map(|event| event.at_samples);
        assert_eq!(at.collect::<Vec<_>>(), [expected], "{told}");
        let notes = list(&[(0, off(72))]);
        instance.process_lists(64, Some(notes), None, None).unwrap();
    }
}

/// `ivstparameterchanges.h`, `IParamValueQueue::getPoint`: the same for points, whose values go from
/// 0 to 1.
#[test]
fn points_outside_of_block_and_range_count_at_the_edges() {
    let mut instance = mute();
    instance.start(RATE_HZ, FRAMES).unwrap();
    let sustain = instance.controller_id(0, 64).unwrap();
    let points = [
        (i32::MIN, 0.5, 0, 64),
        (-1, 2.0, 0, 127),
        (64, -1.0, 63, 0),
        (i32::MAX, f64::INFINITY, 63, 127),
    ];
    for (told, value, at, expected) in points {
        let changes = Changes::default();
        changes.add(sustain, told, value);
        let block = instance.process_lists(64, None, Some(changes), None);
        let event = Event::Controller {
            channel: 0,
            number: 64,
            value: expected,
        };
        let expected = [TimedEvent::new(at, event)];
        assert_eq!(block.unwrap().events, expected, "{told} {value}");
    }
    let changes = Changes::default();
    changes.add(sustain, 5, f64::NAN);
    let block = instance.process_lists(64, None, Some(changes), None);
    assert_eq!(block.unwrap().events, [], "no number is no value");
}

/// `ivstevents.h`, `DataEvent`: a size and a pointer, and no word on null.
#[test]
fn data_without_bytes_is_passed_over() {
    let note = |at| events::write(on(72), at).unwrap();
    let mut null = events::data(&[], 2);
    for size in [0, 3] {
        let mut instance = mute();
        instance.start(RATE_HZ, FRAMES).unwrap();
        null.__field0.data.size = size;
        let notes = Events::holding(vec![note(1), null, events::data(&[0xf0, 0xf7], 3)]);
        let block = instance.process_lists(64, Some(notes), None, None).unwrap();
        let at = block.events.iter().map(|event| event.at_samples);
        assert_eq!(at.collect::<Vec<_>>(), [1], "size {size}");
    }
}

/// `ivstevents.h`, `IEventList::getEvent`, and `ivstparameterchanges.h`,
/// `IParameterChanges::getParameterData`: both may fail.
#[test]
fn what_a_list_counts_and_does_not_have_is_passed_over() {
    let mut instance = mute();
    instance.start(RATE_HZ, FRAMES).unwrap();
    let sustain = instance.controller_id(0, 64).unwrap();
    for notes in [&[][..], &[(1, on(72))]] {
        let changes = Changes::default().and_missing(3);
        changes.add(sustain, 0, 1.0);
        let list = list(notes).and_missing(5);
        let block = instance.process_lists(64, Some(list), Some(changes), None);
        let events = block.unwrap().events;
        assert_eq!(events.len(), 1 + notes.len(), "{events:?}");
    }
    let nothing = instance.process_lists(64, None, None, None).unwrap();
    assert_eq!(nothing.events, []);
}

/// `ivstaudioprocessor.h`, `IAudioProcessor::process`: a block of no samples hands parameters over, and
/// may pass no buffers. What else it brings is not lost.
#[test]
fn notes_and_controllers_of_a_block_of_no_samples_come_with_the_next() {
    let mut instance = mute();
    instance.start(RATE_HZ, FRAMES).unwrap();
    let sustain = instance.controller_id(2, 64).unwrap();
    instance
        .process(64, &[TimedEvent::new(0, on(72))], None)
        .unwrap();
    for frames in [0, -1, i32::MIN] {
        for passing in Passing::ALL {
            (instance.inputs_passed, instance.outputs_passed) = (passing, passing);
            let changes = Changes::default();
            changes.add(sustain, 0, 1.0);
            changes.add(sustain, 0, 0.0);
            let notes = list(&[(0, off(72)), (0, on(72))]);
            let block = instance.process_lists(frames, Some(notes), Some(changes), None);
            assert_eq!(block.unwrap().events, [], "{frames} {passing:?}");
            (instance.inputs_passed, instance.outputs_passed) = Default::default();
            let block = instance.process(64, &[], None).unwrap();
            let what = format!("{frames} {passing:?}: {:?}", block.events);
            assert_eq!(block.events.len(), 3, "{what}");
            let released = Event::Controller {
                channel: 2,
                number: 64,
                value: 0,
            };
            assert_eq!(block.events[0].event, released, "{what}");
            let at_once = |event: &TimedEvent| event.at_samples == 0;
            assert!(block.events.iter().all(at_once), "{what}");
            assert_eq!(instance.process(64, &[], None).unwrap().events, [], "once");
        }
    }
    // A plugin that is activated anew has forgotten them.
    let notes = list(&[(0, on(74))]);
    instance.process_lists(0, Some(notes), None, None).unwrap();
    instance.start(RATE_HZ, FRAMES).unwrap();
    let block = instance.process(64, &[], None).unwrap();
    assert_eq!(struck(&block.events), 0, "{:?}", block.events);
}

/// `ivstaudioprocessor.h`, `IAudioProcessor::canProcessSampleSize`: no host sets up samples that are
/// refused there. One that does is refused again.
#[test]
fn samples_of_64_bits_are_refused_and_not_read() {
    let mut instance = mute();
    set(&mut instance, "Audition tone", "On");
    instance.has_long_samples = true;
    assert!(instance.set_up(RATE_HZ, FRAMES).is_err());
    instance.has_long_samples = false;
    instance.start(RATE_HZ, 2 * FRAMES).unwrap();
    let notes = [TimedEvent::new(3, on(48)), TimedEvent::new(60, off(48))];
    let expected = instance.process(FRAMES, &notes, None).unwrap();
    assert!(struck(&expected.events) > 1);
    instance.has_long_samples = true;
    for passing in [Passing::Whole, Passing::TooMuch, Passing::FirstChannel] {
        (instance.inputs_passed, instance.outputs_passed) = (passing, passing);
        let block = instance.process(FRAMES, &notes, None).unwrap();
        assert_eq!(block.events.len(), expected.events.len(), "{passing:?}");
        let right = block
            .right
            .iter()
            .filter(|_| passing != Passing::FirstChannel);
        let mut samples = block.left.iter().chain(right);
        assert!(samples.all(|half| half.to_bits() == 0), "{passing:?}");
    }
}

/// `ivstaudioprocessor.h`, the order of calls: `setupProcessing`, `setActive`, `process`.
#[test]
fn a_block_before_the_plugin_is_active_is_refused() {
    let instance = mute();
    let processor = instance.cast::<IAudioProcessor>().unwrap();
    for frames in [0, 64] {
        // SAFETY: zeros are a valid value of plain numbers and pointers.
        let mut data: ProcessData = unsafe { std::mem::zeroed() };
        data.numSamples = frames;
        // SAFETY: the data is valid; it passes no buses.
        assert_ne!(unsafe { processor.process(&mut data) }, kResultOk);
    }
    // SAFETY: null is a place that a host may give by mistake.
    unsafe {
        assert_ne!(processor.process(std::ptr::null_mut()), kResultOk);
        assert_ne!(processor.setupProcessing(std::ptr::null_mut()), kResultOk);
    }
    let good = ProcessSetup {
        processMode: 0,
        symbolicSampleSize: i32::try_from(SymbolicSampleSizes_::kSample32).unwrap(),
        maxSamplesPerBlock: 64,
        sampleRate: RATE_HZ,
    };
    let bad = |change: fn(&mut ProcessSetup)| {
        let mut setup = good;
        change(&mut setup);
        // SAFETY: the set-up is valid memory.
        unsafe { processor.setupProcessing(&mut setup) }
    };
    assert_ne!(bad(|setup| setup.maxSamplesPerBlock = -1), kResultOk);
    assert_ne!(bad(|setup| setup.sampleRate = 0.0), kResultOk);
    assert_ne!(bad(|setup| setup.sampleRate = f64::NAN), kResultOk);
    assert_eq!(bad(|_| {}), kResultOk);
}

/// `cargo xtask soak` plays more of them.
#[test]
fn a_rude_host_does_no_harm() {
    let module = module();
    for seed in 0..6 {
        let notes = rude::survive(&module, seed, 400);
        let notes = notes.unwrap_or_else(|fault| panic!("seed {seed}: {fault}"));
        assert!(notes > 50, "seed {seed}: {notes} notes");
    }
}
