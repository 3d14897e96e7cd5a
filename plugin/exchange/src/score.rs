//! What is written to files: a chart, the notes that were played or planned over it, its melody, and
//! the words on the page. Imports `kept` and the theory.

use crate::kept::Kept;
use guidehand_theory::candidates::Register;
use guidehand_theory::chart::Chart;
use guidehand_theory::comping::Yielding;
use guidehand_theory::key::Key;
use guidehand_theory::melody::Melody;
use guidehand_theory::own_shape::Own;
use guidehand_theory::pipeline::{self, ChordInKey, LOWEST_BASS};
use guidehand_theory::pitch::{MidiNote, NoteName};
use guidehand_theory::plan::Ends;
use guidehand_theory::shape::Texture;
use guidehand_theory::under::{self, Harmony, Line, TimedBlock};
use guidehand_theory::voicing::{Form, Voicing};

/// How hard planned notes are played, 1 to 127.
const PLANNED_VELOCITY: u8 = 80;
/// How hard the notes of a melody are played.
const MELODY_VELOCITY: u8 = 96;

/// A chart with notes, on the grid of 960 ticks to the quarter.
#[derive(Clone, Debug, PartialEq)]
pub struct Score {
    /// The title; may be empty.
    pub title: String,
    /// Quarter notes a minute.
    pub tempo_bpm: f64,
    /// The key of the signature.
    pub key: Key,
    /// Bars, meters, chords and the form.
    pub chart: Chart,
    /// The chords that are played, in any order. Notes past the chart's end are written to MIDI
    /// files, but not to pages.
    pub comping: Vec<Note>,
    /// Bass notes or roots.
    pub bass: Vec<Note>,
    /// The melody, which stands over all else. It is written in even eighths whatever the swing.
    pub melody: Vec<Note>,
    /// The voices of block chords below the melody, which stand on its staff.
    pub blocks: Vec<Note>,
    /// What can be written in words under the chords, in order.
    pub words: Vec<ChordWords>,
    /// Where the off-beat eighths are played in their beats: at 0.5 they are even, at two thirds
    /// they swing as triplets do.
    pub off_beat: f64,
    /// The keys of a practice page with the ticks at which they begin, in order. Each begins a
    /// line with its name and its signature. Empty on other pages.
    pub keys: Vec<(u32, Key)>,
    /// The scales that the player has chosen, as words with their ticks. They stand under the notes
    /// of every page.
    pub scales: Vec<(u32, String)>,
    /// The text of the chart with what was picked for its chords, for pages that are read back.
    pub kept: Option<Kept>,
}

/// What can be written in words under a chord.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChordWords {
    /// Ticks from the start of the chart as played.
    pub start_ticks: u32,
    /// The form of its voicing, such as `A`.
    pub form: String,
    /// Its degrees from the lowest note, such as `b7 9 3 13`.
    pub degrees: String,
    /// The scale to play over it, such as `G Mixolydian`; empty if there is none.
    pub scale: String,
}

impl ChordWords {
    /// The words of a chord in its key as a voicing sounds it.
    #[must_use]
    pub fn of(start_ticks: u32, placed: &ChordInKey, voicing: &Voicing) -> ChordWords {
        let degrees = voicing
            .voices()
            .iter()
            .map(|voice| voice.degree.to_string());
        let suggested = placed.scales(voicing);
        let scale = suggested
            .first()
            .map(|s| format!("{} {}", s.root, s.scale.name));
        ChordWords {
            start_ticks,
            form: Form::of(voicing.position, placed.chord.quality).to_string(),
            degrees: degrees.collect::<Vec<_>>().join(" "),
            scale: scale.unwrap_or_default(),
        }
    }
}

/// A note that is played.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Note {
    /// Ticks from the start of the chart as played.
    pub start_ticks: u32,
    /// Its length in ticks. A note of length 0 is left out.
    pub length_ticks: u32,
    /// The key.
    pub note: MidiNote,
    /// Its name. A name that does not fit the key is ignored.
    pub name: NoteName,
    /// 1 to 127.
    pub velocity: u8,
    /// The hand that takes it.
    pub hand: Hand,
}

/// Which hand plays a note.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hand {
    /// The left hand.
    Left,
    /// The right hand.
    Right,
}

impl Note {
    /// The tick at which it ends.
    #[must_use]
    pub const fn end_ticks(&self) -> u32 {
        self.start_ticks.saturating_add(self.length_ticks)
    }

    /// The notes of a voicing over a root, each spelled by its degree, in the hand
    /// that takes it.
    pub fn of_voicing(
        voicing: &Voicing,
        root: NoteName,
        start_ticks: u32,
        length_ticks: u32,
        velocity: u8,
    ) -> impl Iterator<Item = Note> + '_ {
        let left = usize::from(voicing.left_hand);
        let voices = voicing.voices().iter().enumerate();
        voices.map(move |(index, voice)| Note {
            start_ticks,
            length_ticks,
            note: voice.note,
            name: voice.degree.over(root),
            velocity,
            hand: if index < left {
                Hand::Left
            } else {
                Hand::Right
            },
        })
    }
}

/// The signature of a key, see [`Score::signature`].
pub(crate) const fn key_signature(key: Key) -> i8 {
    match key.signature() {
        sharps if sharps > 7 => sharps - 12,
        flats if flats < -7 => flats + 12,
        signature => signature,
    }
}

impl Score {
    /// Sharps (positive) or flats (negative) of the signature, -7 to 7. A key with more of them
    /// is written with its other name.
    #[must_use]
    pub const fn signature(&self) -> i8 {
        key_signature(self.key)
    }

    /// The key in force at a tick.
    #[must_use]
    pub fn key_at(&self, at_ticks: u32) -> Key {
        let begun = self.keys.partition_point(|(from, _)| *from <= at_ticks);
        let last = begun.checked_sub(1).and_then(|last| self.keys.get(last));
        last.map_or(self.key, |(_, key)| *key)
    }

    /// A chart without notes, in the key of its first chord.
    #[must_use]
    pub fn of(chart: Chart, tempo_bpm: f64) -> Score {
        let first = pipeline::place(&chart, None).into_iter().flatten().next();
        Score {
            title: chart.title.clone(),
            tempo_bpm,
            key: first.map_or(Key::C_MAJOR, |placed| placed.function.key),
            chart,
            comping: Vec::new(),
            bass: Vec::new(),
            melody: Vec::new(),
            blocks: Vec::new(),
            words: Vec::new(),
            off_beat: 0.5,
            keys: Vec::new(),
            scales: Vec::new(),
            kept: None,
        }
    }

    /// A chart with its planned voicings, each held until the next change, its bass notes, and the
    /// forms of the voicings as words.
    #[must_use]
    pub fn planned(
        chart: Chart,
        tempo_bpm: f64,
        pinned: Option<Key>,
        texture: Texture,
        register: Register,
    ) -> Score {
        Score::planned_around(chart, tempo_bpm, pinned, (texture, register), None)
    }

    /// As [`Score::planned`], around the voicings that were pinned, and with the scales that were
    /// chosen. `kept` is what was picked for the chords of this chart.
    #[must_use]
    pub fn planned_around(
        chart: Chart,
        tempo_bpm: f64,
        pinned: Option<Key>,
        setting: (Texture, Register),
        kept: Option<&Kept>,
    ) -> Score {
        Score::planned_under(chart, tempo_bpm, pinned, setting, kept, None)
    }

    /// As [`Score::planned_around`], with a melody to which the voicings yield, and perhaps with block
    /// chords below it.
    #[must_use]
    pub fn planned_under(
        chart: Chart,
        tempo_bpm: f64,
        pinned: Option<Key>,
        (texture, register): (Texture, Register),
        kept: Option<&Kept>,
        sung: Option<&Sung>,
    ) -> Score {
        let placed = pipeline::place(&chart, pinned);
        let pins = kept.map(|kept| kept.voicings(&chart, &placed, register.hand));
        let pins = pins.unwrap_or_default();
        let under = sung.map(|sung| pipeline::under(&chart, sung.melody, sung.yielding));
        let under = under.unwrap_or_default();
        let own = Own::NONE;
        let voiced =
            pipeline::plan_under(&placed, texture, register, Ends::Cyclic, &pins, own, &under);
        let voiced: Vec<_> = voiced.into_iter().map(|a| a.map(|a| a.voiced)).collect();
        let mut score = Score::of(chart, tempo_bpm);
        if let Some(kept) = kept {
            score.scales = kept.scale_words(&score.chart, |change| {
                let voiced = (*voiced.get(change)?)?;
                Some(((*placed.get(change)?)?, voiced.voicing))
            });
            score.kept = Some(kept.clone());
        }
        score.key = pinned.unwrap_or(score.key);
        let chords = placed.iter().zip(&voiced);
        for (change, (placed, voiced)) in score.chart.changes.iter().zip(chords) {
            let (Some(placed), Some(voiced)) = (placed, voiced) else {
                continue;
            };
            let (start, length) = (change.start_ticks, change.length_ticks);
            let (voicing, root) = (&voiced.voicing, placed.chord.root);
            let notes = Note::of_voicing(voicing, root, start, length, PLANNED_VELOCITY);
            score.comping.extend(notes);
            score.words.push(ChordWords::of(start, placed, voicing));
            score.bass.extend(placed.bass(LOWEST_BASS).map(|note| Note {
                start_ticks: start,
                length_ticks: length,
                note,
                name: placed.chord.bass.unwrap_or(root),
                velocity: PLANNED_VELOCITY,
                hand: Hand::Left,
            }));
        }
        if let Some(sung) = sung {
            score.put_melody(sung.melody, &placed);
            if let Some((taste, single_under_ticks)) = sung.blocks {
                let chords = placed.iter().zip(&voiced);
                let harmonies = chords.map(|(placed, voiced)| {
                    placed.map(|placed| Harmony {
                        placed,
                        tensions: voiced.map(|voiced| voiced.tensions),
                    })
                });
                let line = Line {
                    melody: sung.melody,
                    chart: &score.chart,
                    harmonies: &harmonies.collect::<Vec<_>>(),
                    single_under_ticks,
                };
                let blocks = under::plan(&taste, &line);
                score.put_blocks(&blocks);
            }
        }
        score
    }

    /// Puts a melody over the chart. A note without a name is named by the key of its chord.
    pub fn put_melody(&mut self, melody: &Melody, placed: &[Option<ChordInKey>]) {
        let named = pipeline::named(melody, &self.chart, placed);
        let notes = named.notes().iter().map(|note| Note {
            start_ticks: note.start_ticks,
            length_ticks: note.length_ticks,
            note: note.note,
            name: note.spelled().name,
            velocity: MELODY_VELOCITY,
            hand: Hand::Right,
        });
        self.melody = notes.collect();
    }

    /// Puts block chords below the melody.
    pub fn put_blocks(&mut self, blocks: &[TimedBlock]) {
        let voices = blocks.iter().flat_map(|timed| {
            let voicing = &timed.block.voicing;
            let (start, length) = (timed.start_ticks, timed.length_ticks);
            let root = timed.block.root.unwrap_or_default();
            let notes = Note::of_voicing(voicing, root, start, length, PLANNED_VELOCITY);
            let below = voicing.voices().len().saturating_sub(1);
            notes.take(below)
        });
        self.blocks = voices.collect();
    }
}

/// A melody for a planned score.
#[derive(Clone, Copy, Debug)]
pub struct Sung<'a> {
    /// The melody.
    pub melody: &'a Melody,
    /// How far the voicings yield to it.
    pub yielding: Yielding,
    /// What block chords there are, and notes of how many ticks are too short for one. None if there
    /// are no block chords.
    pub blocks: Option<(under::Taste, u32)>,
}
