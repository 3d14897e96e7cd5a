//! In time: chords fall on their beats, at a tempo of the exercise's own or at the host's.

use super::*;
use crate::engine::practising::{Stage, When};
use guidehand_practice::{ChartToAsk, Origin};

/// A beat at 120 beats a minute, in samples.
const BEAT: u64 = 24_000;

/// When the first chord falls: after a bar of clicks.
const FIRST: u64 = 4 * BEAT;

/// A chord is judged so long after its last key, with a sample to spare.
const JUDGED: u64 = ms(80) + 1;

fn begun() -> Rig {
    begun_over(&in_time(120.0))
}

fn begun_over(exercise: &Exercise) -> Rig {
    Rig::begun(lesson(exercise, 1))
}

impl Rig {
    /// Plays on to a time from the start.
    fn run_to(&mut self, time: u64) {
        self.run(time - self.now, &[256]);
    }

    fn first_keys(&self) -> Vec<u8> {
        let first = self.lesson.items[0].questions.start;
        self.keys_of(first)
    }
}

#[test]
fn a_tempo_of_its_own_counts_in_and_clicks_on() {
    let mut rig = begun();
    rig.run_to(10);
    assert_eq!(rig.asking().stage, Stage::CountsIn { beats: 4 });
    assert_eq!(rig.asking().bpm, Some(120.0));
    assert!(rig.asking().clicks);
    rig.run_to(BEAT + 10);
    assert_eq!(rig.asking().stage, Stage::CountsIn { beats: 3 });
    assert_eq!(rig.asking().question, None, "it is asked two beats ahead");
    rig.run_to(2 * BEAT + 10);
    assert_eq!(rig.asking().question, Some(0));
    rig.run_to(FIRST + 10);
    assert_eq!(rig.asking().stage, Stage::Asked);
    rig.run_to(9 * BEAT);
    let expected = (0..9).map(|beat| (beat * BEAT, beat % 4 == 0));
    assert_eq!(rig.clicks, expected.collect::<Vec<_>>());
    assert!(rig.sent.is_empty(), "clicks are no notes");
}

/// What comes of the first question when its right answer is played so many beats off.
fn played_at(beats: f64) -> (Rig, When) {
    let mut rig = begun();
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "in range"
    )]
    let at = ((4.0 + beats) * 24_000.0).round() as u64;
    rig.hold(&rig.first_keys(), at, at + ms(200));
    rig.run_to(at + JUDGED);
    assert_eq!(rig.asking().judged, Some(0), "{beats}");
    assert!(rig.asking().judgement.unwrap().is_right());
    let when = rig.asking().when;
    (rig, when)
}

#[test]
fn an_answer_is_on_time_within_a_quarter_of_a_beat() {
    for beats in [-0.25, -0.1, 0.0, 0.2, 0.25] {
        let (rig, when) = played_at(beats);
        assert_eq!(when, When::OnTime, "{beats}");
        assert!(rig.answers[0].right_first, "{beats}");
    }
    for beats in [-1.5, -0.3] {
        let (rig, when) = played_at(beats);
        assert!(
            matches!(when, When::Early(by) if (f64::from(by) + beats).abs() < 0.01),
            "{when:?}"
        );
        assert!(rig.answers[0].right && !rig.answers[0].right_first);
    }
    for beats in [0.3, 1.0, 3.5] {
        let (rig, when) = played_at(beats);
        assert!(
            matches!(when, When::Late(by) if (f64::from(by) - beats).abs() < 0.01),
            "{when:?}"
        );
        assert!(rig.answers[0].right && !rig.answers[0].right_first);
    }
}

#[test]
fn a_chord_that_is_rolled_over_its_beat_is_on_time() {
    let mut rig = begun();
    let keys = rig.first_keys();
    for (nth, key) in (0_u64..).zip(&keys) {
        rig.down(FIRST - ms(200) + nth * ms(150), *key);
        rig.up(FIRST + ms(800), *key);
    }
    rig.run_to(FIRST + ms(400));
    assert_eq!(rig.asking().when, When::OnTime);
    assert_eq!(rig.asking().rolled_ms, Some(450));
    assert!(rig.answers[0].right_first);
}

#[test]
fn what_is_not_played_is_missing_when_its_chord_is_over() {
    let mut rig = begun();
    rig.run_to(FIRST + 4 * BEAT - 1);
    assert!(rig.answers.is_empty());
    rig.run_to(FIRST + 4 * BEAT + 1);
    let asking = rig.asking();
    assert_eq!((asking.judged, asking.when), (Some(0), When::Never));
    assert!(asking.judgement.unwrap().lacks_only());
    assert!(!rig.answers[0].right && !rig.answers[0].right_first);
    assert_eq!(
        asking.question,
        Some(1),
        "the next one has been asked meanwhile"
    );
}

#[test]
fn a_wrong_answer_can_be_mended_while_its_chord_lasts_and_is_a_miss() {
    let mut rig = begun();
    let keys = rig.first_keys();
    let mut wrong = keys.clone();
    wrong[0] -= 1;
    rig.hold(&wrong, FIRST, FIRST + ms(150));
    rig.hold(&keys, FIRST + ms(500), FIRST + ms(700));
    rig.run_to(FIRST + JUDGED);
    assert!(!rig.asking().judgement.unwrap().is_right());
    rig.run_to(FIRST + ms(500) + JUDGED);
    assert!(rig.asking().judgement.unwrap().is_right());
    assert!(rig.answers[0].right && !rig.answers[0].right_first);
}

#[test]
fn a_chord_that_is_played_again_or_warmed_up_before_is_not_wrong() {
    let mut rig = begun();
    let keys = rig.first_keys();
    // In the count-in, when the question is known and its chord is still to fall.
    rig.hold(&[50, 52], 2 * BEAT + 100, 2 * BEAT + 4000);
    for beat in 0..4 {
        rig.hold(&keys, FIRST + beat * BEAT, FIRST + beat * BEAT + ms(200));
    }
    let second = rig.keys_of(1);
    rig.hold(&second, FIRST + 4 * BEAT, FIRST + 4 * BEAT + ms(200));
    rig.run_to(FIRST + 5 * BEAT);
    let right = rig.answers.iter().map(|answered| answered.right_first);
    assert_eq!(right.collect::<Vec<_>>(), [true, true]);
}

#[test]
fn a_late_answer_that_is_struck_before_its_chord_is_over_still_counts() {
    let mut rig = begun();
    let at = FIRST + 4 * BEAT - ms(40);
    rig.hold(&rig.first_keys(), at, at + ms(200));
    rig.run_to(at + JUDGED);
    assert!(matches!(rig.asking().when, When::Late(_)));
    assert!(rig.answers[0].right);
}

#[test]
fn a_chord_that_is_held_from_before_is_in_time() {
    // A turnaround whose first chord comes again is held over the bar line.
    let exercise = Exercise {
        keys: vec![PitchClass::wrapping(0)],
        families: vec![ShapeFamily::MinorSeventh],
        ..in_time(120.0)
    };
    let mut rig = begun_over(&exercise);
    let keys = rig.first_keys();
    rig.hold(&keys, FIRST, FIRST + 6 * BEAT);
    rig.run_to(FIRST + 4 * BEAT + BEAT / 4 - 10);
    assert_eq!(rig.answers.len(), 1);
    rig.run_to(FIRST + 4 * BEAT + BEAT / 4 + 10);
    assert_eq!(rig.answers.len(), 2);
    assert!(rig.answers.iter().all(|answered| answered.right_first));
}

#[test]
fn a_wrong_chord_that_is_held_from_long_before_is_told_as_early() {
    let mut rig = begun();
    let mut keys = rig.first_keys();
    keys[0] -= 1;
    rig.hold(&keys, FIRST - BEAT, FIRST + BEAT);
    rig.run_to(FIRST + BEAT / 4 - 10);
    assert_eq!(rig.asking().judged, None, "it may be tried before");
    rig.run_to(FIRST + BEAT / 4 + 10);
    let asking = rig.asking();
    assert!(matches!(asking.when, When::Early(by) if (by - 1.0).abs() < 0.01));
    assert_eq!(asking.judged, Some(0));
    assert!(!asking.judgement.unwrap().is_right());
}

#[test]
fn a_question_that_is_asked_far_ahead_leaves_bars_free() {
    let mut exercise = in_time(120.0);
    exercise.pace = Pace::InTime {
        tempo: Tempo::Own {
            bpm: 120.0,
            faster_by: 0.0,
        },
        beats_ahead: 8,
        count_in_bars: 2,
    };
    let mut rig = begun_over(&exercise);
    rig.run_to(10);
    assert_eq!(rig.asking().question, Some(0), "two bars before its chord");
    // Whether the first was right is known a beat after it fell; the next falls eight beats later, on
    // the next bar line.
    rig.run_to(8 * BEAT + 4 * BEAT - 10);
    assert_eq!(rig.asking().next, None);
    rig.run_to(8 * BEAT + 4 * BEAT + 10);
    assert_eq!(rig.asking().question, Some(1));
    rig.hold(&rig.keys_of(1), 20 * BEAT, 20 * BEAT + ms(200));
    rig.run_to(21 * BEAT);
    assert!(rig.answers[1].right_first);
}

#[test]
fn the_tempo_grows_after_a_round_without_a_miss_and_only_then() {
    for miss in [false, true] {
        let mut exercise = in_time(120.0);
        exercise.keys.truncate(1);
        exercise.pace = Pace::InTime {
            tempo: Tempo::Own {
                bpm: 120.0,
                faster_by: 20.0,
            },
            beats_ahead: 1,
            count_in_bars: 1,
        };
        let mut rig = begun_over(&exercise);
        assert_eq!(rig.lesson.items.len(), 2);
        for nth in 0..2 {
            rig.run_to(FIRST + nth * 4 * BEAT - 10);
            if !(miss && nth == 1) {
                let keys = rig.keys_of(rig.question());
                let at = FIRST + nth * 4 * BEAT;
                rig.hold(&keys, at, at + ms(200));
            }
        }
        let line = FIRST + 8 * BEAT;
        rig.run_to(line - 10);
        assert_eq!(rig.asking().bpm, Some(120.0));
        rig.run_to(line + 20_572 + 10);
        let bpm = if miss { 120.0 } else { 140.0 };
        assert_eq!(rig.asking().bpm, Some(bpm), "miss: {miss}");
        let at_line = rig.clicks.iter().filter(|(time, _)| *time >= line);
        let times: Vec<u64> = at_line.map(|(time, _)| time - line).collect();
        // 60 seconds of 48,000 samples by 140.
        assert_eq!(times, if miss { vec![0] } else { vec![0, 20_572] });
    }
}

#[test]
fn passing_over_ending_and_helping_work_in_time_too() {
    let mut rig = begun();
    rig.run_to(3 * BEAT);
    rig.ask(PracticeAsk::More);
    rig.run(64, &[64]);
    assert_eq!(rig.asking().help, guidehand_practice::Help::GuideTones);
    rig.ask(PracticeAsk::Skip);
    rig.run(64, &[64]);
    assert!(!rig.answers[0].right);
    rig.run_to(FIRST + 3 * BEAT);
    assert_eq!(rig.asking().question, Some(1));
    rig.ask(PracticeAsk::End);
    let clicks = rig.clicks.len();
    rig.run(10 * BEAT, &[256]);
    assert_eq!(
        (rig.asking().stage, rig.clicks.len()),
        (Stage::Idle, clicks)
    );
    assert_eq!(rig.answers.len(), 1);
}

fn by_host(count_in_bars: u8) -> Exercise {
    Exercise {
        pace: Pace::InTime {
            tempo: Tempo::Host,
            beats_ahead: 2,
            count_in_bars,
        },
        ..exercise()
    }
}

/// The host plays from the third second on, from the second beat of a bar.
fn starts_late(sample: u64) -> Option<f64> {
    let passed = sample.checked_sub(3 * RATE)?;
    Some(1.0 + beats(passed))
}

#[test]
fn practice_begins_with_the_host_at_a_bar_line_after_its_count_in() {
    let mut rig = Rig::new(lesson(&by_host(1), 1));
    rig.host = starts_late;
    rig.run_to(2 * RATE);
    assert_eq!(rig.asking().stage, Stage::WaitsForHost);
    // The second bar begins three beats after the start; its four clicks count in.
    let line = 3 * RATE + 3 * BEAT;
    rig.run_to(line + 10);
    assert_eq!(rig.asking().stage, Stage::CountsIn { beats: 4 });
    let first = line + 4 * BEAT;
    rig.run_to(first - 10);
    assert_eq!(rig.asking().question, Some(0));
    assert_eq!(rig.asking().bpm, None);
    rig.hold(&rig.keys_of(0), first, first + ms(200));
    rig.run_to(first + 3 * BEAT);
    assert!(rig.answers[0].right_first);
    let expected = (0..4).map(|beat| (line + beat * BEAT, beat == 0));
    assert_eq!(
        rig.clicks,
        expected.collect::<Vec<_>>(),
        "the host keeps time from then on"
    );
}

/// It stops after four seconds, and starts again two seconds later.
fn stops(sample: u64) -> Option<f64> {
    match sample / RATE {
        0..4 => Some(beats(sample)),
        4..6 => None,
        _ => Some(beats(sample - 6 * RATE)),
    }
}

#[test]
fn a_host_that_stops_ends_what_is_asked_and_a_start_begins_anew() {
    let mut rig = Rig::new(lesson(&by_host(0), 1));
    rig.host = stops;
    // The chord falls on the first bar line that is a beat away at least.
    rig.run_to(3 * BEAT);
    assert_eq!(
        (rig.asking().stage, rig.asking().question),
        (Stage::Asked, Some(0))
    );
    rig.run_to(5 * RATE);
    assert_eq!(rig.asking().stage, Stage::WaitsForHost);
    let answered = rig.answers.len();
    let at = 6 * RATE + 4 * BEAT;
    rig.run_to(at - 10);
    let keys = rig.keys_of(rig.question());
    rig.hold(&keys, at, at + ms(200));
    rig.run_to(at + BEAT);
    assert_eq!(rig.answers.len(), answered + 1);
    assert!(rig.answers.last().unwrap().right_first);
    assert!(rig.clicks.is_empty(), "no count-in was asked for");
}

/// It jumps from beat 9 to beat 100.5.
fn jumps(sample: u64) -> Option<f64> {
    let beats = beats(sample);
    Some(if beats < 9.0 { beats } else { beats + 91.5 })
}

#[test]
fn a_jump_begins_the_item_anew_at_the_next_bar_line() {
    let mut rig = Rig::new(lesson(&by_host(0), 1));
    rig.host = jumps;
    // The first chord falls at beat 4, the second at beat 8; the host jumps while that one lasts.
    rig.hold(&rig.keys_of(0), 4 * BEAT, 4 * BEAT + ms(200));
    rig.run_to(9 * BEAT + 300);
    assert_eq!(rig.answers.len(), 1, "what was open is not counted");
    // Beat 104 is the first bar line after beat 100.5.
    let line = 9 * BEAT + 7 * BEAT / 2;
    rig.run_to(line - 10);
    let question = rig.question();
    assert_eq!(question, 1, "the same item once more");
    rig.hold(&rig.keys_of(question), line, line + ms(200));
    rig.run_to(line + BEAT);
    assert!(rig.answers[1].right_first);
}

fn chart_exercise(count_in_bars: u8) -> Exercise {
    Exercise {
        origin: Origin::Chart,
        ..by_host(count_in_bars)
    }
}

const CHART: &str = "| Dm7 G7 | Cmaj7 |";

fn over_chart(exercise: &Exercise, text: &str) -> Rig {
    let chart = chart::parse(text).unwrap();
    let to_ask = ChartToAsk {
        chart: &chart,
        key: None,
        pins: &[],
    };
    let mut rig = Rig::new(lesson_over(exercise, 1, Some(&to_ask)));
    rig.song = Some(PlannedChart::plan(&chart, PlanFor::default(), 0));
    rig
}

/// The host plays from the start of the song.
fn plays(sample: u64) -> Option<f64> {
    Some(beats(sample))
}

#[test]
fn chords_of_the_chart_fall_where_the_song_has_them_round_after_round() {
    let mut rig = over_chart(&chart_exercise(0), CHART);
    rig.host = plays;
    // Practice begins at the second bar: Cmaj7. Then the chart comes again.
    let mut right = 0;
    for (beat, question) in [(4, 2), (8, 0), (10, 1), (12, 2), (16, 0)] {
        let at = beat * BEAT;
        rig.hold(&rig.keys_of(question), at, at + ms(200));
        rig.run_to(at + JUDGED + 10);
        right += 1;
        assert_eq!(rig.answers.len(), right, "beat {beat}");
        let answered = rig.answers[right - 1];
        assert_eq!((answered.question, answered.right_first), (question, true));
    }
}

#[test]
fn a_chart_at_a_tempo_of_its_own_begins_after_the_count_in_and_comes_again() {
    let exercise = Exercise {
        origin: Origin::Chart,
        ..in_time(120.0)
    };
    let mut rig = over_chart(&exercise, CHART);
    rig.performer.practice();
    let again = over_chart(&exercise, CHART);
    let _ = again;
    rig.play_for(&[50], 10);
    let began = rig.clicks[0].0;
    for (nth, (beat, question)) in [(4, 0), (6, 1), (8, 2), (12, 0)].into_iter().enumerate() {
        let at = began + beat * BEAT;
        rig.hold(&rig.keys_of(question), at, at + ms(200));
        rig.run_to(at + JUDGED + 10);
        let answered = rig.answers[nth];
        assert_eq!((answered.question, answered.right_first), (question, true));
    }
}

#[test]
fn a_marked_stretch_is_asked_where_it_lies() {
    let exercise = Exercise {
        bars: Some((2, 2)),
        ..chart_exercise(0)
    };
    let mut rig = over_chart(&exercise, "| Dm7 | G7 | Cmaj7 | C6 |");
    rig.host = plays;
    for (nth, beat) in [4, 20].into_iter().enumerate() {
        let at = beat * BEAT;
        rig.hold(&rig.keys_of(0), at, at + ms(200));
        rig.run_to(at + JUDGED + 10);
        assert_eq!(rig.answers.len(), nth + 1, "beat {beat}");
        assert!(rig.answers[nth].right_first);
    }
}

#[test]
fn the_loop_of_a_host_is_practised_in_every_round() {
    let mut rig = over_chart(&chart_exercise(0), "| Dm7 | G7 | Cmaj7 | C6 |");
    // Bars two and three, from the start of bar two on.
    rig.loop_beats = Some((4.0, 12.0));
    rig.host = |sample| {
        let beats = beats(sample);
        Some(4.0 + beats % 8.0)
    };
    // Bar three of the first time round; then both bars.
    for (nth, (beat, question)) in [(4, 2), (8, 1), (12, 2), (16, 1)].into_iter().enumerate() {
        let at = beat * BEAT;
        rig.hold(&rig.keys_of(question), at, at + ms(200));
        rig.run_to(at + JUDGED + 10);
        assert_eq!(rig.answers.len(), nth + 1, "beat {beat}");
        let answered = rig.answers[nth];
        assert_eq!(
            (answered.question, answered.right_first),
            (question, true),
            "beat {beat}"
        );
    }
}

#[test]
fn the_tempo_grows_after_the_chart_once_through_unless_its_last_chord_is_missed() {
    for miss in [false, true] {
        let mut exercise = Exercise {
            origin: Origin::Chart,
            ..in_time(120.0)
        };
        exercise.pace = Pace::InTime {
            tempo: Tempo::Own {
                bpm: 120.0,
                faster_by: 20.0,
            },
            // The next round is asked before the last chord of this one falls.
            beats_ahead: 6,
            count_in_bars: 1,
        };
        let mut rig = over_chart(&exercise, CHART);
        rig.down(0, 50);
        rig.up(10, 50);
        rig.run(20, &[20]);
        for (beat, question) in [(4, 0), (6, 1), (8, 2)] {
            if !(miss && question == 2) {
                let at = beat * BEAT;
                rig.hold(&rig.keys_of(question), at, at + ms(200));
            }
        }
        rig.run_to(13 * BEAT);
        let bpm = if miss { 120.0 } else { 140.0 };
        assert_eq!(rig.asking().bpm, Some(bpm), "miss: {miss}");
    }
}

/// It changes to three beats in a bar after two bars of four.
#[test]
fn another_time_signature_of_the_host_begins_anew() {
    let mut rig = Rig::new(lesson(&by_host(0), 1));
    rig.host = plays;
    rig.signature = |sample| if sample < 8 * BEAT { (4, 4) } else { (3, 4) };
    rig.run_to(8 * BEAT + 300);
    let answered = rig.answers.len();
    // Bars of three begin at beats 9, 12 and 15. A chord of four beats leaves the next one free.
    for (nth, beat) in [9, 15].into_iter().enumerate() {
        let at = beat * BEAT;
        rig.run_to(at - 10);
        rig.hold(&rig.keys_of(rig.question()), at, at + ms(200));
        rig.run_to(at + JUDGED + 10);
        assert_eq!(rig.answers.len(), answered + nth + 1, "beat {beat}");
        assert!(rig.answers[answered + nth].right_first, "beat {beat}");
    }
}
