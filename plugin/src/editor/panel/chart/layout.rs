//! The chart's text laid out, line by line. Each line keeps its layout as long as it stays
//! as it is, so that a keystroke costs the same in a long chart. Where every line needs
//! another layout, those in view get it at once and the others within the next frames. The
//! panel runs it; `chart` imports it. Imports `line`, `columns`, `rows` and the model's lines.

use super::columns::{Columns, Room};
use super::line;
use super::rows::{RowLength, Rows};
use crate::editor::model::chart_edit::Edit;
use crate::editor::model::chart_lines::Lines;
use crate::editor::model::chart_reading::Reading;
use crate::editor::palette::Palette;
use crate::editor::theme;
use egui::epaint::text::FontsView;
use egui::text::LayoutJob;
use egui::{Galley, Rangef, Ui};
use guidehand_theory::chart::{Meter, Written};
use guidehand_theory::pitch::NoteNames;
use std::ops::Range;
use std::sync::Arc;

/// Lines out of view that are laid out anew in a frame at most.
const LINES_A_FRAME: usize = 24;

/// What every line is laid out for.
struct Look {
    room: Room,
    palette: &'static Palette,
    /// A small text that the fonts keep for as long as their glyphs stay where
    /// they are.
    witness: Arc<Galley>,
}

impl PartialEq for Look {
    fn eq(&self, other: &Self) -> bool {
        self.room == other.room
            && std::ptr::eq(self.palette, other.palette)
            && Arc::ptr_eq(&self.witness, &other.witness)
    }
}

/// The layout of a line.
#[derive(Default)]
struct LaidLine {
    /// Parts of the line that are wrong, in bytes.
    wrong: Vec<Range<usize>>,
    laid: Option<(Arc<Galley>, Vec<RowLength>)>,
    /// It was laid out for something else than what is in force now.
    stale: bool,
}

/// A text that is laid out.
pub struct TextLayout {
    text: String,
    names: NoteNames,
    lines: Lines,
    /// The layouts of the lines.
    laid: Vec<LaidLine>,
    /// What they are for; none before the first frame.
    look: Option<Look>,
    columns: Option<Columns>,
    /// The reading that told where chords stand in their bars, and what is wrong.
    follows: Option<Reading>,
    /// All lines together.
    whole: Option<(Arc<Galley>, Arc<Rows>)>,
    /// Every line is laid out for what is in force.
    is_settled: bool,
}

impl Default for TextLayout {
    fn default() -> Self {
        let names = NoteNames::default();
        TextLayout {
            text: String::new(),
            names,
            lines: Lines::new("", names),
            laid: vec![LaidLine::default()],
            look: None,
            columns: None,
            follows: None,
            whole: None,
            is_settled: false,
        }
    }
}

impl TextLayout {
    /// Lays a text out, as far as something has changed. `in_view` is the band that can be
    /// seen, in points from the top of the text.
    pub fn lay_out(
        &mut self,
        ui: &Ui,
        text: &str,
        reading: &Reading,
        width: f32,
        in_view: Rangef,
    ) -> Arc<Galley> {
        let palette = theme::palette(ui.ctx());
        let font = theme::mono(theme::CHART_TEXT);
        ui.fonts_mut(|fonts| {
            let character = fonts.glyph_width(&font, '0');
            let witness = fonts.layout_no_wrap("0".to_owned(), font, palette.bright);
            let look = Look {
                room: Room { width, character },
                palette,
                witness,
            };
            self.take_look(look);
            self.take_text(text, reading);
            self.take_reading(reading);
            self.lay_out_lines(fonts, in_view)
        })
    }

    /// The rows of the text that was laid out last.
    #[must_use]
    pub fn rows(&self) -> Option<&Arc<Rows>> {
        self.whole.as_ref().map(|(_, rows)| rows)
    }

    /// The lines of the text that was laid out last.
    #[must_use]
    pub const fn lines(&self) -> &Lines {
        &self.lines
    }

    /// Whether there are lines that wait for another layout.
    #[must_use]
    pub const fn is_behind(&self) -> bool {
        !self.is_settled
    }

    fn take_look(&mut self, look: Look) {
        if self.look.as_ref() != Some(&look) {
            self.look = Some(look);
            self.columns = None;
            for laid in &mut self.laid {
                laid.stale = true;
            }
        }
    }

    fn take_text(&mut self, text: &str, reading: &Reading) {
        if reading.names != self.names {
            self.names = reading.names;
            self.lines = Lines::new(text, self.names);
            self.laid.clear();
            self.laid
                .resize_with(self.lines.iter().count(), LaidLine::default);
            self.follows = None;
        } else if text == self.text {
            return;
        } else {
            let edit = Edit::between(&self.text, text);
            let since = Edit::between(&reading.text, text);
            let meter = |at: usize| meter_at(reading.bars(), since.back(at));
            let replaced = self.lines.edit(text, &edit, meter);
            let new = replaced.after.clone().map(|_| LaidLine::default());
            drop(self.laid.splice(replaced.before, new));
            for line in replaced.moved {
                self.is_stale(line);
            }
            self.mark(&replaced.after, reading, &since);
        }
        text.clone_into(&mut self.text);
        self.columns = None;
        self.whole = None;
    }

    /// Takes over a reading, if it is of the text that is laid out.
    fn take_reading(&mut self, reading: &Reading) {
        let known = self.follows.as_ref().is_some_and(|f| f.is_as_read(reading));
        if known || *reading.text != *self.text {
            return;
        }
        for line in self.lines.read(reading.bars()) {
            self.is_stale(line);
        }
        self.mark(&(0..self.laid.len()), reading, &Edit::default());
        self.follows = Some(reading.clone());
    }

    fn is_stale(&mut self, line: usize) {
        if let Some(laid) = self.laid.get_mut(line) {
            laid.stale = true;
            self.is_settled = false;
        }
    }

    /// Marks what is wrong in some lines.
    fn mark(&mut self, lines: &Range<usize>, reading: &Reading, since: &Edit) {
        let errors = reading.errors().iter();
        let errors =
            errors.map(|error| since.moved_part(&line::visible(&reading.text, &error.source)));
        let errors: Vec<Range<usize>> = errors.collect();
        let mut rest = errors.as_slice();
        let mut at = 0;
        let all = self.lines.iter().zip(&mut self.laid).enumerate();
        for (nth, (line, laid)) in all.take(lines.end) {
            let end = at + line.text.len();
            // Errors stand in the order of the text, and none reaches over a line break.
            let before = rest.iter().take_while(|error| error.end < at).count();
            rest = rest.get(before..).unwrap_or(&[]);
            if lines.contains(&nth) {
                let here = rest.iter().take_while(|error| error.start <= end);
                let here = here.map(|error| error.start.max(at)..error.end.min(end));
                let here = here.filter(|error| !error.is_empty());
                let wrong: Vec<Range<usize>> =
                    here.map(|error| error.start - at..error.end - at).collect();
                if laid.wrong != wrong {
                    laid.wrong = wrong;
                    laid.stale = true;
                    self.is_settled = false;
                }
            }
            at = end + 1;
        }
    }

    fn lay_out_lines(&mut self, fonts: &mut FontsView<'_>, in_view: Rangef) -> Arc<Galley> {
        if let Some((galley, _)) = self.whole.as_ref().filter(|_| self.columns.is_some())
            && self.is_settled
        {
            return galley.clone();
        }
        let Some(look) = &self.look else {
            return fonts.layout_job(LayoutJob::default());
        };
        let room = look.room;
        let columns = Columns::new(room, self.lines.iter());
        if self.columns.replace(columns) != Some(columns) {
            for laid in &mut self.laid {
                laid.stale = true;
            }
        }
        // A screen more on either side, since lines above may need more rows.
        let in_view = in_view.expand(in_view.span().max(0.0));
        let mut spare = LINES_A_FRAME;
        let (mut top, mut behind, mut is_new) = (0.0, 0_usize, false);
        for (line, laid) in self.lines.iter().zip(&mut self.laid) {
            let bottom = top + laid.height();
            if laid.laid.is_none() || laid.stale {
                let shown = top <= in_view.max && bottom >= in_view.min;
                if laid.laid.is_none() || shown || spare > 0 {
                    if laid.laid.is_some() && !shown {
                        spare -= 1;
                    }
                    let gaps = columns.gaps(line);
                    let job = line::job(line, gaps, room.width, &laid.wrong, look.palette);
                    let galley = fonts.layout_job(job);
                    let rows = RowLength::all(&galley, &line.text);
                    laid.laid = Some((galley, rows));
                    laid.stale = false;
                    is_new = true;
                } else {
                    behind += 1;
                }
            }
            top += laid.height();
        }
        self.is_settled = behind == 0;
        match &self.whole {
            Some((galley, _)) if !is_new => galley.clone(),
            _ => {
                let pixels_per_point = look.witness.pixels_per_point;
                self.join(room.width, look.palette, pixels_per_point)
            }
        }
    }

    /// Puts the lines under each other.
    fn join(&mut self, width: f32, palette: &Palette, pixels_per_point: f32) -> Arc<Galley> {
        let laid = || self.laid.iter().filter_map(|laid| laid.laid.as_ref());
        let galleys: Vec<Arc<Galley>> = laid().map(|(galley, _)| galley.clone()).collect();
        // The lines have their colours already; nobody asks the whole for them.
        let mut job = LayoutJob::default();
        job.wrap.max_width = width.round();
        job.keep_trailing_whitespace = true;
        job.append(&self.text, 0.0, line::format(palette.soft));
        let galley = Arc::new(Galley::concat(Arc::new(job), &galleys, pixels_per_point));
        let rows = Rows::new(galley.clone(), laid().map(|(_, rows)| rows.as_slice()));
        self.whole = Some((galley.clone(), Arc::new(rows)));
        galley
    }
}

impl LaidLine {
    /// How high it is, as far as is known, in points.
    fn height(&self) -> f32 {
        let laid = self.laid.as_ref();
        laid.map_or(line::LINE, |(galley, _)| galley.size().y)
    }
}

/// The time signature in force at a place of a text.
fn meter_at(bars: &[Written], at: usize) -> Meter {
    let count = bars.partition_point(|bar| bar.source.start < at);
    let before = count.checked_sub(1).and_then(|before| bars.get(before));
    before.map_or(Meter::COMMON, |bar| bar.meter)
}

#[cfg(test)]
mod tests;
