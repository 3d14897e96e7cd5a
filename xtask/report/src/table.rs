//! Text in columns. Imports nothing.

/// Rows in columns that are as wide as their widest cell, with two spaces between them. Cells
/// stand to the left; a cell that is to stand to the right comes already padded.
pub(crate) fn aligned<const N: usize>(rows: &[[String; N]]) -> String {
    let widths = widths(rows);
    let line = |row: &[String; N]| {
        let cells = row.iter().zip(widths);
        let padded = cells.map(|(cell, width)| format!("{cell:<width$}"));
        let line: Vec<String> = padded.collect();
        format!("{}\n", line.join("  ").trim_end())
    };
    rows.iter().map(line).collect()
}

/// The characters of the widest cell of each column.
pub(crate) fn widths<const N: usize>(rows: &[[String; N]]) -> [usize; N] {
    let mut widths = [0; N];
    for row in rows {
        for (width, cell) in widths.iter_mut().zip(row) {
            *width = (*width).max(cell.chars().count());
        }
    }
    widths
}

/// A beat with at most two digits of its fraction.
pub(crate) fn beat_cell(beat: f64) -> String {
    let beat = format!("{beat:.2}");
    beat.trim_end_matches('0').trim_end_matches('.').to_owned()
}
