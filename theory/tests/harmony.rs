//! The analysis of harmony, compared with stock forms that were annotated by hand, in
//! twelve keys (common practice, no published source).

#[path = "harmony/mod.rs"]
mod harmony;

use harmony::corpus::{self, CorpusPart};
use harmony::measure::{Aspect, Judgement, Tally};
use harmony::words;
use std::collections::BTreeSet;
use std::sync::OnceLock;

fn judgement() -> &'static Judgement {
    static JUDGEMENT: OnceLock<Judgement> = OnceLock::new();
    JUDGEMENT.get_or_init(|| Judgement::of(&corpus::tunes()))
}

/// The corpus is as large and as mixed as its head says.
#[test]
fn the_corpus_is_large() {
    let tunes = corpus::tunes();
    assert!(tunes.len() >= 40, "{} tunes", tunes.len());
    let rows = |part| -> usize {
        let tunes = tunes.iter().filter(|t| t.part == part);
        tunes.map(|t| t.rows.len()).sum()
    };
    let (training, judging) = (rows(CorpusPart::Training), rows(CorpusPart::Judging));
    assert!(judging > training && training + judging >= 600);
    assert!(rows(CorpusPart::Fresh) >= 450 && rows(CorpusPart::Blind) >= 450);
    let names: BTreeSet<&str> = tunes.iter().map(|t| t.name.as_str()).collect();
    assert_eq!(names.len(), tunes.len(), "two tunes of one name");
    let blues = tunes.iter().filter(|t| t.is_blues()).count();
    assert!(blues >= 10, "{blues} kinds of blues");
    for tune in &tunes {
        let homes: BTreeSet<u8> = tune
            .in_all_keys()
            .iter()
            .map(|moved| moved.key().tonic.class().number())
            .collect();
        assert_eq!(homes.len(), 12, "{}", tune.name);
    }
}

/// The words of the corpus match the words of the program where both mean the same, and
/// nowhere else.
#[test]
fn words_are_compared_by_what_they_mean() {
    for (corpus, program) in [
        ("#iv°, passing", "bv, passing diminished"),
        ("i°, common tone", "i, common-tone diminished"),
        ("vii°", "vii, leading tone"),
        ("iiø of ii", "ii of ii"),
        ("bVII, backdoor", "bVII, backdoor"),
    ] {
        assert!(words::same(corpus, program), "{corpus}, {program}");
    }
    for (corpus, program) in [
        ("ii", "II"),
        ("V of ii", "V of II"),
        ("V of iv", "V of IV"),
        ("iv, backdoor", "iv, borrowed"),
        ("bVI", "bVI, borrowed"),
        ("tritone substitute to I", "tritone substitute to II"),
        ("ii of the substitute", "ii of bIII"),
    ] {
        assert!(!words::same(corpus, program), "{corpus}, {program}");
    }
}

fn most(aspect: Aspect) {
    let judgement = judgement();
    let share = judgement.share(aspect);
    let misses = judgement.misses.iter().filter(|m| m.aspect == aspect);
    let misses: Vec<String> = misses.map(ToString::to_string).collect();
    let name = aspect.name();
    assert!(
        share.reaches(98),
        "{name} right for {share}\n{}",
        misses.join("\n")
    );
}

#[test]
fn keys_are_right() {
    most(Aspect::Key);
}

#[test]
fn functions_are_right() {
    most(Aspect::Function);
}

#[test]
fn tensions_are_right() {
    most(Aspect::Tensions);
}

#[test]
fn first_scales_are_right() {
    most(Aspect::Scale);
}

fn all(share: Tally, wrong: &[String]) {
    assert!(
        share.of > 0 && share.right == share.of,
        "{share}\n{}",
        wrong.join("\n")
    );
}

#[test]
fn every_blues_is_in_its_own_key() {
    let judgement = judgement();
    let wrong = judgement.blues.iter().flat_map(|blues| {
        let keys = blues.keys.iter().enumerate();
        let missed = keys.filter(|(_, tally)| tally.right < tally.of);
        missed.map(|(up, tally)| format!("{} in {} + {up}: {tally}", blues.name, blues.home))
    });
    all(judgement.blues_share(), &wrong.collect::<Vec<_>>());
}

#[test]
fn nothing_depends_on_the_transposition() {
    let judgement = judgement();
    all(judgement.invariant, &judgement.variant);
}
