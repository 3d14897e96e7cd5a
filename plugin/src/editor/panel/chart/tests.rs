//! The chart under edit, worked as a user would, with what the engine then plays.

use super::*;
use crate::bridge::chart::{ChartWork, ClockHand, Depth};
use crate::editor::bench::{Bench, Seen, World, set};
use crate::editor::model::chart::ChartAction;
use crate::editor::model::recorder::Recorder;
use crate::editor::model::state::Model;
use crate::editor::window::session::{self, Session};
use crate::engine::snapshot::Snapshot;
use crate::params::SourceParam;
use egui::{Event, Key, Modifiers, OutputCommand, Pos2, Rect, vec2};
use egui_kittest::kittest::Queryable;
use std::fmt::Write;
use std::time::Instant;

/// A panel that shows a chart, with what was told so far forgotten.
fn with(text: &str) -> Bench {
    let mut bench = Bench::new();
    set(&bench.params().source, SourceParam::Chart);
    bench.params().chart.set_text(text);
    bench.settle();
    bench.told();
    bench
}

fn text(bench: &Bench) -> String {
    bench.params().chart.text()
}

/// Puts the cursor at the end of the text.
fn to_the_end(bench: &mut Bench) {
    bench.control("Chart").focus();
    bench.frame();
    bench
        .harness
        .key_press_modifiers(Modifiers::COMMAND, Key::End);
    bench.frame();
}

fn press(bench: &mut Bench, modifiers: Modifiers, key: Key) {
    bench.harness.key_press_modifiers(modifiers, key);
    bench.frame();
    bench.frame();
}

fn says(seen: &[Seen], words: &str) -> bool {
    seen.iter().any(|s| s.words.contains(words))
}

#[test]
fn an_error_is_told_underlined_and_mended() {
    let mut bench = with("| Dm7 | G7 | Cmaj7 |");
    let before = bench.plays();
    to_the_end(&mut bench);
    bench.type_text(" H7 |");
    let seen = bench.settle();
    assert!(says(&seen, "bar 4: \"H7\" is not a chord"), "{seen:?}");
    assert!(says(&seen, "The last good chart goes on sounding."));
    assert_eq!(text(&bench), "| Dm7 | G7 | Cmaj7 | H7 |");
    assert_eq!(bench.plays(), before);
    for _ in 0..5 {
        bench.key(Key::Backspace);
    }
    bench.type_text(" A7 |");
    let seen = bench.settle();
    assert!(!says(&seen, "is not a chord"));
    assert_eq!(text(&bench), "| Dm7 | G7 | Cmaj7 | A7 |");
    assert_eq!(bench.plays().len(), 4);
    assert_ne!(bench.plays(), before);
}

#[test]
fn a_press_on_an_error_leads_to_its_place() {
    let mut bench = with("| Dm7 | H7 | Cmaj7 |");
    let seen = bench.settle();
    let reason = seen
        .iter()
        .find(|s| s.words.starts_with("bar 2: "))
        .unwrap();
    bench.click_at(reason.rect.left_center() + vec2(20.0, 0.0));
    bench.frame();
    bench.key(Key::Backspace);
    bench.key(Key::Backspace);
    bench.type_text("G7");
    assert_eq!(text(&bench), "| Dm7 | G7 | Cmaj7 |");
}

#[test]
fn typing_is_undone_and_done_again_by_key_and_by_button() {
    let mut bench = with("| Dm7 |");
    to_the_end(&mut bench);
    for sign in [" ", "G", "7", " ", "|"] {
        bench.type_text(sign);
    }
    let typed = "| Dm7 | G7 |";
    assert_eq!(text(&bench), typed);
    press(&mut bench, Modifiers::COMMAND, Key::Z);
    assert_eq!(text(&bench), "| Dm7 | ");
    press(&mut bench, Modifiers::COMMAND, Key::Z);
    assert_eq!(text(&bench), "| Dm7 |");
    assert_eq!(bench.plays().len(), 1);
    press(&mut bench, Modifiers::COMMAND | Modifiers::SHIFT, Key::Z);
    press(&mut bench, Modifiers::COMMAND, Key::Y);
    assert_eq!(text(&bench), typed);
    assert_eq!(bench.plays().len(), 2);
    bench.click("Undo");
    bench.click("Undo");
    assert_eq!(text(&bench), "| Dm7 |");
    bench.click("Redo");
    bench.click("Redo");
    assert_eq!(text(&bench), typed);
}

/// Until a text has been read, what is told of it stays with its symbols, and it is all the
/// same afterwards.
#[test]
fn what_is_told_moves_with_its_symbols_until_the_text_is_read() {
    let mut bench = with("[A] | Dm7 | G7 |\n| Cm6 | % |\n[B] | Abm7 | Db7 | Gbmaj7 | H7 |");
    let notes = |bench: &Bench| -> Vec<(String, Pos2)> {
        let seen = bench.seen().into_iter();
        let in_text = |s: &Seen| (430.0..520.0).contains(&s.clip.top());
        let chart = seen.filter(|s| in_text(s) && s.rect.height() < 16.0);
        let notes = chart.map(|s| (s.words, s.rect.min));
        notes
            .filter(|(words, _)| !words.starts_with("bar "))
            .collect()
    };
    bench.control("Chart").focus();
    bench.frame();
    let unreadable = notes(&bench);
    assert_eq!(unreadable.len(), 3, "numbers alone: {unreadable:?}");
    press(&mut bench, Modifiers::COMMAND, Key::End);
    for _ in 0..4 {
        bench.key(Key::Backspace);
    }
    bench.type_text("% |");
    for _ in 0..3 {
        press(&mut bench, Modifiers::NONE, Key::ArrowUp);
    }
    press(&mut bench, Modifiers::NONE, Key::Home);
    let before = notes(&bench);
    assert!(before.len() > 10, "{before:?}");
    // From now on nobody reads.
    bench.params().chart.on_edit(|| true);
    bench.harness.key_press(Key::Enter);
    bench.frame();
    let moved: Vec<(String, Pos2)> = before
        .into_iter()
        .map(|(words, at)| (words, at + vec2(0.0, super::line::LINE)))
        .collect();
    for _ in 0..3 {
        assert_eq!(notes(&bench), moved);
        bench.frame();
    }
    bench.params().chart.settle();
    bench.settle();
    assert_eq!(notes(&bench), moved);
}

/// A state that is loaded takes nothing away for good, and each step tells the
/// host that there is something to save.
#[test]
fn a_load_can_be_undone() {
    let mut bench = with("| Dm7 | G7 |");
    bench.params().chart.set_text("| Ebm7 |");
    bench.settle();
    let revision = bench.params().revision.value();
    bench.click("Undo");
    assert_eq!(text(&bench), "| Dm7 | G7 |");
    assert_eq!(bench.params().revision.value(), revision + 1);
    bench.click("Redo");
    assert_eq!(text(&bench), "| Ebm7 |");
}

#[test]
fn transposing_there_and_back_is_the_very_text() {
    let odd = "| Dmi7  | G-7 C7(b9, b13) | Gb7#11 |\n| F#m7b5 B7alt | H7 |";
    for first in ["Transpose up", "Transpose down"] {
        let back = if first == "Transpose up" {
            "Transpose down"
        } else {
            "Transpose up"
        };
        let mut bench = with(odd);
        for _ in 0..5 {
            bench.click(first);
        }
        assert_ne!(text(&bench), odd);
        for _ in 0..5 {
            bench.click(back);
        }
        assert_eq!(text(&bench), odd);
        bench.click("Undo");
        assert_ne!(text(&bench), odd, "each is a step");
    }
}

#[test]
fn a_transposed_chart_sounds_a_half_step_higher() {
    let mut bench = with("| Dm7 | G7 | Cmaj7 | A7 |");
    let classes = |keys: Vec<Option<Vec<u8>>>, up: u8| -> Vec<Vec<u8>> {
        let keys = keys.into_iter().flatten();
        keys.map(|keys| {
            let mut classes: Vec<u8> = keys.iter().map(|k| (k + up) % 12).collect();
            classes.sort_unstable();
            classes
        })
        .collect()
    };
    let before = classes(bench.plays(), 1);
    bench.click("Transpose up");
    assert_eq!(text(&bench), "| Ebm7 | Ab7 | Dbmaj7 | Bb7 |");
    assert_eq!(classes(bench.plays(), 0), before);
}

#[test]
fn a_whole_chart_is_pasted_and_copied() {
    let mut bench = with("| Dm7 | G7 |");
    // The second one is what the window makes of a paste.
    for event in [Event::Paste, Event::Text] {
        bench.params().chart.set_text("| Dm7 | G7 |");
        bench.settle();
        let paste = event("| Ebm7 | Ab7 |\r\n| Dbmaj7 |".to_owned());
        bench.harness.event(paste);
        bench.frame();
        assert_eq!(text(&bench), "| Ebm7 | Ab7 |\n| Dbmaj7 |");
    }
    bench.press(bench.control("Copy the chart").rect().center(), true);
    let at = bench.control("Copy the chart").rect().center();
    bench.harness.event(Event::PointerButton {
        pos: at,
        button: egui::PointerButton::Primary,
        pressed: false,
        modifiers: Modifiers::NONE,
    });
    bench.frame();
    let commands = &bench.harness.output().platform_output.commands;
    let copied = commands.iter().any(|command| {
        matches!(command, OutputCommand::CopyText(text) if *text == "| Ebm7 | Ab7 |\n| Dbmaj7 |")
    });
    assert!(copied, "{commands:?}");
    bench.click("Undo");
    assert_eq!(text(&bench), "| Dm7 | G7 |");
}

/// The number under each symbol, and the chord that sounds.
#[test]
fn forms_sounding_chords_and_keys_are_told() {
    let mut bench = with("[A] | Dm7 | G7 |\n| Cm6 | % |\n[B] | Abm7 | Db7 | Gbmaj7 | % |");
    let seen = bench.settle();
    for words in ["A", "B", "G7(♭9,♭13)", "C minor", "G♭ major", "1", "3", "5"] {
        assert!(seen.iter().any(|s| s.words == words), "{words}: {seen:?}");
    }
    set(&bench.params().ninth, crate::params::NinthParam::Sharp9);
    let seen = bench.settle();
    assert!(says(&seen, "G7(♯9,♭13)"), "{seen:?}");
}

fn playing_at(ticks: u32, change: usize) -> Snapshot {
    Snapshot {
        playing: true,
        beat_ticks: Some(ticks),
        change: Some(change),
        ..Snapshot::default()
    }
}

/// A chart of so many bars, four in a line, in turning keys.
fn long(bars: usize) -> String {
    let mut text = String::new();
    for line in 0..bars / 4 {
        let four = [
            "| Dm7 | G7 | Cmaj7 | A7 |",
            "| Ebm7 Ab7 | Dbmaj7 | Gm7 | C7 |",
        ];
        writeln!(text, "{}", four[line % 2]).unwrap();
    }
    text
}

/// Where the row of a bar lies on the screen, by the number beside it.
fn number_at(seen: &[Seen], number: usize) -> Option<Pos2> {
    let words = number.to_string();
    let found = seen.iter().filter(|s| s.words == words);
    let column = found.filter(|s| (s.rect.height() - 13.0).abs() < 3.0);
    column.map(|s| s.rect.center()).next()
}

#[test]
fn a_long_chart_follows_the_playing_and_shows_only_what_is_in_view() {
    for bars in [200, 5000] {
        let mut bench = with(&long(bars));
        let chart = guidehand_theory::chart::parse(&text(&bench)).unwrap();
        for at in [1, bars / 2 + 1, bars - 3, 1] {
            let bar = &chart.bars[at - 1];
            let change = chart.changes.iter().position(|c| c.bar == at - 1).unwrap();
            bench.show(playing_at(bar.start_ticks, change));
            bench.harness.run_steps(20);
            let seen = bench.settle();
            let clip = seen.iter().find(|s| s.words == text(&bench)).unwrap().clip;
            let number = number_at(&seen, at);
            let number = number.unwrap_or_else(|| panic!("bar {at} of {bars} is not in view"));
            assert!(clip.y_range().contains(number.y), "{at}: {number} {clip}");
            let notes = seen.iter().filter(|s| s.rect.height() < 16.0).count();
            assert!(notes < 400, "{notes} small texts");
        }
    }
}

/// The model outlives the window, and with it where the cursor was led last.
#[test]
fn a_window_that_opens_again_leads_the_cursor_nowhere() {
    let mut bench = with("| Dm7 |");
    to_the_end(&mut bench);
    bench.type_text(" G7 |");
    bench.click("Undo");
    let World {
        params,
        session,
        ends,
        ..
    } = bench.harness.state_mut();
    let Session {
        model, controls, ..
    } = session;
    let ctx = egui::Context::default();
    theme::install(&ctx);
    let has_cursor = |lead: bool, model: &mut Model| {
        if lead {
            let go = ChartAction::GoTo(3);
            let mut outside = Recorder::default();
            model.chart.apply(go, &mut outside);
        }
        let output = ctx.run_ui(egui::RawInput::default(), |ui| {
            let around = (&**params, &*ends);
            let snapshot = Snapshot::default();
            let view = session::view(&snapshot, model, controls, around);
            region(ui, &model.chart, &view, &mut Actions::default());
        });
        output.drop_without_applying_deltas();
        let state = egui::text_edit::TextEditState::load(&ctx, edit::text_id());
        state.is_some_and(|state| state.cursor.char_range().is_some())
    };
    assert!(!has_cursor(false, model));
    assert!(!has_cursor(false, model));
    assert!(has_cursor(true, model));
}

/// The frames of the region alone, in a context without a screen reader, whose
/// tree of the text would cost more than all the rest.
fn frame_times(text: &str, bars: usize) -> Vec<Duration> {
    let mut bench = with(text);
    let chart = guidehand_theory::chart::parse(text).unwrap();
    let ctx = egui::Context::default();
    theme::install(&ctx);
    let World {
        params,
        session,
        ends,
        ..
    } = bench.harness.state_mut();
    let Session {
        model, controls, ..
    } = session;
    let frame = |ticks: u32| {
        let input = egui::RawInput {
            screen_rect: Some(Rect::from_min_size(Pos2::ZERO, vec2(520.0, 280.0))),
            ..egui::RawInput::default()
        };
        let begun = Instant::now();
        let output = ctx.run_ui(input, |ui| {
            let view = session::view(&playing_at(ticks, 0), model, controls, (params, ends));
            region(ui, &model.chart, &view, &mut Actions::default());
        });
        let taken = begun.elapsed();
        output.drop_without_applying_deltas();
        taken
    };
    let start = |frame: usize| chart.bars[(bars / 3 + frame) % bars].start_ticks;
    let times: Vec<Duration> = (0..70).map(|nth| frame(start(nth))).collect();
    times[10..].to_vec()
}

/// What a frame takes is printed, since it depends on the machine. What is held to
/// a bound is the quickest frame of a chart of 5,000 bars against the quickest of a
/// short one, in the same build.
#[test]
fn a_frame_costs_little_more_for_a_long_chart() {
    let mut costs = Vec::new();
    for bars in [16, 200, 5000] {
        let mut times = frame_times(&long(bars), bars);
        times.sort_unstable();
        let (quickest, middle) = (times[0], times[times.len() / 2]);
        println!("{bars} bars: {quickest:?} at best, {middle:?} as a rule, a frame in play");
        costs.push(quickest);
    }
    assert!(costs[1] < costs[0] * 3, "{costs:?}");
    assert!(costs[2] < costs[0] * 12, "{costs:?}");
}

/// A worker and a clock in the hands of the test.
struct ByHand {
    bench: Bench,
    work: ChartWork,
    clock: ClockHand,
}

impl ByHand {
    /// A panel that plays a chart, with the cursor at its end.
    fn with(text: &str) -> ByHand {
        let mut bench = with(text);
        bench.params().chart.on_edit(|| true);
        to_the_end(&mut bench);
        ByHand {
            work: bench.params().chart.work(),
            clock: bench.params().chart.stop_clock(),
            bench,
        }
    }

    /// Lets the worker do all that there is to do, and the panel show it.
    fn work(&mut self) -> Vec<Seen> {
        while self.work.step(Depth::All) {}
        self.bench.settle()
    }

    fn types(&mut self, signs: &str) -> Vec<Seen> {
        for sign in signs.chars() {
            self.bench.type_text(&sign.to_string());
            self.work();
        }
        self.bench.settle()
    }

    /// How many chords the chart in force has.
    fn chords(&mut self) -> usize {
        self.bench.plays().len()
    }
}

const UNTIL_REST: &str = "The chart before plays until you pause or press Enter.";
const AT_BAR_LINE: &str = "This chart comes in at the next bar line.";

/// What screen readers are told of what the text waits for.
fn told(bench: &Bench) -> [bool; 2] {
    let tells = |words| bench.harness.query_by_label(words).is_some();
    [UNTIL_REST, AT_BAR_LINE].map(tells)
}

#[test]
fn what_is_typed_plays_after_a_pause() {
    let mut by_hand = ByHand::with("| Dm7 | G7 |");
    assert_eq!(told(&by_hand.bench), [false; 2]);
    let seen = by_hand.types(" C | F |");
    assert!(says(&seen, "plays after a pause or Enter"));
    assert_eq!(told(&by_hand.bench), [true, false]);
    assert!(says(&seen, "4 bars"), "what is shown follows each key");
    assert_eq!(by_hand.chords(), 2);
    by_hand.clock.pass_ms(999);
    by_hand.work();
    assert_eq!((by_hand.chords(), told(&by_hand.bench)), (2, [true, false]));
    by_hand.clock.pass_ms(1);
    let seen = by_hand.work();
    assert!(!says(&seen, "plays after"));
    assert_eq!((by_hand.chords(), told(&by_hand.bench)), (4, [false; 2]));
    // Where chords come from elsewhere, no chart plays.
    by_hand.types(" B");
    assert_eq!(told(&by_hand.bench), [true, false]);
    set(&by_hand.bench.params().source, SourceParam::Roots);
    by_hand.bench.settle();
    assert_eq!(told(&by_hand.bench), [false; 2]);
}

#[test]
fn the_enter_key_does_not_wait_for_a_pause() {
    let mut by_hand = ByHand::with("| Dm7 | G7 |");
    by_hand.types(" C |");
    assert_eq!(by_hand.chords(), 2);
    by_hand.bench.key(Key::Enter);
    by_hand.work();
    assert_eq!(text(&by_hand.bench), "| Dm7 | G7 | C |\n");
    assert_eq!((by_hand.chords(), told(&by_hand.bench)), (3, [false; 2]));
    // Letters that come in the same frame after it are being typed.
    by_hand.bench.harness.key_press(Key::Enter);
    by_hand.bench.type_text("F");
    by_hand.work();
    assert_eq!(text(&by_hand.bench), "| Dm7 | G7 | C |\n\nF");
    assert_eq!((by_hand.chords(), told(&by_hand.bench)), (3, [true, false]));
}

#[test]
fn a_paste_an_undo_and_a_transposition_do_not_wait_for_a_pause() {
    let mut by_hand = ByHand::with("| Dm7 | G7 |");
    // The second one is what the window makes of a paste.
    let pastes = [Event::Paste, Event::Text].map(|event| event(" C | F |".to_owned()));
    for paste in pastes {
        by_hand.bench.harness.event(paste);
        by_hand.bench.frame();
        by_hand.work();
        assert_eq!((by_hand.chords(), told(&by_hand.bench)), (4, [false; 2]));
        press(&mut by_hand.bench, Modifiers::COMMAND, Key::Z);
        by_hand.work();
        assert_eq!((by_hand.chords(), told(&by_hand.bench)), (2, [false; 2]));
    }
    by_hand.types(" C |");
    assert_eq!((by_hand.chords(), told(&by_hand.bench)), (2, [true, false]));
    by_hand.bench.click("Transpose up");
    by_hand.work();
    assert_eq!((by_hand.chords(), told(&by_hand.bench)), (3, [false; 2]));
    // A cut is mostly half of what a player is about to do.
    to_the_end(&mut by_hand.bench);
    press(&mut by_hand.bench, Modifiers::COMMAND, Key::A);
    by_hand.bench.harness.event(Event::Cut);
    by_hand.bench.frame();
    by_hand.work();
    assert_eq!(text(&by_hand.bench), "");
    assert_eq!(by_hand.chords(), 3);
}

#[test]
fn an_error_keeps_the_last_finished_chart() {
    let mut by_hand = ByHand::with("| Dm7 | G7 | C6 |");
    let before = by_hand.bench.plays();
    press(&mut by_hand.bench, Modifiers::COMMAND, Key::A);
    by_hand.types("| Dm7 | H");
    by_hand.clock.pass_ms(5_000);
    let seen = by_hand.work();
    assert!(says(&seen, "The last good chart goes on sounding."));
    assert_eq!(told(&by_hand.bench), [false; 2]);
    assert_eq!(by_hand.bench.plays(), before);
}

/// While the chart before plays on, the places that the engine tells are places in that chart. They
/// are marked in the text where its bars are the same.
#[test]
fn a_chart_that_waits_for_its_bar_line_follows_the_one_before() {
    let mut by_hand = ByHand::with("| Dm7 | G7 |");
    let playing = |by_hand: &ByHand| {
        let planned = by_hand.bench.params().chart.latest().planned.clone();
        Snapshot {
            playing: true,
            song: planned.map(|planned| planned.edition),
            beat_ticks: Some(3840),
            change: Some(1),
            ..Snapshot::default()
        }
    };
    let marked = |by_hand: &ByHand| {
        let session = &by_hand.bench.harness.state().session;
        let shown = session.model.of_this_text(&session.snapshot);
        let playing = session.model.chart.playing(&shown);
        playing.map(|playing| playing.bar)
    };
    let before = playing(&by_hand);
    by_hand.bench.show(before);
    let seen = by_hand.bench.settle();
    assert!(says(&seen, "bar 2, beat 1"), "{seen:?}");
    assert_eq!(marked(&by_hand), Some(1));
    let seen = by_hand.types(" C | H");
    assert!(!says(&seen, "bar 2, beat 1"));
    assert_eq!(marked(&by_hand), Some(1), "in the bar that still is there");
    by_hand.bench.key(Key::Backspace);
    by_hand.work();
    by_hand.bench.key(Key::Enter);
    let seen = by_hand.work();
    assert!(says(&seen, "plays from the next bar line") && !says(&seen, "bar 2, beat 1"));
    assert_eq!(told(&by_hand.bench), [false, true]);
    let after = playing(&by_hand);
    assert_ne!(after.song, before.song);
    by_hand.bench.show(after);
    let seen = by_hand.bench.settle();
    assert!(says(&seen, "bar 2, beat 1"));
    assert_eq!(told(&by_hand.bench), [false; 2]);
}
