//! Which line of a file is its melody. Imports `found` and `melodies`.

use crate::found::{self, ImportError};
use crate::melodies::Line;
use std::cmp::Reverse;

/// Words in the names of lines that carry the melody.
const NAMES: [&str; 10] = [
    "melody", "lead", "tune", "theme", "head", "vocal", "vocals", "voice", "solo", "singer",
];

impl Line {
    /// Whether it says that it is a melody: by its name, or as a line of single notes under the chord
    /// symbols.
    #[must_use]
    pub fn says_so(&self) -> bool {
        self.is_named() || self.has_symbols && self.is_single()
    }

    fn is_named(&self) -> bool {
        let name = self.name.to_lowercase();
        let mut words = name.split(|c: char| !c.is_alphanumeric());
        words.any(|word| NAMES.contains(&word))
    }

    /// Whether most of its notes sound alone.
    const fn is_single(&self) -> bool {
        self.below * 4 <= self.notes
    }

    fn mean_key(&self) -> u64 {
        let notes = u64::try_from(self.notes).unwrap_or(u64::MAX);
        self.keys * 16 / notes.max(1)
    }
}

/// Marks the line that is the melody, and returns its index with a sentence about the choice.
/// Without a wish it is a line whose name says so, or else one with chord symbols, or else the
/// highest one. A line of single notes goes before one of chords.
///
/// # Errors
/// There is no line, or none of this name.
pub(crate) fn choose(
    lines: &mut [Line],
    wish: Option<&str>,
) -> Result<(usize, Option<String>), ImportError> {
    let unknown = |lines: &[Line]| ImportError::NoLine {
        name: wish.unwrap_or("").trim().chars().take(80).collect(),
        lines: lines.iter().map(|line| line.name.clone()).collect(),
    };
    let chosen = match wish {
        Some(wish) => {
            let wish = wish.trim().to_lowercase();
            lines
                .iter()
                .position(|line| line.name.to_lowercase() == wish)
        }
        None => {
            let rank = |(index, line): &(usize, &Line)| {
                let single = line.is_single();
                let order = Reverse(*index);
                (
                    line.is_named() && single,
                    line.is_named(),
                    line.has_symbols && single,
                    single,
                    line.has_symbols,
                    line.mean_key(),
                    order,
                )
            };
            let best = lines.iter().enumerate().max_by_key(rank);
            best.map(|(index, _)| index)
        }
    };
    let chosen = chosen.ok_or_else(|| unknown(lines))?;
    for (index, line) in lines.iter_mut().enumerate() {
        line.is_taken = index == chosen;
    }
    let taken = lines.iter().find(|line| line.is_taken);
    let others: Vec<&str> = lines
        .iter()
        .filter(|line| !line.is_taken)
        .map(|line| line.name.as_str())
        .collect();
    let verb = if others.len() == 1 { "has" } else { "have" };
    let remark = taken.filter(|_| !others.is_empty()).map(|taken| {
        let names = found::quoted(&others);
        format!(
            "The melody is that of \"{}\"; {names} {verb} notes too.",
            taken.name
        )
    });
    Ok((chosen, remark))
}
