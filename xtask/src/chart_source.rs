//! Where the chart of a command line comes from: the line itself, a file, or the standard input. It
//! imports `command`; `comp` and `practice` import it.

use std::fs::File;
use std::io::{self, Read};
use std::path::PathBuf;

use anyhow::{Context, Result};
use lexopt::{Parser, ValueExt};

use crate::command::{self, Misunderstood};

/// The most bytes that are read. A chart is shorter; what is wrong with a longer one is said where it
/// is read.
const MOST_BYTES: u64 = 16 * 1024 * 1024;

/// Where a chart comes from.
#[derive(Debug, PartialEq, Eq)]
pub enum ChartSource {
    /// The command line.
    Text(String),
    /// A file.
    File(PathBuf),
    /// The standard input.
    Input,
}

impl ChartSource {
    /// The chart that an argument is; `-` is the standard input.
    pub fn argument(text: std::ffi::OsString) -> Result<ChartSource, lexopt::Error> {
        Ok(match text.string()? {
            text if text == "-" => ChartSource::Input,
            text => ChartSource::Text(text),
        })
    }

    /// The chart that the value of `--file` names; `-` is the standard input.
    pub fn option(parser: &mut Parser) -> Result<ChartSource, lexopt::Error> {
        Ok(match command::file(parser)? {
            path if path.as_os_str() == "-" => ChartSource::Input,
            path => ChartSource::File(path),
        })
    }

    /// The text of the chart.
    pub fn text(&self) -> Result<String> {
        match self {
            ChartSource::Text(text) => Ok(text.clone()),
            ChartSource::File(path) => {
                let name = path.display().to_string();
                let file = File::open(path).with_context(|| format!("cannot read {name}"))?;
                text_of(file, &name)
            }
            ChartSource::Input => text_of(io::stdin(), "the standard input"),
        }
    }
}

fn text_of(source: impl Read, name: &str) -> Result<String> {
    let mut bytes = Vec::new();
    source
        .take(MOST_BYTES)
        .read_to_end(&mut bytes)
        .with_context(|| format!("cannot read {name}"))?;
    let text = String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        Misunderstood(format!(
            "{name}: expected a text in UTF-8, which ends at byte {at}"
        ))
    })?;
    // Editors on Windows put a mark before the text.
    Ok(text.strip_prefix('\u{feff}').unwrap_or(&text).to_owned())
}
