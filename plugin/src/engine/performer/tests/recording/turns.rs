//! Passes: time that starts again, turns in a loop or jumps, and charts that take over.

use super::*;

/// A chart starts again after its pickup. Each time is a pass.
#[test]
fn a_chart_that_starts_again_is_another_pass() {
    let host = Host {
        chart: "Pickup G7 | C6 | F6 |",
        ..Host::default()
    };
    let (length, again) = (960 + 2 * 3840, 960 + 4 * 3840);
    let steps = [
        ON,
        at(480, On(72)),
        at(960, Off(72)),
        at(length - 20, On(74)),
        at(length + 470, Off(74)),
        at(length + 480, On(76)),
        at(again - 960, Off(76)),
        // A round in which nothing is played goes by.
        at(again + 2 * 3840 + 7, On(77)),
        at(again + 2 * 3840 + 9, Off(77)),
    ];
    let taken = host.play(&steps, (again + 3 * 3840) * 25);
    let expected = [
        (72, (480, 960), (0, 0)),
        (74, (length - 20, 960 + 470), (0, 1)),
        (76, (960 + 480, length - 960), (1, 1)),
        (77, (960 + 7, 960 + 9), (2, 2)),
    ];
    assert_eq!(notes(&taken), expected);
    assert_eq!(turns(&taken), [(length, 960); 2]);
}

/// A host that rounds its positions tells one before the end right after a key has gone down in the next
/// round.
#[test]
fn a_chart_starts_again_once() {
    let song = planned("| Dm7 | G7 |", 1);
    let mut performer = performer();
    let mut keeper = Timekeeper::default();
    performer.recording().record(1);
    let mut taken = Vec::new();
    let blocks: [(f64, u32, &[TimedInput<u32>]); 3] = [
        (7.0, 24_001, &[on(0, 71), off(100, 71), on(24_000, 72)]),
        (8.0 - 0.4 / 960.0, 12_000, &[off(11_000, 72)]),
        (8.5, 12_000, &[on(0, 74), off(10, 74)]),
    ];
    for (beats, frames, inputs) in blocks {
        let told = told_at(Some(beats));
        let scene = Scene {
            settings: Settings::plain(Source::Chart),
            clock: keeper.clock(&told, 120.0, frames),
            frames,
            song: Some(&song),
            update: ChartUpdate::None,
            next_song: None,
            audition: None,
        };
        let mut script = Script {
            inputs: inputs.iter().copied().collect(),
            ..Script::default()
        };
        run(&mut performer, &scene, &mut script);
        taken.append(&mut script.taken);
    }
    assert_eq!(turns(&taken), [(7680, 0)]);
    let passes: Vec<_> = notes(&taken).iter().map(|note| (note.0, note.2)).collect();
    assert_eq!(passes, [(71, (0, 0)), (72, (1, 1)), (74, (1, 1))]);
}

/// A host that begins a block at the loop's start, however far the one before has led beyond the end, and
/// does not tell of the loop: once that is known, time waits at the end, and that is no turn.
#[test]
fn time_that_waits_at_the_end_of_a_loop_is_in_its_pass() {
    let song = planned("| Dm7 | G7 | Cmaj7 | A7 |", 1);
    let mut performer = performer();
    let mut keeper = Timekeeper::default();
    performer.recording().record(1);
    let mut taken = Vec::new();
    for _ in 0..5 {
        // The last of these blocks leads a quarter note beyond the end of the bar.
        for block in 0..5 {
            let told = told_at(Some(4.0 + f64::from(block) * 0.9));
            let frames = 21_600;
            let scene = Scene {
                settings: Settings::plain(Source::Chart),
                clock: keeper.clock(&told, 120.0, frames),
                frames,
                song: Some(&song),
                update: ChartUpdate::None,
                next_song: None,
                audition: None,
            };
            let mut script = Script::default();
            if block == 4 {
                script.inputs = [on(100, 72), off(20_000, 72)].into();
            }
            run(&mut performer, &scene, &mut script);
            taken.append(&mut script.taken);
        }
    }
    let passes: Vec<_> = notes(&taken).iter().map(|note| note.2).collect();
    assert_eq!(passes, [(0, 0), (1, 1), (2, 2), (3, 3), (4, 4)]);
    let last = notes(&taken)[4];
    assert_eq!(last.1, (7300, 7680), "it has waited");
}

/// A loop that the host tells, and one that it plays by jumping, whose first turns nobody knows ahead.
#[test]
fn a_loop_is_another_pass_each_time() {
    for tells_loop in [true, false] {
        let host = Host {
            looped: Some((4.0, 8.0)),
            tells_loop,
            ..Host::default()
        };
        let turn = |nth: u32| 3840 * (1 + nth);
        let steps = [
            ON,
            at(turn(0) + 5, On(72)),
            at(turn(1) - 10, Off(72)),
            at(turn(1) + 3, On(72)),
            at(turn(2) + 100, Off(72)),
            at(turn(3) - 30, On(74)),
            at(turn(3) - 15, On(75)),
            at(turn(3) - 5, Off(75)),
            at(turn(4) - 3, Off(74)),
        ];
        let taken = host.play(&steps, (turn(5) + 100) * 25);
        let (from, end) = (3840, 7680);
        let expected = [
            (72, (from + 5, end - 10), (0, 0)),
            (72, (from + 3, from + 100), (1, 2)),
            (75, (end - 15, end - 5), (2, 2)),
            (74, (end - 30, end - 3), (2, 3)),
        ];
        assert_eq!(notes(&taken), expected, "told: {tells_loop}");
        assert_eq!(turns(&taken), [(end, from); 4], "told: {tells_loop}");
    }
}

/// A loop as long as the chart: the place is the same at once after the turn as it would have been.
#[test]
fn a_loop_over_the_whole_chart_is_another_pass_too() {
    let host = Host {
        looped: Some((0.0, 16.0)),
        ..Host::default()
    };
    let steps = [
        ON,
        at(ROUND - 960, On(72)),
        at(ROUND - 480, Off(72)),
        at(2 * ROUND - 960, On(72)),
        at(2 * ROUND - 480, Off(72)),
    ];
    let taken = host.play(&steps, (2 * ROUND + 100) * 25);
    let place = (ROUND - 960, ROUND - 480);
    assert_eq!(notes(&taken), [(72, place, (0, 0)), (72, place, (1, 1))]);
    assert_eq!(turns(&taken), [(ROUND, 0); 2]);
}

/// A jump ends the pass. A key that is held then is told when it goes up.
#[test]
fn a_jump_while_a_key_is_held_is_told() {
    let steps = [ON, at(960, On(72)), at(1920, Play(8.0)), at(2880, Off(72))];
    let taken = Host::default().play(&steps, 3000 * 25);
    assert_eq!(notes(&taken), [(72, (960, 8 * 960 + 960), (0, 1))]);
    assert_eq!(turns(&taken), [(1920, 8 * 960)]);
}

/// A start after a stop is another pass.
#[test]
fn a_new_start_is_another_pass() {
    let note = |from: u32| [at(from, On(72)), at(from + 100, Off(72))];
    let steps = [
        &[ON][..],
        &note(100),
        &[at(500, Stop), at(600, Play(0.0))],
        &note(700),
    ];
    let taken = Host::default().play(&steps.concat(), 1000 * 25);
    assert_eq!(
        notes(&taken),
        [(72, (100, 200), (0, 0)), (72, (100, 200), (1, 1))]
    );
}

/// A chart ends where another one takes over and the host goes elsewhere: that is one turn.
#[test]
fn several_turns_at_a_sample_are_one() {
    let host = Host {
        looped: Some((12.0, 16.0)),
        ..Host::default()
    };
    let steps = [
        ON,
        at(ROUND - 960, On(72)),
        at(ROUND - 900, Chart("| F6 | Bb7 | C6 | F6 |")),
        at(ROUND + 480, Off(72)),
        // A take may begin where a loop turns.
        at(ROUND + 3840, Record(2)),
        at(ROUND + 3840, On(74)),
        at(ROUND + 4800, Off(74)),
    ];
    let taken = host.play(&steps, (ROUND + 5000) * 25);
    assert_eq!(turns(&taken), [(ROUND, 3 * 3840)]);
    let expected = [
        (72, (ROUND - 960, 3 * 3840 + 480), (0, 1)),
        (74, (3 * 3840, 3 * 3840 + 960), (2, 2)),
    ];
    assert_eq!(notes(&taken), expected);
}

/// Another chart takes over at the bar line. Where its bars lie alike, time goes on in the same pass.
#[test]
fn another_chart_takes_over_while_a_key_is_held() {
    let play = |chart: &'static str, beat: f64| {
        let steps = [
            ON,
            at(0, Play(beat)),
            at(960, On(72)),
            at(1920, Chart(chart)),
            at(4800, Off(72)),
        ];
        Host::default().play(&steps, 5000 * 25)
    };
    let taken = play("| Em7b5 | A7 | Dm6 | D7 |", 0.0);
    assert_eq!(
        (notes(&taken), turns(&taken)),
        (vec![(72, (960, 4800), (0, 0))], vec![])
    );
    // The second time through four bars is the first through eight.
    let taken = play("| C6 | F6 | C6 | G7 | C6 | F6 | C6 | G7 |", 16.0);
    assert_eq!(notes(&taken), [(72, (960, ROUND + 4800), (0, 1))]);
    assert_eq!(turns(&taken), [(3840, ROUND + 3840)]);
    // In both it is the second time through, in another bar.
    let taken = play("| C6 | F6 | C6 | G7 | C6 |", 20.0);
    assert_eq!(notes(&taken), [(72, (3840 + 960, 3840 + 960), (0, 1))]);
    assert_eq!(turns(&taken), [(2 * 3840, 3840)]);
}
