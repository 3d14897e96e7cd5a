//! Charts for the tests, and questions about proposals that plain arithmetic answers.

use guidehand_theory::chart::{Meter, TICKS_PER_QUARTER};
use guidehand_theory::chord::Chord;
use guidehand_theory::key::Key;
use guidehand_theory::quality::Quality;
use guidehand_theory::reharm::{self, Bars, Grid, Proposal, Span};
use guidehand_theory::symbol::{self, Sign, Symbol};
use std::ops::Range;

/// Ticks in a beat.
pub const BEAT: u32 = TICKS_PER_QUARTER;

/// Bars of 4/4 from the start of the chart.
pub fn bars() -> Bars {
    Grid::new(Meter::COMMON, 0).into()
}

/// Twelve keys as fifths from C, from Gb to B.
pub const KEYS: std::ops::RangeInclusive<i8> = -6..=5;

/// Chords with their beats: `Dm7:2 G7:2 Cmaj7:4`; a bare `-` is silence.
pub fn chart(text: &str, fifths: i8) -> Vec<Span> {
    let mut start_ticks = 0;
    text.split(' ')
        .map(|word| {
            let (symbol, beats) = word.split_once(':').unwrap();
            let length_ticks = beats.parse::<u32>().unwrap() * BEAT;
            let chord = (symbol != "-").then(|| symbol::parse(symbol).unwrap().transposed(fifths));
            let span = Span {
                chord,
                start_ticks,
                length_ticks,
                function: None,
            };
            start_ticks += length_ticks;
            span
        })
        .collect()
}

/// The chart in a pinned key, moved by fifths, with its functions.
pub fn in_key(text: &str, key: &str, fifths: i8) -> Vec<Span> {
    let mut key = Key::parse(key).unwrap();
    key.tonic = key.tonic.along_fifths(fifths);
    let mut spans = chart(text, fifths);
    reharm::analyse(&mut spans, Some(key));
    spans
}

/// Everything that is offered for these spans, without a melody.
pub fn all(spans: &[Span], at: Range<usize>) -> Vec<Proposal> {
    let offers = reharm::proposals(spans, at, &bars(), &[]);
    assert!(offers.clashes.is_empty());
    offers.fits
}

/// The proposal of this name for exactly these spans.
pub fn find(spans: &[Span], at: Range<usize>, name: &str) -> Option<Proposal> {
    let mut all = all(spans, at.clone()).into_iter();
    all.find(|p| p.name.to_string() == name && p.span == at)
}

/// As [`find`], for proposals that must be there.
pub fn named(spans: &[Span], at: Range<usize>, name: &str) -> Proposal {
    find(spans, at, name).unwrap_or_else(|| panic!("no {name}"))
}

/// The key of a root, 0 to 11.
pub fn root(chord: &Chord) -> u8 {
    chord.root.class().number()
}

/// The roots of a proposal.
pub fn roots(proposal: &Proposal) -> Vec<u8> {
    proposal.chords.iter().map(|p| root(&p.chord)).collect()
}

/// The qualities of a proposal.
pub fn qualities(proposal: &Proposal) -> Vec<Quality> {
    proposal.chords.iter().map(|p| p.chord.quality).collect()
}

/// Semitones up from each chord to the next, and from the last to `next`.
pub fn motions(proposal: &Proposal, next: u8) -> Vec<u8> {
    let from = roots(proposal);
    let to = from.iter().copied().skip(1).chain([next]);
    from.iter()
        .zip(to)
        .map(|(a, b)| (b + 12 - a) % 12)
        .collect()
}

/// Beats of a proposal's chords.
pub fn beats(proposal: &Proposal) -> Vec<u32> {
    let parts = proposal.chords.iter();
    parts.map(|p| p.length_ticks / BEAT).collect()
}

/// The keys of the chord tones, sorted.
pub fn tones(chord: &Chord) -> Vec<u8> {
    let degrees = chord.quality.degrees();
    let keys = degrees.iter().map(|d| d.class(chord.root).number());
    let mut keys: Vec<u8> = keys.collect();
    keys.sort_unstable();
    keys
}

/// The keys of all notes that a symbol states, tensions among them.
pub fn stated(chord: &Chord) -> Vec<u8> {
    let degrees = chord.degrees();
    let mut keys: Vec<u8> = degrees
        .iter()
        .map(|d| d.class(chord.root).number())
        .collect();
    keys.sort_unstable();
    keys
}

/// The chords in words: `Dm7 Db7 Cmaj7`.
pub fn words<'a>(chords: impl IntoIterator<Item = &'a Chord>) -> String {
    let chords = chords.into_iter();
    let words: Vec<String> = chords.map(|c| Symbol(c, Sign::Ascii).to_string()).collect();
    words.join(" ")
}

/// The chords of a proposal in words.
pub fn spelled(proposal: &Proposal) -> String {
    words(proposal.chords.iter().map(|p| &p.chord))
}
