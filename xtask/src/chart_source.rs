//! Where the chart of a command line comes from: the line itself, a file, or the standard input. It
//! imports `command`; `comp` and `practice` import it.

use std::ffi::OsString;
use std::fs::File;
use std::io::{self, Read};
use std::path::PathBuf;

use anyhow::{Context, Result};
use lexopt::{Parser, ValueExt};

use crate::command::{self, Misunderstood};

/// The most bytes of a chart.
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
    /// Takes an argument for the chart, if there is none yet; `-` is the standard input.
    pub fn argument(found: &mut Option<Self>, text: OsString) -> Result<(), lexopt::Error> {
        let text = text.string()?;
        let source = if text == "-" {
            ChartSource::Input
        } else {
            ChartSource::Text(text.clone())
        };
        set(found, source, &text)
    }

    /// Takes the value of `--file` for the chart, if there is none yet; `-` is the standard input.
    pub fn option(found: &mut Option<Self>, parser: &mut Parser) -> Result<(), lexopt::Error> {
        let path = command::file(parser)?;
        let name = format!("--file {}", path.display());
        let source = if path.as_os_str() == "-" {
            ChartSource::Input
        } else {
            ChartSource::File(path)
        };
        set(found, source, &name)
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

fn set(
    found: &mut Option<ChartSource>,
    source: ChartSource,
    name: &str,
) -> Result<(), lexopt::Error> {
    if found.is_some() {
        let expected = "expected one, in quotes, as - or as --file FILE";
        return Err(format!("there is a second chart, {name:?}; {expected}").into());
    }
    *found = Some(source);
    Ok(())
}

fn text_of(source: impl Read, name: &str) -> Result<String> {
    let mut bytes = Vec::new();
    source
        .take(MOST_BYTES + 1)
        .read_to_end(&mut bytes)
        .with_context(|| format!("cannot read {name}"))?;
    if u64::try_from(bytes.len()).is_ok_and(|length| length > MOST_BYTES) {
        let error = format!("{name}: expected a chart, found more than {MOST_BYTES} bytes");
        return Err(Misunderstood(error).into());
    }
    let text = String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        Misunderstood(format!(
            "{name}: expected a text in UTF-8, found other bytes from byte {at} on"
        ))
    })?;
    // Editors on Windows put a mark before the text.
    Ok(text.strip_prefix('\u{feff}').unwrap_or(&text).to_owned())
}
