//! Charts with repeats, endings, sections, changing meters, jumps, codas and pickups:
//! random forms against a slow unfolding that rewrites them to bars without any signs,
//! and texts that are not charts. What the signs mean is common practice, no published
//! source. Generator and slow unfolding stay in one file, since a reader compares them.

use fastrand::Rng;
use guidehand_theory::chart::{self, Chart, MOST_BARS, MOST_CHANGES, Meter};
use guidehand_theory::chord::Chord;
use std::collections::BTreeMap;

const METERS: [Meter; 5] = [
    Meter { beats: 4, unit: 4 },
    Meter { beats: 3, unit: 4 },
    Meter { beats: 6, unit: 8 },
    Meter { beats: 2, unit: 2 },
    Meter { beats: 5, unit: 4 },
];

const CHORDS: [&str; 7] = [
    "C6",
    "Dm7",
    "G7(b9, b13)",
    "F#m7b5",
    "Bbmaj7",
    "N.C.",
    "Am7/G",
];

#[derive(Clone, Debug)]
enum Token {
    Opens,
    Closes,
    /// After `Closes`.
    Times(u8),
    Ending(u8),
    Letter(char),
    Meter(Meter),
    Bar(String),
    Segno,
    Coda,
    ToCoda,
    Fine,
    /// From the segno or the beginning, and what the way back looks for.
    Jump(bool, &'static str),
}

/// Writes a random form that is well made, as tokens.
struct Writer {
    random: Rng,
    meter: Meter,
    tokens: Vec<Token>,
    /// The last ending has no `:|`, so that only `|:` can start new endings.
    trails: bool,
}

impl Writer {
    fn form(seed: u64) -> Vec<Token> {
        let mut writer = Writer {
            random: Rng::with_seed(seed),
            meter: Meter::COMMON,
            tokens: Vec::new(),
            trails: false,
        };
        let mut written: Vec<char> = Vec::new();
        writer.tokens.push(Token::Bar("C6 Dm7".to_owned()));
        for _ in 0..writer.random.usize(1..7) {
            let letter = writer.random.char('A'..='D');
            if writer.random.u8(..4) > 0 {
                writer.tokens.push(Token::Letter(letter));
                writer.trails = false;
                if written.contains(&letter) && writer.random.bool() {
                    // It is played again. Bars without a letter cannot follow.
                    let next = writer.random.char('E'..='G');
                    writer.tokens.push(Token::Letter(next));
                    written.push(next);
                }
                written.push(letter);
            }
            for _ in 0..writer.random.usize(1..4) {
                writer.block();
            }
        }
        if writer.random.bool()
            && let Some(letter) = writer.random.choice(&written)
        {
            writer.tokens.push(Token::Letter(*letter));
        }
        writer.tokens
    }

    fn block(&mut self) {
        let kind = self.random.u8(..4);
        if kind == 0 {
            return self.bars();
        }
        let endings = if kind > 1 { self.random.u8(2..5) } else { 0 };
        let opens = self.random.bool() || self.trails && endings > 0;
        if opens {
            self.tokens.push(Token::Opens);
        }
        // A `:|` after a last ending that is open belongs to it.
        let repeats = opens || !self.trails;
        self.trails = false;
        self.bars();
        for number in 1..=endings {
            self.tokens.push(Token::Ending(number));
            self.bars();
            if number == endings && self.random.bool() {
                self.trails = true;
                return;
            }
            self.tokens.push(Token::Closes);
        }
        if endings == 0 {
            self.tokens.push(Token::Closes);
            if repeats && self.random.u8(..4) == 0 {
                self.tokens.push(Token::Times(self.random.u8(2..5)));
            }
        }
    }

    /// A form with up to two jumps, and what they need.
    fn road(seed: u64) -> Vec<Token> {
        let mut writer = Writer {
            random: Rng::with_seed(seed),
            meter: Meter::COMMON,
            tokens: vec![Token::Bar("C6 Dm7".to_owned())],
            trails: false,
        };
        for _ in 0..writer.random.u8(1..3) {
            let by_segno = writer.random.bool();
            let until = ["", "al Fine", "al Coda"][writer.random.usize(..3)];
            writer.blocks(0);
            if by_segno {
                writer.tokens.push(Token::Segno);
                writer.trails = false;
            }
            writer.blocks(1);
            match until {
                "al Fine" => writer.tokens.push(Token::Fine),
                "al Coda" => writer.tokens.push(Token::ToCoda),
                _ => {}
            }
            writer.blocks(0);
            writer.tokens.push(Token::Jump(by_segno, until));
            writer.trails = false;
            match until {
                "al Fine" => return writer.tokens,
                "al Coda" => {
                    writer.tokens.push(Token::Coda);
                    writer.blocks(1);
                    return writer.tokens;
                }
                _ => writer.blocks(0),
            }
        }
        writer.tokens
    }

    /// Repeats, perhaps with letters.
    fn blocks(&mut self, least: usize) {
        for _ in 0..self.random.usize(least..3) {
            if self.random.u8(..4) == 0 {
                let letter = self.random.char('H'..='Z');
                self.tokens.push(Token::Letter(letter));
                self.trails = false;
                self.bars();
            }
            self.block();
        }
        // No ending is open where a sign stands.
        if self.trails {
            let letter = self.random.char('H'..='Z');
            self.tokens.push(Token::Letter(letter));
            self.trails = false;
            self.bars();
        }
    }

    fn bars(&mut self) {
        for _ in 0..self.random.usize(1..4) {
            if self.random.u8(..8) == 0 {
                self.meter = METERS[self.random.usize(..METERS.len())];
                self.tokens.push(Token::Meter(self.meter));
            }
            let bar = self.bar();
            self.tokens.push(Token::Bar(bar));
        }
    }

    fn bar(&mut self) -> String {
        let (count, slash) = match self.random.u8(..10) {
            0 => return "%".to_owned(),
            8 => {
                let even = (0..self.random.u8(1..6)).map(|_| self.chord());
                return format!("even {}", even.collect::<Vec<_>>().join(" "));
            }
            1 | 2 => (self.meter.beats, true),
            _ => (self.random.u8(1..4), false),
        };
        let words = (0..count).map(|_| {
            if slash && self.random.bool() {
                ["/", "."][self.random.usize(..2)]
            } else {
                CHORDS[self.random.usize(..CHORDS.len())]
            }
        });
        words.collect::<Vec<_>>().join(" ")
    }

    fn chord(&mut self) -> &'static str {
        CHORDS[self.random.usize(..CHORDS.len())]
    }
}

/// The text of a form, with its bar lines spelt in many ways.
fn text(tokens: &[Token], random: &mut Rng) -> String {
    let mut text = String::new();
    let mut line_due = random.bool();
    for (i, token) in tokens.iter().enumerate() {
        let next = tokens.get(i + 1);
        let spelt = match token {
            Token::Closes if matches!(next, Some(Token::Opens)) => {
                [":|:", ":||:", ":|\n|:", ":| |:"][random.usize(..4)].to_owned()
            }
            Token::Opens if text.ends_with("|: ") => continue,
            Token::Opens => ["|: ", "||:"][random.usize(..2)].to_owned(),
            Token::Closes => [":|", " :||"][random.usize(..2)].to_owned(),
            _ if line_due => ["|", " | ", "||", " |\n| "][random.usize(..4)].to_owned(),
            _ => " ".to_owned(),
        };
        text += &spelt;
        line_due = false;
        match token {
            Token::Opens | Token::Closes => text.push(' '),
            Token::Times(times) => text += &format!("x{times} |"),
            Token::Ending(number) => {
                let marks = [format!("[{number}"), format!("{number}.")];
                text += &format!("{} ", marks[random.usize(..2)]);
            }
            Token::Letter(letter) => {
                let marks = [format!("[{letter}]"), format!("{letter}:")];
                text += &format!("{} ", marks[random.usize(..2)]);
            }
            Token::Segno => text += ["Segno ", "\u{1d10b} "][random.usize(..2)],
            Token::Coda => text += ["Coda ", "\u{1d10c} ", "Coda:\n"][random.usize(..3)],
            Token::ToCoda => {
                text += ["To Coda", "to \u{1d10c}"][random.usize(..2)];
                line_due = true;
            }
            Token::Fine => {
                text += "Fine";
                line_due = true;
            }
            Token::Jump(by_segno, until) => {
                let from = if *by_segno {
                    ["D.S.", "DS"]
                } else {
                    ["D.C.", "Da Capo"]
                };
                text += &format!("{} {until}", from[random.usize(..2)]);
                line_due = true;
            }
            Token::Meter(meter) => text += &format!(" {meter}"),
            Token::Bar(bar) => {
                text += bar;
                line_due = true;
            }
        }
    }
    text
}

/// A bar without any signs around it: its meter and what is in it.
type Plain = (Meter, String);

/// The bars as played. Bars are numbers in a line of text, which is rewritten until no
/// sign is left. The jumps come first: what they play is written out.
fn expand(tokens: &[Token]) -> Vec<Plain> {
    let tokens = without_jumps(&[], tokens);
    let mut bars: Vec<Plain> = Vec::new();
    let mut meter = Meter::COMMON;
    let mut sections: Vec<(Option<char>, String)> = vec![(None, String::new())];
    for token in &tokens {
        let line = match token {
            Token::Letter(letter) => {
                sections.push((Some(*letter), String::new()));
                continue;
            }
            Token::Meter(new) => {
                meter = *new;
                continue;
            }
            // A separate part begins here, which nothing recalls.
            Token::Jump(..) => {
                sections.push((None, String::new()));
                continue;
            }
            Token::Bar(bar) => {
                bars.push((meter, bar.clone()));
                format!(" {} ", bars.len() - 1)
            }
            Token::Opens => " |: ".to_owned(),
            Token::Closes => " :| ".to_owned(),
            Token::Times(times) => format!(" x{times} "),
            Token::Ending(number) => format!(" [{number} "),
            Token::Segno | Token::Coda | Token::ToCoda | Token::Fine => continue,
        };
        sections.last_mut().unwrap().1 += &line;
    }
    let mut written: BTreeMap<Option<char>, String> = BTreeMap::new();
    let mut all = String::new();
    for (letter, line) in sections {
        if !line.is_empty() {
            written.insert(letter, rewrite(&line));
        }
        if letter.is_some() || !line.is_empty() {
            all += &written[&letter];
        }
    }
    let numbers = all.split_whitespace().map(|n| n.parse::<usize>().unwrap());
    numbers.map(|n| bars[n].clone()).collect()
}

/// Turns the tokens of a form with a jump into those of a form without: what stands
/// before the jump, what the way back plays, and the rest. Here the forms have no letters
/// that recall. A meter is written where a part begins, since a part may begin anywhere.
fn without_jumps(before: &[Token], tokens: &[Token]) -> Vec<Token> {
    let jump = tokens.iter().position(|t| matches!(t, Token::Jump(..)));
    let Some(at) = jump else {
        return [before, tokens].concat();
    };
    let Token::Jump(by_segno, until) = tokens[at] else {
        unreachable!();
    };
    let all = [before, &tokens[..at]].concat();
    // The jump before this one stands as an empty jump, and is skipped.
    let segno = all.iter().rposition(|t| matches!(t, Token::Segno));
    let start = if by_segno { segno.unwrap() } else { 0 };
    let sign = |token: &Token| match until {
        "al Fine" => matches!(token, Token::Fine),
        "al Coda" => matches!(token, Token::ToCoda),
        _ => matches!(token, Token::Fine | Token::ToCoda),
    };
    let stop = all[start..].iter().position(sign).map(|n| start + n);
    let way = straight(&all[..stop.unwrap_or(all.len())], start);
    let cut = [Token::Jump(false, "")];
    let way = [&cut[..], &way, &cut].concat();
    let rest = match stop.map(|stop| &all[stop]) {
        Some(Token::Fine) => Vec::new(),
        Some(_) => {
            let coda = tokens
                .iter()
                .position(|t| matches!(t, Token::Coda))
                .unwrap();
            with_meter(&tokens[..coda], &tokens[coda..])
        }
        None => with_meter(&all, &tokens[at + 1..]),
    };
    let first = [&all[..], &way].concat();
    if stop.is_some() {
        return [first, rest].concat();
    }
    // Another jump goes back through what is written, not through what was played.
    let rest = without_jumps(&all, &rest);
    [first, rest[all.len()..].to_vec()].concat()
}

/// Tokens with the meter in force after others.
fn with_meter(before: &[Token], tokens: &[Token]) -> Vec<Token> {
    let meter = before.iter().rev().find_map(|t| match t {
        Token::Meter(meter) => Some(*meter),
        _ => None,
    });
    let meter = Token::Meter(meter.unwrap_or(Meter::COMMON));
    [&[meter], tokens].concat()
}

/// The bars from a place on, each with its meter, without repeats and with the last
/// endings only.
fn straight(tokens: &[Token], start: usize) -> Vec<Token> {
    let mut bars: Vec<Token> = Vec::new();
    let mut meter = Meter::COMMON;
    // Where the bars of the ending that came last begin.
    let mut ending = 0;
    for (at, token) in tokens.iter().enumerate() {
        match token {
            Token::Meter(new) => meter = *new,
            Token::Ending(1) => ending = bars.len(),
            Token::Ending(_) => bars.truncate(ending),
            Token::Bar(bar) if at >= start => {
                bars.extend([Token::Meter(meter), Token::Bar(bar.clone())]);
            }
            _ => {}
        }
    }
    bars
}

/// Rewrites the first `:|`, then what is left.
fn rewrite(line: &str) -> String {
    let plain = |line: &str| -> String {
        let words = line.split_whitespace();
        let numbers = words.filter(|w| w.bytes().all(|b| b.is_ascii_digit()));
        numbers.map(|w| format!(" {w} ")).collect()
    };
    let Some((head, tail)) = line.split_once(":|") else {
        return plain(line);
    };
    let (before, body) = head.rsplit_once("|:").unwrap_or(("", head));
    let Some((common, ending)) = body.split_once('[') else {
        let counted = tail.trim_start().strip_prefix('x');
        let (times, tail) = counted.map_or((2, tail), |rest| {
            let (times, tail) = rest.split_once(' ').unwrap();
            (times.parse().unwrap(), tail)
        });
        return plain(before) + &body.repeat(times) + &rewrite(tail);
    };
    let (number, ending) = ending.split_once(' ').unwrap();
    let next = format!("[{} ", number.parse::<u8>().unwrap() + 1);
    let rest = match tail.trim_start().strip_prefix(&next) {
        Some(rest) => rewrite(&format!("|: {common} {next} {rest}")),
        None => rewrite(tail),
    };
    plain(before) + common + ending + &rest
}

/// Start, length, chord and bar of each change.
fn changes(chart: &Chart) -> Vec<(u32, u32, Option<Chord>, usize)> {
    let changes = chart.changes.iter();
    changes
        .map(|c| (c.start_ticks, c.length_ticks, c.chord, c.bar))
        .collect()
}

#[test]
fn random_forms_are_played_as_if_written_out() {
    let mut good = 0;
    for seed in 0..2_000 {
        good += usize::from(compare(&Writer::form(seed), seed));
    }
    assert!(good > 1_000, "only {good} forms could be compared");
}

#[test]
fn random_roads_are_played_as_if_written_out() {
    let mut good = 0;
    for seed in 0..1_000 {
        good += usize::from(compare(&Writer::road(seed), seed));
    }
    assert!(good > 500, "only {good} roads could be compared");
}

/// A form against its bars without signs; false where neither can be read.
fn compare(tokens: &[Token], seed: u64) -> bool {
    let text = text(tokens, &mut Rng::with_seed(seed));
    let plain = expand(tokens);
    let written_out: String = plain
        .iter()
        .map(|(meter, bar)| format!("| {meter} {bar} "))
        .collect();
    // A `%` may meet a bar of another length, in both or in none.
    match (chart::parse(&text), chart::parse(&written_out)) {
        (Ok(found), Ok(expected)) => {
            let (ours, theirs) = (changes(&found), changes(&expected));
            let same = ours.iter().zip(&theirs).take_while(|(a, b)| a == b).count();
            let first = (ours.get(same), theirs.get(same));
            assert!(ours == theirs, "{first:?}\n{text}\n{written_out}");
            let mut start_ticks = 0;
            assert_eq!(found.bars.len(), plain.len(), "{text}");
            for (bar, (meter, words)) in found.bars.iter().zip(&plain) {
                assert_eq!(
                    (bar.start_ticks, bar.meter),
                    (start_ticks, *meter),
                    "{text}"
                );
                let written = &found.written[bar.written];
                assert_eq!(&text[written.source.clone()], words, "{text}");
                assert_eq!(written.meter, *meter, "{text}");
                start_ticks += meter.bar_ticks();
            }
            check(&text, &found);
            true
        }
        (Err(found), Err(_)) => {
            for error in found {
                let words = error.to_string();
                assert!(words.contains("would repeat"), "{text}: {words}");
            }
            false
        }
        (found, expected) => {
            panic!(
                "{text}\n{written_out}\n{:?}\n{:?}",
                found.err(),
                expected.err()
            )
        }
    }
}

/// What holds for every chart.
fn check(text: &str, chart: &Chart) {
    assert!((1..=MOST_BARS).contains(&chart.bars.len()), "{text}");
    assert!((1..=MOST_CHANGES).contains(&chart.changes.len()), "{text}");
    let mut now_ticks = 0;
    for change in &chart.changes {
        assert_eq!(change.start_ticks, now_ticks, "{text}");
        assert_eq!(change.bar, chart.bar_at(change.start_ticks), "{text}");
        assert!(text.get(change.source.clone()).is_some(), "{text}");
        now_ticks += change.length_ticks;
    }
    assert_eq!(now_ticks, chart.length_ticks(), "{text}");
    for (i, written) in chart.written.iter().enumerate() {
        assert!(chart.bars.iter().any(|bar| bar.written == i), "{text}");
        assert!(text.get(written.source.clone()).is_some(), "{text}");
    }
}

/// Reads a text that may be anything: a chart that holds together, or errors in
/// the order of the text, each in it.
fn survive(text: &str) -> bool {
    match chart::parse(text) {
        Ok(chart) => {
            check(text, &chart);
            true
        }
        Err(errors) => {
            assert!(!errors.is_empty(), "{text:?}");
            assert!(errors.is_sorted_by_key(|e| e.source.start), "{text:?}");
            for error in errors {
                assert!(
                    text.get(error.source.clone()).is_some(),
                    "{text:?}: {error:?}"
                );
                assert!(
                    error.bar >= 1 && error.to_string().contains("expected"),
                    "{error}"
                );
            }
            false
        }
    }
}

#[test]
fn random_tokens_do_no_harm() {
    const TOKENS: [&str; 45] = [
        "Segno", "Coda", "To Coda", "Fine", "D.C.", "D.S.", "al Fine", "al Coda", "x3", "1.", "2.",
        "%%", ".", "Pickup", "even", "A:", "b9", "|", "|", "|", "|:", ":|", ":|", ":|:", "||",
        "|]", "::", ":", "[1", "[1", "[2", "[3", "[A]", "[B]", "[", "]", "3/4", "4/4", "%", "/",
        "C6", "F6", "C6", "(", "\n",
    ];
    let mut random = Rng::with_seed(20_260_301);
    let mut read = 0;
    for _ in 0..40_000 {
        let mut text = String::new();
        for _ in 0..random.usize(1..24) {
            text += TOKENS[random.usize(..TOKENS.len())];
            if random.u8(..3) > 0 {
                text.push(' ');
            }
        }
        read += usize::from(survive(&text));
    }
    assert!(read > 100, "only {read} texts could be read");
}

#[test]
fn random_bytes_do_no_harm() {
    let mut random = Rng::with_seed(20_260_302);
    for _ in 0..10_000 {
        let narrow = random.bool();
        let bytes = (0..random.usize(..60)).map(|_| match narrow {
            true => b"|:[]12A'/%4C6 \n()\xe2\x80\x99"[random.usize(..20)],
            false => random.u8(..),
        });
        let bytes: Vec<u8> = bytes.collect();
        survive(&String::from_utf8_lossy(&bytes));
    }
}

#[test]
fn long_texts_of_signs_end_soon() {
    for signs in [
        "|:",
        ":|",
        "[1",
        "[A]",
        "[A]C6|",
        "C6:|",
        "(",
        "[",
        "3/4 ",
        "%|",
        "C6|[1",
        "| ",
        "%%|",
        "C6 D.C.|",
        "Segno C6 D.S.|",
        "C6:|x99 ",
        "Coda C6 To Coda|",
        "C6 ",
        "b9 ",
        "1.",
        "A: ",
        "Fine ",
        "Pickup ",
        "even ",
        "C6 Fine|[A]",
    ] {
        let text = signs.repeat(chart::LONGEST_TEXT / signs.len());
        survive(&text);
    }
}
