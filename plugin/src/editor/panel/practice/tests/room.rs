//! What has to find room on the stage and on the page of practice.

use super::*;

/// Answers of every kind over the chords with the longest symbols.
fn worst(drill: &Drill) -> Vec<Asking> {
    let last = u32::try_from(drill.questions.len()).unwrap() - 1;
    let every = |question: u32| {
        let asked = drill.questions[usize::try_from(question).unwrap()].question;
        let right: Vec<u8> = asked.voiced.voicing.notes().map(MidiNote::number).collect();
        let off: Vec<u8> = right.iter().map(|key| key + 1).collect();
        let more: Vec<u8> = right.iter().copied().chain([72, 74]).collect();
        let answers = [
            vec![],
            right.clone(),
            right[1..].to_vec(),
            off,
            more,
            vec![36, 41],
        ];
        answers.map(|keys| Asking {
            help: Help::Everything,
            when: When::Early(1.3),
            rolled_ms: Some(2_345),
            motion: Some(Motion {
                moved: 127,
                least: 112,
            }),
            answered: 1_234,
            right_first: 1_100,
            done: 119,
            bpm: Some(208.4),
            minutes: 60,
            unrecorded: 12,
            ..asking(drill, question, &keys)
        })
    };
    [0, last / 2, last - 1]
        .into_iter()
        .flat_map(every)
        .collect()
}

#[test]
fn the_stage_has_room_for_the_worst() {
    let (mut bench, drill) = practises(&dominants());
    for (view, large_print) in [
        (PanelView::Full, false),
        (PanelView::Full, true),
        (PanelView::Small, false),
        (PanelView::Small, true),
    ] {
        let panel = SavedPanel {
            view,
            large_print,
            ..SavedPanel::default()
        };
        for size in [panel.smallest(), panel.first_size(), [1600.0, 1000.0]] {
            bench.load_panel(panel.sized(size));
            bench.resize(size);
            for asking in worst(&drill) {
                bench.show(shows(asking));
                check(&bench.settle(), size);
            }
            bench.show(Snapshot::default());
            check(&bench.settle(), size);
        }
    }
}

/// What can be told of an exercise before it begins.
#[test]
fn what_cannot_be_asked_has_room() {
    let (mut bench, _) = practises(&dominants());
    let words = "Gb7(b9,b13) and 23 more chords are left out: the register has no place for this \
                 position. Take the other position or a wider register. 84 chords span up to a \
                 tenth, more than your hand takes at ease: rest the hand now and then, or take a \
                 smaller texture.";
    let params = bench.params();
    params.practice.put(ReadPractice {
        told: Some(words.to_owned()),
        ..params.practice.read()
    });
    for (view, large_print) in [
        (PanelView::Full, false),
        (PanelView::Full, true),
        (PanelView::Small, false),
        (PanelView::Small, true),
    ] {
        let panel = SavedPanel {
            view,
            large_print,
            ..SavedPanel::default()
        };
        let size = panel.smallest();
        bench.load_panel(panel.sized(size));
        bench.resize(size);
        let seen = bench.settle();
        check(&seen, size);
        assert!(seen.iter().any(|seen| seen.words == words));
    }
}

#[test]
fn the_page_has_room_for_every_exercise() {
    let (mut bench, _) = practises(&Exercise {
        families: ShapeFamily::ALL.to_vec(),
        ..dominants()
    });
    let own = Tempo::Own {
        bpm: 300.0,
        faster_by: 20.0,
    };
    let base = exercise(&bench);
    let mut exercises = Vec::new();
    for progression in Progression::ALL {
        for order in KeyOrder::ALL {
            exercises.push(Exercise {
                progression: *progression,
                order: *order,
                ..base.clone()
            });
        }
    }
    for tempo in [own, Tempo::Host] {
        for chart_keys in [
            ChartKeys::AsWritten,
            ChartKeys::In(PitchClass::wrapping(6)),
            ChartKeys::EachRound,
        ] {
            exercises.push(Exercise {
                origin: Origin::Chart,
                bars: Some((1_111, 1_999)),
                chart_keys,
                more_after_s: Some(60),
                pace: Pace::InTime {
                    tempo,
                    beats_ahead: 8,
                    count_in_bars: 2,
                },
                ..base.clone()
            });
        }
    }
    exercises.push(Exercise {
        pace: exercises.last().unwrap().pace,
        ..base.clone()
    });
    for large_print in [false, true] {
        let panel = SavedPanel {
            large_print,
            ..SavedPanel::default()
        };
        for size in [panel.smallest(), [1600.0, 1000.0]] {
            bench.load_panel(panel.sized(size));
            bench.resize(size);
            for exercise in &exercises {
                bench.params().practice.put(ReadPractice {
                    exercise: Arc::new(exercise.clone()),
                    ..bench.params().practice.read()
                });
                let seen = bench.settle();
                check(&seen, size);
                let last = bench.control("Right chord sounds after the answer").rect();
                assert!(last.bottom() <= size[1], "{exercise:?}");
            }
        }
    }
}
