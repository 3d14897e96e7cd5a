//! Own voicings as a file: what is written is read again, and what cannot be read is refused with
//! its place and the reason.

use guidehand_exchange::own_voicings::{self, KeepError, OwnVoicing, OwnVoicings};
use guidehand_theory::degree::Degree;
use guidehand_theory::own_shape::{MOST_SHAPES, OwnShape, ShapeFamily, ShapeNote};
use proptest::collection::vec;
use proptest::prelude::*;

/// The example in the guide.
const EXAMPLE: &str = r#"{
  "format": "guidehand voicings",
  "version": 1,
  "voicings": [
    {"name":"Doubled ninth","family":"m7","degrees":["b7","9","b3","5","9"]},
    {"name":"Wide","family":"7","degrees":["b7","3","13"],"octaves":[0,1,0]}
  ]
}
"#;

fn shape(family: ShapeFamily, notes: &[(Degree, u8)]) -> OwnShape {
    let note = |(degree, octaves): &(Degree, u8)| ShapeNote {
        degree: *degree,
        octaves: *octaves,
    };
    OwnShape::new(family, &notes.iter().map(note).collect::<Vec<_>>()).unwrap()
}

#[test]
fn the_example_is_read_and_written_as_it_stands() {
    assert!(include_str!("../../guide/own-voicings.md").contains(EXAMPLE));
    let read = own_voicings::read(EXAMPLE.as_bytes()).unwrap();
    let expected = [
        (
            "Doubled ninth",
            shape(
                ShapeFamily::MinorSeventh,
                &[
                    (Degree::Flat7, 0),
                    (Degree::Nine, 0),
                    (Degree::Flat3, 0),
                    (Degree::Five, 0),
                    (Degree::Nine, 0),
                ],
            ),
        ),
        (
            "Wide",
            shape(
                ShapeFamily::Dominant,
                &[
                    (Degree::Flat7, 0),
                    (Degree::Three, 1),
                    (Degree::Thirteen, 0),
                ],
            ),
        ),
    ];
    let found: Vec<(&str, OwnShape)> = read
        .voicings
        .iter()
        .map(|v| (v.name.as_str(), v.shape))
        .collect();
    assert_eq!(found, expected);
    assert_eq!(read.shapes(), expected.map(|(_, shape)| shape));
    assert_eq!(own_voicings::write(&read), EXAMPLE);
}

/// A row by itself, as saved songs have it.
#[test]
fn a_row_is_read_by_itself() {
    let read = own_voicings::read(EXAMPLE.as_bytes()).unwrap();
    for voicing in &read.voicings {
        let row = own_voicings::row(voicing);
        assert_eq!(own_voicings::voicing(&row).as_ref(), Some(voicing));
    }
    let row = own_voicings::row(&read.voicings[1]);
    let expected = serde_json::json!({
        "name": "Wide", "family": "7", "degrees": ["b7", "3", "13"], "octaves": [0, 1, 0],
    });
    assert_eq!(row, expected);
    for odd in [
        serde_json::json!("Wide"),
        serde_json::json!({"name": "Wide", "family": "7"}),
        serde_json::json!({"name": "Wide", "family": "7", "degrees": ["7", "3"]}),
    ] {
        assert_eq!(own_voicings::voicing(&odd), None, "{odd}");
    }
}

/// A mark of the byte order and other white space make no difference.
#[test]
fn white_space_makes_no_difference() {
    let read = own_voicings::read(EXAMPLE.as_bytes());
    let packed: String = EXAMPLE.split('\n').map(str::trim).collect();
    assert_eq!(own_voicings::read(packed.as_bytes()), read);
    let marked = format!("\u{feff}{EXAMPLE}");
    assert_eq!(own_voicings::read(marked.as_bytes()), read);
    let empty = OwnVoicings::default();
    let written = own_voicings::write(&empty);
    assert_eq!(own_voicings::read(written.as_bytes()), Ok(empty));
}

/// What another version has written is kept.
#[test]
fn unknown_fields_are_kept() {
    let text = EXAMPLE
        .replace("  ]\n}", "  ],\n  \"author\": {\"hand\":\"left\"}\n}")
        .replace("\"9\"]}", "\"9\"],\"colour\":[1,null]}");
    assert_ne!(text, EXAMPLE);
    let read = own_voicings::read(text.as_bytes()).unwrap();
    assert_eq!(read.unknown["author"]["hand"], "left");
    assert_eq!(read.voicings[0].unknown["colour"][0], 1);
    assert_eq!(own_voicings::write(&read), text);
}

#[test]
fn what_cannot_be_read_is_told_with_its_place() {
    let rows: [(&str, &str, &str); 25] = [
        ("", "x", "line 1, column 1: expected value"),
        (
            "  ]\n}\n",
            "",
            "line 7, column 0: voicing 3: EOF while parsing a list",
        ),
        (
            "]\n}\n",
            "]\n}\n[]",
            "line 9, column 1: trailing characters",
        ),
        (
            "\"guidehand voicings\"",
            "\"other\"",
            "line 2, column 19: expected \"guidehand voicings\", found \"other\"",
        ),
        (
            "\"version\": 1",
            "\"version\": 2",
            "line 3, column 14: version 2; versions 1 to 1 can be read",
        ),
        (
            "\"version\": 1",
            "\"version\": \"1\"",
            "line 3, column 16: invalid type: string \"1\", expected a version from 1 to 1",
        ),
        (
            "  \"version\": 1,\n",
            "",
            "line 7, column 1: the field \"version\" is missing",
        ),
        (
            "\"version\": 1",
            "\"version\": 1, \"version\": 1",
            "line 3, column 28: the field \"version\" comes twice",
        ),
        (
            "\"voicings\": [",
            "\"voicings\": 4, \"x\": [",
            "line 4, column 15: invalid type: integer `4`, expected a list of voicings",
        ),
        (
            "\"13\"]",
            "\"b8\"]",
            "line 6, column 56: voicing 2 (\"Wide\"): there is no degree \"b8\": expected one of 1, \
             b9, 2, 9, #9, b3, 3, b11, 4, 11, #11, b5, 5, #5, b13, 6, 13, bb7, b7, 7",
        ),
        (
            "\"m7\"",
            "\"m9\"",
            "line 5, column 41: voicing 1 (\"Doubled ninth\"): there is no family \"m9\": expected \
             one of maj7, 6/9, m7, m6, m(maj7), 7, sus, m7b5, dim7, alt",
        ),
        (
            "\"9\",\"b3\"",
            "\"9\",\"3\"",
            "line 5, column 75: voicing 1 (\"Doubled ninth\"): note 3: 3 never sounds over m7 chords",
        ),
        (
            "[0,1,0]",
            "[0,1]",
            "line 6, column 74: voicing 2 (\"Wide\"): 2 octaves for 3 degrees: expected one for each",
        ),
        (
            "[0,1,0]",
            "[0,9,0]",
            "line 6, column 76: voicing 2 (\"Wide\"): note 2 lies more than 3 octaves above its next \
             place",
        ),
        (
            "[0,1,0]",
            "[0,-1,0]",
            "line 6, column 73: voicing 2 (\"Wide\"): invalid type: integer `-1`, expected a number of \
             octaves",
        ),
        (
            "[\"b7\",\"3\",\"13\"],\"octaves\":[0,1,0]",
            "[\"b7\"]",
            "line 6, column 49: voicing 2 (\"Wide\"): a shape needs at least two notes",
        ),
        (
            "\"5\",\"9\"]",
            "\"5\",\"9\",\"5\",\"9\",\"5\",\"9\"]",
            "line 5, column 91: voicing 1 (\"Doubled ninth\"): more than 8 degrees",
        ),
        (
            "\"family\":\"7\",",
            "",
            "line 6, column 63: voicing 2 (\"Wide\"): the field \"family\" is missing",
        ),
        (
            "\"name\":\"Wide\",",
            "",
            "line 6, column 62: voicing 2: the field \"name\" is missing",
        ),
        (
            "\"Wide\"",
            "\" \"",
            "line 6, column 15: voicing 2 (\" \"): the name is empty",
        ),
        (
            "\"Wide\"",
            "7",
            "line 6, column 13: voicing 2: invalid type: integer `7`, expected a text",
        ),
        (
            "\"Wide\"",
            "\"two\\nlines\"",
            "line 6, column 24: voicing 2 (\"two\\nlines\"): the name holds a control character",
        ),
        (
            "{\"name\":\"Wide\"",
            "4, {\"name\":\"Wide\"",
            "line 6, column 5: voicing 2: invalid type: integer `4`, expected a voicing with \"name\", \
             \"family\" and \"degrees\"",
        ),
        (
            "\"Wide\",\"family\":\"7\",\"degrees\":[\"b7\",\"3\",\"13\"],\"octaves\":[0,1,0]",
            "\"Doubled ninth\",\"family\":\"m7\",\"degrees\":[\"b7\",\"b3\"]",
            "line 6, column 64: voicing 2 (\"Doubled ninth\"): another m7 voicing has this name",
        ),
        (
            "\"b7\",\"3\"",
            "\"b7\",3",
            "line 6, column 49: voicing 2 (\"Wide\"): invalid type: integer `3`, expected a text",
        ),
    ];
    let mut wrong = Vec::new();
    for (from, to, expected) in rows {
        let text = EXAMPLE.replacen(from, to, 1);
        assert_ne!(text, EXAMPLE, "{from}");
        let told = own_voicings::read(text.as_bytes()).unwrap_err().to_string();
        if told != expected {
            wrong.push(format!("{told}\n  for {expected}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn too_many_voicings_and_too_large_files_are_refused() {
    let mut all = OwnVoicings::default();
    let two = shape(
        ShapeFamily::Dominant,
        &[(Degree::Flat7, 0), (Degree::Three, 0)],
    );
    for number in 0..MOST_SHAPES {
        all.keep(OwnVoicing::new(&number.to_string(), two).unwrap())
            .unwrap();
    }
    let one_more = OwnVoicing::new("one more", two).unwrap();
    assert_eq!(all.keep(one_more.clone()), Err(KeepError::TooMany));
    let written = own_voicings::write(&all);
    assert_eq!(own_voicings::read(written.as_bytes()), Ok(all.clone()));
    all.voicings.push(one_more);
    let told = own_voicings::read(own_voicings::write(&all).as_bytes()).unwrap_err();
    assert_eq!(
        told.to_string(),
        "line 69, column 57: voicing 65 (\"one more\"): more than 64 voicings"
    );
    let large = vec![b' '; own_voicings::LARGEST_FILE + 1];
    let told = own_voicings::read(&large).unwrap_err();
    assert_eq!(told.to_string(), "larger than 1024 KiB");
}

#[test]
fn names_are_checked_when_they_are_given() {
    let two = shape(
        ShapeFamily::Dominant,
        &[(Degree::Flat7, 0), (Degree::Three, 0)],
    );
    let name = |name: &str| OwnVoicing::new(name, two).map(|voicing| voicing.name);
    assert_eq!(name(" Spread "), Ok("Spread".to_owned()));
    assert_eq!(name(" \t"), Err(KeepError::NoName));
    assert_eq!(name("a\u{7}b"), Err(KeepError::ControlCharacter));
    assert_eq!(name(&"é".repeat(65)), Err(KeepError::LongName(65)));
    assert!(name(&"é".repeat(64)).is_ok());
    let mut all = OwnVoicings::default();
    all.keep(OwnVoicing::new("Spread", two).unwrap()).unwrap();
    let taken = all.keep(OwnVoicing::new("Spread", two).unwrap());
    assert_eq!(taken, Err(KeepError::NameTaken(ShapeFamily::Dominant)));
    let minor = shape(
        ShapeFamily::MinorSixth,
        &[(Degree::Six, 0), (Degree::Flat3, 0)],
    );
    assert_eq!(all.keep(OwnVoicing::new("Spread", minor).unwrap()), Ok(()));
}

/// Any own voicing, under a name of any characters that a name may have.
fn voicing() -> impl Strategy<Value = OwnVoicing> {
    let family = prop::sample::select(ShapeFamily::ALL.to_vec());
    let more = vec((prop::sample::select(Degree::ALL.to_vec()), 0u8..2), 0..7);
    ("\\PC{1,20}", family, more).prop_filter_map("a name", |(name, family, more)| {
        let [third, seventh] = family.guide_tones();
        let mut notes = vec![(third, 0), (seventh, 0)];
        for note in more {
            let all: Vec<ShapeNote> = notes
                .iter()
                .chain([&note])
                .map(|(degree, octaves)| ShapeNote {
                    degree: *degree,
                    octaves: *octaves,
                })
                .collect();
            if OwnShape::new(family, &all).is_ok() {
                notes.push(note);
            }
        }
        OwnVoicing::new(&name, shape(family, &notes)).ok()
    })
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(400) })]

    #[test]
    fn what_is_written_is_read_again(voicings in vec(voicing(), 0..12)) {
        let mut all = OwnVoicings::default();
        for voicing in voicings {
            // A name that comes twice is left out.
            let _taken = all.keep(voicing);
        }
        let written = own_voicings::write(&all);
        prop_assert_eq!(own_voicings::read(written.as_bytes()), Ok(all));
    }

    /// Whatever the bytes are, they are read or refused.
    #[test]
    fn no_bytes_panic(bytes in vec(any::<u8>(), 0..400)) {
        let _refused = own_voicings::read(&bytes);
    }

    /// The same of bytes that are almost a file: some of them changed, cut out or doubled. What is
    /// read of them is written and read again.
    #[test]
    fn no_file_that_is_almost_one_panics(
        edits in vec((any::<prop::sample::Index>(), any::<u8>(), 0..4usize), 1..6),
    ) {
        let mut bytes = EXAMPLE.as_bytes().to_vec();
        for (at, byte, what) in edits {
            let at = at.index(bytes.len());
            match what {
                0 => bytes[at] = byte,
                1 => bytes.insert(at, byte),
                2 => bytes.truncate(at.max(1)),
                _ => { bytes.remove(at); }
            }
            if bytes.is_empty() {
                return Ok(());
            }
        }
        match own_voicings::read(&bytes) {
            Ok(read) => {
                let written = own_voicings::write(&read);
                prop_assert_eq!(own_voicings::read(written.as_bytes()), Ok(read));
            }
            Err(told) => {
                let lines = bytes.split(|b| *b == b'\n').count();
                prop_assert!(told.line <= lines && !told.problem.is_empty(), "{}", told);
            }
        }
    }
}
