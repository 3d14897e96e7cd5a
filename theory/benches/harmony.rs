//! How well the ear for harmony hears stock forms, how far the hand moves through
//! them, and how well voicings are read. `cargo xtask bench harmony` runs it and adds
//! what other programs say.
//!
//! Arguments: nothing prints everything; `--record` prints the motion of this state of
//! the project as a record; `--misread` prints what is read wrongly of the set that the
//! reader's points are set with; `--tunes FILE` also writes the tunes for a reader of keys,
//! one a line: name, annotated key, our key, and each chord as `quarters:notes`, between
//! tabs.

#[path = "../tests/harmony/mod.rs"]
mod harmony;
#[path = "../tests/reading/mod.rs"]
mod reading;

use guidehand_theory::chart::TICKS_PER_QUARTER;
use harmony::corpus::{self, CorpusPart, KeyName, Tune};
use harmony::measure::{self, Aspect, Judgement};
use harmony::motion::{self, Figures, Line, VoiceLeading};
use std::fmt::Write;
use std::fs;

/// The motion of an earlier state, on the same charts.
const BEFORE: &str = include_str!("../tests/data/harmony/motion-d9bb2cd.txt");

fn main() {
    let mut arguments = std::env::args().skip(1);
    let mut tunes_to = None;
    let mut record = false;
    while let Some(argument) = arguments.next() {
        match argument.as_str() {
            "--record" => record = true,
            "--misread" => {
                for (line, count) in &reading::measure_on(&[0]).training.wrong {
                    println!("{count} {line}");
                }
                return;
            }
            "--tunes" => tunes_to = Some(arguments.next().expect("a file")),
            // Cargo's own.
            "--bench" => {}
            other => panic!("unexpected argument {other}"),
        }
    }
    let tunes = corpus::tunes();
    if record {
        print!(
            "{}",
            motion::record(&motion::lines(&tunes, VoiceLeading::Planner))
        );
        return;
    }
    heard(&tunes);
    moved(&tunes);
    are_read();
    if let Some(file) = tunes_to {
        fs::write(file, listed(&tunes)).expect("the file can be written");
    }
}

/// Shares with their misses, the blues, the invariance.
fn heard(tunes: &[Tune]) {
    let judgement = Judgement::of(tunes);
    let rows: usize = tunes.iter().map(|t| t.rows.len()).sum();
    println!(
        "Heard: {} charts, {rows} chords, each in 12 keys\n",
        tunes.len()
    );
    for miss in &judgement.misses {
        println!("  {miss}");
    }
    println!(
        "\n{:14}{:>24}{:>24}{:>24}{:>24}{:>24}",
        "goal 98 %", "all", "training", "judging", "fresh", "blind"
    );
    let [training, judging, fresh, blind] = judgement.shares;
    for aspect in Aspect::ALL {
        let parts = [
            judgement.share(aspect),
            training[aspect as usize],
            judging[aspect as usize],
            fresh[aspect as usize],
            blind[aspect as usize],
        ];
        let cells: String = parts
            .iter()
            .map(|t| format!("{:>24}", t.to_string()))
            .collect();
        println!("{:14}{cells}", aspect.name());
    }
    println!("\nBlues in their own key, by half steps up from the key as written (goal 100 %)");
    for blues in &judgement.blues {
        let key = |tally: &measure::Tally| match tally.right == tally.of {
            true => "    all".to_owned(),
            false => format!("{:>7}", format!("{}/{}", tally.right, tally.of)),
        };
        let keys: String = blues.keys.iter().map(key).collect();
        let name = format!("{} ({})", blues.name, blues.home);
        println!("  {name:66}{keys}");
    }
    println!("  all forms and keys {}", judgement.blues_share());
    println!(
        "\nHeard alike in all keys (goal 100 %) {}",
        judgement.invariant
    );
    for variant in &judgement.variant {
        println!("  {variant}");
    }
}

/// Motion figures beside their goals.
fn moved(tunes: &[Tune]) {
    let now = motion::lines(tunes, VoiceLeading::Planner);
    let before = motion::recorded(BEFORE, &now).map(|lines| Figures::of(&lines));
    let planner = Figures::of(&now);
    println!(
        "\nMotion, four notes, {} changes: semitones a change, changes over {} semitones, the \
         worst key over the best of the same tune",
        planner.changes,
        motion::LEAP
    );
    let figures = |lines: &[Line]| Figures::of(lines);
    print_figures("planner", &planner);
    print_figures(
        "greedy step",
        &figures(&motion::lines(tunes, VoiceLeading::Greedy)),
    );
    print_figures(
        "unconstrained",
        &figures(&motion::lines(tunes, VoiceLeading::Unconstrained)),
    );
    match &before {
        Ok(before) => print_figures("at d9bb2cd", before),
        Err(reason) => println!("  at d9bb2cd: not comparable, {reason}"),
    }
    println!("  goals for the planner:");
    if let Ok(before) = &before {
        let change = (planner.mean / before.mean - 1.0) * 100.0;
        println!("    mean against d9bb2cd {change:+.1} % (goal -10 % or less)");
    }
    let stock = |tune: &&Tune| matches!(tune.part, CorpusPart::Training | CorpusPart::Judging);
    let stock = Figures::of(&now[..tunes.iter().take_while(stock).count()]);
    println!(
        "    over {} semitones {:.1} % of all parts, {:.1} % of training and judging (goal under 8 %)",
        motion::LEAP,
        planner.leaps,
        stock.leaps
    );
    println!(
        "    tunes beyond 1.3 times their best key {} (goal 0)",
        planner.uneven(1.3)
    );
    for (ratio, name) in planner.ratios.iter().take_while(|(r, _)| *r > 1.3) {
        println!("      {ratio:.2} {name}");
    }
}

/// How well voicings are read, with the key alone and with the chords around them.
fn are_read() {
    println!(
        "\nReadings in twelve keys (goals 88 % with the key alone, 95 % with the chords around)"
    );
    print!("{}", reading::measure());
}

fn print_figures(name: &str, figures: &Figures) {
    let (worst, tune) = &figures.ratios[0];
    println!(
        "  {name:14} mean {:5.2}   over {} {:5.1} %   worst : best {worst:.2} ({tune}), {} tunes beyond 1.3",
        figures.mean,
        motion::LEAP,
        figures.leaps,
        figures.uneven(1.3)
    );
}

/// The tunes for a reader of keys. The key of a tune is the one with the most time in it,
/// as annotated and as we hear it; of equals, the first.
fn listed(tunes: &[Tune]) -> String {
    let mut list = String::new();
    for tune in tunes {
        let chart = tune.chart();
        let lengths = || chart.changes.iter().map(|change| change.length_ticks);
        let played = tune.rows_played(&chart);
        let annotated = played
            .iter()
            .map(|row| tune.rows[*row].hearings[0].key.clone());
        let heard = measure::hear(&chart);
        let ours = heard.iter().map(|heard| KeyName::of(heard.key));
        write!(
            list,
            "{}\t{}\t{}",
            tune.name,
            longest(annotated.zip(lengths())),
            longest(ours.zip(lengths()))
        )
        .expect("a string");
        for change in &chart.changes {
            let chord = change.chord.expect("no silence in the corpus");
            let over = |degree: guidehand_theory::degree::Degree| degree.over(chord.root);
            let notes = chord.stack().iter().map(|degree| over(degree).to_string());
            let notes: Vec<String> = chord
                .bass
                .iter()
                .map(ToString::to_string)
                .chain(notes)
                .collect();
            let quarters = f64::from(change.length_ticks) / f64::from(TICKS_PER_QUARTER);
            write!(list, "\t{quarters}:{}", notes.join(" ")).expect("a string");
        }
        list.push('\n');
    }
    list
}

/// The key with the most time.
fn longest(keys: impl Iterator<Item = (KeyName, u32)>) -> KeyName {
    let mut sums: Vec<(KeyName, u32)> = Vec::new();
    for (key, length) in keys {
        match sums.iter_mut().find(|(known, _)| *known == key) {
            Some((_, sum)) => *sum += length,
            None => sums.push((key, length)),
        }
    }
    let most = sums.iter().map(|(_, sum)| *sum).max();
    let found = sums.into_iter().find(|(_, sum)| Some(*sum) == most);
    found.expect("a chord").0
}
