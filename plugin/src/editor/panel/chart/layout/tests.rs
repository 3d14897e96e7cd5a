//! Layouts line by line, beside the toolkit's own of the whole text.

use super::*;
use crate::bridge::chart::ChartCell;
use egui::{Context, RawInput};

const TEXTS: [&str; 10] = [
    "| Dm7 | G7 | Cmaj7 | A7 |\n| Em7b5 | A7b9 | Dm7 G7 | C6/9 |\n",
    "[A] | Dm7 H7 |\n\n  | Cmaj7 Dm7 Ebmaj7 Fm7 Gbmaj7 Abm7 | Bbm7 Cm7 | Dm7 Em7 | F6 |\n|",
    "",
    "\n",
    "\n\n",
    "| C6 |",
    "♭♭ | A♭7 |\nx",
    "Low Tide\n3/4 | Dm7 G7 | C6 |",
    "| Dm7 | G7 | Cmaj7 | A7 |\n| Em7b5 | A7b9 | Dm7 G7 | C6/9 | F6 | Bb7 | Eb6 |\n",
    "|                                                                           ",
];

/// The whole text as the toolkit lays it out at a stroke, with the same gaps and colours.
fn at_a_stroke(ui: &Ui, layout: &TextLayout) -> Arc<Galley> {
    let look = layout.look.as_ref().unwrap();
    let columns = Columns::new(look.room, layout.lines.iter());
    let mut whole = LayoutJob::default();
    whole.wrap.max_width = look.room.width;
    whole.keep_trailing_whitespace = true;
    for (nth, (line, laid)) in layout.lines.iter().zip(&layout.laid).enumerate() {
        if nth > 0 {
            whole.append("\n", 0.0, line::format(look.palette.soft));
        }
        let gaps = columns.gaps(line);
        let job = line::job(line, gaps, look.room.width, &laid.wrong, look.palette);
        for section in &job.sections {
            let text = &job.text[section.byte_range.start.0..section.byte_range.end.0];
            whole.append(text, section.leading_space, section.format.clone());
        }
    }
    ui.fonts_mut(|fonts| fonts.layout_job(whole))
}

/// Line by line, and after an edit, the layout is the toolkit's own of the whole text.
#[test]
fn lines_make_the_layout_of_the_whole() {
    let ctx = Context::default();
    theme::install(&ctx);
    let (cell, _charts) = ChartCell::new();
    let mut layout = TextLayout::default();
    let everything = Rangef::EVERYTHING;
    for (width, zoom) in [(300.0, 1.0), (431.5, 1.0), (431.5, 1.3)] {
        ctx.set_zoom_factor(zoom);
        ctx.run_ui(RawInput::default(), |_| {})
            .drop_without_applying_deltas();
        for text in TEXTS.iter().chain(TEXTS.iter().rev()) {
            let before = Reading::new(cell.latest());
            cell.set_text(*text);
            let after = Reading::new(cell.latest());
            let output = ctx.run_ui(RawInput::default(), |ui| {
                for reading in [&before, &after] {
                    let ours = layout.lay_out(ui, text, reading, width, everything);
                    let theirs = at_a_stroke(ui, &layout);
                    assert_eq!(ours.text(), *text);
                    assert_eq!(ours.rows, theirs.rows, "{text:?} {width}");
                    assert_eq!(ours.size(), theirs.size(), "{text:?} {width}");
                    assert_eq!(ours.mesh_bounds, theirs.mesh_bounds, "{text:?}");
                    assert_eq!(ours.intrinsic_size(), theirs.intrinsic_size(), "{text:?}");
                    let rows = layout.rows().unwrap();
                    let parts = (0..ours.rows.len()).map(|row| rows.text_of(row));
                    let parts: String = parts.map(|part| &text[part]).collect();
                    assert_eq!(parts, *text);
                }
                let mut anew = TextLayout::default();
                let whole = anew.lay_out(ui, text, &after, width, everything);
                let ours = layout.lay_out(ui, text, &after, width, everything);
                assert_eq!(ours.rows, whole.rows, "{text:?} {width}");
            });
            output.drop_without_applying_deltas();
        }
    }
}

/// Where every line needs another layout, those in view have it at once, and the others
/// as they come into view or within the next frames.
#[test]
fn lines_out_of_view_follow() {
    let ctx = Context::default();
    theme::install(&ctx);
    let (cell, _charts) = ChartCell::new();
    let lines = "| Dm7 | G7 |\n".repeat(400);
    cell.set_text(&lines);
    let reading = Reading::new(cell.latest());
    let wider = lines.replacen("| G7 |", "| G7 | C6 |", 1);
    let mut layout = TextLayout::default();
    let output = ctx.run_ui(RawInput::default(), |ui| {
        let mut see = |text: &str, from: f32| {
            let in_view = Rangef::new(from, from + 200.0);
            let galley = layout.lay_out(ui, text, &reading, 431.5, in_view);
            let theirs = at_a_stroke(ui, &layout);
            let seen = galley.rows.iter().zip(&theirs.rows);
            let seen = seen.filter(|(row, _)| in_view.contains(row.pos.y));
            assert!(seen.clone().all(|(ours, theirs)| ours == theirs));
            assert!(seen.count() >= 4);
            (layout.is_behind(), galley == theirs)
        };
        assert!(!see(&lines, 0.0).0);
        for from in [0.0, 12_000.0, 0.0, 15_000.0] {
            assert!(see(&wider, from).0, "{from}");
        }
        let frames = (0..100).take_while(|_| see(&wider, 0.0).0).count();
        assert!((1..20).contains(&frames), "{frames}");
        assert!(!see(&wider, 0.0).0);
    });
    output.drop_without_applying_deltas();
}
