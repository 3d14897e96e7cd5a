//! The licences of everything that is linked into the plugin: crates, fonts, and the texts that
//! have to be passed on with them. It imports `workspace`; `audit` and `dist` import it.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, anyhow, bail, ensure};
use cargo_metadata::camino::Utf8Path;
use cargo_metadata::{DependencyKind, Metadata, MetadataCommand, Package, PackageId, TargetKind};
use spdx::{Expression, ParseMode};
use xshell::cmd;

use crate::workspace::{Workspace, XTASK_DIRECTORY};

/// Licences that ask for nothing more than that their text is passed on with the plugin, and some
/// that ask for nothing. `MPL-2.0` asks for the source of its files where they are changed; here
/// they are not.
const ACCEPTED: &[&str] = &[
    "0BSD",
    "Apache-2.0",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "BSL-1.0",
    "CC0-1.0",
    "ISC",
    "MIT",
    "MIT-0",
    "MPL-2.0",
    "Unicode-3.0",
    "Unlicense",
    "Zlib",
];

/// The only place that crates may come from.
const REGISTRY: &str = "registry+https://github.com/rust-lang/crates.io-index";

/// Crates that contain the work of others, such as fonts, and the folder in which each keeps the
/// licences of that work. Their own licences lie in their root, as everywhere.
const CARRIED: &[(&str, &str)] = &[("dejavu", "assets/dejavu-fonts-ttf-2.37")];

/// Crates that name no licence in their manifest, but the file that holds its text, each with the
/// licence whose text that is. `rs-fsrs` states its licence by `license-file` alone; the file holds
/// the text of MIT, which is checked.
const BY_FILE: &[(&str, &str)] = &[("rs-fsrs", "MIT")];

/// How the names of files with licence texts begin, in capitals.
const NAMES: &[&str] = &["LICENSE", "LICENCE", "COPYING", "NOTICE", "UNLICENSE"];

/// A crate that is linked into the plugin, with its licence.
#[derive(Debug)]
pub struct LinkedCrate {
    name: String,
    version: String,
    expression: String,
    /// The licence texts in it, in the order of their files.
    texts: Vec<String>,
}

/// Every crate of other people that is linked into `package` on this machine, in the order of
/// names.
///
/// Fails on the first crate whose licence is not accepted, that has no licence text, or that comes
/// from somewhere other than the registry.
pub fn linked_crates(workspace: &Workspace, package: &str) -> Result<Vec<LinkedCrate>> {
    let host = cmd!(workspace.shell, "rustc -vV").quiet().read()?;
    let host = host
        .lines()
        .find_map(|line| line.strip_prefix("host: "))
        .context("rustc does not say which machine this is")?;
    let metadata = MetadataCommand::new()
        .manifest_path(Path::new(XTASK_DIRECTORY).join("Cargo.toml"))
        .other_options(["--locked", "--filter-platform", host].map(str::to_owned))
        .exec()
        .context("cannot read the workspace's manifests")?;
    let linked = linked(&metadata, package)?;
    let from_elsewhere = metadata
        .packages
        .iter()
        .filter(|p| linked.contains(&p.id) && p.source.is_some());
    let mut crates: Vec<LinkedCrate> = from_elsewhere.map(linked_crate).collect::<Result<_>>()?;
    ensure!(!crates.is_empty(), "{package} is linked with nothing");
    crates.sort_by(|a, b| (&a.name, &a.version).cmp(&(&b.name, &b.version)));
    Ok(crates)
}

/// The packages whose code ends up in `package`. Those that only run while it is built are left
/// out.
fn linked<'a>(metadata: &'a Metadata, package: &str) -> Result<BTreeSet<&'a PackageId>> {
    let resolve = metadata.resolve.as_ref().context("no dependencies")?;
    let nodes: BTreeMap<_, _> = resolve.nodes.iter().map(|n| (&n.id, n)).collect();
    let packages: BTreeMap<_, _> = metadata.packages.iter().map(|p| (&p.id, p)).collect();
    let runs_at_build = |id: &PackageId| {
        let targets = packages.get(id).map(|p| p.targets.as_slice());
        let is_macro = |kind: &TargetKind| *kind == TargetKind::ProcMacro;
        targets.is_some_and(|t| t.iter().flat_map(|t| &t.kind).any(is_macro))
    };
    let root = metadata
        .packages
        .iter()
        .find(|p| p.name.as_str() == package)
        .with_context(|| format!("no package {package}"))?;
    let mut found = BTreeSet::new();
    let mut open = vec![&root.id];
    while let Some(id) = open.pop() {
        if !found.insert(id) {
            continue;
        }
        let node = nodes.get(id).context("a package without its node")?;
        let normal = node.deps.iter().filter(|dependency| {
            let kinds = dependency.dep_kinds.iter();
            kinds.clone().any(|k| k.kind == DependencyKind::Normal)
        });
        open.extend(normal.map(|d| &d.pkg).filter(|id| !runs_at_build(id)));
    }
    Ok(found)
}

fn linked_crate(package: &Package) -> Result<LinkedCrate> {
    let name = format!("{} {}", package.name, package.version);
    let source = package.source.as_ref().map(|s| s.repr.as_str());
    ensure!(
        source == Some(REGISTRY),
        "{name} comes from {source:?}, not from the registry"
    );
    let expression = match (&package.license, &package.license_file) {
        (None, Some(file)) => by_file(
            package.name.as_str(),
            &package.manifest_path.with_file_name(file),
        )?
        .to_owned(),
        (license, _) => license.clone().unwrap_or_default(),
    };
    let parsed = accepted(&expression).with_context(|| name.clone())?;
    let root = package
        .manifest_path
        .parent()
        .context("a manifest lies in a folder")?;
    let mut texts = texts_in(root.as_std_path())?;
    let carried = CARRIED
        .iter()
        .filter(|(owner, _)| *owner == package.name.as_str());
    for (_, folder) in carried {
        texts.extend(texts_in(root.join(folder).as_std_path())?);
    }
    if texts.is_empty() {
        texts = published(&parsed);
    }
    ensure!(!texts.is_empty(), "{name}: no text for {expression}");
    Ok(LinkedCrate {
        name: package.name.to_string(),
        version: package.version.to_string(),
        expression,
        texts,
    })
}

/// The licence of a crate that names only a file. Fails if it is not known, or if the file does not hold
/// the text of that licence.
fn by_file(name: &str, file: &Utf8Path) -> Result<&'static str> {
    let (_, licence) = BY_FILE
        .iter()
        .find(|(owner, _)| *owner == name)
        .with_context(|| format!("{name} names no licence but the file {file}"))?;
    let text = fs::read_to_string(file).with_context(|| file.to_string())?;
    let id = spdx::license_id(licence).with_context(|| format!("no licence {licence}"))?;
    ensure!(
        grant(&text) == grant(id.text()),
        "{name}: {file} is not the text of {licence}"
    );
    Ok(licence)
}

/// What a licence text grants, word by word, without the title and the names above it.
fn grant(text: &str) -> Vec<&str> {
    let from = text
        .find("Permission is hereby granted")
        .unwrap_or_default();
    let (_, grant) = text.split_at(from);
    grant.split_whitespace().collect()
}

/// Reads a licence as a crate states it. Fails if it cannot be met with accepted licences alone.
fn accepted(expression: &str) -> Result<Expression> {
    let parsed = Expression::parse_mode(expression, ParseMode::LAX)
        .map_err(|error| anyhow!("the licence {expression:?} cannot be read: {error}"))?;
    let taken = parsed.evaluate(|wanted| {
        let id = wanted.license.id();
        id.is_some_and(|id| ACCEPTED.contains(&id.name))
    });
    if !taken {
        bail!(
            "the licence {expression:?} is none of those accepted: {}",
            ACCEPTED.join(", ")
        );
    }
    Ok(parsed)
}

/// The published texts of accepted licences, for crates that contain no text of their own.
fn published(expression: &Expression) -> Vec<String> {
    let wanted = expression.requirements().filter_map(|r| r.req.license.id());
    wanted
        .filter(|id| ACCEPTED.contains(&id.name))
        .map(|id| id.text().to_owned())
        .collect()
}

fn texts_in(folder: &Path) -> Result<Vec<String>> {
    let entries = fs::read_dir(folder).with_context(|| format!("{}", folder.display()))?;
    let mut files: Vec<PathBuf> = Vec::new();
    for entry in entries {
        let path = entry?.path();
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        let name = name.to_uppercase();
        if path.is_file() && NAMES.iter().any(|start| name.starts_with(start)) {
            files.push(path);
        }
    }
    files.sort();
    let text = |path: &PathBuf| {
        let bytes = fs::read(path).with_context(|| format!("{}", path.display()))?;
        Ok(String::from_utf8_lossy(&bytes).trim_end().to_owned())
    };
    files.iter().map(text).collect()
}

/// One document: the list of crates, then every licence text once, with the crates that it is for.
pub fn document(crates: &[LinkedCrate]) -> String {
    let mut all = String::from("What Guidehand is built with, and its licences.\n\n");
    let mut owners: BTreeMap<&str, Vec<String>> = BTreeMap::new();
    for linked in crates {
        let name = format!("{} {}", linked.name, linked.version);
        // Writing into a string cannot fail.
        let _ = writeln!(all, "{name}: {}", linked.expression);
        for text in &linked.texts {
            owners.entry(text).or_default().push(name.clone());
        }
    }
    let mut texts: Vec<_> = owners.into_iter().collect();
    texts.sort_by(|a, b| a.1.cmp(&b.1));
    for (text, names) in texts {
        let line = "=".repeat(78);
        let _ = write!(all, "\n{line}\n{}\n{line}\n\n{text}\n", names.join(", "));
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use cargo_metadata::camino::Utf8PathBuf;

    #[test]
    fn choices_are_taken_and_others_refused() {
        for fine in [
            "MIT",
            "MIT/Apache-2.0",
            "Apache-2.0 OR GPL-2.0-only",
            "(MIT OR Apache-2.0) AND Unicode-3.0",
            "Apache-2.0 WITH LLVM-exception OR MIT",
        ] {
            accepted(fine).unwrap();
        }
        for wrong in [
            "GPL-3.0-only",
            "MIT AND GPL-2.0-only",
            "",
            "Free as in beer",
        ] {
            assert!(accepted(wrong).is_err(), "{wrong:?}");
        }
    }

    #[test]
    fn a_licence_file_must_be_what_it_is_taken_for() {
        let folder = tempfile::tempdir().unwrap();
        let file = Utf8PathBuf::from_path_buf(folder.path().join("LICENSE")).unwrap();
        let text = spdx::license_id("MIT").unwrap().text();
        fs::write(
            &file,
            text.replace("<year> <copyright holders>", "2023 Somebody"),
        )
        .unwrap();
        assert_eq!(by_file("rs-fsrs", &file).unwrap(), "MIT");
        assert!(by_file("another", &file).is_err());
        fs::write(&file, text.replace("free of charge", "for a charge")).unwrap();
        assert!(by_file("rs-fsrs", &file).is_err());
    }

    /// Every crate that users get has a licence that they may have it under.
    #[test]
    fn everything_in_the_plugin_may_be_passed_on() {
        let workspace = Workspace::locate().unwrap();
        let crates = linked_crates(&workspace, "guidehand").unwrap();
        let text = document(&crates);
        for expected in [
            "nice-plug 0.4.2",
            "egui 0.",
            "Bitstream Vera",
            "Permission is hereby",
            "rs-fsrs 1.2.1: MIT",
            "Open Spaced Repetition",
        ] {
            assert!(text.contains(expected), "{expected} is not in the document");
        }
        assert!(
            !text.contains("guidehand-theory"),
            "ours are not from elsewhere"
        );
        assert!(
            !text.contains("\nsyn "),
            "what runs at build time is not passed on"
        );
    }
}
