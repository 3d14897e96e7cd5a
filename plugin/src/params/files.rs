//! The files that were used last, as they are saved. The host's main thread and the panel use
//! them; the audio thread never does. Imports `document`; `params` and `editor` import it.

use crate::document::Unknown;
use nice_plug::params::persist::PersistentField;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use std::sync::{Mutex, MutexGuard, PoisonError};

/// So many files are remembered.
const MOST_RECENT: usize = 8;
/// The longest path that is remembered, in bytes: the longest that Linux opens (`PATH_MAX`).
const LONGEST_PATH: usize = 4096;

/// What is saved of files. A missing value is the default.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct FilesField {
    /// The paths that were used last, the newest first.
    #[serde(default)]
    recent: Vec<String>,
    /// What a later version has saved.
    #[serde(flatten)]
    later: Unknown,
}

/// What is saved of files, shared by the host and the panel.
#[derive(Debug, Default)]
pub struct FilesCell(Mutex<FilesField>);

impl FilesCell {
    fn lock(&self) -> MutexGuard<'_, FilesField> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The paths that were used last, the newest first.
    #[must_use]
    pub fn recent(&self) -> Vec<String> {
        self.lock().recent.clone()
    }

    /// Remembers other paths, within the limits. Returns whether they are others.
    pub fn set_recent(&self, paths: Vec<String>) -> bool {
        let paths = limited(paths);
        let mut saved = self.lock();
        let differ = saved.recent != paths;
        saved.recent = paths;
        differ
    }
}

/// The first of these paths, each once.
fn limited(mut paths: Vec<String>) -> Vec<String> {
    let mut seen = BTreeSet::new();
    paths.retain(|path| {
        let is_path = !path.trim().is_empty() && path.len() <= LONGEST_PATH;
        is_path && seen.insert(path.clone())
    });
    paths.truncate(MOST_RECENT);
    paths
}

impl<'a> PersistentField<'a, FilesField> for FilesCell {
    fn set(&self, mut new_value: FilesField) {
        new_value.recent = limited(new_value.recent);
        *self.lock() = new_value;
    }

    fn map<F, R>(&self, f: F) -> R
    where
        F: Fn(&FilesField) -> R,
    {
        f(&self.lock())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn loaded(json: &str) -> FilesCell {
        let cell = FilesCell::default();
        cell.set(serde_json::from_str(json).unwrap());
        cell
    }

    #[test]
    fn what_is_saved_comes_back_with_what_a_later_version_saved() {
        let cell = loaded(r#"{"recent":["/b.mid","/a.mid"],"later":[1]}"#);
        assert_eq!(cell.recent(), ["/b.mid", "/a.mid"]);
        assert!(cell.set_recent(vec!["/c.mid".to_owned(), "/b.mid".to_owned()]));
        assert!(!cell.set_recent(cell.recent()), "nothing changes");
        let json = cell.map(|field| serde_json::to_string(field).unwrap());
        assert_eq!(json, r#"{"recent":["/c.mid","/b.mid"],"later":[1]}"#);
        assert_eq!(loaded(&json).recent(), cell.recent());
        assert_eq!(loaded("{}").recent(), [""; 0]);
    }

    #[test]
    fn eight_files_are_remembered_and_each_once() {
        let mut paths: Vec<String> = (0..20).map(|nth| format!("/{nth}.mid")).collect();
        paths.insert(1, paths[0].clone());
        paths.insert(2, " ".to_owned());
        paths.insert(3, "x".repeat(LONGEST_PATH + 1));
        let json = serde_json::to_string(&FilesField {
            recent: paths.clone(),
            ..FilesField::default()
        });
        let expected: Vec<String> = (0..8).map(|nth| format!("/{nth}.mid")).collect();
        assert_eq!(loaded(&json.unwrap()).recent(), expected);
        let cell = FilesCell::default();
        assert!(cell.set_recent(paths));
        assert_eq!(cell.recent(), expected);
    }
}
