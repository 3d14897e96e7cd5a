//! The tree of a crate's modules and the names in each.

use std::collections::{BTreeSet, HashMap};

/// Rust keeps a name apart as a type or module, as a value, and as a macro.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Space(u8);

impl Space {
    pub const TYPE: Self = Self(1);
    pub const VALUE: Self = Self(2);
    pub const MACRO: Self = Self(4);
    pub const STRUCT: Self = Self(3);
    pub const ANY: Self = Self(7);

    pub fn meets(self, other: Self) -> bool {
        self.0 & other.0 != 0
    }
}

/// A name in a module.
#[derive(Debug, Clone)]
pub struct Name {
    pub space: Space,
    pub meaning: Meaning,
    /// Whether more than the module itself and what is in it can see the name.
    pub public: bool,
}

/// What a name stands for.
#[derive(Debug, Clone)]
pub enum Meaning {
    Module(usize),
    /// An item of the module itself.
    Item,
    /// What a `use` brings in, by its path. An empty first segment stands for a leading `::`.
    Use(Vec<String>),
}

/// A `use` of all that a path holds.
#[derive(Debug, Clone)]
pub struct Glob {
    pub path: Vec<String>,
    pub public: bool,
}

/// A module, or a block that declares items of its own.
#[derive(Debug, Default)]
pub struct Module {
    pub parent: Option<usize>,
    /// The module at the top of the tree: a library or a program.
    pub top: usize,
    pub file: usize,
    /// A block sees the names around it; a module does not.
    pub block: bool,
    pub names: HashMap<String, Vec<Name>>,
    pub globs: Vec<Glob>,
}

/// An item by its module and name.
pub type ItemId = (usize, String);

/// All modules of a crate.
#[derive(Debug, Default)]
pub struct Modules {
    pub all: Vec<Module>,
    /// The blocks that declare items, by file, line and column.
    pub blocks: HashMap<(usize, usize, usize), usize>,
    /// The module at the top of the library, and the name that the programs beside it use for it.
    pub library: Option<(String, usize)>,
    /// The functions and constants of each type, with the files that define them.
    pub members: HashMap<ItemId, HashMap<String, BTreeSet<usize>>>,
    /// The modules that define a macro by rules, which are in scope by order of text.
    pub macros: HashMap<String, Vec<usize>>,
}

impl Modules {
    pub fn add(&mut self, parent: Option<usize>, file: usize, block: bool) -> usize {
        let id = self.all.len();
        let top = parent.map_or(id, |parent| self.all[parent].top);
        self.all.push(Module {
            parent,
            top,
            file,
            block,
            ..Module::default()
        });
        id
    }

    pub fn name(&mut self, module: usize, name: &str, named: Name) {
        let names = &mut self.all[module].names;
        names.entry(name.to_owned()).or_default().push(named);
    }

    /// The module of that name that stands within a module, in the same file.
    pub fn inner(&self, module: usize, name: &str, file: usize) -> Option<usize> {
        let mut names = self.all[module].names.get(name)?.iter();
        names.find_map(|name| match name.meaning {
            Meaning::Module(id) if self.all[id].file == file => Some(id),
            _ => None,
        })
    }

    /// The module that a block stands in, or the module itself.
    pub fn around(&self, mut module: usize) -> usize {
        while let (true, Some(parent)) = (self.all[module].block, self.all[module].parent) {
            module = parent;
        }
        module
    }

    /// The module above; the top is above itself.
    pub fn above(&self, module: usize) -> usize {
        let module = self.around(module);
        self.all[module]
            .parent
            .map_or(module, |parent| self.around(parent))
    }

    /// Whether what is private in `outer` can be seen from `inner`.
    pub fn holds(&self, outer: usize, inner: usize) -> bool {
        let mut at = Some(inner);
        while let Some(module) = at {
            if module == outer {
                return true;
            }
            at = self.all[module].parent;
        }
        false
    }
}
