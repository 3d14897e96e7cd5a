//! How the chords of the chart will be voiced, planned as the song is: what
//! sounds and in which form. A long chart is planned beside the panel, so that no
//! frame waits for it. Imports `settings`, `view` and the theory.

use crate::editor::view;
use crate::engine::settings::PlanFor;
use guidehand_theory::chart::Chart;
use guidehand_theory::key::Key;
use guidehand_theory::pipeline::{self, ChordInKey, Taste};
use guidehand_theory::plan::{Ends, Voiced};
use guidehand_theory::tension::TensionRequests;
use guidehand_theory::voicing::Form;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::thread;

/// Charts up to this many changes are planned at once.
const AT_ONCE: usize = 128;

/// What a plan depends on besides the chart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wanted {
    /// Texture, register and tensions.
    pub taste: Taste,
    /// Register and pinned key.
    pub plan_for: PlanFor,
}

type Plan = Vec<Option<(ChordInKey, Voiced)>>;

/// The voicings of a chart, as far as they are known.
#[derive(Default)]
pub struct Forms {
    /// For each change of the chart as played.
    plan: Plan,
    made_for: Option<(Arc<Chart>, Wanted)>,
    /// Counts the plans; it wraps.
    edition: u32,
    /// A plan under way, and what for.
    coming: Option<(Receiver<Plan>, Arc<Chart>, Wanted)>,
}

impl Forms {
    /// Sees to it that the voicings are those of this chart; true while a plan is
    /// still under way. Of a chart that has changed the old voicings are dropped,
    /// of other settings they stay until the new ones are there.
    pub fn keep(&mut self, chart: &Arc<Chart>, wanted: Wanted) -> bool {
        self.take();
        let same = |(of, with): &(Arc<Chart>, Wanted)| Arc::ptr_eq(of, chart) && *with == wanted;
        if self.made_for.as_ref().is_some_and(same) {
            return false;
        }
        let other = |(of, _): &(Arc<Chart>, Wanted)| !Arc::ptr_eq(of, chart);
        if !self.plan.is_empty() && self.made_for.as_ref().is_none_or(other) {
            self.put(Vec::new());
            self.made_for = None;
        }
        if chart.changes.len() <= AT_ONCE {
            self.put(plan(chart, wanted));
            self.made_for = Some((chart.clone(), wanted));
            return false;
        }
        if self.coming.is_none() {
            self.begin(chart, wanted);
        }
        true
    }

    fn begin(&mut self, chart: &Arc<Chart>, wanted: Wanted) {
        let (there, here) = channel();
        let of = chart.clone();
        let work = move || {
            // No one waits any more where the panel is gone.
            let _gone = there.send(plan(&of, wanted));
        };
        let thread = thread::Builder::new().name("guidehand-forms".to_owned());
        if thread.spawn(work).is_ok() {
            self.coming = Some((here, chart.clone(), wanted));
        }
    }

    /// Takes over a plan that is ready, if it still is for the chart in hand.
    fn take(&mut self) {
        let Some((receiver, chart, wanted)) = self.coming.take() else {
            return;
        };
        match receiver.try_recv() {
            Ok(plan) => {
                self.put(plan);
                self.made_for = Some((chart, wanted));
            }
            Err(TryRecvError::Empty) => self.coming = Some((receiver, chart, wanted)),
            Err(TryRecvError::Disconnected) => {}
        }
    }

    fn put(&mut self, plan: Plan) {
        self.plan = plan;
        self.edition = self.edition.wrapping_add(1);
    }

    /// Another number whenever the voicings are other ones.
    #[must_use]
    pub const fn edition(&self) -> u32 {
        self.edition
    }

    /// The voicing of a change, if it is known and the chart is not silent there.
    #[must_use]
    pub fn of(&self, change: usize) -> Option<&(ChordInKey, Voiced)> {
        self.plan.get(change)?.as_ref()
    }
}

/// Voices a chart as [`crate::engine::planned::PlannedChart`] does.
fn plan(chart: &Chart, wanted: Wanted) -> Plan {
    let Wanted { taste, plan_for } = wanted;
    let placed = pipeline::place(chart, plan_for.pinned);
    let planned = pipeline::plan(&placed, taste.texture, plan_for.register, Ends::Cyclic);
    let as_planned =
        taste.requests == TensionRequests::default() && taste.register == plan_for.register;
    let voiced = |placed: ChordInKey, planned: Voiced| {
        if as_planned {
            planned
        } else {
            pipeline::adapt(&planned, &placed, &taste)
        }
    };
    let pairs = placed.into_iter().zip(planned);
    pairs
        .map(|(placed, planned)| placed.zip(planned).map(|(p, v)| (p, voiced(p, v))))
        .collect()
}

/// The form of a voicing in the room under a symbol: its letter, or a short word.
#[must_use]
pub const fn short(placed: &ChordInKey, voiced: &Voiced) -> &'static str {
    match Form::of(voiced.voicing.position, placed.chord.quality) {
        Form::A => "A",
        Form::B => "B",
        Form::Fourths => "4ths",
        Form::OnFifth => "on 5",
        Form::OnNinth => "on 9",
        Form::AsPlayed => "",
    }
}

/// The chord as it sounds, where that differs from what is written: whole, and
/// shorter where there is no room.
#[must_use]
pub fn sounding(placed: &ChordInKey, voiced: &Voiced) -> Vec<String> {
    let chord = placed.sounding(&voiced.voicing);
    if chord == placed.written {
        return Vec::new();
    }
    let (written, letters) = (view::letters(&placed.written), view::letters(&chord));
    let inside = letters.brackets.trim_matches(['(', ')']);
    let added = if written.quality == letters.quality {
        inside.to_owned()
    } else {
        format!("{} {inside}", letters.quality)
    };
    vec![
        view::symbol(&chord).replace(',', " "),
        added.trim().to_owned(),
        added.replace(' ', ""),
    ]
}

/// The places in the text from which another key holds, in their order there,
/// with the key.
#[must_use]
pub fn keys(chart: &Chart, forms: &Forms) -> Vec<(usize, Key)> {
    let changes = chart.changes.iter().enumerate();
    let mut placed: Vec<(usize, Key)> = changes
        .filter_map(|(i, change)| Some((change.source.start, forms.of(i)?.0.function.key)))
        .collect();
    // Of several playings the first one counts.
    placed.sort_by_key(|(at, _)| *at);
    placed.dedup_by_key(|(at, _)| *at);
    placed.dedup_by_key(|(_, key)| *key);
    placed
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::planned::PlannedChart;
    use guidehand_theory::chart;
    use guidehand_theory::shape::Texture;
    use guidehand_theory::tension::NinthRequest;
    use std::time::{Duration, Instant};

    const TEXT: &str = "| Dm7 | G7 | Cmaj7 | A7 | Dm7 Db7 | N.C. | Gm7 C7 | F6 |";

    fn wanted() -> Wanted {
        Wanted {
            taste: Taste::default(),
            plan_for: PlanFor::default(),
        }
    }

    fn chart_of(text: &str) -> Arc<Chart> {
        Arc::new(chart::parse(text).unwrap())
    }

    /// What the panel says of a chart is what the song plays.
    #[test]
    fn forms_are_those_of_the_song() {
        let chart = chart_of(TEXT);
        let song = PlannedChart::plan(&chart, PlanFor::default(), 0);
        for texture in Texture::ALL {
            for ninth in [NinthRequest::ByContext, NinthRequest::Sharp9] {
                let mut taste = Taste {
                    texture,
                    ..Taste::default()
                };
                taste.requests.ninth = ninth;
                let mut forms = Forms::default();
                let plan_for = PlanFor::default();
                assert!(!forms.keep(&chart, Wanted { taste, plan_for }));
                for change in 0..chart.changes.len() {
                    let ours = forms.of(change).copied();
                    assert_eq!(ours, song.voiced(change, &taste), "{texture:?} {change}");
                }
            }
        }
    }

    #[test]
    fn a_long_chart_is_planned_beside_the_panel() {
        let chart = chart_of(&"| Dm7 | G7 | Cmaj7 | A7 |\n".repeat(50));
        let mut forms = Forms::default();
        let begun = Instant::now();
        assert!(forms.keep(&chart, wanted()));
        assert!(begun.elapsed() < Duration::from_millis(50));
        assert_eq!(forms.of(0), None);
        while forms.keep(&chart, wanted()) {
            assert!(begun.elapsed() < Duration::from_secs(60));
            thread::sleep(Duration::from_millis(5));
        }
        assert!(forms.of(199).is_some());
        // Another chart: what was known of the old one is not shown for it.
        let other = chart_of(&"| Ebm7 | Ab7 |\n".repeat(100));
        assert!(forms.keep(&other, wanted()));
        assert_eq!(forms.of(0), None);
    }

    #[test]
    fn the_sounding_chord_is_told_where_it_differs() {
        let chart = chart_of("| Dm7 | G7 | Cm6 | C |");
        let mut forms = Forms::default();
        forms.keep(&chart, wanted());
        let told = |change: usize| {
            let (placed, voiced) = forms.of(change).unwrap();
            sounding(placed, voiced)
        };
        assert_eq!(told(1), ["G7(♭9 ♭13)", "♭9 ♭13", "♭9♭13"]);
        let plain = chart_of("| Dm9 |");
        forms.keep(&plain, wanted());
        let (placed, voiced) = forms.of(0).unwrap();
        assert_eq!(sounding(placed, voiced), Vec::<String>::new());
    }

    #[test]
    fn keys_are_told_where_they_change() {
        let text = "| Dm7 | G7 | Cmaj7 | % |\n| Abm7 | Db7 | Gbmaj7 | % |";
        let chart = chart_of(text);
        let mut forms = Forms::default();
        forms.keep(&chart, wanted());
        let keys: Vec<String> = keys(&chart, &forms)
            .iter()
            .map(|(at, key)| format!("{at} {key}"))
            .collect();
        let second = format!("{} Gb major", text.find("Abm7").unwrap());
        assert_eq!(keys, ["2 C major", &second]);
    }
}
