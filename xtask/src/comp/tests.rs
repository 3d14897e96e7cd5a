//! The options of the command, and what is said of mistakes in them.

use super::*;
use guidehand_report::request::PlayedBy;
use guidehand_theory::tension::NinthRequest;

fn arguments(words: &[&str]) -> Result<Arguments, String> {
    read(&mut lexopt::Parser::from_args(words)).map_err(|error| error.to_string())
}

#[test]
fn a_chart_and_options_are_read() {
    let read = arguments(&[
        "| Dm7 |",
        "--key",
        "Bb",
        "--tempo",
        "96.5",
        "--texture",
        "two-hands",
        "--rhythm",
        "two-and-four",
        "--staves",
        "grand",
        "--forms",
        "--json",
        "--swing",
        "58",
        "--touch",
        "12",
        "--touch-velocity",
        "6",
        "--variation",
        "70",
        "--seed",
        "11",
        "--ninth",
        "b9",
        "--minor-tonic",
        "B7",
        "--pin",
        "1=F3 A3 C4 E4",
        "--pin",
        "1.2=F3 C4",
        "--scale",
        "1=Dorian",
    ]);
    let Ok(read) = read else { panic!("not read") };
    assert_eq!(read.chart, ChartSource::Text("| Dm7 |".to_owned()));
    assert_eq!(
        read.request.key.map(|k| k.to_string()).as_deref(),
        Some("Bb major")
    );
    assert_eq!(read.request.texture, Texture::TwoHands);
    assert_eq!(read.request.rhythm, Rhythm::TwoAndFour);
    let hand = PlayedBy {
        swing: Some(58),
        touch_ms: 12,
        touch_velocity: 6,
        variation: 70,
        seed: Some(11),
    };
    assert_eq!(read.request.hand, hand);
    assert_eq!(read.request.requests.ninth, NinthRequest::Flat9);
    let asked = [("Ninth", "b9"), ("Minor tonic", "b7")];
    assert_eq!(read.request.asked, asked);
    assert_eq!(
        (read.words, read.staves),
        (Words::FORMS, Some(Staves::Grand))
    );
    assert!(read.json && read.mid.is_none());
    assert_eq!((read.pins.len(), read.scales.len()), (2, 1));
}

#[test]
fn a_melody_is_typed_or_comes_from_a_file() {
    let words = [
        "|C6|", "--melody", "| C5/1 |", "--under", "drop2", "--yield", "tensions",
    ];
    let Ok(read) = arguments(&words) else {
        panic!("not read")
    };
    let typed = MelodySource::Text("| C5/1 |".to_owned());
    assert_eq!(read.melody, Some(typed));
    assert_eq!(read.request.blocks, Some(Style::DropTwo));
    assert_eq!(read.request.yielding, Yielding::Tensions);
    let words = [
        "--melody-from",
        "a.mid",
        "--melody-part",
        "Lead",
        "--single-under",
        "0",
    ];
    let Ok(read) = arguments(&words) else {
        panic!("not read")
    };
    let path = PathBuf::from("a.mid");
    assert_eq!(read.chart, ChartSource::File(path.clone()), "the chart too");
    let part = Some("Lead".to_owned());
    assert_eq!(read.melody, Some(MelodySource::File { path, part }));
    assert_eq!(read.request.single_under_ms, 0);
    for (words, expected) in [
        (
            &["|C6|", "--under", "close"][..],
            "--under needs --melody NOTES",
        ),
        (
            &["|C6|", "--melody-part", "Lead"],
            "goes with --melody-from FILE",
        ),
        (
            &["|C6|", "--melody", "| C5 |", "--melody-from", "a"],
            "a second melody",
        ),
        (
            &["|C6|", "--melody", "| C5 |", "--under", "x"],
            "expected close, drop2 or",
        ),
        (
            &["|C6|", "--melody", "| C5 |", "--yield", "x"],
            "expected off, tensions or",
        ),
    ] {
        let error = arguments(words).err().unwrap_or_default();
        assert!(error.contains(expected), "{words:?}: {error}");
    }
}

#[test]
fn own_voicings_come_from_a_file() {
    for words in [
        &["|C6|", "--voicings", "a.json"][..],
        &["|C6|", "--voicings", "a.json", "--texture", "my"],
        &["|C6|", "--texture", "My-voicings", "--voicings", "a.json"],
    ] {
        let Ok(read) = arguments(words) else {
            panic!("{words:?} is not read")
        };
        assert_eq!(read.voicings.as_deref(), Some(Path::new("a.json")));
        assert_eq!(read.request.texture, Texture::FourNotes);
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.json");
    let missing = voicings_in(&path).unwrap_err();
    assert!(missing.to_string().contains("cannot read"), "{missing}");
    std::fs::write(&path, own_voicings::write(&OwnVoicings::default())).unwrap();
    assert_eq!(voicings_in(&path).unwrap(), OwnVoicings::default());
    std::fs::write(&path, "{").unwrap();
    let broken = voicings_in(&path).unwrap_err();
    assert!(broken.is::<Misunderstood>());
    assert!(broken.to_string().contains("line 1, column 1"), "{broken}");
}

#[test]
fn the_tone_plays_only_where_it_is_written() {
    for (words, plays) in [(&["-"][..], false), (&["-", "--wav", "a.wav"], true)] {
        assert!(arguments(words).is_ok_and(|read| read.request.tone == plays));
    }
}

#[test]
fn a_key_can_be_a_blues() {
    for (words, key) in [
        ("C#", "C# major"),
        ("F#m", "F# minor"),
        ("Bb blues", "Bb blues"),
    ] {
        let Ok(read) = arguments(&["| C7 |", "--key", words]) else {
            panic!("{words} is not read")
        };
        assert_eq!(
            read.request.key.map(|key| key.to_string()),
            Some(key.to_owned())
        );
    }
}

#[test]
fn mistakes_say_what_was_expected() {
    for (words, expected) in [
        (&[][..], "a chart is missing"),
        (&["|C6|", "--tempo", "5"], "20 to 400"),
        (&["|C6|", "--texture", "thick"], "two hands"),
        (&["|C6|", "--texture", "thick"], "my voicings"),
        (&["|C6|", "--texture", "my"], "needs --voicings FILE"),
        (
            &["|C6|", "--texture", "open", "--voicings", "a.json"],
            "goes with --texture my",
        ),
        (&["|C6|", "--rhythm", "polka"], "late charleston"),
        (&["|C6|", "--staves", "three"], "one, grand or none"),
        (
            &["|C6|", "--words", "forms,notes"],
            "forms, degrees and scales",
        ),
        (&["|C6|", "--swing", "80"], "a swing in percent, 50 to 75"),
        (&["|C6|", "--touch", "-1"], "0 to 30"),
        (&["|C6|", "--variation", "much"], "0 to 100"),
        (&["|C6|", "--seed", "10000"], "0 to 9999"),
        (
            &["|C6|", "--thirteenth", "b14"],
            "for --thirteenth: None, 13, b13",
        ),
        (&["|C6|", "--key", "H"], "F#m"),
        (&["|C6|", "--key", "E#"], "11 sharps; expected F major"),
        (&["|C6|", "--key", "Dbm"], "8 flats; expected C# minor"),
        (&["|C6|", "--mid", ""], "the name of a file"),
        (&["|C6|", "--file", "chart.txt"], "--file"),
        (&["|C6|", "more"], "a second chart, \"more\""),
    ] {
        let Err(error) = arguments(words) else {
            panic!("{words:?} was read")
        };
        assert!(error.contains(expected), "{words:?}: {error}");
    }
}
