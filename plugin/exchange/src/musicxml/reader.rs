//! Reads the measures of a part one after the other into bars with their chords and signs. Imports
//! `document`, `transposition`, `tree`, `harmony`, `form`, `signs`, `said`, `found` and `sheet`.

use super::document::Measure;
use super::form::RawBar;
use super::harmony;
use super::said::{self, short};
use super::signs::{self, Marks};
use super::transposition::Transposition;
use super::tree::{Element, number};
use crate::found::{self, Misses};
use crate::sheet::{self, Place};
use guidehand_theory::chart::{self, Meter, TICKS_PER_QUARTER};
use guidehand_theory::symbol::{Sign, Symbol};
use std::collections::BTreeSet;

/// Reads measures in order.
pub struct Reader {
    /// The bars so far.
    pub bars: Vec<RawBar>,
    /// Coda signs for which the file does not say whether they are the coda or the jump to it.
    pub marks: Marks,
    /// What could not be read.
    pub misses: Misses,
    /// Units in a quarter note.
    divisions: i64,
    /// The meter in force. None if the file says that there is none.
    meter: Option<Meter>,
    /// The place in the measure, and the furthest one, in units.
    cursor: i64,
    furthest: i64,
    /// Whether the score shows what sounds.
    pub is_concert: bool,
    transposition: Transposition,
    /// The signature of the written key.
    signature: i8,
    /// So many bars are repeated by the sign in force.
    repeats: Option<usize>,
    /// What the file holds that no chart does.
    pub passed: BTreeSet<&'static str>,
}

impl Default for Reader {
    fn default() -> Self {
        Reader {
            bars: Vec::new(),
            marks: Marks::default(),
            misses: Misses::default(),
            divisions: 1,
            meter: Some(Meter::COMMON),
            cursor: 0,
            furthest: 0,
            is_concert: false,
            transposition: Transposition::default(),
            signature: 0,
            repeats: None,
            passed: BTreeSet::new(),
        }
    }
}

/// Longer lengths than this many units are not music.
const MOST_UNITS: i64 = 1 << 40;

impl Reader {
    /// A reader of a part. What it misses is added to what was missed before.
    pub fn new(is_concert: bool, misses: Misses) -> Reader {
        Reader {
            misses,
            is_concert,
            ..Reader::default()
        }
    }

    /// Reads the next measure.
    pub fn measure(&mut self, measure: &Measure) {
        (self.cursor, self.furthest) = (0, 0);
        let printed = measure.measure.attribute("number").map(short);
        let mut raw = RawBar {
            number: printed
                .filter(|number| !number.trim().is_empty())
                .unwrap_or_else(|| (self.bars.len() + 1).to_string()),
            measure: self.bars.len(),
            ..RawBar::new(Meter::COMMON)
        };
        raw.bar.roads.segno = self.marks.segno_before();
        // The places are in ticks, because the bar's length is not known yet.
        let mut places: Vec<(i64, Place, usize)> = Vec::new();
        for element in measure.content.elements() {
            match element.name() {
                "attributes" => self.attributes(element, &raw.number),
                "note" => self.note(element),
                "forward" => self.advance(element.number("duration").unwrap_or(0)),
                "backup" => self.advance(-element.number("duration").unwrap_or(0)),
                "harmony" => places.extend(self.harmony(element, &raw.number)),
                "barline" => self.barline(element, &mut raw),
                "direction" => self.direction(element, &mut raw),
                "sound" => {
                    self.playback(element);
                    self.signs(signs::of_sound(element), element, &mut raw);
                }
                "figured-bass" => _ = self.passed.insert("figured bass"),
                _ => {}
            }
        }
        self.lengths(measure.measure, &mut raw);
        self.places(&mut raw, places);
        self.repeat_bars(&mut raw);
        self.bars.push(raw);
    }

    /// Puts the chords of the bars that a sign repeats into a bar without chords of its own (W3C
    /// MusicXML 4.0, `measure-repeat`).
    fn repeat_bars(&self, raw: &mut RawBar) {
        let back = self
            .repeats
            .and_then(|count| self.bars.len().checked_sub(count));
        let Some(same) = back.and_then(|at| self.bars.get(at)) else {
            return;
        };
        let holds = |places: &[Place]| matches!(places, [] | [Place { at_ticks: 0, .. }]);
        let alone = self.repeats == Some(1) && holds(&same.bar.places);
        if raw.bar.places.is_empty() && raw.bar.meter == same.bar.meter && !alone {
            raw.bar.places.clone_from(&same.bar.places);
        }
    }

    /// Reads a chord with its place in ticks and its place in the file.
    fn harmony(&mut self, element: &Element, bar: &str) -> Option<(i64, Place, usize)> {
        if element.child("frame").is_some() {
            self.passed.insert("chord diagrams");
        }
        let mut tell = |words| self.misses.tell(bar, "harmony", Some(element.at), words);
        let found = harmony::read(element);
        found.missed.into_iter().for_each(&mut tell);
        let chord = match found.chord {
            Ok(chord) => chord,
            Err(words) => {
                tell(words);
                return None;
            }
        };
        if element.attribute("type") == Some("alternate") {
            let name = chord.map_or_else(
                || "N.C.".to_owned(),
                |c| Symbol(&c, Sign::Ascii).to_string(),
            );
            tell(format!(
                "{name} is an alternate to another chord and is left out"
            ));
            return None;
        }
        let offset = element.number("offset").unwrap_or(0);
        let at = self.ticks(self.cursor.saturating_add(offset));
        let chord = chord.map(|chord| self.transposition.sounding(chord, self.signature));
        Some((at, Place { at_ticks: 0, chord }, element.at))
    }

    fn ticks(&self, units: i64) -> i64 {
        (units.clamp(-MOST_UNITS, MOST_UNITS) * i64::from(TICKS_PER_QUARTER))
            .div_euclid(self.divisions)
    }

    fn advance(&mut self, units: i64) {
        let there = self.cursor.saturating_add(units);
        self.cursor = there.clamp(0, MOST_UNITS);
        self.furthest = self.furthest.max(self.cursor);
    }

    fn note(&mut self, note: &Element) {
        if note.child("rest").is_none() {
            self.passed.insert("notes");
        }
        if note.child("lyric").is_some() {
            self.passed.insert("lyrics");
        }
        let silent = note.child("chord").is_some() || note.child("grace").is_some();
        if !silent {
            self.advance(note.number("duration").unwrap_or(0));
        }
    }

    fn attributes(&mut self, attributes: &Element, bar: &str) {
        let key = attributes.child("key").and_then(|key| key.number("fifths"));
        if let Some(fifths) = key {
            self.signature = i8::try_from(fifths.clamp(-7, 7)).unwrap_or(0);
        }
        // A transposition of the second staff alone says nothing about the symbols.
        let of_first = |t: &&Element| matches!(t.attribute("number"), None | Some("1"));
        let mut transposes = attributes.children("transpose");
        if let Some(transpose) = transposes.find(of_first)
            && !self.is_concert
        {
            self.transposition = Transposition::of(transpose).unwrap_or_else(|| {
                let words = "it is no interval that an instrument has; the chords stay as written";
                self.misses
                    .tell(bar, "transpose", Some(transpose.at), words.to_owned());
                Transposition::default()
            });
        }
        if let Some(divisions) = attributes
            .number("divisions")
            .filter(|d| (1..1 << 20).contains(d))
        {
            let scale = |units: i64| units.saturating_mul(divisions) / self.divisions;
            (self.cursor, self.furthest) = (scale(self.cursor), scale(self.furthest));
            self.divisions = divisions;
        }
        if let Some(repeats) = said::bars_repeated(attributes) {
            self.repeats = repeats;
        }
        let Some(time) = attributes.child("time") else {
            return;
        };
        if time.child("senza-misura").is_some() {
            self.meter = None;
            return;
        }
        match said::meter(time) {
            Some(meter) => self.meter = Some(meter),
            None => {
                let words = "no time signature that a chart can hold; its bars keep their lengths";
                self.misses
                    .tell(bar, "time", Some(time.at), words.to_owned());
                self.meter = None;
            }
        }
    }

    /// The bar's meter. It is the meter in force, or the length of the bar's notes, if the bar is
    /// marked as shorter or no meter is in force.
    fn lengths(&mut self, measure: &Element, raw: &mut RawBar) {
        let filled = u32::try_from(self.ticks(self.furthest)).unwrap_or(u32::MAX);
        let implicit = measure.attribute("implicit") == Some("yes");
        let pickup = self.bars.is_empty();
        let own = sheet::meter_of_length(filled);
        raw.nominal = self.meter.or(own).unwrap_or(Meter::COMMON);
        let shorter = filled > 0 && filled < raw.nominal.bar_ticks();
        let in_beats = pickup && shorter;
        let in_beats = in_beats
            .then(|| signs::pickup(raw.nominal, filled))
            .flatten();
        (raw.bar.meter, raw.bar.pickup) = match (in_beats, own) {
            (Some((beats, of)), _) => (beats, Some(of)),
            (None, Some(own)) if shorter && (implicit || pickup) => (own, None),
            _ => (raw.nominal, None),
        };
        raw.filled = filled;
        self.divide(raw);
    }

    /// Two bars that together fill one are a bar that a line divides, such as that of a repeat. Each
    /// keeps its own length.
    fn divide(&mut self, second: &mut RawBar) {
        let Some(first) = self.bars.last_mut() else {
            return;
        };
        let whole = first.nominal.bar_ticks();
        let is_one = first.filled > 0
            && second.filled > 0
            && first.nominal == second.nominal
            && first.bar.meter == first.nominal
            && first.filled.checked_add(second.filled) == Some(whole);
        let own = [&*first, &*second].map(|bar| sheet::meter_of_length(bar.filled));
        let inside = |place: &Place| place.at_ticks < first.filled;
        if let (true, [Some(before), Some(after)]) = (is_one, own)
            && first.bar.places.iter().all(inside)
        {
            first.bar.meter = before;
            second.bar.meter = after;
        }
    }

    fn places(&mut self, raw: &mut RawBar, mut places: Vec<(i64, Place, usize)>) {
        places.sort_by_key(|(at, ..)| *at);
        let bar = &mut raw.bar;
        let end = i64::from(bar.meter.bar_ticks());
        for (at, place, source) in places {
            if at < 0 || at >= end {
                let words = "it stands outside of its bar and is moved into it".to_owned();
                self.misses
                    .tell(&raw.number, "harmony", Some(source), words);
            }
            let last_beat = end - i64::from(bar.meter.beat_ticks());
            let inside = if at >= end { last_beat } else { at.max(0) };
            let at_ticks = u32::try_from(inside).unwrap_or(0);
            match bar.places.last_mut() {
                Some(before) if before.at_ticks >= at_ticks => {
                    if let Some(words) = join(before, &place) {
                        self.misses
                            .tell(&raw.number, "harmony", Some(source), words);
                    }
                }
                _ => bar.places.push(Place { at_ticks, ..place }),
            }
        }
        found::straighten(bar);
    }

    fn barline(&mut self, barline: &Element, raw: &mut RawBar) {
        if let Some(ending) = barline.child("ending") {
            match ending.attribute("type") {
                Some("start") => {
                    let number = ending.attribute("number").unwrap_or("");
                    raw.ending = said::endings(number);
                    if raw.ending.is_empty() {
                        raw.ending.push(1);
                        let words = format!(
                            "\"{}\" is no number of an ending and is read as 1; expected 1 to {}",
                            short(number),
                            chart::MOST_ENDINGS
                        );
                        self.misses
                            .tell(&raw.number, "ending", Some(ending.at), words);
                    }
                }
                _ => raw.ending_stops = true,
            }
        }
        if let Some(repeat) = barline.child("repeat") {
            match repeat.attribute("direction") {
                Some("forward") => raw.bar.opens = true,
                _ => {
                    raw.bar.closes = true;
                    let times = repeat.attribute("times").and_then(number).unwrap_or(2);
                    let most = i64::from(chart::MOST_TIMES);
                    if times > most {
                        let words = format!("it is played {most} times");
                        self.misses
                            .tell(&raw.number, "repeat", Some(repeat.at), words);
                    }
                    raw.times = u8::try_from(times.clamp(0, most)).unwrap_or(2);
                }
            }
        }
        self.signs(signs::of_barline(barline), barline, raw);
    }

    /// Puts the signs of jumps around a bar.
    fn signs(&mut self, found: Vec<signs::Sign>, source: &Element, raw: &mut RawBar) {
        // No note of the bar has come yet, so the sign stands at its start.
        let at_start = self.cursor == 0;
        for sign in found {
            if !self.marks.put(sign, at_start, self.bars.len(), raw) {
                let words = "a second jump at one bar is left out".to_owned();
                self.misses
                    .tell(&raw.number, source.name(), Some(source.at), words);
            }
        }
    }

    /// Notes what a `sound` says about playing that no chart holds.
    fn playback(&mut self, sound: &Element) {
        if sound.attribute("tempo").is_some() {
            self.passed.insert("the tempo");
        }
        if sound.child("swing").is_some() {
            self.passed.insert("swing");
        }
    }

    fn direction(&mut self, direction: &Element, raw: &mut RawBar) {
        direction
            .children("sound")
            .for_each(|sound| self.playback(sound));
        for kind in direction.children("direction-type") {
            for (name, words) in [("metronome", "the tempo"), ("dynamics", "dynamics")] {
                if kind.child(name).is_some() {
                    self.passed.insert(words);
                }
            }
            for rehearsal in kind.children("rehearsal") {
                match said::section(rehearsal.text()) {
                    Some(section) => raw.bar.section = Some(section),
                    None => {
                        let words =
                            format!("\"{}\" is no letter of a section", short(rehearsal.text()));
                        self.misses
                            .tell(&raw.number, "rehearsal", Some(rehearsal.at), words);
                    }
                }
            }
        }
        let said = signs::of_direction(direction);
        if let Some(words) = said.missed {
            self.misses
                .tell(&raw.number, "direction", Some(direction.at), words);
        }
        if said.is_other {
            self.passed.insert("other words");
        }
        self.signs(said.signs, direction, raw);
    }
}

/// Takes a second chord at one place in: under a triad it makes a polychord, as on a page without
/// stacked harmonies. Returns what is lost.
fn join(before: &mut Place, second: &Place) -> Option<String> {
    if before.chord == second.chord {
        return None;
    }
    if let (Some(upper), Some(lower)) = (before.chord, second.chord)
        && upper.root != lower.root
        && let (chord, None) = harmony::stacked(upper, lower)
    {
        before.chord = Some(chord);
        return None;
    }
    let name = second.chord.as_ref();
    let name = name.map_or_else(|| "N.C.".to_owned(), |c| Symbol(c, Sign::Ascii).to_string());
    Some(format!("{name}, a second chord at one place, is left out"))
}
