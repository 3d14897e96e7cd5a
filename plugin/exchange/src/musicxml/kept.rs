//! What was picked for the chords of a score, in a field of its head, so that our own pages come
//! back with the text that was typed and all that was picked for it. The field holds the JSON of
//! [`Kept`]. Imports `tree`, `xml`, `harmony`, `kept`, `sheet`, `pages` and `found`.

use super::harmony;
use super::tree::Element;
use super::xml::{self, Out};
use crate::found::{Imported, MOST_MISSED, Missed};
use crate::kept::{Gathering, Kept, KeptPin, KeptScale, MOST_KEPT, note_names};
use crate::pages::plays_alike;
use crate::sheet::Sheet;
use guidehand_theory::chart::{self, Chart, ChordPass};
use guidehand_theory::chord::Chord;
use guidehand_theory::pitch::NoteNames;
use guidehand_theory::voicing::MOST_NOTES;
use serde::Deserialize;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// The name of the field.
const FIELD: &str = "guidehand-kept";

/// Writes the field within the identification of a score.
pub fn put(out: &mut Out, kept: &Kept) {
    out.open("miscellaneous", &[]);
    out.leaf_with("miscellaneous-field", &[("name", FIELD)], &kept.to_json());
    out.close("miscellaneous");
}

/// Adds what was picked to a chart that was read from a page. If the page is still the one that was
/// written, the chart gets the text that was typed. Otherwise the text is that of the page, and
/// what was picked stays where the page plays the same chord at the same time. What cannot be kept
/// is told.
pub fn add(root: &Element, imported: &mut Imported) {
    let head = root.child("identification").into_iter();
    let lists = head.flat_map(|head| head.children("miscellaneous"));
    let fields = lists.flat_map(|list| list.children("miscellaneous-field"));
    let mut own = fields.filter(|field| field.attribute("name") == Some(FIELD));
    let Some(field) = own.next() else {
        return;
    };
    let mut telling = Telling {
        at: field.at,
        imported,
    };
    if own.next().is_some() {
        telling.tell("", "a second field of this name is passed over".to_owned());
    }
    let Some((kept, chart)) = read(field.text(), &mut telling) else {
        return;
    };
    let Ok(page) = chart::parse(&telling.imported.text) else {
        return;
    };
    let english = chart::renamed(&kept.chart, kept.names, NoteNames::English);
    let is_same = || chart::parse(&english).is_ok_and(|again| plays_alike(&again, &chart));
    let kept = if is_page_of(&telling.imported.text, &page, &chart) && is_same() {
        telling.imported.text = english;
        kept
    } else {
        on_page(&kept, &chart, &page, &mut telling)
    };
    if !kept.is_empty() {
        let counted = |count: usize, one: &str, more: &str| match count {
            1 => format!("1 {one}"),
            count => format!("{count} {more}"),
        };
        telling.imported.remarks.push(format!(
            "Read with the chart: {}, {}.",
            counted(kept.pins.len(), "pinned voicing", "pinned voicings"),
            counted(kept.scales.len(), "chosen scale", "chosen scales"),
        ));
    }
    imported.kept = Some(kept);
}

/// Tells what cannot be kept.
struct Telling<'a> {
    /// Where the field is, in bytes.
    at: usize,
    imported: &'a mut Imported,
}

impl Telling<'_> {
    fn tell(&mut self, bar: &str, words: String) {
        if self.imported.missed.len() >= MOST_MISSED {
            self.imported.missed_more += 1;
            return;
        }
        self.imported.missed.push(Missed {
            bar: bar.to_owned(),
            what: FIELD.to_owned(),
            at: Some(self.at),
            words,
        });
    }
}

/// Reads the field: what can be read of it, and the chart of its text.
fn read(text: &str, telling: &mut Telling) -> Option<(Kept, Chart)> {
    const EXPECTED: &str = "expected JSON with the text of a chart, its pins and its scales";
    let value: Value = match serde_json::from_str(text) {
        Ok(value) => value,
        Err(error) => {
            telling.tell("", format!("{EXPECTED}; {error}; it is passed over"));
            return None;
        }
    };
    let Some(typed) = value.get("chart").and_then(Value::as_str) else {
        telling.tell(
            "",
            format!("{EXPECTED}; there is no chart; it is passed over"),
        );
        return None;
    };
    let Some(names) = note_names(value.get("names")) else {
        let words = "expected \"german\" or nothing for names; it is passed over";
        telling.tell("", words.to_owned());
        return None;
    };
    let mut kept = Kept {
        chart: typed.to_owned(),
        names,
        ..Kept::default()
    };
    let chart = match kept.read() {
        Ok(chart) => chart,
        Err(errors) => {
            let first = errors.first().map(ToString::to_string).unwrap_or_default();
            telling.tell(
                "",
                format!("its chart cannot be read, {first}; it is passed over"),
            );
            return None;
        }
    };
    let chords: BTreeMap<usize, String> = chart
        .passes()
        .into_iter()
        .zip(&chart.changes)
        .filter_map(|(pass, change)| Some((pass?.index, crate::kept::symbol(&change.chord?))))
        .collect();
    let stands = |chord: usize, symbol: &str| match chords.get(&chord) {
        Some(found) if found == symbol => Ok(()),
        Some(found) => Err(format!(
            "expected {symbol} as chord {chord} from 0, found {found}"
        )),
        None => Err(format!(
            "expected {symbol} as chord {chord} from 0, found {} chords",
            chords.len()
        )),
    };
    kept.pins = entries(&value, "pins", "pin", telling, |entry| {
        let pin = KeptPin::deserialize(entry).map_err(|error| error.to_string())?;
        if pin.midi().is_none() {
            return Err(format!(
                "expected 1 to {MOST_NOTES} notes, each from 0 to 127"
            ));
        }
        stands(pin.chord, &pin.symbol).map(|()| pin)
    });
    kept.scales = entries(&value, "scales", "scale", telling, |entry| {
        let scale = KeptScale::deserialize(entry).map_err(|error| error.to_string())?;
        if !scale.is_known() {
            return Err(
                "expected a scale of the table, at most 11 half steps above the root".to_owned(),
            );
        }
        stands(scale.chord, &scale.symbol).map(|()| scale)
    });
    Some((kept, chart))
}

/// The entries of a list that can be read. Of the others it is told what was expected.
fn entries<T>(
    value: &Value,
    list: &str,
    one: &str,
    telling: &mut Telling,
    read: impl Fn(&Value) -> Result<T, String>,
) -> Vec<T> {
    let entries = match value.get(list) {
        None => return Vec::new(),
        Some(Value::Array(entries)) => entries.as_slice(),
        Some(_) => {
            telling.tell("", format!("expected a list for {list}; it is passed over"));
            return Vec::new();
        }
    };
    let mut found = Vec::new();
    for (entry, number) in entries.iter().zip(1..=MOST_KEPT) {
        match read(entry) {
            Ok(entry) => found.push(entry),
            Err(words) => telling.tell("", format!("{one} {number}: {words}; it is passed over")),
        }
    }
    if let Some(more @ 1..) = entries.len().checked_sub(MOST_KEPT) {
        let words = format!("expected at most {MOST_KEPT} {list}; {more} more are passed over");
        telling.tell("", words);
    }
    found
}

/// What MusicXML makes of chords.
#[derive(Default)]
struct Through(HashMap<Chord, Option<Chord>>);

impl Through {
    fn of(&mut self, chord: &Chord) -> Option<Chord> {
        let through = self.0.entry(*chord);
        *through.or_insert_with(|| harmony::through(chord))
    }
}

/// Whether a page, whose text and chart these are, reads as that of another chart does, with its
/// repeats or without them.
fn is_page_of(text: &str, page: &Chart, chart: &Chart) -> bool {
    let starts = |chart: &Chart| -> Vec<u32> {
        let changes = chart.changes.iter();
        changes.map(|change| change.start_ticks).collect()
    };
    if page.bars.len() != chart.bars.len() || starts(page) != starts(chart) {
        return false;
    }
    let mut through = Through::default();
    let mut reads_as = |mut sheet: Sheet| {
        sheet.title = xml::sayable(&sheet.title);
        let places = sheet.bars.iter_mut().flat_map(|bar| &mut bar.places);
        for place in places {
            place.chord = place.chord.and_then(|chord| through.of(&chord));
        }
        sheet.to_text() == text
    };
    reads_as(Sheet::written(chart)) || reads_as(Sheet::played(chart))
}

/// What was picked, for the chords of a page that is not the one that was written.
fn on_page(kept: &Kept, chart: &Chart, page: &Chart, telling: &mut Telling) -> Kept {
    let mut through = Through::default();
    let passes = page.passes();
    let mut gathering = Gathering::default();
    let mut told: BTreeSet<(&str, usize)> = BTreeSet::new();
    for (picked, change) in kept.played(chart).iter().zip(&chart.changes) {
        let Some(chord) = change.chord.filter(|_| !picked.is_nothing()) else {
            continue;
        };
        let at = change.start_ticks;
        let found = page
            .changes
            .binary_search_by_key(&at, |other| other.start_ticks);
        let same = found.ok().and_then(|index| {
            let there: Chord = page.changes.get(index)?.chord?;
            let pass: ChordPass = passes.get(index).copied().flatten()?;
            let is_same = there == chord || through.of(&chord) == Some(there);
            is_same.then_some((pass, there))
        });
        if let Some((pass, there)) = same {
            if let Some(pin) = picked.pin {
                gathering.pin(&pass, &there, pin, pin.notes.clone());
            }
            if let Some(scale) = picked.scale {
                gathering.scale(&pass, &there, scale);
            }
            continue;
        }
        let (bar, _) = chart.bar_and_beat(at);
        let pin = picked
            .pin
            .map(|pin| ("pinned voicing", pin.chord, &pin.symbol));
        let scale = picked
            .scale
            .map(|scale| ("chosen scale", scale.chord, &scale.symbol));
        for (what, chord, symbol) in [pin, scale].into_iter().flatten() {
            if told.insert((what, chord)) {
                let words = format!(
                    "the {what} of {symbol} is passed over; expected {symbol} in its place"
                );
                telling.tell(&bar.to_string(), words);
            }
        }
    }
    gathering.finish(telling.imported.text.clone())
}
