//! The bars of a part: bar lines, attributes, letters and tempo around the notes.
//! Imports `engraver`, `note`, `part`, `staff`, `score`, `sheet` and `text`.

use super::engraver::Engraver;
use super::part;
use super::staff;
use crate::score::key_signature;
use crate::sheet::SheetBar;
use crate::text::BARS_A_LINE;
use guidehand_theory::chart::{Meter, Start, TICKS_PER_QUARTER};
use guidehand_theory::key::{Key, Mode};

impl Engraver<'_> {
    /// Writes the bar at an index.
    pub fn measure(&mut self, index: usize, bar: &SheetBar) {
        let Some(grid) = self.part.grids.get(index) else {
            return;
        };
        let pickup = self.bars.first().is_some_and(|bar| bar.pickup.is_some());
        let number = (index + 1 - usize::from(pickup)).to_string();
        let attributes = [("number", number.as_str()), ("implicit", "yes")];
        let count = 1 + usize::from(pickup && index == 0);
        let attributes = attributes.get(..count).unwrap_or_default();
        self.out.open("measure", attributes);
        if self.breaks(index, bar) && index > 0 {
            self.out.empty("print", &[("new-system", "yes")]);
        }
        self.left_line(bar);
        self.attributes(index);
        if self.part.leads {
            self.above(index, bar);
        }
        let own = self.part;
        for (stave, number) in own.staves.iter().zip(1_usize..) {
            if number > 1 {
                self.out.open("backup", &[]);
                let ticks = u64::from(bar.meter.bar_ticks());
                let duration = (ticks * self.divisions / u64::from(TICKS_PER_QUARTER)).to_string();
                self.out.leaf("duration", &duration);
                self.out.close("backup");
            }
            let leads = own.leads && number == 1;
            let cuts = part::cuts(bar, grid, leads);
            let moments = staff::moments(self.bars, index, &stave.line, &cuts);
            self.voice(bar, grid, &moments, number, leads);
        }
        if own.leads {
            self.after(index, bar);
        }
        self.right_line(index, bar);
        self.out.close("measure");
    }

    /// Whether a new line starts at a bar, as in the chart's text.
    fn breaks(&mut self, index: usize, bar: &SheetBar) -> bool {
        let part = bar.section.is_some() || bar.roads.coda;
        if part || bar.starts_line || self.key_begins(bar).is_some() {
            self.lines_from = index;
        }
        (index - self.lines_from).is_multiple_of(BARS_A_LINE)
    }

    fn left_line(&mut self, bar: &SheetBar) {
        if !bar.opens && bar.ending.is_none() {
            return;
        }
        self.out.open("barline", &[("location", "left")]);
        if bar.opens {
            self.out.leaf("bar-style", "heavy-light");
        }
        if let Some(number) = bar.ending {
            let number_text = number.to_string();
            let attributes = [("number", number_text.as_str()), ("type", "start")];
            self.out
                .leaf_with("ending", &attributes, &format!("{number}."));
            self.ending = Some(number);
        }
        if bar.opens {
            self.out.empty("repeat", &[("direction", "forward")]);
        }
        self.out.close("barline");
    }

    fn right_line(&mut self, index: usize, bar: &SheetBar) {
        let next = self.bars.get(index + 1);
        let style = match next {
            None => Some("light-heavy"),
            Some(_) if bar.closes => Some("light-heavy"),
            Some(next) if (next.section.is_some() || next.roads.coda) && !next.opens => {
                Some("light-light")
            }
            Some(_) if bar.roads.fine || bar.roads.jump.is_some() => Some("light-light"),
            Some(_) => None,
        };
        // The bracket of the last ending ends with its first bar.
        let goes_on = bar.ending.is_none() || self.is_closed(index);
        let ends = self.ending.filter(|_| bar.closes || !goes_on);
        if style.is_none() && ends.is_none() {
            return;
        }
        self.out.open("barline", &[("location", "right")]);
        if let Some(style) = style {
            self.out.leaf("bar-style", style);
        }
        if let Some(number) = ends {
            let kind = if bar.closes { "stop" } else { "discontinue" };
            let attributes = [("number", number.to_string()), ("type", kind.to_owned())];
            let attributes = attributes.each_ref().map(|(k, v)| (*k, v.as_str()));
            self.out.empty("ending", &attributes);
            self.ending = None;
        }
        if bar.closes {
            let times = bar.times.to_string();
            let attributes = [("direction", "backward"), ("times", times.as_str())];
            let count = if bar.times > 2 { 2 } else { 1 };
            let attributes = attributes.get(..count).unwrap_or_default();
            self.out.empty("repeat", attributes);
        }
        self.out.close("barline");
    }

    /// Whether the ending that starts at a bar has a `:|` of its own.
    fn is_closed(&self, index: usize) -> bool {
        let mut rest = self.bars.get(index..).unwrap_or_default().iter();
        if rest.next().is_some_and(|bar| bar.closes) {
            return true;
        }
        let own = rest.take_while(|b| b.ending.is_none() && !b.opens && b.section.is_none());
        own.into_iter().any(|bar| bar.closes)
    }

    /// The time signature of a bar. For a pickup it is that of the next bar, if that is as long as
    /// its own.
    fn signature(&self, index: usize) -> Option<Meter> {
        let bar = self.bars.get(index)?;
        let Some(own) = bar.pickup else {
            return Some(bar.meter);
        };
        let next = self.bars.get(index + 1).map(|next| next.meter);
        Some(
            next.filter(|m| m.bar_ticks() == own.bar_ticks())
                .unwrap_or(own),
        )
    }

    fn attributes(&mut self, index: usize) {
        let Some(meter) = self.signature(index) else {
            return;
        };
        let before = index.checked_sub(1).and_then(|i| self.signature(i));
        let key = self.bars.get(index).and_then(|bar| self.key_begins(bar));
        if before == Some(meter) && key.is_none() {
            return;
        }
        self.out.open("attributes", &[]);
        if index == 0 {
            self.out.leaf("divisions", &self.divisions.to_string());
        }
        if index == 0 || key.is_some() {
            self.key(key.unwrap_or(self.score.key));
        }
        if before != Some(meter) {
            self.out.open("time", &[]);
            self.out.leaf("beats", &meter.beats.to_string());
            self.out.leaf("beat-type", &meter.unit.to_string());
            self.out.close("time");
        }
        if index == 0 {
            let count = self.part.staves.len();
            if count > 1 {
                self.out.leaf("staves", &count.to_string());
            }
            for (stave, number) in self.part.staves.iter().zip(1..) {
                let number: usize = number;
                let number = number.to_string();
                let attributes = [("number", number.as_str())];
                let attributes = if count > 1 { &attributes[..] } else { &[] };
                self.out.open("clef", attributes);
                self.out.leaf("sign", stave.clef.sign);
                self.out.leaf("line", stave.clef.line);
                if stave.clef.octaves != 0 {
                    self.out
                        .leaf("clef-octave-change", &stave.clef.octaves.to_string());
                }
                self.out.close("clef");
            }
        }
        self.out.close("attributes");
    }

    /// Writes a signature.
    fn key(&mut self, key: Key) {
        self.out.open("key", &[]);
        self.out.leaf("fifths", &key_signature(key).to_string());
        let minor = key.mode == Mode::Minor;
        self.out.leaf("mode", if minor { "minor" } else { "major" });
        self.out.close("key");
    }

    /// The key of a practice page that begins at a bar.
    fn key_begins(&self, bar: &SheetBar) -> Option<Key> {
        let keys = &self.score.keys;
        let at = keys.binary_search_by_key(&bar.start_ticks, |(at, _)| *at);
        keys.get(at.ok()?).map(|(_, key)| *key)
    }

    /// The number of segnos, or codas, before a bar.
    fn begun(&self, index: usize, is: fn(&SheetBar) -> bool) -> String {
        let bars = self.bars.get(..index).unwrap_or_default().iter();
        bars.filter(|bar| is(bar)).count().to_string()
    }

    /// Writes a sign or words over the bar, with their meaning for playback.
    fn road(&mut self, sign: Result<&str, &str>, sound: (&str, &str)) {
        self.out.open("direction", &[("placement", "above")]);
        self.out.open("direction-type", &[]);
        match sign {
            Ok(sign) => self.out.empty(sign, &[]),
            Err(words) => self.out.leaf("words", words),
        }
        self.out.close("direction-type");
        self.out.empty("sound", &[sound]);
        self.out.close("direction");
    }

    /// Writes the jump after a bar. Segnos and codas are named by their number, from 0.
    fn after(&mut self, index: usize, bar: &SheetBar) {
        let segno = |bar: &SheetBar| bar.roads.segno;
        let coda = |bar: &SheetBar| bar.roads.coda;
        if bar.roads.to_coda {
            let next = self.begun(index + 1, coda);
            self.road(Err("To Coda"), ("tocoda", &next));
        }
        if bar.roads.fine {
            self.road(Err("Fine"), ("fine", "yes"));
        }
        if let Some(jump) = bar.roads.jump {
            let begun = self.begun(index + 1, segno).parse().unwrap_or(1_usize);
            let last = begun.saturating_sub(1).to_string();
            let sound = match jump.from {
                Start::Beginning => ("dacapo", "yes"),
                Start::Segno => ("dalsegno", last.as_str()),
            };
            self.road(Err(&jump.to_string()), sound);
        }
    }

    /// Writes the letter, the signs before the bar, and the tempo.
    fn above(&mut self, index: usize, bar: &SheetBar) {
        if let Some(section) = bar.section {
            let letter = section.to_string();
            let letter = letter.trim_matches(['[', ']']);
            self.out.open("direction", &[("placement", "above")]);
            self.out.open("direction-type", &[]);
            self.out.leaf("rehearsal", letter);
            self.out.close("direction-type");
            self.out.close("direction");
        }
        if bar.roads.segno {
            let number = self.begun(index, |bar| bar.roads.segno);
            self.road(Ok("segno"), ("segno", &number));
        }
        if bar.roads.coda {
            let number = self.begun(index, |bar| bar.roads.coda);
            self.road(Ok("coda"), ("coda", &number));
        }
        if let Some(key) = self.key_begins(bar) {
            self.out.open("direction", &[("placement", "above")]);
            self.out.open("direction-type", &[]);
            self.out.leaf("words", &key.to_string());
            self.out.close("direction-type");
            self.out.close("direction");
        }
        if index == 0 {
            let tempo = format!("{}", self.score.tempo_bpm.clamp(1.0, 999.0).round());
            self.out.open("direction", &[("placement", "above")]);
            if self.swing.is_some() {
                self.out.open("direction-type", &[]);
                self.out.leaf("words", "Swing");
                self.out.close("direction-type");
            }
            self.out.open("direction-type", &[]);
            self.out.open("metronome", &[]);
            self.out.leaf("beat-unit", "quarter");
            self.out.leaf("per-minute", &tempo);
            self.out.close("metronome");
            self.out.close("direction-type");
            match self.swing {
                None => self.out.empty("sound", &[("tempo", &tempo)]),
                Some((first, second)) => {
                    self.out.open("sound", &[("tempo", &tempo)]);
                    self.out.open("swing", &[]);
                    self.out.leaf("first", &first.to_string());
                    self.out.leaf("second", &second.to_string());
                    self.out.leaf("swing-type", "eighth");
                    self.out.close("swing");
                    self.out.close("sound");
                }
            }
            self.out.close("direction");
        }
    }
}
