//! What a melody note that is played gets, without knowledge of the next one. Common practice, no
//! published source.

use guidehand_theory::candidates::Hand;
use guidehand_theory::degree::Degree;
use guidehand_theory::key::{self, Key};
use guidehand_theory::pin;
use guidehand_theory::pipeline::{self, ChordInKey, Taste as Comping};
use guidehand_theory::pitch::{MidiNote, SpelledPitch};
use guidehand_theory::slash;
use guidehand_theory::symbol::{self, Sign};
use guidehand_theory::under::{
    self, Block, Dominant, Harmony, Replacement, Rule, Struck, Style, Taste, Why,
};
use guidehand_theory::words::InWords;

fn note(text: &str) -> MidiNote {
    SpelledPitch::parse(text)
        .and_then(SpelledPitch::midi)
        .unwrap()
}

fn struck(text: &str) -> Struck {
    Struck {
        note: note(text),
        fast: false,
    }
}

/// A chord in a key, on its way to another one or to itself.
fn placed(key: &str, symbol: &str, next: &str) -> ChordInKey {
    let written = symbol::parse(symbol).unwrap();
    let chord = slash::meant(&written);
    let next = symbol::parse(if next.is_empty() { symbol } else { next }).unwrap();
    let chords = [Some(chord), Some(slash::meant(&next))];
    let key = Key::parse(key).unwrap();
    ChordInKey {
        chord,
        written,
        function: key::analyse(&chords, Some(key))[0].unwrap(),
    }
}

fn harmony(key: &str, symbol: &str, next: &str) -> Harmony {
    placed(key, symbol, next).into()
}

/// The notes by name, from the highest.
fn falling(block: &Block) -> String {
    let names = block
        .voicing
        .spelled(block.root.unwrap())
        .map(|pitch| pitch.name.to_string());
    let mut names: Vec<String> = names.collect();
    names.reverse();
    names.join(" ")
}

fn four_way(before: Option<&Block>, melody: &str, harmony: &Harmony) -> Block {
    under::step(&Taste::default(), before, struck(melody), Some(harmony))
}

/// Key, chord, the chord that follows, melody, four-way close from the melody down, the rule.
const TABLE: [(&str, &str, &str, &str, &str, &str); 38] = [
    // Major chords have their sixth. The seventh in the melody keeps the seventh chord.
    ("C", "Cmaj7", "", "C5", "C A G E", "chord tone"),
    ("C", "Cmaj7", "", "E5", "E C A G", "chord tone"),
    ("C", "Cmaj7", "", "D5", "D A G E", "9 for 1"),
    ("C", "Cmaj7", "", "B4", "B G E C", "chord tone"),
    ("C", "C", "", "B4", "B G E C", "7 for 6"),
    ("C", "Cmaj7", "", "F#5", "F# E C A", "#11 for 5"),
    // An avoid note, and notes that are foreign to the chord.
    (
        "C",
        "Cmaj7",
        "",
        "F5",
        "F D B Ab",
        "passing diminished, of the key's dominant",
    ),
    (
        "C",
        "Cmaj7",
        "",
        "Ab4",
        "Ab F D B",
        "passing diminished, of the key's dominant",
    ),
    (
        "C",
        "Cmaj7",
        "",
        "C#5",
        "C# Bb G E",
        "passing diminished, a half step off",
    ),
    // Minor chords: a ii keeps its seventh, a tonic triad has its sixth.
    ("C", "Dm7", "G7", "F5", "F D C A", "chord tone"),
    ("C", "Dm7", "G7", "E5", "E C A F", "9 for 1"),
    ("C", "Dm7", "G7", "G4", "G D C A", "11 for b3"),
    ("C", "Dm7", "G7", "B4", "B F D C", "13 for 5"),
    (
        "C",
        "Dm7",
        "G7",
        "C#5",
        "C# Bb G E",
        "passing diminished, of the chord's own dominant",
    ),
    ("C minor", "Cm", "", "G4", "G Eb C A", "chord tone"),
    ("C minor", "Cm", "", "D5", "D A G Eb", "9 for 1"),
    ("C minor", "Cm7", "", "G4", "G Eb C Bb", "chord tone"),
    ("C minor", "Cm(maj7)", "", "Eb5", "Eb C B G", "chord tone"),
    // The major seventh would lie a half step under the root.
    ("C minor", "Cm(maj7)", "", "C5", "C A G Eb", "chord tone"),
    // Dominants are dressed by where they go, and agree with the melody.
    ("C", "G7", "Cmaj7", "B4", "B A F E", "chord tone"),
    ("C", "G7", "Cmaj7", "A4", "A F E B", "9 for 1"),
    ("C", "G7", "Cmaj7", "Ab4", "Ab F E B", "b9 for 1"),
    ("C", "G7", "Cmaj7", "Eb5", "Eb B Ab F", "b13 for 5"),
    ("C", "G7", "Cmaj7", "F5", "F D B A", "chord tone"),
    (
        "C",
        "G7",
        "Cmaj7",
        "C5",
        "C A F# Eb",
        "passing diminished, of the chord's own dominant",
    ),
    ("C minor", "G7", "Cm7", "B4", "B Ab F Eb", "chord tone"),
    ("C minor", "G7", "Cm7", "D5", "D B Ab F", "chord tone"),
    ("C", "Db7", "Cmaj7", "F5", "F Eb Cb G", "chord tone"),
    ("C", "G7alt", "Cmaj7", "F5", "F Eb B Ab", "chord tone"),
    ("C blues", "C7", "", "Eb5", "D# Bb G E", "#9 for 1"),
    // Suspended, also as a slash chord. The third in the melody ends the suspension.
    ("C", "G7sus4", "Cmaj7", "A4", "A F E C", "9 for 1"),
    ("C", "F/G", "Cmaj7", "D5", "D C A F", "chord tone"),
    ("C", "G7sus4", "Cmaj7", "B4", "B A F E", "3 for 4"),
    // Half-diminished, and diminished with a chord tone a whole step higher.
    ("C minor", "Dm7b5", "G7", "Bb4", "Bb F D C", "b13 for b5"),
    ("C", "Bdim7", "Cmaj7", "C#5", "C# Ab F D", "9 for 1"),
    ("C", "Bdim7", "Cmaj7", "G4", "G D B Ab", "b13 for b5"),
    // Augmented: the whole-tone scale.
    ("C", "Caug", "", "E5", "E D C G#", "chord tone"),
    ("C", "Caug", "", "Bb4", "Bb G# E D", "b7 for 1"),
];

#[test]
fn each_note_gets_the_chord_of_common_practice() {
    for (key, symbol, next, melody, expected, rule) in TABLE {
        let block = four_way(None, melody, &harmony(key, symbol, next));
        let what = format!("{melody} over {symbol} to {next:?} in {key}");
        assert_eq!(falling(&block), expected, "{what}");
        assert_eq!(block.rule.to_string(), rule, "{what}");
    }
}

#[test]
fn a_note_that_is_struck_again_keeps_its_chord_as_long_as_that_lasts() {
    let g7 = harmony("C", "G7", "Cmaj7");
    let passing = four_way(None, "C5", &g7);
    assert_eq!(passing.rule, Rule::Diminished(Dominant::Chord));
    let again = four_way(Some(&passing), "C5", &g7);
    assert_eq!(
        (again.rule, again.voicing),
        (Rule::Repeated, passing.voicing)
    );
    let once_more = four_way(Some(&again), "C5", &g7);
    assert_eq!(once_more, again);
    let c = harmony("C", "Cmaj7", "");
    let over_the_next = four_way(Some(&again), "C5", &c);
    assert_eq!(falling(&over_the_next), "C A G E");
    // Another style is another chord.
    let drop = Taste {
        style: Style::DropTwo,
        ..Taste::default()
    };
    let dropped = under::step(&drop, Some(&again), struck("C5"), Some(&g7));
    assert_eq!(
        (dropped.rule, dropped.style),
        (passing.rule, Style::DropTwo)
    );
}

#[test]
fn a_fast_line_and_a_melody_without_a_chord_sound_alone() {
    let g7 = harmony("C", "G7", "Cmaj7");
    let fast = Struck::after(note("B4"), Some(79), 80);
    let alone = under::step(&Taste::default(), None, fast, Some(&g7));
    assert_eq!(alone.rule, Rule::Single(Why::Fast));
    assert_eq!(falling(&alone), "B");
    // A fast note that is struck again slowly has a chord.
    let slow = Struck::after(note("B4"), Some(80), 80);
    let block = under::step(&Taste::default(), Some(&alone), slow, Some(&g7));
    assert_eq!(block.rule, Rule::ChordTone);
    // And a slow one that is struck again fast has none.
    let again = under::step(&Taste::default(), Some(&block), fast, Some(&g7));
    assert_eq!(again.rule, Rule::Single(Why::Fast));
    let first = Struck::after(note("B4"), None, 80);
    assert!(!first.fast);
    let unknown = under::step(&Taste::default(), Some(&block), first, None);
    assert_eq!(unknown.rule, Rule::Single(Why::NoChord));
    assert_eq!((unknown.root, unknown.melody()), (None, Some(note("B4"))));
}

/// G7 to Cmaj7 is dressed with 9 and 13. A b9 in the melody dresses it anew, and the b9 then stays.
#[test]
fn a_dominant_keeps_the_dressing_that_the_melody_has_given_it() {
    let g7 = harmony("C", "G7", "Cmaj7");
    let bright = four_way(None, "B4", &g7);
    assert_eq!(falling(&bright), "B A F E");
    let flat = four_way(Some(&bright), "Ab4", &g7);
    assert_eq!(falling(&flat), "Ab F E B");
    let after = four_way(Some(&flat), "B4", &g7);
    assert_eq!(falling(&after), "B Ab F E");
    // A passing chord and a fast note between them change nothing.
    let passing = four_way(Some(&flat), "C5", &g7);
    let fast = Struck::after(note("D5"), Some(10), 80);
    let fast = under::step(&Taste::default(), Some(&passing), fast, Some(&g7));
    let after = four_way(Some(&fast), "B4", &g7);
    assert_eq!(falling(&after), "B Ab F E");
}

/// The comping hand has b9 and b13, so the chord under the melody has them too.
#[test]
fn the_dressing_of_the_comping_hand_counts() {
    let chord = placed("C", "G7", "Cmaj7");
    let choices = guidehand_theory::tension::resolve(
        &chord.chord,
        &chord.function,
        Comping::default().requests,
    );
    assert_eq!(
        choices[3].others[..2]
            .iter()
            .map(|d| d.name())
            .collect::<Vec<_>>(),
        ["b9", "b13"]
    );
    let comped = Harmony {
        placed: chord,
        tensions: Some(choices[3]),
    };
    assert_eq!(falling(&four_way(None, "B4", &comped)), "B Ab F Eb");
    let voiced = pipeline::step(None, &chord, &Comping::default());
    let comped = Harmony {
        placed: chord,
        tensions: Some(voiced.tensions),
    };
    assert_eq!(falling(&four_way(None, "B4", &comped)), "B A F E");
}

/// The melody on top, drop 2 and double lead of one chord, and the hands.
#[test]
fn styles_lie_as_they_are_called() {
    let c = harmony("C", "C6", "");
    let in_style = |style, melody| {
        let taste = Taste {
            style,
            ..Taste::default()
        };
        let block = under::step(&taste, None, struck(melody), Some(&c));
        let notes = block
            .voicing
            .spelled(block.root.unwrap())
            .map(|p| p.to_string());
        let hand = block.voicing.left_hand;
        (
            notes.collect::<Vec<_>>().join(" "),
            hand,
            block.style,
            block.left_out,
        )
    };
    let close = Style::FourWayClose;
    let laid = |notes: &str, hand, style, left_out| (notes.to_owned(), hand, style, left_out);
    assert_eq!(in_style(close, "C5"), laid("E4 G4 A4 C5", 0, close, 0));
    let (drop, double) = (Style::DropTwo, Style::DoubleLead);
    assert_eq!(in_style(drop, "C5"), laid("A3 E4 G4 C5", 1, drop, 0));
    assert_eq!(in_style(double, "C5"), laid("C4 E4 G4 A4 C5", 1, double, 0));
    assert_eq!(in_style(drop, "E4"), laid("C3 G3 A3 E4", 1, drop, 0));
    assert_eq!(in_style(double, "E4"), laid("E3 G3 A3 C4 E4", 1, double, 0));
    // A2 and C3 are a minor third and too low for it. With the 9 for the root drop 2 is clear.
    assert_eq!(in_style(drop, "G3"), laid("E2 A2 D3 G3", 1, drop, 0));
    // G2 and A2 are too low for double lead, so it becomes close, and that without the root.
    assert_eq!(in_style(double, "G3"), laid("A2 E3 G3", 0, close, 1));
    assert_eq!(in_style(close, "G3"), laid("A2 E3 G3", 0, close, 1));
    assert_eq!(in_style(close, "G2"), laid("A1 G2", 0, close, 2));
}

/// A pinned voicing can leave out guide tones. The chord under the melody has them all the same,
/// and agrees with what is pinned.
#[test]
fn a_pinned_voicing_dresses_the_chord_under_the_melody() {
    let chord = placed("C", "G7", "Cmaj7");
    for (pinned, melody, expected) in [
        ("F3 Bb3 Eb4", "B4", "B G F Eb"),
        ("F3 Bb3 Eb4", "D5", "D B A# F"),
        ("F3 Ab3 B3", "B4", "B Ab F E"),
        ("F3 G3 B3 D4", "D5", "D B A F"),
    ] {
        let notes: Vec<MidiNote> = pinned.split(' ').map(note).collect();
        let voicing = pin::by_degree(&notes, &chord.chord, Hand::DEFAULT).unwrap();
        let comped = Harmony {
            placed: chord,
            tensions: Some(pipeline::pinned(&chord, &voicing).tensions),
        };
        let block = four_way(None, melody, &comped);
        assert_eq!(falling(&block), expected, "{pinned}");
    }
}

#[test]
fn what_lies_low_and_what_is_single_is_told() {
    let said = |style, symbol: &str, melody: &str| {
        let taste = Taste {
            style,
            ..Taste::default()
        };
        let harmony = harmony("C", symbol, "");
        let block = under::step(&taste, None, struck(melody), Some(&harmony));
        let low: Vec<String> = block.low().map(|low| low.to_string()).collect();
        (block.rule.to_string(), low.join("; "))
    };
    let told = |rule: &str, low: &str| (rule.to_owned(), low.to_owned());
    let (close, drop, double) = (Style::FourWayClose, Style::DropTwo, Style::DoubleLead);
    assert_eq!(said(double, "C6", "C5"), told("chord tone", ""));
    let close_first = "four-way close, double lead would lie too low";
    let fewer = "without a voice that would lie too low";
    let both = format!("{close_first}; {fewer}");
    assert_eq!(said(double, "C6", "G3"), told("chord tone", &both));
    assert_eq!(said(close, "C6", "G3"), told("chord tone", fewer));
    let two = "without 2 voices that would lie too low";
    assert_eq!(said(close, "C6", "G2"), told("chord tone", two));
    assert_eq!(said(drop, "C5", "G4"), told("chord tone", ""));
    let (alone, three) = (
        "single: too low for more voices",
        "without 3 voices that would lie too low",
    );
    assert_eq!(said(close, "C6", "C-1"), told(alone, three));
    let flat = Rule::Tension(Replacement {
        by: Degree::Flat9,
        of: Degree::Root,
    });
    assert_eq!(InWords(&flat, Sign::Unicode).to_string(), "♭9 for 1");
    let singles = [Why::NoChord, Why::Fast].map(|why| Rule::Single(why).to_string());
    assert_eq!(
        singles,
        ["single: no chord is known", "single: a fast line"]
    );
}
