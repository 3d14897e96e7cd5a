//! `guidehand-guide OUT`: renders the guide into the folder OUT, which `cargo xtask guide` names, and checks it.

use std::path::Path;

use anyhow::{Context, Result, ensure};

fn main() -> Result<()> {
    let out = std::env::args_os().nth(1).context("expected a folder")?;
    let out = Path::new(&out);
    guidehand_guide::render(Path::new(env!("CARGO_MANIFEST_DIR")), out)?;
    let problems = guidehand_guide::problems(out)?;
    ensure!(problems.is_empty(), "{}", problems.join("\n"));
    Ok(())
}
