//! The table of `judge --session`. Imports text in columns.

use super::{HomeworkReport, HomeworkRow, MistakeRow, MoveRow, SummaryRow};
use crate::judging::MotionRow;
use crate::table::{aligned, widths};
use std::fmt;

impl fmt::Display for HomeworkReport {
    /// A table: bar, beat, chord, what was played, the verdict in words, time, motion; then what
    /// there is to say of all of it.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let heads = ["bar", "beat", "chord", "played", "time", "moves", "verdict"];
        let mut rows = vec![heads.map(str::to_owned)];
        for row in &self.chords {
            rows.extend(row.cells());
        }
        let widths = widths(&rows);
        rows.insert(1, widths.map(|width| "-".repeat(width)));
        for row in &mut rows {
            for index in [0, 1] {
                let width = widths[index];
                row[index] = format!("{:>width$}", row[index]);
            }
        }
        f.write_str(&aligned(&rows))?;
        writeln!(f)?;
        self.summary.fmt(f)
    }
}

impl HomeworkRow {
    /// The lines of the table: one for the chord, and one more for each further thing to tell.
    fn cells(&self) -> Vec<[String; 7]> {
        let notes: Vec<String> = self.played.iter().map(|note| note.name.clone()).collect();
        let beat = format!("{:.2}", self.beat);
        let mut words: Vec<String> = self.wrong().map(|finding| finding.words.clone()).collect();
        if self.right {
            words.push("right".to_owned());
        }
        if self.late.is_none() {
            words.push("not played".to_owned());
        }
        if self.struck == "rolled" || self.struck == "held on" {
            words.push(self.struck.to_owned());
        }
        words.extend(self.again_words());
        let motion = self.motion.map(|motion| match motion {
            MotionRow { moved, least } if moved > least => format!("{moved}, least {least}"),
            MotionRow { moved, .. } => moved.to_string(),
        });
        let mut lines: Vec<[String; 7]> = Vec::new();
        let mut words = words.into_iter();
        lines.push([
            self.bar.to_string(),
            beat.trim_end_matches('0').trim_end_matches('.').to_owned(),
            self.symbol.clone(),
            notes.join(" "),
            self.late.map_or_else(String::new, time_words),
            motion.unwrap_or_default(),
            words.next().unwrap_or_default(),
        ]);
        lines.extend(words.map(|words| {
            let mut line: [String; 7] = Default::default();
            line[6] = words;
            line
        }));
        lines
    }

    /// What became of the further strikes.
    fn again_words(&self) -> Option<String> {
        let wrong = self.again - self.again_right;
        match (self.right, self.again, wrong) {
            (_, 0, _) | (true, _, 0) => None,
            (true, again, wrong) => Some(format!("{wrong} of {again} further strikes wrong")),
            (false, _, 0) => Some("right when struck again".to_owned()),
            (false, again, wrong) => Some(format!(
                "{} of {again} further strikes right",
                again - wrong
            )),
        }
    }
}

/// How late so many beats are, in words: to the nearest quarter of a beat.
fn time_words(late: f64) -> String {
    if late == 0.0 {
        return "on time".to_owned();
    }
    let way = if late < 0.0 { "early" } else { "late" };
    let quarters = (late.abs() * 4.0).round().max(1.0) / 4.0;
    match quarters {
        0.25 => format!("1/4 beat {way}"),
        0.5 => format!("1/2 beat {way}"),
        0.75 => format!("3/4 beat {way}"),
        1.0 => format!("1 beat {way}"),
        more => format!("{more} beats {way}"),
    }
}

impl fmt::Display for MistakeRow {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let kind = match self.kind {
            "off" => "wrong note",
            "root" => "root played",
            "not asked" => "note not asked for",
            "no place" => "note without a place",
            "octave off" => "whole hand in another octave",
            "not good" => "no good voicing",
            kind => kind,
        };
        f.write_str(kind)?;
        if let Some(slot) = self.slot {
            write!(f, " ({slot})")?;
        }
        write!(f, " {}", self.times)
    }
}

impl fmt::Display for SummaryRow {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(
            f,
            "{} of {} chords right, {} of them on time.",
            self.right, self.asked, self.right_on_time
        )?;
        if !self.mistakes.is_empty() {
            let mistakes = self.mistakes.iter();
            let mistakes: Vec<String> = mistakes.map(ToString::to_string).collect();
            writeln!(f, "Mistakes: {}.", mistakes.join(", "))?;
        }
        if !self.farthest.is_empty() {
            let moves = self.farthest.iter().map(|row| {
                let MoveRow {
                    bar,
                    symbol,
                    moved,
                    least,
                    ..
                } = row;
                format!("{symbol} in bar {bar} ({moved} half steps, least {least})")
            });
            let moves: Vec<String> = moves.collect();
            writeln!(f, "Farthest moves: {}.", moves.join(", "))?;
        }
        Ok(())
    }
}
