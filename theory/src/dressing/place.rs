//! A chord in its place. Imports nothing of its folder.

use crate::candidates::Register;
use crate::chord::Chord;
use crate::key::{self, Key};
use crate::pcset::PcSet;
use crate::pipeline::{ChordInKey, Taste};
use crate::pitch::MidiNote;
use crate::plan::{Ends, Voiced};
use crate::slash;
use crate::tension;
use crate::voicing::{Form, Voicing};

/// A chord in its place: what it is in its key, what is around it, and what sounds there now.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// The chord in its key.
    pub placed: ChordInKey,
    /// The chord before, if there is one.
    pub before: Option<Chord>,
    /// The chord after, if there is one.
    pub after: Option<Chord>,
    /// The notes of the melody over the chord.
    pub melody: PcSet,
    /// What sounds now.
    pub now: Voicing,
    /// Texture, register and requests in force.
    pub taste: Taste,
}

/// What is known around a chord that stands in no chart.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Around {
    /// The chord before.
    pub before: Option<Chord>,
    /// The chord after.
    pub after: Option<Chord>,
    /// The key. Without one it is found from the chords.
    pub key: Option<Key>,
}

impl Place {
    /// The place of a written chord among its neighbours. What sounds there is planned with
    /// them, in the form that is asked for. None if the chord has no such form in the register.
    #[must_use]
    pub fn among(
        written: Chord,
        around: &Around,
        form: Option<Form>,
        taste: &Taste,
    ) -> Option<Place> {
        let row = [around.before, Some(written), around.after];
        let meant = slash::all_meant(&row);
        let [before, Some(chord), after] = *meant else {
            return None;
        };
        let found = || key::analyse(&meant, None).get(1).copied().flatten();
        let key = around.key.or_else(|| found().map(|f| f.key))?;
        let function = key::between(before.as_ref(), &chord, after.as_ref(), key);
        let choices = |chord: &Chord, function| tension::resolve(chord, &function, taste.requests);
        let setting = taste.setting();
        let here = choices(&chord, function);
        let now = if let Some(form) = form {
            let all = setting.candidates(&chord, &here);
            let lies = |v: &Voiced| Form::of(v.voicing.position, chord.quality) == form;
            let best = all
                .filter(|(_, voiced)| lies(voiced))
                .min_by_key(|(cost, voiced)| (voiced.tensions.rank, *cost));
            best?.1.voicing
        } else {
            let first = before.map(|c| (c, key::between(None, &c, Some(&chord), key)));
            let last = after.map(|c| (c, key::between(Some(&chord), &c, None, key)));
            let with_choices = |(c, function): (Chord, _)| (c, choices(&c, function));
            let at = usize::from(first.is_some());
            let chords = first.map(with_choices).into_iter();
            let chords = chords.chain([(chord, here)]);
            let chords: Vec<_> = chords.chain(last.map(with_choices)).collect();
            setting.plan(&chords, Ends::Open).get(at)?.voicing
        };
        Some(Place {
            placed: ChordInKey {
                chord,
                written,
                function,
            },
            before,
            after,
            melody: PcSet::EMPTY,
            now,
            taste: *taste,
        })
    }

    /// The register, widened to what sounds now: the hand is there already.
    pub(super) fn reach(&self) -> Register {
        let register = self.taste.register;
        let (Some(low), Some(high)) = (self.now.lowest(), self.now.highest()) else {
            return register;
        };
        let lowest = register.lowest.min(low);
        let (_, start, top) = register.edges_for(self.taste.texture);
        let start = start.max(low.semitones());
        Register {
            lowest,
            // The texture's headroom is added again.
            highest: if high.semitones() > top {
                high
            } else {
                register.highest
            },
            room: MidiNote::clamp(start - lowest.semitones()).number(),
            ..register
        }
    }
}
