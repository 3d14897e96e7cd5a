//! Which chord the plugin comps to a bass that is early, late, at another place of the form, or
//! outside of all bars.

use crate::plugin::{RATE_HZ, planned, play, sounding};
use crate::plugin_bass::lines::{BassBar, BassLine, BassNote, Material};
use crate::plugin_bass::{
    BARS, JUDGED_BEATS, ROOT_CHANNEL, TEMPO_BPM, chart_of, in_key_of, perform, sample, session,
    sound_of, strong_beats, walking, with_chart_of,
};
use guidehand_tests::{Event, TimedEvent, TransportChange};

/// Half notes on the roots of a chart of two chords, moved as `moved` says.
fn halves(moved: impl Fn(f64) -> (f64, u8)) -> BassLine {
    let line = walking(360, Material::Own);
    let bar = |root: u8, tones| BassBar { root, tones };
    let chart: Vec<BassBar> = (0..BARS)
        .map(|n| match n % 2 {
            0 => bar(0, [4, 7, 11]),
            _ => bar(10, [4, 7, 10]),
        })
        .collect();
    let starts = (0..2 * u32::try_from(BARS).unwrap()).map(|n| 2.0 * f64::from(n));
    let placed: Vec<(f64, u8)> = starts.map(moved).collect();
    let ends = placed.iter().skip(1).map(|(start, _)| *start);
    let ends = ends.chain([4.0 * f64::from(u32::try_from(BARS).unwrap())]);
    let notes = placed
        .iter()
        .zip(ends)
        .map(|((start, number), end)| BassNote {
            number: *number,
            start_beats: *start,
            end_beats: end - 0.1,
            velocity: 100,
        });
    BassLine {
        notes: notes.collect(),
        chart,
        key: 0,
        ..line
    }
}

/// The root of the chord at a beat of that chart.
fn root_at(beat: f64) -> u8 {
    if beat.rem_euclid(8.0) < 4.0 { 36 } else { 34 }
}

#[test]
fn an_early_bass_moves_its_chord_ahead() {
    // The change of bar 8 comes an eighth early.
    let line = halves(|beat| {
        let early = if beat == 32.0 { 0.5 } else { 0.0 };
        (beat - early, root_at(beat))
    });
    let performance = perform(&mut with_chart_of(&line), &line, RATE_HZ);
    let plan = planned(&chart_of(&line));
    let keys = |beat: f64| sounding(&performance.events, sample(&line, beat, RATE_HZ));
    assert_eq!(keys(31.4), plan[7].keys);
    assert_eq!(keys(31.8), plan[8].keys);
    let start = sample(&line, 31.45, RATE_HZ);
    let end = sample(&line, 35.5, RATE_HZ);
    let struck = performance.events.iter().filter(|event| {
        matches!(event.event, Event::NoteOn { .. }) && (start..end).contains(&event.at_samples)
    });
    assert_eq!(struck.count(), plan[8].keys.len(), "it is struck once");
}

#[test]
fn a_late_bass_holds_its_chord_back() {
    // In bar 8 the bass stays on the chord before for a beat.
    let line = halves(|beat| match beat {
        32.0 => (32.0, root_at(28.0)),
        34.0 => (33.0, root_at(32.0)),
        _ => (beat, root_at(beat)),
    });
    let performance = perform(&mut with_chart_of(&line), &line, RATE_HZ);
    let plan = planned(&chart_of(&line));
    let keys = |beat: f64| sounding(&performance.events, sample(&line, beat, RATE_HZ));
    assert_eq!(keys(32.5), plan[7].keys);
    assert_eq!(keys(33.4), plan[8].keys);
    assert_eq!(keys(36.5), plan[9].keys);
}

#[test]
fn a_lost_form_is_found_again() {
    let (mut right, mut all) = (0, 0);
    for seed in [370, 371, 372] {
        let line = walking(seed, Material::Borrowed);
        let mut host = with_chart_of(&line);
        let sound = sound_of(&line, RATE_HZ);
        // The host is five bars behind the player.
        let mut session = session(&sound, RATE_HZ);
        let to_beats = -TEMPO_BPM / 60.0 - 20.0 + 4.0 * f64::from(u32::try_from(BARS).unwrap());
        session.change(0, TransportChange::Jump { to_beats });
        host.hear(vec![vec![sound]]);
        let performance = play(&mut host, &session);
        let plan = planned(&chart_of(&line));
        // After twelve bars the place must be found.
        for (beat, bar) in strong_beats().filter(|(_, bar)| *bar >= 12) {
            let at = sample(&line, beat + JUDGED_BEATS, RATE_HZ);
            all += 1;
            right += u32::from(sounding(&performance.events, at) == plan[bar].keys);
        }
    }
    println!("found: {right} of {all}");
    assert!(right * 100 >= all * 95, "{right} of {all}");
}

#[test]
fn without_bars_every_sure_note_is_a_root() {
    let line = halves(|beat| (beat, root_at(beat)));
    let sound = sound_of(&line, RATE_HZ);
    let length = sample(&line, 14.0, RATE_HZ);
    for tells in [true, false] {
        let mut host = in_key_of(&line);
        let mut session = session(&sound, RATE_HZ);
        session.change(0, TransportChange::Stop);
        session.telling.transport = tells;
        session.length_samples = length;
        host.hear(vec![vec![sound.clone()]]);
        let events = play(&mut host, &session).events;
        let starts = |event: &&TimedEvent| {
            matches!(
                event.event,
                Event::NoteOn {
                    channel: ROOT_CHANNEL,
                    ..
                }
            )
        };
        let roots: Vec<i16> = events
            .iter()
            .filter(starts)
            .map(|event| match event.event {
                Event::NoteOn { key, .. } => key % 12,
                _ => unreachable!(),
            })
            .collect();
        assert_eq!(roots, [0, 10, 0, 10], "transport told: {tells}");
    }
}
