//! Walks through a parsed file and notes every path in it with where it leads: in `use`,
//! expressions, types, patterns, attributes and macros. What is there for tests alone is
//! left out.

use super::attributes;
use super::load::{Loaded, plain_path, type_id, word};
use super::macros::{self, Given};
use super::modules::{ItemId, Space};
use super::names::Names;
use super::resolve::Target;
use super::tokens;
use super::uses::{self, Brings, Leaf};
use proc_macro2::{Span, TokenStream};
use std::collections::HashSet;
use syn::spanned::Spanned;
use syn::visit::{self, Visit};
use syn::{Attribute, Block, Expr, Item, ItemImpl, ItemUse, Meta, Path, Visibility};

/// A path in the code.
#[derive(Debug)]
pub struct Found {
    pub file: usize,
    pub line: usize,
    /// As written, with the parts that a group has in common.
    pub written: String,
    /// Whether it is a `pub use`.
    pub passed_on: bool,
    pub leads: Leads,
}

/// Where a path leads.
#[derive(Debug)]
pub enum Leads {
    /// To what this file defines.
    File(usize),
    /// Into another crate, by the whole path. All of it is brought by a glob.
    Outside { path: Vec<String>, glob: bool },
}

/// Everything that a file names.
pub fn read(loaded: &Loaded, file: usize) -> Vec<Found> {
    let mut walker = Walker {
        loaded,
        file,
        module: loaded.files[file].module,
        own: None,
        bound: HashSet::new(),
        found: Vec::new(),
    };
    walker.visit_file(&loaded.files[file].code);
    walker.found
}

struct Walker<'a> {
    loaded: &'a Loaded,
    file: usize,
    module: usize,
    /// The type of the `impl` block at this place.
    own: Option<ItemId>,
    /// Names that the function at this place binds.
    bound: HashSet<String>,
    found: Vec<Found>,
}

impl Walker<'_> {
    fn note(&mut self, line: usize, written: &[String], passed_on: bool, leads: Leads) {
        self.found.push(Found {
            file: self.file,
            line,
            written: written.join("::"),
            passed_on,
            leads,
        });
    }

    /// Notes a path of the code.
    fn path(&mut self, path: &[String], space: Space, line: usize) {
        let single = path.len() == 1;
        if single && space == Space::VALUE && self.bound.contains(&path[0]) {
            return;
        }
        if path[0] == "Self" {
            if let Some(member) = path.get(1) {
                self.member(self.own.clone(), member, path, line);
            }
            return;
        }
        let loaded = self.loaded;
        let rules = loaded.modules.macros.get(&path[0]).into_iter().flatten();
        for &module in rules.filter(|_| single && space == Space::MACRO) {
            let file = loaded.modules.all[module].file;
            self.note(line, path, false, Leads::File(file));
        }
        for target in self.loaded.modules.resolve(self.module, path, space) {
            if !(single && matches!(target, Target::Outside(ref outside) if outside.len() < 2)) {
                self.target(target, path, line, false);
            }
        }
    }

    fn target(&mut self, target: Target, written: &[String], line: usize, passed_on: bool) {
        let modules = &self.loaded.modules;
        match target {
            // What is taken from a module counts where it is used.
            Target::Module(_) => {}
            Target::Unknown(module) => {
                let file = modules.all[module].file;
                self.note(line, written, passed_on, Leads::File(file));
            }
            Target::Item { id, rest } => {
                let file = modules.all[id.0].file;
                self.note(line, written, passed_on, Leads::File(file));
                if let Some(member) = rest.first() {
                    self.member(Some(id), member, written, line);
                }
            }
            Target::Outside(path) => {
                let leads = Leads::Outside { path, glob: false };
                self.note(line, written, passed_on, leads);
            }
        }
    }

    /// Notes a function or constant of a type, which may stand in another file than the type.
    fn member(&mut self, of: Option<ItemId>, member: &str, written: &[String], line: usize) {
        let members = of.and_then(|id| self.loaded.modules.members.get(&id));
        let files = members.and_then(|members| members.get(member));
        for &file in files.into_iter().flatten() {
            self.note(line, written, false, Leads::File(file));
        }
    }

    fn uses(&mut self, item: &ItemUse) {
        let modules = &self.loaded.modules;
        let passed_on = !matches!(item.vis, Visibility::Inherited);
        for Leaf { path, line, brings } in uses::leaves(item) {
            let space = match brings {
                Brings::All => {
                    self.glob(&path, line, passed_on);
                    continue;
                }
                Brings::Named(_) => Space::ANY,
                Brings::Itself(_) => Space::TYPE,
            };
            for target in modules.resolve(self.module, &path, space) {
                self.target(target, &path, line, passed_on);
            }
        }
    }

    fn glob(&mut self, path: &[String], line: usize, passed_on: bool) {
        let modules = &self.loaded.modules;
        let written = [path, &["*".to_owned()]].concat();
        for file in modules.brought(self.module, path) {
            self.note(line, &written, passed_on, Leads::File(file));
        }
        for target in modules.resolve(self.module, path, Space::TYPE) {
            if let Target::Outside(path) = target {
                let leads = Leads::Outside { path, glob: true };
                self.note(line, &written, passed_on, leads);
            }
        }
    }

    /// A path with a type before it, `<T as Trait>::name`, or without.
    fn qualified(&mut self, of: Option<&syn::QSelf>, path: &Path, space: Space) {
        let mut whole = plain_path(path);
        let mut space = space;
        if let Some(of) = of {
            whole.truncate(of.position + usize::from(path.leading_colon.is_some()));
            space = Space::TYPE;
            self.visit_type(&of.ty);
        }
        if of.is_none_or(|of| of.position > 0) {
            self.path(&whole, space, line(path.span()));
        }
        for part in &path.segments {
            self.visit_path_arguments(&part.arguments);
        }
    }

    /// The tokens of a macro, as code if they read as such.
    fn tokens(&mut self, tokens: &TokenStream) {
        match macros::given(tokens) {
            Given::Expressions(parts) => parts.iter().for_each(|part| self.visit_expr(part)),
            Given::Pattern(parts) => {
                let (of, pattern, guard) = &*parts;
                self.visit_expr(of);
                self.visit_pat(pattern);
                guard.iter().for_each(|guard| self.visit_expr(guard));
            }
            Given::Statements(all) => all.iter().for_each(|one| self.visit_stmt(one)),
            Given::Words => self.words(tokens),
        }
    }

    fn words(&mut self, tokens: &TokenStream) {
        for (path, line, space) in tokens::paths(tokens.clone()) {
            self.path(&path, space, line);
        }
    }

    /// Walks through a function with the names that it binds.
    fn function(&mut self, names: Names, walk: impl FnOnce(&mut Self)) {
        let outer = self.bound.clone();
        self.bound.extend(names.0);
        walk(self);
        self.bound = outer;
    }
}

/// Walks on where the code is there for more than tests.
macro_rules! outside_tests {
    ($visit:ident, $part:ident) => {
        fn $visit(&mut self, part: &'ast syn::$part) {
            if !attributes::test_only(&part.attrs) {
                visit::$visit(self, part);
            }
        }
    };
}

impl<'ast> Visit<'ast> for Walker<'_> {
    outside_tests!(visit_file, File);
    outside_tests!(visit_impl_item_const, ImplItemConst);
    outside_tests!(visit_field, Field);
    outside_tests!(visit_field_value, FieldValue);
    outside_tests!(visit_variant, Variant);
    outside_tests!(visit_arm, Arm);
    outside_tests!(visit_local, Local);
    outside_tests!(visit_stmt_macro, StmtMacro);
    outside_tests!(visit_expr_block, ExprBlock);

    fn visit_item(&mut self, item: &'ast Item) {
        if attributes::test_only(attributes::of_item(item)) {
            return;
        }
        match item {
            Item::Use(i) => self.uses(i),
            Item::ExternCrate(i) if i.ident != "self" => {
                let path = vec![word(&i.ident)];
                let leads = Leads::Outside {
                    path: path.clone(),
                    glob: false,
                };
                self.note(line(i.ident.span()), &path, false, leads);
            }
            Item::Mod(i) => {
                let inner = self
                    .loaded
                    .modules
                    .inner(self.module, &word(&i.ident), self.file);
                if let (Some((_, items)), Some(inner)) = (&i.content, inner) {
                    let outer = std::mem::replace(&mut self.module, inner);
                    items.iter().for_each(|item| self.visit_item(item));
                    self.module = outer;
                }
            }
            Item::Fn(i) => {
                let names = Names::of(|names| names.visit_item_fn(i));
                self.function(names, |walker| visit::visit_item(walker, item));
            }
            _ => visit::visit_item(self, item),
        }
    }

    fn visit_item_impl(&mut self, item: &'ast ItemImpl) {
        let own = type_id(&self.loaded.modules, self.module, &item.self_ty);
        let outer = std::mem::replace(&mut self.own, own);
        visit::visit_item_impl(self, item);
        self.own = outer;
    }

    fn visit_impl_item_fn(&mut self, item: &'ast syn::ImplItemFn) {
        if !attributes::test_only(&item.attrs) {
            let names = Names::of(|names| names.visit_impl_item_fn(item));
            self.function(names, |walker| visit::visit_impl_item_fn(walker, item));
        }
    }

    fn visit_trait_item_fn(&mut self, item: &'ast syn::TraitItemFn) {
        if !attributes::test_only(&item.attrs) {
            let names = Names::of(|names| names.visit_trait_item_fn(item));
            self.function(names, |walker| visit::visit_trait_item_fn(walker, item));
        }
    }

    fn visit_block(&mut self, block: &'ast Block) {
        let at = block.span().start();
        let key = (self.file, at.line, at.column);
        let outer = self.module;
        if let Some(&own) = self.loaded.modules.blocks.get(&key) {
            self.module = own;
        }
        visit::visit_block(self, block);
        self.module = outer;
    }

    fn visit_expr_path(&mut self, path: &'ast syn::ExprPath) {
        self.qualified(path.qself.as_ref(), &path.path, Space::VALUE);
    }

    fn visit_type_path(&mut self, path: &'ast syn::TypePath) {
        self.qualified(path.qself.as_ref(), &path.path, Space::TYPE);
    }

    fn visit_path(&mut self, path: &'ast Path) {
        self.qualified(None, path, Space::TYPE);
    }

    fn visit_pat_ident(&mut self, pattern: &'ast syn::PatIdent) {
        let name = word(&pattern.ident);
        if pattern.subpat.is_none() && name.starts_with(char::is_uppercase) {
            self.path(&[name], Space::VALUE, line(pattern.ident.span()));
        }
        visit::visit_pat_ident(self, pattern);
    }

    fn visit_expr_method_call(&mut self, call: &'ast syn::ExprMethodCall) {
        if matches!(&*call.receiver, Expr::Path(path) if path.path.is_ident("self")) {
            let method = word(&call.method);
            let written = format!("self.{method}");
            self.member(
                self.own.clone(),
                &method,
                &[written],
                line(call.method.span()),
            );
        }
        visit::visit_expr_method_call(self, call);
    }

    fn visit_macro(&mut self, mac: &'ast syn::Macro) {
        self.path(&plain_path(&mac.path), Space::MACRO, line(mac.path.span()));
        if mac.path.is_ident("macro_rules") {
            self.words(&mac.tokens);
        } else {
            self.tokens(&mac.tokens);
        }
    }

    fn visit_attribute(&mut self, attribute: &'ast Attribute) {
        if attribute.path().is_ident("doc") || attribute.path().is_ident("cfg") {
            return;
        }
        let path = plain_path(attribute.path());
        self.path(&path, Space::MACRO, line(attribute.span()));
        match &attribute.meta {
            Meta::Path(_) => {}
            Meta::List(list) => {
                self.words(&list.tokens);
                let serde = attribute.path().is_ident("serde");
                for path in tokens::texts(list.tokens.clone()) {
                    let whole = plain_path(&path);
                    if whole.len() > 1 || serde {
                        self.path(&whole, Space::VALUE, line(attribute.span()));
                    }
                }
            }
            Meta::NameValue(pair) => self.visit_expr(&pair.value),
        }
    }

    // It says who may see an item, and takes nothing from there.
    fn visit_visibility(&mut self, _: &'ast Visibility) {}
}

fn line(span: Span) -> usize {
    span.start().line
}
