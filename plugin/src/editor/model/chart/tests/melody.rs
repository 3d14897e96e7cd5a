//! The melody of the document: typed, undone, transposed, and beside edits of the chart.

use super::*;

const MELODY: &str = "| F5/2 E5 | D5/1 | C5 |";

fn melody(text: &str, now_seconds: f64) -> ChartAction {
    ChartAction::Melody {
        text: text.to_owned(),
        now_seconds,
        finished: false,
    }
}

/// What is told of the melody's text, once it has been read.
fn errors(outside: &Recorder) -> Vec<String> {
    let chart = outside.chart();
    chart
        .melody_errors()
        .iter()
        .map(ToString::to_string)
        .collect()
}

#[test]
fn a_melody_is_typed_undone_and_done_again() {
    let (mut chart, mut outside) = with(TEXT);
    for (nth, text) in (0..).zip(["|", "| ", "| F", "| F5", MELODY]) {
        chart.apply(melody(text, 0.1 * f64::from(nth)), &mut outside);
    }
    assert_eq!(outside.told.len(), 5, "{:?}", outside.told);
    assert_eq!(&*chart.document().melody, MELODY);
    outside.read();
    chart.refresh(outside.chart());
    assert_eq!(outside.chart().document(), *chart.document());
    assert_eq!(errors(&outside), [""; 0]);
    let mut seen = Vec::new();
    while chart.can_undo() {
        chart.apply(ChartAction::Undo, &mut outside);
        seen.push(chart.document().melody.as_ref().to_owned());
    }
    assert_eq!(seen, ["| F5", "| ", ""]);
    while chart.can_redo() {
        chart.apply(ChartAction::Redo, &mut outside);
    }
    assert_eq!(&*chart.document().melody, MELODY);
    assert_eq!(chart.text(), TEXT);
}

#[test]
fn errors_are_told_with_their_bar_and_nothing_typed_is_lost() {
    let (mut chart, mut outside) = with(TEXT);
    let wrong = "| F5/2 E5 | D5/2 x | C5/1 |";
    chart.apply(melody(wrong, 0.0), &mut outside);
    outside.read();
    chart.refresh(outside.chart());
    assert_eq!(&*chart.document().melody, wrong);
    let told = errors(&outside);
    assert!(told[0].starts_with("bar 2: \"x\" is no note"), "{told:?}");
}

/// Letters of the chart follow from a document that was typed before the melody was.
#[test]
fn an_edit_of_the_chart_leaves_the_melody() {
    let (mut chart, mut outside) = with(TEXT);
    chart.apply(typed("| Dm7 | G7 | Cmaj7 | F", 22), &mut outside);
    chart.apply(melody(MELODY, 0.1), &mut outside);
    let longer = "| Dm7 | G7 | Cmaj7 | F6 |";
    chart.apply(typed(longer, longer.len()), &mut outside);
    assert_eq!(&*chart.document().melody, MELODY);
    chart.apply(ChartAction::Undo, &mut outside);
    assert_eq!(&*chart.document().melody, MELODY);
    chart.apply(ChartAction::Undo, &mut outside);
    assert_eq!(&*chart.document().melody, "");
    chart.apply(pin(1, "G7"), &mut outside);
    chart.apply(ChartAction::Redo, &mut outside);
    assert_eq!(pins(&chart).len(), 1);
}

#[test]
fn a_melody_is_transposed_with_its_chart_and_comes_back_as_typed() {
    let (mut chart, mut outside) = with(TEXT);
    let typed = "|  f5/2 E5~ | E5/4. x r | C5 |";
    chart.apply(melody(typed, 0.0), &mut outside);
    chart.apply(ChartAction::Transpose(Direction::Up), &mut outside);
    assert_eq!(chart.text(), "| Ebm7 | Ab7 | Dbmaj7 |");
    assert_eq!(
        &*chart.document().melody,
        "|  Gb5/2 F5~ | F5/4. x r | Db5 |"
    );
    chart.apply(ChartAction::Transpose(Direction::Down), &mut outside);
    assert_eq!(&*chart.document().melody, typed);
    chart.apply(ChartAction::Transpose(Direction::Down), &mut outside);
    assert_eq!(chart.text(), "| C#m7 | F#7 | Bmaj7 |");
    assert_eq!(
        &*chart.document().melody,
        "|  E5/2 D#5~ | D#5/4. x r | B4 |"
    );
    chart.apply(ChartAction::Undo, &mut outside);
    assert_eq!(&*chart.document().melody, typed);
    // One that would leave the range of MIDI lies an octave lower.
    chart.apply(melody("| G9/1 |", 9.0), &mut outside);
    chart.apply(ChartAction::Transpose(Direction::Up), &mut outside);
    assert_eq!(&*chart.document().melody, "| Ab8/1 |");
}
