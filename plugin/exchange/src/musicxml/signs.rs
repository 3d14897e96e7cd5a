//! Signs of jumps in MusicXML: segno, coda, Fine, D.C. and D.S., as `sound` elements, as drawn
//! signs, or as words. Imports `tree`, `form` and the theory.

use super::form::RawBar;
use super::tree::Element;
use guidehand_theory::chart::{self, Jump, Meter, Road, Start, Until};

/// A sign, as far as the file says what it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sign {
    /// A sign whose meaning is given.
    Road(Road),
    /// A coda sign that is only drawn: it is the coda or the jump to it.
    EitherCoda,
    /// A segno that is drawn at the end of a bar: it belongs to the next bar.
    SegnoAfter,
}

/// The signs of a `sound`, which says how it is to be played.
pub fn of_sound(sound: &Element) -> Vec<Sign> {
    let jump = |from| {
        let until = Until::End;
        Road::Jump(Jump { from, until })
    };
    let yes = |name: &str| sound.attribute(name).is_some_and(|value| value != "no");
    let all = [
        ("segno", Road::Segno),
        ("coda", Road::Coda),
        ("tocoda", Road::ToCoda),
        ("fine", Road::Fine),
        ("dacapo", jump(Start::Beginning)),
        ("dalsegno", jump(Start::Segno)),
    ];
    let said = all.into_iter().filter(|(name, _)| yes(name));
    said.map(|(_, road)| Sign::Road(road)).collect()
}

/// The signs of a bar line.
pub fn of_barline(barline: &Element) -> Vec<Sign> {
    let left = barline.attribute("location") == Some("left");
    let has = |name: &str| barline.child(name).is_some() || barline.attribute(name).is_some();
    let segno = if left {
        Sign::Road(Road::Segno)
    } else {
        Sign::SegnoAfter
    };
    let coda = if left { Road::Coda } else { Road::ToCoda };
    let all = [("segno", segno), ("coda", Sign::Road(coda))];
    let drawn = all.into_iter().filter(|(name, _)| has(name));
    drawn.map(|(_, sign)| sign).collect()
}

/// What a direction says about the form.
#[derive(Debug, Default, PartialEq, Eq)]
pub struct Said {
    /// The signs.
    pub signs: Vec<Sign>,
    /// What is said beside them, or instead of them, that no chart can hold.
    pub missed: Option<String>,
    /// Whether there are words about something else.
    pub is_other: bool,
}

/// The signs of a direction. Its `sound` says what they do, and its words say how far a jump
/// goes. Without a `sound` they mean what they look like.
pub fn of_direction(direction: &Element) -> Said {
    let sounds = direction.children("sound");
    let mut signs: Vec<Sign> = sounds.flat_map(of_sound).collect();
    let words = plain(direction);
    let written = spoken(&words);
    let before = written.map_or("", |(before, _)| before.trim());
    let road = written.map(|(_, road)| road);
    for sign in &mut signs {
        if let (Sign::Road(Road::Jump(jump)), Some(Road::Jump(said))) = (sign, road) {
            jump.until = said.until;
        }
    }
    let mut said = Said::default();
    if !before.is_empty() {
        said.missed = Some(format!("\"{before}\" before a jump is passed over"));
    }
    if signs.is_empty() {
        signs = match (words.as_str(), road) {
            (CODA, _) => vec![Sign::EitherCoda],
            (_, Some(road)) => vec![Sign::Road(road)],
            _ => Vec::new(),
        };
        if signs.is_empty() && !words.is_empty() {
            let lower = words.to_lowercase();
            let about_form = FORM.iter().any(|word| lower.contains(word));
            said.is_other = !about_form;
            said.missed = about_form.then(|| {
                let words: String = words.chars().take(40).collect();
                format!("\"{words}\" is passed over, as a chart has no sign for it")
            });
        }
    }
    said.signs = signs;
    said
}

/// Parts of words about the form of a piece.
const FORM: [&str; 13] = [
    "coda", "segno", "d.c", "d.s", "da capo", "fine", "repeat", "vamp", "fade", "ending", "times",
    "till cue", "on cue",
];

/// The signs of segno and coda in Unicode.
const SEGNO: &str = "\u{1d10b}";
const CODA: &str = "\u{1d10c}";

/// The words of a direction in a line, with the signs that are drawn among them, and without what
/// stands around them.
fn plain(direction: &Element) -> String {
    let kinds = direction.children("direction-type");
    let parts = kinds
        .flat_map(Element::elements)
        .map(|part| match part.name() {
            "words" => part.text(),
            "segno" => SEGNO,
            "coda" => CODA,
            _ => "",
        });
    let parts: Vec<&str> = parts.collect();
    let mut line = parts.join(" ");
    for (from, to) in [
        // SMuFL, range "Repeats", and signs that look like a coda.
        ('\u{e045}', "D.S."),
        ('\u{e046}', "D.C."),
        ('\u{e047}', SEGNO),
        ('\u{e048}', CODA),
        ('\u{e049}', CODA),
        ('\u{2295}', CODA),
        ('\u{2a01}', CODA),
        ('\u{1f728}', CODA),
    ] {
        line = line.replace(from, &format!(" {to} "));
    }
    let words: Vec<&str> = line.split_whitespace().collect();
    let mut line = words.join(" ");
    for (spaced, closed) in [("D. C.", "D.C."), ("D. S.", "D.S."), ("D.C.al", "D.C. al")] {
        line = line.replace(spaced, closed);
    }
    let around = |c: char| matches!(c, '(' | ')' | '[' | ']' | '"' | ',' | ':');
    let line = line.trim_matches(around).trim();
    line.strip_suffix('.').unwrap_or(line).to_owned()
}

/// The road that words name, and what stands before it. Only a jump can follow other words.
fn spoken(words: &str) -> Option<(&str, Road)> {
    if let Some(road) = chart::road(words) {
        return Some(("", road));
    }
    words.match_indices(' ').find_map(|(at, _)| {
        let (before, rest) = words.split_at_checked(at)?;
        let jump = |road: &Road| matches!(road, Road::Jump(_) | Road::ToCoda);
        Some((before, chart::road(rest).filter(jump)?))
    })
}

/// The bars that begin with a coda sign that is only drawn.
#[derive(Debug, Default)]
pub struct Marks {
    codas: Vec<usize>,
    /// A segno waits for its bar.
    segno: bool,
}

impl Marks {
    /// Puts a sign around the bar of this index. Returns false for a second jump there.
    pub fn put(&mut self, sign: Sign, at_start: bool, bar: usize, raw: &mut RawBar) -> bool {
        let roads = &mut raw.bar.roads;
        match sign {
            Sign::Road(Road::Segno) => roads.segno = true,
            Sign::Road(Road::Coda) => roads.coda = true,
            Sign::Road(Road::ToCoda) => roads.to_coda = true,
            Sign::Road(Road::Fine) => roads.fine = true,
            Sign::Road(Road::Jump(jump)) => {
                if roads.jump.is_some_and(|before| before != jump) {
                    return false;
                }
                roads.jump = Some(jump);
            }
            Sign::EitherCoda if at_start => self.codas.push(bar),
            Sign::EitherCoda => roads.to_coda = true,
            Sign::SegnoAfter => self.segno = true,
        }
        true
    }

    /// The segno that stood at the end of the bar before.
    pub fn segno_before(&mut self) -> bool {
        std::mem::take(&mut self.segno)
    }
}

/// Decides which of the coda signs at the start of bars is the coda. If no jump to it is given, the
/// last one is the coda and those before it are the jumps.
pub fn settle(bars: &mut [RawBar], marks: &Marks) {
    let told = bars.iter().any(|raw| raw.bar.roads.to_coda);
    let last = marks.codas.last();
    for at in &marks.codas {
        let way = !told && Some(at) != last;
        let bar = if way { at.checked_sub(1) } else { Some(*at) };
        if let Some(raw) = bar.and_then(|at| bars.get_mut(at)) {
            raw.bar.roads.to_coda |= way;
            raw.bar.roads.coda |= !way;
        }
    }
}

/// A pickup as beats of the meter, or of a meter that counts in halves or quarters of them, with
/// that meter.
pub fn pickup(meter: Meter, ticks: u32) -> Option<(Meter, Meter)> {
    [1_u8, 2, 4].into_iter().find_map(|by| {
        let of = Meter::new(meter.beats.checked_mul(by)?, meter.unit.checked_mul(by)?)?;
        let beats = u8::try_from(ticks / of.beat_ticks()).ok()?;
        let own = Meter::new(beats, of.unit)?;
        (own.bar_ticks() == ticks && beats < of.beats).then_some((own, of))
    })
}
