//! What the program hears in the corpus, and how much of it is right. A chord counts once
//! for each of the twelve keys, and is right there if it is right each time that it is
//! played.

use super::corpus::{AnnotatedChord, CorpusPart, KeyName, Tune};
use super::words;
use guidehand_theory::chart::Chart;
use guidehand_theory::degree::Degree::{Five, Flat5, Root, Sharp5};
use guidehand_theory::degree::DegreeSet;
use guidehand_theory::key::Key;
use guidehand_theory::pipeline::{self, ChordInKey};
use guidehand_theory::scale;
use guidehand_theory::tension::{self, TensionRequests, Tensions};
use std::fmt;

/// What is judged of a chord.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Aspect {
    /// Tonic and mode.
    Key,
    /// The function, in a key that fits it.
    Function,
    /// The tensions that come first where nobody asks for others.
    Tensions,
    /// The first scale, for those tensions.
    Scale,
}

impl Aspect {
    /// All of them.
    pub const ALL: [Aspect; 4] = [
        Aspect::Key,
        Aspect::Function,
        Aspect::Tensions,
        Aspect::Scale,
    ];

    /// Its name in tables.
    pub fn name(self) -> &'static str {
        match self {
            Aspect::Key => "key",
            Aspect::Function => "function",
            Aspect::Tensions => "tensions",
            Aspect::Scale => "first scale",
        }
    }

    fn expected(self, row: &AnnotatedChord) -> String {
        let hearings = row.hearings.iter();
        let all: Vec<String> = match self {
            Aspect::Key => hearings.map(|h| h.key.to_string()).collect(),
            Aspect::Function => hearings
                .map(|h| format!("{} in {}", h.function, h.key))
                .collect(),
            Aspect::Tensions => row.tensions.iter().map(|t| named(*t)).collect(),
            Aspect::Scale => row.scales.clone(),
        };
        let repeated = |(i, text): &(usize, &String)| all.iter().take(*i).any(|t| t == *text);
        let once = all.iter().enumerate().filter(|pair| !repeated(pair));
        let once: Vec<&str> = once.map(|(_, text)| text.as_str()).collect();
        once.join(" | ")
    }
}

/// What the program hears in a chord.
#[derive(Clone, Debug)]
pub struct HeardChord {
    /// The key.
    pub key: Key,
    /// The function in it.
    pub function: String,
    /// The tensions that come first.
    pub tensions: DegreeSet,
    /// The first scale.
    pub scale: &'static str,
}

impl HeardChord {
    fn new(placed: &ChordInKey) -> HeardChord {
        let choices = tension::resolve(&placed.chord, &placed.function, TensionRequests::default());
        let first = choices.first().expect("a choice");
        let scales = scale::suggest(&placed.chord, sounding(first), &placed.function);
        HeardChord {
            key: placed.function.key,
            function: words::said(&placed.function),
            tensions: leading(first),
            scale: scales.first().expect("a scale").scale.name,
        }
    }

    /// Whether this is what the row says.
    pub fn is_right(&self, row: &AnnotatedChord, aspect: Aspect) -> bool {
        let mut hearings = row.hearings.iter();
        match aspect {
            Aspect::Key => hearings.any(|h| h.key.is(self.key)),
            Aspect::Function => {
                hearings.any(|h| h.key.is(self.key) && words::same(&h.function, &self.function))
            }
            Aspect::Tensions => row.tensions.contains(&self.tensions),
            Aspect::Scale => row.scales.iter().any(|name| name == self.scale),
        }
    }

    fn found(&self, aspect: Aspect) -> String {
        match aspect {
            Aspect::Key => self.key.to_string(),
            Aspect::Function => format!("{} in {}", self.function, self.key),
            Aspect::Tensions => named(self.tensions),
            Aspect::Scale => self.scale.to_owned(),
        }
    }

    /// What does not depend on the key of the chart: the key's distance from that of the
    /// chart, and everything else.
    fn relative(&self, home: &KeyName) -> (u8, String, String, DegreeSet, &'static str) {
        let key = self.key.to_string();
        let mode = key.rsplit(' ').next().unwrap_or_default().to_owned();
        (
            self.key.tonic.class().above(home.tonic.class()),
            mode,
            self.function.clone(),
            self.tensions,
            self.scale,
        )
    }
}

impl fmt::Display for HeardChord {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let all = Aspect::ALL.into_iter().skip(1);
        let words: Vec<String> = all.map(|aspect| self.found(aspect)).collect();
        f.write_str(&words.join(", "))
    }
}

/// The tensions of a choice: what comes before the chord tones that fill up.
fn leading(choice: &Tensions) -> DegreeSet {
    let others = choice.others.iter().copied();
    others
        .filter(|d| ![Flat5, Sharp5].contains(d))
        .take_while(|d| d.family().is_some() && ![Five, Root].contains(d))
        .collect()
}

/// What sounds: the guide tones, all leading tensions, and as many chord tones as make
/// four notes.
fn sounding(choice: &Tensions) -> DegreeSet {
    let leading = leading(choice);
    let mut all: DegreeSet = choice.third.into_iter().chain(choice.seventh).collect();
    all = all.union(leading);
    for degree in choice.others.iter().filter(|d| !leading.contains(**d)) {
        let altered_fifth = [Flat5, Sharp5].contains(degree);
        let chord_tone = altered_fifth || [Five, Root].contains(degree);
        if chord_tone && all.len() < 4 {
            all = all.with(*degree);
        }
    }
    all
}

fn named(degrees: DegreeSet) -> String {
    let names: Vec<&str> = degrees.iter().map(|d| d.name()).collect();
    if names.is_empty() {
        "-".to_owned()
    } else {
        names.join(" ")
    }
}

/// What the program hears in each change of a chart.
pub fn hear(chart: &Chart) -> Vec<HeardChord> {
    let placed = pipeline::place(chart, None);
    placed.iter().flatten().map(HeardChord::new).collect()
}

/// A chord of which the program hears something else than the corpus says.
#[derive(Clone, Debug)]
pub struct Miss {
    /// The part of the corpus.
    pub part: CorpusPart,
    /// The tune.
    pub tune: String,
    /// The key of its first chord.
    pub home: String,
    /// The bar as written, from 1.
    pub bar: usize,
    /// The symbol.
    pub symbol: String,
    /// What is wrong.
    pub aspect: Aspect,
    /// What the corpus says.
    pub expected: String,
    /// What the program says.
    pub found: String,
    /// In how many of the twelve keys it is missed; the rest tells of the first.
    pub keys: usize,
}

impl Miss {
    fn new(tune: &Tune, row: &AnnotatedChord, aspect: Aspect, heard: &HeardChord) -> Miss {
        Miss {
            part: tune.part,
            tune: tune.name.clone(),
            home: tune.key().to_string(),
            bar: row.bar,
            symbol: row.symbol.clone(),
            aspect,
            expected: aspect.expected(row),
            found: heard.found(aspect),
            keys: 1,
        }
    }
}

impl fmt::Display for Miss {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Miss {
            tune,
            home,
            bar,
            symbol,
            keys,
            ..
        } = self;
        let aspect = self.aspect.name();
        write!(
            f,
            "{tune} ({home}), bar {bar}, {symbol}: {aspect} {}, expected {} [{keys} of 12 keys]",
            self.found, self.expected
        )
    }
}

/// How often something was right.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    /// Right.
    pub right: usize,
    /// Of so many.
    pub of: usize,
}

impl Tally {
    fn count(&mut self, right: bool) {
        self.right += usize::from(right);
        self.of += 1;
    }

    fn add(&mut self, other: Tally) {
        self.right += other.right;
        self.of += other.of;
    }

    /// At least so many in a hundred.
    pub fn reaches(self, percent: usize) -> bool {
        self.of > 0 && self.right * 100 >= self.of * percent
    }
}

impl fmt::Display for Tally {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let percent = super::ratio(self.right, self.of) * 100.0;
        write!(f, "{percent:6.2} % ({} of {})", self.right, self.of)
    }
}

/// One blues: its chords whose key is right, in each of the twelve keys, as written first
/// and then rising by half steps.
#[derive(Clone, Debug)]
pub struct Blues {
    /// The form.
    pub name: String,
    /// The key as written.
    pub home: String,
    /// Chords in their right key, for each key of the form.
    pub keys: Vec<Tally>,
}

/// The corpus, judged.
#[derive(Clone, Debug, Default)]
pub struct Judgement {
    /// For each part, in the order of [`CorpusPart`], the aspects in the order of [`Aspect::ALL`].
    pub shares: [[Tally; 4]; 4],
    /// What is missed.
    pub misses: Vec<Miss>,
    /// The blues among the forms.
    pub blues: Vec<Blues>,
    /// Changes, as played, that are heard as in the key that the chart is written in.
    pub invariant: Tally,
    /// The first change of each tune that is heard otherwise in another key.
    pub variant: Vec<String>,
}

impl Judgement {
    /// Hears every tune in all twelve keys.
    pub fn of(tunes: &[Tune]) -> Judgement {
        let mut judgement = Judgement::default();
        for tune in tunes {
            judgement.add(tune);
        }
        judgement
    }

    /// An aspect over the whole corpus.
    pub fn share(&self, aspect: Aspect) -> Tally {
        let mut sum = Tally::default();
        for part in &self.shares {
            sum.add(part[aspect as usize]);
        }
        sum
    }

    /// The blues: chords in their right key, over all forms and keys.
    pub fn blues_share(&self) -> Tally {
        let mut sum = Tally::default();
        for tally in self.blues.iter().flat_map(|blues| &blues.keys) {
            sum.add(*tally);
        }
        sum
    }

    fn add(&mut self, tune: &Tune) {
        let mut missed: Vec<(usize, Miss)> = Vec::new();
        let mut blues = Vec::new();
        let mut written: Vec<HeardChord> = Vec::new();
        let mut varies = None;
        for moved in tune.in_all_keys() {
            let chart = moved.chart();
            let heard = hear(&chart);
            let played = moved.rows_played(&chart);
            assert_eq!(heard.len(), played.len(), "{}", tune.name);
            let mut in_key = Tally::default();
            for (index, row) in moved.rows.iter().enumerate() {
                let times = || heard.iter().zip(&played).filter(|(_, row)| **row == index);
                for aspect in Aspect::ALL {
                    let wrong = times().find(|(heard, _)| !heard.is_right(row, aspect));
                    self.shares[tune.part as usize][aspect as usize].count(wrong.is_none());
                    if aspect == Aspect::Key {
                        in_key.count(wrong.is_none());
                    }
                    if let Some((heard, _)) = wrong {
                        let known = missed
                            .iter_mut()
                            .find(|(at, miss)| *at == index && miss.aspect == aspect);
                        match known {
                            Some((_, miss)) => miss.keys += 1,
                            None => missed.push((index, Miss::new(&moved, row, aspect, heard))),
                        }
                    }
                }
            }
            blues.push(in_key);
            if written.is_empty() {
                written.clone_from(&heard);
            }
            for (i, (as_written, here)) in written.iter().zip(&heard).enumerate() {
                let alike = as_written.relative(tune.key()) == here.relative(moved.key());
                self.invariant.count(alike);
                if !alike && varies.is_none() {
                    let row = &moved.rows[played[i]];
                    varies = Some(format!(
                        "{} in {}, bar {}, {}: {here}; as written {as_written}",
                        tune.name,
                        moved.key(),
                        row.bar,
                        row.symbol,
                    ));
                }
            }
        }
        if tune.is_blues() {
            self.blues.push(Blues {
                name: tune.name.clone(),
                home: tune.key().to_string(),
                keys: blues,
            });
        }
        self.variant.extend(varies);
        self.misses.extend(missed.into_iter().map(|(_, miss)| miss));
    }
}
