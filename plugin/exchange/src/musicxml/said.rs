//! What elements say: names of sections, numbers of endings, meters, bars that a sign repeats. Imports `tree` and
//! the theory.

use super::tree::{Element, number};
use guidehand_theory::chart::{self, Meter, Section};

/// The start of a text, for messages.
pub fn short(text: &str) -> String {
    text.chars().take(20).collect()
}

/// The longest name of a section, in bytes.
const LONGEST_SECTION: usize = 20;

/// The name of a section, if a rehearsal mark is one.
pub fn section(text: &str) -> Option<Section> {
    if text.len() > LONGEST_SECTION {
        return None;
    }
    let text = text.trim_matches(['[', ']']).trim();
    let chart = chart::parse(&format!("[{text}] C")).ok()?;
    chart.written.first()?.section
}

/// The numbers of an ending: `1`, `1, 2` or `1-3`. Empty if it has none.
pub fn endings(text: &str) -> Vec<u8> {
    let mut numbers = Vec::new();
    for part in text.split([',', ' ']).filter(|part| !part.is_empty()) {
        let (from, to) = part.split_once('-').unwrap_or((part, part));
        let ends = [from, to].map(|n| n.trim().trim_end_matches('.').parse::<u8>().ok());
        if let [Some(from), Some(to)] = ends
            && from <= to
            && to <= chart::MOST_ENDINGS
        {
            numbers.extend(from..=to);
        }
    }
    numbers.truncate(usize::from(chart::MOST_ENDINGS));
    numbers
}

/// The meter of a `time` element. Compound numerators such as `3+2` are summed.
pub fn meter(time: &Element) -> Option<Meter> {
    if time.children("beats").count() > 1 {
        return None;
    }
    let beats = time.child("beats")?.text().split('+');
    let beats = beats.map(|part| part.trim().parse::<u8>().ok());
    let sum = beats.reduce(|sum, beats| sum?.checked_add(beats?))??;
    let unit = time.child("beat-type")?.text().parse().ok()?;
    Meter::new(sum, unit)
}

/// How many bars a sign repeats from here on (W3C MusicXML 4.0, `measure-repeat`). The inner value is none
/// where the sign ends, and the outer one where the attributes name no sign.
pub fn bars_repeated(attributes: &Element) -> Option<Option<usize>> {
    let styles = attributes.children("measure-style");
    let repeat = styles
        .filter_map(|style| style.child("measure-repeat"))
        .last()?;
    let starts = repeat.attribute("type") != Some("stop");
    let bars = number(repeat.text()).and_then(|bars| usize::try_from(bars).ok());
    Some(starts.then(|| bars.unwrap_or(1).max(1)))
}
