//! What an edit of a text has changed, and where the places of the text before are in the
//! text after it. The panel runs it; `model` and `panel` import it. Imports nothing of the
//! crate.

use std::ops::Range;

/// What lies between the beginning and the end that two texts share. Places are in bytes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Edit {
    start: usize,
    before_end: usize,
    after_end: usize,
}

impl Edit {
    /// The edit that makes one text of another; the default one if they are the same.
    #[must_use]
    pub fn between(before: &str, after: &str) -> Edit {
        if before == after {
            // Nearly always it is so, and this is quicker to find.
            return Edit::default();
        }
        let start = same_start(before.as_bytes(), after.as_bytes());
        // Bytes that are the same begin and end characters at the same places.
        let start = before.floor_char_boundary(start);
        let (rest_before, rest_after) = (before.get(start..), after.get(start..));
        let (rest_before, rest_after) = (rest_before.unwrap_or(""), rest_after.unwrap_or(""));
        let end = same_end(rest_before.as_bytes(), rest_after.as_bytes());
        let end = rest_after.len() - rest_after.ceil_char_boundary(rest_after.len() - end);
        Edit {
            start,
            before_end: before.len() - end,
            after_end: after.len() - end,
        }
    }

    /// The part of the text before that is not in the text after.
    #[must_use]
    pub const fn taken(&self) -> Range<usize> {
        self.start..self.before_end
    }

    /// The part of the text after that is not in the text before.
    #[must_use]
    pub const fn put(&self) -> Range<usize> {
        self.start..self.after_end
    }

    /// Where a place of the text before is in the text after. Places in what was taken
    /// are at its end.
    #[must_use]
    pub const fn moved(&self, at: usize) -> usize {
        if at <= self.start {
            at
        } else if at < self.before_end {
            self.after_end
        } else {
            at - self.before_end + self.after_end
        }
    }

    /// Where a part of the text before is in the text after.
    #[must_use]
    pub const fn moved_part(&self, part: &Range<usize>) -> Range<usize> {
        self.moved(part.start)..self.moved(part.end)
    }

    /// Where a place of the text after was in the text before. Places in what was put
    /// were at its end.
    #[must_use]
    pub const fn back(&self, at: usize) -> usize {
        let undone = Edit {
            start: self.start,
            before_end: self.after_end,
            after_end: self.before_end,
        };
        undone.moved(at)
    }
}

/// How many bytes are compared at once. A long text takes too long byte by byte.
const BLOCK: usize = 256;

/// How many bytes are the same at the start of both.
fn same_start(one: &[u8], other: &[u8]) -> usize {
    let blocks = one.chunks(BLOCK).zip(other.chunks(BLOCK));
    let blocks = blocks.take_while(|(one, other)| one == other);
    let start: usize = blocks.map(|(block, _)| block.len()).sum();
    let (one, other) = (one.get(start..), other.get(start..));
    let rest = one.into_iter().flatten().zip(other.into_iter().flatten());
    start + rest.take_while(|(one, other)| one == other).count()
}

/// How many bytes are the same at the end of both.
fn same_end(one: &[u8], other: &[u8]) -> usize {
    let blocks = one.rchunks(BLOCK).zip(other.rchunks(BLOCK));
    let blocks = blocks.take_while(|(one, other)| one == other);
    let end: usize = blocks.map(|(block, _)| block.len()).sum();
    let rest = |bytes: &[u8]| bytes.len() - end;
    let (one, other) = (one.get(..rest(one)), other.get(..rest(other)));
    let one = one.into_iter().flatten().rev();
    let rest = one.zip(other.into_iter().flatten().rev());
    end + rest.take_while(|(one, other)| one == other).count()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_changed_is_found() {
        let put = |before: &str, after: &str| Edit::between(before, after).put();
        assert_eq!(put("| C |", "| C6 |"), 3..4);
        assert_eq!(put("| C6 |", "| C |"), 3..3);
        assert_eq!(put("aa", "aaa"), 2..3);
        assert_eq!(put("A♭7", "A♯7"), 1..4);
        assert_eq!(put("", ""), 0..0);
    }

    /// The texts around an edit are the same, and their places move with it.
    #[test]
    fn places_move_with_what_stands_there() {
        let long = "| Dm7 | G7 |".repeat(100);
        let longer = format!("{long} {long}");
        let other = longer.replacen("G7", "G♭7", 70);
        let texts = [
            long.as_str(),
            &longer,
            &other,
            "",
            "♭",
            "♯",
            "| C |",
            "| C♭ |",
            "| C♯ |",
            "| D |",
            "|| C |",
            "| C | C |",
        ];
        for before in texts {
            for after in texts {
                let edit = Edit::between(before, after);
                let (taken, put) = (edit.taken(), edit.put());
                assert_eq!(before[..taken.start], after[..put.start]);
                assert_eq!(before[taken.end..], after[put.end..]);
                assert_eq!(edit == Edit::default(), before == after);
                let outside = |at: &usize| *at <= taken.start || *at >= taken.end;
                for (at, _) in before.char_indices().filter(|(at, _)| outside(at)) {
                    let there = edit.moved(at);
                    assert!(after.is_char_boundary(there), "{before} {after} {at}");
                    if at < taken.start || at > taken.end {
                        assert_eq!(before[at..].chars().next(), after[there..].chars().next());
                        assert_eq!(edit.back(there), at);
                    }
                }
            }
        }
    }
}
