//! How a source has struck its chord last. A chord that is struck agrees with the right hand. It does
//! not change while it sounds, and if the player wants that, a chord that is struck again keeps its
//! notes but for those that the right hand has spoken against since. Imports the parts of the engine.

use crate::engine::parts::Now;
use guidehand_theory::comping::{Agreeing, Under, Yielding};
use guidehand_theory::pipeline::{self, ChordInKey, Taste};
use guidehand_theory::plan::Voiced;
use guidehand_theory::tension::{Above, Tensions};
use guidehand_theory::under::Harmony;
use guidehand_theory::voicing::Voicing;

/// Which playing of a chord a strike belongs to: the chord of a root that is held, or a chord of the
/// chart from its start to its end.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Playing(u64);

impl Playing {
    /// A chord of the chart, which starts at these ticks of the performance.
    pub(super) const fn of_span(start_ticks: f64) -> Playing {
        Playing(start_ticks.to_bits())
    }

    /// A root that came at this sample, counted from the last reset.
    pub(super) const fn of_root(samples: u64) -> Playing {
        Playing(samples)
    }
}

/// A chord as it was struck.
#[derive(Clone, Copy, Debug)]
struct Last {
    playing: Playing,
    placed: ChordInKey,
    taste: Taste,
    agreeing: Agreeing,
    /// In samples since the last reset.
    at_samples: u64,
}

/// The chord that was struck last, where chords yield to the right hand.
#[derive(Debug, Default)]
pub(super) struct Struck {
    last: Option<Last>,
}

impl Struck {
    /// How a chord sounds that is struck now or, if it is not `struck`, goes on, under what is
    /// `written` above it. `fresh` works it out under what it has to agree with besides.
    fn agree(
        &mut self,
        (playing, placed, written): (Playing, &ChordInKey, Above),
        struck: bool,
        now: &Now,
        fresh: impl FnOnce(&Under) -> Option<Agreeing>,
    ) -> Option<Agreeing> {
        let settings = now.settings();
        if settings.right_hand.yielding == Yielding::Off {
            self.last = None;
            return fresh(&Under::NOTHING);
        }
        let same = self.last.filter(|last| {
            let of = (last.playing, last.placed, last.taste);
            of == (playing, *placed, settings.taste)
        });
        if let Some(last) = same.filter(|_| !struck) {
            return Some(last.agreeing);
        }
        let again = same.filter(|_| settings.right_hand.revoices);
        let agreeing = again
            .map(|last| revoiced(&last, written, now))
            .filter(|again| again.too_high == 0)
            .or_else(|| fresh(&now.under(None)))?;
        self.last = Some(Last {
            playing,
            placed: *placed,
            taste: settings.taste,
            agreeing,
            at_samples: now.samples(),
        });
        Some(agreeing)
    }

    /// The chord of a change of the chart, as it sounds when it is struck now or, if it is not
    /// `struck`, goes on. What the player has pinned sounds as it is.
    pub(super) fn charted(
        &mut self,
        (playing, change): (Playing, usize),
        struck: bool,
        now: &Now,
    ) -> Option<(ChordInKey, Agreeing)> {
        let (song, taste) = (now.context.song?, &now.settings().taste);
        if song.pinned(change).is_some() {
            return song.voiced_under(change, taste, &Under::NOTHING);
        }
        let placed = song.changes.get(change)?.placed?;
        let chord = (playing, &placed, song.written(change));
        let agreeing = self.agree(chord, struck, now, |under| {
            let (_, agreeing) = song.voiced_under(change, taste, under)?;
            Some(agreeing)
        })?;
        Some((placed, agreeing))
    }

    /// The chord of a change of the chart, with the tensions that it was struck with last.
    pub(super) fn in_chart(
        &self,
        (playing, change): (Playing, usize),
        now: &Now,
    ) -> Option<Harmony> {
        let (placed, voiced) = now.context.song?.voiced(change, &now.settings().taste)?;
        let tensions = self.tensions(playing, &placed);
        let tensions = tensions.unwrap_or(voiced.tensions);
        Some(Harmony {
            placed,
            tensions: Some(tensions),
        })
    }

    /// The next strike has nothing to go on with.
    pub(super) const fn forget(&mut self) {
        self.last = None;
    }

    /// The tensions that a chord was struck with last, if they yielded.
    fn tensions(&self, playing: Playing, placed: &ChordInKey) -> Option<Tensions> {
        let same = |last: &&Last| last.playing == playing && last.placed == *placed;
        let last = self.last.as_ref().filter(same)?;
        Some(last.agreeing.voiced.tensions)
    }
}

/// The chord that was struck last, struck again: with the notes moved that the right hand has spoken
/// against since.
fn revoiced(last: &Last, written: Above, now: &Now) -> Agreeing {
    let under = now.under(Some(last.at_samples)).and(written);
    let voiced = &last.agreeing.voiced;
    let moved = pipeline::revoice(voiced, &last.placed, &under);
    moved.unwrap_or_else(|| Agreeing {
        too_high: under.too_high(&voiced.voicing),
        ..last.agreeing
    })
}

/// A root's chord. It leads on from what sounded before it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Rooted {
    /// The chord in its key.
    pub(super) placed: ChordInKey,
    /// Its notes where nothing speaks against them.
    voiced: Voiced,
    from: Option<Voicing>,
    playing: Playing,
}

impl Rooted {
    /// The chord of a root that comes now or, if it is not `struck`, takes the place of the one before.
    /// One that is as it was goes on. See [`Now::leads_from`].
    pub(super) fn new(
        placed: ChordInKey,
        struck: bool,
        before: Option<Rooted>,
        now: &Now,
    ) -> Rooted {
        let from = now.leads_from(struck).copied();
        let voiced = now.step(from.as_ref(), &placed);
        let same = |old: &Rooted| !struck && (old.placed, old.voiced) == (placed, voiced);
        before.filter(same).unwrap_or(Rooted {
            placed,
            voiced,
            from,
            playing: Playing::of_root(now.samples()),
        })
    }

    /// How it sounds when it is struck now or, if it is not `struck`, goes on.
    pub(super) fn agreeing(
        &self,
        by: &mut Struck,
        struck: bool,
        now: &Now,
    ) -> (ChordInKey, Agreeing) {
        let Rooted { placed, voiced, .. } = self;
        let chord = (self.playing, placed, Above::NONE);
        let agreeing = by.agree(chord, struck, now, |under| {
            let agrees = under.agrees(&voiced.voicing, &placed.chord);
            Some(if agrees {
                (*voiced).into()
            } else {
                now.step_under(self.from.as_ref(), placed, under)
            })
        });
        (*placed, agreeing.unwrap_or_default())
    }

    /// The chord with the tensions that it was struck with last.
    pub(super) fn harmony(&self, by: &Struck) -> Harmony {
        let tensions = by.tensions(self.playing, &self.placed);
        Harmony {
            placed: self.placed,
            tensions: tensions.or(Some(self.voiced.tensions)),
        }
    }
}
