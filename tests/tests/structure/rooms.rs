//! What the files of a room name of other crates.

use super::tables::Tables;
use crate::source::Crate;

/// One message for each path that the room of its file never names, and for each room that is
/// not there.
pub fn check(crates: &[&Crate], tables: &Tables) -> Vec<String> {
    let mut problems = Vec::new();
    for room in &tables.rooms {
        let inside = |file: &str| {
            let rest = file.strip_prefix(&room.path);
            rest.is_some_and(|rest| rest == ".rs" || rest.starts_with('/'))
        };
        let mut files = crates.iter().flat_map(|of| &of.files);
        if !files.any(|file| inside(file)) {
            problems.push(format!("DEVELOPERS.md: there is no room `{}`", room.path));
        }
        let named = crates.iter().flat_map(|of| &of.outside);
        for outside in named.filter(|outside| inside(&outside.file)) {
            for never in room.never.iter().filter(|never| outside.names(never)) {
                problems.push(format!(
                    "{}:{}: names `{outside}`, but `{}` never names `{never}`",
                    outside.file, outside.line, room.path
                ));
            }
        }
    }
    problems
}
