//! What the panel says: snapshot and settings as words. Pure functions, without
//! egui. Imports `settings`, `ear`, `snapshot` and the theory; every region imports it.

pub mod bass;
pub mod families;
pub mod moves;
mod requests;
pub mod scales;

use crate::engine::settings::{Settings, Source};
use crate::engine::snapshot::{Snapshot, Sounding};
use guidehand_theory::chart::Chart;
use guidehand_theory::chord::{Chord, Triad};
use guidehand_theory::degree::{Degree, DegreeSet};
use guidehand_theory::key::Function;
use guidehand_theory::pipeline::ChordInKey;
use guidehand_theory::pitch::{MidiNote, NoteName};
use guidehand_theory::symbol::{Sign, Symbol};
use guidehand_theory::tension::{self, TensionRequests};
use guidehand_theory::voicing::{Form, Voicing};
use requests::asked;
use std::ops::RangeInclusive;

/// What a note is in its chord, told apart by colour and by shape.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoteKind {
    /// Third or seventh, or what stands for them.
    Guide,
    /// Another note of the plain chord.
    ChordTone,
    /// A natural tension.
    Natural,
    /// An altered tension or fifth.
    Altered,
    /// The bass note.
    Bass,
}

impl NoteKind {
    /// Every kind, in the order of the legend.
    pub const ALL: [NoteKind; 5] = [
        NoteKind::Guide,
        NoteKind::ChordTone,
        NoteKind::Natural,
        NoteKind::Altered,
        NoteKind::Bass,
    ];

    /// Its name in the legend.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            NoteKind::Guide => "guide tone",
            NoteKind::ChordTone => "chord tone",
            NoteKind::Natural => "natural tension",
            NoteKind::Altered => "altered tension",
            NoteKind::Bass => "bass",
        }
    }
}

/// A note that is marked on the keyboard.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MarkedNote {
    /// The key.
    pub note: u8,
    /// Its degree; for the bass, its name.
    pub label: String,
    /// What it is.
    pub kind: NoteKind,
}

/// A chord symbol in the parts that are set in different sizes.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Letters {
    /// The root's letter.
    pub root: String,
    /// The root's signs.
    pub accidental: String,
    /// Quality and extension.
    pub quality: String,
    /// What stands in brackets, with them.
    pub brackets: String,
    /// The slash and the bass under it.
    pub bass: String,
}

/// The chord on show.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Now {
    /// The chord as it sounds.
    pub letters: Letters,
    /// It has been released.
    pub past: bool,
    /// The symbol as it is written, where that differs.
    pub written: Option<String>,
    /// Its function and key.
    pub function: String,
    /// Why these tensions; empty where there are none.
    pub why: String,
    /// The form and the notes.
    pub notes: String,
}

/// Words of the theory with music signs: `Bb` and `b9` get flats, `backdoor`
/// keeps its letters.
#[must_use]
pub fn with_signs(words: &str) -> String {
    let mut out = String::with_capacity(words.len() + 4);
    let mut rest = words;
    let mut starts_word = true;
    while let Some(first) = rest.chars().next() {
        let signs_at = usize::from(starts_word && first.is_ascii_uppercase());
        let tail = rest.get(signs_at..).unwrap_or("");
        let signs = tail.len() - tail.trim_start_matches(['b', '#']).len();
        let after = tail.get(signs..).and_then(|t| t.chars().next());
        let stands_alone = match after {
            Some(next) if signs_at == 0 => {
                next.is_ascii_digit() || matches!(next, 'I' | 'V') || begins_small_numeral(tail)
            }
            Some(next) => !next.is_ascii_lowercase(),
            None => signs_at == 1,
        };
        let note_or_degree = signs_at == 0 || matches!(first, 'A'..='G');
        if starts_word && signs > 0 && stands_alone && note_or_degree {
            out.push_str(rest.get(..signs_at).unwrap_or(""));
            let signs = tail.get(..signs).unwrap_or("");
            out.extend(signs.chars().map(|c| if c == 'b' { '♭' } else { '♯' }));
            rest = rest.get(signs_at + signs.len()..).unwrap_or("");
            starts_word = false;
        } else {
            out.push(first);
            rest = rest.get(first.len_utf8()..).unwrap_or("");
            starts_word = !first.is_alphanumeric();
        }
    }
    out
}

/// Whether a text begins with signs and a numeral in lower case: `bvi°`, `#ivø`.
fn begins_small_numeral(text: &str) -> bool {
    let word = text.trim_start_matches(['b', '#']);
    let numeral = word.trim_start_matches(['i', 'v']);
    let rest = numeral.trim_start_matches(['ø', '°']);
    numeral.len() < word.len() && !rest.starts_with(char::is_alphanumeric)
}

/// A note's name with music signs.
#[must_use]
pub fn note_name(name: NoteName) -> String {
    with_signs(&name.to_string())
}

/// A degree's name with music signs.
#[must_use]
pub fn degree_name(degree: Degree) -> String {
    with_signs(degree.name())
}

/// A key on the keyboard by its plain name: sharps, middle C is C4.
#[must_use]
pub fn key_name(note: MidiNote) -> String {
    const NAMES: [&str; 12] = [
        "C", "C♯", "D", "D♯", "E", "F", "F♯", "G", "G♯", "A", "A♯", "B",
    ];
    let name = NAMES.get(usize::from(note.class().number()));
    format!(
        "{}{}",
        name.unwrap_or(&""),
        i32::from(note.number() / 12) - 1
    )
}

/// A chord symbol with music signs.
#[must_use]
pub fn symbol(chord: &Chord) -> String {
    Symbol(chord, Sign::Unicode).to_string()
}

/// A chord symbol in its parts.
#[must_use]
pub fn letters(chord: &Chord) -> Letters {
    let whole = symbol(chord);
    let name = note_name(chord.upper.map_or(chord.root, Triad::root));
    let bass = chord
        .bass
        .map_or(String::new(), |b| format!("/{}", note_name(b)));
    let middle = whole.strip_prefix(&name).unwrap_or(&whole);
    let middle = middle.strip_suffix(&bass).unwrap_or(middle);
    let bracket = middle.find('(').unwrap_or(middle.len());
    let (quality, brackets) = middle.split_at_checked(bracket).unwrap_or((middle, ""));
    let (root, accidental) = name.split_at_checked(1).unwrap_or((&name, ""));
    Letters {
        root: root.to_owned(),
        accidental: accidental.to_owned(),
        quality: quality.to_owned(),
        brackets: brackets.replace(',', " "),
        bass,
    }
}

/// A chord's function and key, as `ii in C major`.
#[must_use]
pub fn function(function: &Function) -> String {
    with_signs(&function.to_string())
}

/// What a degree is in the chord that sounds.
#[must_use]
pub fn kind(sounding: &Sounding, degree: Degree) -> NoteKind {
    let tensions = &sounding.voiced.tensions;
    let chord = &sounding.placed.chord;
    if tensions.third == Some(degree) || tensions.seventh == Some(degree) {
        NoteKind::Guide
    } else if chord.quality.degrees().contains(degree) {
        NoteKind::ChordTone
    } else if degree.is_altered() {
        NoteKind::Altered
    } else if degree.family().is_some() {
        NoteKind::Natural
    } else {
        NoteKind::ChordTone
    }
}

/// The notes that sound, from the lowest.
#[must_use]
pub fn marks(sounding: &Sounding) -> Vec<MarkedNote> {
    let chord = &sounding.placed.chord;
    let bass = sounding.bass.map(|note| MarkedNote {
        note: note.number(),
        label: note_name(chord.bass.unwrap_or(chord.root)),
        kind: NoteKind::Bass,
    });
    let voices = sounding.voiced.voicing.voices().iter();
    let voices = voices.map(|voice| MarkedNote {
        note: voice.note.number(),
        label: degree_name(voice.degree),
        kind: kind(sounding, voice.degree),
    });
    bass.into_iter().chain(voices).collect()
}

/// The tensions among the sounding degrees, without the notes of the plain chord.
fn added(sounding: &Sounding) -> DegreeSet {
    let sounding_degrees = sounding.voiced.voicing.degrees();
    tension::of(sounding_degrees).minus(sounding.placed.chord.quality.degrees())
}

/// The chord on show, if one has sounded.
#[must_use]
pub fn now(snapshot: &Snapshot, settings: &Settings) -> Option<Now> {
    let sounding = on_show(snapshot)?;
    let placed = &sounding.placed;
    let chord = placed.sounding(&sounding.voiced.voicing);
    let voicing = &sounding.voiced.voicing;
    let spelled: Vec<String> = voicing
        .spelled(placed.chord.root)
        .map(|pitch| with_signs(&pitch.to_string()))
        .collect();
    Some(Now {
        letters: letters(&chord),
        past: snapshot.sounding.is_none(),
        written: (chord != placed.written).then(|| symbol(&placed.written)),
        function: function(&placed.function),
        why: match settings.source {
            Source::Reading => with_signs(sounding.voiced.tensions.reason),
            _ => why(&sounding, &settings.taste.requests),
        },
        notes: match form(placed, voicing) {
            Some(form) => format!("form {form}:  {}", spelled.join("  ")),
            None => spelled.join("  "),
        },
    })
}

/// The form of a voicing, a letter with the slot that is lowest, since some books
/// letter each chord by that slot: `A, seventh lowest`; none as a player laid it.
fn form(placed: &ChordInKey, voicing: &Voicing) -> Option<String> {
    let name = Form::of(voicing.position, placed.chord.quality);
    match (name, voicing.position.lowest()) {
        (Form::AsPlayed, _) => None,
        (Form::A | Form::B, Some(lowest)) => Some(format!("{name}, {lowest} lowest")),
        _ => Some(name.to_string()),
    }
}

/// The chord that sounds, or the last one that did.
#[must_use]
pub fn on_show(snapshot: &Snapshot) -> Option<Sounding> {
    snapshot.sounding.or(snapshot.last)
}

/// Where the tensions come from: written, asked for, or chosen, and why.
#[must_use]
pub fn why(sounding: &Sounding, requests: &TensionRequests) -> String {
    let chord = &sounding.placed.chord;
    let tensions = added(sounding);
    let written = tensions.intersection(chord.degrees());
    let asked = tensions.minus(written).intersection(asked(chord, requests));
    let chosen = tensions.minus(written).minus(asked);
    let reason = sounding.voiced.tensions.reason;
    let chosen_for = if reason.starts_with(AS_WRITTEN) {
        "usual on this kind of chord"
    } else {
        reason
    };
    let parts = [
        (written, AS_WRITTEN),
        (asked, "as asked"),
        (chosen, chosen_for),
    ];
    let words: Vec<String> = parts
        .into_iter()
        .filter(|(degrees, _)| !degrees.is_empty())
        .map(|(degrees, reason)| format!("{}: {}", names(degrees), with_signs(reason)))
        .collect();
    words.join(", ")
}

/// How the theory's reason begins for chords whose symbol settles the tensions:
/// what the symbol does not write comes with the quality.
const AS_WRITTEN: &str = "as written";

fn names(degrees: DegreeSet) -> String {
    let names: Vec<String> = degrees.iter().map(degree_name).collect();
    names.join(" ")
}

/// What to do, in a line, where nothing sounds or nothing can.
#[must_use]
pub fn hint(snapshot: &Snapshot, settings: &Settings) -> Option<String> {
    let split = key_name(MidiNote::clamp(i32::from(settings.split)));
    if settings.bypass {
        return Some("Bypassed: everything passes, nothing is added.".to_owned());
    }
    if settings.source == Source::Reading && snapshot.last.is_some() {
        return others(snapshot);
    }
    if snapshot.sounding.is_some() {
        return None;
    }
    match settings.source {
        Source::Roots if snapshot.last.is_none() => Some(format!(
            "Play a root below {split}: its chord sounds and shows here."
        )),
        Source::Roots => None,
        Source::Chart if !snapshot.playing => {
            Some("Start the host: the chart plays from the song's first bar on.".to_owned())
        }
        Source::Chart if settings.gate => {
            Some(format!("Hold a key below {split} to let the chart sound."))
        }
        Source::Chart => None,
        Source::Reading => Some(format!(
            "Play a chord below {split}: it passes through and is read here."
        )),
        Source::Bass => Some("Send a bass to the side-chain: its chords sound with it.".to_owned()),
    }
}

/// What else the notes can be: `or G♭9, D♭m6`.
fn others(snapshot: &Snapshot) -> Option<String> {
    let symbols = snapshot.others.iter().flatten();
    let symbols: Vec<String> = symbols
        .map(|chord| Symbol(chord, Sign::Unicode).to_string())
        .collect();
    (!symbols.is_empty()).then(|| format!("or {}", symbols.join(", ")))
}

/// E1, where bass notes begin.
const LOWEST_BASS: u8 = 28;

/// The keys that the keyboard shows: the register and a bit beyond both ends,
/// from white key to white key; down to the bass where one is wanted. It depends
/// on the settings, so that keys keep their places while chords change; only a
/// note that would lie outside makes it grow.
#[must_use]
pub fn keyboard(settings: &Settings, notes: &[u8]) -> RangeInclusive<u8> {
    let register = settings.taste.register;
    let headroom = settings.taste.texture.headroom();
    let mut from = register.lowest.number().saturating_sub(5);
    if settings.bass_channel.is_some() {
        from = from.min(LOWEST_BASS);
    }
    let to = (register.highest.number() + headroom)
        .saturating_add(5)
        .min(127);
    let from = notes.iter().fold(from, |from, note| from.min(*note));
    let to = notes.iter().fold(to, |to, note| to.max(*note));
    let white = |note: &u8| !is_black(*note);
    let from = (0..=from).rev().find(white).unwrap_or(0);
    let to = (to..=127).find(white).unwrap_or(127);
    from..=to
}

/// Whether a MIDI note is a black key.
#[must_use]
pub const fn is_black(note: u8) -> bool {
    matches!(note % 12, 1 | 3 | 6 | 8 | 10)
}

/// Bar and beat of the chart as played, both from 1, at a tick of it.
#[must_use]
pub fn place(chart: &Chart, ticks: u32) -> String {
    let (bar, beat) = chart.bar_and_beat(ticks);
    format!("bar {bar}, beat {}", beat.floor())
}

/// A chart in a few words.
#[must_use]
pub fn extent(chart: &Chart) -> String {
    let bars = chart.bars.iter().skip(usize::from(chart.has_pickup()));
    let count = bars.clone().count();
    let changes = bars.clone().any(|bar| bar.meter != chart.meter());
    let bars = if count == 1 { "bar" } else { "bars" };
    let first = chart.meter();
    let others = if changes { " and other meters" } else { "" };
    let pickup = if chart.has_pickup() {
        " after a pickup"
    } else {
        ""
    };
    format!("{count} {bars} of {first}{others}{pickup}")
}

#[cfg(test)]
mod tests;
