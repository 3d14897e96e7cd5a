//! The names that the patterns of a function bind.

use super::load::word;
use std::collections::BTreeSet;
use syn::visit::{self, Visit};

/// Names that patterns bind.
#[derive(Default)]
pub struct Names(pub BTreeSet<String>);

impl Names {
    pub fn of(walk: impl FnOnce(&mut Self)) -> Self {
        let mut names = Self::default();
        walk(&mut names);
        names
    }
}

impl<'ast> Visit<'ast> for Names {
    fn visit_pat_ident(&mut self, pattern: &'ast syn::PatIdent) {
        let name = word(&pattern.ident);
        if !name.starts_with(char::is_uppercase) {
            self.0.insert(name);
        }
        visit::visit_pat_ident(self, pattern);
    }
}
