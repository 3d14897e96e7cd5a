//! Practice at the panel: the exercise, the record, and what is asked on the stage, by the names that
//! screen readers get; and that nothing is cut off or covered.

mod record;
mod room;

use crate::bridge::practice::ReadPractice;
use crate::editor::bench::{Bench, set};
use crate::editor::panel::tests::check;
use crate::editor::panel::tests::whole::are_on_the_way_of_tab;
use crate::editor::view::record::tests::sessions;
use crate::engine::practising::{Asking, Stage, When};
use crate::engine::snapshot::Snapshot;
use crate::params::{PANEL_SIZE, PanelView, SavedPanel, SourceParam};
use egui::Key;
use egui::accesskit::{Live, Role};
use egui_kittest::kittest::{NodeT, Queryable};
use guidehand_practice::{
    AskedPosition, ChartKeys, Drill, Exercise, Help, KeyOrder, Making, Origin, Pace, Progression,
    Record, Tempo, Which,
};
use guidehand_theory::judge::{Accepts, Motion, judge};
use guidehand_theory::own_shape::ShapeFamily;
use guidehand_theory::pipeline::Taste;
use guidehand_theory::pitch::{MidiNote, PitchClass};
use std::sync::Arc;

/// A panel in practice, with the drill of an exercise.
pub fn practises(exercise: &Exercise) -> (Bench, Arc<Drill>) {
    let bench = Bench::new();
    let params = bench.params();
    set(&params.source, SourceParam::Practice);
    let record = Record::default();
    let making = Making {
        number: 1,
        exercise,
        taste: &Taste::default(),
        shapes: &[],
        record: &record,
        now: std::time::SystemTime::UNIX_EPOCH.into(),
    };
    let drill = Arc::new(making.of_list().unwrap().drill);
    params.practice.put(ReadPractice {
        exercise: Arc::new(exercise.clone()),
        drill: Some(drill.clone()),
        ..params.practice.read()
    });
    (bench, drill)
}

/// Every dominant with all its tensions, in every key.
pub fn dominants() -> Exercise {
    Exercise {
        families: vec![ShapeFamily::Dominant],
        dressings: crate::editor::view::record::dressings(
            &[ShapeFamily::Dominant],
            Progression::Single,
        ),
        ..Exercise::default()
    }
}

/// What is told when these keys are played where a question of a drill is asked; nothing is told
/// where there are none.
fn asking(drill: &Drill, question: u32, keys: &[u8]) -> Asking {
    let notes: Vec<MidiNote> = keys
        .iter()
        .map(|key| MidiNote::new(*key).unwrap())
        .collect();
    let asked = &drill.questions[usize::try_from(question).unwrap()].question;
    let register = Taste::default().register;
    let judgement = judge(asked, &notes, Accepts::Exact, register);
    let some = !keys.is_empty();
    Asking {
        drill: drill.number,
        stage: Stage::Asked,
        question: Some(question),
        next: Some(question + 1),
        judgement: some.then_some(judgement),
        judged: some.then_some(question),
        below: 74,
        ..Asking::default()
    }
}

fn shows(asking: Asking) -> Snapshot {
    Snapshot {
        practice: Some(asking),
        ..Snapshot::default()
    }
}

fn exercise(bench: &Bench) -> Exercise {
    bench.params().practice.read().exercise.as_ref().clone()
}

fn says(bench: &mut Bench, words: &str) -> bool {
    let seen = bench.settle();
    seen.iter().any(|seen| seen.words.contains(words))
}

/// What the answer is told to be to one who does not see it.
fn spoken(bench: &mut Bench) -> String {
    bench.settle();
    let mut nodes = bench.harness.root().children_recursive();
    let node = nodes.find(|node| node.accesskit_node().live() == Live::Polite);
    node.unwrap().value().unwrap_or_default()
}

#[test]
fn the_page_comes_and_goes_with_its_source() {
    let mut bench = Bench::new();
    bench.settle();
    bench.click("Practice");
    bench.settle();
    assert!(bench.is_on("Practice"), "it opens without its source, too");
    bench.click("Practise: chords are asked of you");
    bench.settle();
    assert_eq!(bench.params().source.value(), SourceParam::Practice);
    assert!(bench.is_on("Practice"));
    bench.click("Chords from: Chart");
    bench.settle();
    assert!(!bench.is_on("Practice"));
    bench.click("Chords from: Practice");
    bench.settle();
    assert!(bench.is_on("Practice"));
}

#[test]
fn a_list_is_made_with_the_controls() {
    let mut bench = Bench::new();
    set(&bench.params().source, SourceParam::Practice);
    bench.settle();
    for press in [
        "Asks for: m6",
        "Asks for: maj7",
        "Dominants with: ♭9 ♭13",
        "Dominants with: ♯9 ♭13",
        "Position: seventh",
        "No keys",
        "Key: E♭",
        "Key: C",
        "Which: what is due",
        "Help: guide tones",
        "More help by itself",
        "Right is: any good",
        "Voice leading is judged",
        "Right chord sounds after the answer",
    ] {
        bench.click(press);
        bench.settle();
    }
    let made = exercise(&bench);
    let wanted = [
        ShapeFamily::MinorSeventh,
        ShapeFamily::MinorSixth,
        ShapeFamily::Dominant,
    ];
    assert_eq!(made.families, wanted);
    let dressed: Vec<String> = made
        .dressings
        .iter()
        .map(|set| crate::editor::view::record::dressing(*set))
        .collect();
    assert_eq!(dressed, ["♭9 ♭13", "♯9 ♭13"]);
    assert_eq!(made.position, AskedPosition::Seventh);
    assert_eq!(made.keys, [0, 3].map(PitchClass::wrapping));
    assert_eq!(made.which, Which::Due);
    assert_eq!((made.help, made.more_after_s), (Help::GuideTones, None));
    assert_eq!(made.accepts, Accepts::AnyGood);
    assert!(made.leading && made.answer_sounds);
    bench.click("Dominants with: by context");
    bench.click("All keys");
    bench.settle();
    let made = exercise(&bench);
    assert_eq!((made.dressings.len(), made.keys.len()), (0, 12));
    assert!(bench.is_on("Key: D♭"));
}

#[test]
fn a_progression_and_an_order_are_picked_from_lists() {
    let mut bench = Bench::new();
    set(&bench.params().source, SourceParam::Practice);
    bench.settle();
    for (list, choice) in [
        ("Progression", "ii–V–I in major"),
        ("Order of the keys", "up in minor thirds"),
    ] {
        bench.click(list);
        bench.settle();
        bench.click(choice);
        bench.settle();
    }
    let made = exercise(&bench);
    assert_eq!(made.progression, Progression::TwoFiveOneMajor);
    assert_eq!(made.order, KeyOrder::MinorThirds);
    assert!(
        !says(&mut bench, "maj7"),
        "the progression says which chords"
    );
    assert!(says(&mut bench, "Dominants"));
}

#[test]
fn the_chart_is_asked_for_in_part_and_in_other_keys() {
    let mut bench = Bench::new();
    let params = bench.params();
    set(&params.source, SourceParam::Practice);
    params.chart.set_text("| Dm7 | G7 | Cmaj7 | Am7 |");
    bench.settle();
    bench.click("Asked from: the chart");
    bench.settle();
    bench.click("Bars: from");
    bench.settle();
    assert_eq!(exercise(&bench).bars, Some((1, 4)));
    bench.control("First bar").focus();
    bench.settle();
    bench.key(Key::ArrowUp);
    assert_eq!(exercise(&bench).bars, Some((2, 4)));
    bench.control("Last bar").focus();
    bench.settle();
    bench.key(Key::ArrowUp);
    assert_eq!(exercise(&bench).bars, Some((2, 4)), "the chart ends there");
    bench.key(Key::ArrowDown);
    assert_eq!(exercise(&bench).bars, Some((2, 3)));
    bench.click("Keys of the chart: in");
    bench.settle();
    bench.click("Key of the chart");
    bench.settle();
    bench.click("G♭");
    bench.settle();
    let key = ChartKeys::In(PitchClass::wrapping(6));
    assert_eq!(exercise(&bench).chart_keys, key);
    bench.click("Keys of the chart: another each time");
    bench.settle();
    bench.click("Key: B");
    bench.click("Bars: all");
    bench.settle();
    let made = exercise(&bench);
    assert_eq!(made.chart_keys, ChartKeys::EachRound);
    assert_eq!((made.origin, made.bars), (Origin::Chart, None));
    assert_eq!(made.keys.len(), 11);
}

#[test]
fn the_selected_bars_of_the_chart_are_asked_for() {
    let mut bench = Bench::new();
    let params = bench.params();
    let text = "| Dm7 | G7 | Cmaj7 | Am7 |";
    params.chart.set_text(text);
    bench.settle();
    let from = text.find("G7").unwrap();
    let to = text.find("Cmaj7").unwrap() + 5;
    let world = bench.harness.state_mut();
    let select = crate::editor::model::chart::ChartAction::Select(from..to);
    world.session.model.chart.apply(
        select,
        &mut crate::editor::model::recorder::Recorder::default(),
    );
    set(&params.source, SourceParam::Practice);
    bench.settle();
    bench.click("Asked from: the chart");
    bench.settle();
    bench.click("Bars selected in the chart");
    bench.settle();
    assert_eq!(exercise(&bench).bars, Some((2, 3)));
}

#[test]
fn the_pace_is_set() {
    let mut bench = Bench::new();
    set(&bench.params().source, SourceParam::Practice);
    bench.settle();
    bench.click("Pace: in time");
    bench.settle();
    for (number, press) in [
        ("Tempo of the exercise", Key::ArrowUp),
        ("Faster by", Key::ArrowUp),
        ("Beats ahead", Key::ArrowDown),
        ("Count-in", Key::ArrowUp),
    ] {
        bench.control(number).focus();
        bench.settle();
        bench.key(press);
    }
    let own = Tempo::Own {
        bpm: 81.0,
        faster_by: 1.0,
    };
    let in_time = |tempo| Pace::InTime {
        tempo,
        beats_ahead: 3,
        count_in_bars: 2,
    };
    assert_eq!(exercise(&bench).pace, in_time(own));
    bench.click("Whose tempo: the host's");
    bench.settle();
    assert_eq!(exercise(&bench).pace, in_time(Tempo::Host));
    assert!(!says(&mut bench, "each clean round"));
    bench.click("Pace: free time");
    bench.settle();
    assert_eq!(exercise(&bench).pace, Pace::Free);
}

#[test]
fn the_stage_asks_and_says_what_to_do() {
    let (mut bench, drill) = practises(&Exercise::default());
    assert!(says(&mut bench, "Press Begin or Enter"));
    assert!(says(&mut bench, "36 chords"));
    bench.show(shows(Asking {
        stage: Stage::WaitsForHost,
        ..Asking::default()
    }));
    assert!(says(&mut bench, "Start the host"));
    bench.show(shows(Asking {
        stage: Stage::CountsIn { beats: 3 },
        clicks: true,
        ..asking(&drill, 0, &[])
    }));
    assert!(says(&mut bench, "3 beats to go"));
    bench.show(shows(asking(&drill, 0, &[])));
    let symbol = crate::editor::view::practice::chord(&drill.questions[0].question);
    assert!(says(&mut bench, &symbol.root) && says(&mut bench, &symbol.quality));
    assert!(says(&mut bench, "Play it, all keys together, up to C♯5."));
    assert!(says(&mut bench, "next"));
    bench.show(shows(Asking {
        stage: Stage::Over,
        done: 36,
        answered: 50,
        right_first: 41,
        ..Asking::default()
    }));
    assert!(says(&mut bench, "All of it is done for this session."));
    assert!(says(&mut bench, "41 of 50 right at first try"));
    assert!(says(&mut bench, "36 of 36 done"));
}

#[test]
fn the_position_is_asked_for_in_every_view() {
    let (mut bench, drill) = practises(&Exercise {
        position: AskedPosition::Seventh,
        ..Exercise::default()
    });
    for (view, large_print) in [
        (PanelView::Full, false),
        (PanelView::Full, true),
        (PanelView::Small, false),
        (PanelView::Small, true),
    ] {
        let panel = SavedPanel {
            view,
            large_print,
            ..SavedPanel::default()
        };
        bench.load_panel(panel.sized(panel.smallest()));
        bench.resize(panel.smallest());
        bench.show(shows(asking(&drill, 0, &[])));
        assert!(says(&mut bench, "seventh lowest"), "{view:?}");
    }
}

/// The keys that are lit or marked, by the words on them.
fn labels(bench: &mut Bench) -> Vec<String> {
    let seen = bench.settle();
    let degree = |words: &str| words.trim_start_matches(['♭', '♯']).parse::<u8>().is_ok();
    let on_keys = seen
        .iter()
        .filter(|seen| (140.0..250.0).contains(&seen.rect.center().y) && degree(&seen.words));
    on_keys.map(|seen| seen.words.clone()).collect()
}

#[test]
fn help_shows_on_the_keys_as_it_is_chosen() {
    let (mut bench, drill) = practises(&Exercise::default());
    let asked = &drill.questions[0].question.voiced.voicing;
    for (help, count) in [
        (Help::Nothing, 0),
        (Help::GuideTones, 2),
        (Help::Everything, asked.voices().len()),
    ] {
        bench.show(shows(Asking {
            help,
            ..asking(&drill, 0, &[])
        }));
        assert_eq!(labels(&mut bench).len(), count, "{help:?}");
    }
}

#[test]
fn a_wrong_answer_is_told_on_the_keys_and_in_words() {
    let (mut bench, drill) = practises(&Exercise::default());
    let asked = drill.questions[0].question.voiced.voicing;
    let mut keys: Vec<u8> = asked.notes().map(MidiNote::number).collect();
    let all = keys.len();
    bench.show(shows(asking(&drill, 0, &keys)));
    assert_eq!(spoken(&mut bench), "right");
    assert_eq!(labels(&mut bench).len(), all);
    keys[1] += 1;
    let wrong = Asking {
        when: When::Late(0.5),
        rolled_ms: Some(140),
        motion: Some(Motion { moved: 5, least: 3 }),
        ..asking(&drill, 0, &keys)
    };
    bench.show(shows(wrong));
    let told = spoken(&mut bench);
    assert!(
        told.contains("asked") && told.contains("a half step too high"),
        "{told}"
    );
    assert!(
        told.contains("0.5 beats late; rolled over 140 ms"),
        "{told}"
    );
    assert!(
        told.ends_with("the hand moved 5 half steps; 3 would do"),
        "{told}"
    );
    // What was played there, and what was asked for.
    assert_eq!(labels(&mut bench).len(), all + 1);
    let first = told.split("; ").next().unwrap().to_owned();
    assert!(
        says(&mut bench, &first),
        "the gravest stands first: {first}"
    );
    // Over the question after it only its words are left.
    bench.show(shows(Asking {
        question: Some(1),
        ..wrong
    }));
    assert_eq!(labels(&mut bench).len(), 0);
}

#[test]
fn a_right_answer_is_told_over_the_question_after_it() {
    let (mut bench, drill) = practises(&Exercise::default());
    let asked = drill.questions[0].question;
    let keys: Vec<u8> = asked.voiced.voicing.notes().map(MidiNote::number).collect();
    bench.show(shows(Asking {
        question: Some(1),
        ..asking(&drill, 0, &keys)
    }));
    let symbol = crate::editor::view::practice::chord(&asked).whole();
    assert_eq!(spoken(&mut bench), format!("{symbol}: right"));
}

#[test]
fn a_rest_is_due_every_twenty_minutes_until_it_is_read() {
    let (mut bench, drill) = practises(&Exercise::default());
    let after = |minutes| {
        shows(Asking {
            minutes,
            ..asking(&drill, 0, &[])
        })
    };
    let says_so = |bench: &mut Bench| says(bench, "rest the hand");
    bench.show(after(19));
    assert!(!says_so(&mut bench));
    bench.show(after(20));
    assert!(says_so(&mut bench));
    bench.click("Noted: a rest is due");
    assert!(!says_so(&mut bench));
    bench.show(after(39));
    assert!(!says_so(&mut bench));
    bench.show(after(40));
    assert!(says_so(&mut bench));
    bench.click("Noted: a rest is due");
    // A new start.
    bench.show(after(3));
    assert!(!says_so(&mut bench));
    bench.show(after(20));
    assert!(says_so(&mut bench));
}

#[test]
fn every_list_names_all_there_is() {
    use super::exercise::{ORDERS, POSITIONS, PROGRESSIONS};
    assert_eq!(PROGRESSIONS.map(|(one, _)| one), Progression::ALL);
    assert_eq!(ORDERS.map(|(one, _)| one), KeyOrder::ALL);
    assert_eq!(POSITIONS, AskedPosition::ALL);
}

#[test]
fn the_buttons_go_with_the_stage_of_the_session() {
    let (mut bench, drill) = practises(&Exercise::default());
    let runs = ["More help", "Skip the question", "End practice"];
    let rests = ["Begin practice"];
    for (stage, there, gone) in [
        (Stage::Idle, &rests[..], &runs[..]),
        (Stage::CountsIn { beats: 2 }, &runs, &rests),
        (Stage::Asked, &runs, &rests),
        (Stage::Over, &rests, &runs),
    ] {
        bench.show(shows(Asking {
            stage,
            ..asking(&drill, 0, &[])
        }));
        bench.settle();
        for name in there {
            let control = bench.harness.get_by_role_and_label(Role::Button, name);
            assert!(!control.accesskit_node().is_disabled(), "{name}");
        }
        for name in gone {
            assert!(bench.harness.query_by_label(name).is_none(), "{name}");
        }
    }
}

/// Each start has a drill of its own.
#[test]
fn practice_begins_with_enter_where_nothing_has_the_focus() {
    let mut bench = Bench::new();
    set(&bench.params().source, SourceParam::Practice);
    bench.settle();
    let number = |bench: &Bench| bench.params().practice.read().drill.unwrap().number;
    let first = number(&bench);
    bench.control("Page: Exercise").focus();
    bench.settle();
    bench.key(Key::Enter);
    assert_eq!(number(&bench), first);
    bench.key(Key::Escape);
    bench.click_at(egui::pos2(600.0, 330.0));
    bench.key(Key::Enter);
    assert_eq!(number(&bench), first + 1);
    bench.click("Begin practice");
    bench.settle();
    assert_eq!(number(&bench), first + 2);
}

#[test]
fn every_control_of_practice_is_on_the_way_of_tab() {
    let (mut bench, drill) = practises(&dominants());
    let params = bench.params();
    params.practice.put(ReadPractice {
        record: Arc::new(sessions(3)),
        ..params.practice.read()
    });
    for stage in [Stage::Idle, Stage::Asked] {
        bench.show(shows(Asking {
            stage,
            minutes: 45,
            ..asking(&drill, 0, &[])
        }));
        for face in ["Page: Exercise", "Page: Record"] {
            bench.settle();
            bench.click(face);
            are_on_the_way_of_tab(&mut bench);
        }
    }
}
