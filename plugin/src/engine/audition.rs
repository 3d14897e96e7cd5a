//! Plays what is tried by ear, beside whatever else sounds. Its time is its own: it counts samples from
//! where it began, so that it needs no song, and a block of any size gives the same notes. It sends
//! nothing itself, but has `notes` strike and release. Runs on the audio thread; imports `block`,
//! `clock`, `elapsed`, `events`, `ledger`, `notes`, `settings` and `trial`.

use crate::engine::block::{BlockContext, ChartUpdate};
use crate::engine::clock;
use crate::engine::elapsed::Elapsed;
use crate::engine::events::Port;
use crate::engine::ledger::Holder;
use crate::engine::notes::Notes;
use crate::engine::settings::Settings;
use crate::engine::trial::{Ask, Pace, Request, Step, Trying};

/// The tempo of [`Pace::Free`], in quarter notes a minute.
const FREE_BPM: f64 = 120.0;

/// The slowest and the fastest tempo, in quarter notes a minute: what is tried takes seconds, even
/// where the song takes hours.
const TEMPI_BPM: (f64, f64) = (30.0, 400.0);

/// Nothing is due.
const NEVER: u64 = u64::MAX;

/// What is tried.
#[derive(Debug)]
pub struct Audition {
    request: Request,
    number: u32,
    /// In samples since the last reset. A tempo that changes later changes nothing.
    began_samples: u64,
    quarter_samples: f64,
    /// Where the off-beat eighth lies in its beat, 0.5 to 0.75.
    off_beat: f64,
    /// Steps that have been struck.
    struck: usize,
    /// Eighths from the beginning to the next step, or to the end.
    eighths: u32,
    /// When the next step is struck, or the last one ends, in samples since the last reset.
    due_samples: u64,
    /// Something has changed that the panel shows.
    changed: bool,
}

impl Default for Audition {
    fn default() -> Self {
        Audition {
            request: Request::default(),
            number: 0,
            began_samples: 0,
            quarter_samples: 0.0,
            off_beat: 0.5,
            struck: 0,
            eighths: 0,
            due_samples: NEVER,
            changed: false,
        }
    }
}

impl Audition {
    /// A block begins: what is asked takes the place of what sounds, and what may not sound any longer
    /// ends.
    #[inline]
    pub fn begin_block<E: Copy>(
        &mut self,
        context: &BlockContext,
        elapsed: &Elapsed,
        notes: &mut Notes,
        port: &mut impl Port<E>,
    ) {
        // Mostly nothing.
        if self.due_samples != NEVER || context.block.audition.is_some() {
            self.attend(context, elapsed, notes, port);
        }
    }

    #[inline(never)]
    fn attend<E: Copy>(
        &mut self,
        context: &BlockContext,
        elapsed: &Elapsed,
        notes: &mut Notes,
        port: &mut impl Port<E>,
    ) {
        let plays = context.song_plays();
        let ask = context.block.audition;
        if ask.is_some() || plays && context.update == ChartUpdate::Edited {
            self.end(notes, 0, port);
        }
        if let Some(Ask { number, request }) = ask
            && let Some(request) = request
        {
            self.begin(*number, request, context, elapsed);
        }
        if context.settings.bypass || plays && !self.request.sounds_while_playing() {
            self.end(notes, 0, port);
        }
    }

    /// The first step is due at the start of this block.
    fn begin(&mut self, number: u32, request: &Request, context: &BlockContext, elapsed: &Elapsed) {
        let settings = context.settings;
        let told_bpm = context.clock.bpm;
        let of_song = if told_bpm > 0.0 {
            told_bpm
        } else {
            settings.own_bpm
        };
        let bpm = match request.pace() {
            Pace::Free => FREE_BPM,
            Pace::Even | Pace::Swung => of_song.clamp(TEMPI_BPM.0, TEMPI_BPM.1),
        };
        *self = Audition {
            request: *request,
            number,
            began_samples: elapsed.samples,
            quarter_samples: elapsed.samples_of(60.0 / bpm),
            off_beat: match request.pace() {
                Pace::Free | Pace::Even => 0.5,
                Pace::Swung => settings.groove.off_beat(bpm),
            },
            due_samples: elapsed.samples,
            ..Audition::default()
        };
    }

    /// When something is due in this block, in samples from its start. `from_samples` is where the
    /// block begins.
    #[inline]
    pub fn due(&self, from_samples: u64, frames: u32) -> Option<u32> {
        if self.due_samples >= from_samples.saturating_add(u64::from(frames)) {
            return None;
        }
        u32::try_from(self.due_samples.saturating_sub(from_samples)).ok()
    }

    /// What is due happens: the next step is struck, or the last one ends.
    pub fn act<E: Copy>(
        &mut self,
        settings: &Settings,
        notes: &mut Notes,
        time: u32,
        port: &mut impl Port<E>,
    ) {
        let Some(step) = self.request.steps().get(self.struck) else {
            self.end(notes, time, port);
            return;
        };
        notes.try_step(Holder::Audition, step, settings, time, port);
        if self.struck == 0
            && let Some(beneath) = self.request.beneath()
        {
            notes.try_step(Holder::Beneath, beneath, settings, time, port);
        }
        self.struck += 1;
        self.eighths += step.eighths();
        self.due_samples = self.began_samples + self.samples_to(self.eighths);
        self.changed = true;
    }

    /// Samples from the beginning to an eighth.
    fn samples_to(&self, eighths: u32) -> u64 {
        let off_beat = if eighths.is_multiple_of(2) {
            0.0
        } else {
            self.off_beat
        };
        let quarters = f64::from(eighths / 2) + off_beat;
        clock::whole((quarters * self.quarter_samples).round()).map_or(0, u64::from)
    }

    /// Ends what is tried, if anything is.
    pub fn end<E: Copy>(&mut self, notes: &mut Notes, time: u32, port: &mut impl Port<E>) {
        if self.due_samples == NEVER {
            return;
        }
        notes.end_trial(time, port);
        *self = Audition {
            changed: true,
            ..Audition::default()
        };
    }

    /// Ends what is tried if any of it sounds on a channel.
    pub fn end_on<E: Copy>(
        &mut self,
        channel: u8,
        notes: &mut Notes,
        time: u32,
        port: &mut impl Port<E>,
    ) {
        if notes.tries_on(channel) {
            self.end(notes, time, port);
        }
    }

    /// What is tried at the moment.
    pub fn trying(&self) -> Option<Trying> {
        let step = self.struck.checked_sub(1)?;
        Some(Trying {
            number: self.number,
            step,
            keys: self.request.steps().get(step)?.keys(),
            beneath: self.request.beneath().map_or(0, Step::keys),
        })
    }

    /// Whether something has changed that the panel shows, since this was asked last.
    pub const fn take_changed(&mut self) -> bool {
        std::mem::replace(&mut self.changed, false)
    }
}
