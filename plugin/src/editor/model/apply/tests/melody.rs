//! The melody: written by the line of the other harmonies, taken over from older versions, and in files.

use super::*;

/// What the other harmonies say of the melody is the document's own, and is undone like it.
#[test]
fn the_line_of_the_melody_is_written_into_the_document() {
    let (mut model, mut outside) = with(TEXT);
    ask(&mut model, &mut outside, "G7");
    let line = HarmoniesAction::Melody("D".to_owned());
    apply(&mut model, Action::Harmonies(line), &mut outside);
    assert_eq!(&*model.chart.document().melody, "| | D5/1 |");
    model.refresh(&Snapshot::default(), &mut outside);
    assert_eq!(model.pages.harmonies.line(), "D", "as it was typed");
    let undo = Action::Chart(ChartAction::Undo);
    apply(&mut model, undo, &mut outside);
    assert_eq!(&*model.chart.document().melody, "");
    model.refresh(&Snapshot::default(), &mut outside);
    assert_eq!(model.pages.harmonies.line(), "");
    // What has errors is not written over.
    let wrong = ChartAction::Melody {
        text: "| x".to_owned(),
        now_seconds: 0.0,
        finished: true,
    };
    apply(&mut model, Action::Chart(wrong), &mut outside);
    model.refresh(&Snapshot::default(), &mut outside);
    let line = HarmoniesAction::Melody("D".to_owned());
    apply(&mut model, Action::Harmonies(line), &mut outside);
    assert_eq!(&*model.chart.document().melody, "| x");
    assert!(!model.pages.harmonies.line_error().is_empty());
}

/// The melody of an older version waits for a chart that can be read.
#[test]
fn an_old_melody_comes_into_the_document() {
    let (mut model, mut outside) = with("| Dm7 | H |");
    outside.old_melody = Some("F 0 3840 E 3840 1920".to_owned());
    model.refresh(&Snapshot::default(), &mut outside);
    assert!(outside.old_melody.is_some(), "not lost");
    let put = ChartAction::Put(TEXT.to_owned());
    apply(&mut model, Action::Chart(put), &mut outside);
    model.refresh(&Snapshot::default(), &mut outside);
    assert_eq!(&*model.chart.document().melody, "| F5/1 | E5/2 |");
    assert_eq!(outside.old_melody, None);
}

fn melody(text: &str) -> Action {
    Action::Chart(ChartAction::Melody {
        text: text.to_owned(),
        now_seconds: 0.0,
        finished: true,
    })
}

/// Chart and melody go out, come back, and are undone in one step; block chords go with them.
#[test]
fn a_melody_goes_to_a_file_and_comes_back_with_its_chart() {
    let folder = tempfile::tempdir().unwrap();
    for (kind, name) in [(FileKind::Midi, "one.mid"), (FileKind::MusicXml, "two.xml")] {
        for under in [None, Some(Style::FourWayClose)] {
            let (mut model, mut outside) = with(TEXT);
            outside.settings.right_hand.under = under;
            let typed = "| F5/8 E5 D5 C5 r/2 | B4/4t C5 D5 G4/2~ | G4 E5 | Eb5/1 |";
            apply(&mut model, melody(typed), &mut outside);
            let written = model.chart.document().clone();
            let name = format!("{}-{name}", under.is_some());
            let path = folder.path().join(name).display().to_string();
            for action in [FilesAction::Path(path), FilesAction::Write(kind)] {
                apply(&mut model, Action::Files(action), &mut outside);
            }
            outside.do_work();
            model.refresh(&Snapshot::default(), &mut outside);
            let said = &model.pages.files.said().unwrap().words;
            assert!(said.ends_with("is written."), "{said}");
            let put = ChartAction::Put("| F6 |".to_owned());
            apply(&mut model, Action::Chart(put), &mut outside);
            apply(&mut model, melody("| A5/1 |"), &mut outside);
            let other = model.chart.document().clone();
            apply(&mut model, Action::Files(FilesAction::Read), &mut outside);
            outside.do_work();
            model.refresh(&Snapshot::default(), &mut outside);
            let said = model.pages.files.said().unwrap();
            assert!(
                said.lines.iter().any(|l| l.contains("10 notes")),
                "{said:?}"
            );
            let read = model.chart.document().clone();
            assert_eq!(read.melody, written.melody, "{kind:?} {under:?}");
            apply(&mut model, Action::Chart(ChartAction::Undo), &mut outside);
            assert_eq!(*model.chart.document(), other);
        }
    }
}

/// Chords that were written are no melody. A line that is asked for by its name is one.
#[test]
fn notes_are_a_melody_where_they_say_so_or_the_player_does() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("chords.mid").display().to_string();
    let (mut model, mut outside) = with(TEXT);
    for action in [FilesAction::Path(path), FilesAction::Write(FileKind::Midi)] {
        apply(&mut model, Action::Files(action), &mut outside);
    }
    outside.do_work();
    model.refresh(&Snapshot::default(), &mut outside);
    let mut read = |action| {
        apply(&mut model, Action::Files(action), &mut outside);
        outside.do_work();
        model.refresh(&Snapshot::default(), &mut outside);
        let files = &model.pages.files;
        let lines: Vec<String> = files.other_lines().map(ToOwned::to_owned).collect();
        let melody = model.chart.document().melody.as_ref().to_owned();
        (files.said().unwrap().clone(), lines, melody)
    };
    let (said, lines, melody) = read(FilesAction::Read);
    assert_eq!((said.failed, melody.as_str()), (false, ""), "{said:?}");
    assert_eq!(lines, ["Chords", "Bass"]);
    let (said, lines, melody) = read(FilesAction::ReadLine("Bass".to_owned()));
    assert!(!said.failed, "{said:?}");
    assert_eq!(lines, ["Chords"]);
    assert!(melody.starts_with("| D"), "{melody}");
}

#[test]
fn a_melody_with_errors_is_not_written_as_silence() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("one.mid");
    let (mut model, mut outside) = with(TEXT);
    apply(&mut model, melody("| F5/2 x |"), &mut outside);
    let to = FilesAction::Path(path.display().to_string());
    for action in [to, FilesAction::Write(FileKind::Midi)] {
        apply(&mut model, Action::Files(action), &mut outside);
    }
    outside.do_work();
    model.refresh(&Snapshot::default(), &mut outside);
    let said = model.pages.files.said().unwrap();
    assert!(said.failed && said.words.contains("bar 1"), "{said:?}");
    assert!(!path.exists());
}
