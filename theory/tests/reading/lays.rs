//! How progressions are laid out: the textures of the planner, and layouts that are
//! written here.

use super::Family;
use guidehand_theory::candidates::Register;
use guidehand_theory::chord::Chord;
use guidehand_theory::degree::Degree;
use guidehand_theory::key::Resolution;
use guidehand_theory::pipeline::{self, ChordInKey};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::plan::Ends;
use guidehand_theory::quality::Quality;
use guidehand_theory::shape::Texture;
use guidehand_theory::tension::{self, TensionRequests};
use guidehand_theory::voicing::{Position, Voicing};

/// How a progression is laid.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Laid {
    /// By the planner, in a texture.
    Planned(Texture),
    /// The planner's four notes over the root.
    OverRoot,
    /// Guide tones low, one more note an octave higher.
    Trio,
    /// Guide tones low, three more notes far above.
    Spread,
    /// The planner's four notes with the lowest two, or the lower of them, an octave up.
    Turned,
    /// Root, seventh and tenth; triads with their fifth in the middle.
    Tenths,
    /// Guide tones low and a triad of tensions above, for dominants.
    Triads,
    /// Triads in root position, and the root with the guide tones.
    Shells,
}

impl Laid {
    /// What the points are set with.
    pub const TRAINING: [Laid; 9] = [
        Laid::Planned(Texture::FourNotes),
        Laid::Planned(Texture::Open),
        Laid::Planned(Texture::Fourths),
        Laid::OverRoot,
        Laid::Trio,
        Laid::Spread,
        Laid::Turned,
        Laid::Tenths,
        Laid::Triads,
    ];

    /// What judges them.
    pub const JUDGING: [Laid; 5] = [
        Laid::Planned(Texture::AnyRotation),
        Laid::Planned(Texture::ThreeNotes),
        Laid::Planned(Texture::TwoHands),
        Laid::Planned(Texture::UpperStructure),
        Laid::Shells,
    ];

    /// What judges them a second time.
    pub const FRESH: [Laid; 3] = [
        Laid::Planned(Texture::ThreeNotes),
        Laid::Planned(Texture::AnyRotation),
        Laid::Planned(Texture::TwoHands),
    ];

    /// In plain words.
    pub const fn name(self) -> &'static str {
        match self {
            Laid::Planned(texture) => texture.name(),
            Laid::OverRoot => "over the root",
            Laid::Trio => "trio",
            Laid::Spread => "spread",
            Laid::Turned => "turned",
            Laid::Tenths => "tenths",
            Laid::Triads => "triads",
            Laid::Shells => "shells",
        }
    }

    /// The voicings of these chords, in order.
    pub fn lay(self, placed: &[Option<ChordInKey>]) -> Vec<Voicing> {
        let plan = |texture| {
            let planned = pipeline::plan(placed, texture, Register::DEFAULT, Ends::Cyclic);
            planned.into_iter().flatten().map(|v| v.voicing)
        };
        let chords = placed.iter().flatten().map(|p| &p.chord);
        match self {
            Laid::Planned(texture) => plan(texture).collect(),
            Laid::OverRoot => {
                let pairs = chords.zip(plan(Texture::FourNotes));
                pairs.map(|(chord, four)| over_root(chord, &four)).collect()
            }
            Laid::Trio | Laid::Spread => {
                let placed = placed.iter().flatten().enumerate();
                placed
                    .map(|(i, p)| spread(p, self == Laid::Trio, i % 2 == 1))
                    .collect()
            }
            Laid::Turned => {
                let four = plan(Texture::FourNotes).enumerate();
                four.map(|(i, four)| turned(&four, 1 + i % 2)).collect()
            }
            Laid::Tenths => chords.map(tenths).collect(),
            Laid::Triads => {
                let placed = placed.iter().flatten().enumerate();
                placed.map(|(i, p)| triad_above(p, i)).collect()
            }
            Laid::Shells => {
                let chords = chords.enumerate();
                chords.map(|(i, chord)| shell(chord, i % 2 == 1)).collect()
            }
        }
    }
}

/// These degrees, each next above the one before, from C3 up.
fn stack(chord: &Chord, degrees: &[Degree]) -> Voicing {
    let mut voicing = Voicing::empty(Position::AsPlayed);
    let mut floor = MidiNote::clamp(48);
    for degree in degrees {
        let note = floor.next_of(degree.class(chord.root)).unwrap();
        assert!(voicing.push(note, *degree));
        floor = MidiNote::new(note.number() + 1).unwrap();
    }
    voicing
}

/// The guide tones from C3 up, and above them, an octave away, what the context
/// puts first: one note, the first or the second, or three.
fn spread(placed: &ChordInKey, trio: bool, second: bool) -> Voicing {
    let choices = tension::resolve(&placed.chord, &placed.function, TensionRequests::default());
    let choice = &choices[0];
    let mut guides: Vec<Degree> = choice.third.into_iter().chain(choice.seventh).collect();
    if placed.chord.root.class().number() % 2 == 1 {
        guides.reverse();
    }
    // A diminished chord has its root in the place of its ninth.
    let keeps_root = matches!(
        Family::of(placed),
        Family::HalfDiminished | Family::Diminished
    );
    let more = choice
        .others
        .iter()
        .filter(|d| !guides.contains(d) && (keeps_root || **d != Degree::Root));
    let more: Vec<Degree> = match trio {
        true => more.copied().skip(usize::from(second)).take(1).collect(),
        false => more.copied().take(3).collect(),
    };
    let mut voicing = stack(&placed.chord, &guides);
    let mut floor = MidiNote::new(voicing.highest().unwrap().number() + 8).unwrap();
    for degree in more {
        let note = floor.next_of(degree.class(placed.chord.root)).unwrap();
        assert!(voicing.push(note, degree));
        floor = MidiNote::new(note.number() + 1).unwrap();
    }
    voicing
}

/// The lowest notes an octave up.
fn turned(four: &Voicing, lowest: usize) -> Voicing {
    let (low, high) = four.voices().split_at(lowest);
    let raised = low.iter().map(|v| (v.note.number() + 12, v.degree));
    let kept = high.iter().map(|v| (v.note.number(), v.degree));
    let mut notes: Vec<(u8, Degree)> = kept.chain(raised).collect();
    notes.sort_unstable_by_key(|(note, _)| *note);
    let mut voicing = Voicing::empty(Position::AsPlayed);
    for (note, degree) in notes {
        assert!(voicing.push(MidiNote::new(note).unwrap(), degree));
    }
    voicing
}

fn tenths(chord: &Chord) -> Voicing {
    let keeps_fifth = matches!(
        chord.quality,
        Quality::HalfDiminished | Quality::DiminishedSeventh
    );
    let middle = fifth(chord).filter(|_| keeps_fifth || chord.seventh().is_none());
    let degrees = [Some(Degree::Root), middle, chord.seventh(), chord.third()];
    let degrees: Vec<Degree> = degrees.into_iter().flatten().collect();
    stack(chord, &degrees)
}

/// Over C7: D, A, A flat, G flat and E flat major, F sharp and D flat minor, the
/// natural ones and the dark ones by where it goes (common practice).
fn triad_above(placed: &ChordInKey, turn: usize) -> Voicing {
    use Degree::{Five, Flat7, Flat9, Flat13, Nine, Root, Sharp9, Sharp11, Thirteen, Three};
    const BRIGHT: [[Degree; 3]; 2] = [[Nine, Sharp11, Thirteen], [Thirteen, Flat9, Three]];
    const DARK: [[Degree; 3]; 4] = [
        [Flat13, Root, Sharp9],
        [Sharp11, Flat7, Flat9],
        [Sharp9, Five, Flat7],
        [Flat9, Three, Flat13],
    ];
    let triad = match placed.function.resolution {
        Resolution::FifthToMajor => BRIGHT[turn % 2],
        Resolution::FifthToMinor => DARK[turn % 4],
        _ => BRIGHT[0],
    };
    let mut voicing = stack(&placed.chord, &[Three, Flat7]);
    let mut floor = MidiNote::new(voicing.highest().unwrap().number() + 4).unwrap();
    for degree in triad {
        let note = floor.next_of(degree.class(placed.chord.root)).unwrap();
        assert!(voicing.push(note, degree));
        floor = MidiNote::new(note.number() + 1).unwrap();
    }
    voicing
}

fn over_root(chord: &Chord, four: &Voicing) -> Voicing {
    let mut voicing = Voicing::empty(Position::AsPlayed);
    let root = MidiNote::clamp(36).next_of(chord.root.class()).unwrap();
    assert!(voicing.push(root, Degree::Root));
    for voice in four.voices().iter().filter(|v| v.degree != Degree::Root) {
        assert!(voicing.push(voice.note, voice.degree));
    }
    voicing
}

fn fifth(chord: &Chord) -> Option<Degree> {
    let fifths = [Degree::Five, Degree::Flat5, Degree::Sharp5];
    fifths.into_iter().find(|d| chord.degrees().contains(*d))
}

/// A triad, or the root with the guide tones, the third or the seventh first;
/// half-diminished and diminished chords keep their fifth (common practice, no
/// published source).
fn shell(chord: &Chord, seventh_first: bool) -> Voicing {
    let fifth_counts = matches!(
        chord.quality,
        Quality::HalfDiminished | Quality::DiminishedSeventh
    );
    let fifth = fifth(chord).filter(|_| fifth_counts || chord.seventh().is_none());
    let mut degrees = vec![Degree::Root];
    let guides = if seventh_first && !fifth_counts {
        [chord.seventh(), chord.third()]
    } else {
        [chord.third(), chord.seventh()]
    };
    degrees.extend(guides[0]);
    degrees.extend(fifth.filter(|_| fifth_counts));
    degrees.extend(guides[1]);
    degrees.extend(fifth.filter(|_| !fifth_counts));
    stack(chord, &degrees)
}
