//! Which chord sounds, and how it gets there: by the rhythm, by a root, by the
//! player's own hand. Imports `hand`, `ledger`, `rhythm`, `song` and its parent.

use super::{Performer, Playing, Port, Stage};
use crate::engine::hand::HeldKey;
use crate::engine::ledger::Holder;
use crate::engine::planned::{self, LOWEST_BASS};
use crate::engine::rhythm::{EIGHTH_TICKS, Rhythm, Span, Strike};
use crate::engine::settings::Source;
use crate::engine::snapshot::Sounding;
use guidehand_theory::pipeline::{self, ChordInKey};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::plan::Voiced;
use guidehand_theory::voicing::Voicing;

/// The channel of chords from the chart, where no key says otherwise.
pub(super) const CHART_CHANNEL: u8 = 0;

/// A chord that is to sound.
pub(super) struct Wanted {
    placed: ChordInKey,
    voiced: Voiced,
    key: HeldKey,
    end_ticks: f64,
    line: Option<(f64, Voicing)>,
}

impl Performer {
    /// Sounds the strike that is under way, or nothing.
    pub(super) fn sound_or_release<E: Copy>(
        &mut self,
        stage: &Stage,
        strike: Option<Strike>,
        time: u32,
        struck: bool,
        port: &mut impl Port<E>,
    ) {
        match strike {
            Some(strike) => self.sound_strike(stage, &strike, time, struck, port),
            None => self.release_chord(time, port),
        }
    }

    /// Sounds what sounds at this place of the rhythm.
    pub(super) fn sound_here<E: Copy>(
        &mut self,
        stage: &Stage,
        time: u32,
        struck: bool,
        port: &mut impl Port<E>,
    ) {
        if let Some((timeline, position)) = stage.timeline.as_ref().zip(stage.clock.in_force(time))
        {
            let (groove, bpm) = (&stage.settings.groove, stage.clock.bpm);
            let strike = self.comping.locate(timeline, groove, bpm, position);
            self.sound_or_release(stage, strike, time, struck, port);
        }
    }

    /// Sounds a strike of the rhythm, if a key does not have to allow it.
    pub(super) fn sound_strike<E: Copy>(
        &mut self,
        stage: &Stage,
        strike: &Strike,
        time: u32,
        struck: bool,
        port: &mut impl Port<E>,
    ) {
        let settings = stage.settings;
        let by_bass = settings.source == Source::Bass;
        let chord = match settings.source {
            Source::Roots => self.root.zip(self.hand.root()),
            Source::Bass if !settings.bass.by_chart || stage.song.is_none() => {
                self.root.zip(self.chart_key(stage))
            }
            _ => {
                let change = self.following.change_of(strike);
                if by_bass && self.goes_on(stage, strike, change) {
                    return;
                }
                stage
                    .song
                    .and_then(|song| song.voiced(change, &settings.taste))
                    .zip(self.chart_key(stage))
            }
        };
        let Some(((placed, voiced), key)) = chord else {
            return self.release_chord(time, port);
        };
        let key = HeldKey {
            velocity: strike.velocity(key.velocity),
            ..key
        };
        let wanted = Wanted {
            end_ticks: strike.end_ticks,
            ..Wanted::held(placed, voiced, key)
        };
        self.sound(
            stage,
            wanted.lined(stage, &strike.span, time),
            time,
            struck,
            port,
        );
    }

    /// The channel and velocity of the chart; none while no key lets it sound.
    fn chart_key(&self, stage: &Stage) -> Option<HeldKey> {
        if stage.settings.gate && stage.settings.source == Source::Chart {
            return self.hand.root().or(self.gate_key);
        }
        Some(HeldKey {
            channel: CHART_CHANNEL,
            key: 0,
            velocity: stage.settings.velocity,
        })
    }

    /// The player strikes the chart's chord of the moment.
    pub(super) fn sound_by_hand<E: Copy>(
        &mut self,
        stage: &Stage,
        time: u32,
        port: &mut impl Port<E>,
    ) {
        let settings = stage.settings;
        let position = stage.clock.in_force(time).or(stage.clock.standing_ticks);
        let chord = stage
            .chart()
            .zip(position)
            .and_then(|(chart, position)| {
                let here = chart.span_at(position)?;
                let coming = chart.span_after(&here).filter(|next| {
                    let near = next.start_ticks - position <= EIGHTH_TICKS;
                    settings.groove.ahead && near && !next.silent
                });
                Some(coming.unwrap_or(here))
            })
            .and_then(|span| Some((span, stage.song?.voiced(span.change, &settings.taste)?)));
        match (chord, self.hand.root()) {
            (Some((span, (placed, voiced))), Some(key)) => {
                let wanted = Wanted::held(placed, voiced, key);
                self.sound(stage, wanted.lined(stage, &span, time), time, true, port);
            }
            _ => self.release_chord(time, port),
        }
    }

    /// Works out the chord of the held root, and sounds it: at once, or by the
    /// rhythm while there is one.
    pub(super) fn sound_root<E: Copy>(
        &mut self,
        stage: &Stage,
        time: u32,
        struck: bool,
        port: &mut impl Port<E>,
    ) {
        let settings = stage.settings;
        let Some(key) = self.hand.root() else {
            return;
        };
        let class = MidiNote::clamp(i32::from(key.key)).class();
        let placed = pipeline::place_root(settings.key, class, self.hand.extras());
        let voiced = pipeline::step(self.before.as_ref(), &placed, &settings.taste);
        self.root = Some((placed, voiced));
        if self.runs {
            return self.sound_here(stage, time, struck, port);
        }
        let wanted = Wanted::held(placed, voiced, key);
        self.sound(stage, wanted, time, struck, port);
    }

    /// Other parameters are to be heard in what sounds. Where a rhythm runs, the
    /// place in it is found anew by the caller.
    pub(super) fn sound_anew<E: Copy>(&mut self, stage: &Stage, port: &mut impl Port<E>) {
        let settings = stage.settings;
        match settings.source {
            Source::Roots if self.playing.is_some() || self.root.is_some() => {
                self.sound_root(stage, 0, false, port);
            }
            Source::Bass if self.playing.is_some() => {
                if self.root.is_some() {
                    self.sound_bass_root(stage, 0, false, port);
                } else {
                    self.sound_here(stage, 0, false, port);
                }
            }
            Source::Chart if self.playing.is_some() => {
                if settings.groove.rhythm == Rhythm::Played {
                    self.sound_by_hand(stage, 0, port);
                } else {
                    self.sound_here(stage, 0, false, port);
                }
            }
            _ => {}
        }
    }

    /// Releases what sounds and sounds a chord. If the chord is not struck anew,
    /// notes that sound already go on.
    pub(super) fn sound<E: Copy>(
        &mut self,
        stage: &Stage,
        wanted: Wanted,
        time: u32,
        struck: bool,
        port: &mut impl Port<E>,
    ) {
        let Wanted {
            placed,
            voiced,
            key,
            end_ticks,
            line,
        } = wanted;
        let bass = stage
            .settings
            .bass_channel
            .and_then(|channel| Some((channel, placed.bass(LOWEST_BASS)?)));
        let sounding = Sounding {
            placed,
            voiced,
            bass: bass.map(|(_, note)| note),
        };
        let same = self.playing.is_some_and(|now| {
            let notes = now.sounding.voiced.voicing.notes();
            let same_hand = now.key.channel == key.channel;
            same_hand && now.sounding.bass == sounding.bass && notes.eq(voiced.voicing.notes())
        });
        if struck || !same {
            self.release_chord(time, port);
            for note in voiced.voicing.notes() {
                let note = HeldKey {
                    key: note.number(),
                    ..key
                };
                self.start(Holder::Chord, note, time, port);
            }
            if let Some((channel, note)) = bass {
                let note = HeldKey {
                    channel,
                    key: note.number(),
                    ..key
                };
                self.start(Holder::Bass, note, time, port);
            }
        }
        self.playing = Some(Playing {
            sounding,
            key,
            end_ticks,
            line,
        });
        self.last = Some(sounding);
        self.shown.mark_stale();
    }

    /// One voice of what sounds moves; the others go on.
    pub(super) fn move_line<E: Copy>(
        &mut self,
        after: Voicing,
        time: u32,
        port: &mut impl Port<E>,
    ) {
        let Some(mut playing) = self.playing.take() else {
            return;
        };
        let before = playing.sounding.voiced.voicing;
        let has = |voicing: &Voicing, note: MidiNote| voicing.notes().any(|n| n == note);
        let channel = playing.key.channel;
        for note in before.notes().filter(|note| !has(&after, *note)) {
            self.stop(Holder::Chord, channel, note.number(), time, port);
        }
        for note in after.notes().filter(|note| !has(&before, *note)) {
            let note = HeldKey {
                key: note.number(),
                ..playing.key
            };
            self.start(Holder::Chord, note, time, port);
        }
        playing.sounding.voiced.voicing = after;
        playing.line = None;
        self.last = Some(playing.sounding);
        self.playing = Some(playing);
        self.shown.mark_stale();
    }

    /// Whether the chord or its bass sounds on a channel.
    pub(super) fn sounds_on(&self, channel: u8) -> bool {
        let of = |holder| self.ledger.next_of(holder);
        let bass = of(Holder::Bass).is_some_and(|(on, _)| on == channel);
        bass || of(Holder::Chord).is_some_and(|(on, _)| on == channel)
    }
}

impl Wanted {
    /// Held until something else lets go of it.
    pub(super) const fn held(placed: ChordInKey, voiced: Voiced, key: HeldKey) -> Wanted {
        Wanted {
            placed,
            voiced,
            key,
            end_ticks: f64::INFINITY,
            line: None,
        }
    }

    /// With the inner line of its chord, if lines are wanted: under way, or still
    /// to come.
    fn lined(mut self, stage: &Stage, span: &Span, time: u32) -> Wanted {
        if !stage.settings.inner_lines || stage.settings.source != Source::Chart {
            return self;
        }
        let length = span.end_ticks - span.start_ticks;
        if let Some((at, after)) = planned::inner_line(&self.placed, &self.voiced, length) {
            let at = span.start_ticks + at;
            let now = stage.clock.in_force(time).or(stage.clock.standing_ticks);
            if now.is_some_and(|now| now >= at) {
                self.voiced.voicing = after;
            } else {
                self.line = Some((at, after));
            }
        }
        self
    }
}
