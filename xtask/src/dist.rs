//! `cargo xtask dist`: packs the archive that users download. It holds both bundles of a release
//! build, the README, and the licences of everything in them. It imports `build`, `command`, `licences` and
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

/// Files of the workspace that are packed unchanged.
const ALONG: [&str; 3] = ["README.md", "LICENSE-APACHE", "LICENSE-MIT"];
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
        archive.add(bundle)?;
    }
    for file in ALONG {
        archive.add(&workspace.shell.current_dir().join(file))?;
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

    /// Adds a file, or a folder with everything in it, under its own name.
    fn add(&mut self, path: &Path) -> Result<()> {
        let above = path.parent().context("a file lies in a folder")?;
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
        archive.add(&temporary.path().join("One.vst3")).unwrap();
        archive.add_text("words.txt", "words").unwrap();
        archive.finish().unwrap();

        let mut zip = zip::ZipArchive::new(File::open(&path).unwrap()).unwrap();
        let names = zip.file_names().map(|name| name.unwrap().into_owned());
        let mut names: Vec<String> = names.collect();
        names.sort();
        assert_eq!(names, ["all/One.vst3/Contents/one.so", "all/words.txt"]);
        let library = zip.by_name("all/One.vst3/Contents/one.so").unwrap();
        assert_eq!(library.unix_mode().map(|m| m & 0o777), Some(0o755));
    }
}
