//! MusicXML documents that tests write by hand.

/// A score of parts with their names and their bars, with what stands before its list of parts.
pub fn score(head: &str, parts: &[(&str, String)]) -> String {
    let list = parts.iter().zip(1..).map(|((name, _), nth)| {
        format!("<score-part id=\"P{nth}\"><part-name>{name}</part-name></score-part>")
    });
    let list: String = list.collect();
    let parts = parts
        .iter()
        .zip(1..)
        .map(|((_, bars), nth)| format!("<part id=\"P{nth}\">{bars}</part>"));
    let parts: String = parts.collect();
    format!(
        "<score-partwise version=\"4.0\">{head}<part-list>{list}</part-list>{parts}</score-partwise>"
    )
}
