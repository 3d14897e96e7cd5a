//! Picks follow their chords through an edit of the text. Any thread but the audio thread. Imports
//! the rest of its folder but `saved`, and `similar`, which finds the chords that stay; nothing
//! imports it, for its functions are those of the document.

use super::pick::{ChosenScale, Pass, Pin};
use super::picks::Picks;
use super::place::{self, ChordAt, ChordPlayed, chords_behind, chords_of};
use super::remark::{Dropped, Picked, Why};
use super::value::Document;
use guidehand_theory::candidates::Register;
use guidehand_theory::chart;
use guidehand_theory::chord::Chord;
use guidehand_theory::melody;
use guidehand_theory::pitch::NoteNames;
use guidehand_theory::symbol;
use similar::{Algorithm, DiffOp};
use std::collections::{HashMap, HashSet};
use std::sync::Arc;

/// The most comparisons of chords that are made to find those that stay. Where two texts differ
/// in more, the chords between the first and the last difference count as replaced.
const MOST_COMPARED: usize = 4_000_000;

/// A document after an edit, and what was dropped on the way.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Followed {
    /// The document.
    pub document: Document,
    /// What was dropped, in the order of the text.
    pub dropped: Vec<Dropped>,
}

impl Document {
    /// The document with another text. Each pick goes with its chord: where chords come or go
    /// before it, and where the chord itself changes to one that it fits. Elsewhere it is dropped.
    /// On a word that cannot be read it stays as it is.
    ///
    /// `cursor` is the place in the new text, in bytes, where an edit by hand has ended. What lies
    /// behind it is taken for the same as before if it reads the same.
    #[must_use]
    pub fn edited(&self, text: &str, names: NoteNames, cursor: Option<usize>) -> Followed {
        let text: Arc<str> = text.into();
        if self.picks.is_empty() || text == self.text {
            return Followed {
                document: Document {
                    text,
                    ..self.clone()
                },
                dropped: Vec::new(),
            };
        }
        let before = chords_of(&self.text, names);
        let after = chords_of(&text, names);
        let behind = cursor.filter(|at| is_end(&self.text, &text, *at));
        let behind = behind.map_or(0, |at| chords_behind(&text, at, names));
        let places = places(&before, &after, behind);
        let goes_to = |index: usize| places.get(index).copied().flatten();
        let times = Times::of(&self.picks, [&self.text, &text], names);
        self.follow(text, goes_to, &after, &times)
    }

    /// With what was picked in an earlier document and has been lost since, where its chord stands
    /// again between the same neighbours. `cursor` is as for [`Document::edited`].
    #[must_use]
    pub fn with_picks_of(
        self,
        earlier: &Document,
        names: NoteNames,
        cursor: Option<usize>,
    ) -> Document {
        let counts = |picks: &Picks| (picks.pins().len(), picks.scales().len());
        let ((pins, scales), (more_pins, more_scales)) =
            (counts(&self.picks), counts(&earlier.picks));
        if pins >= more_pins && scales >= more_scales {
            return self;
        }
        let before = chords_of(&earlier.text, names);
        let after = chords_of(&self.text, names);
        let behind = cursor.filter(|at| is_end(&earlier.text, &self.text, *at));
        let behind = behind.map_or(0, |at| chords_behind(&self.text, at, names));
        let places = places(&before, &after, behind);
        let around = |chords: &[Option<Chord>], at: usize| {
            let one = |at: Option<usize>| chords.get(at?).copied();
            [at.checked_sub(1), Some(at), at.checked_add(1)].map(one)
        };
        let stands_again = |at: &ChordAt| {
            let index = places.get(at.index).copied().flatten()?;
            let same = around(&before, at.index) == around(&after, index);
            let symbol = at.symbol.clone();
            same.then_some(ChordAt { index, symbol })
        };
        let mut pins = self.picks.pins().to_vec();
        let pinned: HashSet<_> = pins.iter().map(|pin| (pin.at.index, pin.pass)).collect();
        let times = Times::of(&earlier.picks, [&earlier.text, &self.text], names);
        let lost = earlier.picks.pins().iter().filter_map(|pin| {
            let at = stands_again(&pin.at)?;
            let is_lost = times.is_lost(pin.pass, pin.at.index, at.index);
            (!is_lost).then(|| Pin { at, ..pin.clone() })
        });
        pins.extend(lost.filter(|pin| !pinned.contains(&(pin.at.index, pin.pass))));
        let mut scales = self.picks.scales().to_vec();
        let chosen: HashSet<usize> = scales.iter().map(|scale| scale.at.index).collect();
        let lost = earlier.picks.scales().iter().filter_map(|scale| {
            let at = stands_again(&scale.at)?;
            Some(ChosenScale {
                at,
                ..scale.clone()
            })
        });
        scales.extend(lost.filter(|scale| !chosen.contains(&scale.at.index)));
        let picks = Picks::new(pins, scales).with_unread(&self.picks);
        self.with(picks)
    }

    /// The document with its notes named in another language, in which its text says other chords.
    #[must_use]
    pub fn renamed(&self, names: NoteNames) -> Followed {
        if self.picks.is_empty() {
            return Followed {
                document: self.clone(),
                dropped: Vec::new(),
            };
        }
        let after = chords_of(&self.text, names);
        self.follow(self.text.clone(), Some, &after, &Times::default())
    }

    /// The document with a text in which every chord lies so many half steps higher. Picks go
    /// with it, and pinned notes that lie in the register stay in it. A pin is dropped where MIDI
    /// has no place for its notes. The melody goes with it.
    #[must_use]
    pub fn transposed(
        &self,
        text: &str,
        half_steps: i8,
        names: NoteNames,
        register: &Register,
    ) -> Followed {
        let after = chords_of(text, names);
        let at = |at: &ChordAt| match after.get(at.index) {
            Some(Some(chord)) => ChordAt {
                index: at.index,
                symbol: place::symbol(chord),
            },
            _ => at.clone(),
        };
        let mut dropped = Vec::new();
        let pins = self.picks.pins().iter().filter_map(|pin| {
            let at = at(&pin.at);
            let Some(notes) = pin.notes.transposed(half_steps, register) else {
                dropped.push(Dropped {
                    what: Picked::Voicing,
                    chord: pin.at.symbol.clone(),
                    why: Why::NoPlace(at.symbol),
                });
                return None;
            };
            Some(Pin {
                at,
                notes,
                ..pin.clone()
            })
        });
        let pins = pins.collect();
        let scales = self.picks.scales().iter().map(|scale| ChosenScale {
            at: at(&scale.at),
            ..scale.clone()
        });
        let picks = Picks::new(pins, scales.collect()).with_unread(&self.picks);
        let mut document = self.with(picks);
        document.text = text.into();
        document.melody = self.melody_moved(&after, half_steps, names);
        dropped.dedup();
        Followed { document, dropped }
    }

    /// The melody so many half steps higher, where these are the chords. One that would leave the
    /// range of MIDI lies an octave further in, or stays as it is.
    fn melody_moved(&self, after: &[Option<Chord>], half_steps: i8, names: NoteNames) -> Arc<str> {
        let first = |chords: &[Option<Chord>]| Some(chords.iter().flatten().next()?.root.fifths());
        let by_chords = first(after).zip(first(&chords_of(&self.text, names)));
        let by_chords = by_chords.map(|(after, before)| after - before);
        // The names go with those of the chords, or else the shorter way.
        let is_right = |fifths: &i8| (7 * i32::from(half_steps) - i32::from(*fifths)) % 12 == 0;
        let fifths = by_chords.filter(is_right);
        let Some(fifths) = fifths.or_else(|| (-6..6).find(is_right)) else {
            return self.melody.clone();
        };
        let octaves = [0, 12, -12].map(|octave| half_steps.saturating_add(octave));
        let mut moved = octaves
            .into_iter()
            .filter_map(|by| melody::transposed(&self.melody, names, by, fifths));
        moved.next().map_or_else(|| self.melody.clone(), Arc::from)
    }

    /// Every pick in its new place, if it fits there.
    fn follow(
        &self,
        text: Arc<str>,
        goes_to: impl Fn(usize) -> Option<usize>,
        after: &[Option<Chord>],
        times: &Times,
    ) -> Followed {
        let (mut dropped, mut lost) = (Vec::new(), Vec::new());
        // Where a pick goes; none if it does not fit there.
        let mut go = |what: Picked, at: &ChordAt, fits: &dyn Fn(&Chord) -> bool| {
            let index = goes_to(at.index);
            let now = index.and_then(|index| Some((index, after.get(index)?)));
            let Some((index, now)) = now else {
                dropped.push((at.index, what, at.symbol.clone(), Why::Gone));
                return None;
            };
            let Some(now) = now else {
                let symbol = at.symbol.clone();
                return Some(ChordAt { index, symbol });
            };
            let symbol = place::symbol(now);
            if symbol == at.symbol || fits(now) {
                return Some(ChordAt { index, symbol });
            }
            dropped.push((at.index, what, at.symbol.clone(), Why::Misfit(symbol)));
            None
        };
        let pins = self.picks.pins().iter().filter_map(|pin| {
            let was = symbol::parse(&pin.at.symbol).ok();
            let fits = |now: &Chord| was.is_some_and(|was| pin.notes.fit(&was, now));
            let at = go(Picked::Voicing, &pin.at, &fits)?;
            if times.is_lost(pin.pass, pin.at.index, at.index) {
                let why = Why::NotPlayed(pin.pass);
                lost.push((pin.at.index, Picked::Voicing, at.symbol, why));
                return None;
            }
            Some(Pin { at, ..pin.clone() })
        });
        let pins = pins.collect();
        let scales = self.picks.scales().iter().filter_map(|chosen| {
            let at = go(Picked::Scale, &chosen.at, &|chord| chosen.scale.fits(chord))?;
            Some(ChosenScale {
                at,
                ..chosen.clone()
            })
        });
        let picks = Picks::new(pins, scales.collect()).with_unread(&self.picks);
        dropped.extend(lost);
        dropped.sort_by_key(|(index, ..)| *index);
        let mut dropped: Vec<Dropped> = dropped
            .into_iter()
            .map(|(_, what, chord, why)| Dropped { what, chord, why })
            .collect();
        // Several pins of one chord are told of once.
        dropped.dedup();
        Followed {
            document: Document {
                text,
                picks: Arc::new(picks),
                ..self.clone()
            },
            dropped,
        }
    }
}

/// How often the chords of a text are played before an edit and after it, as far as it matters.
#[derive(Default)]
struct Times(Option<[HashMap<usize, u16>; 2]>);

impl Times {
    /// Nothing is known where no pin is for a single time, or one of the texts is no chart.
    fn of(picks: &Picks, texts: [&str; 2], names: NoteNames) -> Times {
        if picks.pins().iter().all(|pin| pin.pass == Pass::Every) {
            return Times::default();
        }
        let [before, after] = texts.map(|text| {
            let chart = chart::parse_with(text, names).ok()?;
            let played = ChordPlayed::of(&chart).into_iter().flatten();
            Some(played.map(|one| (one.index, one.passes)).collect())
        });
        Times(before.zip(after).map(|(before, after)| [before, after]))
    }

    /// Whether a chord was played for this time, and is not any more.
    fn is_lost(&self, pass: Pass, was: usize, now: usize) -> bool {
        let (Pass::Only(time), Some([before, after])) = (pass, &self.0) else {
            return false;
        };
        let count = |passes: &HashMap<usize, u16>, at| passes.get(&at).copied().unwrap_or(0);
        (count(after, now) + 1..=count(before, was)).contains(&time.get())
    }
}

/// Whether what lies behind a place in a text ends the text before too.
fn is_end(before: &str, after: &str, at: usize) -> bool {
    after.get(at..).is_some_and(|end| before.ends_with(end))
}

/// The place afterwards of each chord; none for those that are gone. The last `behind` ones are
/// known to stay. A chord that is the only one of its kind before and after is the same one. Of the
/// others as many as possible stay, and those between them stand in each other's place.
fn places(before: &[Option<Chord>], after: &[Option<Chord>], behind: usize) -> Vec<Option<usize>> {
    let mut places = Places {
        of: vec![None; before.len()],
        taken: vec![false; after.len()],
    };
    let behind = behind.min(before.len()).min(after.len());
    let before = before.get(..before.len() - behind).unwrap_or(&[]);
    let after = after.get(..after.len() - behind).unwrap_or(&[]);
    places.pair(before.len(), after.len(), behind);
    let singles = singles(after);
    for (chord, index) in self::singles(before) {
        if let (Some(old), Some(Some(new))) = (index, singles.get(chord)) {
            places.pair(old, *new, 1);
        }
    }
    let alike = before.iter().zip(after).take_while(|(old, new)| old == new);
    let first = alike.count();
    places.pair(0, 0, first);
    let before = before.get(first..).unwrap_or(&[]);
    let after = after.get(first..).unwrap_or(&[]);
    let alike = before.iter().rev().zip(after.iter().rev());
    let last = alike.take_while(|(old, new)| old == new).count();
    let (old_end, new_end) = (before.len() - last, after.len() - last);
    places.pair(first + old_end, first + new_end, last);
    let before = before.get(..old_end).unwrap_or(&[]);
    let after = after.get(..new_end).unwrap_or(&[]);
    if before.len().saturating_mul(after.len()) > MOST_COMPARED {
        places.pair(first, first, old_end.min(new_end));
        return places.of;
    }
    let ops = similar::capture_diff_slices(Algorithm::Myers, before, after);
    // What stays comes before what stands in the place of something else.
    for op in &ops {
        if let DiffOp::Equal {
            old_index,
            new_index,
            len,
        } = *op
        {
            places.pair(first + old_index, first + new_index, len);
        }
    }
    for op in &ops {
        if let DiffOp::Replace {
            old_index,
            old_len,
            new_index,
            new_len,
        } = *op
        {
            let len = old_len.min(new_len);
            places.pair(first + old_index, first + new_index, len);
        }
    }
    places.of
}

/// The place of each chord that stands in a text once; none for those that stand there more often.
fn singles(chords: &[Option<Chord>]) -> HashMap<&Chord, Option<usize>> {
    let mut singles = HashMap::new();
    for (index, chord) in chords.iter().enumerate() {
        if let Some(chord) = chord {
            let known = singles.entry(chord);
            known.and_modify(|at| *at = None).or_insert(Some(index));
        }
    }
    singles
}

/// Places afterwards, as far as they are known.
struct Places {
    of: Vec<Option<usize>>,
    /// Which of them are taken.
    taken: Vec<bool>,
}

impl Places {
    /// So many chords from `old` on are those from `new` on, unless something else is known of
    /// either.
    fn pair(&mut self, old: usize, new: usize, count: usize) {
        let of = self.of.iter_mut().skip(old).take(count);
        let taken = self.taken.iter_mut().enumerate().skip(new);
        for (place, (index, taken)) in of.zip(taken) {
            if place.is_none() && !*taken {
                *place = Some(index);
                *taken = true;
            }
        }
    }
}
