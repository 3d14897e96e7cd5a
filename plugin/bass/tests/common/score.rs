//! Compares what a listener heard with the line that was played. Every listener is measured in the
//! same way.

use super::lines::BassLine;

/// A listener's report: a note, or the end of one, at a time in seconds.
#[derive(Clone, Copy, Debug)]
pub struct HeardNote {
    /// The time of the report.
    pub at_seconds: f64,
    /// The MIDI number, or `None` for an end.
    pub note: Option<u8>,
}

/// The time after an onset in which the tail of the note before may still be reported.
const TAIL_SECONDS: f64 = 0.05;

/// Counts over lines.
#[derive(Clone, Debug, Default)]
pub struct ListenerScore {
    /// The number of notes played.
    pub notes: usize,
    /// Notes with the right pitch class at their middle.
    pub right: usize,
    /// Those of them that are in another octave.
    pub octaves: usize,
    /// Reports of a note that does not sound. A second report of the right note does not count.
    /// Neither does the note before it within `TAIL_SECONDS` of the onset, because its tail still
    /// sounds.
    pub spurious: usize,
    /// The time from each onset to the first right report that stays right to the middle; infinite
    /// if there is none. Notes that repeat the note before are left out.
    pub delays_ms: Vec<f64>,
    /// Times and notes of the errors, for people to read.
    pub wrong: Vec<String>,
}

impl ListenerScore {
    /// Adds what was heard of a line whose notes sound from their start on.
    pub fn add(&mut self, line: &BassLine, words: &[HeardNote]) {
        let starts = line.notes.iter().map(|n| line.seconds(n.start_beats));
        self.add_from(line, &starts.collect::<Vec<f64>>(), words);
    }

    /// Adds what was heard of a line; `starts` are the seconds at which its notes' sounds begin.
    pub fn add_from(&mut self, line: &BassLine, starts: &[f64], words: &[HeardNote]) {
        self.add_spurious(line, starts, words);
        let at = |t: f64| words.iter().rev().find(|w| w.at_seconds <= t);
        let mut before = None;
        for (note, start) in line.notes.iter().zip(starts) {
            let middle = f64::midpoint(*start, line.seconds(note.end_beats));
            let heard = at(middle).and_then(|w| w.note);
            let class = heard.is_some_and(|h| h % 12 == note.number % 12);
            self.notes += 1;
            self.right += usize::from(class);
            self.octaves += usize::from(class && heard != Some(note.number));
            if !class {
                self.wrong
                    .push(format!("{} at {start:.3} heard as {heard:?}", note.number));
            }
            if before != Some(note.number) {
                let stays = words
                    .iter()
                    .rev()
                    .skip_while(|w| w.at_seconds > middle)
                    .take_while(|w| w.note == Some(note.number))
                    .last();
                let delay = stays.map_or(f64::INFINITY, |w| (w.at_seconds - start).max(0.0));
                self.delays_ms.push(1000.0 * delay);
            }
            before = Some(note.number);
        }
    }

    fn add_spurious(&mut self, line: &BassLine, starts: &[f64], words: &[HeardNote]) {
        let notes = &line.notes;
        for heard_note in words {
            let Some(said) = heard_note.note else {
                continue;
            };
            let played = starts.iter().rposition(|s| *s <= heard_note.at_seconds);
            let since = |k: usize| heard_note.at_seconds - starts[k];
            let sounds = played.is_some_and(|k| {
                let tail = k > 0 && since(k) < TAIL_SECONDS && notes[k - 1].number == said;
                notes[k].number == said || tail
            });
            if !sounds {
                self.spurious += 1;
                let told = played.map(|k| (notes[k].number, since(k)));
                self.wrong.push(format!(
                    "said {said} at {:.3} in {told:?}",
                    heard_note.at_seconds
                ));
            }
        }
    }

    /// Adds another score.
    pub fn join(&mut self, other: &ListenerScore) {
        self.notes += other.notes;
        self.right += other.right;
        self.octaves += other.octaves;
        self.spurious += other.spurious;
        self.delays_ms.extend(&other.delays_ms);
        self.wrong.extend(other.wrong.iter().cloned());
    }

    /// The percentage of notes that are right at their middle.
    pub fn right_percent(&self) -> f64 {
        self.percent(self.right)
    }

    /// The percentage of notes in another octave.
    pub fn octave_percent(&self) -> f64 {
        self.percent(self.octaves)
    }

    /// The number of spurious reports for 100 notes.
    pub fn spurious_percent(&self) -> f64 {
        self.percent(self.spurious)
    }

    /// The delay that this part of the notes, 0 to 1, does not exceed.
    pub fn delay_ms(&self, part: f64) -> f64 {
        let mut sorted = self.delays_ms.clone();
        sorted.sort_by(f64::total_cmp);
        let last = sorted.len().saturating_sub(1);
        sorted.get(rank(part, last)).copied().unwrap_or(f64::NAN)
    }

    fn percent(&self, count: usize) -> f64 {
        100.0 * float(count) / float(self.notes.max(1))
    }
}

#[allow(clippy::cast_precision_loss, reason = "counts of notes")]
fn float(count: usize) -> f64 {
    count as f64
}

#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a rank among notes"
)]
fn rank(part: f64, last: usize) -> usize {
    (part * float(last)).round() as usize
}
