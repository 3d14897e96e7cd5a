//! What all sources share, what comes of it by itself, and what a source sees of it at a sample. Used
//! on the audio thread; imports `block`, `clock`, `elapsed`, `held_keys`, `notes`, `rhythm`, `running` and
//! `settings`.

use crate::engine::block::BlockContext;
use crate::engine::clock;
use crate::engine::elapsed::Elapsed;
use crate::engine::held_keys::HeldKeys;
use crate::engine::ledger::{Keys, MOST_PLAYED};
use crate::engine::notes::Notes;
use crate::engine::planned::PlannedChart;
use crate::engine::rhythm::Strike;
use crate::engine::running::RunningRhythm;
use crate::engine::settings::Settings;
use guidehand_theory::pipeline::{self, ChordInKey};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::plan::Voiced;
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
    /// The chord ends.
    End,
    /// An inner voice of the chord moves.
    Line(Voicing),
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
        // Of several at one sample the end comes first, and then the next chord: the line of a chord
        // that is over does not matter.
        let all = [ending, striking, turning];
        all.into_iter().flatten().min_by_key(|(time, _)| *time)
    }
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

    /// The voicing of a root that is played, which leads on as [`Now::leads_from`] says. The player's
    /// own shapes come with the chart.
    pub fn step(&self, struck: bool, placed: &ChordInKey) -> Voiced {
        let taste = &self.settings().taste;
        let shapes = self.context.song.map_or(&[][..], PlannedChart::own);
        pipeline::step_with(self.leads_from(struck), placed, taste, taste.own_of(shapes))
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
