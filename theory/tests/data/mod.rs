//! The frozen tables beside this file: one row in each line, columns between bars, and
//! `#` before a remark. The tests and benchmarks of this crate use them.

/// The rows of a table with `N` columns; a row that ends early has empty ones.
pub fn rows<const N: usize>(table: &str) -> impl Iterator<Item = [&str; N]> {
    let lines = table
        .lines()
        .filter(|l| !l.is_empty() && !l.starts_with('#'));
    lines.map(|line| {
        let mut columns = line.split('|').map(str::trim);
        let row = std::array::from_fn(|_| columns.next().unwrap_or(""));
        assert_eq!(columns.next(), None, "too many columns: {line}");
        row
    })
}
