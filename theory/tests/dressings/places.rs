//! The tables of places.

use super::{OF_DOMINANTS, OF_OTHERS, data, dressings, notes, place, symbol_of};
use guidehand_theory::dressing::{Dressing, Fit, Place, Step};
use guidehand_theory::voicing::Voice;

/// The row of a dressing, as the tables write it.
fn written(place: &Place, dressing: &Dressing) -> String {
    let root = place.placed.chord.root;
    let name = |voice: Option<Voice>| voice.map(|v| v.degree.over(root).to_string());
    let steps = |say: &dyn Fn(&Step) -> String| {
        let steps: Vec<String> = dressing.steps.iter().map(say).collect();
        steps.join("; ").trim().to_owned()
    };
    let moves = |step: &Step| {
        let moves: Vec<String> = step
            .fingers
            .iter()
            .map(|f| format!("{}-{}", name(f.from).unwrap(), name(f.to).unwrap()))
            .collect();
        moves.join(" ")
    };
    let fit = match dressing.fit {
        Fit::Usual => "usual",
        Fit::Bold => "bold",
        Fit::AgainstMelody => "against the melody",
    };
    let cells = [
        dressing.fingers.to_string(),
        dressing.name.to_string(),
        steps(&symbol_of),
        steps(&|step| notes(place, &step.voicing)),
        steps(&moves),
        fit.to_owned(),
        steps(&|step| step.scales()[0].scale.name.to_owned()),
    ];
    cells.join(" | ")
}

/// A place of a table: its heading, its rows, and whether more may follow.
struct Expected<'a> {
    head: [&'a str; 6],
    rows: Vec<String>,
    whole: bool,
}

fn expected(table: &str) -> Vec<Expected<'_>> {
    let mut places: Vec<Expected> = Vec::new();
    for cells in data::rows::<7>(table) {
        let [first, rest @ ..] = cells;
        if let Some(here) = first.strip_prefix('=') {
            let [before, after, key, letter, now, ..] = rest;
            places.push(Expected {
                head: [here.trim(), before, after, key, letter, now],
                rows: Vec::new(),
                whole: true,
            });
            continue;
        }
        let place = places.last_mut().expect("a place before its rows");
        if first == "and more" {
            place.whole = false;
        } else {
            place.rows.push(cells.join(" | "));
        }
    }
    places
}

/// Common practice, no published source.
#[test]
fn dressings_are_those_of_the_tables() {
    let mut wrong = String::new();
    let mut count = 0;
    for table in [OF_DOMINANTS, OF_OTHERS] {
        for expected in expected(table) {
            count += 1;
            let [here, before, after, key, letter, now] = expected.head;
            let place = place([here, before, after, key, letter]);
            assert_eq!(notes(&place, &place.now), now, "{here} in {key}");
            let all = dressings(&place);
            let rows: Vec<String> = all.iter().map(|d| written(&place, d)).collect();
            let listed: Vec<&String> = rows
                .iter()
                .filter(|row| expected.whole || expected.rows.contains(row))
                .collect();
            if listed != expected.rows.iter().collect::<Vec<_>>() {
                let rows = rows.join("\n  ");
                let hand = expected.rows.join("\n  ");
                wrong += &format!("{here} in {key}\n  {rows}\nby hand\n  {hand}\n\n");
            }
        }
    }
    assert!(count >= 12, "{count} places");
    assert!(wrong.is_empty(), "{wrong}");
}
