//! A `use` as the single imports that it stands for.

use super::load::word;
use syn::spanned::Spanned;
use syn::{Ident, ItemUse, UseTree};

/// One import.
pub struct Leaf {
    /// An empty first segment stands for a leading `::`.
    pub path: Vec<String>,
    pub line: usize,
    pub brings: Brings,
}

/// What an import brings.
pub enum Brings {
    /// All that the path holds.
    All,
    /// Whatever has the name at the end of the path, under this name.
    Named(String),
    /// The module or type of the path alone, as `self` says, under this name.
    Itself(String),
}

/// The imports of a `use`, in the order of the text.
pub fn leaves(item: &ItemUse) -> Vec<Leaf> {
    let mut path = Vec::new();
    if item.leading_colon.is_some() {
        path.push(String::new());
    }
    let mut leaves = Vec::new();
    gather(&item.tree, &mut path, &mut leaves);
    leaves
}

fn gather(tree: &UseTree, path: &mut Vec<String>, leaves: &mut Vec<Leaf>) {
    match tree {
        UseTree::Path(part) => {
            path.push(word(&part.ident));
            gather(&part.tree, path, leaves);
            path.pop();
        }
        UseTree::Group(group) => {
            for tree in &group.items {
                gather(tree, path, leaves);
            }
        }
        UseTree::Name(last) => leaves.push(named(path, &last.ident, None)),
        UseTree::Rename(last) => leaves.push(named(path, &last.ident, Some(&last.rename))),
        UseTree::Glob(glob) => leaves.push(Leaf {
            path: path.clone(),
            line: glob.star_token.span().start().line,
            brings: Brings::All,
        }),
    }
}

fn named(path: &[String], last: &Ident, rename: Option<&Ident>) -> Leaf {
    let itself = last == "self" && !path.is_empty();
    let mut path = path.to_vec();
    if !itself {
        path.push(word(last));
    }
    let name = rename.map_or_else(|| path[path.len() - 1].clone(), word);
    Leaf {
        path,
        line: last.span().start().line,
        brings: match itself {
            true => Brings::Itself(name),
            false => Brings::Named(name),
        },
    }
}
