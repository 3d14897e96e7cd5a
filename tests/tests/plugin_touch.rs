//! Density, variation and touch are random, so the notes differ from the oracle's. They stay within
//! the promised limits, and are the same for the same seed.

use crate::plugin::{RATE_HZ, chords, notes, play, set, with_chart};
use crate::plugin_rhythm::{from, session, set_comping};
use guidehand_report::request::Rhythm;
use guidehand_tests::expected::{EvenPlay, ExpectedStrike, Oracle, RhythmSettings, samples_of};
use guidehand_tests::notes::PlayedNote;
use guidehand_tests::{BlockSizes, Host};
use guidehand_theory::chart::TICKS_PER_QUARTER;

const CHART: &str = "| Dm7 | G7 Db7 | Cmaj7 | A7 |";

/// Sixty-four bars at the tempo of the tests of rhythms.
fn long() -> EvenPlay {
    from(0.0, 257_000)
}

/// Settings without swing, so that every place is an eighth.
fn even(rhythm: Rhythm) -> RhythmSettings {
    RhythmSettings {
        swing: 0.5,
        accents: 1.0,
        ..RhythmSettings::new(rhythm)
    }
}

fn host(comping: &RhythmSettings, settings: &[(&str, &str)]) -> Host {
    let mut host = with_chart(CHART);
    set_comping(&mut host, comping);
    for (name, words) in settings {
        set(&mut host, name, words);
    }
    host
}

fn heard(host: &mut Host, play_: &EvenPlay) -> Vec<PlayedNote> {
    notes(&play(host, &session(play_, BlockSizes::Fixed(1_000))).events)
}

/// The samples at which chords start.
fn onsets(notes: &[PlayedNote]) -> Vec<u64> {
    let mut starts: Vec<u64> = notes.iter().map(|note| note.start_samples).collect();
    starts.dedup();
    starts
}

/// The strikes that the pattern has by itself, up to the end of a performance.
fn base(comping: &RhythmSettings, play_: &EvenPlay) -> Vec<ExpectedStrike> {
    let strikes = Oracle::new(CHART).strikes(
        comping,
        play_.tempo_bpm,
        257.0 * f64::from(TICKS_PER_QUARTER),
    );
    let is_heard = |strike: &ExpectedStrike| samples_of(strike, play_).0 < play_.stop_samples;
    strikes.into_iter().filter(is_heard).collect()
}

fn starts(strikes: &[ExpectedStrike], play_: &EvenPlay) -> Vec<u64> {
    strikes.iter().map(|s| samples_of(s, play_).0).collect()
}

#[test]
fn less_density_leaves_the_first_strike_of_each_chord() {
    for rhythm in [Rhythm::Charleston, Rhythm::Bossa, Rhythm::OffBeats] {
        let (comping, play_) = (even(rhythm), long());
        let all = base(&comping, &play_);
        let mut firsts = all.clone();
        firsts.dedup_by_key(|strike| strike.change_ticks);
        let (all, firsts) = (starts(&all, &play_), starts(&firsts, &play_));
        let mut none = host(&comping, &[("Density", "-100 %")]);
        assert_eq!(onsets(&heard(&mut none, &play_)), firsts, "{rhythm:?}");
        let half = onsets(&heard(&mut host(&comping, &[("Density", "-50 %")]), &play_));
        assert!(
            half.iter().all(|at| all.contains(at)),
            "{rhythm:?}: new strikes"
        );
        assert!(
            firsts.iter().all(|at| half.contains(at)),
            "{rhythm:?}: a chord is missing"
        );
        if all.len() > firsts.len() + 40 {
            let kept = half.len() - firsts.len();
            let room = all.len() - firsts.len();
            assert!(
                (room * 3..room * 7).contains(&(kept * 10)),
                "{kept} of {room}"
            );
        }
    }
}

#[test]
fn more_density_fills_eighths_softly() {
    let (comping, play_) = (even(Rhythm::Charleston), long());
    let all = starts(&base(&comping, &play_), &play_);
    for (words, expected) in [("100 %", 0.5), ("40 %", 0.2)] {
        let found = heard(&mut host(&comping, &[("Density", words)]), &play_);
        let filled = onsets(&found);
        assert!(
            all.iter().all(|at| filled.contains(at)),
            "a strike is missing"
        );
        let eighths = 256 * 2;
        let (room, added) = (eighths - all.len(), filled.len() - all.len());
        #[expect(clippy::cast_precision_loss, reason = "a few hundred")]
        let share = added as f64 / room as f64;
        assert!(
            (share - expected).abs() < 0.09,
            "{added} of {room} at {words}"
        );
        let soft = comping.velocity * 0.88;
        for note in found
            .iter()
            .filter(|note| !all.contains(&note.start_samples))
        {
            assert!((note.velocity - soft).abs() < 1.0e-6, "{note:?}");
            assert!(note.end_samples - note.start_samples <= 503, "{note:?}");
        }
    }
}

#[test]
fn a_seed_gives_its_notes_wherever_playing_starts() {
    let comping = RhythmSettings::new(Rhythm::Bossa);
    let loose = [
        ("Density", "50 %"),
        ("Variation", "80 %"),
        ("Looseness, time", "20 ms"),
        ("Looseness, velocity", "10"),
    ];
    let mut one = host(&comping, &loose);
    let first = heard(&mut one, &from(0.0, 64_000));
    assert_eq!(heard(&mut one, &from(0.0, 64_000)), first);
    assert_eq!(
        heard(&mut host(&comping, &loose), &from(0.0, 64_000)),
        first
    );
    set(&mut one, "Take", "2");
    let second = heard(&mut one, &from(0.0, 64_000));
    assert_ne!(onsets(&second), onsets(&first));

    // The song starts at the ninth bar. A few chords later everything is the same.
    set(&mut one, "Take", "1");
    let play_ = from(0.0, 64_000);
    let shift = session(&play_, BlockSizes::Fixed(1)).samples_at(32.0);
    let later = heard(&mut one, &from(32.0, 64_000 - shift));
    let moved = |note: &PlayedNote| PlayedNote {
        start_samples: note.start_samples + shift,
        end_samples: note.end_samples + shift,
        ..*note
    };
    let near = |a: u64, b: u64| a.abs_diff(b) <= 1;
    let begun = |note: &&PlayedNote| note.start_samples > shift + 500;
    let later: Vec<PlayedNote> = later.iter().map(moved).collect();
    let late: Vec<&PlayedNote> = later.iter().filter(begun).collect();
    let same: Vec<&PlayedNote> = first.iter().filter(begun).collect();
    assert!(same.len() > 40 && late.len() == same.len());
    for (a, b) in late.iter().zip(&same) {
        assert!(
            a.key == b.key
                && (a.velocity - b.velocity).abs() < 1.0e-9
                && near(a.start_samples, b.start_samples)
                && near(a.end_samples, b.end_samples),
            "{a:?} instead of {b:?}"
        );
    }
}

/// A free hand plays the same in blocks of any size, sections and the ending included.
#[test]
fn a_free_hand_plays_the_same_in_any_blocks() {
    let chart = "Pickup G7 | [A] Dm7 G7 | Cmaj7 | Dm7 / / G7 | Cmaj7 | [B] 3/4 Am7 | D7 | 4/4 G6 |";
    for rhythm in [Rhythm::Charleston, Rhythm::Samba, Rhythm::Push] {
        for repeats in [true, false] {
            let comping = RhythmSettings {
                repeats,
                ..RhythmSettings::new(rhythm)
            };
            let mut host = with_chart(chart);
            set_comping(&mut host, &comping);
            set(&mut host, "Variation", "100 %");
            let mut in_blocks =
                |blocks| notes(&play(&mut host, &session(&from(0.0, 64_000), blocks)).events);
            let whole = in_blocks(BlockSizes::Fixed(4_096));
            assert!(onsets(&whole).len() >= 10, "{rhythm:?}");
            let random = BlockSizes::Random {
                seed: 5,
                max_frames: 700,
            };
            for blocks in [BlockSizes::Fixed(1), BlockSizes::Fixed(63), random] {
                assert_eq!(in_blocks(blocks), whole, "{rhythm:?}, {blocks:?}");
            }
        }
    }
}

#[test]
fn touch_moves_starts_within_its_limits_and_ends_not_at_all() {
    // The limit is in ticks. The shortest chord lasts two beats, so the lead is 120 ticks.
    for (tempo_bpm, words, touch_ms) in [
        (121.3, "30 ms", 30.0_f64),
        (121.3, "5 ms", 5.0),
        (2_868.9, "30 ms", 30.0),
    ] {
        for rhythm in [Rhythm::Charleston, Rhythm::Push, Rhythm::Bossa] {
            let comping = even(rhythm);
            let mut play_ = from(0.0, 0);
            play_.tempo_bpm = tempo_bpm;
            play_.stop_samples = session(&play_, BlockSizes::Fixed(1)).samples_at(40.0);
            let samples_a_tick = 60.0 / tempo_bpm / f64::from(TICKS_PER_QUARTER) * RATE_HZ;
            let most = (touch_ms / 1_000.0 * RATE_HZ).min(120.0 * samples_a_tick) + 1.0;
            let found = heard(&mut host(&comping, &[("Looseness, time", words)]), &play_);
            let starts = onsets(&found);
            let plain = base(&comping, &play_);
            // A strike near the end may have moved past it.
            assert!((plain.len() - 1..=plain.len()).contains(&starts.len()));
            let mut moved = 0;
            for (index, (at, strike)) in starts.iter().zip(&plain).enumerate() {
                let (from, to) = samples_of(strike, &play_);
                #[expect(clippy::cast_precision_loss, reason = "a few million")]
                let away = at.abs_diff(from) as f64;
                assert!(away <= most, "{rhythm:?}: {at} instead of {from}");
                moved += usize::from(*at != from);
                let next = starts.get(index + 1).copied().unwrap_or(u64::MAX);
                for note in found.iter().filter(|note| note.start_samples == *at) {
                    let end = to.min(next);
                    // If the pattern has no gap, the next strike decides the end.
                    let joined = plain
                        .get(index + 1)
                        .is_some_and(|n| samples_of(n, &play_).0 == to);
                    assert!(
                        note.end_samples == end || joined && note.end_samples == next,
                        "{rhythm:?}: {note:?} ends at {end}"
                    );
                }
            }
            assert!(
                moved * 2 > starts.len(),
                "{moved} of {} moved",
                starts.len()
            );
        }
    }
}

#[test]
fn touch_in_velocity_keeps_its_limits() {
    let (comping, play_) = (even(Rhythm::TwoAndFour), long());
    for (words, steps) in [("20", 20.0), ("3", 3.0)] {
        let found = heard(
            &mut host(&comping, &[("Looseness, velocity", words)]),
            &play_,
        );
        let plain = Oracle::new(CHART).notes(&comping, &play_);
        assert_eq!(found.len(), plain.len());
        let (mut least, mut most) = (0.0_f64, 0.0_f64);
        for (a, b) in found.iter().zip(&plain) {
            let velocity = b.velocity;
            assert_eq!(PlayedNote { velocity, ..*a }, *b);
            let away = (a.velocity - b.velocity) * 127.0;
            assert!(away.abs() <= steps + 1.0e-4, "{a:?} instead of {b:?}");
            (least, most) = (least.min(away), most.max(away));
        }
        assert!(
            most > steps * 0.7 && least < -steps * 0.7,
            "{least} to {most}"
        );
    }
}

#[test]
fn the_keys_of_a_chord_start_together_whatever_the_touch() {
    let comping = even(Rhythm::Charleston);
    let touch = [("Looseness, time", "30 ms"), ("Looseness, velocity", "20")];
    let mut host = host(&comping, &touch);
    let events = play(&mut host, &session(&long(), BlockSizes::Fixed(333))).events;
    let found = chords(&events);
    assert!(found.len() > 100);
    assert!(found.iter().all(|chord| chord.keys.len() == 4));
}
