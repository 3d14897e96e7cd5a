//! The ways to play the chord in hand: how else it can be dressed and voiced, which way is tried, and
//! how it comes into the chart. The panel's thread; `pages` keeps it, and `apply` changes it. Imports
//! `held`, `audition` and the view.

use crate::document::{self, ChordAt, MyVoicings, Pass, PinNotes};
use crate::editor::model::audition::{self, HeardChord};
use crate::editor::model::held::{Held, Time};
use crate::editor::view::ways::Row;
use crate::editor::view::{self, words};
use crate::engine::clock;
use crate::engine::planned::{self, PlannedChart};
use crate::engine::snapshot::Sounding;
use crate::engine::trial::Request;
use guidehand_theory::chart;
use guidehand_theory::chord::Chord;
use guidehand_theory::dressing::{self, Dressing, Step, dressings};
use guidehand_theory::other_voicings::{self, OtherVoicing};
use guidehand_theory::own_shape::{Own, OwnShape, ShapeError};
use guidehand_theory::pcset::PcSet;
use guidehand_theory::pin::{self, Verdict};
use guidehand_theory::pipeline::{self, ChordInKey, LOWEST_BASS, Taste};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::plan::Voiced;
use guidehand_theory::reharm::Note;
use guidehand_theory::voicing::Voicing;
use std::sync::Arc;

/// Which ways are shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Shows {
    /// Other tensions.
    #[default]
    Dressings,
    /// The same chord with its notes laid otherwise.
    Voicings,
    /// The player's own voicings.
    Own,
}

/// What a player asks for about them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WaysAction {
    /// Others are shown.
    Show(Shows),
    /// The one in this row is tried: it is heard in context, and shown.
    Try(usize),
    /// These keys, one bit for each MIDI note, are tried as its notes, and heard.
    Lay(u128),
    /// What is tried comes into the chart: a dressing as symbols, notes as a pin. For one time only
    /// a dressing is a pin too, since its symbol is written for every time.
    Keep(Pass),
    /// What is tried is forgotten.
    Drop,
    /// The pin of the chord in hand is taken away.
    Unpin(Pass),
}

/// What the ways depend on.
#[derive(Clone)]
struct Asked {
    planned: Arc<PlannedChart>,
    change: usize,
    taste: Taste,
    melody: PcSet,
    own: Arc<MyVoicings>,
    shows: Shows,
}

impl Asked {
    /// Whether both are about the same chord in the same place.
    fn is_about(&self, other: &Asked) -> bool {
        let rest = |asked: &Asked| (asked.change, asked.taste, asked.melody);
        Arc::ptr_eq(&self.planned, &other.planned) && rest(self) == rest(other)
    }
}

/// What becomes of a text where a dressing is kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Kept {
    /// The text with the symbols.
    pub text: String,
    /// The voicings to pin, where the symbols leave them open or the chord had a pin.
    pub pins: Vec<(ChordAt, PinNotes)>,
}

/// Notes as a player has laid them.
struct Laid {
    notes: PinNotes,
    voiced: Voiced,
    /// What there is to tell of them, in words.
    told: String,
}

/// The ways to play the chord in hand.
#[derive(Default)]
pub struct Ways {
    asked: Option<Asked>,
    shows: Shows,
    placed: Option<ChordInKey>,
    dressings: Vec<Dressing>,
    /// None for own voicings that do not serve the chord.
    voicings: Vec<Option<OtherVoicing>>,
    tried: Option<usize>,
    /// The row that was pressed last. It is tried if it serves the chord.
    pressed: Option<usize>,
    /// Notes that are tried as the player has laid them.
    laid: Option<Laid>,
    /// Which time the chord in hand is played, if it is voiced otherwise another time.
    time: Option<Time>,
    /// The same as rows.
    rows: Vec<Row>,
    /// What could not be done, in words.
    said: String,
    /// What there is to tell of the voicing that is pinned, in words.
    told: String,
}

impl Ways {
    /// Asks about the chord in hand. Its ways are worked out only where something that they depend
    /// on has changed.
    pub fn ask(
        &mut self,
        held: Option<&Held>,
        own: &Arc<MyVoicings>,
        taste: &Taste,
        melody: &[Note],
    ) {
        let asked = held.map(|held| Asked {
            planned: held.planned.clone(),
            change: held.change,
            taste: *taste,
            melody: over(held, melody),
            own: own.clone(),
            shows: self.shows,
        });
        let (is_about, same) = match (&self.asked, &asked) {
            (Some(before), Some(now)) => {
                let is_about = before.is_about(now);
                let same = before.shows == now.shows && Arc::ptr_eq(&before.own, &now.own);
                (is_about, is_about && same)
            }
            (before, now) => (false, before.is_none() && now.is_none()),
        };
        if same {
            return;
        }
        *self = Ways {
            shows: self.shows,
            laid: self.laid.take().filter(|_| is_about),
            placed: held.and_then(Held::chord),
            told: held.map_or_else(String::new, |held| told(held, taste)),
            time: held.and_then(|held| held.time(taste)),
            ..Ways::default()
        };
        if let Some((held, asked)) = held.zip(asked.as_ref()) {
            match self.shows {
                Shows::Dressings => {
                    let place = place(held, asked);
                    self.dressings = place.map_or_else(Vec::new, |place| dressings(&place));
                }
                Shows::Voicings => self.voicings = other_voicings(held, taste, own),
                Shows::Own => self.voicings = own_voicings(held, taste, own),
            }
        }
        let dressings = self.dressings.iter();
        let dressings = dressings.map(|dressing| view::ways::dressing(dressing, taste));
        let voicings = self.placed.iter().flat_map(|placed| {
            let voicings = self.voicings.iter().zip(0..);
            voicings.filter_map(|(voicing, nth): (_, usize)| match self.shows {
                Shows::Own => {
                    let own = own.voicings().get(nth)?;
                    Some(view::own::row(placed, own, voicing.as_ref()))
                }
                _ => Some(view::ways::voicing(
                    placed,
                    voicing.as_ref()?,
                    own.voicings(),
                )),
            })
        });
        self.rows = dressings.chain(voicings).collect();
        self.asked = asked;
    }

    /// Which ways are shown.
    #[must_use]
    pub const fn shows(&self) -> Shows {
        self.shows
    }

    /// The dressings or voicings, in their order.
    #[must_use]
    pub fn rows(&self) -> &[Row] {
        &self.rows
    }

    /// The row that is tried.
    #[must_use]
    pub const fn tried(&self) -> Option<usize> {
        self.tried
    }

    /// Whether something is tried.
    #[must_use]
    pub const fn tries(&self) -> bool {
        self.tried.is_some() || self.laid.is_some()
    }

    /// What is tried, in words.
    #[must_use]
    pub fn what_is_tried(&self) -> Option<&str> {
        let row = self.tried.and_then(|row| self.rows.get(row));
        let laid = self.laid.as_ref().map(|_| "your notes");
        row.map(|row| row.name.as_str()).or(laid)
    }

    /// Whether what is tried can be kept for one time only: an inner line is symbols, which are
    /// written for every time.
    #[must_use]
    pub fn can_be_kept_once(&self) -> bool {
        self.notes(Pass::Every).is_some() || self.single().is_some()
    }

    /// Which time the chord in hand is played, if it is voiced otherwise another time.
    #[must_use]
    pub const fn time(&self) -> Option<Time> {
        self.time
    }

    /// What could not be done, in words; empty if nothing was.
    #[must_use]
    pub fn said(&self) -> &str {
        &self.said
    }

    /// Shows others.
    pub const fn show(&mut self, shows: Shows) {
        self.shows = shows;
    }

    /// The row that was pressed last, whether or not it can be tried.
    #[must_use]
    pub const fn pressed(&self) -> Option<usize> {
        self.pressed
    }

    /// Tries a row, or nothing. Returns whether there is something to hear: an own voicing may be for
    /// other chords.
    pub fn set_tried(&mut self, row: Option<usize>) -> bool {
        self.laid = None;
        self.pressed = row.filter(|row| *row < self.rows.len());
        self.tried = self.pressed;
        if self.dressing().is_none() && self.voicing().is_none() {
            self.tried = None;
        }
        self.said.clear();
        self.tried.is_some()
    }

    /// Tries these keys, one bit for each MIDI note, as the notes of the chord in hand. The words
    /// of `said` tell why they cannot be.
    pub fn lay(&mut self, keys: u128) -> bool {
        let Some((placed, asked)) = self.placed.as_ref().zip(self.asked.as_ref()) else {
            return false;
        };
        let keys = (0..128).filter(|key| keys & (1 << key) != 0);
        let notes = match PinNotes::new(keys.filter_map(MidiNote::new)) {
            Ok(notes) => notes,
            Err(error) => {
                self.said = words(&error);
                return false;
            }
        };
        let register = asked.taste.register;
        let voiced = notes.over(placed, register.hand);
        let verdicts = pin::check(&voiced.voicing, &placed.chord, register);
        let laid = Laid {
            notes,
            voiced,
            told: list(&verdicts),
        };
        self.set_tried(None);
        self.laid = Some(laid);
        true
    }

    fn dressing(&self) -> Option<&Dressing> {
        self.dressings.get(self.tried?)
    }

    /// The dressing that is tried, if it is no inner line.
    fn single(&self) -> Option<&Step> {
        match &self.dressing()?.steps[..] {
            [one] => Some(one),
            _ => None,
        }
    }

    /// The notes that are tried, without other tensions.
    fn voicing(&self) -> Option<(&ChordInKey, &Voiced)> {
        let row = || Some(&self.voicings.get(self.tried?)?.as_ref()?.voiced);
        let voiced = self.laid.as_ref().map(|laid| &laid.voiced).or_else(row)?;
        Some((self.placed.as_ref()?, voiced))
    }

    /// What is tried, as it sounds first.
    #[must_use]
    pub fn sounding(&self, with_bass: bool) -> Option<Sounding> {
        let taste = &self.asked.as_ref()?.taste;
        let step = self.dressing().and_then(|dressing| dressing.steps.first());
        let of_step = step.map(|step| sounding(&step.placed, step.voiced(taste), with_bass));
        let voicing = self.voicing();
        let of_voicing = voicing.map(|(placed, voiced)| sounding(placed, *voiced, with_bass));
        of_step.or(of_voicing)
    }

    /// What is tried, as it is heard.
    #[must_use]
    pub fn heard(&self) -> Option<HeardChord> {
        if let Some((placed, voiced)) = self.voicing() {
            return Some(HeardChord::new(placed, voiced.voicing));
        }
        let steps = &self.dressing()?.steps;
        let first = steps.first()?;
        let then = steps.get(1).map(|step| step.voicing);
        Some(HeardChord::new(&first.placed, first.voicing).with_line(then))
    }

    /// What is tried between the chord before and the next one; without anything tried the chord
    /// in hand.
    #[must_use]
    pub fn in_context(&self, repeats: bool) -> Option<Request> {
        let asked = self.asked.as_ref()?;
        let heard = self.heard();
        audition::in_context(&asked.planned, asked.change, &asked.taste, repeats, heard)
    }

    /// The notes of what is tried, to be pinned for this time or every time. None if it is to be
    /// written as symbols.
    #[must_use]
    pub fn notes(&self, pass: Pass) -> Option<PinNotes> {
        if let Some(laid) = &self.laid {
            return Some(laid.notes);
        }
        let of_voicing = self.voicing().map(|(_, voiced)| voiced.voicing);
        let of_dressing = || Some(self.single().filter(|_| pass != Pass::Every)?.voicing);
        PinNotes::new(of_voicing.or_else(of_dressing)?.notes()).ok()
    }

    /// The shape of the voicing that is tried, or of the one that the chord in hand has.
    #[must_use]
    pub fn shape(&self) -> Option<Result<OwnShape, ShapeError>> {
        let asked = self.asked.as_ref()?;
        let placed = self.placed.as_ref()?;
        let tried = self.voicing().map(|(_, voiced)| voiced.voicing);
        let planned = || Some(asked.planned.voiced(asked.change, &asked.taste)?.1.voicing);
        Some(OwnShape::of(&tried.or_else(planned)?, &placed.chord))
    }

    /// What there is to tell of the notes that are laid, or else of the voicing that is pinned, in
    /// words; empty if nothing is.
    #[must_use]
    pub fn told(&self) -> &str {
        match &self.laid {
            Some(laid) => &laid.told,
            None if self.tried.is_some() => "",
            None => &self.told,
        }
    }

    /// The text with the dressing that is tried written into it, where the chord in hand is the
    /// `index`th one of the text. The words of `said` tell why it cannot be.
    pub fn written(&mut self, text: &str, held: &Held, index: usize) -> Option<Kept> {
        let dressing = self.dressing()?;
        let change = held.planned.changes.get(held.change)?;
        let length = change.length_ticks;
        let symbol = |step: &Step| Some(*step.symbol());
        let parts = match &dressing.steps[..] {
            [one] => vec![(symbol(one), length)],
            [first, then] => {
                let at = clock::whole(planned::line_moves_at(f64::from(length)))?;
                vec![
                    (symbol(first), at),
                    (symbol(then), length.saturating_sub(at)),
                ]
            }
            _ => return None,
        };
        let at = held.change..held.change + 1;
        let Some(text) = chart::rewrite(text, held.chart, at, &parts) else {
            let words =
                "It cannot be written here: the chords of this bar share its beats unevenly.";
            words.clone_into(&mut self.said);
            return None;
        };
        let steps = dressing.steps.iter().enumerate();
        // A pin that is there already may fit the new symbol, and would sound in its place.
        let is_pinned = held.is_pinned();
        let pins = steps.filter(|(_, step)| step.needs_pin || is_pinned);
        let pins = pins.filter_map(|(nth, step)| {
            let at = ChordAt {
                index: index + nth,
                symbol: document::symbol(step.symbol()),
            };
            Some((at, PinNotes::new(step.voicing.notes()).ok()?))
        });
        let pins = pins.collect();
        Some(Kept { text, pins })
    }
}

/// What there is to tell of the voicing that is pinned to the chord in hand.
fn told(held: &Held, taste: &Taste) -> String {
    let pinned = held.planned.pinned(held.change).zip(held.chord());
    let verdicts = pinned.map_or_else(Vec::new, |(voiced, placed)| {
        pin::check(&voiced.voicing, &placed.chord, taste.register)
    });
    list(&verdicts)
}

/// Verdicts in words.
fn list(verdicts: &[Verdict]) -> String {
    let verdicts: Vec<String> = verdicts.iter().map(words).collect();
    verdicts.join("; ")
}

/// A chord as it sounds.
fn sounding(placed: &ChordInKey, voiced: Voiced, with_bass: bool) -> Sounding {
    Sounding {
        placed: *placed,
        voiced,
        bass: with_bass.then(|| placed.bass(LOWEST_BASS)).flatten(),
        read: None,
    }
}

/// The classes of the melody over the chord in hand.
fn over(held: &Held, melody: &[Note]) -> PcSet {
    let change = held.planned.changes.get(held.change);
    let span = change.map_or(0..0, |change| {
        change.start_ticks..change.start_ticks + change.length_ticks
    });
    let sounds = |note: &&Note| {
        note.start_ticks < span.end && note.start_ticks + note.length_ticks > span.start
    };
    melody
        .iter()
        .filter(sounds)
        .map(|note| note.class)
        .collect()
}

fn place(held: &Held, asked: &Asked) -> Option<dressing::Place> {
    let (placed, voiced) = held.planned.voiced(held.change, &asked.taste)?;
    let chord = |at: usize| -> Option<Chord> { Some(held.planned.changes.get(at)?.placed?.chord) };
    Some(dressing::Place {
        placed,
        before: held.before().and_then(chord),
        after: held.after().and_then(chord),
        melody: asked.melody,
        now: voiced.voicing,
        taste: asked.taste,
    })
}

/// What sounds around the chord in hand.
fn around(held: &Held, taste: &Taste) -> other_voicings::Place {
    let voiced = |at: usize| held.planned.voiced(at, taste);
    let voicing = |at: usize| -> Option<Voicing> { Some(voiced(at)?.1.voicing) };
    other_voicings::Place {
        before: held.before().and_then(voicing),
        now: voicing(held.change),
        after: held.after().and_then(voicing),
    }
}

fn other_voicings(held: &Held, taste: &Taste, own: &MyVoicings) -> Vec<Option<OtherVoicing>> {
    let own = Own::beside(own.shapes());
    let found = held.chord().map_or_else(Vec::new, |placed| {
        pipeline::other_voicings(&placed, taste, own, &around(held, taste))
    });
    found.into_iter().map(Some).collect()
}

/// Each of the player's own voicings over the chord in hand, if it serves it.
fn own_voicings(held: &Held, taste: &Taste, own: &MyVoicings) -> Vec<Option<OtherVoicing>> {
    let own = Own::beside(own.shapes());
    held.chord().map_or_else(Vec::new, |placed| {
        pipeline::own_voicings(&placed, taste, own, &around(held, taste))
    })
}
