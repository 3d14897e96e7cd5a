//! `cargo xtask dist`: packs the archive that users download. It holds both bundles of a release
//! build, the README, the guide, and the licences of everything in them. It imports `build`, `command`, `licences` and
//! `workspace`; only `main` imports it.

use std::env::consts::{ARCH, OS};
use std::fs::{self, File};
use std::io::Write as _;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result};
use fs_extra::dir::get_dir_content;
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

use crate::build::{self, Profile};
use crate::command::{self, Command};
use crate::licences;
use crate::workspace::Workspace;

/// The command.
pub const COMMAND: Command = Command {
    name: "dist",
    arguments: "",
    summary: "build for release and pack the bundles with all licences into target/dist",
    read: |parser| {
        command::nothing_more(parser)?;
        Ok(Box::new(run))
    },
};

/// Files and folders of the workspace that are packed unchanged, at the same places, so that the
/// links of the README lead to them.
const ALONG: [&str; 6] = [
    "README.md",
    "DEVELOPERS.md",
    "LICENSE-APACHE",
    "LICENSE-MIT",
    "plugin/guide",
    "plugin/pictures",
];
/// The file with the licences of other people's work.
const LICENCES: &str = "LICENCES-OF-PARTS.txt";

fn run() -> Result<()> {
    let workspace = Workspace::locate()?;
    let crates = licences::linked_crates(&workspace, "guidehand")?;
    let bundles = build::bundles(&workspace, Profile::Release)?;
    let folder = workspace.target.join("dist");
    fs::create_dir_all(&folder).with_context(|| format!("cannot make {}", folder.display()))?;
    let name = format!("guidehand-{}-{OS}-{ARCH}", env!("CARGO_PKG_VERSION"));
    // `with_extension` would take the last part of the version for an ending.
    let path = folder.join(format!("{name}.zip"));

    let mut archive = Archive::create(&path, &name)?;
    for bundle in [&bundles.clap, &bundles.vst3] {
        let above = bundle.parent().context("a bundle lies in a folder")?;
        archive.add(above, bundle)?;
    }
    let root = workspace.shell.current_dir();
    for path in ALONG {
        archive.add(&root, &root.join(path))?;
    }
    archive.add_text(LICENCES, &licences::document(&crates))?;
    archive.finish()?;
    let bytes = fs::metadata(&path)?.len();
    println!("{} ({} KiB)", path.display(), bytes / 1024);
    Ok(())
}

/// A zip file in which everything lies in one folder.
struct Archive {
    zip: ZipWriter<File>,
    folder: String,
}

impl Archive {
    fn create(path: &Path, folder: &str) -> Result<Self> {
        let file =
            File::create(path).with_context(|| format!("cannot write {}", path.display()))?;
        Ok(Self {
            zip: ZipWriter::new(file),
            folder: folder.to_owned(),
        })
    }

    /// Adds a file, or a folder with everything in it, under its path from the folder `above`.
    fn add(&mut self, above: &Path, path: &Path) -> Result<()> {
        let files: Vec<PathBuf> = if path.is_dir() {
            let files = get_dir_content(path)?.files;
            files.into_iter().map(PathBuf::from).collect()
        } else {
            vec![path.to_owned()]
        };
        for file in files {
            let name = file
                .strip_prefix(above)?
                .to_string_lossy()
                .replace('\\', "/");
            let bytes = fs::read(&file).with_context(|| format!("{}", file.display()))?;
            self.add_bytes(&name, &bytes, is_library(&file))?;
        }
        Ok(())
    }

    fn add_text(&mut self, name: &str, text: &str) -> Result<()> {
        self.add_bytes(name, text.as_bytes(), false)
    }

    fn add_bytes(&mut self, name: &str, bytes: &[u8], runs: bool) -> Result<()> {
        let options = SimpleFileOptions::default()
            .compression_method(CompressionMethod::Deflated)
            .unix_permissions(if runs { 0o755 } else { 0o644 });
        let name = format!("{}/{name}", self.folder);
        self.zip.start_file(name, options)?;
        Ok(self.zip.write_all(bytes)?)
    }

    fn finish(self) -> Result<()> {
        self.zip.finish()?;
        Ok(())
    }
}

/// Whether a file is a library that hosts load.
fn is_library(path: &Path) -> bool {
    let ending = path.extension().and_then(|e| e.to_str());
    matches!(ending, None | Some("clap" | "vst3" | "so" | "dylib"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_archive_holds_files_and_folders_in_one_folder() {
        let shell = xshell::Shell::new().unwrap();
        let temporary = shell.create_temp_dir().unwrap();
        let inside = temporary
            .path()
            .join("One.vst3")
            .join("Contents")
            .join("one.so");
        shell.write_file(&inside, "library").unwrap();
        let path = temporary.path().join("all.zip");
        let mut archive = Archive::create(&path, "all").unwrap();
        let root = temporary.path();
        archive.add(root, &root.join("One.vst3")).unwrap();
        shell.write_file(root.join("a/b/c.md"), "c").unwrap();
        archive.add(root, &root.join("a/b")).unwrap();
        archive.add_text("words.txt", "words").unwrap();
        archive.finish().unwrap();

        let mut zip = zip::ZipArchive::new(File::open(&path).unwrap()).unwrap();
        let names = zip.file_names().map(|name| name.unwrap().into_owned());
        let mut names: Vec<String> = names.collect();
        names.sort();
        assert_eq!(
            names,
            [
                "all/One.vst3/Contents/one.so",
                "all/a/b/c.md",
                "all/words.txt"
            ]
        );
        let library = zip.by_name("all/One.vst3/Contents/one.so").unwrap();
        assert_eq!(library.unix_mode().map(|m| m & 0o777), Some(0o755));
    }

    #[test]
    fn the_links_of_the_readme_go_along() {
        let readme = guidehand_tests::guide::text("README.md").unwrap().text;
        let links = readme.split("](").skip(1);
        let links = links.filter_map(|rest| rest.split(')').next());
        let mut count = 0;
        for link in links.filter(|link| !link.contains("://")) {
            let goes_along = ALONG.iter().any(|path| Path::new(link).starts_with(path));
            assert!(goes_along, "{link} is not packed");
            count += 1;
        }
        assert!(count > 10, "{count} links");
    }
}
