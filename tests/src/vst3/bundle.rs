//! The layout in which hosts find a VST3 plugin: a folder with the library inside
//! it. Imports nothing of this crate.

use std::env::consts::ARCH;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::process;

/// The plugin's name, which is the name of its bundle and of the library in it.
const NAME: &str = "Guidehand";

/// Where the library lies within a bundle.
#[must_use]
pub fn library_in(bundle: &Path) -> PathBuf {
    let contents = bundle.join("Contents");
    if cfg!(target_os = "macos") {
        contents.join("MacOS").join(NAME)
    } else if cfg!(target_os = "windows") {
        contents
            .join(format!("{ARCH}-win"))
            .join(format!("{NAME}.vst3"))
    } else {
        contents
            .join(format!("{ARCH}-linux"))
            .join(format!("{NAME}.so"))
    }
}

/// Lays a built library out as a bundle in a folder, and replaces a bundle that is there.
///
/// # Errors
/// If a folder or file cannot be written.
pub fn lay_out(library: &Path, folder: &Path) -> io::Result<PathBuf> {
    let bundle = folder.join(NAME).with_extension("vst3");
    let inside = library_in(&bundle);
    if let Some(parent) = inside.parent() {
        fs::create_dir_all(parent)?;
    }
    // A process that has loaded the old file keeps it, and none finds half of the new one, however
    // many lay it out at the same time.
    let mut new = inside.clone();
    new.set_extension(format!("{}.new", process::id()));
    fs::copy(library, &new)?;
    fs::rename(&new, &inside)?;
    Ok(bundle)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_library_lies_where_the_bundle_says() {
        let folder = std::env::temp_dir().join(format!("guidehand-bundle-{}", std::process::id()));
        fs::create_dir_all(&folder).unwrap();
        let library = folder.join("built");
        for content in ["old", "new"] {
            fs::write(&library, content).unwrap();
            let bundle = lay_out(&library, &folder).unwrap();
            assert!(bundle.ends_with("Guidehand.vst3"));
            assert_eq!(fs::read_to_string(library_in(&bundle)).unwrap(), content);
        }
        fs::remove_dir_all(folder).unwrap();
    }
}
