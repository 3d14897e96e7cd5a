//! From a path to the item that it leads to, through modules, imports and re-exports.

use super::modules::{ItemId, Meaning, Modules, Space};
use std::collections::BTreeSet;

/// Where a path leads.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Target {
    Module(usize),
    /// An item, and what of it is named: a variant, a function of a type.
    Item {
        id: ItemId,
        rest: Vec<String>,
    },
    /// A name that its module lacks, as far as can be read: a macro may have made it.
    Unknown(usize),
    /// A path into another crate.
    Outside(Vec<String>),
}

/// The imports that have been followed on the way, as module and name or glob.
type Followed = BTreeSet<(usize, String)>;

impl Modules {
    /// What a path leads to from within a module.
    pub fn resolve(&self, from: usize, path: &[String], space: Space) -> Vec<Target> {
        self.follow(from, path, space, &mut Followed::new())
    }

    fn follow(
        &self,
        from: usize,
        path: &[String],
        space: Space,
        seen: &mut Followed,
    ) -> Vec<Target> {
        let Some((first, rest)) = path.split_first() else {
            return Vec::new();
        };
        match first.as_str() {
            "" => return vec![Target::Outside(rest.to_vec())],
            "crate" => return self.walk(self.all[from].top, rest, space, from, seen),
            "self" => return self.walk(self.around(from), rest, space, from, seen),
            "super" => return self.walk(self.above(from), rest, space, from, seen),
            _ => {}
        }
        let wanted = if rest.is_empty() { space } else { Space::TYPE };
        let mut at = from;
        loop {
            let found = self.named(at, first, rest, wanted, space, from, seen);
            if let Some(mut found) = found {
                // `use anyhow::{Result, anyhow}` brings a macro with the name of its crate, and
                // hides nothing of the crate.
                let same = |target: &Target| matches!(target, Target::Outside(o) if o[0] == *first);
                if found.iter().any(same) {
                    found.push(Target::Outside(path.to_vec()));
                }
                return found;
            }
            match self.all[at].parent {
                Some(parent) if self.all[at].block => at = parent,
                _ => break,
            }
        }
        match &self.library {
            Some((name, top)) if name == first => self.walk(*top, rest, space, from, seen),
            _ => vec![Target::Outside(path.to_vec())],
        }
    }

    /// What a path leads to that starts in a module.
    fn walk(
        &self,
        module: usize,
        path: &[String],
        space: Space,
        from: usize,
        seen: &mut Followed,
    ) -> Vec<Target> {
        let Some((first, rest)) = path.split_first() else {
            return vec![Target::Module(module)];
        };
        match first.as_str() {
            "self" => return self.walk(module, rest, space, from, seen),
            "super" => return self.walk(self.above(module), rest, space, from, seen),
            _ => {}
        }
        let wanted = if rest.is_empty() { space } else { Space::TYPE };
        if let Some(found) = self.named(module, first, rest, wanted, space, from, seen) {
            return found;
        }
        // The name may stand for something of another kind, which is not meant.
        let mut again = Followed::new();
        match self.named(
            module,
            first,
            rest,
            Space::ANY,
            Space::ANY,
            from,
            &mut again,
        ) {
            Some(_) => Vec::new(),
            None => vec![Target::Unknown(module)],
        }
    }

    /// What a name of a module leads to, followed by the rest of a path; none if the module has no
    /// such name.
    #[expect(clippy::too_many_arguments, reason = "a step of one recursion")]
    fn named(
        &self,
        module: usize,
        name: &str,
        rest: &[String],
        wanted: Space,
        space: Space,
        from: usize,
        seen: &mut Followed,
    ) -> Option<Vec<Target>> {
        let mut found = None::<Vec<Target>>;
        for named in self.all[module].names.get(name).into_iter().flatten() {
            if !named.space.meets(wanted) || !(named.public || self.holds(module, from)) {
                continue;
            }
            let targets = match &named.meaning {
                Meaning::Module(id) => self.walk(*id, rest, space, from, seen),
                Meaning::Item => vec![Target::Item {
                    id: (module, name.to_owned()),
                    rest: rest.to_vec(),
                }],
                Meaning::Use(path) => {
                    let key = (module, format!("{}={name}", path.join("::")));
                    if !seen.insert(key.clone()) {
                        continue;
                    }
                    let whole: Vec<String> = path.iter().chain(rest).cloned().collect();
                    let targets = self.follow(module, &whole, space, seen);
                    seen.remove(&key);
                    targets
                }
            };
            let all = found.get_or_insert_default();
            all.extend(targets);
        }
        if found.is_some() {
            return found;
        }
        for glob in &self.all[module].globs {
            let key = (module, format!("{}::*{name}", glob.path.join("::")));
            if !(glob.public || self.holds(module, from)) || !seen.insert(key.clone()) {
                continue;
            }
            for target in self.follow(module, &glob.path, Space::TYPE, seen) {
                if let Target::Module(inner) = target
                    && let Some(targets) =
                        self.named(inner, name, rest, wanted, space, module, seen)
                {
                    found.get_or_insert_default().extend(targets);
                }
            }
            seen.remove(&key);
        }
        found
    }

    /// The files that define something that a glob over a path brings. What a module imports for
    /// itself is left out: it counts where it is used.
    pub fn brought(&self, from: usize, path: &[String]) -> BTreeSet<usize> {
        let mut files = BTreeSet::new();
        for target in self.resolve(from, path, Space::TYPE) {
            self.bring(target, from, &mut files, &mut BTreeSet::new());
        }
        files
    }

    fn bring(
        &self,
        target: Target,
        from: usize,
        files: &mut BTreeSet<usize>,
        seen: &mut BTreeSet<usize>,
    ) {
        let module = match target {
            Target::Item {
                id: (module, _), ..
            }
            | Target::Unknown(module) => {
                files.insert(self.all[module].file);
                return;
            }
            Target::Module(module) if seen.insert(module) => module,
            Target::Module(_) | Target::Outside(_) => return,
        };
        for name in self.all[module].names.values().flatten() {
            match &name.meaning {
                Meaning::Item if name.public || self.holds(module, from) => {
                    files.insert(self.all[module].file);
                }
                Meaning::Use(path) if name.public => {
                    for target in self.resolve(module, path, Space::ANY) {
                        // A module is no item: what is taken from it counts where it is used.
                        if !matches!(target, Target::Module(_)) {
                            self.bring(target, module, files, seen);
                        }
                    }
                }
                _ => {}
            }
        }
        for glob in self.all[module].globs.iter().filter(|glob| glob.public) {
            for target in self.resolve(module, &glob.path, Space::TYPE) {
                self.bring(target, module, files, seen);
            }
        }
    }
}
