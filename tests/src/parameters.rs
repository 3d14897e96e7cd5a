//! The plugin's parameters as the table of the guide. Imports the host. The command that writes
//! the table and the test that checks it import this.

use crate::error::HostError;
use crate::host::Host;
use crate::params::Param;
use clack_extensions::params::ParamInfoFlags;
use std::fmt::Write as _;

/// The chapter with the table, by the name of its file.
pub const CHAPTER: &str = "parameters.md";

/// The marks around the table in the chapter.
const MARKS: [&str; 2] = ["<!-- parameters: begin -->\n", "<!-- parameters: end -->\n"];

/// The largest number of values that are listed one by one.
const NAMED: f64 = 12.0;

/// The parameters in the order in which hosts show them, as a table in Markdown;
/// hidden ones are left out.
///
/// # Errors
/// If the plugin has no words for a value.
pub fn table(host: &mut Host) -> Result<String, HostError> {
    let mut table = String::from("| parameter | values | at first |\n|---|---|---|\n");
    for param in host.params().to_vec() {
        if param.flags.contains(ParamInfoFlags::IS_HIDDEN) {
            continue;
        }
        let (name, values) = (&param.name, values(host, &param)?);
        let first = words(host, &param, param.default)?;
        // Writing into a string cannot fail.
        let _ = writeln!(table, "| {name} | {values} | {first} |");
    }
    Ok(table)
}

/// The words without spaces around them, with the characters that a table can hold.
fn words(host: &mut Host, param: &Param, value: f64) -> Result<String, HostError> {
    let words = host.value_to_text(param.id, value)?;
    Ok(words.trim().replace('|', "\\|"))
}

fn values(host: &mut Host, param: &Param) -> Result<String, HostError> {
    let stepped = param.flags.contains(ParamInfoFlags::IS_STEPPED);
    let least = words(host, param, param.min)?;
    let numbers = least.starts_with(|c: char| c.is_ascii_digit() || c == '-');
    if stepped && !numbers && param.max - param.min < NAMED {
        let all = std::iter::successors(Some(param.min), |v| Some(v + 1.0));
        let all = all.take_while(|value| *value <= param.max);
        let named: Result<Vec<String>, HostError> =
            all.map(|value| words(host, param, value)).collect();
        return Ok(named?.join(", "));
    }
    Ok(format!("{least} to {}", words(host, param, param.max)?))
}

/// The chapter with this table between its marks; none if the marks are not there.
#[must_use]
pub fn within(chapter: &str, table: &str) -> Option<String> {
    let [begin, end] = MARKS;
    let (before, rest) = chapter.split_once(begin)?;
    let (_, after) = rest.split_once(end)?;
    Some(format!("{before}{begin}\n{table}\n{end}{after}"))
}
