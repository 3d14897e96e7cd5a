//! The one place that compares the corpus's words for functions with those of the
//! program.

use guidehand_theory::key::Function;

/// What the program says of a function, without its key.
pub fn said(function: &Function) -> String {
    without_key(&function.to_string()).to_owned()
}

/// The program's words for a function, without the key at their end.
pub fn without_key(function: &str) -> &str {
    function
        .rsplit_once(" in ")
        .map_or(function, |(words, _)| words)
}

/// Whether the words of the corpus and the program's say the same. The case of numerals
/// counts. How a degree is spelled (#IV or bV) does not, nor the signs of half-diminished
/// and diminished chords, which follow from the symbol.
pub fn same(corpus: &str, program: &str) -> bool {
    canonical(corpus) == canonical(program)
}

fn canonical(words: &str) -> Vec<String> {
    let words = words
        .replace("common-tone", "common tone")
        .replace(',', " ");
    let words = words.split_whitespace();
    // `vii, leading tone` is plain `vii`, and what passes is diminished anyway.
    let said = words.filter(|word| !["diminished", "leading", "tone"].contains(word));
    said.map(|word| numeral(word).unwrap_or_else(|| word.to_owned()))
        .collect()
}

/// Semitones above the tonic and the case, for words that are numerals.
fn numeral(word: &str) -> Option<String> {
    let plain = word.trim_end_matches(['ø', '°', '+', '7']);
    let bare = plain.trim_start_matches(['b', '#']);
    let degree = match bare.to_uppercase().as_str() {
        "I" => 0,
        "II" => 2,
        "III" => 4,
        "IV" => 5,
        "V" => 7,
        "VI" => 9,
        "VII" => 11,
        _ => return None,
    };
    let sign = match plain.strip_suffix(bare)? {
        "" => 0,
        "b" => 11,
        "#" => 1,
        _ => return None,
    };
    let case = if bare.starts_with(char::is_lowercase) {
        "minor"
    } else {
        "major"
    };
    Some(format!("{case} on {}", (degree + sign) % 12))
}
