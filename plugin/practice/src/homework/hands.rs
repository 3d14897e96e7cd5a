//! Where the hands part: what the right hand plays above the chords is no part of an answer. Imports
//! `keys`.

use super::keys::PlayedKey;
use guidehand_theory::pitch::MidiNote;
use std::collections::VecDeque;

/// Notes within this time are struck at once, in seconds.
const AT_ONCE_S: f64 = 0.05;
/// A note that comes so much later than those below it is played over them, in seconds.
const OVER_S: f64 = 0.12;
/// The widest span of a hand, in semitones: an eleventh.
const WIDEST: u8 = 17;
/// The fewest notes that tell of a right hand, and their least share: one for so many chords.
const FEWEST: usize = 4;
const CHORDS_FOR_ONE: usize = 4;

/// The note from which on the right hand plays, as what is played tells. None if nothing speaks for a
/// right hand. The keys come in the order in which they are struck; a chord has so many notes.
///
/// A note belongs to a right hand if it moves by itself over a whole chord that is held, or if a hand
/// with a whole chord below it does not reach it. The hands part where the fewest of these notes lie
/// below, and the fewest notes of chords above.
pub fn split(keys: &[PlayedKey], chord_notes: usize) -> Option<MidiNote> {
    let chord_notes = chord_notes.max(2);
    let mut line = [0_usize; 128];
    let mut chords = [0_usize; 128];
    let mut chord_count = 0;
    // Those that may still be down, and those that are struck at once with the next one.
    let mut down: VecDeque<PlayedKey> = VecDeque::new();
    let mut at = 0;
    while let Some(first) = keys.get(at) {
        let at_once = |key: &&PlayedKey| key.start_s - first.start_s <= AT_ONCE_S;
        let mut group: Vec<PlayedKey> = Vec::new();
        for key in keys.iter().skip(at).take_while(at_once) {
            at += 1;
            if group.iter().all(|other| other.note != key.note) {
                group.push(*key);
            }
        }
        down.retain(|key| key.released_ticks > first.start_ticks);
        let mut notes: Vec<MidiNote> = group.iter().map(|key| key.note).collect();
        notes.sort_unstable();
        if notes.len() >= chord_notes.min(3) {
            chord_count += 1;
            for note in notes.iter().take(chord_notes) {
                count(&mut chords, *note);
            }
        }
        for key in &group {
            if is_over(key, &down, &group, chord_notes)
                || is_beyond(key, &down, &group, chord_notes)
            {
                count(&mut line, key.note);
            }
        }
        down.extend(group);
        // A keyboard has no more keys.
        let surplus = down.len().saturating_sub(128);
        down.drain(..surplus);
    }
    let told: usize = line.iter().sum();
    (told >= FEWEST.max(chord_count / CHORDS_FOR_ONE)).then(|| parting(&line, &chords))
}

fn count(counts: &mut [usize; 128], note: MidiNote) {
    if let Some(count) = counts.get_mut(usize::from(note.number())) {
        *count += 1;
    }
}

/// Whether a key moves by itself over a whole chord that is held.
fn is_over(key: &PlayedKey, down: &VecDeque<PlayedKey>, group: &[PlayedKey], whole: usize) -> bool {
    let alone = group.iter().all(|other| other.note >= key.note);
    let held = down.iter().filter(|below| {
        let before = key.start_s - below.start_s >= OVER_S;
        before
            && below.note < key.note
            && below.released_ticks > key.released_ticks.min(key.start_ticks + 240)
    });
    alone && held.count() >= whole
}

/// Whether a hand with a whole chord below a key does not reach it.
fn is_beyond(
    key: &PlayedKey,
    down: &VecDeque<PlayedKey>,
    group: &[PlayedKey],
    whole: usize,
) -> bool {
    let all = || down.iter().chain(group);
    let Some(lowest) = all().map(|key| key.note.number()).min() else {
        return false;
    };
    let mut near: Vec<MidiNote> = all()
        .map(|other| other.note)
        .filter(|note| note.number() - lowest <= WIDEST)
        .collect();
    near.sort_unstable();
    near.dedup();
    near.len() >= whole && key.note.number() - lowest > WIDEST
}

/// The note that parts the hands best, in the middle of those that part them as well.
fn parting(line: &[usize; 128], chords: &[usize; 128]) -> MidiNote {
    let mut cost: usize = chords.iter().sum();
    let mut best = (usize::MAX, 0, 0);
    for (note, (line, chords)) in (0_i32..).zip(line.iter().zip(chords)) {
        // The cost of a split at this note: what lies on the wrong side of it.
        if cost < best.0 {
            best = (cost, note, note);
        } else if cost == best.0 && best.2 == note - 1 {
            best.2 = note;
        }
        cost = cost + line - chords;
    }
    let (_, lowest, highest) = best;
    MidiNote::clamp((lowest + highest + 1) / 2)
}
