//! Answers with planted mistakes: each is named for what it is, on the slot in which it was planted,
//! and no right answer is called wrong.

use crate::asked::{judged, placed};
use guidehand_theory::candidates::Register;
use guidehand_theory::degree::Degree;
use guidehand_theory::judge::{Accepts, Finding, Judgement, Question};
use guidehand_theory::pipeline::{ChordInKey, Taste};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::plan::Voiced;
use guidehand_theory::quality::Quality;
use guidehand_theory::shape::Texture;
use guidehand_theory::symbol;
use guidehand_theory::tension;
use guidehand_theory::voicing::{Position, Voice, Voicing};
use std::collections::BTreeMap;

/// Every family, and every dressing of a dominant, on C. Beside each one a degree that has no place
/// in the chord, in half steps above the root. Common practice, no published source.
const CHORDS: [(&str, i32); 34] = [
    ("Cmaj7", 10),
    ("Cmaj9", 10),
    ("Cmaj7#11", 10),
    ("Cmaj13", 10),
    ("C6", 10),
    ("C6/9", 10),
    ("Cm7", 11),
    ("Cm9", 4),
    ("Cm11", 4),
    ("Cm6", 4),
    ("Cm6/9", 4),
    ("Cm(maj7)", 4),
    ("Cm9(maj7)", 10),
    ("Cm7b5", 4),
    ("Cm9b5", 7),
    ("Cm11b5", 4),
    ("Cdim7", 10),
    ("C7", 11),
    ("C9", 11),
    ("C13", 11),
    ("C7(b9,13)", 11),
    ("C7(b9,b13)", 11),
    ("C7(#9,13)", 11),
    ("C7(#9,b13)", 11),
    ("C9(b13)", 11),
    ("C9#5", 11),
    ("C9(#11)", 11),
    ("C13(#11)", 11),
    ("C7(b9,#11)", 11),
    ("C7alt", 7),
    ("C7sus4", 11),
    ("C9sus4", 11),
    ("C13sus4", 11),
    ("C7sus4(b9)", 11),
];

/// The most voicings in one position that questions are made of: two hands have many.
const OF_A_POSITION: usize = 2;

/// Voicings of every chord on every root, in every texture and position, as questions.
fn questions() -> impl Iterator<Item = (Question, Texture, i32)> {
    CHORDS.into_iter().flat_map(|(text, foreign)| {
        let chord = symbol::parse(text).unwrap_or_else(|error| panic!("{text}: {error}"));
        (-6..6).flat_map(move |fifths| {
            let placed = placed(chord.transposed(fifths));
            Texture::ALL.into_iter().flat_map(move |texture| {
                let questions = in_texture(placed, texture).into_iter();
                questions.map(move |question| (question, texture, foreign))
            })
        })
    })
}

/// The questions of a chord in a texture, with the first tensions.
fn in_texture(placed: ChordInKey, texture: Texture) -> Vec<Question> {
    let taste = Taste {
        texture,
        ..Taste::default()
    };
    let choices = tension::resolve(&placed.chord, &placed.function, taste.requests);
    let mut questions: Vec<Question> = Vec::new();
    for (_, voiced) in taste.setting().candidates(&placed.chord, &choices) {
        let position = voiced.voicing.position;
        let thirds = [Position::Third, Position::Seventh];
        // These are four notes, too.
        let again = texture == Texture::AnyRotation && thirds.contains(&position);
        let same = questions
            .iter()
            .filter(|q| q.voiced.voicing.position == position);
        if voiced.tensions.rank == 0 && !again && same.count() < OF_A_POSITION {
            questions.push(Question {
                placed,
                voiced,
                either_position: false,
            });
        }
    }
    questions
}

/// How many mistakes of each kind have been planted.
#[derive(Default)]
struct Count(BTreeMap<&'static str, u32>);

impl Count {
    fn add(&mut self, kind: &'static str) {
        *self.0.entry(kind).or_default() += 1;
    }
}

/// A question and its notes, for planting mistakes in them.
struct Field<'a> {
    question: &'a Question,
    count: &'a mut Count,
}

impl Field<'_> {
    fn asked(&self) -> &Voicing {
        &self.question.voiced.voicing
    }

    fn voices(&self) -> Vec<Voice> {
        self.asked().voices().to_vec()
    }

    fn notes(&self) -> Vec<i32> {
        self.asked().notes().map(MidiNote::semitones).collect()
    }

    /// The root, if rootless voicings of the chord leave it out and this one does.
    fn is_unwanted_root(&self, note: i32) -> bool {
        let chord = &self.question.placed.chord;
        let keeps = matches!(
            chord.quality,
            Quality::HalfDiminished | Quality::DiminishedSeventh
        );
        let asked = self.asked().degrees().contains(Degree::Root);
        let root = i32::from(chord.root.class().number());
        note.rem_euclid(12) == root && !keeps && !asked
    }

    /// The judgement of an answer.
    fn judge(&self, notes: &[i32], accepts: Accepts) -> Judgement {
        let notes: Vec<MidiNote> = notes.iter().map(|note| MidiNote::clamp(*note)).collect();
        judged(self.question, &notes, accepts)
    }

    /// Expects exactly these findings beside what is right, in any order.
    #[track_caller]
    fn expect(
        &mut self,
        kind: &'static str,
        notes: &[i32],
        accepts: Accepts,
        expected: &[Finding],
    ) {
        let judgement = self.judge(notes, accepts);
        let wrong = judgement.findings().iter().filter(|f| !f.is_right());
        let mut wrong: Vec<Finding> = wrong.copied().collect();
        let told = |findings: &[Finding]| {
            let findings = findings.iter().map(|finding| format!("{finding:?}"));
            let mut findings: Vec<String> = findings.collect();
            findings.sort();
            findings
        };
        for finding in &mut wrong {
            // How a note is named that was played wrongly is for other tests.
            if let Finding::Off { played, .. } = finding {
                played.degree = Degree::Root;
            }
        }
        let what = || {
            let asked = self.asked();
            format!(
                "{kind}: {notes:?} for {asked:?} of {:?}",
                self.question.placed.chord
            )
        };
        assert_eq!(told(&wrong), told(expected), "{}", what());
        assert_eq!(judgement.is_right(), expected.is_empty(), "{}", what());
        let lacks = |finding: &Finding| matches!(finding, Finding::Missing(_));
        let only = !expected.is_empty() && expected.iter().all(lacks);
        assert_eq!(judgement.lacks_only(), only, "{}", what());
        self.count.add(kind);
    }

    /// What is expected where a note stands for one that was asked for.
    fn off(&self, asked: Voice, note: i32) -> Vec<Finding> {
        let played = MidiNote::clamp(note);
        if self.is_unwanted_root(note) {
            return vec![Finding::Missing(asked), Finding::RootPlayed(played)];
        }
        let degree = Degree::Root;
        let played = Voice {
            note: played,
            degree,
        };
        vec![Finding::Off { asked, played }]
    }

    /// A note a half step or a whole step off.
    fn plant_steps(&mut self) {
        let notes = self.notes();
        for (at, voice) in self.voices().into_iter().enumerate() {
            for step in [-2, -1, 1, 2] {
                let wrong = notes[at] + step;
                if notes.contains(&wrong) {
                    continue;
                }
                let mut played = notes.clone();
                played[at] = wrong;
                let expected = self.off(voice, wrong);
                for accepts in [Accepts::Exact, Accepts::SameTensions] {
                    let kind = if step.abs() == 1 {
                        "half step"
                    } else {
                        "whole step"
                    };
                    self.expect(kind, &played, accepts, &expected);
                }
            }
        }
    }

    /// Two notes a half step off, far enough from each other that neither stands for the other.
    fn plant_two_steps(&mut self) {
        let notes = self.notes();
        let voices = self.voices();
        for one in 0..voices.len() {
            for two in one + 1..voices.len() {
                for (first, second) in [(-1, -1), (-1, 1), (1, -1), (1, 1)] {
                    let mut played = notes.clone();
                    played[one] += first;
                    played[two] += second;
                    let apart = (notes[two] - notes[one]).rem_euclid(12);
                    let clear = (4..=8).contains(&apart);
                    let taken = [one, two].into_iter().any(|at| notes.contains(&played[at]));
                    let class = |note: i32| note.rem_euclid(12);
                    let doubles = [one, two]
                        .into_iter()
                        .any(|at| notes.iter().any(|note| class(*note) == class(played[at])));
                    if !clear || taken || doubles {
                        continue;
                    }
                    let mut expected = self.off(voices[one], played[one]);
                    expected.extend(self.off(voices[two], played[two]));
                    for accepts in [Accepts::Exact, Accepts::SameTensions] {
                        self.expect("two half steps", &played, accepts, &expected);
                    }
                }
            }
        }
    }

    /// The slot that is lowest in notes that are those of the question.
    fn lowest(&self, notes: &[i32]) -> Position {
        let class = notes[0].rem_euclid(12);
        let voices = self.voices();
        let mut same = voices
            .iter()
            .filter(|v| i32::from(v.note.class().number()) == class);
        let degree = same.next().map(|voice| voice.degree);
        let chord = self.question.placed.chord;
        let tensions = self.question.voiced.tensions;
        if degree == chord.third().or(tensions.third) {
            Position::Third
        } else if degree == chord.seventh().or(tensions.seventh) {
            Position::Seventh
        } else if matches!(
            degree,
            Some(Degree::Flat9 | Degree::Nine | Degree::Sharp9 | Degree::Root)
        ) {
            Position::Ninth
        } else {
            Position::Fifth
        }
    }

    /// A note in another octave. If all notes then lie within an octave with another slot lowest, or
    /// as the texture has them in another position, that is what is told.
    fn plant_octaves(&mut self, texture: Texture) {
        let notes = self.notes();
        for (at, voice) in self.voices().into_iter().enumerate() {
            for octave in [-12, 12] {
                let wrong = notes[at] + octave;
                if notes.contains(&wrong) || notes.len() < 2 {
                    continue;
                }
                let mut played = notes.clone();
                played[at] = wrong;
                played.sort_unstable();
                let close = played[played.len() - 1] - played[0] < 12
                    && self.lowest(&played) != self.asked().position;
                let other = self
                    .others(texture)
                    .iter()
                    .any(|other| same_shape(other, &played));
                if close || other {
                    let judgement = self.judge(&played, Accepts::Exact);
                    let position = self.asked().position;
                    let is_position = |finding: &Finding| {
                        matches!(finding, Finding::OtherPosition { asked, played }
                            if *asked == position && *played != position)
                    };
                    let [finding] = judgement.findings() else {
                        panic!("{:?}: {played:?}", judgement.findings())
                    };
                    assert!(is_position(finding), "{finding:?}: {played:?}");
                    self.count.add("an inversion");
                } else {
                    let played_note = MidiNote::clamp(wrong);
                    let expected = Finding::OtherOctave {
                        asked: voice,
                        played: played_note,
                    };
                    self.expect("octave", &played, Accepts::Exact, &[expected]);
                }
            }
        }
    }

    fn plant_gaps(&mut self) {
        let notes = self.notes();
        for (at, voice) in self.voices().into_iter().enumerate() {
            let mut played = notes.clone();
            played.remove(at);
            for accepts in [Accepts::Exact, Accepts::SameTensions] {
                self.expect("missing", &played, accepts, &[Finding::Missing(voice)]);
            }
        }
        let voices = self.voices();
        let all: Vec<Finding> = voices
            .iter()
            .map(|voice| Finding::Missing(*voice))
            .collect();
        self.expect("nothing", &[], Accepts::Exact, &all);
    }

    /// A note too many, of every pitch class: within the hand and around it.
    fn plant_notes(&mut self, foreign: i32) {
        let notes = self.notes();
        let chord = self.question.placed.chord;
        let (lowest, highest) = (notes[0], notes[notes.len() - 1]);
        let class = |note: i32| note.rem_euclid(12);
        let stated: Vec<i32> = chord
            .degrees()
            .iter()
            .map(|d| i32::from(d.class(chord.root).number()))
            .collect();
        let root = i32::from(chord.root.class().number());
        for extra in lowest - 4..=highest + 7 {
            if notes.contains(&extra) {
                continue;
            }
            let mut played = notes.clone();
            played.push(extra);
            for accepts in [Accepts::Exact, Accepts::SameTensions] {
                let judgement = self.judge(&played, accepts);
                let wrong = judgement.findings().iter().filter(|f| !f.is_right());
                let wrong: Vec<&Finding> = wrong.collect();
                let right = judgement.findings().len() - wrong.len();
                let [finding] = wrong[..] else {
                    panic!("{wrong:?}: {extra} beside {notes:?} of {chord:?}")
                };
                assert_eq!(right, notes.len(), "{extra} beside {notes:?}");
                let note = finding.played().map(MidiNote::semitones);
                assert_eq!(note, Some(extra), "{finding:?}");
                let twice = notes.iter().any(|note| class(*note) == class(extra));
                let kind = match finding {
                    Finding::RootPlayed(_) if self.is_unwanted_root(extra) => "the root too",
                    Finding::Doubled { kept, .. }
                        if twice && class(kept.note.semitones()) == class(extra) =>
                    {
                        "a note twice"
                    }
                    Finding::NoPlace(_) if class(extra - root - foreign) == 0 => "a foreign note",
                    Finding::NotAsked(voice) if stated.contains(&class(extra)) => {
                        assert!(chord.degrees().contains(voice.degree), "{voice:?}");
                        "a chord tone too many"
                    }
                    Finding::NotAsked(_) | Finding::NoPlace(_)
                        if !twice
                            && !self.is_unwanted_root(extra)
                            && !stated.contains(&class(extra))
                            && class(extra - root - foreign) != 0 =>
                    {
                        "another note too many"
                    }
                    other => panic!("{other:?}: {extra} beside {notes:?} of {chord:?}"),
                };
                self.count.add(kind);
            }
        }
    }

    /// The root in the place of each note.
    fn plant_roots(&mut self) {
        let notes = self.notes();
        for (at, voice) in self.voices().into_iter().enumerate() {
            let nearest = (-6..6).map(|step| notes[at] + step);
            let root = nearest
                .into_iter()
                .find(|note| self.is_unwanted_root(*note));
            let Some(root) = root else { continue };
            let mut played = notes.clone();
            played[at] = root;
            let expected = [
                Finding::Missing(voice),
                Finding::RootPlayed(MidiNote::clamp(root)),
            ];
            for accepts in [Accepts::Exact, Accepts::SameTensions] {
                self.expect("the root instead", &played, accepts, &expected);
            }
        }
    }

    /// The voicings of the texture in other positions, with their notes.
    fn others(&self, texture: Texture) -> Vec<Vec<i32>> {
        let laid = self.laid(texture).into_iter();
        let others = laid.filter(|voicing| voicing.position != self.asked().position);
        others
            .map(|voicing| voicing.notes().map(MidiNote::semitones).collect())
            .collect()
    }

    fn laid(&self, texture: Texture) -> Vec<Voicing> {
        let Question { placed, voiced, .. } = self.question;
        let register = Register::DEFAULT;
        let (chord, tensions) = (&placed.chord, &voiced.tensions);
        guidehand_theory::candidates::of(chord, tensions, texture, register).collect()
    }

    /// The other positions of the texture: told as such, or right where they count.
    fn plant_positions(&mut self, texture: Texture) {
        let position = self.asked().position;
        let classes = |notes: &[i32]| {
            let mut classes: Vec<i32> = notes.iter().map(|note| note.rem_euclid(12)).collect();
            classes.sort_unstable();
            classes
        };
        for other in self.laid(texture) {
            if other.position == position {
                continue;
            }
            let notes: Vec<i32> = other.notes().map(MidiNote::semitones).collect();
            if classes(&notes) == classes(&self.notes()) {
                let (asked, played) = (position, other.position);
                let expected = Finding::OtherPosition { asked, played };
                self.expect("another position", &notes, Accepts::Exact, &[expected]);
            }
            let either = Question {
                either_position: true,
                ..*self.question
            };
            let mut field = Field {
                question: &either,
                count: self.count,
            };
            for accepts in ALL {
                field.expect("right in another position", &notes, accepts, &[]);
            }
        }
    }

    /// The whole hand an octave off, alone and with one note a half step off.
    fn plant_hands(&mut self) {
        let notes = self.notes();
        for octaves in [-1_i8, 1] {
            let off = 12 * i32::from(octaves);
            let moved: Vec<i32> = notes.iter().map(|note| note + off).collect();
            if moved.iter().any(|note| notes.contains(note)) {
                continue;
            }
            let whole = Finding::OctaveOff(octaves);
            self.expect("the whole hand", &moved, Accepts::Exact, &[whole]);
            if notes.len() < 4 {
                continue;
            }
            for (at, voice) in self.voices().into_iter().enumerate() {
                for step in [-1, 1] {
                    let mut played = moved.clone();
                    played[at] += step;
                    let close = |note: &i32| (*note - played[at]).abs() <= 2;
                    if moved.contains(&played[at]) || notes.iter().any(close) {
                        continue;
                    }
                    let asked = Voice {
                        note: MidiNote::clamp(voice.note.semitones() + off),
                        ..voice
                    };
                    let mut expected = self.off(asked, played[at]);
                    expected.push(whole);
                    let kind = "the whole hand with a wrong note";
                    self.expect(kind, &played, Accepts::Exact, &expected);
                }
            }
        }
    }
}

const ALL: [Accepts; 3] = [Accepts::Exact, Accepts::SameTensions, Accepts::AnyGood];

fn same_shape(one: &[i32], other: &[i32]) -> bool {
    let apart = other[0] - one[0];
    apart % 12 == 0
        && one
            .iter()
            .map(|note| note + apart)
            .eq(other.iter().copied())
}

#[test]
fn every_mistake_is_named_and_nothing_right_is_called_wrong() {
    let mut count = Count::default();
    for (question, texture, foreign) in questions() {
        let mut field = Field {
            question: &question,
            count: &mut count,
        };
        let right = field.notes();
        for accepts in ALL {
            field.expect("right", &right, accepts, &[]);
        }
        field.plant_steps();
        field.plant_two_steps();
        field.plant_octaves(texture);
        field.plant_gaps();
        field.plant_notes(foreign);
        field.plant_roots();
        field.plant_positions(texture);
        field.plant_hands();
    }
    let all: u32 = count.0.values().sum();
    println!("{all} answers: {:?}", count.0);
    for (kind, times) in &count.0 {
        assert!(*times > 1000, "{kind}: {times}");
    }
    assert_eq!(count.0.len(), 18, "{:?}", count.0.keys());
}

/// What the questions are taken from is what is asked.
#[test]
fn the_questions_are_of_every_family_root_texture_and_position() {
    let mut seen = std::collections::BTreeSet::new();
    for (Question { placed, voiced, .. }, texture, _) in questions() {
        let Voiced { voicing, .. } = voiced;
        let class = placed.chord.root.class().number();
        seen.insert((
            format!("{texture:?}"),
            format!("{:?}", voicing.position),
            class,
        ));
    }
    for texture in [Texture::FourNotes, Texture::Open, Texture::TwoHands] {
        for position in ["Third", "Seventh"] {
            for class in 0..12 {
                let cell = (format!("{texture:?}"), position.to_owned(), class);
                assert!(seen.contains(&cell), "{cell:?}");
            }
        }
    }
}
