//! Random charts that can be read.

const CHORDS: [&str; 26] = [
    "C",
    "Dm7",
    "G7",
    "Cmaj7",
    "F#m7b5",
    "B7alt",
    "Em9",
    "A13(b9)",
    "Bb7(#11)",
    "Ebmaj9",
    "Ab6/9",
    "Db7sus4",
    "Gm(maj7)",
    "Cdim7",
    "F+",
    "E7(#5)",
    "Am7/G",
    "D9sus4",
    "Gb13",
    "N.C.",
    "Bm11",
    "C#m6",
    "D/C7",
    "G7sus4(b9)",
    "F5",
    "A7(no5)",
];

fn word(random: &mut fastrand::Rng) -> &'static str {
    CHORDS[random.usize(..CHORDS.len())]
}

/// The words of a bar in a meter with this many beats.
fn bar(random: &mut fastrand::Rng, beats: usize) -> String {
    match random.u8(..10) {
        0..5 => word(random).to_owned(),
        5..7 => {
            let count = random.usize(2..6);
            (0..count)
                .map(|_| word(random))
                .collect::<Vec<_>>()
                .join(" ")
        }
        7 if random.bool() => "%".to_owned(),
        7 => ["", "%%"][random.usize(..2)].to_owned(),
        8 if random.bool() => {
            let count = random.usize(1..6);
            let even = (0..count).map(|_| word(random));
            format!("even {}", even.collect::<Vec<_>>().join(" "))
        }
        _ => {
            let slash = |random: &mut fastrand::Rng| if random.bool() { "/" } else { word(random) };
            (0..beats)
                .map(|_| slash(random))
                .collect::<Vec<_>>()
                .join(" ")
        }
    }
}

/// A chart with sections, repeats, endings, recalls and changes of the meter, perhaps
/// with a jump and a pickup.
pub fn chart(random: &mut fastrand::Rng) -> String {
    loop {
        let text = try_chart(random);
        // A `%` for a bar of another length is an error. Most charts have none.
        if guidehand_theory::chart::parse(&text).is_ok() {
            return text;
        }
    }
}

fn try_chart(random: &mut fastrand::Rng) -> String {
    let meters = [
        (4, 4),
        (4, 4),
        (4, 4),
        (3, 4),
        (6, 8),
        (5, 4),
        (2, 2),
        (7, 8),
        (12, 8),
        (5, 16),
    ];
    let mut beats = 4;
    let mut text = format!("| {} |", word(random));
    let mut bars = |random: &mut fastrand::Rng, count: usize| -> String {
        let mut bars = Vec::new();
        for _ in 0..count {
            let mut meter = String::new();
            if random.u8(..8) == 0 {
                let (count, unit) = meters[random.usize(..meters.len())];
                beats = count;
                meter = format!("{count}/{unit} ");
            }
            // A `%` may need beats that another meter cannot count.
            let bar = match bar(random, beats) {
                bar if matches!(&*bar, "" | "%" | "%%") && !meter.is_empty() => {
                    word(random).to_owned()
                }
                bar => bar,
            };
            bars.push(format!("{meter}{bar}"));
        }
        bars.join(" | ")
    };
    let letters = random.bool();
    for _ in 0..random.usize(1..4) {
        if letters {
            text.push_str(&format!("\n[{}] ", char::from(random.u8(b'A'..b'D'))));
        }
        let count = random.usize(1..4);
        match random.u8(..5) {
            0 => {
                let times = ["", "", " x3 |", " x5 |"][random.usize(..4)];
                text.push_str(&format!(" |: {} :|{times}", bars(random, count)));
            }
            1 => {
                let common = bars(random, count);
                let (one, two) = (bars(random, 1), bars(random, count));
                text.push_str(&format!(" |: {common} | [1 {one} :| [2 {two} |"));
            }
            2 if letters => text.push_str(&format!(" {} :|", bars(random, count))),
            _ => text.push_str(&format!(" {} |", bars(random, count))),
        }
        if letters && random.u8(..4) == 0 {
            text.push_str(" [A]");
            text.push_str(" [D] C6 |");
        }
    }
    if random.bool() {
        return text;
    }
    // A jump over the whole chart, or over what follows.
    let (from, mark) = [("D.C.", ""), ("D.S.", "Segno ")][random.usize(..2)];
    let mut piece = |random: &mut fastrand::Rng| {
        let count = random.usize(1..4);
        bars(random, count)
    };
    text.push_str(&format!("\n| {mark}{}", piece(random)));
    let middle = piece(random);
    text.push_str(&match random.u8(..3) {
        0 => format!(" | {middle} Fine | {} {from} al Fine |", piece(random)),
        1 => {
            let (way, coda) = (piece(random), piece(random));
            format!(" | {middle} To Coda | {way} {from} al Coda |\nCoda | {coda} |")
        }
        _ => format!(" | {middle} {from} | {} |", piece(random)),
    });
    if random.u8(..3) == 0 {
        let pickup = ["G7", "N.C. / G7", "Am7 D7"][random.usize(..3)];
        text = format!("Pickup {pickup} {text}");
    }
    text
}
