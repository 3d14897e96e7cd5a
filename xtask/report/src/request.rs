//! What is to be played: a chart, how it is played, a melody over it, and roots after it. Imports the options of tensions, the
//! exchange and the theory.

use crate::tensions::TensionOption;
use guidehand_exchange::kept::{Kept, KeptPin, KeptScale};
use guidehand_exchange::own_voicings::OwnVoicings;
use guidehand_theory::chart::{self, Chart, ChartError, TICKS_PER_QUARTER};
use guidehand_theory::comping::Yielding;
use guidehand_theory::key::Key;
use guidehand_theory::melody::{Melody, MelodyError};
use guidehand_theory::own_shape::OwnShape;
use guidehand_theory::shape::Texture;
use guidehand_theory::tension::TensionRequests;
use guidehand_theory::under::Style;
use std::error::Error;
use std::fmt;
use std::ops::Range;

/// A sixteenth at 150 beats a minute: a line that is faster is left single.
pub const SINGLE_UNDER_MS: u32 = 100;

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
    /// The player's own voicings, which take its place where one of them serves; none if they are not
    /// asked for.
    pub own: Option<OwnVoicings>,
    /// When the chart's chords are struck.
    pub rhythm: Rhythm,
    /// How the rhythm is played.
    pub hand: PlayedBy,
    /// What is asked of tensions.
    pub requests: TensionRequests,
    /// The same in words: the plugin's parameters and their values.
    pub asked: Vec<(&'static str, &'static str)>,
    /// Whether the audition tone plays. It takes far more time than the notes.
    pub tone: bool,
    /// Roots to play after the chart.
    pub roots: Vec<Root>,
    /// Voicings that are pinned to chords of the chart.
    pub pins: Vec<KeptPin>,
    /// Scales that are chosen for chords of the chart.
    pub scales: Vec<KeptScale>,
    /// A melody over the chart.
    pub melody: Option<Melody>,
    /// How far the chords yield to it.
    pub yielding: Yielding,
    /// The style of the block chords under it; none if there are to be none.
    pub blocks: Option<Style>,
    /// Notes that are shorter have no block chord, in milliseconds.
    pub single_under_ms: u32,
}

/// How a rhythm is played. What is not set stays as the plugin has it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct PlayedBy {
    /// Where the off-beat eighth lies in its beat, in percent, 50 to 75.
    pub swing: Option<u8>,
    /// How far a chord may be off its time, in milliseconds, 0 to 30.
    pub touch_ms: u8,
    /// How far a chord may be off its velocity, in steps of MIDI, 0 to 20.
    pub touch_velocity: u8,
    /// How freely the rhythm varies, in percent.
    pub variation: u8,
    /// The seed of all that varies, 0 to 9999.
    pub seed: Option<u16>,
}

impl PlayedBy {
    /// Whether strikes fall where the rhythm has them.
    #[must_use]
    pub const fn is_exact(self) -> bool {
        self.touch_ms == 0 && self.variation == 0
    }
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
            own: None,
            rhythm: Rhythm::Hold,
            hand: PlayedBy::default(),
            requests: TensionRequests::default(),
            asked: Vec::new(),
            tone: true,
            roots: Vec::new(),
            pins: Vec::new(),
            scales: Vec::new(),
            melody: None,
            yielding: Yielding::TensionsAndRegister,
            blocks: None,
            single_under_ms: SINGLE_UNDER_MS,
        }
    }

    /// The same time in ticks.
    #[must_use]
    pub fn single_under_ticks(&self) -> u32 {
        let quarters = f64::from(self.single_under_ms) * self.tempo_bpm / 60_000.0;
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a few seconds at most; not a number becomes 0"
        )]
        let ticks = (quarters * f64::from(TICKS_PER_QUARTER)).round() as u32;
        ticks
    }

    /// Takes this chart, with what was picked for its chords. Its notes have their English names.
    pub fn pick(&mut self, kept: Kept) {
        self.chart = kept.chart;
        self.pins = kept.pins;
        self.scales = kept.scales;
    }

    /// The chart with what was picked for its chords.
    #[must_use]
    pub fn kept(&self) -> Kept {
        Kept {
            pins: self.pins.clone(),
            scales: self.scales.clone(),
            ..Kept::of(&self.chart)
        }
    }

    /// The shapes of the player's own voicings that are asked for.
    #[must_use]
    pub fn own_shapes(&self) -> Vec<OwnShape> {
        self.own.as_ref().map_or_else(Vec::new, OwnVoicings::shapes)
    }

    /// Asks for a tension in words.
    ///
    /// # Errors
    /// What the option could have been, if there is no such word.
    pub fn ask(&mut self, option: &TensionOption, word: &str) -> Result<(), String> {
        let Some(words) = option.ask(word, &mut self.requests) else {
            let words: Vec<&str> = option.words().collect();
            let words = words.join(", ");
            return Err(format!("expected for --{}: {words}", option.name));
        };
        self.asked.push((option.parameter, words));
        Ok(())
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
    /// A short one, and a long off-beat after it.
    ReverseCharleston,
    /// Each beat.
    FourToTheBar,
    /// Long chords, in a pattern of two bars.
    Ballad,
    /// The first and third beats.
    TwoBeat,
    /// A straight pattern of two bars.
    Samba,
    /// One, the off-beat after two, three and four, straight.
    Bolero,
    /// The first, third and fourth of six eighths.
    SixEight,
    /// Three and two beats: one, the off-beat after two, four and five.
    FiveFour,
    /// One, two, three and the off-beat after it, of three.
    GospelWaltz,
}

impl Rhythm {
    /// All of them.
    pub const ALL: [Rhythm; 18] = [
        Rhythm::Hold,
        Rhythm::Charleston,
        Rhythm::LateCharleston,
        Rhythm::OffBeats,
        Rhythm::TwoAndFour,
        Rhythm::Push,
        Rhythm::Bossa,
        Rhythm::JazzWaltz,
        Rhythm::Drawn,
        Rhythm::ReverseCharleston,
        Rhythm::FourToTheBar,
        Rhythm::Ballad,
        Rhythm::TwoBeat,
        Rhythm::Samba,
        Rhythm::Bolero,
        Rhythm::SixEight,
        Rhythm::FiveFour,
        Rhythm::GospelWaltz,
    ];

    /// The words of the plugin's parameter.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Rhythm::Hold => "Sustained",
            Rhythm::Charleston => "Charleston",
            Rhythm::LateCharleston => "Late Charleston",
            Rhythm::OffBeats => "Off-beats",
            Rhythm::TwoAndFour => "Two and four",
            Rhythm::Push => "Anticipated",
            Rhythm::Bossa => "Bossa",
            Rhythm::JazzWaltz => "Jazz waltz",
            Rhythm::Drawn => "Drawn",
            Rhythm::ReverseCharleston => "Reverse Charleston",
            Rhythm::FourToTheBar => "Four to the bar",
            Rhythm::Ballad => "Half-time ballad",
            Rhythm::TwoBeat => "Two-beat",
            Rhythm::Samba => "Samba",
            Rhythm::Bolero => "Bolero",
            Rhythm::SixEight => "Six-eight",
            Rhythm::FiveFour => "Five-four",
            Rhythm::GospelWaltz => "Gospel waltz",
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
        point_at_each(f, &self.text, &self.errors, |error| &error.source)
    }
}

impl Error for ChartErrors {}

/// The errors of a melody together with its text. They print as those of a chart do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MelodyErrors {
    /// The text of the melody.
    pub text: String,
    /// What cannot be read in it.
    pub errors: Vec<MelodyError>,
}

impl MelodyErrors {
    /// The errors that reading this text gave.
    #[must_use]
    pub fn new(text: &str, errors: Vec<MelodyError>) -> Self {
        let text = text.to_owned();
        Self { text, errors }
    }
}

impl fmt::Display for MelodyErrors {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        point_at_each(f, &self.text, &self.errors, |error| &error.source)
    }
}

impl Error for MelodyErrors {}

/// The most characters of a line that are shown.
const MOST_SHOWN: usize = 100;

/// The characters that are shown before a place that lies further to the right.
const SHOWN_BEFORE: usize = 40;

/// The most characters of a message.
const MOST_SAID: usize = 400;

/// Writes errors of a text one after the other, each with its line.
fn point_at_each<E: fmt::Display>(
    f: &mut fmt::Formatter<'_>,
    text: &str,
    errors: &[E],
    source: fn(&E) -> &Range<usize>,
) -> fmt::Result {
    for (i, error) in errors.iter().enumerate() {
        if i > 0 {
            writeln!(f)?;
        }
        point_at(f, text, source(error), error)?;
    }
    Ok(())
}

/// Writes the error and the line of the text that it is in, with marks under the
/// place. Of a long line the part around the place is shown.
fn point_at(
    f: &mut fmt::Formatter<'_>,
    text: &str,
    source: &Range<usize>,
    error: &dyn fmt::Display,
) -> fmt::Result {
    let from = source.start.min(text.len());
    let line_start = text
        .get(..from)
        .and_then(|t| t.rfind('\n'))
        .map_or(0, |i| i + 1);
    let line = text
        .get(line_start..)
        .and_then(|t| t.lines().next())
        .unwrap_or("");
    let before = text.get(line_start..from).unwrap_or("").chars().count();
    let inside = text.get(source.clone()).unwrap_or("");
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
