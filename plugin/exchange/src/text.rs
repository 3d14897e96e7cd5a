//! Turns sheets into the text of charts. Imports `sheet`.

use crate::sheet::{Place, Sheet, SheetBar};
use guidehand_theory::chart::{self, MOST_SHARES, Meter};
use guidehand_theory::symbol::{Sign, Symbol};

/// The number of bars on a line of text.
pub(crate) const BARS_A_LINE: usize = 4;

/// A sheet as text, and what the notation cannot hold exactly.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Printed {
    /// The chart.
    pub text: String,
    /// The chords that had to move, in order.
    pub moved: Vec<Moved>,
    /// Bars that are counted in smaller beats than their own, to hold a chord between the beats:
    /// the index of the bar, and its meter in the text.
    pub finer: Vec<(usize, Meter)>,
}

/// A chord that has moved.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Moved {
    /// The bar, as an index into the sheet.
    pub bar: usize,
    /// The chord and its old place.
    pub place: Place,
    /// Its new place, in ticks from the start of the bar. None if there is no room for it.
    pub to_ticks: Option<u32>,
}

impl Sheet {
    /// The chart's text. For a sheet that was made from a chart, the text plays like that chart.
    /// The only difference is a `%` in a meter that cannot count its chords (a 2/2 after a 4/4 of
    /// quarters), which is counted in smaller beats. See [`print()`] for other sheets.
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
        closes: None,
    };
    if let Some(title) = chart::title_line(&sheet.title) {
        printer.put(&format!("{title}\n"));
    }
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
    /// How often the repeat that the bar before closes is played, if its line is not printed
    /// yet.
    closes: Option<u8>,
}

impl Printer {
    fn bar(&mut self, index: usize, bar: &SheetBar, before: Option<&SheetBar>) {
        let begins = bar.section.is_some() || bar.roads.coda || bar.starts_line;
        let breaks = begins || self.on_line == BARS_A_LINE;
        if breaks && index > 0 {
            self.line_ends();
            self.put("\n");
        }
        if self.on_line == 0
            && let Some(section) = bar.section
        {
            self.put(&format!("{section} "));
        }
        self.bar_line(bar.opens);
        if let Some(number) = bar.ending {
            self.put(&format!(" [{number}"));
        }
        self.signs([(bar.roads.segno, "Segno"), (bar.roads.coda, "Coda")]);
        let said = say(bar, before);
        let pickup = bar.pickup.filter(|_| index == 0);
        let pickup = pickup.and_then(|meter| in_units(meter, said.meter.unit));
        let meter = pickup.unwrap_or(said.meter);
        if meter != self.meter {
            self.put(&format!(" {meter}"));
            self.meter = meter;
        }
        if pickup.is_some() {
            self.put(" Pickup");
        }
        if said.meter != bar.meter {
            self.out.finer.push((index, said.meter));
        }
        for word in &said.words {
            self.put(&format!(" {word}"));
        }
        let roads = &bar.roads;
        self.signs([(roads.to_coda, "To Coda"), (roads.fine, "Fine")]);
        if let Some(jump) = roads.jump {
            self.put(&format!(" {jump}"));
        }
        self.put(" ");
        let moved = said.moved.into_iter();
        self.out.moved.extend(moved.map(|(place, to_ticks)| Moved {
            bar: index,
            place,
            to_ticks,
        }));
        self.closes = bar.closes.then_some(bar.times);
        self.on_line += 1;
    }

    /// The line between the bar before and this one.
    fn bar_line(&mut self, opens: bool) {
        match (self.closes.take(), opens) {
            (None, false) => self.put("|"),
            (None, true) => self.put("|:"),
            (Some(..=2), false) => self.put(":|"),
            (Some(..=2), true) => self.put(":|:"),
            (Some(times), opens) => {
                let line = if opens { "|:" } else { "|" };
                self.put(&format!(":| x{times} {line}"));
            }
        }
    }

    /// The signs that are set.
    fn signs(&mut self, signs: [(bool, &str); 2]) {
        for (is, sign) in signs {
            if is {
                self.put(&format!(" {sign}"));
            }
        }
    }

    fn line_ends(&mut self) {
        if self.on_line > 0 {
            match self.closes.take() {
                None => self.put("|"),
                Some(..=2) => self.put(":|"),
                Some(times) => self.put(&format!(":| x{times}")),
            }
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
    let pickup = before.is_none() && bar.pickup.is_some();
    if bar.places.is_empty() {
        return plain(match before {
            None if pickup => beats(bar.meter, [].into_iter(), "N.C."),
            None => vec!["N.C.".to_owned()],
            Some(before) if is_held(bar, before) => vec!["%".to_owned()],
            Some(_) => vec!["/".to_owned(); usize::from(bar.meter.beats)],
        });
    }
    let unmarked = |count| bar.meter.shares(count);
    if !pickup && shares(bar, unmarked) {
        return plain(bar.places.iter().map(word).collect());
    }
    // At the start of a chart no chord can continue.
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
        let evenly = |count| bar.meter.even_shares(count);
        if !pickup && shares(bar, evenly) {
            let even = ["even".to_owned()].into_iter();
            return plain(even.chain(bar.places.iter().map(word)).collect());
        }
    }
    rounded(bar, first)
}

/// The meter, and the meters that count its beats in halves and quarters.
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

/// Whether `%` says that the chord before continues, each time round: the bar before has the same
/// length, and is always the bar that is heard before.
fn is_held(bar: &SheetBar, before: &SheetBar) -> bool {
    let prolonged = match before.places.as_slice() {
        [] => true,
        [only] => only.at_ticks == 0,
        _ => false,
    };
    // A jump leads here from another place, or away from here.
    let roads = bar.roads.segno || bar.roads.coda || before.roads.jump.is_some();
    let joined = bar.opens || bar.ending.is_some() || roads;
    prolonged && !joined && bar.meter.bar_ticks() == before.meter.bar_ticks()
}

/// Whether the chords stand where this many chords divide a bar evenly.
fn shares<S: Iterator<Item = u32>>(bar: &SheetBar, of: impl Fn(u32) -> S) -> bool {
    let Ok(count) = u32::try_from(bar.places.len()) else {
        return false;
    };
    let places = bar.places.iter().map(|place| place.at_ticks);
    bar.places.len() <= MOST_SHARES && of(count).eq(places)
}

/// The meter, counted in other note values.
fn in_units(meter: Meter, unit: u8) -> Option<Meter> {
    let by = unit / meter.unit.max(1);
    Meter::new(meter.beats.checked_mul(by)?, unit)
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

/// The chords on the nearest free beats of the finest meter. The rest are left out.
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
