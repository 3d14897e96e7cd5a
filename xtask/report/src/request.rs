//! What is to be played: a chart, how it is played, and roots after it. Imports the theory.

use guidehand_theory::chart::{self, Chart, ChartError};
use guidehand_theory::key::Key;
use guidehand_theory::shape::Texture;
use std::error::Error;
use std::fmt;

/// What to play.
#[derive(Clone, Debug)]
pub struct Request {
    /// The chart's text.
    pub chart: String,
    /// The key that holds for the chart and for the roots. If none is given, the
    /// chart's keys are found in the chart, and the roots are in C major.
    pub key: Option<Key>,
    /// Quarter notes a minute.
    pub tempo_bpm: f64,
    /// The texture.
    pub texture: Texture,
    /// When the chart's chords are struck.
    pub rhythm: Rhythm,
    /// Whether the audition tone plays. It takes far more time than the notes.
    pub tone: bool,
    /// Roots to play after the chart.
    pub roots: Vec<Root>,
}

/// A root note to play after the chart.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Root {
    /// The MIDI note, below the split (60).
    pub key: u8,
    /// How long it is held, in quarter notes.
    pub beats: u8,
}

impl Request {
    /// A chart at 120 beats a minute, in four notes, each chord held.
    #[must_use]
    pub fn new(chart: impl Into<String>) -> Self {
        Self {
            chart: chart.into(),
            key: None,
            tempo_bpm: 120.0,
            texture: Texture::FourNotes,
            rhythm: Rhythm::Hold,
            tone: true,
            roots: Vec::new(),
        }
    }

    /// Reads the chart.
    ///
    /// # Errors
    /// [`ChartErrors`] with every place that cannot be read.
    pub fn read(&self) -> Result<Chart, ChartErrors> {
        chart::parse(&self.chart).map_err(|errors| ChartErrors::new(&self.chart, errors))
    }
}

/// The rhythms that strike by themselves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rhythm {
    /// Each chord is held as long as it lasts.
    Hold,
    /// One, and the off-beat after two.
    Charleston,
    /// The same an eighth later.
    LateCharleston,
    /// The off-beats after two and four.
    OffBeats,
    /// The second and fourth beats.
    TwoAndFour,
    /// Each chord comes an eighth early and is held.
    Push,
    /// A pattern of two bars.
    Bossa,
    /// One, and the off-beat after two, of three.
    JazzWaltz,
    /// The pattern that the player has drawn.
    Drawn,
}

impl Rhythm {
    /// All of them.
    pub const ALL: [Rhythm; 9] = [
        Rhythm::Hold,
        Rhythm::Charleston,
        Rhythm::LateCharleston,
        Rhythm::OffBeats,
        Rhythm::TwoAndFour,
        Rhythm::Push,
        Rhythm::Bossa,
        Rhythm::JazzWaltz,
        Rhythm::Drawn,
    ];

    /// The words of the plugin's parameter.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Rhythm::Hold => "Hold",
            Rhythm::Charleston => "Charleston",
            Rhythm::LateCharleston => "Late Charleston",
            Rhythm::OffBeats => "Off-beats",
            Rhythm::TwoAndFour => "Two and four",
            Rhythm::Push => "Push",
            Rhythm::Bossa => "Bossa",
            Rhythm::JazzWaltz => "Jazz waltz",
            Rhythm::Drawn => "Drawn",
        }
    }
}

/// The errors of a chart together with its text. They print with the lines that
/// they are in, and with marks under the places.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChartErrors {
    /// The text of the chart.
    pub text: String,
    /// What cannot be read in it.
    pub errors: Vec<ChartError>,
}

impl ChartErrors {
    /// The errors that reading this text gave.
    #[must_use]
    pub fn new(text: &str, errors: Vec<ChartError>) -> Self {
        let text = text.to_owned();
        Self { text, errors }
    }
}

impl fmt::Display for ChartErrors {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, error) in self.errors.iter().enumerate() {
            if i > 0 {
                writeln!(f)?;
            }
            point_at(f, &self.text, error)?;
        }
        Ok(())
    }
}

impl Error for ChartErrors {}

/// The most characters of a line that are shown.
const MOST_SHOWN: usize = 100;

/// The characters that are shown before a place that lies further to the right.
const SHOWN_BEFORE: usize = 40;

/// The most characters of a message.
const MOST_SAID: usize = 400;

/// Writes the error and the line of the chart that it is in, with marks under the
/// place. Of a long line the part around the place is shown.
fn point_at(f: &mut fmt::Formatter<'_>, text: &str, error: &ChartError) -> fmt::Result {
    let from = error.source.start.min(text.len());
    let line_start = text
        .get(..from)
        .and_then(|t| t.rfind('\n'))
        .map_or(0, |i| i + 1);
    let line = text
        .get(line_start..)
        .and_then(|t| t.lines().next())
        .unwrap_or("");
    let before = text.get(line_start..from).unwrap_or("").chars().count();
    let inside = text.get(error.source.clone()).unwrap_or("");
    let marks = inside.lines().next().unwrap_or("").chars().count().max(1);
    let length = line.chars().count();
    let cut = if length <= MOST_SHOWN {
        0
    } else {
        before.saturating_sub(SHOWN_BEFORE)
    };
    let shown: String = line.chars().skip(cut).take(MOST_SHOWN).collect();
    let left = if cut > 0 { "... " } else { "" };
    let right = if length > cut + MOST_SHOWN {
        " ..."
    } else {
        ""
    };
    let space = " ".repeat(left.len() + before - cut);
    let marks = "^".repeat(marks.min((cut + MOST_SHOWN).saturating_sub(before).max(1)));
    let said = shortened(&error.to_string());
    if line.trim().is_empty() {
        return f.write_str(&said);
    }
    writeln!(f, "{said}")?;
    write!(f, "  {left}{shown}{right}\n  {space}{marks}")
}

/// A message without its middle, if it quotes so much that nobody would read it.
fn shortened(message: &str) -> String {
    let length = message.chars().count();
    if length <= MOST_SAID {
        return message.to_owned();
    }
    let first: String = message.chars().take(MOST_SAID / 3).collect();
    let last: String = message.chars().skip(length - MOST_SAID / 2).collect();
    format!("{first} ... {last}")
}
