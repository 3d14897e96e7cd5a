//! Names with music signs. Pure; the panel's thread. All words of the panel import it.

use guidehand_theory::chord::Chord;
use guidehand_theory::degree::Degree;
use guidehand_theory::pitch::{MidiNote, NoteName};
use guidehand_theory::symbol::{Sign, Symbol};
use guidehand_theory::words::{InWords, Words};

/// Names of scales, and what is wrong with a text, with music signs: `Bb` and `b9`
/// get flats, `backdoor` keeps its letters.
#[must_use]
pub fn with_signs(words: &str) -> String {
    let mut out = String::with_capacity(words.len() + 4);
    let mut rest = words;
    let mut starts_word = true;
    while let Some(first) = rest.chars().next() {
        let signs_at = usize::from(starts_word && first.is_ascii_uppercase());
        let tail = rest.get(signs_at..).unwrap_or("");
        let signs = tail.len() - tail.trim_start_matches(['b', '#']).len();
        let after = tail.get(signs..).and_then(|t| t.chars().next());
        let stands_alone = match after {
            Some(next) if signs_at == 0 => {
                next.is_ascii_digit() || matches!(next, 'I' | 'V') || begins_small_numeral(tail)
            }
            Some(next) => !next.is_ascii_lowercase(),
            None => signs_at == 1,
        };
        let note_or_degree = signs_at == 0 || matches!(first, 'A'..='G');
        if starts_word && signs > 0 && stands_alone && note_or_degree {
            out.push_str(rest.get(..signs_at).unwrap_or(""));
            let signs = tail.get(..signs).unwrap_or("");
            out.extend(signs.chars().map(|c| if c == 'b' { '♭' } else { '♯' }));
            rest = rest.get(signs_at + signs.len()..).unwrap_or("");
            starts_word = false;
        } else {
            out.push(first);
            rest = rest.get(first.len_utf8()..).unwrap_or("");
            starts_word = !first.is_alphanumeric();
        }
    }
    out
}

/// Whether a text begins with signs and a numeral in lower case: `bvi°`, `#ivø`.
fn begins_small_numeral(text: &str) -> bool {
    let word = text.trim_start_matches(['b', '#']);
    let numeral = word.trim_start_matches(['i', 'v']);
    let rest = numeral.trim_start_matches(['ø', '°']);
    numeral.len() < word.len() && !rest.starts_with(char::is_alphanumeric)
}

/// What the theory says, with music signs.
#[must_use]
pub fn words<T: Words>(what: &T) -> String {
    InWords(what, Sign::Unicode).to_string()
}

/// A note's name with music signs.
#[must_use]
pub fn note_name(name: NoteName) -> String {
    words(&name)
}

/// A degree's name with music signs.
#[must_use]
pub fn degree_name(degree: Degree) -> String {
    words(&degree)
}

/// A key on the keyboard by its plain name: sharps, middle C is C4.
#[must_use]
pub fn key_name(note: MidiNote) -> String {
    const NAMES: [&str; 12] = [
        "C", "C♯", "D", "D♯", "E", "F", "F♯", "G", "G♯", "A", "A♯", "B",
    ];
    let name = NAMES.get(usize::from(note.class().number()));
    format!(
        "{}{}",
        name.unwrap_or(&""),
        i32::from(note.number() / 12) - 1
    )
}

/// A chord symbol with music signs.
#[must_use]
pub fn symbol(chord: &Chord) -> String {
    Symbol(chord, Sign::Unicode).to_string()
}
