//! Pages of MusicXML: what a reader plays of them is what sounds, and what stands on them is what a
//! player expects. The sources stand beside the checks.

use guidehand_exchange::import;
use guidehand_exchange::musicxml::{self, Page, Staves};
use guidehand_exchange::score::{Note, Score};
use guidehand_exchange::{midi, practice};
use guidehand_theory::candidates::Register;
use guidehand_theory::chart::{self, Chart};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::shape::Texture;

fn read(text: &str) -> Chart {
    chart::parse(text).unwrap_or_else(|errors| panic!("{text}: {errors:?}"))
}

fn planned(chart: &Chart) -> Score {
    let (texture, register) = (Texture::FourNotes, Register::DEFAULT);
    Score::planned(chart.clone(), 140.0, None, texture, register)
}

/// A repeat stands only if its passes sound alike. What a reader plays is what the notes say.
#[test]
fn passes_that_sound_differently_are_written_out() {
    let text = "|: Dm7 | G7 :| Cmaj7 |";
    let chart = read(text);
    let page = Page::default();
    let same = planned(&chart);
    let mut other = same.clone();
    // The second pass of the G7 is a half step higher in one voice.
    let last = |note: &&mut Note| note.start_ticks == 3 * 3840;
    let voice = other.comping.iter_mut().find(last).unwrap();
    voice.note = MidiNote::clamp(i32::from(voice.note.number()) + 1);
    let held = |score: &Score| {
        let file = musicxml::write(score, page);
        import::import(file.as_bytes()).unwrap().text
    };
    assert_eq!(held(&other), "| Dm7 | G7 | Dm7 | G7 |\n| Cmaj7 |");
    // Without notes, and with notes that are the same, the repeat stands.
    assert_eq!(held(&Score::of(chart.clone(), 120.0)), text);
    let mut twice = same.clone();
    twice.comping.retain(|note| note.start_ticks < 2 * 3840);
    let again = twice.comping.clone().into_iter().map(|note| Note {
        start_ticks: note.start_ticks + 2 * 3840,
        ..note
    });
    twice.comping.extend(again);
    assert_eq!(held(&twice), text);
    // A hair of difference is not seen on a page.
    let mut late = twice.clone();
    for note in &mut late.comping {
        if note.start_ticks >= 2 * 3840 {
            (note.start_ticks, note.length_ticks) = (note.start_ticks + 2, note.length_ticks - 5);
        }
    }
    assert_eq!(held(&late), text);
    let symbols = Page {
        staves: Staves::Symbols,
        ..page
    };
    assert!(musicxml::write(&other, symbols).contains("<repeat"));
    // The bass counts where it is on the page.
    let mut bass = twice.clone();
    bass.bass.retain(|note| note.start_ticks < 3840);
    let page = Page { bass: true, ..page };
    assert!(!musicxml::write(&bass, page).contains("<repeat"));
}

/// W3C MusicXML 4.0, `swing`: "specifies whether or not playback uses swing"; the notes are even
/// eighths without tuplets.
#[test]
fn swing_has_its_mark_and_even_eighths() {
    let chart = read("| Dm7 | G7 | Cmaj7 | % |");
    let mut score = planned(&chart);
    let notes = std::mem::take(&mut score.comping);
    for note in notes {
        // A Charleston, and the off-beat after four, held into the next bar.
        for (at, until) in [(0, 1280), (1600, 1920), (3520, 3840)] {
            score.comping.push(Note {
                start_ticks: note.start_ticks / 3840 * 3840 + at,
                length_ticks: until - at,
                ..note
            });
        }
    }
    score.off_beat = 2.0 / 3.0;
    let swung = musicxml::write(&score, Page::default());
    let mark = "<swing>\n      <first>2</first>\n      <second>1</second>";
    assert!(swung.contains(mark), "{swung}");
    assert!(swung.contains("<words>Swing</words>"));
    assert!(
        !swung.contains("<tuplet") && !swung.contains("time-modification"),
        "{swung}"
    );
    score.off_beat = 0.5;
    // Chords that are held do not swing.
    let held = Score {
        off_beat: 2.0 / 3.0,
        ..planned(&chart)
    };
    assert!(!musicxml::write(&held, Page::default()).contains("Swing"));
    let straight = musicxml::write(&score, Page::default());
    assert!(
        !straight.contains("<swing>") && straight.contains("<tuplet"),
        "{straight}"
    );
}

/// Each key of a practice page has its signature, its name and a line of its own (W3C MusicXML 4.0,
/// `key` and `print`), and its signature in MIDI files (Standard MIDI Files 1.0, FF 59).
#[test]
fn practice_pages_show_their_keys() {
    let text = "Pickup G7 |: Dm7 | G7 :| Cmaj7 |";
    let progression = read(text);
    let sheet = read(&practice::practice(text, practice::Order::Fourths).unwrap());
    let mut score = Score::of(sheet.clone(), 120.0);
    score.keys = practice::keys(&progression, &sheet);
    let names: Vec<String> = score.keys.iter().map(|(_, key)| key.to_string()).collect();
    assert_eq!(names.len(), 12);
    assert_eq!(&names[..4], ["C major", "F major", "Bb major", "Eb major"]);
    let page = musicxml::write(&score, Page::default());
    let said = |tag: &str| -> Vec<String> {
        let tag = format!("<{tag}>");
        let rest = page.split(&tag).skip(1);
        rest.map(|rest| rest.split('<').next().unwrap().to_owned())
            .collect()
    };
    let fifths: Vec<i8> = said("fifths").iter().map(|n| n.parse().unwrap()).collect();
    assert_eq!(fifths.len(), 12, "{page}");
    assert_eq!(fifths[..6], [0, -1, -2, -3, -4, -5]);
    assert_eq!(fifths[7..], [5, 4, 3, 2, 1]);
    assert_eq!(said("words"), names);
    assert_eq!(page.matches("new-system=\"yes\"").count(), 11);
    let file = midi::write(&score);
    let signatures = file.windows(3).filter(|bytes| *bytes == [0xff, 0x59, 2]);
    assert_eq!(signatures.count(), 12);
}
