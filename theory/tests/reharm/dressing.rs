//! Whole charts, bar by bar. Common practice, no published source.

use crate::common::{BEAT, KEYS, in_key, words};
use guidehand_theory::pitch::PitchClass;
use guidehand_theory::reharm::{self, Dress, DressedBar, Note, Span};

/// Bars of four beats, one for each wish.
fn bars(wishes: impl IntoIterator<Item = Dress>) -> Vec<DressedBar> {
    (0..)
        .zip(wishes)
        .map(|(i, dress)| DressedBar {
            start_ticks: i * 4 * BEAT,
            length_ticks: 4 * BEAT,
            beat_ticks: BEAT,
            dress,
        })
        .collect()
}

fn text(spans: &[Span]) -> String {
    words(spans.iter().filter_map(|s| s.chord.as_ref()))
}

const EIGHT_BARS: &str = "Cmaj9:4 Am7:4 Dm9:4 G13:4 Cmaj7:4 Fmaj7:4 Em7:2 A7:2 Dm7:2 G7:2 Cmaj7:8";

fn dressed(chart: &str, key: &str, dress: Dress) -> String {
    let spans = in_key(chart, key, 0);
    text(&reharm::dress(&spans, &bars([dress; 16]), &[]))
}

#[test]
fn plain_is_the_skeleton() {
    let plain = dressed(EIGHT_BARS, "C", Dress::Plain);
    assert_eq!(plain, "Cmaj7 Am7 Dm7 G7 Cmaj7 Fmaj7 Em7 A7 Dm7 G7 Cmaj7");
    let other = dressed("Dm11:4 G7alt:4 Cm6:4 D/C7:4 F/A:4", "Cm", Dress::Plain);
    assert_eq!(other, "Dm7 G7 Cm6 C7 F/A");
}

#[test]
fn dressed_touches_the_cadences() {
    let dress = |chart, key| dressed(chart, key, Dress::Dressed);
    // A V with its ii before a longer tonic takes the substitute. Where there is room, a
    // V takes a ii.
    assert_eq!(dress("Dm7:2 G7:2 Cmaj7:8", "C"), "Dm7 Db7 Cmaj7");
    assert_eq!(dress("Fmaj7:2 G7:4 Am7:2", "C"), "Fmaj7 G7 Am7");
    assert_eq!(dress("Am7:4 G7:4 Cmaj7:4", "C"), "Am7 Dm7 G7(b9,13) Cmaj7");
    assert_eq!(dress("Fm7:4 G7:4 Cm7:4", "Cm"), "Fm7 Dm7b5 G7(b9,b13) Cm7");
    assert_eq!(dress("Am7:4 Fmaj7:4 Cmaj7:4", "C"), "Am7 Fmaj7 Fm6 Cmaj7");
}

#[test]
fn rich_fills_what_is_left() {
    assert_eq!(
        dressed(EIGHT_BARS, "C", Dress::Rich),
        "Cmaj9 E7 Am7 A7 Dm9 G7(b9,13) Cmaj7 C7 Fmaj7 B7 Em7 A7(b9,b13) Dm7 Db7 \
         Cmaj7 A7 Dm7 G7"
    );
    let chain = dressed("Cmaj7:8 Am7:4 Dm7:2 G7:2", "C", Dress::Rich);
    assert_eq!(chain, "Cmaj7 B7 E7 Am7 A7 Dm7 Db7");
    // A minor chord that is not the ii of the dominant after it.
    let third = dressed("Em7:3 G7:1 Cmaj7:4", "C", Dress::Rich);
    assert_eq!(third, "Em7 D7 G7(b9,13) Cmaj7 B7");
    let steps = dressed("Cmaj7:4 Dm7:4 Em7:4 Dm7:2 G7:2", "C", Dress::Rich);
    assert_eq!(steps, "Cmaj7 C#dim7 Dm7 D#dim7 Em7 Ebdim7 Dm7 Db7");
}

/// Only the bars with a wish change, and each bar can have another wish.
#[test]
fn each_bar_has_its_own_wish() {
    let spans = in_key(EIGHT_BARS, "C", 0);
    let end: u32 = spans.iter().map(|s| s.length_ticks).sum();
    let written = reharm::dress(&spans, &bars([Dress::Written; 16]), &[]);
    assert_eq!(written, spans);
    assert_eq!(reharm::dress(&spans, &[], &[]), spans);
    for lone in 0..10 {
        for dress in [Dress::Plain, Dress::Dressed, Dress::Rich] {
            let mut wishes = [Dress::Written; 10];
            wishes[lone] = dress;
            let bars = bars(wishes);
            let new = reharm::dress(&spans, &bars, &[]);
            let bar = bars[lone];
            let here = |s: &Span| {
                (bar.start_ticks..bar.start_ticks + bar.length_ticks).contains(&s.start_ticks)
            };
            let start = spans.iter().position(here);
            let last = spans.iter().rposition(here);
            let Some((start, last)) = start.zip(last) else {
                assert_eq!(new, spans, "the bar of a held chord");
                continue;
            };
            assert_eq!(new[..start], spans[..start]);
            let after = spans.len() - last - 1;
            assert_eq!(new[new.len() - after..], spans[last + 1..]);
            assert_eq!(new.iter().map(|s| s.length_ticks).sum::<u32>(), end);
        }
    }
}

/// The result is the same in every key and on every run, and nothing is shorter than a
/// beat.
#[test]
fn dressing_is_the_same_in_every_key() {
    let wishes = [Dress::Rich, Dress::Dressed, Dress::Plain];
    let bars = bars(wishes.into_iter().cycle().take(10));
    let here = reharm::dress(&in_key(EIGHT_BARS, "C", 0), &bars, &[]);
    for fifths in KEYS {
        let spans = in_key(EIGHT_BARS, "C", fifths);
        let there = reharm::dress(&spans, &bars, &[]);
        assert_eq!(there, reharm::dress(&spans, &bars, &[]));
        assert_eq!(here.len(), there.len());
        for (a, b) in here.iter().zip(&there) {
            let (a_chord, b_chord) = (a.chord.unwrap(), b.chord.unwrap());
            let moved = a_chord.transposed(fifths);
            assert_eq!(moved.root.class(), b_chord.root.class());
            assert_eq!(
                (moved.quality, moved.written),
                (b_chord.quality, b_chord.written)
            );
            assert_eq!(
                (a.start_ticks, a.length_ticks),
                (b.start_ticks, b.length_ticks)
            );
            assert!(b.length_ticks >= BEAT);
            assert_eq!(a.function.is_some(), b.function.is_some());
        }
        let changed = there.iter().filter(|s| !spans.contains(s));
        assert!(changed.clone().count() > 3);
        assert!(changed.clone().all(|s| s.function.is_none()));
    }
}

/// Where the first choice would clash with the melody, the next one is taken.
#[test]
fn the_melody_has_its_say() {
    let spans = in_key("Dm7:2 G7:2 Cmaj7:8", "C", 0);
    let over_five = |class| {
        let melody = [Note {
            class: PitchClass::wrapping(class),
            start_ticks: 2 * BEAT,
            length_ticks: 2 * BEAT,
        }];
        text(&reharm::dress(&spans, &bars([Dress::Dressed; 3]), &melody))
    };
    // Ab is 5 over Db7; D is b9 over it, but 5 over G7; A is b13 over Db7 and 9 over G7,
    // neither of which goes with b9.
    assert_eq!(over_five(8), "Dm7 Db7 Cmaj7");
    assert_eq!(over_five(2), "Dm7 G7(b9,13) Cmaj7");
    assert_eq!(over_five(9), "Dm7 G7 Cmaj7");
}
