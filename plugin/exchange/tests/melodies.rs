//! Melodies in files: which line is one, its notes as they are played, what is left out of it, and
//! our own files read again.

mod documents;
mod random;

mod melodies {
    pub mod midi;
    pub mod musicxml;
    pub mod round_trips;
}

use guidehand_exchange::import::{self, Imported, Wanted, Wish};
use guidehand_theory::chart::{self, Chart};

fn read(bytes: &[u8], name: Option<&str>) -> Imported {
    let wish = Wish {
        part: None,
        melody: Wanted::of(name),
    };
    import::read(bytes, wish).unwrap_or_else(|error| panic!("{error}"))
}

/// The chart of a file, its melody as text, and what is told.
fn sung(file: &impl AsRef<[u8]>, name: Option<&str>) -> (String, String, Vec<String>) {
    let imported = read(file.as_ref(), name);
    let chart = chart_of(&imported.text);
    let melody = imported.melody.map(|found| found.melody.text(&chart));
    let missed = imported.missed.iter().map(ToString::to_string);
    let told = imported.remarks.into_iter().chain(missed).collect();
    (imported.text, melody.unwrap_or_default(), told)
}

fn chart_of(text: &str) -> Chart {
    chart::parse(text).unwrap_or_else(|errors| panic!("{text}: {errors:?}"))
}
