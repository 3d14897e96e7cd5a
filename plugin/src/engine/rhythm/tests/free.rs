//! A hand that varies: what its bars, lengths and velocities have in common, and its table of practice.

use super::*;

fn free(rhythm: Rhythm, seed: u32) -> Groove {
    Groove {
        variation: 1.0,
        accents: 0.5,
        seed,
        ..groove(rhythm)
    }
}

const BREATHING: [Rhythm; 14] = [
    Rhythm::Charleston,
    Rhythm::LateCharleston,
    Rhythm::OffBeats,
    Rhythm::TwoAndFour,
    Rhythm::Bossa,
    Rhythm::JazzWaltz,
    Rhythm::ReverseCharleston,
    Rhythm::FourToTheBar,
    Rhythm::Ballad,
    Rhythm::TwoBeat,
    Rhythm::Samba,
    Rhythm::Bolero,
    Rhythm::FiveFour,
    Rhythm::GospelWaltz,
];

/// One chord without end, in four.
fn on_a_root(bar: i64, groove: &Groove) -> Vec<Strike> {
    let timeline = Timeline::Root(guidehand_theory::chart::Meter::COMMON);
    let bar = timeline.bar(bar).unwrap();
    let mut strikes = Strikes::default();
    strikes.work_out(&bar, &timeline.spans(&bar), groove, 120.0);
    let from_bar = strikes.as_slice().iter().map(|strike| Strike {
        start_ticks: strike.start_ticks - bar.start_ticks,
        end_ticks: strike.end_ticks - bar.start_ticks,
        ..*strike
    });
    from_bar.collect()
}

/// Over eight bars a style takes several forms, others from another seed, and the same ones again
/// from the same seed. At exact the seed changes nothing.
#[test]
fn a_free_hand_varies_by_its_seed() {
    for rhythm in BREATHING {
        let places = |groove: &Groove, bar| -> Vec<u64> {
            let strikes = on_a_root(bar, groove);
            strikes.iter().map(|s| s.start_ticks.to_bits()).collect()
        };
        let eight =
            |groove: &Groove| -> Vec<Vec<u64>> { (0..8).map(|bar| places(groove, bar)).collect() };
        let of_seeds: Vec<_> = (0..20).map(|seed| eight(&free(rhythm, seed))).collect();
        for bars in &of_seeds {
            let forms: std::collections::BTreeSet<_> = bars.iter().collect();
            assert!((2..=8).contains(&forms.len()), "{rhythm:?}: {forms:?}");
        }
        let different: std::collections::BTreeSet<_> = of_seeds.iter().collect();
        assert!(different.len() > 15, "{rhythm:?}");
        assert_eq!(eight(&free(rhythm, 3)), of_seeds[3]);
        let exact = |seed| Groove {
            variation: 0.0,
            ..free(rhythm, seed)
        };
        for bar in 0..8 {
            assert_eq!(on_a_root(bar, &exact(1)), on_a_root(bar, &exact(2)));
        }
    }
}

/// From exact to free more and more bars leave the usual pattern.
#[test]
fn more_variation_varies_more() {
    let varied = |variation| {
        let some = Groove {
            variation,
            ..free(Rhythm::Charleston, 5)
        };
        let exact = Groove {
            variation: 0.0,
            ..some
        };
        let starts = |strikes: Vec<Strike>| -> Vec<u64> {
            strikes.iter().map(|s| s.start_ticks.to_bits()).collect()
        };
        let differs = |bar: &i64| starts(on_a_root(*bar, &some)) != starts(on_a_root(*bar, &exact));
        (0..400).filter(differs).count()
    };
    let counts = [0.0, 0.25, 0.5, 0.75, 1.0].map(varied);
    assert_eq!(counts[0], 0);
    assert!(
        counts.windows(2).all(|pair| pair[0] < pair[1]),
        "{counts:?}"
    );
    assert!((160..300).contains(&counts[4]), "{counts:?}");
}

/// Every velocity at 70 % is from 40 to 105. A swinging hand accents off-beats and 2 and 4, and a
/// ballad is softer than a samba (common practice, no published source).
#[test]
fn velocities_follow_the_curve_of_the_style() {
    let mut means = Vec::new();
    for rhythm in BREATHING {
        let mut of_places = vec![Vec::new(); 8];
        for (accents, density) in [(0.0, 0.3), (0.5, 0.0), (1.0, 0.3)] {
            for bar in 0..200 {
                let groove = Groove {
                    accents,
                    density,
                    ..free(rhythm, 9)
                };
                for strike in on_a_root(bar, &groove) {
                    let step = f64::from(strike.velocity(0.7)) * 127.0;
                    assert!((39.5..=105.5).contains(&step), "{rhythm:?}: {step}");
                    let eighth = crate::engine::clock::whole(strike.start_ticks / 480.0).unwrap();
                    if accents == 0.5 {
                        of_places[eighth as usize].push(step);
                    }
                }
            }
        }
        let mean = |places: &[usize]| {
            let all = places.iter().flat_map(|place| &of_places[*place]);
            let count = u32::try_from(all.clone().count()).unwrap();
            all.sum::<f64>() / f64::from(count.max(1))
        };
        means.push((rhythm, mean(&[0, 1, 2, 3, 4, 5, 6, 7])));
        if rhythm == Rhythm::TwoAndFour || rhythm == Rhythm::FourToTheBar {
            assert!(mean(&[2, 6]) > mean(&[0, 4]) + 2.0, "{rhythm:?}");
        }
        if rhythm == Rhythm::Charleston || rhythm == Rhythm::Samba {
            assert!(mean(&[1, 3, 5, 7]) > mean(&[0, 4]) + 2.0, "{rhythm:?}");
        }
    }
    let of = |rhythm| means.iter().find(|(r, _)| *r == rhythm).unwrap().1;
    assert!(of(Rhythm::Ballad) + 15.0 < of(Rhythm::Samba), "{means:?}");
}

/// Off-beats are shorter than at exact, and chords that come early longer.
#[test]
fn off_beats_are_short_and_pushes_long() {
    let song = song("| Dm7 | G7 | Cmaj7 | A7 |");
    let mean = |text: &str, variation| {
        let groove = Groove {
            drawn: Drawn::from_text(text),
            variation,
            ..free(Rhythm::Drawn, 4)
        };
        let strikes = (0..100).flat_map(|bar| strikes(&song, bar, &groove, 120.0));
        let off = strikes.filter(|strike| strike.start_ticks % 960.0 == 480.0);
        let lengths: Vec<f64> = off.map(|s| s.end_ticks - s.start_ticks).collect();
        lengths.iter().sum::<f64>() / f64::from(u32::try_from(lengths.len()).unwrap())
    };
    assert!(mean("l--s", 1.0) < 0.8 * mean("l--s", 0.0));
    assert!(mean("-------s", 1.0) > 1.2 * mean("-------s", 0.0));
}

/// The last bar of a section of four bars or more is held or has a fill, and the last bar of a song that does not start
/// again has an ending.
#[test]
fn sections_and_songs_end() {
    let song = song("[A] | C6 | % | % | % | [B] | C6 | % | % | % |");
    for rhythm in [Rhythm::Charleston, Rhythm::Bossa, Rhythm::Ballad] {
        let (mut held, mut filled) = (0, 0);
        for seed in 0..60 {
            let struck = strikes(&song, 3, &free(rhythm, seed), 120.0);
            match struck.len() {
                1 => held += 1,
                4 => filled += 1,
                count => panic!("{rhythm:?}: {count} strikes"),
            }
        }
        assert!(held > 8 && filled > 20, "{rhythm:?}: {held}, {filled}");
        let once = Timeline::Chart {
            song: &song,
            repeats: false,
        };
        let last = once.bar(7).unwrap();
        for seed in 0..60 {
            let groove = Groove {
                variation: 0.1,
                ..free(rhythm, seed)
            };
            let mut strikes = Strikes::default();
            strikes.work_out(&last, &once.spans(&last), &groove, 120.0);
            let starts: Vec<f64> = strikes.as_slice().iter().map(|s| s.start_ticks).collect();
            let from = last.start_ticks;
            assert!(
                starts == [from] || starts == [from, from + 1440.0],
                "{rhythm:?}: {starts:?}"
            );
        }
    }
}

/// A vamp of two bars, and a pickup, end no section.
#[test]
fn short_sections_have_no_end_of_their_own() {
    for (text, bar, counts) in [
        ("| C6 | % |", 1, 2..=3),
        ("Pickup G7 | C6 | F6 |", 0, 1..=3),
    ] {
        let song = song(text);
        for seed in 0..60 {
            let count = strikes(&song, bar, &free(Rhythm::Charleston, seed), 120.0).len();
            assert!(counts.contains(&count), "{text}: {count}");
        }
    }
}

/// Onsets, lengths and velocities lie where the table by hand has them.
#[test]
fn each_style_is_played_as_in_practice() {
    let table = include_str!("../practice.txt").lines();
    let rows = table.filter(|line| !line.starts_with("//"));
    let mut count = 0;
    for row in rows {
        let cells: Vec<&str> = row.split(" | ").collect();
        let [name, meter, ranges @ ..] = &cells[..] else {
            panic!("{row}")
        };
        let rhythm = BREATHING.into_iter().find(|r| format!("{r:?}") == *name);
        let rhythm = rhythm.unwrap_or(Rhythm::SixEight);
        assert_eq!(format!("{rhythm:?}"), *name);
        let song = song(&format!("{meter} | Dm7 | G7 | Cmaj7 | A7 |"));
        let found = measured(&song, &free(rhythm, 2));
        assert_eq!(ranges.len(), found.len(), "{row}");
        for (range, value) in ranges.iter().zip(found) {
            let (from, to) = range.split_once(" to ").unwrap();
            let range = from.parse().unwrap()..=to.parse().unwrap();
            assert!(range.contains(&value), "{row}: {found:?}");
        }
        count += 1;
    }
    assert_eq!(count, BREATHING.len() + 1);
}

/// Strikes in a bar, the share of those off the beat, the mean length in eighths, the mean velocity.
fn measured(song: &PlannedChart, groove: &Groove) -> [f64; 4] {
    const BARS: i64 = 400;
    let timeline = Timeline::Chart {
        song,
        repeats: true,
    };
    let mut all: Vec<Strike> = Vec::new();
    let mut off_beats = 0.0;
    for number in 0..BARS {
        let bar = timeline.bar(number).unwrap();
        for strike in strikes(song, number, groove, 120.0) {
            let off = bar::is_off_beat(strike.start_ticks - bar.start_ticks, bar.meter);
            off_beats += f64::from(u8::from(off));
            if let Some(before) = all.last_mut() {
                before.end_ticks = before.end_ticks.min(strike.start_ticks);
            }
            all.push(strike);
        }
    }
    let count = f64::from(u32::try_from(all.len()).unwrap());
    let length: f64 = all.iter().map(|s| s.end_ticks - s.start_ticks).sum();
    let velocity: f64 = all.iter().map(|s| f64::from(s.velocity(0.7)) * 127.0).sum();
    [
        count / 400.0,
        off_beats / count,
        length / count / 480.0,
        velocity / count,
    ]
}
