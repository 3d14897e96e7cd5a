//! What all sources share, what comes of it by itself, and what a source sees of it at a sample. Used
//! on the audio thread; imports `block`, `clock`, `elapsed`, `held_keys`, `notes`, `rhythm`,
//! `right_hand`, `running`, `settings` and `ticks`.

use crate::engine::block::BlockContext;
use crate::engine::clock;
use crate::engine::elapsed::Elapsed;
use crate::engine::held_keys::HeldKeys;
use crate::engine::ledger::{Keys, MOST_PLAYED};
use crate::engine::notes::Notes;
use crate::engine::planned::PlannedChart;
use crate::engine::rhythm::{ChordSpan, Strike};
use crate::engine::right_hand::RightHand;
use crate::engine::running::{Located, RunningRhythm};
use crate::engine::settings::Settings;
use crate::engine::ticks::{EIGHTH_TICKS, QUARTER_TICKS};
use guidehand_theory::chart::Meter;
use guidehand_theory::chord::Chord;
use guidehand_theory::comping::{Agreeing, Under, Yielding};
use guidehand_theory::pipeline::{self, ChordInKey};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::plan::Voiced;
use guidehand_theory::tension::Above;
use guidehand_theory::voicing::Voicing;
use tinyvec::ArrayVec;

/// What all sources share.
#[derive(Debug, Default)]
pub struct Parts {
    /// The notes that sound.
    pub notes: Notes,
    /// The keys that the source takes.
    pub held: HeldKeys,
    /// Keys that pass have gone down, or any have gone up, at the current sample.
    pub keys_moved: bool,
    /// What the right hand has struck.
    pub right_hand: RightHand,
    /// The rhythm that runs.
    pub rhythm: RunningRhythm,
    /// Samples since the last reset.
    pub elapsed: Elapsed,
}

/// What comes next by itself.
#[derive(Clone, Copy, Debug)]
pub enum Due {
    /// The chart that waits takes over.
    NextSong,
    /// What the block begins with in the rhythm sounds, once the keys of its first sample are in.
    Place,
    /// The chord ends.
    End,
    /// An inner voice of the chord moves.
    Line(Voicing),
    /// The rhythm goes on to the next bar.
    Bar,
    /// The rhythm strikes.
    Strike(Strike),
    /// The source has something to do.
    Source,
    /// What is tried by ear goes on, or ends.
    Audition,
}

impl Parts {
    /// What a source sees at a sample of the block.
    pub const fn at<'a>(&'a self, context: &'a BlockContext<'a>, time_samples: u32) -> Now<'a> {
        Now {
            context,
            time_samples,
            parts: self,
        }
    }

    /// What time brings next in this block to the chord that sounds and to the rhythm.
    #[inline]
    pub fn due_by_clock(&mut self, context: &BlockContext) -> Option<(u32, Due)> {
        let until = context.clock.after(context.block.frames)?;
        if self.notes.due_ticks().min(self.rhythm.due_ticks()) > until {
            return None;
        }
        self.due_before(context, until)
    }

    fn due_before(&mut self, context: &BlockContext, until: f64) -> Option<(u32, Due)> {
        let at = |ticks| context.clock.sample_of(ticks, context.block.frames);
        let ending = at(self.notes.end_ticks()).map(|time| (time, Due::End));
        let line = self.notes.line();
        let turning = line.and_then(|(ticks, after)| Some((at(ticks)?, Due::Line(after))));
        let strike = self.rhythm.next(context, until);
        let striking =
            strike.and_then(|strike| Some((at(strike.start_ticks)?, Due::Strike(strike))));
        let opening = self.rhythm.opens_at(context);
        let opening = opening.and_then(|ticks| Some((at(ticks)?, Due::Bar)));
        // Of several at one sample the end comes first, and then the next chord: the line of a chord
        // that is over does not matter.
        let all = [ending, striking, opening, turning];
        all.into_iter().flatten().min_by_key(|(time, _)| *time)
    }

    /// Finds the place in the rhythm, if it may be another one.
    pub fn locate(&mut self, context: &BlockContext, groove_moved: bool, time: u32) -> Located {
        let (hand, now) = (&self.right_hand, self.elapsed.samples + u64::from(time));
        let room = |meter| room(context, hand, now, meter);
        self.rhythm.locate(context, groove_moved, time, room)
    }

    /// Goes on to the next bar of the rhythm.
    pub fn open_bar(&mut self, context: &BlockContext, time: u32) {
        let (hand, now) = (&self.right_hand, self.elapsed.samples + u64::from(time));
        self.rhythm
            .open_bar(context, |meter| room(context, hand, now, meter));
    }
}

/// What the room that is left to the right hand adds to the density, from a sample on, where bars have
/// this time signature: by the two bars before it.
fn room(context: &BlockContext, hand: &RightHand, now_samples: u64, meter: Meter) -> f64 {
    let space = context.settings.right_hand.space;
    if space <= 0.0 {
        return 0.0;
    }
    let two_bars = 2.0 * f64::from(meter.bar_ticks());
    let samples = (two_bars / context.clock.ticks_per_sample).round();
    let samples = clock::whole(samples).unwrap_or(u32::MAX);
    space * hand.room(now_samples, samples.into(), two_bars / QUARTER_TICKS)
}

/// What a source sees at a sample.
#[derive(Clone, Copy)]
pub struct Now<'a> {
    /// The block.
    pub context: &'a BlockContext<'a>,
    /// Samples from the start of the block.
    pub time_samples: u32,
    parts: &'a Parts,
}

impl<'a> Now<'a> {
    /// The parameters.
    pub const fn settings(&self) -> &'a Settings {
        self.context.settings
    }

    /// The position in ticks; none while the song stands still.
    pub fn position(&self) -> Option<f64> {
        self.context.clock.in_force(self.time_samples)
    }

    /// The position in ticks, whether or not the song plays.
    pub fn place(&self) -> Option<f64> {
        self.position().or(self.context.clock.standing_ticks)
    }

    /// Samples since the last reset.
    pub fn samples(&self) -> u64 {
        self.block_samples() + u64::from(self.time_samples)
    }

    /// Samples since the last reset, at the start of the block.
    pub const fn block_samples(&self) -> u64 {
        self.parts.elapsed.samples
    }

    /// Seconds as samples.
    pub fn samples_of(&self, seconds: f64) -> f64 {
        self.parts.elapsed.samples_of(seconds)
    }

    /// Keys within so many samples belong together.
    pub const fn together_samples(&self) -> u64 {
        self.parts.elapsed.together_samples
    }

    /// Whether a rhythm runs.
    pub const fn rhythm_runs(&self) -> bool {
        self.parts.rhythm.runs()
    }

    /// Whether a chord sounds.
    pub fn sounds(&self) -> bool {
        self.parts.notes.sounding().is_some()
    }

    /// The voicing that a root leads on from. A root that is struck leads on from what sounds; one
    /// that only changes leads on from what sounded before it.
    pub fn leads_from(&self, struck: bool) -> Option<&'a Voicing> {
        let sounding = self.parts.notes.sounding().filter(|_| struck);
        let sounding = sounding.map(|sounding| &sounding.voiced.voicing);
        sounding.or(self.parts.notes.released())
    }

    /// The voicing of a root that is played, after another one. The player's own shapes come with the
    /// chart.
    pub fn step(&self, from: Option<&Voicing>, placed: &ChordInKey) -> Voiced {
        let taste = &self.settings().taste;
        let shapes = self.context.song.map_or(&[][..], PlannedChart::own);
        pipeline::step_with(from, placed, taste, taste.own_of(shapes))
    }

    /// The same, under a melody.
    pub fn step_under(
        &self,
        from: Option<&Voicing>,
        placed: &ChordInKey,
        under: &Under,
    ) -> Agreeing {
        let taste = &self.settings().taste;
        let shapes = self.context.song.map_or(&[][..], PlannedChart::own);
        pipeline::step_under(from, placed, taste, taste.own_of(shapes), under)
    }

    /// What a chord that is struck now has to agree with: what the right hand holds, and what it has
    /// struck within the last quarter note, or since a sample if that is longer ago.
    pub fn under(&self, since_samples: Option<u64>) -> Under {
        let settings = self.settings();
        let yielding = settings.right_hand.yielding;
        if yielding == Yielding::Off || settings.bypass {
            return Under::NOTHING;
        }
        let now = self.samples();
        let within = now.checked_sub(self.quarter_samples());
        let after = match since_samples {
            Some(since) => within.map(|within| within.min(since)),
            None => within,
        };
        let from_split =
            |keys: Keys| keys.checked_shr(settings.split.into()).unwrap_or(0) << settings.split;
        let held = Above::of_keys(from_split(self.passing_keys()));
        let struck = from_split(self.parts.right_hand.struck_after(after));
        Under {
            above: held.and_struck(struck),
            yielding,
        }
    }

    /// A quarter note in samples, at the tempo of the song or, where there is none, at our own.
    fn quarter_samples(&self) -> u64 {
        let told = self.context.clock.bpm;
        let bpm = if told > 0.0 {
            told
        } else {
            self.settings().own_bpm
        };
        let samples = self.samples_of(60.0 / bpm.max(1.0)).round();
        clock::whole(samples).map_or(0, u64::from)
    }

    /// Whether a chord that goes from one voicing to another agrees with the right hand no worse than
    /// before.
    pub fn may_go(&self, from: &Voicing, to: &Voicing, chord: &Chord) -> bool {
        self.under(None).may_go(from, to, chord)
    }

    /// The chord of the chart that a key strikes now: that of the moment, or the coming one if it is
    /// near and chords are anticipated.
    pub fn span_to_strike(&self) -> Option<ChordSpan> {
        let (chart, position) = self.context.chart().zip(self.place())?;
        let here = chart.span_at(position)?;
        let coming = chart.span_after(&here).filter(|next| {
            let near = next.start_ticks - position <= EIGHTH_TICKS;
            self.settings().groove.ahead && near && !next.silent
        });
        Some(coming.unwrap_or(here))
    }

    /// Whether a key is the left hand's: below the split, and not bypassed.
    pub const fn is_left_hand(&self, key: u8) -> bool {
        let settings = self.context.settings;
        !settings.bypass && key < settings.split
    }

    /// The keys that the source has taken and that are still held.
    pub const fn held(&self) -> &'a HeldKeys {
        &self.parts.held
    }

    /// Whether keys that pass have gone down, or any have gone up, at this sample.
    pub const fn keys_moved(&self) -> bool {
        self.parts.keys_moved
    }

    /// A time so many seconds from now, in samples since the last reset.
    pub fn after(&self, seconds: f64) -> u64 {
        let samples = clock::whole(self.samples_of(seconds).round());
        self.samples().saturating_add(samples.map_or(0, u64::from))
    }

    /// Samples as milliseconds.
    pub fn millis_of(&self, samples: u64) -> u32 {
        #[expect(clippy::cast_precision_loss, reason = "exact below 2^53")]
        let millis = samples as f64 * 1000.0 / self.samples_of(1.0).max(1.0);
        clock::whole(millis.round()).unwrap_or(u32::MAX)
    }

    /// The keys that the player holds and that pass, one bit each.
    pub fn passing_keys(&self) -> Keys {
        self.parts.notes.passing()
    }

    /// The keys below the split that the player holds and that pass, ascending.
    pub fn passing_below_split(&self) -> ArrayVec<[MidiNote; MOST_PLAYED]> {
        self.parts.notes.passing_below(self.context.settings.split)
    }
}
