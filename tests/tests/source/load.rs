//! Parses the files of a crate, from its top through every `mod`, and notes the names in
//! each module. What is there for tests alone is left out.

use super::attributes;
use super::files::{Sources, folder, plain};
use super::modules::{Glob, ItemId, Meaning, Modules, Name, Space};
use super::resolve::Target;
use super::uses::{self, Brings, Leaf};
use std::collections::BTreeSet;
use syn::spanned::Spanned;
use syn::visit::{self, Visit};
use syn::{Block, ImplItem, Item, ItemImpl, ItemMod, ItemUse, Stmt, Type, Visibility};

/// A parsed file.
pub struct File {
    pub path: String,
    pub module: usize,
    pub code: syn::File,
}

/// What has been read of a crate.
#[derive(Default)]
pub struct Loaded {
    pub modules: Modules,
    pub files: Vec<File>,
    pub problems: Vec<String>,
    /// Files that tests alone lead to.
    for_tests: BTreeSet<String>,
    members: Vec<Members>,
}

/// An `impl` block of a type: the path of the type, and what the block defines.
struct Members {
    module: usize,
    of: Vec<String>,
    names: Vec<String>,
}

/// Reads the crate whose sources lie under a folder; `name` is what its programs call its library.
pub fn load(sources: &Sources, source: &str, name: &str) -> Loaded {
    let mut loaded = Loaded::default();
    let all = sources.under(source);
    for path in &all {
        let inside = path.strip_prefix(source).expect("a path in the folder");
        let program = inside
            .strip_prefix("/bin/")
            .is_some_and(|p| !p.contains('/'));
        if !(matches!(inside, "/lib.rs" | "/main.rs") || program) {
            continue;
        }
        let top = loaded.file(sources, path, None, folder(path));
        if let (Some(top), "/lib.rs") = (top, inside) {
            loaded.modules.library = Some((name.to_owned(), top));
        }
    }
    for path in all {
        let test = loaded.for_tests.iter().any(|test| {
            let rest = path.strip_prefix(test.as_str());
            rest.is_some_and(|rest| rest == ".rs" || rest.starts_with('/'))
        });
        if !test && loaded.files.iter().all(|file| file.path != path) {
            loaded
                .problems
                .push(format!("{path}: no `mod` leads to this file"));
        }
    }
    loaded.gather_members();
    loaded
}

impl Loaded {
    /// Parses a file as a module; the files of its own modules lie in `below`.
    fn file(
        &mut self,
        sources: &Sources,
        path: &str,
        parent: Option<usize>,
        below: &str,
    ) -> Option<usize> {
        let text = sources.text(path)?;
        let code = match syn::parse_file(&text) {
            Ok(code) => code,
            Err(error) => {
                let line = error.span().start().line;
                self.problems.push(format!("{path}:{line}: {error}"));
                return None;
            }
        };
        let file = self.files.len();
        let module = self.modules.add(parent, file, false);
        let empty = syn::File {
            shebang: None,
            frontmatter: None,
            attrs: Vec::new(),
            items: Vec::new(),
        };
        self.files.push(File {
            path: path.to_owned(),
            module,
            code: empty,
        });
        let mut reader = Reader {
            loaded: self,
            sources,
            path,
            file,
            module,
            below: below.to_owned(),
        };
        reader.visit_file(&code);
        self.files[file].code = code;
        Some(module)
    }

    /// Finds the type of every `impl` block.
    fn gather_members(&mut self) {
        for Members { module, of, names } in std::mem::take(&mut self.members) {
            let file = self.modules.all[module].file;
            for target in self.modules.resolve(module, &of, Space::TYPE) {
                let Target::Item { id, .. } = target else {
                    continue;
                };
                let members = self.modules.members.entry(id).or_default();
                for name in &names {
                    members.entry(name.clone()).or_default().insert(file);
                }
            }
        }
    }
}

/// Reads one file.
struct Reader<'a> {
    loaded: &'a mut Loaded,
    sources: &'a Sources,
    path: &'a str,
    file: usize,
    module: usize,
    /// The folder of the files that a `mod` at this place declares.
    below: String,
}

impl Reader<'_> {
    fn name(&mut self, name: &impl ToString, space: Space, meaning: Meaning, public: &Visibility) {
        let named = Name {
            space,
            meaning,
            public: !matches!(public, Visibility::Inherited),
        };
        let modules = &mut self.loaded.modules;
        modules.name(self.module, &word(name), named);
    }

    fn item(&mut self, name: &syn::Ident, space: Space, public: &Visibility) {
        self.name(name, space, Meaning::Item, public);
    }

    fn uses(&mut self, item: &ItemUse) {
        for Leaf { path, brings, .. } in uses::leaves(item) {
            match brings {
                Brings::All => {
                    let public = !matches!(item.vis, Visibility::Inherited);
                    let module = &mut self.loaded.modules.all[self.module];
                    module.globs.push(Glob { path, public });
                }
                Brings::Named(name) => {
                    self.name(&name, Space::ANY, Meaning::Use(path), &item.vis);
                }
                Brings::Itself(name) => {
                    self.name(&name, Space::TYPE, Meaning::Use(path), &item.vis);
                }
            }
        }
    }

    fn module(&mut self, item: &ItemMod) {
        let name = word(&item.ident);
        let here = format!("{}/{name}", self.below);
        let inner = if let Some((_, items)) = &item.content {
            let inner = self.loaded.modules.add(Some(self.module), self.file, false);
            let outer = (self.module, std::mem::replace(&mut self.below, here));
            self.module = inner;
            for item in items {
                self.visit_item(item);
            }
            (self.module, self.below) = outer;
            Some(inner)
        } else {
            self.file_module(item, &here)
        };
        if let Some(inner) = inner {
            self.name(&name, Space::TYPE, Meaning::Module(inner), &item.vis);
        }
    }

    fn file_module(&mut self, item: &ItemMod, here: &str) -> Option<usize> {
        let (path, below) = match attributes::path(&item.attrs) {
            Some(path) => {
                let path = plain(&format!("{}/{path}", folder(self.path)));
                let below = folder(&path).to_owned();
                (path, below)
            }
            None => {
                let nested = format!("{here}/mod.rs");
                let path = match self.sources.text(&nested) {
                    Some(_) => nested,
                    None => format!("{here}.rs"),
                };
                (path, here.to_owned())
            }
        };
        if self.sources.text(&path).is_none() {
            let line = item.ident.span().start().line;
            let problem = format!("{}:{line}: there is no {path}", self.path);
            self.loaded.problems.push(problem);
            return None;
        }
        self.loaded
            .file(self.sources, &path, Some(self.module), &below)
    }

    fn implementation(&mut self, item: &ItemImpl) {
        let (None, Type::Path(of)) = (&item.trait_, &*item.self_ty) else {
            return;
        };
        let defined = item.items.iter().filter_map(|item| match item {
            ImplItem::Fn(f) => Some((&f.sig.ident, &f.attrs)),
            ImplItem::Const(c) => Some((&c.ident, &c.attrs)),
            _ => None,
        });
        let outside_tests = defined.filter(|(_, attrs)| !attributes::test_only(attrs));
        let members = Members {
            module: self.module,
            of: plain_path(&of.path),
            names: outside_tests.map(|(name, _)| word(name)).collect(),
        };
        self.loaded.members.push(members);
    }
}

impl<'ast> Visit<'ast> for Reader<'_> {
    fn visit_file(&mut self, file: &'ast syn::File) {
        if !attributes::test_only(&file.attrs) {
            visit::visit_file(self, file);
        }
    }

    fn visit_item(&mut self, item: &'ast Item) {
        if attributes::test_only(attributes::of_item(item)) {
            if let Item::Mod(module) = item {
                let path = match attributes::path(&module.attrs) {
                    Some(path) => plain(&format!("{}/{path}", folder(self.path))),
                    None => format!("{}/{}", self.below, module.ident),
                };
                let stem = path.strip_suffix(".rs").unwrap_or(&path);
                self.loaded.for_tests.insert(stem.to_owned());
            }
            return;
        }
        match item {
            Item::Const(i) => self.item(&i.ident, Space::VALUE, &i.vis),
            Item::Enum(i) => self.item(&i.ident, Space::TYPE, &i.vis),
            Item::Fn(i) => self.item(&i.sig.ident, Space::VALUE, &i.vis),
            Item::Static(i) => self.item(&i.ident, Space::VALUE, &i.vis),
            Item::Struct(i) => self.item(&i.ident, Space::STRUCT, &i.vis),
            Item::Trait(i) => self.item(&i.ident, Space::TYPE, &i.vis),
            Item::TraitAlias(i) => self.item(&i.ident, Space::TYPE, &i.vis),
            Item::Type(i) => self.item(&i.ident, Space::STRUCT, &i.vis),
            Item::Union(i) => self.item(&i.ident, Space::STRUCT, &i.vis),
            Item::ExternCrate(i) => {
                let path = match i.ident == "self" {
                    true => vec!["crate".to_owned()],
                    false => vec![String::new(), word(&i.ident)],
                };
                let name = i.rename.as_ref().map_or(&i.ident, |(_, name)| name);
                self.name(name, Space::TYPE, Meaning::Use(path), &i.vis);
            }
            Item::Macro(i) => {
                if let Some(name) = &i.ident {
                    let modules = &mut self.loaded.modules.macros;
                    modules.entry(word(name)).or_default().push(self.module);
                }
            }
            Item::Use(i) => self.uses(i),
            Item::Mod(i) => return self.module(i),
            Item::Impl(i) => self.implementation(i),
            _ => {}
        }
        visit::visit_item(self, item);
    }

    fn visit_block(&mut self, block: &'ast Block) {
        let declares = block.stmts.iter().any(|s| matches!(s, Stmt::Item(_)));
        let outer = self.module;
        if declares {
            let at = block.span().start();
            self.module = self.loaded.modules.add(Some(outer), self.file, true);
            let key = (self.file, at.line, at.column);
            self.loaded.modules.blocks.insert(key, self.module);
        }
        visit::visit_block(self, block);
        self.module = outer;
    }
}

/// A name without the `r#` of a raw one.
pub fn word(name: &impl ToString) -> String {
    let name = name.to_string();
    name.strip_prefix("r#").unwrap_or(&name).to_owned()
}

/// A path without its generic arguments; an empty first segment stands for a leading `::`.
pub fn plain_path(path: &syn::Path) -> Vec<String> {
    let mut parts = Vec::new();
    if path.leading_colon.is_some() {
        parts.push(String::new());
    }
    parts.extend(path.segments.iter().map(|part| word(&part.ident)));
    parts
}

/// The item that a type's path leads to, without what of it is named.
pub fn type_id(modules: &Modules, module: usize, of: &Type) -> Option<ItemId> {
    let Type::Path(of) = of else { return None };
    let targets = modules.resolve(module, &plain_path(&of.path), Space::TYPE);
    targets.into_iter().find_map(|target| match target {
        Target::Item { id, .. } => Some(id),
        _ => None,
    })
}
