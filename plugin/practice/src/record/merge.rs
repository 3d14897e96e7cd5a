//! Sessions joined without loss. Imports `rows` and `session`.

use super::rows::{Row, Rows};
use super::session::Session;
use serde_json::{Map, Value};

/// Values in the order of their text, each once.
pub(super) fn each_once(mut values: Vec<Value>) -> Vec<Value> {
    values.sort_by_cached_key(Value::to_string);
    values.dedup();
    values
}

/// Sessions in time. Those that begin as another one does are left out, for that one says it all; what
/// other versions say of a session is then said of all that have its id.
pub(super) fn in_order(mut sessions: Vec<Session>) -> Vec<Session> {
    sessions.sort_by_cached_key(|one| (one.id(), one.text()));
    let mut kept: Vec<Session> = Vec::with_capacity(sessions.len());
    let same = |a: &Session, b: &Session| a.id() == b.id();
    for group in sessions.chunk_by(same) {
        let [first, others @ ..] = group else {
            continue;
        };
        if others.is_empty() {
            kept.push(first.clone());
            continue;
        }
        let mut all = without_beginnings(group);
        let mut unknown = first.unknown.clone();
        for other in others {
            join(&mut unknown, &other.unknown);
        }
        for session in &mut all {
            session.unknown.clone_from(&unknown);
            for other in group {
                join_rows(&mut session.chords, &other.chords);
                join_rows(&mut session.ways, &other.ways);
            }
            session.weigh();
        }
        all.sort_by_cached_key(Session::text);
        kept.append(&mut all);
    }
    kept
}

/// The sessions of one id that no other one goes on from.
fn without_beginnings(group: &[Session]) -> Vec<Session> {
    let mut kept: Vec<Session> = Vec::new();
    for session in group {
        if kept.iter().any(|one| session.begins(one)) {
            continue;
        }
        kept.retain(|one| !one.begins(session));
        kept.push(session.clone());
    }
    kept
}

/// Adds what other versions say of rows that both have.
fn join_rows<T: Ord + Copy>(rows: &mut Rows<T>, other: &Rows<T>) {
    for row in rows.iter_mut() {
        let there = other.get(&row.what);
        let unknown = there.map(|there: &Row<T>| &there.unknown);
        unknown
            .into_iter()
            .for_each(|unknown| join(&mut row.unknown, unknown));
    }
}

/// Adds fields. Of two values of one field, that one stays whose text comes later, so that the order of
/// merging does not matter.
pub(super) fn join(fields: &mut Map<String, Value>, other: &Map<String, Value>) {
    for (name, value) in other {
        match fields.get_mut(name) {
            Some(mine) if mine.to_string() < value.to_string() => mine.clone_from(value),
            Some(_) => {}
            None => {
                fields.insert(name.clone(), value.clone());
            }
        }
    }
}
