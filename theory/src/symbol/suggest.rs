//! What was perhaps meant by a symbol that could not be read. Each common slip is undone by
//! itself, and the first repair that can be read is suggested. Imports `grammar` and `error`.

use super::error::{SymbolError, SymbolProblem};
use super::grammar::read;
use crate::pitch::NoteNames;

/// Words as people mistype or abbreviate them.
const SLIPS: [(&str, &str); 21] = [
    ("hafl", "half"),
    ("halfdm", "halfdim"),
    ("half", "half-dim"),
    ("nt", "nat"),
    ("mjaor", "maj"),
    ("mjaj", "maj"),
    ("mja", "maj"),
    ("amj", "maj"),
    ("mj", "maj"),
    ("mn", "m"),
    ("dmi", "dim"),
    ("dm", "dim"),
    ("agu", "aug"),
    ("ssu", "sus"),
    ("su4", "sus4"),
    ("sis", "sus"),
    ("alterd", "alt"),
    ("hdim", "m7b5"),
    ("h7", "m7b5"),
    ("b10", "#9"),
    ("#10", "#9"),
];

#[cold]
pub(super) fn instead_of(text: &str, names: NoteNames, error: &SymbolError) -> Option<String> {
    let reads = |symbol: &String| symbol != text && read(symbol, names).is_ok();
    let bare = text.strip_prefix('(').and_then(|t| t.strip_suffix(')'));
    let root = with_root(bare.unwrap_or(text), names);
    if error.problem == SymbolProblem::Root {
        // If there is a second slip in the same symbol, the root is repaired first, then the
        // rest.
        let root = root?;
        return Some(root.clone()).filter(reads).or_else(|| {
            let rest = read(&root, names).err()?;
            endings(&root, names, &rest).into_iter().find(reads)
        });
    }
    endings(text, names, error).into_iter().find(reads)
}

/// The text with the German B natural or a small letter as a root.
fn with_root(text: &str, names: NoteNames) -> Option<String> {
    let mut chars = text.trim_start().chars();
    let root = match chars.next()? {
        'H' | 'h' if names == NoteNames::English => 'B',
        'h' => 'H',
        c @ 'a'..='g' => c.to_ascii_uppercase(),
        c => c,
    };
    Some(format!("{root}{}", chars.as_str().trim_end()))
}

/// Repairs after the root, the likeliest first.
fn endings(text: &str, names: NoteNames, error: &SymbolError) -> Vec<String> {
    let before = text.get(..error.at).unwrap_or("");
    let after = text.get(error.at + error.len..).unwrap_or("");
    let mut found = Vec::new();
    match error.problem {
        SymbolProblem::Bracket if error.found.is_empty() => found.push(format!("{text})")),
        SymbolProblem::Bracket => {
            let rest = error.found.get(1..).unwrap_or("");
            found.push(format!("{before}{rest}{after}"));
        }
        SymbolProblem::Bass => {
            found.extend(
                with_root(&error.found, names).map(|bass| format!("{before}{bass}{after}")),
            );
            found.extend(before.strip_suffix('/').map(str::to_owned));
        }
        SymbolProblem::Upper => found.extend(over_a_bass(text)),
        _ => {}
    }
    found.push(text.split_whitespace().collect());
    if names == NoteNames::English {
        found.extend(german(text));
    }
    if error.found.starts_with("alt") {
        let stem = before.trim_end_matches(|c: char| c.is_ascii_digit());
        found.push(format!("{stem}7{}{after}", error.found));
    }
    let behind_root = text.char_indices().nth(1).map_or(text.len(), |(at, _)| at);
    if let Some((root, rest)) = text.split_at_checked(behind_root) {
        // For `CMAJOR7`, `CmAj7` and `CSus4` in any case.
        found.push(format!("{root}{}", rest.to_lowercase()));
        for (slip, meant) in SLIPS {
            if let Some((start, end)) = rest.split_once(slip) {
                found.push(format!("{root}{start}{meant}{end}"));
            }
        }
    }
    found.extend(shorter(before, error, after));
    found
}

/// The symbol without its superfluous part.
fn shorter(before: &str, error: &SymbolError, after: &str) -> Option<String> {
    let found = error.found.as_str();
    let first = found.chars().next()?;
    let rest = match error.problem {
        // One degree, up to the end of its number.
        SymbolProblem::Clash => {
            let from = found.find(|c: char| c.is_ascii_digit()).unwrap_or(0);
            let number = found.get(from..)?.find(|c: char| !c.is_ascii_digit());
            number.map_or("", |end| found.get(from + end..).unwrap_or(""))
        }
        SymbolProblem::Suffix if first == '/' => "",
        SymbolProblem::Suffix if !first.is_ascii_digit() => found.get(first.len_utf8()..)?,
        _ => return None,
    };
    let before = if error.problem == SymbolProblem::Clash {
        before.trim_end_matches([',', ' '])
    } else {
        before
    };
    Some(format!("{before}{rest}{after}")).filter(|text| !text.is_empty())
}

/// The root's accidental as German names it: `Es7`, `Fis7`.
fn german(text: &str) -> Option<String> {
    let mut chars = text.chars();
    let letter = chars.next()?;
    let rest = chars.as_str();
    let sign = |ending, sign| {
        rest.strip_prefix(ending)
            .map(|r| format!("{letter}{sign}{r}"))
    };
    let flat = matches!(letter, 'E' | 'A') && !rest.starts_with("su");
    let short = if flat { sign("s", "b") } else { None };
    sign("is", "#").or_else(|| sign("es", "b")).or(short)
}

/// `Am7/D` for `Am7/D7`.
fn over_a_bass(text: &str) -> Option<String> {
    let (over, under) = text.rsplit_once('/')?;
    let signs = under.chars().skip(1).take_while(|c| "#b♯♭".contains(*c));
    let bass: String = under.chars().take(1).chain(signs).collect();
    Some(format!("{over}/{bass}"))
}
