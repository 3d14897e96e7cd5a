//! From an exercise to a lesson: pure, behind the guard, and never under a lock. `cell` imports it.

use crate::guard;
use guidehand_practice::{ChartToAsk, Drill, Exercise, Lesson, Making, Origin, Record, Time};
use guidehand_theory::chart::Chart;
use guidehand_theory::key::Key;
use guidehand_theory::own_shape::OwnShape;
use guidehand_theory::pipeline::Taste;
use guidehand_theory::voicing::Voicing;
use std::sync::Arc;

/// The chart that can be practised: the one in force.
#[derive(Clone, Debug)]
pub struct ChartNow {
    /// The number of its text.
    pub edition: u64,
    /// The chart.
    pub chart: Arc<Chart>,
    /// The pinned voicings, each with its change.
    pub pins: Vec<(usize, Voicing)>,
}

/// What a drill depends on besides the exercise.
#[derive(Clone, Debug, Default)]
pub struct Surroundings {
    /// Practice is in force.
    pub practises: bool,
    /// Texture, register, hand and tensions.
    pub taste: Taste,
    /// The player's own shapes.
    pub shapes: Arc<[OwnShape]>,
    /// The key that is pinned for the whole chart.
    pub key: Option<Key>,
    /// The chart; none where its text cannot be read or is still being typed.
    pub chart: Option<ChartNow>,
}

/// What a drill was made from.
#[derive(Clone, Debug, PartialEq)]
pub struct MadeFrom {
    exercise: Arc<Exercise>,
    taste: Taste,
    shapes: Arc<[OwnShape]>,
    /// The number of the chart's text and the pinned key, if the questions come from the chart.
    chart: Option<(u64, Option<Key>)>,
}

impl MadeFrom {
    /// What a drill is made from here; none while there is no chart to make it from.
    pub fn new(exercise: &Arc<Exercise>, here: &Surroundings) -> Option<MadeFrom> {
        let chart = match exercise.origin {
            Origin::List => None,
            Origin::Chart => Some((here.chart.as_ref()?.edition, here.key)),
        };
        Some(MadeFrom {
            exercise: exercise.clone(),
            taste: here.taste,
            shapes: here.shapes.clone(),
            chart,
        })
    }
}

/// What has been made of an exercise.
#[derive(Debug)]
pub struct Made {
    /// The drill and its lesson, if there is anything to ask.
    pub lesson: Option<Box<Lesson>>,
    /// What there is to tell of it.
    pub told: Option<String>,
}

impl Made {
    /// The drill, which the panel shares.
    pub fn drill(&self) -> Option<Arc<Drill>> {
        self.lesson.as_ref().map(|lesson| lesson.drill.clone())
    }
}

/// Makes a lesson. A drill whose making panics is told as one that cannot be made.
pub fn make(
    number: u64,
    exercise: &Exercise,
    here: &Surroundings,
    record: &Record,
    now: Time,
) -> Made {
    let make = || {
        let making = Making {
            number,
            exercise,
            taste: &here.taste,
            shapes: &here.shapes,
            record,
            now,
        };
        let chart = here.chart.as_ref().map(|now| ChartToAsk {
            chart: &now.chart,
            key: here.key,
            pins: &now.pins,
        });
        match making.drill(chart.as_ref()) {
            Ok(made) => {
                let told = made.told();
                let lesson = Lesson::new(Arc::new(made.drill), made.standings);
                Made {
                    lesson: Some(Box::new(lesson)),
                    told,
                }
            }
            Err(none) => Made {
                lesson: None,
                told: Some(none.to_string()),
            },
        }
    };
    guard::guarded(make).unwrap_or_else(|| Made {
        lesson: None,
        told: Some("This exercise cannot be asked.".to_owned()),
    })
}
