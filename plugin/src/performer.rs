//! The state machine between events in and events out. It imports neither the
//! framework nor the panel: events of the framework pass through it as a type
//! that it does not know.
//!
//! Everything that happens at one sample is taken in before chords are decided,
//! so that a note-off and a note-on at the same time never sound a chord between
//! them. Work in a block is bounded by its events and its frames.

mod notes;

use crate::clock::{self, Clock};
use crate::hand::{Hand, HeldKey, TOGETHER_SECONDS};
use crate::ledger::{CHANNELS, Holder, Ledger};
use crate::listener::{self, Heard};
use crate::settings::{Settings, Source};
use crate::snapshot::{Snapshot, Sounding};
use crate::song::Song;
use guidehand_theory::pipeline::{self, Placed};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::plan::Voiced;
use guidehand_theory::read::Context;
use guidehand_theory::voicing::Voicing;

/// The lowest bass note: E1, the lowest string of a bass.
const LOWEST_BASS: MidiNote = MidiNote::clamp(28);

/// The channel of chords from the chart, where no key says otherwise.
const CHART_CHANNEL: u8 = 0;

/// What an event means to the performer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Input {
    /// A key goes down.
    NoteOn(HeldKey),
    /// A key goes up; none stands for every channel or key.
    NoteOff {
        /// 0 to 15.
        channel: Option<u8>,
        /// 0 to 127.
        key: Option<u8>,
    },
    /// All notes of a channel are to end; the event itself passes too.
    AllNotesOff {
        /// 0 to 15.
        channel: u8,
    },
    /// Anything else passes untouched.
    Other,
    /// An event without meaning, such as a key going down that has no number.
    Nothing,
}

/// An event with its time and the framework's own form of it.
#[derive(Clone, Copy, Debug)]
pub struct TimedInput<E> {
    /// Samples from the start of the block.
    pub time_samples: u32,
    /// What it means.
    pub input: Input,
    /// What passes through if it is not for us.
    pub event: E,
}

/// What goes out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Output<E> {
    /// An event of the input, untouched.
    Through(E),
    /// A generated note starts.
    NoteOn(HeldKey),
    /// A note ends.
    NoteOff {
        /// 0 to 15.
        channel: u8,
        /// 0 to 127.
        key: u8,
    },
}

/// Where events come from and go to, in the order of their times.
pub trait Port<E> {
    /// The next event of the block.
    fn next(&mut self) -> Option<TimedInput<E>>;

    /// Sends an event; false if the host does not take it.
    fn send(&mut self, time_samples: u32, output: Output<E>) -> bool;
}

/// What holds for one block.
#[derive(Clone, Copy)]
pub struct Block<'a> {
    /// The parameters.
    pub settings: Settings,
    /// The transport.
    pub clock: Clock,
    /// The block's length in samples.
    pub frames: u32,
    /// The chart.
    pub song: Option<&'a Song>,
    /// The chart has come in with this block.
    pub song_is_new: bool,
}

/// A place in the repeating chart.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Cursor {
    /// How often the chart has been through, a whole number; negative before
    /// the song's start.
    cycle: f64,
    index: usize,
}

/// What the keys of the left hand have done at the sample in hand.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
enum Gesture {
    #[default]
    Nothing,
    /// A root was struck.
    Struck,
    /// An extra key joined the root.
    Joined,
    Released,
}

/// The performer: what is held, what sounds, and where in the chart it is.
#[derive(Debug, Default)]
pub struct Performer {
    ledger: Ledger,
    /// Keys that are held and do not pass, one bit each.
    captured: [u128; CHANNELS as usize],
    hand: Hand,
    /// The key that opened the gate, until no key is held.
    gate_key: Option<HeldKey>,
    gesture: Gesture,
    settings: Option<Settings>,
    cursor: Option<Cursor>,
    expected_ticks: Option<f64>,
    sounding: Option<(Sounding, HeldKey)>,
    last: Option<Sounding>,
    /// What the player's keys were last read as.
    heard: Option<Heard>,
    /// Keys below the split went down or up since they were last read.
    played: bool,
    /// The voicing that the next root leads on from.
    before: Option<Voicing>,
    now_samples: u64,
    together_samples: u64,
}

impl Performer {
    /// Sets the sample rate, in Hz.
    pub fn set_sample_rate(&mut self, rate_hz: f32) {
        let samples = (f64::from(rate_hz) * TOGETHER_SECONDS).round();
        self.together_samples = clock::whole(samples).map_or(0, u64::from);
    }

    /// Starts afresh. What sounded is owed its note-offs, which go out with the
    /// next block, since nothing can be sent from here.
    pub fn reset(&mut self) {
        let mut ledger = std::mem::take(&mut self.ledger);
        ledger.owe_all();
        *self = Performer {
            ledger,
            together_samples: self.together_samples,
            ..Performer::default()
        };
    }

    /// One block.
    pub fn process<E: Copy>(&mut self, block: &Block, port: &mut impl Port<E>) {
        self.pay(0, port);
        self.apply_settings(block, port);
        self.locate(block, port);
        // The framework cuts blocks where parameters change, and leaves an event at
        // the cut in the block before it: it may lie one past the last frame.
        let end = block.frames;
        let mut pending = port.next();
        loop {
            let input_time = pending.as_ref().map(|i| i.time_samples.min(end));
            let boundary = self.next_boundary(block);
            match (input_time, boundary) {
                (None, None) => break,
                (input, Some((time, cursor))) if input.is_none_or(|i| time <= i) => {
                    self.cursor = Some(cursor);
                    self.sound_chart(block, time, true, port);
                }
                (Some(time), _) => {
                    while let Some(input) = pending
                        && input.time_samples.min(end) <= time
                    {
                        self.take(&block.settings, time, &input, port);
                        pending = port.next();
                    }
                    self.settle(block, time, port);
                }
                (None, Some(_)) => break,
            }
        }
        self.expected_ticks = block.clock.after(block.frames);
        self.now_samples += u64::from(block.frames);
    }

    /// What the panel shows.
    #[must_use]
    pub fn snapshot(&self, block: &Block) -> Snapshot {
        let chart = match (self.cursor, block.song) {
            (Some(cursor), Some(song)) if cursor.cycle >= 0.0 => Some((cursor, song)),
            _ => None,
        };
        let beat = chart.and_then(|(_, song)| {
            let position = block.clock.after(block.frames)?;
            let local = position.rem_euclid(f64::from(song.length_ticks));
            let beat = (local / f64::from(song.meter.beat_ticks())).floor();
            clock::whole(beat)
        });
        let reads = block.settings.source == Source::Reading;
        let heard = self.heard.map(|heard| heard.sounding);
        let held = reads && self.ledger.played_below(block.settings.split).len() > 1;
        Snapshot {
            source: block.settings.source,
            playing: block.clock.position_ticks.is_some(),
            sounding: match reads {
                true if held => heard,
                true => None,
                false => self.sounding.map(|(sounding, _)| sounding),
            },
            last: if reads { heard } else { self.last },
            others: match self.heard {
                Some(heard) if reads => heard.others,
                _ => [None; listener::OTHERS],
            },
            next: chart.and_then(|(cursor, song)| {
                let next = next_cursor(cursor, song).index;
                song.changes.get(next)?.placed
            }),
            beat,
            change: chart.map(|(cursor, _)| cursor.index),
        }
    }

    /// Parameters that have changed since the last block act at its start.
    fn apply_settings<E: Copy>(&mut self, block: &Block, port: &mut impl Port<E>) {
        let new = block.settings;
        let Some(old) = self.settings.replace(new) else {
            return;
        };
        if old == new {
            return;
        }
        let remapped = old.bypass != new.bypass
            || old.source != new.source
            || old.split != new.split
            || old.gate != new.gate;
        if remapped {
            self.release_chord(0, port);
            self.hand.clear();
            self.gate_key = None;
            self.cursor = None;
        } else if let Some((_, key)) = self.sounding {
            match new.source {
                Source::Roots => {
                    if let Some(root) = self.hand.root() {
                        self.sound_root(block, root, 0, false, port);
                    }
                }
                Source::Reading => {}
                Source::Chart => {
                    let key = HeldKey {
                        velocity: if new.gate { key.velocity } else { new.velocity },
                        ..key
                    };
                    self.sounding = self.sounding.map(|(s, _)| (s, key));
                    self.sound_chart(block, 0, false, port);
                }
            }
        }
    }

    /// Finds the place in the chart when the transport starts, stops or jumps,
    /// and when the chart itself is new.
    fn locate<E: Copy>(&mut self, block: &Block, port: &mut impl Port<E>) {
        let plays = block.settings.source == Source::Chart && !block.settings.bypass;
        let place = match (block.song, block.clock.position_in_force()) {
            (Some(song), Some(position)) if plays => {
                let length = f64::from(song.length_ticks);
                Some(Cursor {
                    cycle: (position / length).floor(),
                    index: song.index_at(position.rem_euclid(length)),
                })
            }
            _ => None,
        };
        let Some(place) = place else {
            if self.cursor.take().is_some() {
                self.release_chord(0, port);
            }
            return;
        };
        let jumped = self.cursor.is_none() || block.clock.jumped_from(self.expected_ticks);
        if jumped || block.song_is_new {
            self.cursor = Some(place);
            self.sound_chart(block, 0, jumped, port);
        }
    }

    /// The next change of the chart, if it falls into this block.
    fn next_boundary(&self, block: &Block) -> Option<(u32, Cursor)> {
        let (cursor, song) = (self.cursor?, block.song?);
        let next = next_cursor(cursor, song);
        let start = song.changes.get(next.index)?.start_ticks;
        let at = next.cycle * f64::from(song.length_ticks) + f64::from(start);
        let time = block.clock.sample_of(at, block.frames)?;
        Some((time, next))
    }

    /// Takes in one event.
    fn take<E: Copy>(
        &mut self,
        settings: &Settings,
        time: u32,
        input: &TimedInput<E>,
        port: &mut impl Port<E>,
    ) {
        match input.input {
            Input::NoteOn(key) if self.is_ours(settings, key.key) => {
                self.press(settings, key, time);
            }
            Input::NoteOn(key) => self.pass_on(key, time, input.event, port),
            Input::NoteOff {
                channel: Some(channel),
                key: Some(key),
            } => self.lift(settings, channel, key, time, Some(input.event), port),
            Input::NoteOff { channel, key } => {
                self.lift_all(settings, channel, key, time, port);
            }
            Input::AllNotesOff { channel } => {
                self.lift_all(settings, Some(channel), None, time, port);
                port.send(time, Output::Through(input.event));
            }
            Input::Other => {
                port.send(time, Output::Through(input.event));
            }
            Input::Nothing => {}
        }
    }

    /// Whether a key is the left hand's, and so does not pass.
    fn is_ours(&self, settings: &Settings, key: u8) -> bool {
        let takes = match settings.source {
            Source::Roots => true,
            Source::Chart => settings.gate,
            Source::Reading => false,
        };
        !settings.bypass && takes && key < settings.split
    }

    fn press(&mut self, settings: &Settings, key: HeldKey, time: u32) {
        if let Some(keys) = self.captured.get_mut(usize::from(key.channel)) {
            *keys |= 1 << (key.key & 127);
        }
        let now = self.now_samples + u64::from(time);
        let begins = self.hand.press(key, now, self.together_samples);
        let gates = settings.source == Source::Chart;
        if gates {
            self.gate_key = self.gate_key.or(Some(key));
        }
        if begins && !gates {
            self.before = self.sounding.map(|(s, _)| s.voiced.voicing).or(self.before);
        }
        self.gesture = match self.gesture {
            _ if begins => Gesture::Struck,
            Gesture::Struck => Gesture::Struck,
            _ => Gesture::Joined,
        };
    }

    /// A key goes up: ours ends its gesture, another one's note-off passes if
    /// its note is not held by the chord.
    fn lift<E: Copy>(
        &mut self,
        settings: &Settings,
        channel: u8,
        key: u8,
        time: u32,
        event: Option<E>,
        port: &mut impl Port<E>,
    ) {
        if let Some(keys) = self.captured.get_mut(usize::from(channel)) {
            let bit = 1 << (key & 127);
            let ours = *keys & bit != 0;
            *keys &= !bit;
            if ours {
                let over = self.hand.release(channel, key);
                let gate_open = self.captured.iter().any(|keys| *keys != 0);
                let released = match settings.source {
                    Source::Roots => over,
                    Source::Chart => settings.gate && !gate_open,
                    Source::Reading => false,
                };
                if released {
                    self.gesture = Gesture::Released;
                }
                if !gate_open {
                    self.gate_key = None;
                }
            }
        }
        self.played = true;
        if self.ledger.stop(Holder::Player, channel, key) {
            let sent = match event {
                Some(event) => port.send(time, Output::Through(event)),
                None => port.send(time, Output::NoteOff { channel, key }),
            };
            if !sent {
                self.ledger.owe(channel, key);
            }
        }
    }

    /// Every held key that matches goes up.
    fn lift_all<E: Copy>(
        &mut self,
        settings: &Settings,
        channel: Option<u8>,
        key: Option<u8>,
        time: u32,
        port: &mut impl Port<E>,
    ) {
        let channels = channel.map_or(0..CHANNELS, |c| c..c.saturating_add(1));
        for channel in channels {
            let keys = key.map_or(0..128, |k| k..k.saturating_add(1));
            for key in keys {
                self.lift(settings, channel, key, time, None, port);
            }
        }
    }

    /// Decides what sounds, once all events of a sample are in.
    fn settle<E: Copy>(&mut self, block: &Block, time: u32, port: &mut impl Port<E>) {
        let gesture = std::mem::take(&mut self.gesture);
        match (gesture, block.settings.source) {
            (Gesture::Nothing, _) => {}
            (Gesture::Released, _) => self.release_chord(time, port),
            (Gesture::Struck | Gesture::Joined, Source::Roots) => {
                if let Some(root) = self.hand.root() {
                    self.sound_root(block, root, time, gesture == Gesture::Struck, port);
                }
            }
            (Gesture::Struck | Gesture::Joined, Source::Chart) => {
                if self.sounding.is_none() {
                    self.sound_chart(block, time, true, port);
                }
            }
            (Gesture::Struck | Gesture::Joined, Source::Reading) => {}
        }
        if std::mem::take(&mut self.played) && block.settings.source == Source::Reading {
            self.hear(block, time);
        }
    }

    /// Reads the keys that the player holds below the split. A single key, or a
    /// set without a name, leaves the last reading on show.
    fn hear(&mut self, block: &Block, time: u32) {
        let notes = self.ledger.played_below(block.settings.split);
        let charted = block.song.and_then(|song| {
            let position = block.clock.after(time)?;
            let index = song.index_at(position.rem_euclid(f64::from(song.length_ticks)));
            song.changes.get(index)?.placed
        });
        let context = Context {
            key: Some(charted.map_or(block.settings.key, |placed| placed.function.key)),
            before: self.heard.map(|heard| heard.sounding.placed.chord),
            charted: charted.map(|placed| placed.chord),
            ..Context::default()
        };
        self.heard = listener::hear(&notes, &context).or(self.heard);
    }

    /// Sounds the chord of a played root.
    fn sound_root<E: Copy>(
        &mut self,
        block: &Block,
        root: HeldKey,
        time: u32,
        struck: bool,
        port: &mut impl Port<E>,
    ) {
        let settings = &block.settings;
        let class = MidiNote::clamp(i32::from(root.key)).class();
        let placed = pipeline::place_root(settings.key, class, self.hand.extras());
        let voiced = pipeline::step(self.before.as_ref(), &placed, &settings.taste);
        self.sound(settings, placed, voiced, root, time, struck, port);
    }

    /// Sounds the chart's chord in force.
    fn sound_chart<E: Copy>(
        &mut self,
        block: &Block,
        time: u32,
        struck: bool,
        port: &mut impl Port<E>,
    ) {
        let settings = &block.settings;
        let key = match (settings.gate, self.hand.root()) {
            (false, _) => Some(HeldKey {
                channel: CHART_CHANNEL,
                key: 0,
                velocity: settings.velocity,
            }),
            (true, held) => held.or(self.sounding.map(|(_, key)| key)).or(self.gate_key),
        };
        let chord = self
            .cursor
            .filter(|cursor| cursor.cycle >= 0.0)
            .and_then(|cursor| block.song?.voiced(cursor.index, &settings.taste));
        match (chord, key) {
            (Some((placed, voiced)), Some(key)) => {
                self.sound(settings, placed, voiced, key, time, struck, port);
            }
            _ => self.release_chord(time, port),
        }
    }

    /// Releases what sounds and sounds a chord, unless it is there already and
    /// is not struck anew.
    #[expect(clippy::too_many_arguments, reason = "what, how and where to")]
    fn sound<E: Copy>(
        &mut self,
        settings: &Settings,
        placed: Placed,
        voiced: Voiced,
        key: HeldKey,
        time: u32,
        struck: bool,
        port: &mut impl Port<E>,
    ) {
        let bass = settings
            .bass_channel
            .and_then(|channel| Some((channel, placed.bass(LOWEST_BASS)?)));
        let sounding = Sounding {
            placed,
            voiced,
            bass: bass.map(|(_, note)| note),
        };
        let same = self.sounding.is_some_and(|(now, held)| {
            let notes = now.voiced.voicing.notes().eq(voiced.voicing.notes());
            notes && now.bass == sounding.bass && held == key
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
        self.sounding = Some((sounding, key));
        self.last = Some(sounding);
    }
}

fn next_cursor(cursor: Cursor, song: &Song) -> Cursor {
    if cursor.index + 1 < song.changes.len() {
        Cursor {
            index: cursor.index + 1,
            ..cursor
        }
    } else {
        Cursor {
            cycle: cursor.cycle + 1.0,
            index: 0,
        }
    }
}

#[cfg(test)]
mod tests;
