//! What ends what is tried by ear, and what keeps it from beginning.

use super::*;

/// What is asked sounds, and then something ends it at a sample.
fn ended_by(source: Source, act: impl FnOnce(&mut Stage)) -> Vec<(u32, u8)> {
    let mut stage = Stage::new(source);
    stage.ask(&scale(), 1_000);
    assert_eq!(sounding(&stage.events).len(), 5);
    act(&mut stage);
    assert!(sounding(&stage.events).is_empty(), "{:?}", stage.events);
    assert_eq!(stage.performer.snapshot().trying, None);
    let ended = ends(&stage.events);
    stage.wait(RATE * 8);
    assert_eq!(
        ends(&stage.events).len(),
        ended.len(),
        "nothing comes later"
    );
    assert_eq!(starts(&stage.events).len(), ended.len());
    ended
}

#[test]
fn a_stop_ends_it() {
    for source in [Source::Reading, Source::Roots, Source::Chart, Source::Bass] {
        let ended = ended_by(source, |stage| {
            stage.stop(64);
        });
        assert_eq!(ended.len(), 5);
        assert!(ended.iter().all(|(time, _)| *time == 1_000));
    }
}

#[test]
fn a_bypass_ends_it_and_nothing_begins_in_one() {
    ended_by(Source::Roots, |stage| {
        stage.settings.bypass = true;
        stage.wait(64);
        assert!(stage.ask(&scale(), 64).is_empty());
        stage.settings.bypass = false;
        assert!(stage.wait(64).is_empty(), "what was not heard is over");
    });
}

#[test]
fn a_new_request_takes_its_place() {
    let mut stage = resting();
    stage.ask(&scale(), 1_000);
    let other = Request::new(Pace::Free, [chord(&[60])]);
    let events = stage.ask(&other, 1_000);
    assert_eq!(ends(&events).len(), 5);
    assert_eq!(starts(&events), [(0, 60)]);
    assert_eq!(sounding(&stage.events), [(0, 60)]);
    // The same once more strikes once more.
    let events = stage.ask(&other, 1_000);
    assert_eq!(
        (ends(&events), starts(&events)),
        (vec![(0, 60)], vec![(0, 60)])
    );
}

#[test]
fn a_reset_owes_its_note_offs() {
    ended_by(Source::Roots, |stage| {
        stage.performer.reset();
        stage.wait(64);
    });
}

#[test]
fn the_end_of_the_program_ends_it() {
    let mut stage = resting();
    stage.ask(&scale(), 1_000);
    let mut script = Script::default();
    assert!(stage.performer.end_all(&mut script));
    assert_eq!(ends(&script.outputs).len(), 5);
}

#[test]
fn the_start_of_the_song_ends_it() {
    for source in [Source::Reading, Source::Roots, Source::Chart] {
        let ended = ended_by(source, |stage| {
            stage.play();
            stage.wait(64);
        });
        assert!(ended.iter().all(|(time, _)| *time == 1_000));
    }
}

/// The host starts in the middle of a block.
#[test]
fn the_start_of_a_clock_of_our_own_ends_it_at_its_sample() {
    use crate::engine::clock::Ahead;
    let song = song("| Dm7 | G7 |");
    let mut performer = performer();
    let ask = Ask {
        number: 1,
        request: Some(scale()),
    };
    let scene = Scene {
        settings: Settings::plain(Source::Chart),
        clock: Clock {
            position_ticks: None,
            ahead: Ahead::Begin(500),
            ours: true,
            ..Stage::new(Source::Chart).clock()
        },
        frames: 1_000,
        song: Some(&song),
        update: ChartUpdate::None,
        next_song: None,
        audition: Some(&ask),
    };
    let events = play(&mut performer, &scene, &[]);
    let ended: Vec<u32> = ends(&events).iter().map(|(time, _)| *time).collect();
    assert_eq!(ended, [500; 5]);
    assert!(starts(&events).contains(&(500, 53)), "the chart begins");
}

#[test]
fn all_notes_off_on_its_channel_ends_it() {
    let all_off = |channel| TimedInput {
        time_samples: 7,
        input: Input::AllNotesOff { channel },
        event: 1_200,
    };
    let mut stage = resting();
    stage.ask(&scale(), 1_000);
    let others = stage.block(64, None, &[all_off(5)]);
    assert!(ends(&others).is_empty());
    let ended = stage.block(64, None, &[all_off(0)]);
    assert_eq!(ends(&ended).len(), 5);
    let passed = Output::Through(1_200);
    assert_eq!(ended.last(), Some(&(7, passed)), "after the note-offs");
}

#[test]
fn while_the_song_plays_nothing_is_heard_unless_it_is_asked_for() {
    for source in [Source::Reading, Source::Chart] {
        let mut stage = Stage::new(source);
        stage.play();
        stage.wait(64);
        assert!(stage.ask(&scale(), 64).is_empty());
        stage.stand_still();
        assert!(stage.wait(64).is_empty(), "it is not made up for");
        stage.play();
        let also = scale().also_while_playing(true);
        assert_eq!(starts(&stage.ask(&also, 64)).len(), 5);
        stage.stand_still();
        assert!(stage.wait(64).is_empty(), "it goes on");
        stage.play();
        assert!(stage.wait(64).is_empty(), "it goes on");
        stage.stop(64);
        assert!(sounding(&stage.events).is_empty());
    }
}

/// In a host that keeps no time a clock of our own never stops. Where no rhythm runs by it, nothing
/// plays.
#[test]
fn a_clock_of_our_own_is_no_song_where_no_rhythm_runs() {
    let song = song("| Dm7 |");
    for (source, heard) in [(Source::Reading, true), (Source::Chart, false)] {
        let mut stage = Stage::new(source);
        stage.song = Some(&song);
        stage.ours = true;
        stage.play();
        stage.wait(64);
        assert_eq!(!stage.ask(&scale(), 64).is_empty(), heard, "{source:?}");
    }
}

#[test]
fn another_chart_ends_it_while_the_song_plays() {
    let (old, new) = (song("| Dm7 | G7 |"), song("| Cmaj7 |"));
    let also = Request::new(Pace::Free, [chord(&[40, 41]).lasting(200)]).also_while_playing(true);
    let tried = |events: &[Event]| -> Vec<u32> {
        let all = ends(events).into_iter();
        all.filter(|(_, key)| [40, 41].contains(key))
            .map(|(time, _)| time)
            .collect()
    };
    let playing = || {
        let mut stage = Stage::new(Source::Chart);
        stage.song = Some(&old);
        stage.play();
        stage.ask(&also, 1_000);
        stage
    };
    // At once.
    let mut stage = playing();
    stage.update = ChartUpdate::Edited;
    assert_eq!(tried(&stage.wait(64)), [0, 0]);
    // At the bar line, a second and a half later.
    let mut stage = playing();
    stage.next_song = Some(&new);
    stage.wait(RATE * 3);
    assert_eq!(tried(&stage.events), [RATE * 2; 2]);
    // One that is only planned anew changes nothing.
    let mut stage = playing();
    stage.update = ChartUpdate::Planned;
    stage.wait(64);
    assert!(tried(&stage.events).is_empty());
    // At rest it changes nothing that sounds.
    let mut stage = Stage::new(Source::Chart);
    stage.song = Some(&old);
    stage.ask(&also, 1_000);
    stage.update = ChartUpdate::Edited;
    assert!(stage.wait(64).is_empty());
    stage.next_song = Some(&new);
    assert!(stage.wait(64).is_empty());
}

#[test]
fn another_chart_does_not_end_what_is_asked_with_it() {
    let song = song("| Dm7 |");
    let mut stage = Stage::new(Source::Chart);
    stage.song = Some(&song);
    stage.play();
    stage.wait(64);
    stage.update = ChartUpdate::Edited;
    let request = Request::new(Pace::Free, [chord(&[40])]).also_while_playing(true);
    let events = stage.ask(&request, 64);
    assert!(starts(&events).contains(&(0, 40)));
    assert!(!ends(&events).contains(&(0, 40)));
}
