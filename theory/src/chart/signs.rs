//! The words that musicians write for the road through a chart, for its sections and for
//! silence. Imports `marks` and `limits`.
//!
//! Common practice, no published source. The signs of segno and coda are those of Unicode's
//! block of musical symbols.

use super::{Jump, MOST_TIMES, Section, SectionName, Start, Until};

/// What one or more words mean together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Phrase {
    Segno,
    Coda,
    EitherCoda,
    ToCoda,
    Fine,
    Jump(Jump),
    Pickup,
    Even,
    Silence,
}

const fn jump(from: Start) -> Phrase {
    Phrase::Jump(Jump {
        from,
        until: Until::End,
    })
}

/// The words in lower case. The first one that fits counts, so longer ones come first. A space
/// stands for one or more spaces.
const PHRASES: [(&str, Phrase); 27] = [
    ("segno:", Phrase::Segno),
    ("segno", Phrase::Segno),
    ("\u{1d10b}", Phrase::Segno),
    ("coda:", Phrase::Coda),
    ("coda", Phrase::Coda),
    ("\u{1d10c}", Phrase::EitherCoda),
    ("to coda", Phrase::ToCoda),
    ("to \u{1d10c}", Phrase::ToCoda),
    ("fine", Phrase::Fine),
    ("d.c.", jump(Start::Beginning)),
    ("d.c", jump(Start::Beginning)),
    ("dc", jump(Start::Beginning)),
    ("da capo", jump(Start::Beginning)),
    ("d.s.", jump(Start::Segno)),
    ("d.s", jump(Start::Segno)),
    ("ds", jump(Start::Segno)),
    ("dal segno", jump(Start::Segno)),
    ("d.\u{1d10b}", jump(Start::Segno)),
    ("pickup", Phrase::Pickup),
    ("pick-up", Phrase::Pickup),
    ("even", Phrase::Even),
    ("n.c.", Phrase::Silence),
    ("n.c", Phrase::Silence),
    ("nc", Phrase::Silence),
    ("no chord", Phrase::Silence),
    ("tacet", Phrase::Silence),
    ("fine.", Phrase::Fine),
];

/// How far a jump goes.
const UNTIL: [(&str, Until); 4] = [
    ("al fine", Until::Fine),
    ("al coda", Until::Coda),
    ("al \u{1d10c}", Until::Coda),
    ("alla coda", Until::Coda),
];

/// The words at the start of a text, and their length in bytes.
pub(super) fn phrase(text: &str) -> Option<(usize, Phrase)> {
    let mut found = PHRASES.iter();
    let (length, phrase) =
        found.find_map(|(words, phrase)| Some((spoken(text, words)?, *phrase)))?;
    let Phrase::Jump(jump) = phrase else {
        return Some((length, phrase));
    };
    let rest = text.get(length..).unwrap_or("");
    let gap = rest.len() - rest.trim_start_matches(' ').len();
    let until = UNTIL.iter().find_map(|(words, until)| {
        let more = spoken(rest.get(gap..)?, words)?;
        Some((more, *until))
    });
    Some(match until {
        Some((more, until)) => (length + gap + more, Phrase::Jump(Jump { until, ..jump })),
        None => (length, phrase),
    })
}

/// The length of these words in bytes, if a text begins with them in any case, and a space or a
/// bar line follows.
fn spoken(text: &str, words: &str) -> Option<usize> {
    let mut rest = text;
    for (word, nth) in words.split(' ').zip(0..) {
        let trimmed = rest.trim_start_matches(' ');
        if nth > 0 && trimmed.len() == rest.len() {
            return None;
        }
        let (head, tail) = trimmed.split_at_checked(word.len())?;
        if !head.eq_ignore_ascii_case(word) {
            return None;
        }
        rest = tail;
    }
    let next = rest.trim_start_matches(':').chars().next();
    let colons = rest.starts_with(':') && next != Some('|');
    let ends = next.is_none_or(|c| c.is_whitespace() || c == '|');
    (ends && !colons).then(|| text.len() - rest.len())
}

/// The text after `Title:` in a line.
pub(super) fn after_title(line: &str) -> Option<&str> {
    const WORD: &str = "title:";
    let (head, tail) = line.split_at_checked(WORD.len())?;
    head.eq_ignore_ascii_case(WORD).then(|| tail.trim())
}

/// How often a repeat is played, from `x3` or `3x`. `None` if the word is nothing of the kind,
/// `Some(None)` if the number is out of range.
pub(super) fn times(word: &str) -> Option<Option<u8>> {
    let sign = |c| matches!(c, 'x' | 'X' | '×');
    let number = word
        .strip_prefix(sign)
        .or_else(|| word.strip_suffix(sign))?;
    if number.is_empty() || !number.bytes().all(|b| b.is_ascii_digit()) {
        return None;
    }
    let number = number.parse().ok();
    Some(number.filter(|n| (2..=MOST_TIMES).contains(n)))
}

/// The words that name sections.
const SECTIONS: [&str; 15] = [
    "Intro",
    "Head",
    "Verse",
    "Chorus",
    "Refrain",
    "Bridge",
    "Theme",
    "Interlude",
    "Solo",
    "Solos",
    "Vamp",
    "Break",
    "Tag",
    "Ending",
    "Outro",
];

/// The name of a section, without its brackets or its colon.
pub(super) fn section(name: &str) -> Option<Section> {
    let word = SECTIONS.into_iter().find_map(|word| {
        let (head, rest) = name.split_at_checked(word.len())?;
        let known = head.eq_ignore_ascii_case(word) && !rest.starts_with(char::is_alphabetic);
        known.then_some((SectionName::Word(word), rest))
    });
    let letter = || {
        let mut chars = name.chars();
        let letter = chars.next().filter(char::is_ascii_uppercase)?;
        Some((SectionName::Letter(letter), chars.as_str()))
    };
    let (name, rest) = word.or_else(letter)?;
    let (digit, primes) = match rest.as_bytes() {
        [digit @ b'1'..=b'9'] => (digit - b'0', 0),
        _ => {
            let prime = |c| matches!(c, '\'' | '’' | '′');
            let primes = u8::try_from(rest.chars().count()).ok()?;
            if primes > 3 || !rest.chars().all(prime) {
                return None;
            }
            (0, primes)
        }
    };
    Some(Section {
        name,
        digit,
        primes,
    })
}
