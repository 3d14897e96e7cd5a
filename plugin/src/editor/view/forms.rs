//! How a chord of the chart is voiced, in the few words that have room under its symbol.
//! Pure; the panel's thread. The chart's region imports it.

use super::letters::letters;
use super::signs::symbol;
use guidehand_theory::pipeline::ChordInKey;
use guidehand_theory::plan::Voiced;
use guidehand_theory::tension::Reason;
use guidehand_theory::voicing::Form;

/// The mark of a voicing that is pinned.
pub const PINNED: char = '◆';

/// The form of a voicing in the room under a symbol: its letter, or a short word, behind a mark where
/// it is pinned.
#[must_use]
pub fn short(placed: &ChordInKey, voiced: &Voiced) -> String {
    let form = form(placed, voiced);
    match voiced.tensions.reason {
        Reason::Pinned if form.is_empty() => PINNED.to_string(),
        Reason::Pinned => format!("{PINNED} {form}"),
        _ => form.to_owned(),
    }
}

const fn form(placed: &ChordInKey, voiced: &Voiced) -> &'static str {
    match Form::of(voiced.voicing.position, placed.chord.quality) {
        Form::A => "A",
        Form::B => "B",
        Form::Fourths => "4ths",
        Form::OnFifth => "on 5",
        Form::OnNinth => "on 9",
        Form::AsPlayed => "",
    }
}

/// The chord as it sounds: whole, and where it differs from what is written, what is added to
/// it, for where there is no room.
#[must_use]
pub fn sounding(placed: &ChordInKey, voiced: &Voiced) -> Vec<String> {
    let chord = placed.sounding(&voiced.voicing);
    let whole = symbol(&chord);
    if chord == placed.written {
        return vec![whole];
    }
    let (written, sounding) = (letters(&placed.written), letters(&chord));
    let added = if written.quality == sounding.quality {
        sounding.brackets.trim_matches(['(', ')']).to_owned()
    } else {
        format!("{}{}", sounding.quality, sounding.brackets)
    };
    vec![whole, added]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::planned::PlannedChart;
    use crate::engine::settings::PlanFor;
    use guidehand_theory::chart;
    use guidehand_theory::pipeline::Taste;

    #[test]
    fn the_sounding_chord_is_told_of_every_chord() {
        let told = |text: &str, change: usize| {
            let chart = chart::parse(text).unwrap();
            let planned = PlannedChart::plan(&chart, PlanFor::default(), 0);
            let (placed, voiced) = planned.voiced(change, &Taste::default()).unwrap();
            sounding(&placed, &voiced)
        };
        let chart = "| Dm7 | G7 | Cm6 | C |";
        assert_eq!(told(chart, 1), ["G7(♭9,♭13)", "♭9,♭13"]);
        assert_eq!(told("| Dm9 |", 0), ["Dm9"]);
    }
}
