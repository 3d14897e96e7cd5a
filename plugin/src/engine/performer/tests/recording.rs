//! The recording of the right hand over a chart, in blocks of any size: a host with a song, and what is
//! recorded of its sessions. It changes nothing that sounds, and allocates nothing.

mod keys;
mod random;
mod turns;

use super::*;
use crate::engine::timekeeper::Timekeeper;
use guidehand_theory::under::Style;

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

/// What a host tells of a song that is at a beat, or that stands still.
fn told_at(position_beats: Option<f64>) -> HostTransport {
    HostTransport {
        playing: position_beats.is_some(),
        position_beats,
        tempo_bpm: Some(120.0),
        given: true,
        sample_rate_hz: 48_000.0,
        ..HostTransport::default()
    }
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
                loop_beats: self.looped.filter(|_| self.tells_loop),
                ..told_at(here.map(beats_of))
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
            loop_beats: (block % 3 == 0).then_some((1.0, 4.0)),
            ..told_at(Some(f64::from(block * 7 % 23)))
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
