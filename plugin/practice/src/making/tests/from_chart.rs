//! Drills from a chart.

use super::*;

#[test]
fn a_chart_is_asked_bar_by_bar() {
    let made = of_chart(
        &Exercise {
            origin: Origin::Chart,
            ..Exercise::default()
        },
        "| Dm7 | G7 | Cmaj7 | % |",
    );
    let made = made.unwrap();
    assert_eq!(items(&made), ["Dm7 G7 Cmaj7"]);
    let item = &made.drill.items[0];
    assert_eq!((item.start_ticks, item.length_ticks), (0, 4 * 3840));
    let changes: Vec<_> = made
        .drill
        .questions
        .iter()
        .map(|asked| asked.change)
        .collect();
    assert_eq!(changes, [Some(0), Some(1), Some(2)]);
    let stretch = Exercise {
        bars: Some((2, 9)),
        ..Exercise::default()
    };
    let made = of_chart(&stretch, "| Dm7 | G7 | Cmaj7 | % |").unwrap();
    assert_eq!(items(&made), ["G7 Cmaj7"]);
    assert_eq!(made.told, [Told::EndsBefore { bars: 4 }]);
    let item = &made.drill.items[0];
    assert_eq!((item.start_ticks, item.length_ticks), (3840, 3 * 3840));
    assert_eq!(made.drill.questions[0].start_ticks, 3840);
    // A chord that began before the stretch is asked where the stretch begins.
    let stretch = Exercise {
        bars: Some((4, 4)),
        ..Exercise::default()
    };
    let made = of_chart(&stretch, "| Dm7 | G7 | Cmaj7 | % |").unwrap();
    assert_eq!(items(&made), ["Cmaj7"]);
    let asked = &made.drill.questions[0];
    assert_eq!((asked.start_ticks, asked.length_ticks), (3 * 3840, 3840));
}

#[test]
fn a_chart_moves_through_the_keys() {
    let text = "| Dm7 | G7 | Cmaj7 | % |";
    let exercise = Exercise {
        origin: Origin::Chart,
        chart_keys: ChartKeys::EachRound,
        order: KeyOrder::HalfStepsDown,
        ..Exercise::default()
    };
    let made = of_chart(&exercise, text).unwrap();
    let items = items(&made);
    assert_eq!(items.len(), 12);
    assert_eq!(
        items[..3],
        ["Dm7 G7 Cmaj7", "C#m7 F#7 Bmaj7", "Cm7 F7 Bbmaj7"]
    );
    let in_key = Exercise {
        chart_keys: ChartKeys::In(PitchClass::wrapping(3)),
        ..exercise
    };
    let made = of_chart(&in_key, text).unwrap();
    assert_eq!(self::items(&made), ["Fm7 Bb7 Ebmaj7"]);
    assert_eq!(made.drill.items[0].key.to_string(), "Eb major");
}

/// A whole chart in its own key is asked as the chart source plays it. A voicing that the player has placed
/// is asked for, and moves with the key.
#[test]
fn a_chart_is_asked_as_it_is_played() {
    use guidehand_theory::pipeline;
    use guidehand_theory::plan::Ends;
    let text = "| Dm7 | G7 | Cmaj7 | A7 | Dm7 | G7alt | Cm6 | % |";
    let chart = chart::parse(text).unwrap();
    let placed = pipeline::place(&chart, None);
    let taste = Taste::default();
    let plan = |pins: &[_]| {
        let planned =
            pipeline::plan_around(&placed, taste.texture, taste.register, Ends::Cyclic, pins);
        let voicings = planned.into_iter().flatten();
        voicings.map(|one| one.voicing).collect::<Vec<_>>()
    };
    let in_key = |chart_keys, pins: &[_]| {
        let exercise = Exercise {
            origin: Origin::Chart,
            chart_keys,
            ..Exercise::default()
        };
        let making = Making {
            number: 1,
            exercise: &exercise,
            taste: &taste,
            shapes: &[],
            record: &Record::default(),
            now: DateTime::UNIX_EPOCH,
        };
        let asked = ChartToAsk {
            chart: &chart,
            key: None,
            pins,
        };
        let made = making.drill(Some(&asked)).unwrap();
        let questions = made.drill.questions.into_iter();
        questions
            .map(|asked| asked.question.voiced.voicing)
            .collect::<Vec<_>>()
    };
    assert_eq!(in_key(ChartKeys::AsWritten, &[]), plan(&[]));
    let mut placed_by_hand = plan(&[])[1];
    placed_by_hand = placed_by_hand.transposed(12).unwrap();
    let pins = [(1, placed_by_hand)];
    assert_eq!(in_key(ChartKeys::AsWritten, &pins), plan(&pins));
    let moved = in_key(ChartKeys::In(PitchClass::wrapping(2)), &pins);
    assert_eq!(moved[1], placed_by_hand.transposed(2).unwrap());
}
