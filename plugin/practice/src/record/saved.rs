//! A record as it is saved with the project: as in its file, with what a later version has saved. What
//! cannot be read is kept and saved again. Imports its head file, `session`, `merge`, `whole` and `read`.

use super::session::Session;
use super::whole::Record;
use super::{FORMAT, VERSION, merge, read};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use serde_json::{Map, Value, json};

impl Record {
    fn saved(&self) -> Value {
        let sessions = self.sessions.iter().map(Session::value);
        let sessions: Vec<Value> = sessions.chain(self.unread.iter().cloned()).collect();
        let mut saved = self.unknown.clone();
        saved.insert("format".to_owned(), json!(FORMAT));
        saved.insert("version".to_owned(), json!(self.version.max(VERSION)));
        saved.insert("sessions".to_owned(), sessions.into());
        saved.into()
    }

    fn loaded(saved: Value) -> Record {
        let mut fields = match saved {
            Value::Object(fields) => fields,
            Value::Null => Map::new(),
            other => Map::from_iter([("sessions".to_owned(), other)]),
        };
        let rows = match fields.remove("sessions") {
            Some(Value::Array(rows)) => rows,
            other => other.into_iter().collect(),
        };
        fields.remove("format");
        let version = fields.remove("version").and_then(|one| one.as_u64());
        let (mut sessions, mut unread) = (Vec::new(), Vec::new());
        for row in rows {
            match read::session(&row) {
                Some(session) => sessions.push(session),
                None => unread.push(row),
            }
        }
        Record {
            sessions: merge::in_order(sessions),
            unknown: fields,
            unread: merge::each_once(unread),
            // Of an earlier one nothing is left.
            version: version
                .filter(|version| *version > VERSION)
                .unwrap_or_default(),
            open: None,
        }
    }
}

impl Serialize for Record {
    fn serialize<S: Serializer>(&self, out: S) -> Result<S::Ok, S::Error> {
        self.saved().serialize(out)
    }
}

impl<'de> Deserialize<'de> for Record {
    fn deserialize<D: Deserializer<'de>>(reader: D) -> Result<Record, D::Error> {
        Value::deserialize(reader).map(Record::loaded)
    }
}
