//! Scripted sessions, and what a plugin plays in them. A session gives a plugin the same input,
//! however it is cut into blocks. Imports the host, events, songs
//! and transport.

use crate::error::HostError;
use crate::event::{Event, TimedEvent};
use crate::host::Host;
use crate::song::{HostSong, LoopWay, Telling};
use crate::transport::{Signature, SongPositions, TransportChange, as_f64};
use fastrand::Rng;

/// Everything that happens to a plugin in one run.
#[derive(Debug, Clone, PartialEq)]
pub struct Session {
    /// Frames a second.
    pub sample_rate_hz: f64,
    /// Quarter notes a minute, from the start.
    pub tempo_bpm: f64,
    /// The time signature of the whole song.
    pub signature: Signature,
    /// Where the session ends. All events lie before it.
    pub length_samples: u64,
    /// Notes, controllers and parameter values. Events at the same sample reach
    /// the plugin in the order given here; the rest may be in any order.
    pub events: Vec<TimedEvent>,
    /// What happens to the transport. The song plays from beat 0 until the
    /// first change.
    pub transport: Vec<(u64, TransportChange)>,
    /// What the plugin is told of the transport.
    pub telling: Telling,
    /// How the host gets from the end of a loop to its start.
    pub loop_way: LoopWay,
    /// Whether changes of the transport come as events in the middle of blocks.
    /// If not, a block ends where the transport changes, as in most hosts.
    pub changes_in_blocks: bool,
    /// How the session is cut into blocks.
    pub blocks: BlockSizes,
    /// How many output events the host accepts in a block; `None` for all.
    pub output_limit: Option<usize>,
    /// Whether the performance keeps what the plugin's outputs play. An hour of it takes more than a
    /// gigabyte.
    pub keeps_audio: bool,
}

/// The lengths of blocks. A block also ends where the transport changes, unless
/// [`Session::changes_in_blocks`], and where [`Player::run_until`] was told to stop.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BlockSizes {
    /// Always the same length in frames, from 1.
    Fixed(u32),
    /// Any length from 1 up to a limit.
    Random {
        /// The same seed gives the same lengths.
        seed: u64,
        /// The longest block in frames, from 1.
        max_frames: u32,
    },
}

impl BlockSizes {
    pub(crate) const fn max_frames(self) -> u32 {
        match self {
            Self::Fixed(frames) => frames,
            Self::Random { max_frames, .. } => max_frames,
        }
    }
}

impl Session {
    /// A session in 4/4, without events, in blocks of 512 frames.
    #[must_use]
    pub const fn new(sample_rate_hz: f64, tempo_bpm: f64, length_samples: u64) -> Self {
        Self {
            sample_rate_hz,
            tempo_bpm,
            signature: Signature::COMMON,
            length_samples,
            events: Vec::new(),
            transport: Vec::new(),
            telling: Telling::ALL,
            loop_way: LoopWay::Splits,
            changes_in_blocks: false,
            blocks: BlockSizes::Fixed(512),
            output_limit: None,
            keeps_audio: true,
        }
    }

    /// Adds an event.
    pub fn event(&mut self, at_samples: u64, event: Event) -> &mut Self {
        self.events.push(TimedEvent::new(at_samples, event));
        self
    }

    /// Adds a note on the first channel, at velocity 0.75, which is exact in single precision too.
    pub fn note(&mut self, start_samples: u64, end_samples: u64, key: i16) -> &mut Self {
        self.event(start_samples, Event::note_on(0, key, 0.75))
            .event(end_samples, Event::note_off(0, key))
    }

    /// Adds a parameter change to a plain CLAP value.
    pub fn param(&mut self, at_samples: u64, id: u32, value: f64) -> &mut Self {
        self.event(at_samples, Event::Param { id, value })
    }

    /// Adds a change of the transport.
    pub fn change(&mut self, at_samples: u64, change: TransportChange) -> &mut Self {
        self.transport.push((at_samples, change));
        self
    }

    /// The sample nearest to a number of quarter notes from the start of the
    /// session, at the tempo of the start.
    #[must_use]
    pub fn samples_at(&self, beats: f64) -> u64 {
        let samples = (beats * 60.0 / self.tempo_bpm * self.sample_rate_hz).round();
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "saturates, and a session is not that long"
        )]
        let samples = samples as u64;
        samples
    }

    /// How many quarter notes have passed at a sample, at the tempo of the
    /// start and whatever the transport does.
    #[must_use]
    pub fn beats_at(&self, at_samples: u64) -> f64 {
        as_f64(at_samples) / self.sample_rate_hz * self.tempo_bpm / 60.0
    }

    /// The song as the host plays it.
    pub(crate) fn song(&self) -> HostSong {
        HostSong::new(self.timeline(), self.loop_way, self.telling)
    }

    /// The transport of the whole session, in a host that never falls behind.
    #[must_use]
    pub fn timeline(&self) -> SongPositions {
        SongPositions::new(
            self.sample_rate_hz,
            self.tempo_bpm,
            self.signature,
            &self.transport,
        )
    }
}

/// The result of a session.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Performance {
    /// The events at samples from the start of the session.
    pub events: Vec<TimedEvent>,
    /// The left channel, one value for each sample; empty if the plugin has no
    /// audio output, or if the session does not keep it.
    pub left: Vec<f32>,
    /// The right channel; equal to the left one if the output is mono.
    pub right: Vec<f32>,
    /// Start in samples and length in frames of every block.
    pub blocks: Vec<(u64, u32)>,
    /// Events that did not fit into the host's queue.
    pub refused_events: u64,
}

/// Plays a whole session on a plugin and deactivates it afterwards.
///
/// # Errors
/// As [`Player::start`] and [`Player::finish`].
pub fn render(host: &mut Host, session: &Session) -> Result<Performance, HostError> {
    Player::start(host, session)?.finish()
}

/// A running session. Between blocks the host is free to do anything else, such as to load a state.
pub struct Player<'h> {
    host: &'h mut Host,
    /// Ascending; those before `next_event` have been sent.
    events: Vec<TimedEvent>,
    next_event: usize,
    song: HostSong,
    changes_in_blocks: bool,
    blocks: BlockSizes,
    keeps_audio: bool,
    rng: Rng,
    length_samples: u64,
    position_samples: u64,
    performance: Performance,
}

impl<'h> Player<'h> {
    /// Activates the plugin for a session, deactivating it first if need be, and
    /// starts processing.
    ///
    /// # Errors
    /// [`HostError::Misuse`] if an event lies past the end or blocks have no
    /// length; otherwise as [`Host::activate`].
    pub fn start(host: &'h mut Host, session: &Session) -> Result<Self, HostError> {
        let mut events = session.events.clone();
        // A stable sort: the order at one sample is part of the session.
        events.sort_by_key(|event| event.at_samples);
        if let Some(last) = events.last()
            && last.at_samples >= session.length_samples
        {
            let length = session.length_samples;
            let fault = format!("{last:?} in a session of {length} samples");
            return Err(HostError::Misuse(fault));
        }
        let seed = match session.blocks {
            BlockSizes::Fixed(_) => 0,
            BlockSizes::Random { seed, .. } => seed,
        };
        host.deactivate();
        host.limit_output(session.output_limit);
        host.activate(session.sample_rate_hz, session.blocks.max_frames())?;
        host.start_processing()?;
        Ok(Self {
            host,
            events,
            next_event: 0,
            song: session.song(),
            changes_in_blocks: session.changes_in_blocks,
            blocks: session.blocks,
            keeps_audio: session.keeps_audio,
            rng: Rng::with_seed(seed),
            length_samples: session.length_samples,
            position_samples: 0,
            performance: Performance::default(),
        })
    }

    /// The host, between two blocks.
    pub const fn host(&mut self) -> &mut Host {
        self.host
    }

    /// Samples played so far.
    #[must_use]
    pub const fn position_samples(&self) -> u64 {
        self.position_samples
    }

    /// The result so far.
    #[must_use]
    pub const fn performance(&self) -> &Performance {
        &self.performance
    }

    /// Plays up to a sample, or to the end of the session.
    ///
    /// # Errors
    /// As [`Host::process`] and [`Host::idle`].
    pub fn run_until(&mut self, at_samples: u64) -> Result<(), HostError> {
        let end = at_samples.min(self.length_samples);
        while self.position_samples < end {
            let frames = self.next_frames(end);
            self.play_block(frames)?;
            self.host.idle()?;
        }
        Ok(())
    }

    /// Plays to the end of the session and deactivates the plugin.
    ///
    /// # Errors
    /// As [`Player::run_until`].
    pub fn finish(mut self) -> Result<Performance, HostError> {
        self.run_until(self.length_samples)?;
        self.host.stop_processing()?;
        self.host.deactivate();
        Ok(self.performance)
    }

    /// The length of the next block, which ends at `end` at the latest.
    fn next_frames(&mut self, end: u64) -> u32 {
        let wanted = match self.blocks {
            BlockSizes::Fixed(frames) => frames,
            BlockSizes::Random { max_frames, .. } => self.rng.u32(1..=max_frames),
        };
        let end = match self.song.next_change(self.position_samples) {
            Some(change) if !self.changes_in_blocks => change.min(end),
            _ => end,
        };
        u32::try_from(end - self.position_samples).map_or(wanted, |room| wanted.min(room))
    }

    /// The transport's changes after the first sample of a block as events, if the host sends them
    /// in that way.
    fn changes_within(&self, start: u64, end: u64) -> Vec<TimedEvent> {
        if !self.changes_in_blocks {
            return Vec::new();
        }
        let next = |at: &u64| self.song.next_change(*at);
        std::iter::successors(next(&start), next)
            .take_while(|at| *at < end)
            .filter_map(|at| Some(TimedEvent::new(at, Event::Transport(self.song.told(at)?))))
            .collect()
    }

    fn play_block(&mut self, frames: u32) -> Result<(), HostError> {
        let start = self.position_samples;
        let end = start + u64::from(frames);
        let due = self.events[self.next_event..].partition_point(|event| event.at_samples < end);
        // At one sample the transport changes first, as it does where a block begins.
        let mut events = self.changes_within(start, end);
        events.extend(&self.events[self.next_event..][..due]);
        events.sort_by_key(|event| event.at_samples);
        for event in &mut events {
            event.at_samples -= start;
        }
        let transport = self.song.told(start);
        let block = self.host.process(frames, &events, transport)?;

        let performance = &mut self.performance;
        performance.blocks.push((start, frames));
        if self.keeps_audio {
            performance.left.extend(block.left);
            performance.right.extend(block.right);
        }
        performance.refused_events += u64::from(block.refused_events);
        performance.events.extend(
            block
                .events
                .iter()
                .map(|event| TimedEvent::new(start + event.at_samples, event.event)),
        );
        self.next_event += due;
        self.position_samples = end;
        self.song.played(start, end);
        Ok(())
    }
}
