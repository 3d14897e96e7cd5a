//! `cargo xtask judge`: judges one answer, or a recorded performance. It imports `command`, `comp` and
//! `read`; only `main` imports it.

mod session;

use anyhow::Result;
use guidehand_report::judging::JudgeReport;
use guidehand_theory::candidates::Hand;
use guidehand_theory::chord::Chord;
use guidehand_theory::dressing::{Around, Place};
use guidehand_theory::judge::{Accepts, Question, judge, motion};
use guidehand_theory::key::Key;
use guidehand_theory::pin;
use guidehand_theory::pipeline::Taste;
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::quality::Quality;
use guidehand_theory::shape::Texture;
use guidehand_theory::symbol::{Sign, Symbol};
use guidehand_theory::tension;
use guidehand_theory::voicing::{Form, MOST_NOTES, Position};
use lexopt::prelude::*;

use crate::command::{Command, Misunderstood};
use crate::{comp, read};

/// The command.
pub const COMMAND: Command = Command {
    name: "judge",
    arguments: "\"CHORD\" \"NOTES\" | --session FILE --chart \"CHART\" | --session FILE --file CHART [--position third|seventh|a|b|either] [--exact] [--any] [--same-tensions] [--texture NAME] [--key KEY] [--from NOTES] [--split NOTE|none] [--from-bar N] [--part N|all] [--json]",
    summary: "judge what a hand plays for a chord, such as G13 and \"F3 A3 B3 E4\", or a recorded performance over a chart",
    read: |parser| {
        if session::is_asked(parser) {
            let session = session::arguments(parser)?;
            return Ok(Box::new(move || session::run(session)));
        }
        let arguments = arguments(parser)?;
        Ok(Box::new(move || run(&arguments)))
    },
};

struct Arguments {
    chord: Chord,
    answer: Vec<MidiNote>,
    /// The position that is asked for; either, if there is none.
    position: Option<AskedPosition>,
    accepts: Accepts,
    texture: Texture,
    key: Option<Key>,
    /// Where the hand was before.
    from: Vec<MidiNote>,
    json: bool,
}

/// A position by its lowest slot, or by its letter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum AskedPosition {
    Lowest(Position),
    Form(Form),
}

impl AskedPosition {
    fn is(self, position: Position, quality: Quality) -> bool {
        match self {
            AskedPosition::Lowest(lowest) => position == lowest,
            AskedPosition::Form(form) => Form::of(position, quality) == form,
        }
    }

    const fn name(self) -> &'static str {
        match self {
            AskedPosition::Lowest(Position::Third) => "with the third lowest",
            AskedPosition::Lowest(_) => "with the seventh lowest",
            AskedPosition::Form(Form::A) => "in the A form",
            AskedPosition::Form(_) => "in the B form",
        }
    }
}

fn arguments(parser: &mut lexopt::Parser) -> Result<Arguments, lexopt::Error> {
    let (mut chord, mut answer, mut position) = (None, None, None);
    let (mut exact, mut any) = (false, false);
    let (mut texture, mut key, mut from) = (Texture::default(), None, Vec::new());
    let mut json = false;
    while let Some(argument) = parser.next()? {
        match argument {
            Value(text) if chord.is_none() => chord = Some(text.parse_with(comp::chord)?),
            Value(text) if answer.is_none() => answer = Some(text.parse_with(notes)?),
            Long("position") => position = parser.value()?.parse_with(asked_position)?,
            Long("exact") => exact = true,
            Long("any") => any = true,
            Long("texture") => texture = parser.value()?.parse_with(comp::texture)?,
            Long("key") => key = Some(parser.value()?.parse_with(comp::key)?),
            Long("from") => from = parser.value()?.parse_with(a_hand)?,
            Long("json") => json = true,
            other => return Err(other.unexpected()),
        }
    }
    let accepts = match (exact, any, position) {
        (true, true, _) => return Err("expected --exact or --any, and not both".into()),
        (false, true, Some(_)) => {
            return Err("--any accepts every position; leave out --position".into());
        }
        (false, true, None) => Accepts::AnyGood,
        // Who names a position asks for that grip.
        (true, false, _) | (false, false, Some(_)) => Accepts::Exact,
        (false, false, None) => Accepts::SameTensions,
    };
    Ok(Arguments {
        chord: chord.ok_or("a chord is missing, such as \"G7(b9,13)\"")?,
        answer: answer.ok_or("an answer is missing, such as \"F3 Ab3 B3 E4\"")?,
        position,
        accepts,
        texture,
        key,
        from,
        json,
    })
}

/// Notes with spaces between them; none for an empty hand.
fn notes(text: &str) -> Result<Vec<MidiNote>, String> {
    let words = text.split_whitespace().zip(1..);
    words
        .map(|(word, place)| read::note(word).map_err(|error| format!("note {place}: {error}")))
        .collect()
}

/// The notes of a hand: one at least, and no more than a voicing holds.
fn a_hand(text: &str) -> Result<Vec<MidiNote>, String> {
    let notes = notes(text)?;
    match notes.len() {
        1..=MOST_NOTES => Ok(notes),
        count => Err(format!(
            "{count} notes; expected 1 to {MOST_NOTES}, such as \"F3 A3 C4 E4\""
        )),
    }
}

fn asked_position(text: &str) -> Result<Option<AskedPosition>, &'static str> {
    Ok(Some(match text {
        "third" => AskedPosition::Lowest(Position::Third),
        "seventh" => AskedPosition::Lowest(Position::Seventh),
        "a" | "A" => AskedPosition::Form(Form::A),
        "b" | "B" => AskedPosition::Form(Form::B),
        "either" => return Ok(None),
        _ => return Err("expected third, seventh, a, b or either"),
    }))
}

/// The chord as a question: the cheapest voicing in the position, with the tensions that come first.
/// None if the chord has no such voicing.
fn question(arguments: &Arguments, taste: &Taste) -> Option<Question> {
    let around = Around {
        key: arguments.key,
        ..Around::default()
    };
    let placed = Place::among(arguments.chord, &around, None, taste)?.placed;
    let choices = tension::resolve(&placed.chord, &placed.function, taste.requests);
    let quality = placed.chord.quality;
    let fits = |position| {
        let asked = arguments.position;
        asked.is_none_or(|asked| asked.is(position, quality))
    };
    let voicings = taste.setting().candidates(&placed.chord, &choices);
    let first = voicings.filter(|(_, v)| v.tensions.rank == 0 && fits(v.voicing.position));
    let (_, voiced) = first.min_by_key(|(cost, _)| *cost)?;
    Some(Question {
        placed,
        voiced,
        either_position: arguments.position.is_none(),
    })
}

fn run(arguments: &Arguments) -> Result<()> {
    let taste = Taste {
        texture: arguments.texture,
        ..Taste::default()
    };
    let question = question(arguments, &taste).ok_or_else(|| {
        let chord = Symbol(&arguments.chord, Sign::Ascii);
        let position = arguments.position.map_or("", AskedPosition::name);
        let texture = arguments.texture.name();
        let words = format!("{chord} has no voicing {position} in the texture {texture}");
        Misunderstood(words.replace("  ", " "))
    })?;
    let (accepts, register) = (arguments.accepts, taste.register);
    let judgement = judge(&question, &arguments.answer, accepts, register);
    let before = pin::by_degree(&arguments.from, &question.placed.chord, Hand::DEFAULT).ok();
    // How far a wrong answer lies away says nothing.
    let before = before.filter(|_| judgement.is_right());
    let moved = before.map(|before| motion(&before, &question, &judgement, accepts, register));
    let report = JudgeReport::new(&question, accepts, &judgement, moved);
    if arguments.json {
        println!("{}", serde_json::to_string_pretty(&report)?);
    } else {
        print!("{report}");
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(words: &[&str]) -> Result<Arguments, String> {
        arguments(&mut lexopt::Parser::from_args(words)).map_err(|error| error.to_string())
    }

    #[test]
    fn who_names_a_position_asks_for_that_grip() {
        for (options, accepts) in [
            (&[][..], Accepts::SameTensions),
            (&["--position", "either"], Accepts::SameTensions),
            (&["--position", "third"], Accepts::Exact),
            (&["--exact"], Accepts::Exact),
            (&["--any"], Accepts::AnyGood),
        ] {
            let words = [&["G7", "F3 A3 B3 E4"], options].concat();
            assert_eq!(read(&words).map(|a| a.accepts), Ok(accepts), "{options:?}");
        }
    }

    #[test]
    fn letters_name_positions() {
        let asked = |chord: &str, position: &str| {
            let read = read(&[chord, "", "--position", position]);
            let question = read.map(|read| question(&read, &Taste::default()).unwrap());
            question.map(|question| question.voiced.voicing.position)
        };
        assert_eq!(asked("G7", "a"), Ok(Position::Seventh));
        assert_eq!(asked("G7", "B"), Ok(Position::Third));
        assert_eq!(asked("Cmaj7", "a"), Ok(Position::Third));
        assert_eq!(asked("Cmaj7", "seventh"), Ok(Position::Seventh));
    }

    #[test]
    fn an_empty_hand_is_an_answer() {
        assert_eq!(read(&["G7", ""]).map(|a| a.answer), Ok(Vec::new()));
    }

    #[test]
    fn mistakes_say_what_was_expected() {
        for (words, expected) in [
            (&[][..], "a chord is missing"),
            (&["H7"], "B7"),
            (&["G7"], "an answer is missing"),
            (&["G7", "F3 X3"], "note 2: \"X3\" is no note; expected F3"),
            (&["G7", "F3", "A3"], "\"A3\""),
            (
                &["G7", "F3", "--position", "fifth"],
                "third, seventh, a, b or either",
            ),
            (&["G7", "F3", "--any", "--exact"], "not both"),
            (
                &["G7", "F3", "--any", "--position", "a"],
                "leave out --position",
            ),
            (&["G7", "F3", "--texture", "thick"], "two hands"),
            (&["G7", "F3", "--texture", "my"], "not voicings of your own"),
            (&["G7", "F3", "--from", ""], "0 notes; expected 1 to 8"),
            (&["G7", "F3", "--key", "H"], "F#m"),
        ] {
            let Err(error) = read(words) else {
                panic!("{words:?} was read")
            };
            assert!(error.contains(expected), "{words:?}: {error}");
        }
    }
}
