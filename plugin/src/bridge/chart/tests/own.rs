//! The player's own voicings: where they are planned, that they sound beside a text with errors, and
//! that a saved chart brings them back.

use super::*;
use crate::document::{Document, MyVoicings};

use guidehand_theory::degree::Degree;
use guidehand_theory::own_shape::{Own, OwnShape, ShapeFamily, ShapeNote};
use guidehand_theory::tension::{NinthRequest, TensionRequests};

const TEXT: &str = "| Dm7 | G7 | Cmaj7 | Am7 |";

/// The ninth is doubled.
const DOUBLED: [Degree; 5] = [
    Degree::Flat7,
    Degree::Nine,
    Degree::Flat3,
    Degree::Five,
    Degree::Nine,
];

/// What that gives over Dm7: C4 E4 F4 A4 E5 (common practice, no published source).
const DM9: [u8; 5] = [60, 64, 65, 69, 76];

fn shape() -> OwnShape {
    let notes = DOUBLED.map(|degree| ShapeNote { degree, octaves: 0 });
    OwnShape::new(ShapeFamily::MinorSeventh, &notes).unwrap()
}

fn own() -> Arc<MyVoicings> {
    Arc::new(
        MyVoicings::default()
            .with("Doubled ninth", shape())
            .unwrap(),
    )
}

fn document(text: &str) -> Document {
    Document::from(text).with_own(own())
}

fn keys(chart: &PlannedChart, change: usize, taste: &Taste) -> Vec<u8> {
    let (_, voiced) = chart.voiced(change, taste).unwrap();
    voiced.voicing.notes().map(MidiNote::number).collect()
}

#[test]
fn the_plan_in_own_shapes_is_that_of_the_theory() {
    let (cell, mut receiver) = ChartCell::new();
    cell.set_text(document(TEXT));
    let chart = receiver.take().unwrap();
    assert_eq!(chart.unplanned(), None);
    let shapes = [shape()];
    let own = Own::instead(&shapes);
    let register = Register::DEFAULT;
    let ends = Ends::Cyclic;
    let texture = Texture::FourNotes;
    let plan = pipeline::plan_with(&chart.chords(), texture, register, ends, &[], own);
    let plan: Vec<Voiced> = plan.into_iter().flatten().collect();
    assert_eq!(chart.plan_of(Shapes::Own).unwrap()[..], plan);
    let taste = Shapes::Own.taste();
    assert_eq!(keys(&chart, 0, &taste), DM9);
    assert_eq!(keys(&chart, 1, &taste).len(), 4, "no own shape serves G7");
    // The textures go without.
    let four = chart.plan_of(texture).unwrap();
    assert_eq!(four[0].voicing.voices().len(), 4);
    // Under other tensions it is the nearest voicing, own shapes among them.
    let taste = Taste {
        requests: TensionRequests {
            ninth: NinthRequest::Flat9,
            ..TensionRequests::default()
        },
        ..taste
    };
    for (change, planned) in plan.iter().enumerate() {
        let (placed, voiced) = chart.voiced(change, &taste).unwrap();
        let nearest = pipeline::adapt_with(planned, &placed, &taste, own);
        assert_eq!(voiced, nearest, "change {change}");
    }
    assert_eq!(keys(&chart, 0, &taste), DM9);
}

#[test]
fn without_own_shapes_nothing_more_is_planned() {
    let counted = Arc::new(Mutex::new(Vec::new()));
    let count = counted.clone();
    let planner = move |planned: &PlannedChart, shapes: Shapes| {
        count.lock().unwrap().push(shapes);
        planned.plan_in(shapes)
    };
    let (cell, mut receiver) = ChartCell::planned_by(Box::new(planner));
    cell.look_up(|| (PlanFor::default(), Shapes::Own));
    counted.lock().unwrap().clear();
    cell.set_text(TEXT);
    let chart = receiver.take().unwrap();
    let four = chart.plan_of(Texture::FourNotes).unwrap();
    assert!(Arc::ptr_eq(chart.plan_of(Shapes::Own).unwrap(), four));
    assert_eq!(counted.lock().unwrap().len(), Texture::ALL.len());
    counted.lock().unwrap().clear();
    cell.set_text(document(TEXT));
    assert_eq!(
        counted.lock().unwrap()[0],
        Shapes::Own,
        "what is in use comes first"
    );
    assert_eq!(counted.lock().unwrap().len(), Texture::ALL.len() + 1);
}

/// What the panel knows of the chart stays where own voicings change.
#[test]
fn other_voicings_are_no_other_chart() {
    let (cell, mut receiver) = ChartCell::new();
    cell.set_text(TEXT);
    assert!(receiver.take().is_some());
    let before = cell.latest().chart.clone().unwrap();
    cell.set_text(document(TEXT));
    let chart = receiver.take().unwrap();
    assert_eq!((chart.own().len(), chart.enters), (1, Enters::AtTheBarLine));
    let now = cell.latest();
    assert!(Arc::ptr_eq(&before, now.chart.as_ref().unwrap()));
    assert_eq!(now.document(), document(TEXT));
    // Another name changes nothing that sounds.
    let renamed = MyVoicings::default().with("Else", shape()).unwrap();
    let renamed = Document::from(TEXT).with_own(Arc::new(renamed));
    cell.set_text(&renamed);
    assert!(receiver.take().is_none(), "nothing enters anew");
    assert_eq!(cell.latest().document(), renamed);
}

#[test]
fn own_voicings_sound_beside_a_text_with_errors() {
    for typed in [false, true] {
        let (cell, mut receiver) = ChartCell::new();
        cell.set_text(TEXT);
        cell.set_text("| Dm7 | H7 |");
        assert!(receiver.take().is_some());
        if typed {
            cell.type_text(document("| Dm7 | H7 | C"));
        } else {
            cell.set_text(document("| Dm7 | H7 |"));
        }
        let chart = receiver.take().unwrap();
        assert_eq!(chart.enters, Enters::AtTheBarLine);
        assert_eq!(chart.changes.len(), 4);
        assert_eq!(keys(&chart, 0, &Shapes::Own.taste()), DM9);
        cell.set_text(Document::from("| Dm7 | H7 |"));
        let chart = receiver.take().unwrap();
        assert_eq!(chart.own(), []);
    }
}

#[test]
fn a_saved_chart_has_them_and_the_original_does_not_bring_others_back() {
    let (cell, mut receiver) = ChartCell::new();
    cell.set_text(TEXT);
    cell.try_out(Some("| Dm7 | Db7 | Cmaj7 | Am7 |"));
    cell.keep();
    let kept = cell.latest().document();
    cell.set_text(kept.with_own(own()));
    cell.set_text(document("| Dm7 | Db7 | H |"));
    let plays = receiver.take().unwrap();
    let taste = Shapes::Own.taste();
    assert_eq!(keys(&plays, 0, &taste), DM9);

    let saved = serde_json::to_string(&cell.saved()).unwrap();
    let (other, mut receiver) = ChartCell::new();
    other.load(serde_json::from_str(&saved).unwrap());
    assert_eq!(serde_json::to_string(&other.saved()).unwrap(), saved);
    let loaded = receiver.take().unwrap();
    assert_eq!(loaded.enters, Enters::AtOnce);
    for change in 0..4 {
        assert_eq!(keys(&loaded, change, &taste), keys(&plays, change, &taste));
    }
    other.restore();
    assert_eq!(&*other.latest().text, TEXT);
    assert_eq!(other.latest().own.shapes()[..], [shape()]);
    // Another state has its own.
    other.load(serde_json::from_str(r#"{"text":"| C6 |"}"#).unwrap());
    assert_eq!(*other.latest().own, MyVoicings::default());
    assert_eq!(receiver.take().unwrap().own(), []);
}

#[test]
fn voicings_that_are_no_voicings_cost_no_chart() {
    let (cell, mut receiver) = ChartCell::new();
    let odd = r#"{"text":"| C6 | F6 |","own_voicings":{"version":1,"voicings":[7]}}"#;
    cell.load(serde_json::from_str(odd).unwrap());
    assert_eq!(receiver.take().map(|chart| chart.changes.len()), Some(2));
    assert_eq!(serde_json::to_string(&cell.saved()).unwrap(), odd);
}
