//! An exercise as JSON. What is missing or cannot be read is as at first, and fields of later versions
//! are kept. Imports its head file and `choice`.

use super::Exercise;
use crate::choice::{
    AskedPosition, ChartKeys, Help, KeyOrder, Origin, Pace, Progression, Tempo, Which,
};
use guidehand_theory::degree::{Degree, DegreeSet};
use guidehand_theory::judge::Accepts;
use guidehand_theory::key::Key;
use guidehand_theory::own_shape::ShapeFamily;
use guidehand_theory::pitch::{NoteName, PitchClass};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use serde_json::{Map, Value, json};

const AS_WRITTEN: &str = "as written";
const EACH_ROUND: &str = "each round";
const FREE: &str = "free";
const IN_TIME: &str = "in time";
const HOST: &str = "host";

const ACCEPTS: [(Accepts, &str); 3] = [
    (Accepts::Exact, "exact"),
    (Accepts::SameTensions, "same tensions"),
    (Accepts::AnyGood, "any good"),
];

/// The everyday name of a key's tonic.
fn key_name(tonic: PitchClass) -> String {
    Key::C_MAJOR.name(tonic).to_string()
}

fn key_named(name: &str) -> Option<PitchClass> {
    let (name, rest) = NoteName::read(name)?;
    rest.is_empty().then(|| name.class())
}

fn degrees_named(names: &str) -> Option<DegreeSet> {
    names.split_whitespace().map(Degree::from_name).collect()
}

/// The fields of an exercise that are still to be read.
struct Fields(Map<String, Value>);

impl Fields {
    fn take<T>(&mut self, name: &str, read: impl Fn(&Value) -> Option<T>) -> Option<T> {
        self.0.remove(name).as_ref().and_then(read)
    }

    fn choice<T>(&mut self, name: &str, read: impl Fn(&str) -> Option<T>) -> Option<T> {
        self.take(name, |value| read(value.as_str()?))
    }

    /// A list without what cannot be read.
    fn list<T>(&mut self, name: &str, read: impl Fn(&str) -> Option<T>) -> Option<Vec<T>> {
        self.take(name, |value| {
            let texts = value.as_array()?.iter().filter_map(Value::as_str);
            Some(texts.filter_map(&read).collect())
        })
    }

    /// A whole number in a byte; what is too large becomes the largest.
    fn byte(&mut self, name: &str) -> Option<u8> {
        self.take(name, |value| value.as_u64().map(saturated))
    }
}

fn saturated<T: TryFrom<u64> + From<u8>>(number: u64) -> T {
    T::try_from(number).unwrap_or_else(|_| T::from(u8::MAX))
}

impl Exercise {
    /// The exercise that a JSON value says. Any value will do.
    fn loaded(value: Value) -> Exercise {
        let Value::Object(map) = value else {
            return Exercise::default();
        };
        let mut fields = Fields(map);
        let first = Exercise::default();
        let bars = fields.take("bars", |value| match value.as_array()?.as_slice() {
            [from, to] => {
                let bar = |value: &Value| Some(u16::try_from(value.as_u64()?).unwrap_or(u16::MAX));
                Some((bar(from)?, bar(to)?))
            }
            _ => None,
        });
        let chart_keys = fields.choice("chart_keys", |name| match name {
            AS_WRITTEN => Some(ChartKeys::AsWritten),
            EACH_ROUND => Some(ChartKeys::EachRound),
            key => key_named(key).map(ChartKeys::In),
        });
        let accepts = fields.choice("accepts", |name| {
            let mut all = ACCEPTS.into_iter();
            all.find(|(_, known)| *known == name).map(|(one, _)| one)
        });
        let more_after_s = match fields.0.get("more_after_s") {
            Some(Value::Null) => {
                fields.0.remove("more_after_s");
                None
            }
            _ => fields.byte("more_after_s").or(first.more_after_s),
        };
        let pace = pace(&mut fields);
        let exercise = Exercise {
            origin: fields
                .choice("origin", Origin::from_name)
                .unwrap_or_default(),
            bars,
            chart_keys: chart_keys.unwrap_or_default(),
            families: fields
                .list("families", ShapeFamily::from_name)
                .unwrap_or(first.families),
            dressings: fields.list("dressings", degrees_named).unwrap_or_default(),
            progression: fields
                .choice("progression", Progression::from_name)
                .unwrap_or_default(),
            position: fields
                .choice("position", AskedPosition::from_name)
                .unwrap_or_default(),
            keys: fields.list("keys", key_named).unwrap_or(first.keys),
            order: fields
                .choice("order", KeyOrder::from_name)
                .unwrap_or_default(),
            which: fields.choice("which", Which::from_name).unwrap_or_default(),
            accepts: accepts.unwrap_or(first.accepts),
            leading: fields.take("leading", Value::as_bool).unwrap_or_default(),
            pace,
            help: fields.choice("help", Help::from_name).unwrap_or_default(),
            more_after_s,
            answer_sounds: fields
                .take("answer_sounds", Value::as_bool)
                .unwrap_or_default(),
            seed: fields.take("seed", Value::as_u64).unwrap_or(first.seed),
            unknown: fields.0,
        };
        exercise.limited()
    }

    fn saved(&self) -> Map<String, Value> {
        let keys = self.keys.iter().map(|key| key_name(*key));
        let families = self.families.iter().map(|family| family.name());
        let dressings = self.dressings.iter().map(DegreeSet::to_string);
        let chart_keys = match self.chart_keys {
            ChartKeys::AsWritten => AS_WRITTEN.to_owned(),
            ChartKeys::EachRound => EACH_ROUND.to_owned(),
            ChartKeys::In(tonic) => key_name(tonic),
        };
        let accepts = ACCEPTS.into_iter().find(|(one, _)| *one == self.accepts);
        let fields = [
            ("origin", json!(self.origin.name())),
            ("chart_keys", json!(chart_keys)),
            ("families", families.collect::<Vec<_>>().into()),
            ("dressings", dressings.collect::<Vec<_>>().into()),
            ("progression", json!(self.progression.name())),
            ("position", json!(self.position.name())),
            ("keys", keys.collect::<Vec<_>>().into()),
            ("order", json!(self.order.name())),
            ("which", json!(self.which.name())),
            ("accepts", json!(accepts.map(|(_, name)| name))),
            ("leading", json!(self.leading)),
            ("help", json!(self.help.name())),
            ("more_after_s", json!(self.more_after_s)),
            ("answer_sounds", json!(self.answer_sounds)),
            ("seed", json!(self.seed)),
        ];
        let bars = self
            .bars
            .map(|(first, last)| ("bars", json!([first, last])));
        let mut saved = self.unknown.clone();
        let fields = fields.into_iter().chain(bars).chain(saved_pace(self.pace));
        saved.extend(fields.map(|(name, value)| (name.to_owned(), value)));
        saved
    }
}

fn pace(fields: &mut Fields) -> Pace {
    let in_time = fields.choice("pace", |name| Some(name == IN_TIME));
    let host = fields.choice("tempo", |name| Some(name == HOST));
    let bpm = fields.take("bpm", Value::as_f64);
    let faster_by = fields.take("faster_by", Value::as_f64);
    let beats_ahead = fields.byte("beats_ahead");
    let count_in_bars = fields.byte("count_in_bars");
    if in_time != Some(true) {
        return Pace::Free;
    }
    Pace::InTime {
        tempo: if host.unwrap_or(bpm.is_none()) {
            Tempo::Host
        } else {
            Tempo::Own {
                bpm: bpm.unwrap_or(Tempo::FIRST_BPM),
                faster_by: faster_by.unwrap_or_default(),
            }
        },
        beats_ahead: beats_ahead.unwrap_or(4),
        count_in_bars: count_in_bars.unwrap_or(1),
    }
}

fn saved_pace(pace: Pace) -> Vec<(&'static str, Value)> {
    let Pace::InTime {
        tempo,
        beats_ahead,
        count_in_bars,
    } = pace
    else {
        return vec![("pace", json!(FREE))];
    };
    let mut fields = vec![
        ("pace", json!(IN_TIME)),
        ("beats_ahead", json!(beats_ahead)),
        ("count_in_bars", json!(count_in_bars)),
    ];
    match tempo {
        Tempo::Host => fields.push(("tempo", json!(HOST))),
        Tempo::Own { bpm, faster_by } => {
            fields.push(("bpm", json!(bpm)));
            fields.push(("faster_by", json!(faster_by)));
        }
    }
    fields
}

impl Serialize for Exercise {
    fn serialize<S: Serializer>(&self, out: S) -> Result<S::Ok, S::Error> {
        self.saved().serialize(out)
    }
}

impl<'de> Deserialize<'de> for Exercise {
    fn deserialize<D: Deserializer<'de>>(reader: D) -> Result<Exercise, D::Error> {
        Value::deserialize(reader).map(Exercise::loaded)
    }
}

#[cfg(test)]
mod tests;
