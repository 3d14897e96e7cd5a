//! The tables of DEVELOPERS.md: the order of the modules in each folder, and what a folder
//! never names.

use std::collections::BTreeMap;

/// What the tables say.
#[derive(Debug, Default)]
pub struct Tables {
    /// The modules of a folder from the top.
    pub order: BTreeMap<String, Vec<String>>,
    /// What each room never names, in the order of the rows.
    pub rooms: Vec<Room>,
    /// Rows and tables that cannot be read.
    pub problems: Vec<String>,
}

/// A folder or file, and crates and paths of other crates that it never names.
#[derive(Debug)]
pub struct Room {
    pub path: String,
    pub never: Vec<String>,
}

/// What a table is, by its head.
enum Table {
    /// One folder, a row for each module.
    Folder(String),
    /// A folder in each row.
    Folders,
    Rooms,
    Other,
}

impl Tables {
    /// Reads all tables of a text in Markdown.
    pub fn read(text: &str) -> Self {
        let mut tables = Self::default();
        let mut lines = text.lines();
        while let Some(line) = lines.next() {
            if !line.starts_with('|') {
                continue;
            }
            let table = tables.table(line);
            let rows = lines.by_ref().take_while(|line| line.starts_with('|'));
            for row in rows.filter(|row| !row.starts_with("|---")) {
                tables.row(&table, row);
            }
        }
        tables
    }

    fn table(&mut self, head: &str) -> Table {
        match cells(head)[..] {
            ["folder", "holds, from the top"] => Table::Folders,
            ["room", "never names"] => Table::Rooms,
            [folder, "holds"] if folder.contains('/') => {
                self.folder(folder, Vec::new());
                Table::Folder(folder.to_owned())
            }
            _ => Table::Other,
        }
    }

    fn folder(&mut self, folder: &str, modules: Vec<String>) {
        if self.order.insert(folder.to_owned(), modules).is_some() {
            self.problem(format!("two tables for `{folder}`"));
        }
    }

    fn problem(&mut self, what: String) {
        self.problems.push(format!("DEVELOPERS.md: {what}"));
    }

    fn row(&mut self, table: &Table, row: &str) {
        let (first, second) = match cells(row)[..] {
            [first, second] => (first, second),
            _ if matches!(table, Table::Other) => return,
            _ => return self.problem(format!("not two cells: {row}")),
        };
        match (table, &quoted(first)[..]) {
            (Table::Other, _) => {}
            (Table::Folder(folder), [module]) => {
                let order = self.order.entry(folder.clone()).or_default();
                order.push(module.clone());
            }
            (Table::Folders, [folder]) => {
                let parts = second.split("; ").map(quoted);
                let modules = parts.filter_map(|names| names.into_iter().next());
                self.folder(folder, modules.collect());
            }
            (Table::Rooms, [path]) => self.rooms.push(Room {
                path: path.clone(),
                never: quoted(second),
            }),
            _ => self.problem(format!("not one name in the first cell: {row}")),
        }
    }
}

fn cells(row: &str) -> Vec<&str> {
    let row = row.trim_matches('|');
    row.split('|').map(str::trim).collect()
}

/// What stands between backticks.
fn quoted(text: &str) -> Vec<String> {
    let parts = text.split('`').skip(1).step_by(2);
    parts.map(str::to_owned).collect()
}
