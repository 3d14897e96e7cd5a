//! The recording of the right hand over a chart: where its keys go down and up, in blocks of any size,
//! and what becomes of keys that are held when time goes elsewhere.

use super::*;
use crate::engine::settings::{BassSettings, ChartSettings};
use crate::engine::timekeeper::Timekeeper;
use guidehand_theory::under::Style;
use proptest::prelude::*;

/// A quarter note in samples, at 120 bpm. A tick is 25 samples.
const BEAT: u32 = 24_000;

/// The sizes of blocks that every session is played in.
const SIZES: [&[u32]; 5] = [&[1_000_000], &[480], &[64, 4096], &[977], &[1, 2, 3, 5000]];

/// What happens in a session, at a sample of it.
#[derive(Clone, Copy, Debug)]
enum Step {
    On(u8),
    Off(u8),
    /// All notes end on the first channel.
    Panic,
    /// The rest begins a block.
    Set(Settings),
    /// The song stands still, or plays from a beat.
    Stop,
    Play(f64),
    /// A take begins, or none is recorded any more.
    Record(u32),
    /// Another chart waits for the next bar line.
    Chart(&'static str),
    /// The host resets the plugin.
    Reset,
}
use Step::{Chart, Off, On, Panic, Play, Record, Reset, Set, Stop};

impl Step {
    const fn is_event(self) -> bool {
        matches!(self, On(_) | Off(_) | Panic)
    }
}

/// A host with a song.
struct Host {
    settings: Settings,
    chart: &'static str,
    /// The loop that it plays, in beats.
    looped: Option<(f64, f64)>,
    /// It hands the loop's turn over within a block, and tells of the loop.
    tells_loop: bool,
}

impl Default for Host {
    fn default() -> Host {
        Host {
            settings: Settings::plain(Source::Chart),
            chart: "| Dm7 | G7 | Cmaj7 | A7 |",
            looped: None,
            tells_loop: true,
        }
    }
}

fn planned(text: &str, edition: u64) -> PlannedChart {
    PlannedChart::plan(&chart::parse(text).unwrap(), PlanFor::default(), edition)
}

/// Beats in whole samples.
fn samples_of(beats: f64) -> u64 {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "small"
    )]
    {
        (beats * f64::from(BEAT)).round() as u64
    }
}

#[expect(clippy::cast_precision_loss, reason = "small")]
fn beats_of(samples: i64) -> f64 {
    samples as f64 / f64::from(BEAT)
}

impl Host {
    fn with(change: impl FnOnce(&mut Settings)) -> Host {
        let mut host = Host::default();
        change(&mut host.settings);
        host
    }

    /// What is recorded of a session, which is the same in blocks of any size.
    fn play(&self, steps: &[(u32, Step)], frames: u32) -> Vec<Taken> {
        let all = SIZES.map(|sizes| self.play_in(steps, frames, sizes));
        for taken in &all {
            assert_eq!(*taken, all[0]);
        }
        all.into_iter().next().unwrap()
    }

    /// The song plays from its first beat on, unless the steps say otherwise.
    fn play_in(&self, steps: &[(u32, Step)], frames: u32, sizes: &[u32]) -> Vec<Taken> {
        let mut performer = performer();
        let mut keeper = Timekeeper::default();
        let mut settings = self.settings;
        let mut edition = 1;
        let mut song = planned(self.chart, edition);
        let mut waits = None;
        let mut update = ChartUpdate::Edited;
        // In samples from the start of the song.
        let mut here = Some(0_i64);
        let mut sizes = sizes.iter().copied().cycle();
        let mut steps = steps.iter().copied().peekable();
        let mut taken = Vec::new();
        let mut start = 0;
        while start < frames {
            while let Some((_, step)) = steps.next_if(|(at, step)| *at == start && !step.is_event())
            {
                match step {
                    Set(new) => settings = new,
                    Stop => here = None,
                    Play(beat) => here = Some(i64::try_from(samples_of(beat.abs())).unwrap()),
                    Record(number) => performer.recording().record(number),
                    Chart(text) => {
                        edition += 1;
                        waits = Some(planned(text, edition));
                    }
                    Reset => {
                        performer.reset();
                        keeper.reset();
                    }
                    On(_) | Off(_) | Panic => {}
                }
                if let Play(beat) = step
                    && beat < 0.0
                {
                    here = here.map(|samples| -samples);
                }
            }
            let mut length = sizes.next().unwrap().min(frames - start);
            let loop_samples = self.looped.map(|(from, to)| {
                [from, to].map(|beats| i64::try_from(samples_of(beats)).unwrap())
            });
            if let Some(((_, end), here)) = loop_samples.map(|[a, b]| (a, b)).zip(here)
                && !self.tells_loop
                && here < end
            {
                // A block of such a host ends where its loop does.
                length = length.min(u32::try_from(end - here).unwrap());
            }
            let mut inputs = Vec::new();
            while let Some((at, step)) =
                steps.next_if(|(at, step)| *at < start + length && step.is_event())
            {
                inputs.push(match step {
                    On(key) => on(at - start, key),
                    Off(key) => off(at - start, key),
                    _ => TimedInput {
                        time_samples: at - start,
                        input: Input::AllNotesOff { channel: 0 },
                        event: 127,
                    },
                });
            }
            if let Some((at, _)) = steps.peek().filter(|(at, _)| *at < start + length) {
                length = at - start;
            }
            let told = HostTransport {
                playing: here.is_some(),
                position_beats: here.map(beats_of),
                tempo_bpm: Some(120.0),
                loop_beats: self.looped.filter(|_| self.tells_loop),
                given: true,
                sample_rate_hz: 48_000.0,
                ..HostTransport::default()
            };
            let scene = Scene {
                settings,
                clock: keeper.clock(&told, 120.0, length),
                frames: length,
                song: Some(&song),
                update: std::mem::take(&mut update),
                next_song: waits.as_ref(),
                audition: None,
            };
            let mut script = Script {
                inputs: inputs.into(),
                ..Script::default()
            };
            let outcome = run(&mut performer, &scene, &mut script);
            taken.append(&mut script.taken);
            if outcome.next_song_plays {
                song = waits.take().unwrap();
            }
            start += length;
            here = here
                .map(|here| here + i64::from(length))
                .map(|here| match loop_samples {
                    Some([from, end]) if here >= end && here - i64::from(length) < end => {
                        from + (here - end) % (end - from)
                    }
                    _ => here,
                });
        }
        taken
    }
}

/// A step at a place, in ticks from the start of the session.
const fn at(ticks: u32, step: Step) -> (u32, Step) {
    (ticks * 25, step)
}

/// A key, the ticks of its start and its end, and the passes of both.
type Played = (u8, (u32, u32), (u32, u32));

/// The keys that were played, with passes counted from the first one.
fn notes(taken: &[Taken]) -> Vec<Played> {
    let first = taken.iter().find_map(|one| match one {
        Taken::Note(note) => Some(note.pass),
        Taken::Turned { pass, .. } => Some(pass - 1),
        Taken::Begun(_) => None,
    });
    let first = first.unwrap_or(0);
    let notes = taken.iter().filter_map(|one| match one {
        Taken::Note(note) => Some((
            note.key,
            (note.start_ticks, note.end_ticks),
            (note.pass - first, note.ended_pass - first),
        )),
        _ => None,
    });
    notes.collect()
}

fn turns(taken: &[Taken]) -> Vec<(u32, u32)> {
    let turns = taken.iter().filter_map(|one| match one {
        Taken::Turned {
            left_ticks,
            arrived_ticks,
            ..
        } => Some((*left_ticks, *arrived_ticks)),
        _ => None,
    });
    turns.collect()
}

const ON: (u32, Step) = (0, Record(1));

/// Four bars, in ticks.
const ROUND: u32 = 4 * 3840;

#[test]
fn keys_at_the_split_and_above_are_recorded_where_they_go_down_and_up() {
    let steps = [
        ON,
        at(0, On(72)),
        at(3, On(48)),
        at(950, Off(72)),
        at(960, On(60)),
        at(970, Off(48)),
        at(1000, On(76)),
        at(4800, Off(60)),
        at(4801, Off(76)),
    ];
    let taken = Host::default().play(&steps, 6000 * 25);
    assert_eq!(taken[0], Taken::Begun(1));
    let expected = [
        (72, (0, 950), (0, 0)),
        (60, (960, 4800), (0, 0)),
        (76, (1000, 4801), (0, 0)),
    ];
    assert_eq!(notes(&taken), expected);
    let bars: Vec<(u32, u32)> = taken
        .iter()
        .filter_map(|one| match one {
            Taken::Note(note) => Some((note.bar.start_ticks, note.bar.length_ticks)),
            _ => None,
        })
        .collect();
    assert_eq!(bars, [(0, 3840); 3]);
}

/// Nothing is recorded before the player wants it and after it, while the song stands still, beyond
/// the chart, and where no chart plays.
#[test]
fn what_is_not_played_over_the_chart_is_not_recorded() {
    let note = [at(100, On(72)), at(200, Off(72))];
    let none = |host: &Host, steps: &[(u32, Step)]| {
        let all = [steps, &note].concat();
        assert_eq!(notes(&host.play(&all, 300 * 25)), []);
    };
    none(&Host::default(), &[]);
    none(&Host::default(), &[ON, at(50, Record(0))]);
    none(&Host::default(), &[ON, at(50, Stop)]);
    none(
        &Host::with(|s| s.chart.repeats = false),
        &[ON, at(50, Play(16.0))],
    );
    none(&Host::default(), &[ON, at(50, Play(-8.0))]);
    none(&Host::with(|s| s.bypass = true), &[ON]);
    none(&Host::with(|s| s.split = 73), &[ON]);
    for source in [Source::Roots, Source::Reading, Source::Practice] {
        none(&Host::with(|s| s.source = source), &[ON]);
    }
    let by_root = BassSettings {
        by_chart: false,
        ..Settings::plain(Source::Bass).bass
    };
    let host = Host::with(|s| (s.source, s.bass) = (Source::Bass, by_root));
    none(&host, &[ON]);
    // Over the chart of a bass they are.
    let taken =
        Host::with(|s| s.source = Source::Bass).play(&[&[ON], &note[..]].concat(), 300 * 25);
    assert_eq!(notes(&taken), [(72, (100, 200), (0, 0))]);
}

/// The chart may begin later in the song. A key that is early for its first bar is in it.
#[test]
fn places_count_from_the_start_of_the_chart() {
    let host = Host::with(|s| {
        s.chart = ChartSettings {
            from_bar: 3,
            ..s.chart
        };
    });
    let early = 2 * 3840 - 100;
    let steps = [
        ON,
        at(early - 100, On(71)),
        at(early - 10, Off(71)),
        at(early, On(72)),
        at(8000, Off(72)),
    ];
    let taken = host.play(&steps, 9000 * 25);
    assert_eq!(notes(&taken), [(72, (0, 8000 - 2 * 3840), (0, 0))]);
}

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
        let told = HostTransport {
            playing: true,
            position_beats: Some(beats),
            tempo_bpm: Some(120.0),
            given: true,
            sample_rate_hz: 48_000.0,
            ..HostTransport::default()
        };
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
            let told = HostTransport {
                playing: true,
                position_beats: Some(4.0 + f64::from(block) * 0.9),
                tempo_bpm: Some(120.0),
                given: true,
                sample_rate_hz: 48_000.0,
                ..HostTransport::default()
            };
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

/// What ends all time ends what is held: a stop, the end of the take, a reset, another source, a bypass.
#[test]
fn keys_that_are_held_at_the_end_end_there() {
    let another = |change: fn(&mut Settings)| {
        let mut settings = Settings::plain(Source::Chart);
        change(&mut settings);
        Set(settings)
    };
    for end in [
        Stop,
        Record(0),
        Record(2),
        Reset,
        another(|s| s.source = Source::Roots),
        another(|s| s.bypass = true),
    ] {
        let steps = [
            ON,
            at(960, On(72)),
            at(1000, On(76)),
            at(1920, end),
            at(2880, Off(72)),
            at(2881, Off(76)),
        ];
        let taken = Host::default().play(&steps, 3000 * 25);
        let expected = [(72, (960, 1920), (0, 0)), (76, (1000, 1920), (0, 0))];
        assert_eq!(notes(&taken), expected, "{end:?}");
    }
}

/// A take ends, and is reset, right after the chart has started again.
#[test]
fn keys_that_are_held_end_in_the_round_of_the_end() {
    for end in [Record(0), Reset] {
        let note = |after: u32| {
            let steps = [ON, at(ROUND - 960, On(72)), (ROUND * 25 + after, end)];
            let taken = Host::default().play(&steps, (ROUND + 960) * 25);
            notes(&taken)[0].1.1
        };
        assert_eq!((note(0), note(1), note(25)), (ROUND, 0, 1), "{end:?}");
    }
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

/// A chart that does not start again ends what is held.
#[test]
fn the_end_of_a_chart_ends_what_is_held() {
    let host = Host::with(|s| s.chart.repeats = false);
    let steps = [ON, at(ROUND - 960, On(72)), at(ROUND + 960, Off(72))];
    let taken = host.play(&steps, (ROUND + 1000) * 25);
    assert_eq!(notes(&taken), [(72, (ROUND - 960, ROUND), (0, 0))]);
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

/// A key belongs to the hand that struck it, wherever the split has gone since.
#[test]
fn a_key_that_the_split_crosses_is_recorded_to_its_end() {
    let mut higher = Settings::plain(Source::Chart);
    higher.split = 80;
    let steps = [
        ON,
        at(100, On(72)),
        at(300, Set(higher)),
        at(400, On(74)),
        at(500, Off(72)),
        at(600, Set(Settings::plain(Source::Chart))),
        at(700, Off(74)),
        at(750, On(74)),
        at(800, Off(74)),
    ];
    let taken = Host::default().play(&steps, 1000 * 25);
    assert_eq!(
        notes(&taken),
        [(72, (100, 500), (0, 0)), (74, (750, 800), (0, 0))]
    );
}

/// A key that is struck twice, and all notes that end.
#[test]
fn a_key_that_is_struck_again_ends_and_begins() {
    let steps = [
        ON,
        at(100, On(72)),
        at(300, On(72)),
        at(400, On(76)),
        at(500, Panic),
    ];
    let taken = Host::default().play(&steps, 1000 * 25);
    let expected = [
        (72, (100, 300), (0, 0)),
        (72, (300, 500), (0, 0)),
        (76, (400, 500), (0, 0)),
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

/// A place is told with the swing of its moment.
#[test]
fn the_swing_of_the_moment_is_told() {
    let swing = |bpm_swings: fn(&mut Settings)| {
        let steps = [ON, at(640, On(72)), at(960, Off(72))];
        match Host::with(bpm_swings).play(&steps, 1000 * 25)[1] {
            Taken::Note(note) => note.off_beat,
            _ => panic!("no note"),
        }
    };
    assert!((swing(|s| s.groove.swing = 0.62) - 0.62).abs() < 1.0e-6);
    assert!((swing(|s| s.groove.swing = 0.5) - 0.5).abs() < 1.0e-6);
    let bossa = |s: &mut Settings| {
        s.groove.rhythm = crate::engine::rhythm::Rhythm::Bossa;
        s.groove.swing = 0.62;
    };
    assert!((swing(bossa) - 0.5).abs() < 1.0e-6);
}

/// What sounds is the same whether it is recorded or not.
#[test]
fn a_recording_changes_nothing_that_sounds() {
    let mut settings = Settings::plain(Source::Chart);
    settings.right_hand.under = Some(Style::DropTwo);
    let song = planned("| Dm7 | G7 |", 1);
    let sounds = |number: u32| {
        let mut performer = performer();
        performer.recording().record(number);
        let scene = Scene {
            settings,
            clock: Clock {
                jumped: true,
                ..Clock::new(&HostTransport {
                    playing: true,
                    position_beats: Some(0.0),
                    tempo_bpm: Some(120.0),
                    sample_rate_hz: 48_000.0,
                    ..HostTransport::default()
                })
            },
            frames: 200_000,
            song: Some(&song),
            update: ChartUpdate::Edited,
            next_song: None,
            audition: None,
        };
        play(
            &mut performer,
            &scene,
            &[on(100, 72), on(5000, 76), off(9000, 72), off(120_000, 76)],
        )
    };
    assert!(sounds(0).len() > 20);
    assert_eq!(sounds(0), sounds(1));
}

/// A host without memory of its own: what it hands over lies in a list, and what goes out is dropped, but
/// for what is recorded.
#[cfg(feature = "assert_process_allocs")]
struct Bare<'a> {
    inputs: std::slice::Iter<'a, TimedInput<u32>>,
    sender: crate::bridge::take::Sender,
}

#[cfg(feature = "assert_process_allocs")]
impl Port<u32> for Bare<'_> {
    fn next(&mut self) -> Option<TimedInput<u32>> {
        self.inputs.next().copied()
    }

    fn send(&mut self, _: u32, _: Output<u32>) -> bool {
        true
    }

    fn took(&mut self, taken: Taken) {
        self.sender.send(taken);
    }
}

/// A take of more notes than the queue holds, through loops and jumps: an allocation aborts.
#[cfg(feature = "assert_process_allocs")]
#[test]
fn nothing_is_allocated_while_the_right_hand_is_recorded() {
    let song = planned("Pickup G7 | C6 | F6 |", 1);
    let (asker, sender) = crate::bridge::take::channel();
    let mut performer = performer();
    let mut keeper = Timekeeper::default();
    let inputs: Vec<_> = (0..100_u8)
        .flat_map(|nth| {
            let (at, key) = (u32::from(nth) * 200, 60 + nth % 40);
            [on(at, key), off(at + 150, key)]
        })
        .collect();
    let settings = Settings::plain(Source::Chart);
    let mut port = Bare {
        inputs: inputs.iter(),
        sender,
    };
    asker.begin();
    for block in 0..100 {
        let told = HostTransport {
            playing: block % 10 != 9,
            position_beats: Some(f64::from(block * 7 % 23)),
            tempo_bpm: Some(120.0),
            loop_beats: (block % 3 == 0).then_some((1.0, 4.0)),
            given: true,
            sample_rate_hz: 48_000.0,
            ..HostTransport::default()
        };
        port.inputs = inputs.iter();
        nice_assert_no_alloc::assert_no_alloc(|| {
            performer.recording().record(port.sender.wanted());
            let clock = keeper.clock(&told, 120.0, 20_500);
            let block = Block {
                settings: &settings,
                settings_moved: false,
                clock,
                frames: 20_500,
                song: Some(&song),
                update: ChartUpdate::None,
                next_song: None,
                bass_events: &[],
                bass_from_samples: 0,
                audition: None,
            };
            performer.process(&block, &mut port);
            port.sender.tell(performer.recording().number());
        });
    }
    assert!(asker.lost() > 100, "the queue was full");
}

fn steps() -> impl Strategy<Value = Vec<(u32, Step)>> {
    let key = 55_u8..80;
    let step = prop_oneof![
        6 => key.clone().prop_map(On),
        6 => key.prop_map(Off),
        1 => Just(Panic),
        1 => Just(Stop),
        1 => (0_u32..20).prop_map(|beat| Play(f64::from(beat))),
        1 => (0_u32..3).prop_map(Record),
        1 => Just(Chart("3/4 | F6 | Bb7 / / | Am7 D7 / |")),
        1 => Just(Chart("Pickup G7 | C6 | F6 |")),
        1 => Just(Reset),
    ];
    proptest::collection::vec((1_u32..40_000, step), 1..60).prop_map(|steps| {
        let mut time = 0;
        let timed = steps.into_iter().map(|(after, step)| {
            time += after;
            (time, step)
        });
        std::iter::once(ON).chain(timed).collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    /// Whatever happens, the same is recorded in blocks of any size, every key ends once, and every
    /// place lies in the chart.
    #[test]
    fn any_session_is_recorded_alike(
        steps in steps(),
        looped in proptest::option::of((0_u32..6, 1_u32..9)),
    ) {
        let host = Host {
            looped: looped.map(|(from, length)| (f64::from(from), f64::from(from + length))),
            ..Host::default()
        };
        let frames = steps.last().unwrap().0 + 100_000;
        let mut steps = steps;
        // How a host turns its loop is read from where its blocks begin, so that jumps to the start of a
        // loop are not the same in blocks of any size.
        steps.retain(|(_, step)| looped.is_none() || !matches!(step, Play(_)));
        steps.push((frames - 1000, Record(0)));
        let taken = host.play(&steps, frames);
        let pressed = steps.iter().filter(|(_, step)| matches!(step, On(60..))).count();
        prop_assert!(notes(&taken).len() <= pressed);
        for (key, (start, end), (pass, ended)) in notes(&taken) {
            prop_assert!(key >= 60 && start < ROUND && end <= ROUND && pass <= ended);
            prop_assert!(pass != ended || start <= end);
        }
    }
}
