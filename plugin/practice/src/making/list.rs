//! Drills from a list: families and progressions through the keys. Imports `lay` and `basis`.

use super::basis::{Made, Making};
use super::lay::{self, Laid, Layer, ToLay};
use crate::choice::Which;
use crate::picker::Standing;
use crate::progression::{Stock, StockChord};
use crate::record::Schedule;
use crate::told::NoDrill;
use guidehand_theory::chart::Meter;
use guidehand_theory::chord::Chord;
use guidehand_theory::degree::Degree;
use guidehand_theory::dressing::{StockDressing, stock_dressings};
use guidehand_theory::key::{self, Key, Mode};
use guidehand_theory::own_shape::ShapeFamily;
use guidehand_theory::pipeline::ChordInKey;
use guidehand_theory::pitch::PitchClass;
use guidehand_theory::plan::Ends;
use guidehand_theory::quality::Quality;
use guidehand_theory::{slash, transpose};

/// The most signs of a key that is read.
const MOST_SIGNS: i8 = 6;

/// A chord or a progression, with what is chosen in it. It goes through all keys.
#[derive(Clone, Copy, Debug)]
struct Variant {
    stock: Stock,
    /// The family of dominants that fall a fifth, and of a single dominant.
    dominant: ShapeFamily,
    dressing: Option<StockDressing>,
    tonic: Option<ShapeFamily>,
}

impl Making<'_> {
    /// The drill of the exercise's list.
    ///
    /// # Errors
    /// Why there is none.
    pub fn of_list(&self) -> Result<Made, NoDrill> {
        let exercise = self.exercise;
        let Some(from) = exercise.keys.first() else {
            return Err(NoDrill::NoKeys);
        };
        let variants = self.variants();
        if variants.is_empty() {
            return Err(NoDrill::NoFamilies);
        }
        let keys = exercise.order.of(&exercise.keys, *from, exercise.seed);
        let layer = Layer {
            taste: self.taste,
            own: self.taste.own_of(self.shapes),
            position: exercise.position,
        };
        let schedule = self.record.schedule();
        let mut left_out = Vec::new();
        let mut items = Vec::new();
        let mut not_due = Vec::new();
        for variant in &variants {
            for key in &keys {
                let (key, chords) = variant.in_key(*key);
                let (questions, without) = layer.lay(&chords, Ends::Open);
                if !without.is_empty() {
                    // A progression is asked whole or not at all.
                    left_out.extend(without);
                    continue;
                }
                let laid = Laid {
                    questions,
                    key,
                    start_ticks: 0,
                    length_ticks: chords.iter().map(|one| one.length_ticks).sum(),
                };
                if exercise.which == Which::Due && !self.is_due(&laid, &schedule) {
                    not_due.extend(next_due(&laid, &schedule));
                    continue;
                }
                let standing = self.standing(&laid, &schedule);
                items.push((laid, standing));
            }
        }
        let told = lay::left_out(&left_out);
        if items.is_empty() && told.is_empty() {
            let next = not_due.into_iter().min();
            return Err(NoDrill::NothingDue { next });
        }
        self.made(Meter::COMMON, items, told)
    }

    /// What goes through the keys, in the order of the list.
    fn variants(&self) -> Vec<Variant> {
        let families = &self.exercise.families;
        let listed = |among: &[ShapeFamily]| -> Vec<ShapeFamily> {
            let listed = families.iter().copied();
            listed.filter(|family| among.contains(family)).collect()
        };
        let mut variants = Vec::new();
        let Some(stock) = Stock::of(self.exercise.progression) else {
            for family in families {
                for dressing in self.dressings(*family) {
                    variants.push(Variant {
                        stock: Stock::of_family(*family),
                        dominant: *family,
                        dressing,
                        tonic: Some(*family).filter(|one| *one == ShapeFamily::SixNine),
                    });
                }
            }
            return variants;
        };
        let mut dominants = listed(&[
            ShapeFamily::Dominant,
            ShapeFamily::Suspended,
            ShapeFamily::Altered,
        ]);
        if dominants.is_empty() {
            dominants.push(ShapeFamily::Dominant);
        }
        let mut tonics: Vec<Option<ShapeFamily>> =
            listed(stock.tonics).into_iter().map(Some).collect();
        if tonics.is_empty() {
            tonics.push(stock.tonics.first().copied());
        }
        for dominant in dominants {
            for dressing in self.dressings(dominant) {
                for tonic in &tonics {
                    variants.push(Variant {
                        stock,
                        dominant,
                        dressing,
                        tonic: *tonic,
                    });
                }
            }
        }
        variants
    }

    /// The listed dressings of a family, or as the key says if there is none.
    fn dressings(&self, family: ShapeFamily) -> Vec<Option<StockDressing>> {
        let of_family = |degrees: &_| {
            let mut all = stock_dressings();
            all.find(|one| one.family() == family && one.degrees() == *degrees)
        };
        let listed = self.exercise.dressings.iter().filter_map(of_family);
        let listed: Vec<_> = listed.map(Some).collect();
        if listed.is_empty() {
            vec![None]
        } else {
            listed
        }
    }

    fn is_due(&self, laid: &Laid, schedule: &Schedule) -> bool {
        let mut cells = laid.questions.iter().filter_map(|asked| asked.cell);
        cells.any(|cell| schedule.due(&cell).is_none_or(|due| due <= self.now))
    }

    /// How well all chords of an item are known: as the one that is known least.
    fn standing(&self, laid: &Laid, schedule: &Schedule) -> Standing {
        let standings = laid.questions.iter().map(|asked| {
            let standing = |cell| schedule.standing(&cell, self.now);
            asked.cell.map_or(Standing::NEW, standing)
        });
        standings
            .max_by_key(|standing| standing.wanted)
            .unwrap_or_default()
    }
}

fn next_due(laid: &Laid, schedule: &Schedule) -> Option<crate::record::Time> {
    let cells = laid.questions.iter().filter_map(|asked| asked.cell);
    cells.filter_map(|cell| schedule.due(&cell)).min()
}

impl Variant {
    /// The chords in C: the chord, its length, and whether it is the tonic.
    fn chords(&self) -> Vec<StockChord> {
        let tonic = |one: StockChord| match self.tonic {
            Some(family) if one.is_tonic => StockChord {
                chord: written(family, one.chord),
                ..one
            },
            _ => one,
        };
        self.stock.chords().map(tonic).collect()
    }

    /// The chords that are asked for in a key, and the key. A single chord stands on the tonic of that key.
    fn in_key(&self, key: PitchClass) -> (Key, Vec<ToLay>) {
        let home = self.stock.key();
        let chords = self.chords();
        let single = self.stock.asked() == 1;
        let from = chords.first().filter(|_| single);
        let from = from.map_or(home.tonic, |one| one.chord.root).class();
        let half_steps = i8::try_from(key.above(from)).unwrap_or_default();
        let written: Vec<_> = chords.iter().map(|one| Some((one.chord, home))).collect();
        let moved = transpose::transposed(&written, half_steps);
        let key = moved_key(
            home,
            chords.first().map(|one| one.chord),
            &moved,
            half_steps,
        );
        let timed = moved.iter().zip(&chords);
        let timed: Vec<_> = timed
            .map(|(chord, one)| (chord.as_ref().map(slash::meant), one.ticks))
            .collect();
        let functions = key::analyse_in_time(&timed, Some(key));
        let mut start_ticks = 0;
        let all = moved.into_iter().zip(functions).zip(&chords);
        let placed = all.filter_map(|((chord, function), one)| {
            let placed = ChordInKey::new(chord?, function?);
            let length_ticks = one.ticks;
            let to_lay = self.dressed(placed, start_ticks, length_ticks, single);
            start_ticks += length_ticks;
            Some(to_lay)
        });
        (key, placed.take(self.stock.asked()).collect())
    }

    /// A chord with the dominant that is chosen in its place, if it is one that falls a fifth.
    fn dressed(&self, placed: ChordInKey, start: u32, length: u32, single: bool) -> ToLay {
        let root = placed.chord.root;
        let falls = placed.function.resolution.falls_a_fifth();
        let is_dominant = placed.chord.quality.is_dominant();
        let takes = is_dominant && (single || falls);
        let chord = match self.dressing {
            _ if !takes && single => everyday(placed.chord),
            _ if !takes => placed.chord,
            Some(dressing) => dressing.over(root),
            None => self.dominant.chord(root),
        };
        ToLay {
            placed: ChordInKey {
                chord,
                written: chord,
                ..placed
            },
            dressing: self.dressing.filter(|_| takes),
            first_choice: true,
            pinned: None,
            start_ticks: start,
            length_ticks: length,
            change: None,
        }
    }
}

/// A half-diminished chord by itself has its everyday name: Bbm7b5, though it is A#m7b5 in G# minor.
fn everyday(chord: Chord) -> Chord {
    let root = match chord.quality {
        Quality::HalfDiminished => Key::usual(chord.root.class(), Mode::Minor).tonic,
        _ => chord.root,
    };
    Chord { root, ..chord }
}

/// A tonic of this family in the place of another one.
fn written(family: ShapeFamily, chord: Chord) -> Chord {
    let other = family.chord(chord.root);
    match family {
        ShapeFamily::SixNine => other.with(&[Degree::Nine]),
        _ => other,
    }
}

/// The key into which chords have been moved. It is as far from the one before as its first chord.
fn moved_key(home: Key, before: Option<Chord>, moved: &[Option<Chord>], half_steps: i8) -> Key {
    let after = moved.first().copied().flatten();
    let fifths = before.zip(after).map(|(before, after)| {
        let fifths = after.root.fifths() - before.root.fifths();
        home.tonic.along_fifths(fifths)
    });
    let moved = fifths.map(|tonic| Key { tonic, ..home });
    let is_read = |key: &Key| key.signature().abs() <= MOST_SIGNS;
    let usual = || Key::usual(home.tonic.class().up(half_steps), home.mode);
    moved.filter(is_read).unwrap_or_else(usual)
}
