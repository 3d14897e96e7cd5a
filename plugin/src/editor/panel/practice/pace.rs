//! How it is asked: when the next question comes, how much help there is, and what counts as right. The
//! panel's thread; the page of practice imports it.

use super::row::{choose, edit, row};
use crate::editor::model::action::Actions;
use crate::editor::panel::view::View;
use crate::editor::widgets::{self, Choices, Count};
use egui::Ui;
use guidehand_practice::{Help, Pace, Tempo};
use guidehand_theory::judge::Accepts;

/// The width of a number, in points.
const NUMBER: f32 = 40.0;
/// The tempo that is offered first, in quarter notes a minute.
const BPM: f64 = 80.0;
/// Seconds until more help, where it comes by itself.
const MORE_AFTER_S: u8 = 5;

const HELPS: [Help; 3] = [Help::Nothing, Help::GuideTones, Help::Everything];
const ACCEPTS: [Accepts; 3] = [Accepts::Exact, Accepts::SameTensions, Accepts::AnyGood];

/// Lays the region out.
pub fn region(ui: &mut Ui, view: &View, actions: &mut Actions) {
    pace(ui, view, actions);
    help(ui, view, actions);
    row(ui, "Right is", |ui| {
        let words = ["as asked", "same tensions", "any good"];
        let tip = "The very notes; any rootless voicing with these tensions; or any good voicing of the chord.";
        let choices = Choices::new("Right is", &words, tip);
        let now = view.practice.exercise.accepts;
        if let Some(accepts) = choose(ui, &choices, &ACCEPTS, now) {
            edit(view, actions, |exercise| exercise.accepts = accepts);
        }
    });
    row(ui, "Also", |ui| {
        let exercise = &view.practice.exercise;
        let tip = "Tells how far the hand moved, beside the least that it could have.";
        let lamp = widgets::lamp(
            ui,
            "voice leading",
            "Voice leading is judged",
            exercise.leading,
        );
        if lamp.on_hover_text(tip).clicked() {
            edit(view, actions, |exercise| {
                exercise.leading = !exercise.leading
            });
        }
        let tip = "The right chord sounds after the answer.";
        let on = exercise.answer_sounds;
        let lamp = widgets::lamp(
            ui,
            "hear it after",
            "Right chord sounds after the answer",
            on,
        );
        if lamp.on_hover_text(tip).clicked() {
            edit(view, actions, |exercise| exercise.answer_sounds = !on);
        }
    });
}

/// When the next question comes.
fn pace(ui: &mut Ui, view: &View, actions: &mut Actions) {
    let now = view.practice.exercise.pace;
    row(ui, "Pace", |ui| {
        let tip = "The next is asked when this one is right, or in time.";
        let choices = Choices::new("Pace", &["free time", "in time"], tip);
        let timed = matches!(now, Pace::InTime { .. });
        match choose(ui, &choices, &[false, true], timed) {
            Some(true) => {
                let tempo = Tempo::Own {
                    bpm: BPM,
                    faster_by: 0.0,
                };
                put(view, actions, (tempo, 4, 1));
            }
            Some(false) => edit(view, actions, |exercise| exercise.pace = Pace::Free),
            None => {}
        }
    });
    if let Pace::InTime {
        tempo,
        beats_ahead,
        count_in_bars,
    } = now
    {
        row(ui, "Tempo", |ui| {
            self::tempo(ui, (tempo, beats_ahead, count_in_bars), view, actions);
        });
        if let Tempo::Own { bpm, faster_by } = tempo {
            row(ui, "", |ui| {
                let faster = Count {
                    what: "Faster by",
                    width: NUMBER,
                    tip: "How much faster it goes after each round without a miss; 0 keeps the tempo.",
                    range: 0..=20,
                    suffix: " bpm",
                };
                widgets::name(ui, "faster by");
                if let Some(by) = widgets::count(ui, &faster, whole(faster_by)) {
                    let faster_by = f64::from(by);
                    let tempo = Tempo::Own { bpm, faster_by };
                    put(view, actions, (tempo, beats_ahead, count_in_bars));
                }
                widgets::name(ui, "each clean round");
            });
        }
        row(ui, "Asked", |ui| {
            ahead(ui, (tempo, beats_ahead, count_in_bars), view, actions);
        });
    }
}

type InTime = (Tempo, u8, u8);

fn put(view: &View, actions: &mut Actions, (tempo, beats_ahead, count_in_bars): InTime) {
    edit(view, actions, |exercise| {
        exercise.pace = Pace::InTime {
            tempo,
            beats_ahead,
            count_in_bars,
        };
    });
}

#[expect(clippy::cast_possible_truncation, reason = "tempi are small")]
fn whole(number: f64) -> i32 {
    number.round() as i32
}

/// Whose tempo it is.
fn tempo(ui: &mut Ui, (tempo, ahead, bars): InTime, view: &View, actions: &mut Actions) {
    let tip = "The host's while it plays, or one of this exercise's own.";
    let choices = Choices::new("Whose tempo", &["the host's", "its own"], tip);
    let own = matches!(tempo, Tempo::Own { .. });
    match choose(ui, &choices, &[false, true], own) {
        Some(true) => {
            let tempo = Tempo::Own {
                bpm: BPM,
                faster_by: 0.0,
            };
            put(view, actions, (tempo, ahead, bars));
        }
        Some(false) => put(view, actions, (Tempo::Host, ahead, bars)),
        None => {}
    }
    if let Tempo::Own { bpm, faster_by } = tempo {
        let number = Count {
            what: "Tempo of the exercise",
            width: NUMBER,
            tip: "Quarter notes a minute, at the start.",
            range: 30..=300,
            suffix: " bpm",
        };
        if let Some(bpm) = widgets::count(ui, &number, whole(bpm)) {
            let bpm = f64::from(bpm);
            put(view, actions, (Tempo::Own { bpm, faster_by }, ahead, bars));
        }
    }
}

/// How long before it falls a chord is asked for, and the count-in.
fn ahead(ui: &mut Ui, (tempo, ahead, bars): InTime, view: &View, actions: &mut Actions) {
    let beats = Count {
        what: "Beats ahead",
        width: NUMBER,
        tip: "How many beats before it falls a chord is asked for.",
        range: 1..=8,
        suffix: if ahead == 1 { " beat" } else { " beats" },
    };
    if let Some(wanted) = widgets::count(ui, &beats, i32::from(ahead)) {
        let ahead = u8::try_from(wanted).unwrap_or(1);
        put(view, actions, (tempo, ahead, bars));
    }
    widgets::name(ui, "ahead, count-in");
    let count_in = Count {
        what: "Count-in",
        width: NUMBER,
        tip: "Bars of clicks before the first chord.",
        range: 0..=2,
        suffix: if bars == 1 { " bar" } else { " bars" },
    };
    if let Some(wanted) = widgets::count(ui, &count_in, i32::from(bars)) {
        let bars = u8::try_from(wanted).unwrap_or(0);
        put(view, actions, (tempo, ahead, bars));
    }
}

/// How much of the answer is shown, and when more of it.
fn help(ui: &mut Ui, view: &View, actions: &mut Actions) {
    let exercise = &view.practice.exercise;
    row(ui, "Help", |ui| {
        let words = ["nothing", "guide tones", "everything"];
        let tip = "What is shown on the keys when a chord is asked for.";
        let choices = Choices::new("Help", &words, tip);
        if let Some(help) = choose(ui, &choices, &HELPS, exercise.help) {
            edit(view, actions, |exercise| exercise.help = help);
        }
    });
    row(ui, "", |ui| {
        let after = exercise.more_after_s;
        let tip = "More help comes by itself after a while; otherwise only when you ask for it.";
        let lamp = widgets::lamp(ui, "more after", "More help by itself", after.is_some());
        if lamp.on_hover_text(tip).clicked() {
            let wanted = after.is_none().then_some(MORE_AFTER_S);
            edit(view, actions, |exercise| exercise.more_after_s = wanted);
        }
        if let Some(seconds) = after {
            let number = Count {
                what: "Seconds until more help",
                width: NUMBER,
                tip: "Seconds from the question until more help is shown.",
                range: 2..=60,
                suffix: " s",
            };
            if let Some(wanted) = widgets::count(ui, &number, i32::from(seconds)) {
                let wanted = u8::try_from(wanted).ok();
                edit(view, actions, |exercise| exercise.more_after_s = wanted);
            }
        }
    });
}
