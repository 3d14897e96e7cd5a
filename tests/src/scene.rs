//! The scenes of the panel's pictures: what happens before each picture is taken. The pictures
//! of the README and the guide are made from them, and the tests compare with them. Imports the host, sessions and
//! windows.

use crate::host::Host;
use crate::paths::PLUGIN_ID;
use crate::session::{Player, Session};
use crate::transport::{TransportChange, as_f64};
use crate::window::{Picture, Window};
use std::error::Error;
use std::path::Path;
use std::time::Duration;

/// Where the button lies that opens the choices of looks in a panel of its first size, in pixels.
pub const ZOOMS_AT: (i16, i16) = (866, 26);
/// Where its 125 % lies once it is open.
pub const LARGER_ZOOM_AT: (i16, i16) = (742, 120);

/// Where the button lies that opens the small view, in a panel of its first size.
pub const SMALL_AT: (i16, i16) = (918, 26);
/// Where the button lies that opens the full view, in a small view of its first size.
pub const FULL_AT: (i16, i16) = (530, 242);

const RATE_HZ: f64 = 48_000.0;
/// The tempo is fast, so that a picture late in the chart does not take long.
const TEMPO_BPM: f64 = 480.0;
/// Between two looks at the window: long enough for a frame to be drawn in software.
const LOOK: Duration = Duration::from_millis(500);
/// The most looks until a window is at rest, on a machine with much other work.
const MOST_LOOKS: u32 = 60;

/// What a picture shows.
#[derive(Clone, Copy, Debug)]
pub struct Scene {
    /// The picture's name.
    pub name: &'static str,
    /// Parameters by name, in their own words.
    params: &'static [(&'static str, &'static str)],
    /// The saved panel, as JSON.
    panel: &'static str,
    /// The saved files, as JSON.
    files: &'static str,
    /// The saved chart, as JSON, if it is another one than the first.
    chart: Option<&'static str>,
    /// The saved exercise of practice, as JSON, if it is another one than the first.
    exercise: Option<&'static str>,
    /// Keys with their start and end in quarter notes.
    keys: &'static [(i16, f64, f64)],
    /// Notes of a bass at the side-chain: when each starts, in quarter notes, and its pitch in Hz.
    bass: &'static [(f64, f64)],
    /// Whether the song plays.
    plays: bool,
    /// When the picture is taken, in quarter notes.
    at_beats: f64,
    /// The text that is typed into the chart before anything else, and its place.
    types: Option<&'static str>,
    /// Where the pointer clicks after that, one after the other, in pixels.
    clicks: &'static [(i16, i16)],
}

const PLAIN: Scene = Scene {
    name: "first",
    params: &[],
    panel: "{}",
    files: "{}",
    chart: None,
    exercise: None,
    keys: &[],
    bass: &[],
    plays: false,
    at_beats: 0.5,
    types: None,
    clicks: &[],
};

/// Where the names of the pages lie in a panel of its first size, in pixels.
const CHORD: (i16, i16) = (94, 426);
const REHARMONISE: (i16, i16) = (249, 426);
const RHYTHM: (i16, i16) = (340, 426);
const MELODY: (i16, i16) = (411, 426);
/// The same in the smallest panel.
const SMALLEST_MELODY: (i16, i16) = (411, 404);
const FILES: (i16, i16) = (601, 426);
const SOUND: (i16, i16) = (658, 426);
/// Where the first chords of the chart lie beside a page.
const FIRST_CHORD: (i16, i16) = (494, 507);
const SECOND_CHORD: (i16, i16) = (605, 507);
/// Where practice begins, in a panel of its first size, and in the smallest one of the small view.
const BEGIN: (i16, i16) = (36, 304);
const SMALL_BEGIN: (i16, i16) = (36, 170);
/// Where the record of practice opens.
const RECORD: (i16, i16) = (114, 460);

/// A dominant that falls to a minor chord, with a melody.
const MINOR_CADENCE: &str = r#"{"text":"| Dm7b5 | G7 | Cm6 | % |\n| Dm7b5 | G7 | Cm6 | % |",
    "melody":"| C6/2 Ab5/4. B5/8 | A5/1 | G5/2 Eb5 | C5/2. r/4 |\n| D5/4. Eb5/8 F5/4 Ab5 | G5/2 B4 | C5/1 | r |"}"#;

/// A record of some weeks.
const WEEKS: &str = include_str!("scene/record.json");

/// A dominant in one key, with the seventh lowest, again and again.
const ONE_DOMINANT: &str = r#"{"families":["7"],"dressings":["9 13"],"keys":["G"],"position":"seventh",
    "more_after_s":null}"#;

/// The pictures that the README and the guide show, and those that the tests compare with.
pub const SCENES: [Scene; 28] = [
    Scene {
        panel: r#"{"knows_tensions":false,"knows_chart":false}"#,
        ..PLAIN
    },
    Scene {
        name: "playing",
        params: &[("Chords from", "Chart"), ("Bass note", "On")],
        plays: true,
        at_beats: 14.5,
        ..PLAIN
    },
    Scene {
        name: "light",
        params: &[("Chords from", "Chart"), ("Bass note", "On")],
        panel: r#"{"look":"light"}"#,
        plays: true,
        at_beats: 6.5,
        ..PLAIN
    },
    Scene {
        name: "editing",
        params: &[("Chords from", "Chart"), ("Mode", "Minor")],
        types: Some("| Gm6 | Bbmaj7 | Cm7 | D7b9 |\n| Ebmaj7 | Am7b5 | D7alt | Gm6 |\n"),
        ..PLAIN
    },
    Scene {
        name: "error",
        params: &[("Chords from", "Chart")],
        types: Some("| Dm7 | H7 | Cmaj7 | Am7x |\n| Dm7 G7 / | C6 |"),
        ..PLAIN
    },
    Scene {
        name: "reading",
        params: &[("Chords from", "My chords"), ("Split", "C5")],
        keys: &[
            (53, 0.5, 4.0),
            (57, 0.5, 4.0),
            (59, 0.5, 4.0),
            (64, 0.5, 4.0),
        ],
        at_beats: 1.5,
        ..PLAIN
    },
    Scene {
        name: "chord",
        params: &[("Chords from", "Chart"), ("Bass note", "On")],
        clicks: &[CHORD, SECOND_CHORD, (200, 610)],
        ..PLAIN
    },
    Scene {
        name: "own",
        params: &[("Chords from", "Chart"), ("Texture", "My voicings")],
        chart: Some(
            r#"{"text":"| Dm7 | G7 | Cmaj7 | Am7 |\n| Dm7 | G7 | C6/9 | % |","own_voicings":{"version":1,"voicings":[
                {"name":"Doubled ninth","family":"m7","degrees":["b7","9","b3","5","9"]},
                {"name":"Wide thirteenth","family":"7","degrees":["b7","3","13"],"octaves":[0,1,0]},
                {"name":"Fourths","family":"6/9","degrees":["3","6","9","5"]}]}}"#,
        ),
        // The page, the own voicings, and a row.
        clicks: &[CHORD, (240, 521), (200, 640)],
        ..PLAIN
    },
    Scene {
        name: "voicing",
        params: &[
            ("Chords from", "Chart"),
            ("Key", "F"),
            ("Mode", "Blues"),
            ("Eleventh on minor chords", "11"),
            ("Hand at ease", "Minor ninth"),
        ],
        panel: r#"{"width":1,"height":1}"#,
        clicks: &[(159, 404)],
        plays: true,
        at_beats: 0.5,
        ..PLAIN
    },
    Scene {
        name: "harmonies",
        params: &[("Chords from", "Chart"), ("Bass note", "On")],
        clicks: &[REHARMONISE, FIRST_CHORD, (150, 620)],
        plays: true,
        at_beats: 2.5,
        ..PLAIN
    },
    Scene {
        name: "drawn",
        params: &[
            ("Chords from", "Chart"),
            ("Rhythm", "Drawn"),
            ("Density", "20 %"),
        ],
        panel: r#"{"look":"light"}"#,
        clicks: &[RHYTHM],
        plays: true,
        at_beats: 8.25,
        ..PLAIN
    },
    Scene {
        name: "right_hand",
        params: &[
            ("Chords from", "Chart"),
            ("Yield to the melody", "Tensions and register"),
            ("Chords under the melody", "Drop 2"),
        ],
        chart: Some(MINOR_CADENCE),
        // Over the dominant, whose ninth is flat.
        keys: &[(84, 1.0, 2.0), (83, 2.0, 3.0), (81, 4.0, 8.0)],
        clicks: &[MELODY],
        plays: true,
        at_beats: 5.5,
        ..PLAIN
    },
    Scene {
        name: "right_hand_light",
        params: &[
            ("Chords from", "Chart"),
            ("Yield to the melody", "Tensions"),
            ("Left hand comps", "Off"),
            ("Chords under the melody", "Double lead"),
        ],
        panel: r#"{"look":"light","width":1,"height":1}"#,
        // Under the last one the seventh would rub.
        keys: &[(81, 4.0, 8.0), (84, 8.0, 12.0)],
        clicks: &[SMALLEST_MELODY],
        plays: true,
        at_beats: 9.5,
        ..PLAIN
    },
    Scene {
        name: "right_hand_small",
        params: &[
            ("Chords from", "Chart"),
            ("Yield to the melody", "Tensions"),
            ("Chords under the melody", "Four-way close"),
        ],
        panel: r#"{"view":"small","small":[1,1]}"#,
        chart: Some(MINOR_CADENCE),
        keys: &[(81, 4.0, 8.0)],
        plays: true,
        at_beats: 5.5,
        ..PLAIN
    },
    Scene {
        name: "bass",
        params: &[("Chords from", "Heard bass")],
        bass: &[(0.0, 73.42), (4.0, 98.0), (8.0, 65.41)],
        plays: true,
        at_beats: 6.5,
        ..PLAIN
    },
    Scene {
        name: "files",
        params: &[("Chords from", "Chart"), ("Bass note", "On")],
        files: r#"{"recent":["/home/player/charts/blues in F.mid",
            "/home/player/lessons/first year/third week/rhythm changes with a bridge in thirds.musicxml",
            "/home/player/charts/minor cadences.txt"]}"#,
        clicks: &[FILES],
        ..PLAIN
    },
    Scene {
        name: "sound",
        params: &[("Chords from", "Chart"), ("Bass note", "On")],
        clicks: &[SOUND],
        ..PLAIN
    },
    Scene {
        name: "practice",
        params: &[("Chords from", "Practice")],
        exercise: Some(ONE_DOMINANT),
        clicks: &[BEGIN],
        // The ninth is a half step too high, and the root is played.
        keys: &[
            (53, 0.25, 4.0),
            (55, 0.25, 4.0),
            (57, 0.25, 4.0),
            (59, 0.25, 4.0),
            (63, 0.25, 4.0),
        ],
        at_beats: 2.0,
        ..PLAIN
    },
    Scene {
        name: "practice_light",
        params: &[("Chords from", "Practice")],
        panel: r#"{"look":"light"}"#,
        exercise: Some(
            r#"{"origin":"chart","bars":[1,8],"chart_keys":"each round","keys":["C","F","Bb","Eb"],
                "pace":"in time","bpm":92,"faster_by":4,"beats_ahead":4,"count_in_bars":1,
                "help":"guide tones","leading":true}"#,
        ),
        ..PLAIN
    },
    Scene {
        name: "practice_record",
        params: &[("Chords from", "Practice")],
        clicks: &[RECORD],
        ..PLAIN
    },
    Scene {
        name: "practice_small",
        params: &[("Chords from", "Practice")],
        panel: r#"{"view":"small","small":[1,1]}"#,
        exercise: Some(ONE_DOMINANT),
        clicks: &[SMALL_BEGIN],
        ..PLAIN
    },
    Scene {
        name: "smallest",
        params: &[
            ("Chords from", "Chart"),
            ("Texture", "Two hands"),
            ("Rhythm", "Drawn"),
            ("Ninth", "#9"),
        ],
        panel: r#"{"width":1,"height":1}"#,
        plays: true,
        at_beats: 4.25,
        ..PLAIN
    },
    Scene {
        name: "large",
        params: &[("Chords from", "Chart"), ("Register to", "E5")],
        panel: r#"{"width":1280,"height":900}"#,
        types: Some("3/4 | Bbmaj7#11/F | Ebm(maj7) |\n| Ab13sus4 | F#m7b5/C | N.C. |"),
        plays: true,
        at_beats: 2.0,
        ..PLAIN
    },
    Scene {
        name: "large_print",
        params: &[("Chords from", "Chart"), ("Bass note", "On")],
        panel: r#"{"large_print":true}"#,
        plays: true,
        at_beats: 6.5,
        ..PLAIN
    },
    Scene {
        name: "looks",
        params: &[("Chords from", "Chart"), ("Bass note", "On")],
        clicks: &[ZOOMS_AT],
        ..PLAIN
    },
    Scene {
        name: "small",
        params: &[("Chords from", "Chart"), ("Bass note", "On")],
        panel: r#"{"view":"small","small":[1,1]}"#,
        plays: true,
        at_beats: 6.5,
        ..PLAIN
    },
    Scene {
        name: "small_rest",
        params: &[("Chords from", "Chart"), ("Bass note", "On")],
        panel: r#"{"view":"small"}"#,
        ..PLAIN
    },
    Scene {
        name: "small_large_print",
        params: &[("Chords from", "Chart"), ("Bass note", "On")],
        panel: r#"{"view":"small","large_print":true,"look":"light"}"#,
        plays: true,
        at_beats: 14.5,
        ..PLAIN
    },
];

/// Takes the picture of a scene, on the display in the environment.
///
/// # Errors
/// If the plugin or the display fails, or the window stays blank.
pub fn picture(plugin: &Path, scene: &Scene) -> Result<Picture, Box<dyn Error + Send + Sync>> {
    let mut host = Host::open(plugin, PLUGIN_ID)?;
    for (name, words) in scene.params {
        let id = host.param_by_name(name)?.id;
        let value = host.text_to_value(id, words)?;
        host.set_param(id, value)?;
    }
    let mut state = host.save_state()?;
    for (field, saved) in [("panel", scene.panel), ("files", scene.files)] {
        state = crate::state::with_field(&state, field, &serde_json::from_str(saved)?);
    }
    let record: serde_json::Value = serde_json::from_str(WEEKS)?;
    let mut practice = serde_json::json!({"version": 1, "record": record});
    if let Some(exercise) = scene.exercise {
        practice["exercise"] = serde_json::from_str(exercise)?;
    }
    state = crate::state::with_field(&state, "practice", &practice);
    if let Some(chart) = scene.chart {
        state = crate::state::with_field(&state, "chart", &serde_json::from_str(chart)?);
    }
    host.load_state(&state)?;
    let mut window = Window::open(&mut host, Duration::ZERO)?;
    settle(&mut window, &mut host)?;
    if let Some(text) = scene.types {
        let (x, y) = in_the_chart(&window);
        window.click(&mut host, x, y)?;
        window.select_all(&mut host)?;
        window.type_text(&mut host, text)?;
    }
    for (x, y) in scene.clicks {
        window.click(&mut host, *x, *y)?;
        settle(&mut window, &mut host)?;
    }
    // The pointer rests where it changes nothing.
    window.point(2, 2)?;
    let session = session(scene);
    host.hear(vec![vec![sound(scene, session.length_samples)]]);
    let mut player = Player::start(&mut host, &session)?;
    window.play(&mut player, session.length_samples - 1, RATE_HZ)?;
    let picture = settle(&mut window, player.host())?;
    drop(player);
    window.close(&mut host)?;
    Ok(picture)
}

/// Waits until something is drawn and two looks show the same, and returns that.
fn settle(window: &mut Window, host: &mut Host) -> Result<Picture, Box<dyn Error + Send + Sync>> {
    let mut last = None;
    for _ in 0..MOST_LOOKS {
        window.wait(host, LOOK)?;
        let picture = window.picture()?;
        if picture.colours() > 1 && last.as_ref() == Some(&picture) {
            return Ok(picture);
        }
        last = Some(picture);
    }
    Err("the window stays blank or never rests".into())
}

/// A place in the chart's text, in pixels of the window.
#[must_use]
pub fn in_the_chart(window: &Window) -> (i16, i16) {
    let (width, height) = window.size();
    let part = |size: u32, of_16: u32| i16::try_from(size * of_16 / 16).unwrap_or(i16::MAX);
    (part(width, 11), part(height, 12))
}

/// A plain string sound for the notes of the bass: eight harmonics that decay.
fn sound(scene: &Scene, samples: u64) -> Vec<f32> {
    let second = TEMPO_BPM / 60.0;
    let at = |sample: u64| {
        let beat = as_f64(sample) / RATE_HZ * second;
        let (start, hertz) = scene.bass.iter().rev().find(|(start, _)| *start <= beat)?;
        let seconds = (beat - start) / second;
        let harmonics = (1..=8_u32).map(|number| {
            let number = f64::from(number);
            let turn = std::f64::consts::TAU * hertz * number * seconds;
            turn.sin() * (-seconds * number).exp() / number
        });
        Some(0.2 * harmonics.sum::<f64>())
    };
    #[expect(clippy::cast_possible_truncation, reason = "sound fits an f32")]
    let samples = (0..samples).map(|sample| at(sample).unwrap_or(0.0) as f32);
    samples.collect()
}

fn session(scene: &Scene) -> Session {
    let mut session = Session::new(RATE_HZ, TEMPO_BPM, 0);
    session.length_samples = session.samples_at(scene.at_beats) + 1;
    let end = session.length_samples;
    for (key, start_beats, end_beats) in scene.keys {
        let at = |beats: f64| session.samples_at(beats).min(end - 1);
        let (start, end) = (at(*start_beats), at(*end_beats));
        session.note(start, end, *key);
    }
    if !scene.plays {
        session.change(0, TransportChange::Stop);
    }
    session
}
