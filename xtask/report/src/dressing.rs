//! What `dress` reports of the ways to dress a chord: as JSON and as a table. Imports the rows of a
//! performance, text in columns and the theory.

use crate::performance::{NoteRow, ScaleRow};
use crate::table::aligned;
use guidehand_theory::dressing::{self, Dressing, Finger, Fit, Place, Reason, Step};
use guidehand_theory::pitch::NoteName;
use guidehand_theory::symbol::{Sign, Symbol};
use guidehand_theory::voicing::{Form, Voicing};
use serde::Serialize;
use std::fmt::{self, Write};

/// A chord in its place, with the ways to dress it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct DressReport {
    /// The symbol that is dressed, in ASCII.
    pub symbol: String,
    /// The symbol of what sounds now.
    pub sounding: String,
    /// The root's name.
    pub root: String,
    /// `A`, `B` or another form, as in the rows of a performance.
    pub form: String,
    /// The slot that is lowest in close position.
    pub lowest: Option<&'static str>,
    /// The notes that sound now, from the lowest.
    pub notes: Vec<NoteRow>,
    /// The key in force.
    pub key: String,
    /// The chord's part in the key.
    pub function: String,
    /// The notes of the melody over the chord, by their names in the key.
    pub melody: Vec<String>,
    /// The dressings: those that move the fewest fingers first, then those that suit best where the
    /// chord goes.
    pub dressings: Vec<DressingRow>,
}

/// One way to dress the chord.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct DressingRow {
    /// Its name by degree: `b9 13`, `13 then b13`, `plain`.
    pub name: String,
    /// How many fingers move, through all steps.
    pub fingers: usize,
    /// Whether it is what sounds now.
    pub sounds_now: bool,
    /// `usual`, `bold` or `against the melody`.
    pub fit: &'static str,
    /// Why, in one line.
    pub why: String,
    /// The degrees that the symbol says and the new one does not.
    pub loses: Vec<&'static str>,
    /// Whether the reason names them.
    #[serde(skip)]
    reason_is_loss: bool,
    /// What sounds: one step, or two for an inner line.
    pub steps: Vec<StepRow>,
}

/// What sounds for a while.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct StepRow {
    /// The symbol to write, in ASCII.
    pub symbol: String,
    /// The tritone substitute that has the same notes; none if there is no such chord.
    pub substitute: Option<String>,
    /// The form in which the hand lies.
    pub form: String,
    /// The slot that is lowest in close position.
    pub lowest: Option<&'static str>,
    /// Whether the hand changes its position, because the notes do not fit its own.
    pub other_position: bool,
    /// The notes, from the lowest.
    pub notes: Vec<NoteRow>,
    /// The fingers that move, from what sounds now or from the step before.
    pub moves: Vec<MoveRow>,
    /// The same degrees in another position, if #9 lies a half step below the third here.
    pub clear_of_the_third: Option<PositionRow>,
    /// Whether the symbol alone leaves open what sounds, so that the voicing must be pinned too.
    pub needs_pin: bool,
    /// The scales to play on it; the first one is the suggestion.
    pub scales: Vec<ScaleRow>,
}

/// A finger that moves.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct MoveRow {
    /// The voice, from 1 for the lowest.
    pub voice: u8,
    /// The note that it leaves; none for a finger that comes in.
    pub from: Option<NoteRow>,
    /// The note that it goes to; none for a finger that lifts.
    pub to: Option<NoteRow>,
    /// Half steps, down if negative; none for a finger that comes in or lifts.
    pub semitones: Option<i32>,
}

/// Notes in a position.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct PositionRow {
    /// The form.
    pub form: String,
    /// The slot that is lowest.
    pub lowest: Option<&'static str>,
    /// The notes, from the lowest.
    pub notes: Vec<NoteRow>,
}

impl DressReport {
    /// The report of a chord in its place.
    #[must_use]
    pub fn new(place: &Place) -> DressReport {
        let placed = &place.placed;
        let root = placed.chord.root;
        let now = &place.now;
        let dressings = dressing::dressings(place);
        DressReport {
            symbol: Symbol(&placed.written, Sign::Ascii).to_string(),
            sounding: Symbol(&placed.sounding(now), Sign::Ascii).to_string(),
            root: root.to_string(),
            form: Form::of(now.position, placed.chord.quality).to_string(),
            lowest: now.position.lowest(),
            notes: NoteRow::all(now, root),
            key: placed.function.key.to_string(),
            function: placed.function.to_string(),
            melody: {
                let names = place
                    .melody
                    .iter()
                    .map(|note| placed.function.key.name(note));
                names.map(|name| name.to_string()).collect()
            },
            dressings: dressings
                .iter()
                .map(|d| DressingRow::new(d, root))
                .collect(),
        }
    }
}

impl DressingRow {
    fn new(dressing: &Dressing, root: NoteName) -> DressingRow {
        DressingRow {
            name: dressing.name.to_string(),
            fingers: dressing.fingers,
            sounds_now: dressing.sounds_now,
            fit: match dressing.fit {
                Fit::Usual => "usual",
                Fit::Bold => "bold",
                Fit::AgainstMelody => "against the melody",
            },
            why: dressing.reason.to_string(),
            reason_is_loss: matches!(dressing.reason, Reason::TakesAway(_)),
            loses: dressing.taken.degrees().iter().map(|d| d.name()).collect(),
            steps: dressing
                .steps
                .iter()
                .map(|s| StepRow::new(s, root))
                .collect(),
        }
    }
}

impl StepRow {
    fn new(step: &Step, root: NoteName) -> StepRow {
        let form = |position| Form::of(position, step.symbol().quality).to_string();
        let clear = |voicing: Voicing| PositionRow {
            form: form(voicing.position),
            lowest: voicing.position.lowest(),
            notes: NoteRow::all(&voicing, root),
        };
        let other = step.substitute.as_ref();
        StepRow {
            symbol: Symbol(step.symbol(), Sign::Ascii).to_string(),
            substitute: other.map(|chord| Symbol(chord, Sign::Ascii).to_string()),
            form: form(step.voicing.position),
            lowest: step.voicing.position.lowest(),
            other_position: step.other_position,
            notes: NoteRow::all(&step.voicing, root),
            moves: step.fingers.iter().map(|f| MoveRow::new(f, root)).collect(),
            clear_of_the_third: step.clear_of_the_third.map(clear),
            needs_pin: step.needs_pin,
            scales: step.scales().iter().map(ScaleRow::new).collect(),
        }
    }
}

impl MoveRow {
    fn new(finger: &Finger, root: NoteName) -> MoveRow {
        MoveRow {
            voice: finger.voice,
            from: finger.from.map(|voice| NoteRow::new(&voice, root)),
            to: finger.to.map(|voice| NoteRow::new(&voice, root)),
            semitones: finger.half_steps(),
        }
    }
}

/// The characters of a line, at most.
const WIDTH: usize = 100;

/// The space before the lines that say more about a dressing.
const INDENT: &str = "     ";

impl fmt::Display for DressReport {
    /// What sounds, then the dressings: fingers, name, symbol, notes, moves and fit, with the first
    /// scale, the reason and remarks below; then the scales with other names, steps and notes.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let function = &self.function;
        writeln!(f, "{}: {function}; {} sounds", self.symbol, self.sounding)?;
        let place = placed(&self.form, self.lowest, &self.notes);
        writeln!(f, "{place}")?;
        if !self.melody.is_empty() {
            write_wrapped(f, "", &format!("melody: {}", self.melody.join(" ")))?;
        }
        writeln!(f)?;
        let cells: Vec<[String; 6]> = self.dressings.iter().flat_map(DressingRow::cells).collect();
        let table = aligned(&cells);
        let mut lines = table.lines();
        for row in &self.dressings {
            for line in lines.by_ref().take(row.steps.len()) {
                writeln!(f, "{line}")?;
            }
            write_wrapped(f, INDENT, &row.remarks())?;
        }
        f.write_str("\nscales\n")?;
        let mut known: Vec<&ScaleRow> = Vec::new();
        let steps = self.dressings.iter().flat_map(|row| &row.steps);
        for scale in steps.filter_map(|step| step.scales.first()) {
            if !known
                .iter()
                .any(|k| k.name == scale.name && k.root == scale.root)
            {
                known.push(scale);
                write_scale(f, scale)?;
            }
        }
        Ok(())
    }
}

/// `form A, seventh lowest: F3:b7 A3:9 B3:3 E4:13`
fn placed(form: &str, lowest: Option<&str>, notes: &[NoteRow]) -> String {
    let notes: Vec<String> = notes
        .iter()
        .map(|n| format!("{}:{}", n.name, n.degree))
        .collect();
    let lowest = lowest.map_or_else(String::new, |slot| format!(", {slot} lowest"));
    format!("form {form}{lowest}: {}", notes.join(" "))
}

fn write_scale(f: &mut fmt::Formatter<'_>, scale: &ScaleRow) -> fmt::Result {
    let also = if scale.also.is_empty() {
        String::new()
    } else {
        format!(" ({})", scale.also.join(", "))
    };
    let name = format!("{} {}{also}", scale.root, scale.name);
    write_wrapped(f, "  ", &name)?;
    let notes = scale.notes.join(" ");
    write_wrapped(f, INDENT, &format!("{}: {notes}", scale.steps))
}

/// Writes a text in lines that are not too long.
fn write_wrapped(f: &mut fmt::Formatter<'_>, indent: &str, text: &str) -> fmt::Result {
    let mut line = String::new();
    for word in text.split(' ') {
        let long = indent.len() + line.chars().count() + 1 + word.chars().count();
        if !line.is_empty() && long > WIDTH {
            writeln!(f, "{indent}{line}")?;
            line.clear();
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(word);
    }
    writeln!(f, "{indent}{line}")
}

impl DressingRow {
    /// A line for each step.
    fn cells(&self) -> Vec<[String; 6]> {
        let first_only = |index: usize, text: &str| match index {
            0 => text.to_owned(),
            _ => String::new(),
        };
        let line = |(index, step): (usize, &StepRow)| {
            let notes: Vec<&str> = step.notes.iter().map(|n| n.name.as_str()).collect();
            let moves: Vec<String> = step.moves.iter().map(MoveRow::words).collect();
            [
                first_only(index, &format!("{:>3}", self.fingers)),
                first_only(index, &self.name),
                step.symbol.clone(),
                notes.join(" "),
                moves.join(", "),
                first_only(index, self.fit),
            ]
        };
        self.steps.iter().enumerate().map(line).collect()
    }

    /// Scales, the reason, and what else is to be known.
    fn remarks(&self) -> String {
        let scales = self.steps.iter().filter_map(|step| step.scales.first());
        let mut scales: Vec<&str> = scales.map(|scale| scale.name).collect();
        scales.dedup();
        let mut text = format!("{}; {}", scales.join(" then "), self.why);
        if self.sounds_now {
            text.push_str("; sounds now");
        }
        if !self.loses.is_empty() && !self.reason_is_loss {
            let _infallible = write!(text, "; without the {} of the symbol", self.loses.join(" "));
        }
        if let [step] = self.steps.as_slice()
            && let Some(other) = &step.substitute
        {
            let _infallible = write!(text, "; the notes of {other}");
        }
        for step in &self.steps {
            step.remark(&mut text);
        }
        text
    }
}

impl StepRow {
    fn remark(&self, text: &mut String) {
        if self.other_position {
            let _infallible = write!(text, "; in form {}", self.form);
        }
        if let Some(other) = &self.clear_of_the_third {
            let place = placed(&other.form, other.lowest, &other.notes);
            let _infallible = write!(text, "; #9 a half step under the third, not in {place}");
        }
        if self.needs_pin {
            let _infallible = write!(text, "; {} leaves it open, so pin the voicing", self.symbol);
        }
    }
}

impl MoveRow {
    /// `A to Ab -1`
    fn words(&self) -> String {
        let name = |note: &Option<NoteRow>| note.as_ref().map(|n| n.name.clone());
        match (name(&self.from), name(&self.to)) {
            (Some(from), Some(to)) => {
                let semitones = self.semitones.unwrap_or_default();
                format!("{from} to {to} {semitones:+}")
            }
            (Some(from), None) => format!("{from} lifts"),
            (None, Some(to)) => format!("{to} comes in"),
            (None, None) => String::new(),
        }
    }
}
