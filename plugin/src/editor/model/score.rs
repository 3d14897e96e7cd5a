//! The performance as a score: what the engine plays once through the chart, for files.
//! It allocates, and never runs on the audio thread; a thread of `disk` runs it. `files`
//! imports it.

use crate::engine::comping::Comping;
use crate::engine::planned::PlannedChart;
use crate::engine::rhythm::{Rhythm, Strike};
use crate::engine::settings::Settings;
use crate::engine::timeline::Timeline;
use guidehand_exchange::score::{Hand, Note, Score};
use guidehand_theory::chart::{Chart, TICKS_PER_QUARTER};
use guidehand_theory::pipeline::{ChordInKey, LOWEST_BASS};
use guidehand_theory::pitch::{MidiNote, NoteName};
use guidehand_theory::under::{self, Harmony, Line};
use guidehand_theory::voicing::Voicing;

/// What is played once through a chart, from its first bar, at a tempo in quarter
/// notes a minute, with the melody that is written over it and the block chords under that. A rhythm
/// of the player's own hand gives held chords.
#[must_use]
pub fn score(chart: Chart, song: &PlannedChart, settings: &Settings, bpm: f64) -> Score {
    let mut score = Score::of(chart, bpm);
    if let Some(key) = song.plan_for.pinned {
        score.key = key;
    }
    score.off_beat = settings.groove.off_beat(bpm);
    let mut settings = *settings;
    if settings.groove.rhythm == Rhythm::Played {
        settings.groove.rhythm = Rhythm::Hold;
    }
    for strike in strikes(song, &settings, bpm) {
        if settings.comps {
            sound(&mut score, song, &settings, &strike);
        }
    }
    sing(&mut score, song, &settings, bpm);
    for (change, charted) in score.chart.changes.iter().zip(song.changes.iter()) {
        let Some(placed) = charted.placed else {
            continue;
        };
        score.bass.extend(placed.bass(LOWEST_BASS).map(|note| Note {
            start_ticks: change.start_ticks,
            length_ticks: change.length_ticks,
            note,
            name: placed.chord.bass.unwrap_or(placed.chord.root),
            velocity: step(settings.velocity),
            hand: Hand::Left,
        }));
    }
    score
}

/// Puts the written melody over the chart, and under it the block chords that the player wants.
fn sing(score: &mut Score, song: &PlannedChart, settings: &Settings, bpm: f64) {
    let melody = song.melody();
    score.put_melody(melody, &song.chords());
    let Some(style) = settings.right_hand.under else {
        return;
    };
    let harmonies = (0..song.changes.len()).map(|change| {
        let (placed, voiced) = song.voiced(change, &settings.taste)?;
        Some(Harmony {
            placed,
            tensions: Some(voiced.tensions),
        })
    });
    let taste = under::Taste {
        style,
        requests: settings.taste.requests,
        ..under::Taste::default()
    };
    let minutes = f64::from(settings.right_hand.single_under_ms) / 60_000.0;
    let line = Line {
        melody,
        chart: &score.chart,
        harmonies: &harmonies.collect::<Vec<_>>(),
        single_under_ticks: ticks(minutes * bpm * f64::from(TICKS_PER_QUARTER)),
    };
    let blocks = under::plan(&taste, &line);
    score.put_blocks(&blocks);
}

/// Every strike in order, each over before the next.
fn strikes(song: &PlannedChart, settings: &Settings, bpm: f64) -> Vec<Strike> {
    let timeline = Timeline::Chart {
        song,
        repeats: false,
    };
    let mut comping = Comping::default();
    let mut strikes: Vec<Strike> = Vec::new();
    let first = comping.locate(&timeline, &settings.groove, bpm, 0.0);
    strikes.extend(first);
    while let Some(strike) = comping.next(&timeline, &settings.groove, bpm, f64::INFINITY) {
        comping.advance();
        if strike.end_ticks <= strike.start_ticks {
            continue;
        }
        if let Some(before) = strikes.last_mut() {
            before.end_ticks = before.end_ticks.min(strike.start_ticks);
        }
        strikes.push(strike);
    }
    strikes
}

/// Adds the notes of one strike, with the inner line where there is one.
fn sound(score: &mut Score, song: &PlannedChart, settings: &Settings, strike: &Strike) {
    let Some((placed, voiced)) = song.voiced(strike.span.change, &settings.taste) else {
        return;
    };
    let velocity = step(strike.velocity(settings.velocity));
    let (start, end) = (ticks(strike.start_ticks), ticks(strike.end_ticks));
    let length = strike.span.end_ticks - strike.span.start_ticks;
    let line = song.inner_line(strike.span.change, (&placed, &voiced), length);
    let line = line.filter(|_| settings.chart.inner_lines);
    let mut add = |voicing: &Voicing, from: u32, to: u32, only: &dyn Fn(MidiNote) -> bool| {
        let length = to.saturating_sub(from);
        let notes = Note::of_voicing(voicing, root(&placed), from, length, velocity);
        let notes = notes.filter(|note| length > 0 && only(note.note));
        score.comping.extend(notes);
    };
    let all = |_| true;
    let Some((at, after)) = line else {
        return add(&voiced.voicing, start, end, &all);
    };
    let turn = ticks(strike.span.start_ticks + at);
    if start >= turn {
        return add(&after, start, end, &all);
    }
    // The voices that stay are held through the turn.
    let before = voiced.voicing;
    let stays = |note| before.notes().any(|n| n == note) && after.notes().any(|n| n == note);
    let turn = turn.min(end);
    add(&before, start, end, &stays);
    add(&before, start, turn, &|note| !stays(note));
    add(&after, turn, end, &|note| !stays(note));
}

const fn root(placed: &ChordInKey) -> NoteName {
    placed.chord.root
}

/// Ticks of the chart, to the nearest.
fn ticks(ticks: f64) -> u32 {
    crate::engine::clock::whole(ticks.round()).unwrap_or(0)
}

/// A velocity as a step of MIDI, 1 to 127.
fn step(velocity: f32) -> u8 {
    let step = (f64::from(velocity) * 127.0).round().clamp(1.0, 127.0);
    crate::engine::clock::whole(step)
        .and_then(|step| u8::try_from(step).ok())
        .unwrap_or(1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::block::{Block, ChartUpdate};
    use crate::engine::clock::Clock;
    use crate::engine::events::{Output, Port, TimedInput};
    use crate::engine::performer::Performer;
    use crate::engine::settings::{PlanFor, Source};
    use guidehand_theory::candidates::Hand;
    use guidehand_theory::{chart, pin, pipeline};

    /// Notes as the performer sends them, at one sample to the tick.
    #[derive(Default)]
    struct Tape {
        sounding: Vec<(u8, u32, u8)>,
        notes: Vec<(u32, u32, u8, u8)>,
    }

    impl Port<()> for Tape {
        fn next(&mut self) -> Option<TimedInput<()>> {
            None
        }

        fn send(&mut self, time: u32, output: Output<()>) -> bool {
            match output {
                Output::NoteOn(key) => self.sounding.push((key.key, time, step(key.velocity))),
                Output::NoteOff { key, .. } => {
                    let at = self.sounding.iter().position(|(k, ..)| *k == key).unwrap();
                    let (key, from, velocity) = self.sounding.remove(at);
                    self.notes.push((from, time, key, velocity));
                }
                Output::Through(()) => {}
            }
            true
        }
    }

    fn played(song: &PlannedChart, settings: &Settings) -> Vec<(u32, u32, u8, u8)> {
        let mut tape = Tape::default();
        let mut performer = Performer::default();
        let mut settings = *settings;
        settings.chart.repeats = false;
        let mut block = Block {
            settings: &settings,
            settings_moved: true,
            clock: Clock {
                position_ticks: Some(0.0),
                standing_ticks: Some(0.0),
                ticks_per_sample: 1.0,
                bpm: 120.0,
                jumped: true,
                ..Clock::default()
            },
            frames: song.length_ticks + 10,
            song: Some(song),
            update: ChartUpdate::None,
            next_song: None,
            bass_events: &[],
            bass_from_samples: 0,
            audition: None,
        };
        performer.process(&block, &mut tape);
        block.clock.position_ticks = None;
        performer.process(&block, &mut tape);
        tape.notes.sort_unstable();
        tape.notes
    }

    /// A file holds what the engine plays, to the tick.
    #[test]
    fn the_score_is_what_is_played() {
        let text = "| Dm7 G7 | C6 / N.C. / |: F6 Bb7 Am7 D7 | 3/4 Gm7 | C7 :|";
        let chart = chart::parse(text).unwrap();
        let mut song = PlannedChart::placed(&chart, PlanFor::default(), 0);
        let pinned = |at: usize, keys: [i32; 4]| {
            let placed = song.changes[at].placed.unwrap();
            let notes = keys.map(MidiNote::clamp);
            let voicing = pin::by_degree(&notes, &placed.chord, Hand::DEFAULT).unwrap();
            (at, pipeline::pinned(&placed, &voicing))
        };
        // G7 with its line, and A minor 7 the second time.
        song.pin(vec![
            pinned(1, [41, 46, 47, 51]),
            pinned(12, [43, 48, 60, 64]),
        ]);
        let song = song.planned();
        for rhythm in [
            Rhythm::Hold,
            Rhythm::Charleston,
            Rhythm::Push,
            Rhythm::Bossa,
            Rhythm::OffBeats,
        ] {
            for inner_lines in [false, true] {
                let mut settings = Settings::plain(Source::Chart);
                settings.groove.rhythm = rhythm;
                settings.groove.density = 0.3;
                settings.chart.inner_lines = inner_lines;
                let score = score(chart.clone(), &song, &settings, 120.0);
                let mut written: Vec<(u32, u32, u8, u8)> = score
                    .comping
                    .iter()
                    .map(|n| (n.start_ticks, n.end_ticks(), n.note.number(), n.velocity))
                    .collect();
                written.sort_unstable();
                let played = played(&song, &settings);
                assert!(played.len() > 20);
                assert_eq!(written, played, "{rhythm:?}, lines {inner_lines}");
                for key in [41, 46, 47, 51, 43, 48] {
                    let sounds = played.iter().any(|note| note.2 == key);
                    assert!(sounds, "{key} in {rhythm:?}");
                }
            }
        }
    }
}
