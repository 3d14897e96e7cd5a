//! Files and twelve keys: what comes of them is in the document in one step, with what was picked.

use super::*;

#[test]
fn twelve_keys_take_the_place_of_the_chart_in_one_step() {
    let (mut model, mut outside) = with(TEXT);
    let practise = FilesAction::Practise(Order::HalfSteps);
    apply(&mut model, Action::Files(practise), &mut outside);
    assert!(
        outside.chart().text.contains("Ebm7"),
        "{:?}",
        outside.chart()
    );
    let undo = Action::Chart(ChartAction::Undo);
    apply(&mut model, undo, &mut outside);
    assert_eq!(&*outside.chart().text, TEXT);
}

/// The A form of G13 and a scale for the G7 of the chart.
fn pick(model: &mut Model, outside: &mut Recorder) {
    let chart = chart::parse(TEXT).unwrap();
    let at = ChordPlayed::of(&chart)[1].unwrap().at();
    let notes = PinNotes::new([53, 57, 59, 64].map(MidiNote::clamp)).unwrap();
    let pass = Pass::Every;
    let pin = ChartAction::Pin {
        at: at.clone(),
        pass,
        notes,
    };
    let scale = Some(ScaleName {
        name: "altered".to_owned(),
        above: 0,
    });
    for action in [pin, ChartAction::ChooseScale { at, scale }] {
        apply(model, Action::Chart(action), outside);
    }
}

/// The chords that are pinned, with the lowest note of each, and those with a chosen scale.
fn picked(model: &Model) -> (Vec<(usize, String, u8)>, Vec<String>) {
    let picks = &model.chart.document().picks;
    let pins = picks.pins().iter().map(|pin| {
        let lowest = pin.notes.notes()[0].number();
        (pin.at.index, pin.at.symbol.clone(), lowest)
    });
    let scales = picks.scales().iter().map(|scale| scale.at.symbol.clone());
    (pins.collect(), scales.collect())
}

#[test]
fn what_was_picked_goes_through_twelve_keys_and_back_in_one_step() {
    let (mut model, mut outside) = with(TEXT);
    pick(&mut model, &mut outside);
    let before = model.chart.document().clone();
    let practise = FilesAction::Practise(Order::HalfSteps);
    apply(&mut model, Action::Files(practise), &mut outside);
    let (pins, scales) = picked(&model);
    let roots = [
        "G", "Ab", "A", "Bb", "B", "C", "Db", "D", "Eb", "E", "F", "F#",
    ];
    // From F3 up to a tritone higher, then from a fourth lower on. No octave of B, C or Db lies
    // within the register, from D3 to A4.
    let lowest = [53, 54, 55, 56, 57, 58, 59, 48, 49, 50, 51, 52];
    assert_eq!(pins.len(), 12);
    for (nth, ((index, symbol, note), (root, expected))) in
        pins.iter().zip(roots.iter().zip(lowest)).enumerate()
    {
        assert_eq!((*index, note), (3 * nth + 1, &expected), "{symbol}");
        assert_eq!(symbol, &format!("{root}7"));
    }
    assert_eq!(scales.len(), 12);
    apply(&mut model, Action::Chart(ChartAction::Undo), &mut outside);
    assert_eq!(*model.chart.document(), before);
}

/// Pins and scales come from the file in one step, and nothing that was picked before stays.
#[test]
fn what_was_picked_comes_from_a_page_and_is_undone_in_one_step() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("chart.musicxml");
    let (mut model, mut outside) = with(TEXT);
    pick(&mut model, &mut outside);
    let written = model.chart.document().clone();
    let path = FilesAction::Path(path.display().to_string());
    for action in [path, FilesAction::Write(FileKind::MusicXml)] {
        apply(&mut model, Action::Files(action), &mut outside);
    }
    outside.do_work();
    model.refresh(&Snapshot::default(), &mut outside);
    let put = ChartAction::Put("| Gm7 | G7 |".to_owned());
    apply(&mut model, Action::Chart(put), &mut outside);
    let at = model.chart.document().picks.pins()[0].at.clone();
    let unpinned = ChartAction::Unpin {
        at,
        pass: Pass::Every,
    };
    apply(&mut model, Action::Chart(unpinned), &mut outside);
    let other = model.chart.document().clone();
    assert_ne!(other, written);
    apply(&mut model, Action::Files(FilesAction::Read), &mut outside);
    outside.do_work();
    model.refresh(&Snapshot::default(), &mut outside);
    assert_eq!(*model.chart.document(), written);
    apply(&mut model, Action::Chart(ChartAction::Undo), &mut outside);
    assert_eq!(*model.chart.document(), other);
}

#[test]
fn a_chart_that_was_edited_while_a_file_was_read_comes_back_with_one_undo() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("chart.txt");
    std::fs::write(&path, "| F6 | Bb6 |").unwrap();
    let (mut model, mut outside) = with(TEXT);
    let path = FilesAction::Path(path.display().to_string());
    for action in [path, FilesAction::Read] {
        apply(&mut model, Action::Files(action), &mut outside);
    }
    let edited = format!("{TEXT} F6 |");
    let typed = ChartAction::Type {
        text: edited.clone(),
        cursor: edited.len()..edited.len(),
        now_seconds: 0.0,
        finished: false,
    };
    apply(&mut model, Action::Chart(typed), &mut outside);
    model.refresh(&Snapshot::default(), &mut outside);
    assert_eq!(&*outside.chart().text, edited, "nothing has come yet");
    outside.do_work();
    model.refresh(&Snapshot::default(), &mut outside);
    assert_eq!(&*outside.chart().text, "| F6 | Bb6 |");
    let undo = Action::Chart(ChartAction::Undo);
    apply(&mut model, undo, &mut outside);
    assert_eq!(&*outside.chart().text, edited);
    assert!(model.chart.can_redo());
}
