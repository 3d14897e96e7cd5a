//! Which scale comes first over what sounds, and why, row by row. Common practice, no
//! published source.

use guidehand_theory::chord::Chord;
use guidehand_theory::degree::{Degree, DegreeSet};
use guidehand_theory::key::{self, Function, Key, Resolution, Role};
use guidehand_theory::scale::{self, Reason, Suggestion, Suggestions};
use guidehand_theory::symbol;

/// A chord in a key, with what sounds over it.
struct Case {
    chord: Chord,
    function: Function,
    sounding: DegreeSet,
}

/// A chord as it stands alone in a key; the degrees that sound by name.
fn over(symbol: &str, key: &str, sounding: &str) -> Case {
    let chord = symbol::parse(symbol).unwrap();
    let degree = |name| Degree::from_name(name).unwrap_or_else(|| panic!("no degree {name}"));
    Case {
        chord,
        function: key::live(&chord, Key::parse(key).unwrap()),
        sounding: sounding.split_whitespace().map(degree).collect(),
    }
}

impl Case {
    fn resolution(mut self, resolution: Resolution) -> Case {
        self.function.resolution = resolution;
        self
    }

    fn role(mut self, role: Role) -> Case {
        self.function.role = role;
        self
    }

    fn two(mut self, is_two: bool) -> Case {
        self.function.is_two = is_two;
        self
    }

    fn all(&self) -> Suggestions {
        scale::suggest(&self.chord, self.sounding, &self.function)
    }

    /// Root, name and notes of the first scale.
    fn first(&self) -> String {
        let all = self.all();
        let notes: Vec<_> = all[0].notes().map(|n| n.to_string()).collect();
        format!("{}: {}", title(&all[0]), notes.join(" "))
    }

    /// Root and name of every scale.
    fn titles(&self) -> Vec<String> {
        self.all().iter().map(title).collect()
    }

    fn starts(&self, expected: &[&str]) {
        let titles = self.titles();
        assert!(
            titles.iter().zip(expected).all(|(a, b)| a == b) && titles.len() >= expected.len(),
            "{titles:?} instead of {expected:?}"
        );
    }

    fn named(&self, title: &str) -> Option<Suggestion> {
        let all = self.all();
        let at = self.titles().iter().position(|t| t == title)?;
        Some(all[at])
    }
}

fn title(suggestion: &Suggestion) -> String {
    format!("{} {}", suggestion.root, suggestion.scale.name)
}

#[test]
fn dominants() {
    for (symbol, key, sounding, first) in [
        ("G7", "C", "3 b7 9 13", "G Mixolydian: G A B C D E F"),
        ("G7", "C", "3 b7 9 5", "G Mixolydian: G A B C D E F"),
        ("G7", "C", "3 b7", "G Mixolydian: G A B C D E F"),
        ("G7", "C", "3 b7 9 #11", "G Lydian dominant: G A B C# D E F"),
        (
            "G7",
            "C",
            "3 b7 9 #11 13",
            "G Lydian dominant: G A B C# D E F",
        ),
        (
            "G7",
            "C",
            "3 b7 b9 13",
            "G half-whole diminished: G Ab A# B C# D E F",
        ),
        (
            "G7",
            "C",
            "3 b7 #9 13",
            "G half-whole diminished: G Ab A# B C# D E F",
        ),
        (
            "G7",
            "C",
            "3 b7 b9 #11 13",
            "G half-whole diminished: G Ab A# B C# D E F",
        ),
        ("G7", "Cm", "3 b7 b9 b13", "G altered: G Ab A# B C# Eb F"),
        ("G7", "C", "3 b7 #9 b13", "G altered: G Ab A# B C# Eb F"),
        (
            "G7",
            "Cm",
            "3 b7 b9 b13 5",
            "G Phrygian dominant: G Ab B C D Eb F",
        ),
        (
            "G7",
            "Cm",
            "3 b7 9 b13 5",
            "G Mixolydian b13: G A B C D Eb F",
        ),
        ("G7#5", "C", "3 b7 9 #5", "G whole tone: G A B C# D# F"),
        ("G7alt", "Cm", "3 b7", "G altered: G Ab A# B C# Eb F"),
        ("G7alt", "C", "3 b7 #9 b13", "G altered: G Ab A# B C# Eb F"),
        ("G7sus4", "C", "4 b7 9 13", "G Mixolydian: G A B C D E F"),
        (
            "G7sus(b9)",
            "C",
            "4 5 b7 b9",
            "G Dorian b9: G Ab A# C D E F",
        ),
        (
            "G7sus(b9)",
            "C",
            "4 13 b7 b9",
            "G Dorian b9: G Ab A# C D E F",
        ),
        (
            "G7sus(b9,b13)",
            "Cm",
            "4 b13 b7 b9",
            "G Phrygian: G Ab A# C D Eb F",
        ),
    ] {
        let case = over(symbol, key, sounding);
        assert_eq!(case.first(), first, "{symbol} with {sounding} in {key}");
    }
}

/// Where no tension decides, the goal of the dominant decides.
#[test]
fn dominants_by_where_they_go() {
    for sounding in ["3 b7 9 13", "3 b7 9 5", "3 b7"] {
        let substitute = over("Db7", "C", sounding).resolution(Resolution::HalfStep);
        substitute.starts(&["Db Lydian dominant", "Db Mixolydian"]);
        let backdoor = over("Bb7", "C", sounding).resolution(Resolution::Backdoor);
        backdoor.starts(&["Bb Lydian dominant", "Bb Mixolydian"]);
        let six = over("Ab7", "C", sounding).resolution(Resolution::ToTheDominant);
        six.starts(&["Ab Lydian dominant", "Ab Mixolydian"]);
        let two = over("D7", "C", sounding).resolution(Resolution::ToTheDominant);
        two.starts(&["D Lydian dominant", "D Mixolydian"]);
        let backdoor = over("Bb7", "C", sounding).resolution(Resolution::Rest);
        backdoor
            .role(Role::Backdoor)
            .starts(&["Bb Lydian dominant"]);

        over("G7", "C", sounding).starts(&["G Mixolydian"]);
    }
    // What sounds comes first.
    let substitute = over("Db7", "C", "3 b7 b9 b13").resolution(Resolution::HalfStep);
    substitute.starts(&["Db altered"]);
    // The key of the minor chord that a dominant leads to.
    let to_minor = over("A7", "C", "3 b7").resolution(Resolution::FifthToMinor);
    to_minor.starts(&["A Phrygian dominant", "A Mixolydian b13"]);
    over("G7", "Cm", "3 b7 b9").starts(&["G Phrygian dominant"]);
    over("G7", "Cm", "3 b7 9 5").starts(&["G Mixolydian b13"]);
    over("G7", "Cm", "3 b7 9 13").starts(&["G Mixolydian"]);
}

#[test]
fn augmented_chords() {
    assert_eq!(
        over("G+", "C", "3 #5").first(),
        "G whole tone: G A B C# D# F"
    );
    assert_eq!(
        over("G7#5", "C", "3 b7 9").first(),
        "G whole tone: G A B C# D# F"
    );
    over("G+", "Cm", "3 #5").starts(&["G altered", "G whole tone"]);
    over("G7#5", "Cm", "3 b7").starts(&["G altered", "G whole tone"]);
    // 9 is not in the altered scale, b9 not in the whole-tone scale.
    over("G7#5", "Cm", "3 b7 9").starts(&["G whole tone"]);
    over("G7#5", "C", "3 b7 b9").starts(&["G altered"]);
    let to_minor = over("A7#5", "C", "3 b7").resolution(Resolution::FifthToMinor);
    to_minor.starts(&["A altered", "A whole tone"]);
    // On the third degree of minor it is not a dominant.
    over("Eb+", "Cm", "3 #5").starts(&["Eb Ionian augmented", "Eb Lydian augmented"]);
}

#[test]
fn major_chords() {
    for (symbol, key, sounding, first) in [
        ("Cmaj7", "C", "3 7 9 5", "C Ionian: C D E F G A B"),
        ("Fmaj7", "C", "3 7 9 5", "F Lydian: F G A B C D E"),
        ("Cmaj7", "C", "3 7 9 #11", "C Lydian: C D E F# G A B"),
        ("Cmaj7#11", "C", "3 7 9", "C Lydian: C D E F# G A B"),
        ("Cmaj7b5", "C", "3 7 9", "C Lydian: C D E F# G A B"),
        ("Cmaj7b5", "F", "3 b5 7 9", "C Lydian: C D E F# G A B"),
        (
            "Cmaj7#5",
            "C",
            "3 #5 7 9",
            "C Lydian augmented: C D E F# G# A B",
        ),
        ("C", "C", "3 5 6 9", "C Ionian: C D E F G A B"),
        ("G", "C", "3 5 6 9", "G Mixolydian: G A B C D E F"),
        ("Abmaj7", "C", "3 7 9 5", "Ab Lydian: Ab Bb C D Eb F G"),
        ("Ebmaj7", "Cm", "3 7 9 5", "Eb Ionian: Eb F G Ab Bb C D"),
        ("C5", "Cm", "5 1 9", "C Aeolian: C D Eb F G Ab Bb"),
    ] {
        let case = over(symbol, key, sounding);
        assert_eq!(case.first(), first, "{symbol} with {sounding} in {key}");
    }
}

/// The ii of a ii-V is Dorian in whatever key the chart stands.
#[test]
fn the_minor_seventh_of_a_two_five() {
    for tonic in (-6..=6).map(guidehand_theory::pitch::NoteName::from_fifths) {
        for key in [
            format!("{tonic}"),
            format!("{tonic}m"),
            format!("{tonic} blues"),
        ] {
            for symbol in ["Dm7", "Dm", "Dm9", "Dm11", "Ebm7", "Am7", "Em7"] {
                for sounding in ["b3 b7", "b3 5 b7 9", "b3 11 b7 9"] {
                    let case = over(symbol, &key, sounding).two(true);
                    let first = case.all()[0];
                    assert_eq!(first.scale.name, "Dorian", "{symbol} in {key}");
                    assert_eq!(first.reason, Reason::TwoOfTwoFive);
                    let exotic = case.titles().iter().any(|t| t.ends_with("Dorian #11"));
                    assert!(!exotic, "{symbol} in {key}: {:?}", case.titles());
                }
            }
        }
    }
}

#[test]
fn other_minor_chords() {
    for (symbol, key, sounding, scales) in [
        // iii and vi that go nowhere as a ii: as the key holds them.
        ("Em7", "C", "b3 b7", &["E Phrygian", "E Aeolian"][..]),
        ("Em7", "C", "b3 5 b7 11", &["E Phrygian"]),
        // The 9 is not in the key.
        ("Em7", "C", "b3 5 b7 9", &["E Aeolian", "E Dorian"]),
        ("Am7", "C", "b3 5 b7 9", &["A Aeolian", "A Dorian"]),
        // Home in minor, and its iv.
        ("Cm7", "Cm", "b3 5 b7 9", &["C Dorian", "C Aeolian"]),
        ("Cm7", "Cm", "b3 b7", &["C Dorian", "C Aeolian"]),
        ("Fm7", "Cm", "b3 5 b7 9", &["F Dorian", "F Aeolian"]),
        ("Cm6", "Cm", "b3 5 6 9", &["C melodic minor", "C Dorian"]),
        ("Cm", "Cm", "b3 5 6 9", &["C melodic minor", "C Dorian"]),
        (
            "Cm(maj7)",
            "Cm",
            "b3 5 7 9",
            &["C melodic minor", "C harmonic minor"],
        ),
        // iv of a major key: the scale with fewer strangers to it.
        ("Fm6", "C", "b3 5 6 9", &["F melodic minor", "F Dorian"]),
        ("Dm6", "C", "b3 5 6 9", &["D Dorian"]),
        // From outside the key, as in modal tunes.
        ("Ebm7", "C", "b3 5 b7 9", &["Eb Dorian"]),
        ("Bbm7", "C", "b3 b7", &["Bb Dorian"]),
    ] {
        over(symbol, key, sounding).two(false).starts(scales);
    }
}

#[test]
fn half_diminished_chords() {
    for key in ["C", "Cm", "F", "Eb"] {
        for two in [false, true] {
            let plain = over("Dm7b5", key, "b3 b5 b7 1").two(two);
            assert_eq!(plain.first(), "D Locrian: D Eb F G Ab Bb C", "{key}");
            let eleventh = over("Dm7b5", key, "b3 b5 b7 11").two(two);
            assert_eq!(eleventh.first(), "D Locrian: D Eb F G Ab Bb C", "{key}");
            let ninth = over("Dm7b5", key, "b3 b5 b7 9").two(two);
            assert_eq!(
                ninth.first(),
                "D Locrian natural 9: D E F G Ab Bb C",
                "{key}"
            );
        }
    }
}

#[test]
fn diminished_sevenths() {
    let whole_half = "B whole-half diminished: B C# D E F G Ab A#";
    assert_eq!(over("Bdim7", "Cm", "b3 b5 bb7 1").first(), whole_half);
    for (symbol, key, notes) in [
        ("C#dim7", "C", "C# D E F G A Bb"),
        ("F#dim7", "C", "F# G A Bb C D Eb"),
        ("G#dim7", "C", "G# A B C D E F"),
        ("Bdim7", "C", "B C D Eb F G Ab"),
        ("Bdim7", "Cm", "B C D Eb F G Ab"),
        ("F#dim7", "C blues", "F# G A Bb C D Eb"),
    ] {
        let case = over(symbol, key, "b3 b5 bb7 1");
        let root = case.chord.root;
        case.starts(&[
            &format!("{root} whole-half diminished"),
            &format!("{root} super-Locrian bb7"),
        ]);
        let all = case.all();
        let spelled: Vec<_> = all[1].notes().map(|n| n.to_string()).collect();
        assert_eq!(spelled.join(" "), notes, "{symbol} in {key}");
        let avoid: Vec<_> = all[1].avoid.iter().map(Degree::name).collect();
        assert_eq!(avoid, ["b9", "b11"]);
    }
    // No chord of the key lies a half step above.
    let common_tone = over("Cdim7", "C", "b3 b5 bb7 1");
    assert_eq!(common_tone.titles(), ["C whole-half diminished"]);
    // A chord tone that is raised a whole step.
    over("Bdim7", "C", "b3 b5 bb7 9").starts(&["B whole-half diminished"]);
}

/// I7, IV7 and V7 of a blues, and a tonic in minor, take the blues scale of the key.
#[test]
fn the_blues() {
    for symbol in ["C7", "F7", "G7"] {
        let case = over(symbol, "C blues", "3 b7 9 13").resolution(Resolution::Rest);
        let root = case.chord.root;
        case.starts(&[&format!("{root} Mixolydian")]);
        let blues = case.named("C blues").unwrap();
        let notes: Vec<_> = blues.notes().map(|n| n.to_string()).collect();
        assert_eq!(notes.join(" "), "C Eb F F# G Bb");
        assert!(blues.partial && blues.avoid.is_empty());
    }
    let four = over("F7", "C blues", "3 b7 9 13").resolution(Resolution::Rest);
    four.starts(&["F Mixolydian", "F Lydian dominant"]);
    for symbol in ["D7", "Dm7", "F#dim7", "Ab7"] {
        assert_eq!(
            over(symbol, "C blues", "").named("C blues"),
            None,
            "{symbol}"
        );
    }
    for symbol in ["Cm7", "Cm", "Cm6"] {
        assert!(
            over(symbol, "Cm", "").named("C blues").is_some(),
            "{symbol}"
        );
    }
    for (symbol, key) in [("C7", "C"), ("Fm7", "Cm"), ("G7", "Cm"), ("Cm7", "Bb")] {
        let blues = over(symbol, key, "").titles();
        assert!(
            !blues.iter().any(|t| t.ends_with(" blues")),
            "{symbol} {key}"
        );
    }
    let blues = over("Db7", "Db blues", "").named("Db blues").unwrap();
    let notes: Vec<_> = blues.notes().map(|n| n.to_string()).collect();
    assert_eq!(notes.join(" "), "Db Fb Gb G Ab Cb");
}

#[test]
fn pentatonics() {
    for (symbol, key, sounding, pentatonic, notes) in [
        ("C6", "C", "3 5 6 9", "C major pentatonic", "C D E G A"),
        ("Cmaj7", "C", "3 5 7 9", "C major pentatonic", "C D E G A"),
        ("G7", "C", "3 b7 9 13", "G major pentatonic", "G A B D E"),
        ("Fmaj7", "C", "3 5 7 9", "G major pentatonic", "G A B D E"),
        ("Dm7", "C", "b3 5 b7 9", "D minor pentatonic", "D F G A C"),
        ("Dm7", "C", "b3 5 b7 9", "A minor pentatonic", "A C D E G"),
        ("G7sus4", "C", "4 b7 9 5", "D minor pentatonic", "D F G A C"),
        (
            "G7alt",
            "Cm",
            "3 b7 #9 b13",
            "Db major pentatonic",
            "Db Eb F Ab Bb",
        ),
    ] {
        let case = over(symbol, key, sounding);
        let found = case.named(pentatonic);
        let found = found.unwrap_or_else(|| panic!("{symbol}: {:?}", case.titles()));
        let spelled: Vec<_> = found.notes().map(|n| n.to_string()).collect();
        assert_eq!(spelled.join(" "), notes, "{symbol}");
    }
    // A sixth chord with its ninth is the whole pentatonic.
    let whole = over("C6", "C", "3 5 6 9").named("C major pentatonic");
    assert!(!whole.unwrap().partial);
    // None that clashes with an alteration.
    let altered = over("G7", "C", "3 b7 b9 13").titles();
    assert!(
        !altered.iter().any(|t| t.contains("pentatonic")),
        "{altered:?}"
    );
}

/// The bass counts as a chord tone.
#[test]
fn slash_chords() {
    for (symbol, key, sounding, first) in [
        ("G7/B", "C", "3 b7 9 13", "G Mixolydian: G A B C D E F"),
        // A minor chord over a bass that descends.
        ("Am", "Am", "b3 5", "A Dorian: A B C D E F# G"),
        ("Am/G#", "Am", "b3 5 1", "A melodic minor: A B C D E F# G#"),
        ("Am/G", "Am", "b3 5 1", "A Dorian: A B C D E F# G"),
        ("Am/F#", "Am", "b3 5 1", "A Dorian: A B C D E F# G"),
        // The bass brings the seventh.
        ("C/Bb", "C", "1 3 5", "C Mixolydian: C D E F G A Bb"),
        ("C/B", "G", "1 3 5", "C Lydian: C D E F# G A B"),
    ] {
        let case = over(symbol, key, sounding).two(false);
        assert_eq!(case.first(), first, "{symbol} in {key}");
        let bass = case.chord.bass.map(|b| b.class());
        for s in case.all().iter().filter(|s| !s.partial) {
            let has = |class| s.notes().any(|n| n.class() == class);
            let avoids = |class| s.avoid_notes().any(|n| n.class() == class);
            assert!(bass.is_none_or(|b| has(b) && !avoids(b)), "{symbol}: {s:?}");
        }
    }
}

/// A half step above a chord tone, the bass and an altered fifth among them.
#[test]
fn avoid_notes() {
    for (symbol, key, sounding, scale, avoid) in [
        ("Cmaj7", "C", "3 7 9", "C Ionian", "F"),
        ("Cmaj7", "C", "3 7 9", "C Lydian", ""),
        ("G7", "C", "3 b7 9 13", "G Mixolydian", "C"),
        ("G7", "C", "3 b7 9 13", "G bebop dominant", "C"),
        ("G7", "Cm", "3 b7 b9 b13", "G altered", ""),
        ("G7", "Cm", "3 b7 b9 b13 5", "G Phrygian dominant", "C"),
        ("Em7", "C", "b3 b7", "E Phrygian", "F C"),
        ("Am7", "C", "b3 b7", "A Aeolian", "F"),
        ("Dm7", "C", "b3 b7", "D Dorian", ""),
        ("Dm7b5", "Cm", "b3 b7", "D Locrian", "Eb"),
        ("Dm7b5", "Cm", "b3 b7 9", "D Locrian natural 9", ""),
        ("Bdim7", "Cm", "b3 b5", "B whole-half diminished", ""),
        ("Cmaj7b5", "C", "3 7 9", "C Lydian", "G"),
    ] {
        let case = over(symbol, key, sounding).two(false);
        let found = case.named(scale);
        let found = found.unwrap_or_else(|| panic!("{symbol}: {:?}", case.titles()));
        let notes: Vec<_> = found.avoid_notes().map(|n| n.to_string()).collect();
        assert_eq!(notes.join(" "), avoid, "{scale} over {symbol}");
    }
}
