//! Melodies in files: which line is one, its notes as they are played, what is left out of it, and
//! our own files read again. The elements are those of W3C MusicXML 4.0; each check names its own.

mod random;

use guidehand_exchange::import::{self, ImportError, Imported, Wanted, Wish};
use guidehand_exchange::midi;
use guidehand_exchange::musicxml::{self, Form, Page, Staves};
use guidehand_exchange::score::{Score, Sung};
use guidehand_theory::candidates::Register;
use guidehand_theory::chart::{self, Chart};
use guidehand_theory::comping::Yielding;
use guidehand_theory::melody::{self, Melody, MelodyNote};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::shape::Texture;
use guidehand_theory::under::{Style, Taste};

/// A quarter note has 12 units in these files.
const DIVISIONS: &str = "<divisions>12</divisions>";

fn note(pitch: &str, duration: u32, more: &str) -> String {
    let (step, rest) = pitch.split_at(1);
    let (sign, octave) = rest.split_at(rest.len() - 1);
    let alter = match sign {
        "#" => "<alter>1</alter>",
        "b" => "<alter>-1</alter>",
        _ => "",
    };
    format!(
        "<note>{}<pitch><step>{step}</step>{alter}<octave>{octave}</octave></pitch>\
         <duration>{duration}</duration>{}</note>",
        if more.contains("<chord/>") {
            "<chord/>"
        } else {
            ""
        },
        more.replace("<chord/>", "")
    )
}

fn rest(duration: u32) -> String {
    format!("<note><rest/><duration>{duration}</duration></note>")
}

fn harmony(root: &str, kind: &str) -> String {
    format!("<harmony><root><root-step>{root}</root-step></root><kind>{kind}</kind></harmony>")
}

/// A part of bars with their numbers, the first with these attributes too.
fn part(attributes: &str, bars: &[String]) -> String {
    let bars = bars.iter().zip(1..).map(|(bar, number)| {
        let first = format!("<attributes>{DIVISIONS}{attributes}</attributes>");
        let first = if number == 1 { first } else { String::new() };
        format!("<measure number=\"{number}\">{first}{bar}</measure>")
    });
    bars.collect()
}

fn score(parts: &[(&str, String)]) -> String {
    let list = parts.iter().zip(1..).map(|((name, _), nth)| {
        format!("<score-part id=\"P{nth}\"><part-name>{name}</part-name></score-part>")
    });
    let list: String = list.collect();
    let parts = parts
        .iter()
        .zip(1..)
        .map(|((_, bars), nth)| format!("<part id=\"P{nth}\">{bars}</part>"));
    let parts: String = parts.collect();
    format!("<score-partwise version=\"4.0\"><part-list>{list}</part-list>{parts}</score-partwise>")
}

fn lead(bars: &[String]) -> String {
    score(&[("Flute", part("", bars))])
}

fn read(bytes: &[u8], name: Option<&str>) -> Imported {
    let wish = Wish {
        part: None,
        melody: Wanted::of(name),
    };
    import::read(bytes, wish).unwrap_or_else(|error| panic!("{error}"))
}

/// The chart of a file, its melody as text, and what is told.
fn sung(file: &str, name: Option<&str>) -> (String, String, Vec<String>) {
    let imported = read(file.as_bytes(), name);
    let chart = chart::parse(&imported.text).unwrap();
    let melody = imported.melody.map(|found| found.melody.text(&chart));
    let missed = imported.missed.iter().map(ToString::to_string);
    let told = imported.remarks.iter().cloned().chain(missed).collect();
    (imported.text, melody.unwrap_or_default(), told)
}

const TIE: &str = "<tie type=\"start\"/>";
const TIED: &str = "<tie type=\"stop\"/>";

/// `note`, `duration`, `tie`, `rest`, `time-modification`.
#[test]
fn notes_ties_rests_and_triplets_come_in() {
    let file = lead(&[
        format!(
            "{}{}{}{}{}",
            harmony("C", "major"),
            note("E5", 4, ""),
            note("Eb5", 4, ""),
            note("D5", 4, ""),
            rest(12) + &note("G4", 24, TIE),
        ),
        format!("{}{}", note("G4", 6, TIED), note("G4", 42, "")),
    ]);
    let (text, melody, told) = sung(&file, None);
    assert_eq!(text, "| C | % |");
    assert_eq!(melody, "| E5/8t Eb5 D5 r/4 G4/2~ | G4/8 G4/2.. |");
    assert_eq!(told, Vec::<String>::new());
}

/// `grace`, `cue`, `chord`, `unpitched`: what is no note of the line is left out and told.
#[test]
fn what_is_left_out_of_a_line_is_told() {
    let grace = "<note><grace/><pitch><step>D</step><octave>5</octave></pitch></note>";
    let cue = note("A5", 12, "<cue/>");
    let struck = "<note><unpitched/><duration>12</duration></note>";
    let file = lead(&[
        format!(
            "{}{grace}{}{cue}{struck}",
            harmony("C", "major"),
            note("C5", 24, "")
        ),
        format!("{}{}", note("E4", 48, ""), note("C5", 48, "<chord/>")),
    ]);
    let (_, melody, told) = sung(&file, None);
    assert_eq!(melody, "| C5/2 r | C5/1 |");
    assert_eq!(
        told,
        [
            "bar 1, note: 1 grace note is left out of the melody",
            "bar 1, note: 1 cue note is left out of the melody",
            "bar 1, note: 1 note without a pitch that a key has is left out of the melody",
            "bar 2, note: 1 lower note of a chord is left out of the melody",
        ]
    );
    let places = read(file.as_bytes(), None).missed;
    let at = places[0].at.unwrap();
    assert!(
        file[at..].starts_with("<note><grace/>"),
        "{}",
        &file[at..at + 20]
    );
}

/// `voice`, `backup`: the voice with the highest notes is the line, and a lower one counts where it
/// has neither note nor rest.
#[test]
fn the_highest_voice_is_the_line() {
    let voice = |number: &str| format!("<voice>{number}</voice>");
    let back = "<backup><duration>48</duration></backup>";
    let upper = format!(
        "{}{}",
        note("G5", 24, &voice("1")),
        "<note><rest/><duration>12</duration><voice>1</voice></note>\
         <forward><duration>12</duration></forward>"
    );
    let lower: Vec<String> = ["C4", "D4", "E4", "F4"]
        .iter()
        .map(|pitch| note(pitch, 12, &voice("2")))
        .collect();
    let bar = format!("{}{upper}{back}{}", harmony("C", "major"), lower.concat());
    let (_, melody, told) = sung(&lead(&[bar]), None);
    assert_eq!(melody, "| G5/2 r/4 F4 |");
    assert_eq!(
        told,
        ["bar 1, note: 3 notes of lower voices are left out of the melody"]
    );
}

fn line(location: &str, inner: &str) -> String {
    format!("<barline location=\"{location}\">{inner}</barline>")
}

/// `repeat`, `ending`, `dacapo`: each time that a bar is played its melody sounds again, and a tie
/// goes into the bar that follows.
#[test]
fn a_melody_is_read_as_it_is_played() {
    let ending = |number: u8, kind: &str| format!("<ending number=\"{number}\" type=\"{kind}\"/>");
    let file = lead(&[
        format!("{}{}", harmony("C", "major"), note("C5", 48, TIE)),
        format!(
            "{}{}{}{}",
            line("left", &ending(1, "start")),
            harmony("F", "major"),
            note("C5", 48, TIED),
            line(
                "right",
                &format!("{}<repeat direction=\"backward\"/>", ending(1, "stop"))
            )
        ),
        format!(
            "{}{}{}{}",
            line("left", &ending(2, "start")),
            harmony("G", "major"),
            note("C5", 24, TIED),
            note("D5", 24, "") + &line("right", &ending(2, "stop"))
        ),
    ]);
    let (text, melody, told) = sung(&file, None);
    assert_eq!(text, "|: C | [1 F :| [2 G |");
    assert_eq!(melody, "| C5/1~ | C5 | C5~ | C5/2 D5 |");
    assert_eq!(told, Vec::<String>::new());
    let sign = "<direction><direction-type><words>D.C. al Fine</words></direction-type>\
                <sound dacapo=\"yes\"/></direction>";
    let fine = "<direction><direction-type><words>Fine</words></direction-type>\
                <sound fine=\"yes\"/></direction>";
    let file = lead(&[
        format!("{}{}{fine}", harmony("C", "major"), note("E5", 48, "")),
        format!("{}{}{sign}", harmony("G", "major"), note("D5", 48, "")),
    ]);
    let (_, melody, _) = sung(&file, None);
    assert_eq!(melody, "| E5/1 | D5 | E5 |");
}

/// `measure-repeat`: the notes of a bar that is repeated by a sign sound again.
#[test]
fn a_sign_repeats_the_notes_of_a_bar() {
    let sign = "<attributes><measure-style><measure-repeat type=\"start\">1</measure-repeat>\
                </measure-style></attributes>";
    let file = lead(&[
        format!(
            "{}{}{}",
            harmony("C", "major"),
            note("C5", 24, ""),
            note("E5", 24, "")
        ),
        format!("{sign}{}", "<forward><duration>48</duration></forward>"),
    ]);
    let (_, melody, _) = sung(&file, None);
    assert_eq!(melody, "| C5/2 E5 | C5 E5 |");
}

/// `implicit`: a pickup in which only the melody sounds stays where the melody is read, and is left
/// out of the chart alone.
#[test]
fn a_pickup_of_the_melody_stays() {
    let file = lead(&[
        note("G4", 12, TIE),
        format!(
            "{}{}{}",
            note("G4", 12, TIED),
            harmony("C", "major"),
            note("C5", 36, "")
        ),
        format!("{}{}", harmony("F", "major"), note("A4", 48, "")),
    ]);
    let (text, melody, _) = sung(&file, None);
    let (_, rest) = text.split_once('|').unwrap();
    assert!(rest.contains("Pickup N.C. |"), "{text}");
    assert!(melody.starts_with("| G4~ | G4 C5/2. |"), "{melody}");
    let chart = import::import(file.as_bytes()).unwrap();
    assert!(!chart.text.contains("Pickup"), "{}", chart.text);
}

/// Two bars that together fill one are one that a line divides, and each keeps its length. A repeat
/// that goes back to the beginning plays the pickup again.
#[test]
fn a_bar_that_a_line_divides_keeps_its_two_lengths() {
    let file = lead(&[
        note("G4", 12, ""),
        format!("{}{}", harmony("C", "major"), note("C5", 48, "")),
        format!(
            "{}{}",
            note("D5", 36, ""),
            line("right", "<repeat direction=\"backward\"/>")
        ),
        note("E5", 12, ""),
        format!("{}{}", harmony("F", "major"), note("F5", 48, "")),
    ]);
    let (text, melody, told) = sung(&file, None);
    assert_eq!(
        text,
        "|: 1/4 N.C. | 4/4 C | 3/4 / / / :| 1/4 / |\n| 4/4 F |"
    );
    assert_eq!(
        melody,
        "| G4 | C5/1 | D5/2. | G4/4 | C5/1 | D5/2. | E5/4 | F5/1 |"
    );
    assert!(told.is_empty(), "{told:?}");
}

/// A repeat that goes back to a pickup plays it again, with its melody and with its chords, and the bar
/// before it is as much shorter. One that has a start does not.
#[test]
fn a_repeat_goes_back_to_the_pickup() {
    let file = |starts: &str, chord: &str| {
        let last = line("right", "<repeat direction=\"backward\"/>");
        lead(&[
            format!("{chord}{}", note("G4", 12, "")),
            format!("{starts}{}{}", harmony("C", "major"), note("C5", 48, "")),
            format!("{}{last}", note("D5", 36, "")),
            format!("{}{}", harmony("F", "major"), note("F5", 48, "")),
        ])
    };
    let (text, melody, told) = sung(&file("", ""), None);
    assert_eq!(text, "|: 1/4 N.C. | 4/4 C | 3/4 / / / :| 4/4 F |");
    assert_eq!(melody, "| G4 | C5/1 | D5/2. | G4/4 | C5/1 | D5/2. | F5/1 |");
    assert!(told.is_empty(), "{told:?}");
    let seventh = harmony("G", "dominant");
    let chart = import::import(file("", &seventh).as_bytes()).unwrap();
    assert_eq!(chart.text, "|: 1/4 G7 | 4/4 C | 3/4 / / / :| 4/4 F |");
    let starts = line("left", "<repeat direction=\"forward\"/>");
    let chart = import::import(file(&starts, &seventh).as_bytes()).unwrap();
    assert_eq!(chart.text, "| Pickup G7 |: C | % :| F |");
}

/// `transpose`: an alto instrument sounds a major sixth lower than it reads.
#[test]
fn a_line_sounds_as_its_instrument_does() {
    let alto = "<key><fifths>3</fifths></key><transpose><diatonic>-5</diatonic>\
                <chromatic>-9</chromatic></transpose>";
    let piano = part("", &[harmony("C", "major-seventh") + &rest(48)]);
    let horn = part(alto, &[note("C#5", 24, "") + &note("A#4", 24, "")]);
    let file = score(&[("Alto", horn), ("Piano", piano)]);
    let (text, melody, _) = sung(&file, None);
    assert_eq!(
        (text.as_str(), melody.as_str()),
        ("| Cmaj7 |", "| E4/2 C#4 |")
    );
}

/// `part-name`, `staff`: the line is found by what it is called, by its symbols and by its height,
/// or chosen by name.
#[test]
fn the_line_is_found_or_chosen_by_name() {
    let symbols = harmony("C", "major");
    let high = note("C6", 48, "");
    let low = note("C4", 48, "");
    let two_staves = format!(
        "{symbols}{}<backup><duration>48</duration></backup>{}",
        note("G5", 48, "<staff>1</staff>"),
        note("C3", 48, "<staff>2</staff>")
    );
    let file = |names: [&str; 3]| {
        score(&[
            (names[0], part("", std::slice::from_ref(&high))),
            (names[1], part("", std::slice::from_ref(&low))),
            (names[2], part("", std::slice::from_ref(&two_staves))),
        ])
    };
    let plain = file(["Flute", "Horn", "Piano"]);
    let (_, melody, told) = sung(&plain, None);
    assert_eq!(melody, "| G5/1 |", "the part with the symbols");
    assert!(
        told[0].starts_with(
            "The melody is that of \"Piano\"; \"Flute\", \"Horn\", \"Piano, staff 2\" have"
        ),
        "{told:?}"
    );
    assert_eq!(sung(&plain, Some("horn")).1, "| C4/1 |");
    assert_eq!(sung(&plain, Some("Piano, staff 2")).1, "| C3/1 |");
    assert_eq!(
        sung(&file(["Flute", "Lead vocal", "Piano"]), None).1,
        "| C4/1 |"
    );
    let wish = Wish {
        part: None,
        melody: Wanted::Named("Tuba"),
    };
    let error = import::read(plain.as_bytes(), wish)
        .unwrap_err()
        .to_string();
    assert_eq!(
        error,
        "nothing that is named \"Tuba\" has notes; expected \"Flute\", \"Horn\", \"Piano\", \
         \"Piano, staff 2\""
    );
}

fn chart_of(text: &str) -> Chart {
    chart::parse(text).unwrap_or_else(|errors| panic!("{text}: {errors:?}"))
}

fn melody_of(text: &str, chart: &Chart) -> Melody {
    melody::parse(text, chart).unwrap_or_else(|errors| panic!("{text}: {errors:?}"))
}

/// A melody alone goes over a chart that is known, bar by bar from the first full one.
#[test]
fn a_melody_goes_over_a_chart_that_is_known() {
    let over = |file: &str, chart: &str| {
        let chart = chart_of(chart);
        let imported = import::melody(file.as_bytes(), None, &chart).unwrap();
        let missed = imported.missed.iter().map(ToString::to_string);
        let told: Vec<String> = imported.remarks.into_iter().chain(missed).collect();
        (imported.melody.unwrap().melody.text(&chart), told)
    };
    let file = lead(&[note("G4", 12, ""), note("C5", 48, ""), note("D5", 48, "")]);
    let (melody, told) = over(&file, "| C6 | G7 |");
    assert_eq!(melody, "| C5/1 | D5 |");
    assert_eq!(told, ["melody: notes outside of the chart are left out: 1"]);
    let (melody, told) = over(&file, "Pickup G7 | C6 | G7 |");
    assert_eq!((melody.as_str(), told.len()), ("| G4 | C5/1 | D5 |", 0));
    assert_eq!(over("| C5/2 E5 |", "| C6 |").0, "| C5/2 E5 |");
    let error = import::melody(b"| H5/2 |", None, &chart_of("| C6 |")).unwrap_err();
    assert!(matches!(error, ImportError::Melody(_)), "{error}");
    let silent = lead(&[rest(48)]);
    let error = import::melody(silent.as_bytes(), None, &chart_of("| C6 |")).unwrap_err();
    assert_eq!(error, ImportError::NoMelody);
}

const CHART: &str = "Pickup G7 | [A] |: Dm7 | G7(b9) | [1 Cmaj7 | % :| [2 C6/9 | N.C. |";
/// Quarters, triplets, ties over the bar line and over a repeat, and a rest.
const MELODY: &str = "| G4 | A4/8t B4 C5 D5/4. E5 | F5/2 Ab5/4 G5~ | G5/2 r/4 E5/8 C5 \
    | B4/16 C5 B4 A4 G4/2. | A4/8t B4 C5 D5/4. E5 | F5/2 Ab5/4 G5~ | G5/1 | r/2 C6 |";

fn with_melody(chart: &str, melody: &Melody, style: Option<Style>) -> Score {
    let taste = style.map(|style| {
        let taste = Taste {
            style,
            ..Taste::default()
        };
        (taste, 0)
    });
    let sung = Sung {
        melody,
        yielding: Yielding::TensionsAndRegister,
        blocks: taste,
    };
    let setting = (Texture::FourNotes, Register::DEFAULT);
    Score::planned_under(chart_of(chart), 120.0, None, setting, None, Some(&sung))
}

/// What comes back of a melody: the names where the file holds them.
fn sounding(melody: &Melody) -> Vec<(MidiNote, u32, u32)> {
    let notes = melody.notes().iter();
    notes
        .map(|note| (note.note, note.start_ticks, note.length_ticks))
        .collect()
}

#[test]
fn our_own_pages_come_back_with_their_melody() {
    let chart = chart_of(CHART);
    let melody = melody_of(MELODY, &chart);
    for style in [
        None,
        Some(Style::FourWayClose),
        Some(Style::DropTwo),
        Some(Style::DoubleLead),
    ] {
        let score = with_melody(CHART, &melody, style);
        assert_eq!(score.blocks.is_empty(), style.is_none());
        for form in [Form::Written, Form::AsPlayed] {
            for staves in [Staves::Symbols, Staves::One, Staves::Grand] {
                let page = Page {
                    form,
                    staves,
                    bass: true,
                    words: true,
                };
                let file = musicxml::write(&score, page);
                let back = read(file.as_bytes(), None);
                let again = chart_of(&back.text);
                assert!(
                    guidehand_exchange::pages::plays_alike(&again, &chart),
                    "{}",
                    back.text
                );
                let found = back.melody.unwrap();
                assert_eq!(
                    found.melody.text(&again),
                    MELODY,
                    "{style:?} {page:?}\n{file}"
                );
                let taken = found.lines.iter().find(|line| line.is_taken).unwrap();
                assert_eq!(taken.name, "Melody");
            }
        }
        let file = midi::write(&score);
        let back = read(&file, None);
        assert_eq!(back.missed, Vec::new());
        assert_eq!(sounding(&back.melody.unwrap().melody), sounding(&melody));
    }
}

/// A lead sheet has the melody under the symbols, and nothing else.
#[test]
fn a_page_of_symbols_shows_the_melody_alone() {
    let chart = chart_of("| C6 |");
    let melody = melody_of("| C5/2 E5 |", &chart);
    let score = with_melody("| C6 |", &melody, Some(Style::FourWayClose));
    let page = |staves| {
        let page = Page {
            staves,
            ..Page::default()
        };
        musicxml::write(&score, page)
    };
    let names = |file: &str| file.matches("<part-name>").count();
    let lead = page(Staves::Symbols);
    assert_eq!((names(&lead), lead.matches("<harmony").count()), (1, 1));
    let both = page(Staves::One);
    assert_eq!((names(&both), both.matches("<harmony").count()), (2, 1));
    // E4 G4 A4 C5, then G4 A4 C5 E5 (common practice, no published source).
    assert_eq!(lead.matches("<chord/>").count(), 6);
}

/// Sixteenths and longer notes, and triplets of eighths on the beat.
fn random_melody(chart: &Chart, random: &mut fastrand::Rng) -> Melody {
    let (mut at, end) = (0, chart.length_ticks());
    let mut notes = Vec::new();
    while at < end {
        let plain = [240, 480, 720, 960, 1440, 1920, 3840];
        let lengths = if at % 960 == 0 && random.bool() {
            vec![320; 3]
        } else {
            vec![plain[random.usize(..plain.len())]]
        };
        for length_ticks in lengths {
            let length_ticks = length_ticks.min(end.saturating_sub(at));
            if random.u8(..5) > 0 {
                notes.push(MelodyNote {
                    note: MidiNote::clamp(random.i32(60..85)),
                    name: None,
                    start_ticks: at,
                    length_ticks,
                });
            }
            at += length_ticks;
        }
    }
    Melody::new(notes)
}

/// Any melody in sixteenths and triplets comes back from a MIDI file and from a page, tick by tick.
#[test]
fn random_melodies_come_back_from_files() {
    let mut random = fastrand::Rng::with_seed(20_261_128);
    let mut pages = 0;
    for _ in 0..300 {
        let text = random::chart(&mut random);
        let chart = chart_of(&text);
        let melody = random_melody(&chart, &mut random);
        if melody.is_empty() {
            continue;
        }
        let style = Style::ALL[random.usize(..3)];
        let score = with_melody(&text, &melody, Some(style));
        let back = read(&midi::write(&score), None);
        assert_eq!(
            sounding(&back.melody.unwrap().melody),
            sounding(&melody),
            "{text}"
        );
        if !in_quarters(&chart) {
            continue;
        }
        pages += 1;
        for form in [Form::Written, Form::AsPlayed] {
            let page = Page {
                form,
                ..Page::default()
            };
            let back = read(musicxml::write(&score, page).as_bytes(), None);
            assert_eq!(
                sounding(&back.melody.unwrap().melody),
                sounding(&melody),
                "{text}"
            );
        }
    }
    assert!(pages > 20, "{pages}");
}

/// Whether all bars count in quarters and the chords stand on sixteenths, so that a page can show
/// sixteenths and triplets of each beat.
fn in_quarters(chart: &Chart) -> bool {
    let bars = chart.bars.iter().all(|bar| bar.meter.unit == 4);
    let changes = chart.changes.iter();
    bars && changes
        .into_iter()
        .all(|change| change.start_ticks % 240 == 0)
}

/// Notes of a track: when each begins, when it ends, and its key.
type Played<'a> = &'a [(u32, u32, u8)];

/// The tracks of a MIDI file: for each its name and its notes (start, end, key) in ticks of 480.
fn tracks(markers: &[(u32, &str)], tracks: &[(&str, Played)]) -> Vec<u8> {
    use midly::{Format, Header, MetaMessage, MidiMessage, Timing, TrackEvent, TrackEventKind};
    let track = |mut events: Vec<(u32, TrackEventKind<'static>)>| -> Vec<TrackEvent<'static>> {
        events.sort_by_key(|(at, _)| *at);
        let mut before = 0;
        let events = events.into_iter().map(|(at, kind)| {
            let delta = (at - std::mem::replace(&mut before, at)).into();
            TrackEvent { delta, kind }
        });
        let end = TrackEvent {
            delta: 0.into(),
            kind: TrackEventKind::Meta(MetaMessage::EndOfTrack),
        };
        events.chain([end]).collect()
    };
    let mut all = Vec::new();
    let text = |text: &str| -> &'static [u8] { text.to_owned().leak().as_bytes() };
    let markers = markers
        .iter()
        .map(|(at, words)| (*at, TrackEventKind::Meta(MetaMessage::Marker(text(words)))));
    all.push(track(markers.collect()));
    for (name, notes) in tracks {
        let name = (0, TrackEventKind::Meta(MetaMessage::TrackName(text(name))));
        let mut events = vec![name];
        for (start, end, key) in *notes {
            let midi = |message| TrackEventKind::Midi {
                channel: 0.into(),
                message,
            };
            let (key, vel) = ((*key).into(), 80.into());
            events.push((*start, midi(MidiMessage::NoteOn { key, vel })));
            events.push((*end, midi(MidiMessage::NoteOff { key, vel })));
        }
        all.push(track(events));
    }
    let header = Header::new(Format::Parallel, Timing::Metrical(480.into()));
    let mut bytes = Vec::new();
    midly::write_std(&header, all.iter(), &mut bytes).unwrap();
    bytes
}

fn of_midi(file: &[u8], name: Option<&str>) -> (String, String, Vec<String>) {
    let imported = read(file, name);
    let chart = chart_of(&imported.text);
    let melody = imported.melody.map(|found| found.melody.text(&chart));
    let missed = imported.missed.iter().map(ToString::to_string);
    let told = imported.remarks.into_iter().chain(missed).collect();
    (imported.text, melody.unwrap_or_default(), told)
}

#[test]
fn the_track_of_a_midi_file_is_found_or_chosen_by_name() {
    let high: &[_] = &[(0, 960, 84), (960, 1920, 79)];
    let low: &[_] = &[(0, 1920, 60)];
    let chords: &[_] = &[(0, 1920, 88), (0, 1920, 91), (0, 1920, 96)];
    let file = |name| {
        tracks(
            &[(0, "Cmaj7")],
            &[("Piano", chords), ("Flute", high), (name, low)],
        )
    };
    let (text, melody, told) = of_midi(&file("Horn"), None);
    assert_eq!(
        (text.as_str(), melody.as_str()),
        ("| Cmaj7 |", "| C6/2 G5 |")
    );
    assert!(
        told[0].contains("that of \"Flute\"; \"Piano\", \"Horn\" have"),
        "{told:?}"
    );
    assert_eq!(of_midi(&file("Melody"), None).1, "| C4/1 |");
    let (_, melody, told) = of_midi(&file("Horn"), Some("piano"));
    assert_eq!(melody, "| C7/1 |");
    assert!(told.contains(&"melody: notes below the highest line are left out: 2".to_owned()));
}

/// The chords are read from the other tracks, and a file with one track has no melody.
#[test]
fn chords_are_heard_beside_the_melody() {
    let melody: &[_] = &[(0, 960, 74), (960, 1920, 77)];
    let chords: &[_] = &[(0, 1920, 52), (0, 1920, 55), (0, 1920, 60), (0, 1920, 48)];
    let file = tracks(&[], &[("Lead", melody), ("Piano", chords)]);
    let (text, sung, _) = of_midi(&file, None);
    assert_eq!((text.as_str(), sung.as_str()), ("| C |", "| D5/2 F5 |"));
    let file = tracks(&[], &[("Piano", chords)]);
    let (_, sung, told) = of_midi(&file, None);
    assert_eq!(sung, "");
    let words = "melody: the chords are read from its notes; expected a track of its own";
    assert!(told.contains(&words.to_owned()), "{told:?}");
}

/// A melody that was played goes to the nearest sixteenths and triplets. One that was written keeps
/// what stands between them.
#[test]
fn a_played_melody_goes_to_the_grid_and_a_written_one_stays() {
    let played: &[_] = &[
        (7, 230, 72),
        (251, 470, 74),
        (491, 610, 76),
        (648, 790, 77),
        (811, 950, 79),
        (967, 1905, 81),
    ];
    let file = tracks(&[(0, "C6")], &[("Lead", played)]);
    let (_, melody, told) = of_midi(&file, None);
    assert_eq!(melody, "| C5/8 D5 E5/8t F5 G5 A5/2 |");
    let moved = "The melody was played freely: its notes are moved to the nearest sixteenth or \
                 triplet, by 22 of 960 ticks of a quarter note at most.";
    assert!(told.contains(&moved.to_owned()), "{told:?}");
    let written: &[_] = &[
        (0, 480, 72),
        (487, 960, 74),
        (960, 1440, 76),
        (1440, 1920, 77),
    ];
    let file = tracks(&[(0, "C6")], &[("Lead", written)]);
    let (_, melody, told) = of_midi(&file, None);
    assert_eq!(melody, "| C5 r:14 D5:946 E5/4 F5 |");
    let kept = "Notes of the melody that stand between the note values keep their ticks: 1.";
    assert!(told.contains(&kept.to_owned()), "{told:?}");
}
