//! What is asked in practice and what came of it, in words and as marks on the keys. Pure; the
//! panel's thread. The regions of the stage and the page of practice import it.

use super::letters::{Letters, letters};
use super::notes::{MarkedNote, NoteKind, marks};
use super::now::Now;
use super::signs::{degree_name, key_name, words};
use crate::bridge::practice::ReadPractice;
use crate::engine::practising::{Asking, Stage, When};
use crate::engine::settings::Settings;
use crate::engine::snapshot::Sounding;
use guidehand_practice::{Asked, AskedPosition, Drill, Help, Origin};
use guidehand_theory::degree::Degree;
use guidehand_theory::judge::{Finding, Judgement, Motion, Question};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::voicing::Form;

/// What is told of one note, or of the whole answer: each with a sign of its own, so that colour is
/// not needed to tell them apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Sign {
    /// Wrong.
    Cross,
    /// Played, and not asked for.
    Bar,
    /// Asked for, and not played.
    Ring,
    /// Nearly right: another octave, another position, another time.
    Arrow,
    /// Right.
    Tick,
    /// Nothing of the kind: it is only said.
    None,
}

/// A line about the answer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// What it tells.
    pub sign: Sign,
    /// In words.
    pub words: String,
}

/// A key that the answer is about.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeyMark {
    /// The key.
    pub note: u8,
    /// Its degree.
    pub label: String,
    /// What is told of it.
    pub sign: Sign,
}

/// A question of a drill.
#[must_use]
pub fn asked(drill: Option<&Drill>, index: Option<u32>) -> Option<&Asked> {
    let index = usize::try_from(index?).ok()?;
    drill?.questions.get(index)
}

/// The question's chord as it is asked for, with its tensions.
#[must_use]
pub fn chord(question: &Question) -> Letters {
    letters(&question.placed.sounding(&question.voiced.voicing))
}

/// What is asked, in the place of the chord in force.
#[must_use]
pub fn now(asked: &Asked, help: Help) -> Now {
    let question = &asked.question;
    Now {
        letters: chord(question),
        past: false,
        written: None,
        function: words(&question.placed.function),
        why: position(question),
        yields: Vec::new(),
        sentences: Vec::new(),
        notes: notes(question, help),
    }
}

/// Which position is asked for.
#[must_use]
pub fn position(question: &Question) -> String {
    if question.either_position {
        return "either position".to_owned();
    }
    let position = question.voiced.voicing.position;
    let form = Form::of(position, question.placed.chord.quality);
    match (position.lowest(), form) {
        (Some(lowest), Form::A | Form::B) => format!("{lowest} lowest, form {form}"),
        (Some(lowest), _) => format!("{lowest} lowest"),
        (None, form) => form.to_string(),
    }
}

/// What is shown of the answer before it is given.
fn notes(question: &Question, help: Help) -> String {
    let root = question.placed.chord.root;
    let shown = help_marks(question, help);
    let voices = question.voiced.voicing.voices().iter();
    let voices = voices.filter(|voice| shown.iter().any(|m| m.note == voice.note.number()));
    let names = voices.map(|voice| words(&voice.degree.over(root).at(voice.note)));
    names.collect::<Vec<_>>().join("  ")
}

/// The keys that are shown as help.
#[must_use]
pub fn help_marks(question: &Question, help: Help) -> Vec<MarkedNote> {
    let sounding = Sounding {
        placed: question.placed,
        voiced: question.voiced,
        bass: None,
        read: None,
    };
    let mut shown = marks(&sounding);
    shown.retain(|mark| match help {
        Help::Nothing => false,
        Help::GuideTones => mark.kind == NoteKind::Guide,
        Help::Everything => true,
    });
    shown
}

/// The judgement of the question in force, where there is one to show on its keys.
#[must_use]
pub fn judged_now(asking: &Asking) -> Option<&Judgement> {
    let here = asking.judged.is_some() && asking.judged == asking.question;
    asking.judgement.as_ref().filter(|_| here)
}

/// The keys that the answer to the question in force is about.
#[must_use]
pub fn key_marks(asking: &Asking) -> Vec<KeyMark> {
    let findings = judged_now(asking).map_or(&[][..], Judgement::findings);
    let mut marks: Vec<KeyMark> = Vec::new();
    let mut mark = |note: MidiNote, label: String, sign: Sign| {
        let note = note.number();
        match marks.iter_mut().find(|mark| mark.note == note) {
            // What is played counts for more than what is missing.
            Some(there) if sign < there.sign || there.sign == Sign::Ring => {
                *there = KeyMark { note, label, sign };
            }
            Some(_) => {}
            None => marks.push(KeyMark { note, label, sign }),
        }
    };
    for finding in findings {
        let label = |degree: Degree| degree_name(degree);
        match finding {
            Finding::Right(voice) => mark(voice.note, label(voice.degree), Sign::Tick),
            Finding::OtherOctave { asked, played } => {
                mark(asked.note, label(asked.degree), Sign::Ring);
                mark(*played, label(asked.degree), Sign::Arrow);
            }
            Finding::Off { asked, played } => {
                mark(asked.note, label(asked.degree), Sign::Ring);
                mark(played.note, label(played.degree), Sign::Cross);
            }
            Finding::NoPlace(voice) => mark(voice.note, label(voice.degree), Sign::Cross),
            Finding::Missing(voice) => mark(voice.note, label(voice.degree), Sign::Ring),
            Finding::NotAsked(voice) => mark(voice.note, label(voice.degree), Sign::Bar),
            Finding::Doubled { kept, played } => mark(*played, label(kept.degree), Sign::Bar),
            Finding::RootPlayed(note) => mark(*note, "1".to_owned(), Sign::Bar),
            Finding::OtherPosition { .. }
            | Finding::OctaveOff(_)
            | Finding::NotGood(_)
            | Finding::TooMany(_) => {}
        }
    }
    marks
}

/// What there is to say of the answer that was given last, the gravest first.
#[must_use]
pub fn verdict(asking: &Asking, drill: Option<&Drill>) -> Vec<Line> {
    let Some((judgement, asked)) = asking.judgement.as_ref().zip(asked(drill, asking.judged))
    else {
        return Vec::new();
    };
    let question = &asked.question;
    let mut lines = Vec::new();
    let mut say = |sign: Sign, words: String| lines.push(Line { sign, words });
    if judgement.is_right() {
        let words = if asking.judged == asking.question {
            "right".to_owned()
        } else {
            format!("{}: right", chord(question).whole())
        };
        say(Sign::Tick, words);
    } else {
        for told in judgement.told(question) {
            if let Some(sign) = sign(&told.finding) {
                say(sign, words(&told));
            }
        }
        lines.sort_by_key(|line| line.sign);
    }
    if let Some(words) = when(asking.when) {
        let line = Line {
            sign: Sign::Arrow,
            words,
        };
        // Where nothing else is wrong, it is the first thing to tell.
        let at = if judgement.is_right() { 0 } else { lines.len() };
        lines.insert(at, line);
    }
    let besides = asking.rolled_ms.map(rolled).into_iter();
    let besides = besides.chain(asking.motion.map(|motion| moved(&motion)));
    lines.extend(besides.map(|words| Line {
        sign: Sign::None,
        words,
    }));
    lines
}

/// How far the hand moved, beside the least that it could have.
fn moved(motion: &Motion) -> String {
    let Motion { moved, least } = motion;
    let steps = match moved {
        1 => "1 half step".to_owned(),
        moved => format!("{moved} half steps"),
    };
    if moved > least {
        format!("the hand moved {steps}; {least} would do")
    } else {
        format!("the hand moved {steps}, the least that does")
    }
}

/// What is wrong with a note, if anything is.
const fn sign(finding: &Finding) -> Option<Sign> {
    Some(match finding {
        Finding::Right(_) => return None,
        Finding::Off { .. } | Finding::NoPlace(_) | Finding::NotGood(_) => Sign::Cross,
        Finding::NotAsked(_)
        | Finding::Doubled { .. }
        | Finding::RootPlayed(_)
        | Finding::TooMany(_) => Sign::Bar,
        Finding::Missing(_) => Sign::Ring,
        Finding::OtherOctave { .. } | Finding::OtherPosition { .. } | Finding::OctaveOff(_) => {
            Sign::Arrow
        }
    })
}

fn rolled(millis: u16) -> String {
    format!("rolled over {millis} ms")
}

/// When an answer came, if not in time.
fn when(when: When) -> Option<String> {
    Some(match when {
        When::OnTime => return None,
        When::Early(by) => format!("{} early", beats(by)),
        When::Late(by) => format!("{} late", beats(by)),
        When::Never => "nothing was played".to_owned(),
    })
}

fn beats(beats: f32) -> String {
    if (beats - 1.0).abs() < 0.05 {
        "1 beat".to_owned()
    } else {
        format!("{beats:.1} beats")
    }
}

/// What to do, in a line. `alone` tells that it is the panel that starts and stops, and no host.
#[must_use]
pub fn hint(
    read: &ReadPractice,
    asking: &Asking,
    settings: &Settings,
    alone: bool,
) -> Option<String> {
    if settings.bypass {
        return Some("Bypassed: everything passes, and nothing is asked.".to_owned());
    }
    let words = match asking.stage {
        Stage::Idle if read.drill.is_none() => "Choose what is asked on the page Practice.",
        Stage::Idle if asking.by_key => "Press Begin or Enter, or play any key of the left hand.",
        Stage::Idle => "Press Begin or Enter: the first chord is asked.",
        Stage::WaitsForHost if alone => {
            "Press play or the space bar: the first chord is asked then."
        }
        Stage::WaitsForHost => "Start the host: the first chord is asked then.",
        Stage::CountsIn { beats } => {
            let beats = match beats {
                1 => "1 beat".to_owned(),
                beats => format!("{beats} beats"),
            };
            let clicks = if asking.clicks {
                ", with clicks on the audition tone"
            } else {
                ""
            };
            return Some(format!("{beats} to go{clicks}"));
        }
        Stage::Asked if asking.answered == 0 && asking.judgement.is_none() => {
            let highest = key(asking.below.saturating_sub(1));
            return Some(format!("Play it, all keys together, up to {highest}."));
        }
        Stage::Asked | Stage::Answered => return None,
        Stage::Over => "All of it is done for this session.",
    };
    Some(words.to_owned())
}

fn key(note: u8) -> String {
    key_name(MidiNote::clamp(i32::from(note)))
}

/// How far the session has come, in a few words each.
#[must_use]
pub fn progress(asking: &Asking, drill: Option<&Drill>) -> Vec<String> {
    let mut said = Vec::new();
    if asking.stage == Stage::Idle && asking.answered == 0 {
        if let Some(drill) = drill {
            said.push(extent(drill));
        }
        return said;
    }
    if let Some(drill) = drill {
        said.push(format!("{} of {} done", asking.done, drill.items.len()));
    }
    if asking.answered > 0 {
        let (right, all) = (asking.right_first, asking.answered);
        said.push(format!("{right} of {all} right at first try"));
    }
    if let Some(bpm) = asking.bpm {
        said.push(format!("{bpm:.0} bpm"));
    }
    if asking.unrecorded > 0 {
        said.push(format!(
            "{} answers are not in the record yet",
            asking.unrecorded
        ));
    }
    said
}

/// How much a drill asks.
#[must_use]
pub fn extent(drill: &Drill) -> String {
    let (items, questions) = (drill.items.len(), drill.questions.len());
    let chords = match questions {
        1 => "1 chord".to_owned(),
        count => format!("{count} chords"),
    };
    let by_chart = drill.exercise.origin == Origin::Chart;
    match items {
        0 | 1 => chords,
        _ if by_chart => format!("{chords}, {items} times through"),
        _ if items == questions => chords,
        _ => format!("{chords}, {items} progressions"),
    }
}

/// What stands behind the choice of a position.
#[must_use]
pub const fn lowest(position: AskedPosition) -> &'static str {
    match position {
        AskedPosition::Either => "",
        AskedPosition::Third | AskedPosition::Seventh => "lowest",
        AskedPosition::FormA | AskedPosition::FormB => "form",
    }
}

/// The next question's chord, where it is known.
#[must_use]
pub fn next(asking: &Asking, drill: Option<&Drill>) -> Option<Letters> {
    asked(drill, asking.next).map(|asked| chord(&asked.question))
}

/// All that is said of the stage to one who does not see it.
#[must_use]
pub fn spoken(lines: &[Line]) -> String {
    let lines = lines.iter().map(|line| line.words.as_str());
    lines.collect::<Vec<_>>().join("; ")
}
