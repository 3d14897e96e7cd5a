//! Small performances over small charts. Common practice, no published source.

use super::*;
use guidehand_theory::candidates::Register;
use guidehand_theory::chart;
use guidehand_theory::judge::Accepts;
use guidehand_theory::pipeline;
use guidehand_theory::plan::Ends;
use guidehand_theory::shape::Texture;

const CHART: &str = "| Dm7 | G7 | Cmaj7 | % |";

/// A performance at 120 beats a minute.
struct Player {
    chart: Chart,
    questions: Vec<Option<Question>>,
    keys: Vec<PlayedKey>,
}

impl Player {
    fn over(text: &str) -> Player {
        let chart = chart::parse(text).unwrap();
        let placed = pipeline::place(&chart, None);
        let (texture, register) = (Texture::FourNotes, Register::DEFAULT);
        let planned = pipeline::plan(&placed, texture, register, Ends::Cyclic);
        let questions = placed.into_iter().zip(planned).map(|(placed, voiced)| {
            Some(Question {
                placed: placed?,
                voiced: voiced?,
                either_position: true,
            })
        });
        Player {
            questions: questions.collect(),
            chart,
            keys: Vec::new(),
        }
    }

    /// The planned notes of a change.
    fn planned(&self, change: usize) -> Vec<u8> {
        let question = self.questions[change].unwrap();
        question
            .voiced
            .voicing
            .notes()
            .map(MidiNote::number)
            .collect()
    }

    /// Strikes notes at once, for so many quarter notes, and lets them sound until the end.
    fn strike_until(&mut self, notes: &[u8], at: f64, length: f64, end: f64) {
        let ticks = |quarters: f64| {
            let ticks = (quarters * 960.0).round();
            (0..=1_000_000_u32)
                .find(|t| f64::from(*t) >= ticks)
                .unwrap()
        };
        for note in notes {
            self.keys.push(PlayedKey {
                note: MidiNote::new(*note).unwrap(),
                start_ticks: ticks(at),
                released_ticks: ticks(at + length),
                end_ticks: ticks(end),
                start_s: at / 2.0,
            });
        }
    }

    fn strike(&mut self, notes: &[u8], at: f64, length: f64) {
        self.strike_until(notes, at, length, at + length);
    }

    /// Strikes the planned notes of a change.
    fn play(&mut self, change: usize, at: f64, length: f64) {
        let notes = self.planned(change);
        self.strike(&notes, at, length);
    }

    fn judged(&self) -> Homework {
        self.judged_with(RightHand::Found, None)
    }

    fn judged_with(&self, right_hand: RightHand, start_ticks: Option<u32>) -> Homework {
        let ways = Ways {
            accepts: Accepts::Exact,
            register: Register::DEFAULT,
            right_hand,
            start_ticks,
        };
        judge(&self.chart, &self.questions, &self.keys, &ways)
    }
}

/// Whether each chord is right, and how late it is, in ticks.
fn marks(homework: &Homework) -> Vec<(bool, Option<i64>)> {
    let chords = homework.chords.iter();
    let marks = chords.map(|c| (c.is_right(), c.answer.as_ref().map(|a| a.late_ticks)));
    marks.collect()
}

const RIGHT: (bool, Option<i64>) = (true, Some(0));
const NOT_PLAYED: (bool, Option<i64>) = (false, None);

#[test]
fn planned_chords_are_right() {
    let mut player = Player::over(CHART);
    for change in 0..3 {
        player.play(change, 4.0 * [0.0, 1.0, 2.0][change], 3.9);
    }
    let judged = player.judged();
    assert_eq!(marks(&judged), [RIGHT; 3]);
    assert_eq!(
        (judged.start_ticks, judged.split, judged.beside),
        (0, None, 0)
    );
    let moved: Vec<_> = judged
        .chords
        .iter()
        .map(|c| c.answer.as_ref().unwrap().motion)
        .collect();
    let moved = moved.iter().map(|motion| motion.map(|m| m.moved));
    assert_eq!(moved.collect::<Vec<_>>(), [None, Some(1), Some(5)]);
}

#[test]
fn a_quarter_of_a_beat_is_on_time_and_an_eighth_is_early() {
    for (off, late) in [
        (-0.25_f64, 0),
        (0.25, 0),
        (-0.5, -480),
        (-1.0, -960),
        (0.5, 480),
        (2.0, 1920),
    ] {
        let mut player = Player::over(CHART);
        player.play(0, 0.0, 4.0 + off.min(0.0));
        player.play(1, 4.0 + off, 4.0 - off);
        player.play(2, 8.0, 8.0);
        let judged = player.judged();
        assert_eq!(marks(&judged), [RIGHT, (true, Some(late)), RIGHT], "{off}");
    }
}

#[test]
fn a_rolled_chord_is_one_chord() {
    // Within a tenth of a second from note to note, at once over the pedal, or slower and held.
    for (gap, length, end) in [
        (0.2, 3.0, 3.0),
        (0.2, 0.1, 4.0),
        (0.5, 2.5, 2.5),
        (0.5, 0.1, 4.0),
    ] {
        let mut player = Player::over(CHART);
        for (at, note) in [0.0, 1.0, 2.0, 3.0].into_iter().zip(player.planned(0)) {
            let at = at * gap;
            player.strike_until(&[note], at, length, end);
        }
        player.play(1, 4.0, 4.0);
        player.play(2, 8.0, 4.0);
        let judged = player.judged();
        assert_eq!(marks(&judged), [RIGHT; 3], "{gap} {length}");
        let struck = |at: usize| judged.chords[at].answer.as_ref().unwrap().struck;
        assert_eq!([struck(0), struck(1)], [Struck::Rolled, Struck::AtOnce]);
    }
}

#[test]
fn a_roll_that_ends_on_the_beat_is_on_time() {
    let mut player = Player::over(CHART);
    player.play(0, 0.0, 3.0);
    for (at, note) in [3.4, 3.6, 3.8, 4.0].into_iter().zip(player.planned(1)) {
        player.strike(&[note], at, 4.0);
    }
    player.play(2, 8.0, 4.0);
    assert_eq!(marks(&player.judged()), [RIGHT; 3]);
}

/// From Dm9 to G13 one finger moves, and the others may stay down.
#[test]
fn held_keys_belong_to_the_chord_and_late_fingers_do_not() {
    let mut player = Player::over(CHART);
    let (two, five) = (player.planned(0), player.planned(1));
    for note in &two {
        let stays = five.contains(note);
        player.strike(&[*note], 0.0, if stays { 7.9 } else { 4.1 });
    }
    let new: Vec<u8> = five.iter().copied().filter(|n| !two.contains(n)).collect();
    assert_eq!(new.len(), 1);
    player.strike(&new, 4.0, 3.9);
    player.play(2, 8.0, 4.0);
    assert_eq!(marks(&player.judged()), [RIGHT; 3]);
}

#[test]
fn a_chord_that_is_held_on_is_right_where_its_notes_are() {
    let text = "| Dm7 | Dm7 | G7 | Cmaj7 |";
    let mut player = Player::over(text);
    player.play(0, 0.0, 8.0);
    player.play(2, 8.0, 8.0);
    let judged = player.judged();
    let changes = player.chart.changes.len();
    let last = judged.chords.last().unwrap();
    assert_eq!(last.answer, None, "the hand stays on G7");
    assert_eq!(
        marks(&judged),
        [vec![RIGHT; changes - 1], vec![NOT_PLAYED]].concat()
    );
}

#[test]
fn strikes_of_a_rhythm_follow_the_first_one() {
    let mut player = Player::over(CHART);
    for change in 0..3 {
        let at = 4.0 * [0.0, 1.0, 2.0][change];
        player.play(change, at, 0.5);
        player.play(change, at + 1.5, 0.5);
    }
    player.strike(&[53, 57, 60, 65], 3.0, 0.5);
    let judged = player.judged();
    assert_eq!(marks(&judged), [RIGHT; 3]);
    let later: Vec<Later> = judged.chords.iter().map(|c| c.later).collect();
    let one = Later {
        strikes: 1,
        right: 1,
    };
    assert_eq!(
        later,
        [
            Later {
                strikes: 2,
                right: 1
            },
            one,
            one
        ]
    );
}

#[test]
fn a_chord_that_is_left_out_is_missed_and_the_others_keep_their_places() {
    let mut player = Player::over("| Dm7 G7 | Cmaj7 A7 | Dm7 G7 | Cmaj7 N.C. |");
    for change in [0, 1, 2, 4, 5, 6] {
        player.play(
            change,
            2.0 * [0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0][change],
            1.8,
        );
    }
    // Whatever is played where silence is written.
    player.strike(&[60, 61, 62], 14.5, 1.0);
    let mut expected = vec![RIGHT; 7];
    expected[3] = NOT_PLAYED;
    assert_eq!(marks(&player.judged()), expected);
}

#[test]
fn the_chart_begins_where_its_chords_are() {
    for (bars, missed) in [(0.0, 0), (1.0, 0), (2.0, 1), (5.0, 0)] {
        let mut player = Player::over("| Dm7 | G7 | Cmaj7 | A7 | Fm7 | Bb7 | Eb6 | % |");
        for change in missed..7 {
            let at = [0.0, 4.0, 8.0, 12.0, 16.0, 20.0, 24.0][change] + 4.0 * bars;
            // The first chord is anticipated.
            let early = if change == missed && bars > 0.0 {
                0.5
            } else {
                0.0
            };
            player.play(change, at - early, 3.5);
        }
        let judged = player.judged();
        assert_eq!(f64::from(judged.start_ticks), bars * 3840.0);
        assert_eq!(
            judged.chords.iter().filter(|c| c.is_right()).count(),
            7 - missed
        );
    }
}

#[test]
fn a_pickup_lies_before_a_bar_line() {
    for start in [0_u32, 2880, 6720] {
        let mut player = Player::over("Pickup G7 | Cmaj7 | Dm7 G7 |");
        let from = f64::from(start) / 960.0;
        for (change, at) in [
            (0, 0.0),
            (1, 1.0),
            (2, 5.0),
            (3, 7.0),
            (1, 9.0),
            (2, 13.0),
            (3, 15.0),
        ] {
            player.play(change, from + at, 0.9);
        }
        let judged = player.judged();
        assert_eq!(judged.start_ticks, start);
        assert_eq!(marks(&judged), [RIGHT; 7], "twice, with one pickup");
    }
}

#[test]
fn a_chart_that_is_played_again_is_asked_for_again() {
    let mut player = Player::over(CHART);
    for round in [0.0, 16.0, 32.0] {
        for change in 0..3 {
            player.play(change, round + 4.0 * [0.0, 1.0, 2.0][change], 3.5);
        }
    }
    let judged = player.judged();
    assert_eq!(marks(&judged), [RIGHT; 9]);
    assert_eq!(judged.chords[8].asked.round, 2);
    // One chord after the end is a close, and asks for nothing.
    player.play(2, 48.0, 4.0);
    let judged = player.judged();
    assert_eq!((judged.chords.len(), judged.beside), (9, 1));
}

/// A line of eighths above chords, with the pedal down.
fn with_a_line(notes: &[u8]) -> Player {
    let mut player = Player::over(CHART);
    for change in 0..3 {
        let at = 4.0 * [0.0, 1.0, 2.0][change];
        player.play(change, at, 3.5);
        for (place, note) in [0.0, 0.5, 1.0, 1.5, 2.0, 2.5].into_iter().zip(notes) {
            player.strike_until(&[*note], at + place, 0.45, at + 4.0);
        }
    }
    player
}

#[test]
fn a_right_hand_is_found_and_left_out() {
    let judged = with_a_line(&[74, 76, 77, 79, 81, 72]).judged();
    assert_eq!(marks(&judged), [RIGHT; 3]);
    let split = judged.split.unwrap().number();
    assert!((65..=72).contains(&split), "{split}");
}

#[test]
fn the_right_hand_can_be_told() {
    let player = with_a_line(&[70, 67, 70, 67, 70, 67]);
    let from = RightHand::From(MidiNote::new(66).unwrap());
    assert_eq!(marks(&player.judged_with(from, Some(0))), [RIGHT; 3]);
    let all = RightHand::From(MidiNote::MAX);
    assert_ne!(marks(&player.judged_with(all, Some(0))), [RIGHT; 3]);
}

/// Roots in one hand and chords in the other are two hands, but no right hand above a left one.
#[test]
fn roots_below_do_not_make_a_right_hand_of_the_chords() {
    let mut player = Player::over(CHART);
    for change in 0..3 {
        let at = 4.0 * [0.0, 1.0, 2.0][change];
        player.strike(&[[38, 31, 36][change]], at, 3.5);
        player.play(change, at, 3.5);
    }
    assert_eq!(player.judged().split, None);
}

#[test]
fn nothing_played_is_nothing_right() {
    let player = Player::over(CHART);
    assert_eq!(marks(&player.judged()), [NOT_PLAYED; 3]);
}
