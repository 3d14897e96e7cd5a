//! Judges each chord on the strikes that are for it. Imports `keys`, `strikes`, `ways` and the theory.

use super::keys::{AskedChord, ON_TIME_TICKS, PlayedKey};
use super::strikes::Strike;
use super::ways::Ways;
use guidehand_theory::judge::{self, Accepts, Judgement, Motion, Question};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::voicing::Voicing;

/// A chord that was asked for, and what came of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Marked {
    /// What was asked.
    pub asked: AskedChord,
    /// The same question.
    pub question: Question,
    /// The answer; none if nothing was played for it.
    pub answer: Option<Answer>,
    /// What was struck after it for the same chord.
    pub later: Later,
}

/// What was played for a chord at first.
#[derive(Clone, Debug, PartialEq)]
pub struct Answer {
    /// The notes, from the lowest.
    pub notes: Vec<MidiNote>,
    /// How late it came in ticks, negative if early; 0 if it was on time.
    pub late_ticks: i64,
    /// How it came.
    pub struck: Struck,
    /// What there is to tell of its notes.
    pub judgement: Judgement,
    /// How far the hand moved from the answer before; none for the first.
    pub motion: Option<Motion>,
}

/// How an answer came.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Struck {
    /// All notes at once.
    AtOnce,
    /// One note after the other.
    Rolled,
    /// It was held on from before.
    HeldOn,
}

/// Further strikes for one chord, such as those of a rhythm.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Later {
    /// How many there are.
    pub strikes: usize,
    /// How many of them are right.
    pub right: usize,
}

impl Marked {
    /// Whether the notes are right.
    #[must_use]
    pub fn is_right(&self) -> bool {
        let answer = self.answer.as_ref();
        answer.is_some_and(|answer| answer.judgement.is_right())
    }

    /// Whether something was played, and on time.
    #[must_use]
    pub fn is_on_time(&self) -> bool {
        let answer = self.answer.as_ref();
        answer.is_some_and(|answer| answer.late_ticks == 0)
    }
}

/// Judges all chords.
pub fn all(
    asked: &[AskedChord],
    strikes: &[Strike],
    owners: &[Option<usize>],
    keys: &[PlayedKey],
    ways: &Ways,
) -> Vec<Marked> {
    let mut owned: Vec<Vec<&Strike>> = vec![Vec::new(); asked.len()];
    for (strike, owner) in strikes.iter().zip(owners) {
        if let Some(owned) = owner.and_then(|owner| owned.get_mut(owner)) {
            owned.push(strike);
        }
    }
    let mut held = Held::new(keys);
    let mut before: Option<Voicing> = None;
    let mut marked = Vec::new();
    for (chord, strikes) in asked.iter().zip(owned) {
        let Some(question) = chord.question else {
            continue;
        };
        let judged = Judged {
            chord,
            question,
            ways,
        };
        let (mut answer, later) = if strikes.is_empty() {
            (judged.held_on(&held.at(chord)), Later::default())
        } else {
            judged.first(&strikes)
        };
        if let Some(answer) = &mut answer {
            let (accepts, register) = (ways.accepts, ways.register);
            answer.motion = before.map(|before| {
                judge::motion(&before, &question, &answer.judgement, accepts, register)
            });
            before = Some(*answer.judgement.played());
        }
        marked.push(Marked {
            asked: *chord,
            question,
            answer,
            later,
        });
    }
    marked
}

/// A chord that is being judged.
struct Judged<'a> {
    chord: &'a AskedChord,
    question: Question,
    ways: &'a Ways,
}

impl Judged<'_> {
    fn judge(&self, notes: &[MidiNote]) -> Judgement {
        judge::judge(&self.question, notes, self.ways.accepts, self.ways.register)
    }

    /// Whether these are enough notes to be an answer: half of those that are asked for.
    fn is_enough(&self, notes: usize) -> bool {
        2 * notes >= self.chord.asked_notes()
    }

    /// The answer among strikes, and what comes after it.
    fn first(&self, strikes: &[&Strike]) -> (Option<Answer>, Later) {
        let mut rest = strikes.iter().peekable();
        let Some(first) = rest.next() else {
            return (None, Later::default());
        };
        let mut strike = (*first).clone();
        let mut fullest = strike.clone();
        // Notes come one by one while those before them sound. Too few that have ceased to sound are
        // passed over if more notes follow.
        while !self.is_enough(strike.notes().len())
            && let Some(next) = rest.next()
        {
            strike = if completes(&strike, next) {
                strike.joined(next)
            } else {
                (*next).clone()
            };
            if strike.notes().len() > fullest.notes().len() {
                fullest = strike.clone();
            }
        }
        let mut strike = fullest;
        let mut judgement = self.judge(&strike.notes());
        while judgement.lacks_only()
            && let Some(next) = rest.next_if(|next| completes(&strike, next))
        {
            strike = strike.joined(next);
            judgement = self.judge(&strike.notes());
        }
        let mut later = Later::default();
        for next in rest.filter(|next| self.is_enough(next.notes().len())) {
            later.strikes += 1;
            later.right += usize::from(self.judge(&next.notes()).is_right());
        }
        let off = strike.off(self.chord.start_ticks);
        let on_time = off.unsigned_abs() <= u64::from(ON_TIME_TICKS);
        let answer = Answer {
            notes: strike.notes(),
            late_ticks: if on_time { 0 } else { off },
            struck: if strike.is_rolled() {
                Struck::Rolled
            } else {
                Struck::AtOnce
            },
            judgement,
            motion: None,
        };
        (Some(answer), later)
    }

    /// The answer of notes that are held on from before: one that has the degrees that are asked for,
    /// or none. That the chord before suits this one as well does not make an answer of it.
    fn held_on(&self, notes: &[MidiNote]) -> Option<Answer> {
        let accepts = match self.ways.accepts {
            Accepts::Exact => Accepts::Exact,
            Accepts::SameTensions | Accepts::AnyGood => Accepts::SameTensions,
        };
        let judgement = judge::judge(&self.question, notes, accepts, self.ways.register);
        let is_answer = self.is_enough(notes.len()) && judgement.is_right();
        is_answer.then(|| Answer {
            notes: notes.to_vec(),
            late_ticks: 0,
            struck: Struck::HeldOn,
            judgement,
            motion: None,
        })
    }
}

/// Whether a strike adds to one that still sounds, and strikes nothing of it again.
fn completes(strike: &Strike, next: &Strike) -> bool {
    let new = next.keys.iter().all(|key| !strike.strikes(key.note));
    new && strike.sounds_at(next.first_ticks)
}

/// The keys that are held over the beginnings of chords, which are asked for in their order.
struct Held<'a> {
    keys: &'a [PlayedKey],
    next: usize,
    down: Vec<PlayedKey>,
}

impl Held<'_> {
    fn new(keys: &[PlayedKey]) -> Held<'_> {
        Held {
            keys,
            next: 0,
            down: Vec::new(),
        }
    }

    /// The notes that were struck before a chord and are held for a beat of it, or for half of it.
    fn at(&mut self, chord: &AskedChord) -> Vec<MidiNote> {
        let start = chord.start_ticks;
        while let Some(key) = self.keys.get(self.next).filter(|k| k.start_ticks < start) {
            self.next += 1;
            self.down.retain(|down| down.note != key.note);
            self.down.push(*key);
        }
        self.down.retain(|key| key.released_ticks > start);
        let until = start.saturating_add((chord.length_ticks / 2).min(4 * ON_TIME_TICKS));
        let held = self.down.iter().filter(|key| key.released_ticks >= until);
        let mut notes: Vec<MidiNote> = held.map(|key| key.note).collect();
        notes.sort_unstable();
        notes
    }
}
