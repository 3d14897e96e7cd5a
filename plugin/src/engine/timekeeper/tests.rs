//! Transports as hosts tell them, block by block.

use super::*;

fn told(position_beats: f64, tempo_bpm: f64) -> HostTransport {
    HostTransport {
        playing: true,
        position_beats: Some(position_beats),
        tempo_bpm: Some(tempo_bpm),
        sample_rate_hz: 48_000.0,
        within_blocks: true,
        given: true,
        ..HostTransport::default()
    }
}

/// A host that hands over no transport.
fn untold() -> HostTransport {
    HostTransport {
        sample_rate_hz: 48_000.0,
        ..HostTransport::default()
    }
}

#[test]
fn our_own_time_is_the_same_in_any_blocks() {
    let end = |block: u32| {
        let mut keeper = Timekeeper::default();
        let mut passed = 0;
        let mut begins = Vec::new();
        while passed < 144_000 {
            let bpm = if passed < 96_000 { 97.3 } else { 211.9 };
            let clock = keeper.clock(&untold(), bpm, block);
            let pieces = [(0, Some(clock)), clock.piece(block)];
            for (samples, piece) in pieces {
                if piece.is_some_and(|piece| piece.jumped && piece.position_ticks.is_some()) {
                    begins.push(passed + samples);
                }
            }
            passed += block;
        }
        assert_eq!(begins, [48_000], "in blocks of {block}");
        keeper.clock(&untold(), 211.9, 1).position_ticks
    };
    assert_eq!(end(1), end(96));
    assert_eq!(end(1), end(4_000));
    let ticks = (97.3 + 211.9) / 60.0 * 960.0;
    assert!((end(1).unwrap() - ticks).abs() < 1e-6);
}

/// Samples of our own time in so many blocks of 480.
fn own_samples(keeper: &mut Timekeeper, told: &HostTransport, blocks: u32) -> u32 {
    let runs = |_: &u32| keeper.clock(told, 120.0, 480).position_ticks.is_some();
    u32::try_from((0..blocks).filter(runs).count()).unwrap() * 480
}

#[test]
fn a_host_that_has_told_of_a_transport_keeps_time() {
    let given = HostTransport {
        given: true,
        ..untold()
    };
    // A song is being loaded, for less than a second.
    let mut keeper = Timekeeper::default();
    assert_eq!(own_samples(&mut keeper, &untold(), 99), 0);
    assert_eq!(own_samples(&mut keeper, &given, 1), 0);
    assert_eq!(own_samples(&mut keeper, &untold(), 1_000), 0);
    keeper.reset();
    assert_eq!(own_samples(&mut keeper, &untold(), 1_000), 0);
    // The host is late with its first transport.
    let mut keeper = Timekeeper::default();
    assert_eq!(own_samples(&mut keeper, &untold(), 150), 24_000);
    assert_eq!(own_samples(&mut keeper, &given, 1), 0);
    assert_eq!(own_samples(&mut keeper, &untold(), 1_000), 0);
    // A host without a transport is reset.
    let mut keeper = Timekeeper::default();
    assert_eq!(own_samples(&mut keeper, &untold(), 150), 24_000);
    keeper.reset();
    assert_eq!(own_samples(&mut keeper, &untold(), 150), 24_000);
}

#[test]
fn a_host_may_say_no_more_than_that_it_plays() {
    let stands = HostTransport {
        given: true,
        ..untold()
    };
    let plays = HostTransport {
        playing: true,
        ..stands
    };
    let mut keeper = Timekeeper::default();
    for _ in 0..2 {
        assert_eq!(own_samples(&mut keeper, &stands, 200), 0);
        let clock = keeper.clock(&plays, 120.0, 480);
        assert_eq!((clock.position_ticks, clock.jumped), (Some(0.0), true));
        let clock = keeper.clock(&plays, 120.0, 480);
        assert!((clock.position_ticks.unwrap() - 19.2).abs() < 1e-9 && !clock.jumped);
    }
}

#[test]
fn a_tempo_told_within_a_block_is_no_jump() {
    let mut keeper = Timekeeper::default();
    keeper.clock(&told(4.0, 120.0), 0.0, 400);
    let beats = 4.0 + 400.0 / 48_000.0 * 2.0;
    let shift = 400.0 / 48_000.0 * 3.0;
    let within = HostTransport {
        into_block_samples: 400,
        ..told(beats + shift, 180.0)
    };
    let clock = keeper.clock(&within, 0.0, 600);
    assert!(!clock.jumped);
    assert!((clock.position_ticks.unwrap() - beats * 960.0).abs() < 1e-9);
    // A later part of the same block carries the same error.
    let later = beats + 600.0 / 48_000.0 * 3.0;
    let after = HostTransport {
        into_block_samples: 1_000,
        ..told(later + shift, 180.0)
    };
    let clock = keeper.clock(&after, 0.0, 24);
    assert!((clock.position_ticks.unwrap() - later * 960.0).abs() < 1e-9);
}

/// A position that a host has reported within its block, as the framework passes it on.
fn told_within(into_block_samples: u32, position_beats: f64) -> HostTransport {
    let shift = f64::from(into_block_samples) / 48_000.0 * 2.0;
    HostTransport {
        into_block_samples,
        ..told(position_beats + shift, 120.0)
    }
}

#[test]
fn a_jump_told_within_a_block_leads_where_it_says() {
    let mut keeper = Timekeeper::default();
    keeper.clock(&told(4.0, 120.0), 0.0, 400);
    let clock = keeper.clock(&told_within(400, 17.0), 0.0, 600);
    assert!(clock.jumped);
    assert!((clock.position_ticks.unwrap() - 17.0 * 960.0).abs() < 1e-9);
    // A later part of the block, and the block after it, go on from there.
    let beats = 17.0 + 600.0 / 48_000.0 * 2.0;
    let clock = keeper.clock(&told_within(1_000, 17.0), 0.0, 24);
    assert!(!clock.jumped);
    assert!((clock.position_ticks.unwrap() - beats * 960.0).abs() < 1e-9);
    let beats = beats + 24.0 / 48_000.0 * 2.0;
    assert!(!keeper.clock(&told(beats, 120.0), 0.0, 512).jumped);
}

#[test]
fn a_start_told_within_a_block_is_where_the_song_stood() {
    let mut keeper = Timekeeper::default();
    let stands = HostTransport {
        playing: false,
        ..told(4.0, 120.0)
    };
    keeper.clock(&stands, 0.0, 400);
    let clock = keeper.clock(&told_within(400, 4.0), 0.0, 112);
    assert!(clock.jumped, "it begins to move");
    assert!((clock.position_ticks.unwrap() - 4.0 * 960.0).abs() < 1e-9);
    let beats = 4.0 + 112.0 / 48_000.0 * 2.0;
    assert!(!keeper.clock(&told(beats, 120.0), 0.0, 512).jumped);
}

/// Some hosts hand over one buffer in parts, each as a block of its own. A part then only seems to
/// lie within a block.
#[test]
fn blocks_that_lie_side_by_side_are_told_as_they_are() {
    let mut keeper = Timekeeper::default();
    let part = |into_block_samples, beats, playing| HostTransport {
        into_block_samples,
        playing,
        within_blocks: false,
        ..told(beats, 120.0)
    };
    keeper.clock(&part(0, 4.0, false), 0.0, 400);
    for (into, beats) in [(400, 4.0), (424, 4.0 + 24.0 / 24_000.0), (512, 9.0)] {
        let clock = keeper.clock(&part(into, beats, true), 0.0, 24);
        assert!((clock.position_ticks.unwrap() - beats * 960.0).abs() < 1e-9);
    }
}

/// How a host gets from a loop's end to its start.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Way {
    /// Within the block.
    Within,
    /// A block ends where the loop does.
    Split,
    /// The block leads beyond the end, and the next one begins at the start.
    Restarts,
    /// The block leads beyond the end, and the next one begins as far beyond the start.
    Catches,
}

/// A host at 120 that plays beats 4 to 8 again and again, from a beat.
struct LoopingHost {
    way: Way,
    tells: bool,
    position_beats: f64,
    keeper: Timekeeper,
}

const BEAT: f64 = 24_000.0;

impl LoopingHost {
    fn new(way: Way, tells: bool, from_beats: f64) -> LoopingHost {
        LoopingHost {
            way,
            tells,
            position_beats: from_beats,
            keeper: Timekeeper::default(),
        }
    }

    /// The pieces of the next block: where each begins, whether that is a jump, and how far it goes on
    /// evenly, in ticks.
    fn block(&mut self, frames: u32) -> Vec<(f64, bool, f64)> {
        let to_end = ((8.0 - self.position_beats) * BEAT).ceil();
        let frames = match clock::whole(to_end) {
            Some(rest @ 1..) if self.way == Way::Split => frames.min(rest),
            _ => frames,
        };
        let told = HostTransport {
            loop_beats: self.tells.then_some((4.0, 8.0)),
            ..told(self.position_beats, 120.0)
        };
        let clock = self.keeper.clock(&told, 0.0, frames);
        self.position_beats += f64::from(frames) / BEAT;
        if self.position_beats >= 8.0 - 1e-9 {
            self.position_beats = match self.way {
                Way::Within | Way::Catches => self.position_beats - 4.0,
                Way::Split | Way::Restarts => 4.0,
            };
        }
        let mut pieces = Vec::new();
        let (mut clock, mut rest) = (clock, frames);
        loop {
            let (samples, next) = clock.piece(rest);
            let last = clock.in_force(samples).unwrap();
            pieces.push((clock.position_ticks.unwrap(), clock.jumped, last));
            let Some(next) = next else {
                return pieces;
            };
            (clock, rest) = (next, rest - samples);
        }
    }

    /// Plays so many blocks: where the song jumps to, and the furthest place that it comes to.
    fn play(&mut self, frames: u32, blocks: u32) -> (Vec<f64>, f64) {
        let pieces = (0..blocks).flat_map(|_| self.block(frames));
        let pieces: Vec<_> = pieces.collect();
        let jumps = pieces.iter().filter(|(_, jumps, _)| *jumps);
        let furthest = pieces.iter().map(|(_, _, last)| *last);
        let jumps = jumps.map(|(place, _, _)| (*place * 1e6).round() / 1e6);
        (jumps.collect(), furthest.fold(0.0, f64::max))
    }
}

/// Two blocks are a beat and 480 samples.
const FRAMES: u32 = 12_240;

#[test]
fn a_told_loop_is_never_left() {
    for way in [Way::Within, Way::Split, Way::Catches] {
        let mut host = LoopingHost::new(way, true, 4.0);
        let (jumps, furthest) = host.play(FRAMES, 100);
        let start = 4.0 * 960.0;
        assert!(jumps.len() > 10, "{jumps:?}");
        // A jump leads to the first sample of the loop.
        assert!(
            jumps.iter().all(|at| (start..start + 0.041).contains(at)),
            "{way:?} {jumps:?}"
        );
        assert!(furthest < 8.0 * 960.0 + 0.001, "{way:?} {furthest}");
    }
}

/// The first turn cannot know that the host restarts. It is not struck twice; later turns wait for the
/// host.
#[test]
fn a_host_that_restarts_its_loop_with_a_block_is_recognised() {
    let mut host = LoopingHost::new(Way::Restarts, true, 4.0);
    let (jumps, furthest) = host.play(FRAMES, 8);
    assert_eq!(jumps, [3_840.0, 3_840.0], "the start, and the first turn");
    assert!(furthest < 7_680.001);
    let (jumps, furthest) = host.play(FRAMES, 80);
    assert_eq!(jumps, [3_840.0; 9]);
    assert!(furthest < 7_680.001, "{furthest}");
    assert!(host.keeper.loops_restart());
    host.keeper.reset();
    assert!(host.keeper.loops_restart(), "a reset is no other host");
    host.way = Way::Catches;
    host.play(FRAMES, 20);
    assert!(!host.keeper.loops_restart());
}

#[test]
fn a_loop_that_is_not_told_is_learned_by_its_second_turn() {
    for way in [Way::Restarts, Way::Catches, Way::Split] {
        let mut host = LoopingHost::new(way, false, 4.0);
        let (_, furthest) = host.play(FRAMES, 17);
        assert_eq!(furthest > 7_681.0, way != Way::Split, "{way:?} {furthest}");
        let (jumps, furthest) = host.play(FRAMES, 80);
        assert!(jumps.len() >= 9, "{way:?} {jumps:?}");
        assert!(furthest < 7_680.001, "{way:?} {furthest}");
        // The loop is switched off: the song goes on with the next block.
        host.position_beats = 7.5;
        host.block(FRAMES);
        host.position_beats = 7.5 + f64::from(FRAMES) / BEAT;
        let pieces = host.block(FRAMES);
        assert_eq!(pieces.len(), 1);
        assert!(pieces[0].2 > 7_700.0, "{way:?} {pieces:?}");
    }
}

/// A song that has been led to the end of a loop or beyond it plays on.
#[test]
fn a_loop_that_lies_behind_is_none() {
    for from_beats in [8.0, 8.000_000_000_1, 7.999_999_999_9, 20.0] {
        let told = |beats| HostTransport {
            loop_beats: Some((4.0, 8.0)),
            ..told(beats, 120.0)
        };
        let mut keeper = Timekeeper::default();
        let clock = keeper.clock(&told(from_beats), 0.0, 512);
        assert_eq!(clock.piece(512).1, None, "{from_beats}");
        let clock = keeper.clock(&told(from_beats + 512.0 / BEAT), 0.0, 512);
        assert!(!clock.jumped && clock.piece(512).1.is_none());
    }
}

/// A host rounds the position, so that a block begins a little before the end of the loop.
#[test]
fn a_block_that_begins_at_the_end_begins_at_the_start() {
    let told = |beats| HostTransport {
        loop_beats: Some((4.0, 8.0)),
        ..told(beats, 120.0)
    };
    let mut keeper = Timekeeper::default();
    keeper.clock(&told(8.0 - 512.0 / BEAT - 1e-9), 0.0, 512);
    let clock = keeper.clock(&told(8.0 - 1e-9), 0.0, 512);
    assert!((clock.position_ticks.unwrap() - 3_840.0).abs() < 0.001);
    assert!(clock.jumped);
    let clock = keeper.clock(&told(4.0 + 512.0 / BEAT - 1e-9), 0.0, 512);
    assert!(!clock.jumped);
}

/// The framework cuts a block in which a parameter changes, and counts the song evenly from its start.
#[test]
fn the_parts_of_a_block_lie_in_the_loop() {
    let told = |into_block_samples: u32, beats: f64| HostTransport {
        loop_beats: Some((4.0, 4.25)),
        into_block_samples,
        ..told(beats + f64::from(into_block_samples) / BEAT, 120.0)
    };
    let mut keeper = Timekeeper::default();
    // A loop of 6000 samples: a part ends with it, and another one within it.
    let parts = [(0, 2_000), (2_000, 4_000), (6_000, 4_000), (10_000, 14_000)];
    let mut found = Vec::new();
    for (into, frames) in parts {
        let (mut clock, mut rest) = (keeper.clock(&told(into, 4.0), 0.0, frames), frames);
        loop {
            let at = into + frames - rest;
            let place = (clock.position_ticks.unwrap() - 3_840.0) * 25.0;
            found.push((at, clock.jumped, place.round()));
            let (samples, Some(next)) = clock.piece(rest) else {
                break;
            };
            (clock, rest) = (next, rest - samples);
        }
    }
    let expected = [
        (0, true, 0.0),
        (2_000, false, 2_000.0),
        (6_000, true, 0.0),
        (10_000, false, 4_000.0),
        (12_000, true, 0.0),
        (18_000, true, 0.0),
    ];
    assert_eq!(found, expected);
    // The host goes on at the start with the next block.
    assert!(keeper.clock(&told(0, 4.0), 0.0, 64).jumped);
}

/// What is no loop counts as none.
#[test]
fn nonsense_is_no_loop() {
    for loop_beats in [
        (4.0, 4.0),
        (8.0, 4.0),
        (f64::NAN, 8.0),
        (4.0, f64::INFINITY),
        (f64::NEG_INFINITY, 4.0),
        (-1e300, 8.0),
        (4.0, 4.0 + 1e-9),
    ] {
        let told = HostTransport {
            loop_beats: Some(loop_beats),
            ..told(3.999, 120.0)
        };
        let clock = Timekeeper::default().clock(&told, 0.0, 4_096);
        assert_eq!(clock.piece(4_096).1, None, "{loop_beats:?}");
    }
}
