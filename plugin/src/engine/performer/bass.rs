//! Follows a bass: what its notes mean, where in the chart it is, and when it is over. With a chart
//! the chords come from there, and the bass moves them; without one its roots are chords in the key;
//! while the song stands still every note that is sure is a root. Imports `clock`, `ear`, `hand`,
//! `rhythm`, `snapshot`, `song` and its parent.

use super::chords::Wanted;
use super::{Due, Performer, Port, Stage};
use crate::engine::clock::{self, Clock};
use crate::engine::ear::{Sound, Struck};
use crate::engine::hand::HeldKey;
use crate::engine::planned::PlannedChart;
use crate::engine::rhythm::{EIGHTH_TICKS, Strike};
use crate::engine::settings::{Settings, Source};
use crate::engine::snapshot::Making;
use guidehand_bass::roots::{Decider, Follower, Place, Standing};
use guidehand_theory::chart::Meter;
use guidehand_theory::chord::Chord;
use guidehand_theory::pipeline;
use guidehand_theory::pitch::PitchClass;
use guidehand_theory::root_note::Extras;

/// The chord goes on for so many bars after the bass has ended.
const PATIENCE_BARS: f64 = 2.0;
/// The same while the song stands still, in seconds.
pub(super) const PATIENCE_SECONDS: f64 = 1.0;
/// How long a strike on a strong beat waits for the note that tells its root, in seconds: an ear
/// takes that long.
pub(super) const WAIT_SECONDS: f64 = 0.07;
/// How far from a strong beat a strike waits, in ticks.
const NEAR_TICKS: f64 = EIGHTH_TICKS / 3.0;
/// A bass that is late brings its chord at most so much late, in ticks.
const LATE_TICKS: f64 = 2.25 * EIGHTH_TICKS;
/// How sure a note must be to be a root by itself.
const SURE: f32 = 0.5;
/// Ticks in a quarter note.
const QUARTER_TICKS: f64 = 960.0;

/// How a bass is followed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum Way {
    /// It is not.
    #[default]
    None,
    /// Through the chart.
    Chart,
    /// By its roots in the key, in the host's bars.
    Key,
    /// Note by note: there are no bars.
    Notes,
}

impl Way {
    pub(super) fn of(settings: &Settings, clock: &Clock, song: Option<&PlannedChart>) -> Way {
        match clock.position_ticks {
            _ if settings.source != Source::Bass || settings.bypass => Way::None,
            Some(_) if settings.bass.by_chart && song.is_some() => Way::Chart,
            Some(_) if !clock.ours => Way::Key,
            _ => Way::Notes,
        }
    }
}

/// What a block needs to know of the bass.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Lead {
    /// A bass is heard, and is not over.
    pub(super) alive: bool,
    /// Bars that it is ahead of the host.
    pub(super) shift_bars: i32,
}

/// A chord that the bass has moved off its beat.
#[derive(Clone, Copy, Debug)]
struct Moved {
    change: usize,
    /// Until then it sounds in place of the chart's, in ticks.
    until_ticks: f64,
    early: bool,
}

/// What is known of the bass.
#[derive(Debug)]
pub(super) struct Following {
    way: Way,
    pub(super) lead: Lead,
    decider: Decider,
    follower: Follower,
    /// The bars that both count in.
    beats_in_bar: f64,
    /// The root in force, without a chart.
    root: Option<PitchClass>,
    moved: Option<Moved>,
    /// The change that was struck last.
    struck: Option<usize>,
    /// A strike waits for a note until this sample.
    waits_samples: Option<u64>,
    /// When the bass counts as over; none while a note sounds.
    over_samples: Option<u64>,
    pub(super) making: Making,
}

impl Default for Following {
    fn default() -> Self {
        Following {
            way: Way::None,
            lead: Lead::default(),
            decider: Decider::new(4.0),
            follower: Follower::new(4.0),
            beats_in_bar: 4.0,
            root: None,
            moved: None,
            struck: None,
            waits_samples: None,
            over_samples: None,
            making: Making::Waiting,
        }
    }
}

impl Following {
    /// Counts in bars of another meter.
    fn count_in(&mut self, meter: Meter) {
        let beats = f64::from(meter.bar_ticks()) / QUARTER_TICKS;
        if beats != self.beats_in_bar {
            self.beats_in_bar = beats;
            self.decider = Decider::new(beats);
            self.follower = Follower::new(beats);
        }
    }

    /// The place in the chart is the host's again.
    fn lose_place(&mut self) {
        self.follower.reset();
        self.lead.shift_bars = 0;
        self.moved = None;
    }

    /// The change that a strike of the chart plays.
    pub(super) fn change_of(&self, strike: &Strike) -> usize {
        let moved = self.moved.filter(|m| strike.start_ticks < m.until_ticks);
        moved.map_or(strike.span.change, |moved| moved.change)
    }
}

impl Performer {
    /// The way the bass is followed may be another from this block on.
    pub(super) fn find_way<E: Copy>(&mut self, stage: &Stage, port: &mut impl Port<E>) {
        if stage.settings.source != Source::Bass && self.following.way == Way::None {
            return;
        }
        let way = Way::of(stage.settings, &stage.clock, stage.song);
        if way != self.following.way {
            if self.following.way != Way::None {
                self.release_chord(0, port);
                self.root = None;
            }
            self.following = Following {
                way,
                ..Following::default()
            };
            self.shown.mark_stale();
        } else if way == Way::Chart && stage.clock.jumped {
            self.following.lose_place();
        }
    }

    /// The chart is another one.
    pub(super) fn forget_place(&mut self) {
        self.following.lose_place();
    }

    /// What the ear, or the lack of a sound, brings next in this block.
    pub(super) fn due_by_ear(&self, stage: &Stage) -> Option<(u32, Due)> {
        if self.following.way == Way::None {
            return None;
        }
        let frames = stage.block.frames;
        let within = |at: Option<u64>| {
            let time = u32::try_from(at?.saturating_sub(self.now_samples)).ok()?;
            Some(time).filter(|time| *time < frames)
        };
        let sound = stage.block.sounds.get(self.sounds_heard).copied();
        let heard = sound.map(|sound| (sound.time_samples, Due::Sound(sound)));
        let moved = self.following.moved.filter(|moved| !moved.early);
        let back = moved
            .and_then(|moved| stage.clock.sample_of(moved.until_ticks, frames))
            .map(|time| (time, Due::BackToChart));
        let waited = within(self.following.waits_samples).map(|time| (time, Due::Waited));
        let over = within(self.following.over_samples).map(|time| (time, Due::BassOver));
        let all = [back, heard, waited, over];
        all.into_iter().flatten().min_by_key(|(time, _)| *time)
    }

    /// The bass has ended: the chord does too.
    pub(super) fn end_bass<E: Copy>(&mut self, time: u32, port: &mut impl Port<E>) {
        self.release_chord(time, port);
        self.root = None;
        let following = &mut self.following;
        following.lead.alive = false;
        following.over_samples = None;
        following.waits_samples = None;
        following.moved = None;
        following.root = None;
        following.making = Making::Waiting;
        self.shown.mark_stale();
    }

    /// Takes in what the bass does.
    pub(super) fn hear_bass<E: Copy>(
        &mut self,
        stage: &Stage,
        sound: Sound,
        time: u32,
        port: &mut impl Port<E>,
    ) {
        self.sounds_heard += 1;
        self.shown.mark_stale();
        let Some(struck) = sound.note else {
            let patience = self.patience_samples(stage);
            let now = self.now_samples + u64::from(time);
            self.following.over_samples = Some(now.saturating_add(patience));
            return;
        };
        self.following.over_samples = None;
        match self.following.way {
            Way::None => {}
            Way::Chart => self.hear_over_chart(stage, &struck, time, port),
            Way::Key => self.hear_in_key(stage, &struck, time, port),
            Way::Notes => self.hear_note(stage, &struck, time, port),
        }
    }

    /// How long after its last note a bass is over.
    fn patience_samples(&self, stage: &Stage) -> u64 {
        let bars = PATIENCE_BARS * self.following.beats_in_bar * QUARTER_TICKS;
        let samples = if self.following.way != Way::Notes {
            bars / stage.clock.ticks_per_sample
        } else {
            PATIENCE_SECONDS * self.rate_hz
        };
        clock::whole(samples).map_or(u64::from(u32::MAX), u64::from)
    }

    /// Where the host was when a note was struck, in ticks of what is played.
    fn struck_at(stage: &Stage, struck: &Struck, time: u32) -> Option<f64> {
        let ago = f64::from(struck.ago_samples) * stage.clock.ticks_per_sample;
        Some(stage.clock.in_force(time)? - ago)
    }

    fn hear_over_chart<E: Copy>(
        &mut self,
        stage: &Stage,
        struck: &Struck,
        time: u32,
        port: &mut impl Port<E>,
    ) {
        let Some((song, chart)) = stage.song.zip(stage.chart()) else {
            return;
        };
        let following = &mut self.following;
        following.count_in(song.meter());
        following.lead.alive = true;
        let Some(at) = Self::struck_at(stage, struck, time).filter(|at| chart.holds(*at)) else {
            return;
        };
        let pickup = f64::from(song.pickup_ticks);
        let host = (at - stage.shift_ticks - pickup) / QUARTER_TICKS;
        let class = struck.note.class();
        let Some(place) = following.follower.hear(&song.form(), class, host) else {
            return;
        };
        let placed = song.changes.get(place.change).and_then(|c| c.placed);
        let root = |chord: Chord| chord.bass.unwrap_or(chord.root).class();
        following.making = Making::Charted {
            standing: place.standing,
            chord: placed.map(|placed| placed.chord),
            root: placed.is_some_and(|placed| root(placed.chord) == class),
            shift_bars: place.shift_bars,
            confidence: place.confidence,
        };
        if place.shift_bars != following.lead.shift_bars {
            following.lead.shift_bars = place.shift_bars;
            following.moved = None;
        } else if self.runs {
            self.move_chord(stage, &place, time, port);
        }
    }

    /// The bass is early, late, or where the chart has it: the chord goes with it.
    fn move_chord<E: Copy>(
        &mut self,
        stage: &Stage,
        place: &Place,
        time: u32,
        port: &mut impl Port<E>,
    ) {
        let position = stage.clock.in_force(time);
        let chart = stage.chart().zip(position);
        let Some(here) = chart.and_then(|(chart, position)| chart.span_at(position)) else {
            return;
        };
        let standing = if place.change == here.change {
            // It was early, and by now the chart is there too.
            Standing::OnTime
        } else {
            place.standing
        };
        let held = stage.settings.groove.rhythm.by_changes();
        match standing {
            Standing::OnTime => {
                let late = self
                    .following
                    .moved
                    .take()
                    .is_some_and(|moved| !moved.early);
                if late && self.following.struck != Some(here.change) {
                    self.sound_here(stage, time, true, port);
                }
            }
            Standing::Early => {
                self.following.moved = Some(Moved {
                    change: place.change,
                    until_ticks: here.end_ticks,
                    early: true,
                });
                if held && self.playing.is_some() && self.following.struck != Some(place.change) {
                    self.sound_change(stage, place.change, time, port);
                }
            }
            Standing::Late => {
                self.following.moved = Some(Moved {
                    change: place.change,
                    until_ticks: here.start_ticks + LATE_TICKS,
                    early: false,
                });
                if self.playing.is_some() && self.following.struck == Some(here.change) {
                    self.sound_here(stage, time, true, port);
                }
            }
            Standing::Lost => self.following.moved = None,
        }
    }

    /// A chord that came late takes the chart's place no longer.
    pub(super) fn back_to_chart<E: Copy>(
        &mut self,
        stage: &Stage,
        time: u32,
        port: &mut impl Port<E>,
    ) {
        self.following.moved = None;
        if self.playing.is_some() {
            self.sound_here(stage, time, true, port);
        }
    }

    /// Strikes a chord of the chart before its time; the strike on its time finds it there.
    fn sound_change<E: Copy>(
        &mut self,
        stage: &Stage,
        change: usize,
        time: u32,
        port: &mut impl Port<E>,
    ) {
        let chord = stage
            .song
            .and_then(|song| song.voiced(change, &stage.settings.taste));
        if let Some((placed, voiced)) = chord {
            self.following.struck = Some(change);
            let wanted = Wanted::held(placed, voiced, HeldKey::bass(stage.settings));
            self.sound(stage, wanted, time, true, port);
        }
    }

    /// Whether a strike only goes on with what the bass has struck early.
    pub(super) fn goes_on(&mut self, stage: &Stage, strike: &Strike, change: usize) -> bool {
        let following = &mut self.following;
        let same = following.struck.replace(change) == Some(change);
        let early = following.moved.is_some_and(|moved| moved.early);
        let begins = early && strike.span.change == change;
        if begins {
            following.moved = None;
        }
        let goes_on = begins && same && stage.settings.groove.rhythm.by_changes();
        match &mut self.playing {
            Some(playing) if goes_on => {
                playing.end_ticks = strike.end_ticks;
                true
            }
            _ => false,
        }
    }

    fn hear_in_key<E: Copy>(
        &mut self,
        stage: &Stage,
        struck: &Struck,
        time: u32,
        port: &mut impl Port<E>,
    ) {
        let following = &mut self.following;
        following.count_in(stage.clock.meter.unwrap_or(Meter::COMMON));
        let Some(at) = Self::struck_at(stage, struck, time) else {
            return;
        };
        let class = struck.note.class();
        let decision = following.decider.hear(class, at / QUARTER_TICKS);
        let waited = following.waits_samples.take().is_some();
        let moves = decision.root.is_some() && decision.root != following.root;
        following.root = decision.root;
        following.lead.alive |= decision.root.is_some();
        if moves {
            self.sound_bass_root(stage, time, true, port);
        } else if waited {
            self.sound_here(stage, time, true, port);
        }
        self.following.making = Making::Rooted {
            chord: self.root.map(|(placed, _)| placed.chord),
            confidence: decision.confidence,
        };
    }

    fn hear_note<E: Copy>(
        &mut self,
        stage: &Stage,
        struck: &Struck,
        time: u32,
        port: &mut impl Port<E>,
    ) {
        let class = struck.note.class();
        if struck.confidence >= SURE && self.following.root != Some(class) {
            self.following.root = Some(class);
            self.following.lead.alive = true;
            self.sound_bass_root(stage, time, true, port);
        }
        self.following.making = Making::Rooted {
            chord: self.root.map(|(placed, _)| placed.chord),
            confidence: struck.confidence,
        };
    }

    /// Works out the chord of the bass's root, and sounds it: at once, or by the rhythm while there
    /// is one.
    pub(super) fn sound_bass_root<E: Copy>(
        &mut self,
        stage: &Stage,
        time: u32,
        struck: bool,
        port: &mut impl Port<E>,
    ) {
        let settings = stage.settings;
        let Some(class) = self.following.root else {
            return;
        };
        if struck {
            let sounding = self.playing.map(|playing| playing.sounding.voiced.voicing);
            self.before = sounding.or(self.before);
        }
        let placed = pipeline::place_root(settings.key, class, Extras::NONE);
        let voiced = pipeline::step(self.before.as_ref(), &placed, &settings.taste);
        self.root = Some((placed, voiced));
        if self.runs {
            return self.sound_here(stage, time, struck, port);
        }
        if self.following.way == Way::Notes || !settings.groove.rhythm.by_pattern() {
            let wanted = Wanted::held(placed, voiced, HeldKey::bass(settings));
            self.sound(stage, wanted, time, struck, port);
        }
    }

    /// Whether a strike of the pattern waits for the bass to tell its root.
    pub(super) fn waits(&mut self, strike: &Strike, time: u32) -> bool {
        let half = 0.5 * self.following.beats_in_bar * QUARTER_TICKS;
        let off = (strike.start_ticks + NEAR_TICKS).rem_euclid(half);
        let waits = self.following.way == Way::Key && off < 2.0 * NEAR_TICKS;
        if waits {
            let wait = clock::whole(WAIT_SECONDS * self.rate_hz).map_or(0, u64::from);
            self.following.waits_samples = Some(self.now_samples + u64::from(time) + wait);
        }
        waits
    }

    /// No note has come for a strike that waited: the root in force holds.
    pub(super) fn waited<E: Copy>(&mut self, stage: &Stage, time: u32, port: &mut impl Port<E>) {
        self.following.waits_samples = None;
        self.sound_here(stage, time, true, port);
    }
}

impl HeldKey {
    /// What chords under a bass are struck with.
    fn bass(settings: &Settings) -> HeldKey {
        HeldKey {
            channel: super::chords::CHART_CHANNEL,
            key: 0,
            velocity: settings.velocity,
        }
    }
}
