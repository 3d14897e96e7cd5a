//! From sheets to the text of charts. Imports `sheet`.

use crate::sheet::{Place, Sheet, SheetBar};
use guidehand_theory::chart::Meter;
use guidehand_theory::symbol::{Sign, Symbol};

/// Bars on a line of text.
const BARS_A_LINE: usize = 4;
/// The most chords that share a bar evenly.
const MOST_EVEN: usize = 16;

/// A sheet as text, and what the notation could not hold exactly.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Printed {
    /// The chart.
    pub text: String,
    /// Chords that had to move, in order.
    pub moved: Vec<Moved>,
    /// Bars that are counted in smaller beats than their own, to hold a chord
    /// between them: the bar, as an index, and its meter in the text.
    pub finer: Vec<(usize, Meter)>,
}

/// A chord that does not stand where it stood.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Moved {
    /// The bar, as an index into the sheet.
    pub bar: usize,
    /// The chord and where it stood.
    pub place: Place,
    /// Where it stands, in ticks from the start of the bar; none if there is no
    /// room for it.
    pub to_ticks: Option<u32>,
}

impl Sheet {
    /// The chart's text. For a sheet that was made from a chart it plays as that
    /// chart does, but for `%` in a meter that cannot count its chords (a 2/2 after
    /// a 4/4 of quarters): that bar is counted in smaller beats. See [`print()`] for
    /// other sheets.
    #[must_use]
    pub fn to_text(&self) -> String {
        print(self).text
    }
}

/// Prints a sheet, four bars on a line.
#[must_use]
pub fn print(sheet: &Sheet) -> Printed {
    let mut printer = Printer {
        out: Printed {
            text: String::new(),
            moved: Vec::new(),
            finer: Vec::new(),
        },
        meter: Meter::COMMON,
        on_line: 0,
        closes: false,
    };
    let mut before = None;
    for (index, bar) in sheet.bars.iter().enumerate() {
        printer.bar(index, bar, before);
        before = Some(bar);
    }
    printer.line_ends();
    printer.out
}

struct Printer {
    out: Printed,
    /// The meter in force in the text.
    meter: Meter,
    on_line: usize,
    /// The bar before closes a repeat, and its line is not yet printed.
    closes: bool,
}

impl Printer {
    fn bar(&mut self, index: usize, bar: &SheetBar, before: Option<&SheetBar>) {
        let breaks = bar.section.is_some() || bar.starts_line || self.on_line == BARS_A_LINE;
        if breaks && index > 0 {
            self.line_ends();
            self.put("\n");
        }
        if self.on_line == 0
            && let Some(section) = bar.section
        {
            self.put(&format!("{section} "));
        }
        let line = match (std::mem::take(&mut self.closes), bar.opens) {
            (false, false) => "|",
            (false, true) => "|:",
            (true, false) => ":|",
            (true, true) => ":|:",
        };
        self.put(line);
        if let Some(number) = bar.ending {
            self.put(&format!(" [{number}"));
        }
        let said = say(bar, before);
        if said.meter != self.meter {
            self.put(&format!(" {}", said.meter));
            self.meter = said.meter;
        }
        if said.meter != bar.meter {
            self.out.finer.push((index, said.meter));
        }
        for word in &said.words {
            self.put(&format!(" {word}"));
        }
        self.put(" ");
        let moved = said.moved.into_iter();
        self.out.moved.extend(moved.map(|(place, to_ticks)| Moved {
            bar: index,
            place,
            to_ticks,
        }));
        self.closes = bar.closes;
        self.on_line += 1;
    }

    fn line_ends(&mut self) {
        if self.on_line > 0 {
            let line = if std::mem::take(&mut self.closes) {
                ":|"
            } else {
                "|"
            };
            self.put(line);
        }
        self.on_line = 0;
    }

    fn put(&mut self, text: &str) {
        self.out.text.push_str(text);
    }
}

/// The words of a bar.
struct Said {
    meter: Meter,
    words: Vec<String>,
    moved: Vec<(Place, Option<u32>)>,
}

fn say(bar: &SheetBar, before: Option<&SheetBar>) -> Said {
    let plain = |words| Said {
        meter: bar.meter,
        words,
        moved: Vec::new(),
    };
    if bar.places.is_empty() {
        return plain(match before {
            None => vec!["N.C.".to_owned()],
            Some(before) if is_held(bar, before) => vec!["%".to_owned()],
            Some(_) => vec!["/".to_owned(); usize::from(bar.meter.beats)],
        });
    }
    if shares_evenly(bar) {
        return plain(bar.places.iter().map(word).collect());
    }
    // At the start of a chart there is nothing to go on.
    let first = if before.is_none() { "N.C." } else { "/" };
    for meter in finer_meters(bar.meter) {
        let beat = meter.beat_ticks();
        if bar.places.iter().all(|p| p.at_ticks % beat == 0) {
            let slots = bar.places.iter().map(|p| (p.at_ticks / beat, p));
            return Said {
                meter,
                words: beats(meter, slots, first),
                moved: Vec::new(),
            };
        }
    }
    rounded(bar, first)
}

/// The meter and those that count its beats in halves and quarters.
fn finer_meters(meter: Meter) -> impl Iterator<Item = Meter> {
    [1_u8, 2, 4].into_iter().filter_map(move |by| {
        let beats = meter.beats.checked_mul(by)?;
        Meter::new(beats, meter.unit.checked_mul(by)?)
    })
}

fn word(place: &Place) -> String {
    match &place.chord {
        Some(chord) => Symbol(chord, Sign::Ascii).to_string(),
        None => "N.C.".to_owned(),
    }
}

/// Whether the chord before goes on and `%` says so, each time round: the bar
/// before is as long, and the one that is heard before.
fn is_held(bar: &SheetBar, before: &SheetBar) -> bool {
    let prolonged = match before.places.as_slice() {
        [] => true,
        [only] => only.at_ticks == 0,
        _ => false,
    };
    let joined = bar.opens || bar.ending.is_some();
    prolonged && !joined && bar.meter.bar_ticks() == before.meter.bar_ticks()
}

/// Whether the chords stand where a bar that is shared evenly has them.
fn shares_evenly(bar: &SheetBar) -> bool {
    let Ok(count) = u32::try_from(bar.places.len()) else {
        return false;
    };
    let at = |nth: u32| bar.meter.bar_ticks() * nth / count;
    bar.places.len() <= MOST_EVEN
        && bar
            .places
            .iter()
            .zip(0..)
            .all(|(p, nth)| p.at_ticks == at(nth))
}

fn beats<'a>(
    meter: Meter,
    slots: impl Iterator<Item = (u32, &'a Place)>,
    first: &str,
) -> Vec<String> {
    let mut words = vec!["/".to_owned(); usize::from(meter.beats)];
    if let Some(word) = words.first_mut() {
        *word = first.to_owned();
    }
    for (slot, place) in slots {
        let slot = usize::try_from(slot).unwrap_or(usize::MAX);
        if let Some(said) = words.get_mut(slot) {
            *said = word(place);
        }
    }
    words
}

/// The chords on the nearest free beats of the finest meter, the rest left out.
fn rounded(bar: &SheetBar, first: &str) -> Said {
    let meter = finer_meters(bar.meter).last().unwrap_or(bar.meter);
    let beat = meter.beat_ticks();
    let mut free = 0;
    let mut slots = Vec::new();
    let mut moved = Vec::new();
    for place in &bar.places {
        let nearest = (place.at_ticks + beat / 2) / beat;
        let last = u32::from(meter.beats) - 1;
        let slot = nearest.min(last).max(free);
        if slot > last {
            moved.push((*place, None));
            continue;
        }
        free = slot + 1;
        slots.push((slot, place));
        if slot * beat != place.at_ticks {
            moved.push((*place, Some(slot * beat)));
        }
    }
    Said {
        meter,
        words: beats(meter, slots.into_iter(), first),
        moved,
    }
}
