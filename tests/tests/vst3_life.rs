//! The life of the VST3 build's instances: the order of starts and stops, rates and lengths of
//! blocks, many at once, and their end.

use crate::plugin;
use crate::vst3::{module, mute, root, set, struck, untouched};
use guidehand_tests::vst3::Instance;
use guidehand_tests::{Event, TimedEvent};
use vst3::ComPtr;
use vst3::Steinberg::Vst::IEditControllerTrait;
use vst3::Steinberg::{IPlugView, IPlugViewTrait, ViewRect, kResultOk};

/// The proper order of the calls, and orders that some hosts use instead.
#[test]
fn a_life_in_any_order_that_hosts_take() {
    let mut instance = mute();
    assert!(
        instance.set_active(true).is_err(),
        "no rate and no block length are known yet"
    );
    instance.set_active(false).unwrap();
    let plays = |instance: &mut Instance, what: &str| {
        let block = instance.process(64, &root(), None).unwrap();
        assert!(struck(&block.events) > 1, "{what}");
        assert!(block.changes.is_empty(), "{what}");
    };
    instance.set_up(48_000.0, 64).unwrap();
    instance.set_active(true).unwrap();
    plays(&mut instance, "never told that it processes");
    instance.set_processing(true).unwrap();
    plays(&mut instance, "told late");
    instance.set_processing(true).unwrap();
    plays(&mut instance, "told twice");
    instance.set_processing(false).unwrap();
    instance.set_processing(false).unwrap();
    instance.set_processing(true).unwrap();
    plays(&mut instance, "after a pause");
    instance.set_active(false).unwrap();
    instance.set_active(false).unwrap();
    instance.set_active(true).unwrap();
    instance.set_active(true).unwrap();
    plays(&mut instance, "activated anew while it processes");
    instance.stop().unwrap();
    instance.set_processing(true).unwrap();
    instance.set_up(96_000.0, 64).unwrap();
    instance.set_active(true).unwrap();
    plays(&mut instance, "told before it was active");
}

#[test]
fn every_rate_and_block_length_plays() {
    let mut instance = mute();
    set(&mut instance, "Audition tone", "On");
    for rate_hz in [8_000.0, 44_100.0, 48_000.0, 96_000.0, 192_000.0, 384_000.0] {
        for max_frames in [1, 2, 17, 64, 1_000, 8_192] {
            instance.start(rate_hz, max_frames).unwrap();
            let what = format!("{rate_hz} Hz, {max_frames} frames");
            // Long enough for the tone to begin.
            let last = 4 + 800 / max_frames;
            let mut peak = 0.0_f32;
            let mut heard = Vec::new();
            for block in 0..=last {
                // The block lengths: any length up to the longest, and the longest first and last.
                let frames = if block % 2 == 0 || block == last {
                    max_frames
                } else {
                    1 + block % max_frames
                };
                let end = u64::from(frames) - 1;
                let event = match block {
                    1 => Some(TimedEvent::new(0, Event::note_on(0, 48, 0.75))),
                    _ if block == last => Some(TimedEvent::new(end, Event::note_off(0, 48))),
                    _ => None,
                };
                let played = instance.process(frames, event.as_slice(), None).unwrap();
                for sample in played.left.iter().chain(&played.right) {
                    assert!(sample.is_finite(), "{what}");
                    peak = peak.max(sample.abs());
                }
                heard.extend(played.events);
            }
            assert_eq!((struck(&heard), heard.len()), (4, 8), "{what}: {heard:?}");
            assert!(peak > 0.0 && peak <= plugin::CEILING, "{what}: {peak}");
        }
    }
}

#[test]
fn a_block_of_no_frames_hands_parameters_over() {
    let mut instance = mute();
    let id = instance.param_by_name("Texture").unwrap().id;
    let value = instance.text_to_value(id, "Drop 2").unwrap();
    let steps = f64::from(instance.param(id).unwrap().step_count);
    instance.start(48_000.0, 64).unwrap();
    assert_ne!(instance.param_value(id), value);
    let change = Event::Param {
        id,
        value: value * steps,
    };
    let block = instance
        .process(0, &[TimedEvent::new(0, change)], None)
        .unwrap();
    assert!(block.events.is_empty());
    assert_eq!(instance.param_value(id), value);
}

#[test]
fn a_full_list_is_owed_what_it_refused() {
    let mut instance = mute();
    instance.output_limit = Some(1);
    instance.start(48_000.0, 64).unwrap();
    let on = [TimedEvent::new(0, Event::note_on(0, 48, 0.75))];
    let block = instance.process(64, &on, None).unwrap();
    assert_eq!(block.events.len(), 1);
    assert!(block.refused_events > 0);
    instance.output_limit = None;
    let off = [TimedEvent::new(0, Event::note_off(0, 48))];
    let after = instance.process(64, &off, None).unwrap();
    let all: Vec<TimedEvent> = block.events.into_iter().chain(after.events).collect();
    assert!(guidehand_tests::hanging(&all).is_empty(), "{all:?}");
}

/// `setProcessing` and `setActive` (ivstaudioprocessor.h, ivstcomponent.h) hand over no list for events,
/// so what sounds is released by the first block after the pause.
#[test]
fn what_sounds_at_a_deactivation_is_released_first_afterwards() {
    for tells_processing in [true, false] {
        let mut instance = mute();
        instance.start(48_000.0, 64).unwrap();
        let on = [TimedEvent::new(7, Event::note_on(0, 48, 0.75))];
        let sounding = instance.process(64, &on, None).unwrap().events;
        assert!(struck(&sounding) > 1);
        if tells_processing {
            instance.set_processing(false).unwrap();
        }
        instance.set_active(false).unwrap();
        instance.set_active(true).unwrap();
        if tells_processing {
            instance.set_processing(true).unwrap();
        }
        let after = instance.process(64, &on, None).unwrap().events;
        let (offs, rest) = after.split_at(sounding.len());
        let is_off = |event: &TimedEvent| {
            event.at_samples == 0 && matches!(event.event, Event::NoteOff { .. })
        };
        assert!(offs.iter().all(is_off), "{tells_processing}: {after:?}");
        assert_eq!(struck(rest), rest.len(), "{tells_processing}: {after:?}");
    }
}

/// A host that switches a plugin off by its bypass (`kIsBypass` in ivsteditcontroller.h) goes on to
/// process it, and the chord ends in that block.
#[test]
fn bypass_releases_in_its_own_block() {
    let mut instance = mute();
    instance.start(48_000.0, 64).unwrap();
    let id = instance.param_by_name("Bypass").unwrap().id;
    let events = [
        TimedEvent::new(7, Event::note_on(0, 48, 0.75)),
        TimedEvent::new(30, Event::Param { id, value: 1.0 }),
    ];
    let all = instance.process(64, &events, None).unwrap().events;
    assert!(guidehand_tests::hanging(&all).is_empty(), "{all:?}");
    assert!(all.iter().all(|event| [7, 30].contains(&event.at_samples)));
}

/// A note-on that a full list refuses is sent late, while its key is held.
#[test]
fn a_full_list_gets_the_rest_of_the_chord_with_the_next_block() {
    let mut instance = mute();
    instance.output_limit = Some(2);
    instance.start(48_000.0, 64).unwrap();
    let on = [
        TimedEvent::new(3, Event::note_on(0, 48, 0.75)),
        TimedEvent::new(5, Event::note_on(0, 80, 0.5)),
    ];
    let first = instance.process(64, &on, None).unwrap();
    assert_eq!((first.events.len(), first.refused_events), (2, 3));
    let second = instance.process(64, &[], None).unwrap();
    let third = instance.process(64, &[], None).unwrap();
    let late = [second.events, third.events].concat();
    assert_eq!((late.len(), struck(&late)), (3, 3), "{late:?}");
    assert!(late.iter().all(|event| event.at_samples == 0));
    let last = late.last().unwrap().event;
    assert!(
        matches!(last, Event::NoteOn { key: 80, velocity, .. } if (velocity - 0.5).abs() < 1e-6),
        "{last:?}"
    );
    assert!(instance.process(64, &[], None).unwrap().events.is_empty());
}

#[test]
fn many_instances_know_nothing_of_each_other() {
    let module = module();
    let class = module.classes().unwrap().remove(0);
    let mut instances: Vec<Instance> = (0..40)
        .map(|_| Instance::load(&module, &class.id).unwrap())
        .collect();
    let textures = ["Guide tones", "Three notes", "Four notes", "Drop 2"];
    for (index, instance) in instances.iter_mut().enumerate() {
        set(instance, "Chords from", "Roots");
        set(instance, "Texture", textures[index % textures.len()]);
        instance.start(48_000.0, 64).unwrap();
    }
    let mut found = Vec::new();
    for instance in &mut instances {
        let block = instance.process(64, &root(), None).unwrap();
        found.push(block.events);
    }
    for (index, events) in found.iter().enumerate() {
        assert_eq!(events, &found[index % textures.len()], "instance {index}");
    }
    assert_eq!(struck(&found[0]), 2);
    assert_eq!(struck(&found[1]), 3);
    // Every other instance is dropped, and the rest keep playing.
    let mut keep = [true, false].into_iter().cycle();
    instances.retain(|_| keep.next().unwrap_or(true));
    for instance in &mut instances {
        assert!(struck(&instance.process(64, &root(), None).unwrap().events) > 1);
    }
}

#[test]
fn a_module_can_be_left_and_loaded_again() {
    for _ in 0..5 {
        let mut instance = mute();
        instance.start(48_000.0, 64).unwrap();
        let block = instance.process(64, &root(), None).unwrap();
        assert!(struck(&block.events) > 1);
        // The last copy of the module is dropped with the instance.
        drop(instance);
    }
}

/// Requests the panel as a host does, without showing it.
#[test]
fn the_panel_is_offered_for_this_platform() {
    let instance = untouched();
    let platform = if cfg!(target_os = "macos") {
        c"NSView"
    } else if cfg!(windows) {
        c"HWND"
    } else {
        c"X11EmbedWindowID"
    };
    // SAFETY: both texts end with a zero, and the caller owns the result.
    let view: Option<ComPtr<IPlugView>> = unsafe {
        let view = instance.controller().createView(c"editor".as_ptr());
        ComPtr::from_raw(view)
    };
    let view = view.expect("a panel");
    let mut size = ViewRect {
        left: 0,
        top: 0,
        right: 0,
        bottom: 0,
    };
    // SAFETY: the view is valid, and so are the places.
    unsafe {
        assert_eq!(view.isPlatformTypeSupported(platform.as_ptr()), kResultOk);
        assert_ne!(view.isPlatformTypeSupported(c"paper".as_ptr()), kResultOk);
        assert_eq!(view.getSize(&mut size), kResultOk);
    }
    let (width, height) = (size.right - size.left, size.bottom - size.top);
    assert!(width >= 300 && height >= 200, "{width} by {height}");
}
