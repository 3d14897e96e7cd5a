//! Where each voice goes next. Pure; the panel's thread. The keyboard imports it.

use super::notes::{NoteKind, kind, on_show};
use super::signs::{degree_name, symbol};
use crate::engine::snapshot::{Snapshot, Sounding};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::voicing::{Voice, Voicing};

/// A voice on its way to the next chord.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct VoiceMove {
    /// The key that it leaves.
    pub from: u8,
    /// The key that it goes to.
    pub to: u8,
    /// What it becomes.
    pub label: String,
    /// The kind of what it becomes.
    pub kind: NoteKind,
}

/// How far a voice goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum VoiceMotion {
    /// The key stays.
    Common,
    /// To the next key.
    HalfStep,
    /// Further.
    Wider,
}

impl VoiceMove {
    /// How far it goes.
    #[must_use]
    pub const fn motion(&self) -> VoiceMotion {
        match self.from.abs_diff(self.to) {
            0 => VoiceMotion::Common,
            1 => VoiceMotion::HalfStep,
            _ => VoiceMotion::Wider,
        }
    }
}

/// Where the voices on show go next, from the lowest; none where nothing follows.
#[must_use]
pub fn moves(snapshot: &Snapshot) -> Vec<VoiceMove> {
    let Some((now, next)) = on_show(snapshot).zip(next(snapshot)) else {
        return Vec::new();
    };
    pairs(&now.voiced.voicing, &next.voiced.voicing)
        .into_iter()
        .map(|(from, to)| VoiceMove {
            from: from.number(),
            to: to.note.number(),
            label: degree_name(to.degree),
            kind: kind(&next, to.degree),
        })
        .collect()
}

/// The chord that they go to, as it sounds.
#[must_use]
pub fn target(snapshot: &Snapshot) -> Option<String> {
    let next = next(snapshot)?;
    Some(symbol(&next.placed.sounding(&next.voiced.voicing)))
}

fn next(snapshot: &Snapshot) -> Option<Sounding> {
    Some(Sounding {
        placed: snapshot.next?,
        voiced: snapshot.next_voiced?,
        bass: None,
        read: None,
    })
}

/// Which note leads to which: in order where there are as many, otherwise each of
/// the larger voicing with its nearest of the smaller, as [`Voicing::motion`]
/// counts.
fn pairs(now: &Voicing, next: &Voicing) -> Vec<(MidiNote, Voice)> {
    let apart = |a: MidiNote, b: MidiNote| a.number().abs_diff(b.number());
    let (here, there) = (now.voices(), next.voices());
    let nearest = |voices: &[Voice], note: MidiNote| {
        let voices = voices.iter().copied();
        voices.min_by_key(|voice| apart(voice.note, note))
    };
    if here.len() == there.len() {
        let pairs = here.iter().zip(there);
        return pairs.map(|(a, b)| (a.note, *b)).collect();
    }
    if here.len() < there.len() {
        let pairs = there.iter();
        return pairs
            .filter_map(|to| Some((nearest(here, to.note)?.note, *to)))
            .collect();
    }
    let pairs = here.iter();
    pairs
        .filter_map(|from| Some((from.note, nearest(there, from.note)?)))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use guidehand_theory::chart;
    use guidehand_theory::pipeline::{self, Taste};
    use guidehand_theory::plan::{Ends, Voiced};
    use guidehand_theory::shape::Texture;

    /// The first chord of a chart in one texture, and the second in another.
    fn snapshot(text: &str, textures: [Texture; 2]) -> Snapshot {
        let placed = pipeline::place(&chart::parse(text).unwrap(), None);
        let plan = |texture| {
            let register = Taste::default().register;
            pipeline::plan(&placed, texture, register, Ends::Open)
        };
        let voiced = |nth: usize| -> Voiced { plan(textures[nth])[nth].unwrap() };
        Snapshot {
            sounding: Some(Sounding {
                placed: placed[0].unwrap(),
                voiced: voiced(0),
                bass: None,
                read: None,
            }),
            next: placed[1],
            next_voiced: Some(voiced(1)),
            ..Snapshot::default()
        }
    }

    #[test]
    fn one_voice_bends_where_a_two_goes_to_its_five() {
        let four = [Texture::FourNotes; 2];
        let moves = moves(&snapshot("| Dm7 | G7 | Cmaj7 |", four));
        let steps: Vec<VoiceMotion> = moves.iter().map(VoiceMove::motion).collect();
        let half = steps
            .iter()
            .filter(|s| **s == VoiceMotion::HalfStep)
            .count();
        let common = steps.iter().filter(|s| **s == VoiceMotion::Common).count();
        assert_eq!((half, common), (1, 3), "{moves:?}");
        // The seventh of the two falls to the third of the five.
        let bent = moves
            .iter()
            .find(|m| m.motion() == VoiceMotion::HalfStep)
            .unwrap();
        assert_eq!((bent.from % 12, bent.to % 12), (0, 11));
        assert_eq!((bent.label.as_str(), bent.kind), ("3", NoteKind::Guide));
    }

    #[test]
    fn every_note_is_led_between_voicings_of_different_sizes() {
        for textures in [
            [Texture::GuideTones, Texture::FourNotes],
            [Texture::FourNotes, Texture::GuideTones],
        ] {
            let snapshot = snapshot("| Dm7 | G7 | Cmaj7 |", textures);
            let moves = moves(&snapshot);
            assert_eq!(moves.len(), 4);
            let now = snapshot.sounding.unwrap().voiced.voicing;
            let next = snapshot.next_voiced.unwrap().voicing;
            let distance: u32 = moves.iter().map(|m| u32::from(m.from.abs_diff(m.to))).sum();
            assert_eq!(distance, now.motion(&next));
        }
    }

    #[test]
    fn nothing_follows_where_nothing_is_known() {
        assert_eq!(moves(&Snapshot::default()), []);
        let sounds = Snapshot {
            next_voiced: None,
            ..snapshot("| Dm7 | G7 |", [Texture::FourNotes; 2])
        };
        assert_eq!(moves(&sounds), []);
    }
}
