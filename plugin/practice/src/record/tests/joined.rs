//! Records that are merged.

use super::*;

/// A session that went on in two ways is kept twice. What another version says of its beginning is then said
/// of both, whichever two are merged first.
#[test]
fn what_is_said_of_a_beginning_is_said_of_all_that_goes_on() {
    let begin = [("Dm7, third", right(1000))];
    let with = |more| record(at(1, 12, 0), &[begin[0], more]);
    let mut beginning = record(at(1, 12, 0), &begin);
    let session = &mut beginning.sessions[0];
    session.unknown.insert("mood".to_owned(), 5.into());
    for row in session.chords.iter_mut() {
        row.unknown.insert("finger".to_owned(), 3.into());
    }
    session.weigh();
    let one = with(("G7(9,13), seventh", right(900)));
    let other = with(("G7(9,13), third", missed(800)));
    let merge = |a: &Record, b: &Record| a.merge(b).unwrap();
    let merged = merge(&merge(&beginning, &one), &other);
    assert_eq!(merged, merge(&beginning, &merge(&one, &other)));
    assert_eq!(merged, merge(&merge(&other, &one), &beginning));
    assert_eq!(merged.sessions().len(), 2);
    for session in merged.sessions() {
        assert!(session.unknown.contains_key("mood"));
        let dm7 = session.chords.get(&cell("Dm7, third")).unwrap();
        assert!(dm7.unknown.contains_key("finger"));
    }
}
