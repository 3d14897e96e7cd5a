//! Made-up charts on stock forms, with their keys and functions (common practice, no
//! published source). The file is long because it is one table. Each form was annotated
//! before the program analysed it. The annotations of three forms were corrected
//! afterwards, and one was widened to a second reading.

/// A chart and the keys of its bars: from which bar on which key is in force,
/// alternatives between bars.
pub struct AnnotatedForm {
    pub name: &'static str,
    pub chart: &'static str,
    pub keys: &'static [(usize, &'static str)],
}

const fn form(
    name: &'static str,
    chart: &'static str,
    keys: &'static [(usize, &'static str)],
) -> AnnotatedForm {
    AnnotatedForm { name, chart, keys }
}

pub const FORMS: &[AnnotatedForm] = &[
    form(
        "blues, basic",
        "| C7 | % | % | % | F7 | % | C7 | % | G7 | F7 | C7 | % |",
        &[(1, "C blues")],
    ),
    form(
        "blues, quick change and turnaround",
        "| Bb7 | Eb7 | Bb7 | % | Eb7 | % | Bb7 | % | F7 | Eb7 | Bb7 | F7 |",
        &[(1, "Bb blues")],
    ),
    form(
        "blues, ii-V in bar nine",
        "| F7 | Bb7 | F7 | % | Bb7 | % | F7 | % | Gm7 | C7 | F7 | C7 |",
        &[(1, "F blues")],
    ),
    form(
        "blues, jazz changes",
        "| Bb7 | Eb7 | Bb7 | Fm7 Bb7 | Eb7 | Edim7 | Bb7 | Dm7b5 G7 | Cm7 | F7 | Bb7 G7 | Cm7 F7 |",
        &[(1, "Bb blues")],
    ),
    form(
        "blues, two choruses",
        "|: G7 | C7 | G7 | Dm7 G7 | C7 | C#dim7 | G7 | Bm7 E7 | Am7 | D7 | Bm7 E7 | Am7 D7 :|",
        &[(1, "G blues")],
    ),
    form(
        "blues, substitutes",
        "| F7 | Bb7 | F7 | Cm7 B7 | Bb7 | Bbm7 Eb7 | Am7 D7 | Abm7 Db7 | Gm7 | C7 | F7 Ab7 | Db7 Gb7 |",
        &[(1, "F blues")],
    ),
    form(
        "blues, bVI7 in bar nine",
        "| C7 | F7 | C7 | % | F7 | F#dim7 | C7 | % | Ab7 | G7 | C7 | Ab7 G7 |",
        &[(1, "C blues")],
    ),
    form(
        "blues, of cycles",
        "| Fmaj7 | Em7b5 A7 | Dm7 G7 | Cm7 F7 | Bbmaj7 | Bbm7 Eb7 | Am7 | Abm7 Db7 | Gm7 | C7 | Am7 D7 | Gm7 C7 |",
        &[(1, "F major|F blues")],
    ),
    form(
        "blues, eight bars",
        "| C7 | G7 | F7 | % | C7 | G7 | C7 F7 | C7 G7 |",
        &[(1, "C blues")],
    ),
    form(
        "blues, sixteen bars",
        "| G7 | % | % | % | % | % | % | % | C7 | % | G7 | % | D7 | C7 | G7 | % |",
        &[(1, "G blues")],
    ),
    form(
        "blues in waltz time",
        "3/4 | F7 | Bb7 | F7 | % | Bb7 | % | F7 | % | Gm7 | C7 | F7 | C7 |",
        &[(1, "F blues")],
    ),
    form(
        "blues, thirteenths and a written #9",
        "| C13 | F9 | C7#9 | % | F13 | % | C13 | A7#5 | Dm9 | G7alt | C7#9 | G7alt |",
        &[(1, "C blues")],
    ),
    form(
        "minor blues",
        "| Cm7 | % | % | % | Fm7 | % | Cm7 | % | Ab7 | G7 | Cm7 | % |",
        &[(1, "C minor")],
    ),
    form(
        "minor blues, ii-V",
        "| Cm6 | Fm6 | Cm6 | Gm7b5 C7 | Fm7 | % | Cm6 | % | Dm7b5 | G7 | Cm6 | Dm7b5 G7 |",
        &[(1, "C minor")],
    ),
    form(
        "minor blues, triads",
        "| Am | Dm | Am | % | Dm | % | Am | % | E7 | Dm | Am | E7 |",
        &[(1, "A minor")],
    ),
    form(
        "rhythm changes, passing diminished",
        "[A] | Bb6 Bdim7 | Cm7 C#dim7 | Dm7 G7 | Cm7 F7 | Bb6 Bb7 | Eb7 Edim7 | Bb6 G7 | Cm7 F7 | \
         [A] [B] | D7 | % | G7 | % | C7 | % | F7 | % | [A]",
        &[(1, "Bb major")],
    ),
    form(
        "rhythm changes, ii-Vs in the bridge",
        "[A] | Bbmaj7 G7 | Cm7 F7 | Dm7 G7 | Cm7 F7 | Fm7 Bb7 | Ebmaj7 Ab7 | Dm7 G7 | Cm7 F7 | \
         [A] [B] | Am7 | D7 | Dm7 | G7 | Gm7 | C7 | Cm7 | F7 | [A]",
        &[(1, "Bb major")],
    ),
    form(
        "rhythm changes in F",
        "| F6 D7 | Gm7 C7 | Am7 D7 | Gm7 C7 | F7 | Bb6 Bbm6 | F6 C7 | F6 | \
         A7 | % | D7 | % | G7 | % | C7 | % |",
        &[(1, "F major")],
    ),
    form(
        "relative keys by turns",
        "| Cm7 | F7 | Bbmaj7 | Ebmaj7 | Am7b5 | D7 | Gm6 | % |",
        &[(1, "G minor|Bb major"), (5, "G minor")],
    ),
    form(
        "a circle of keys",
        "| Fm7 | Bbm7 | Eb7 | Abmaj7 | Dbmaj7 | G7 | Cmaj7 | % | \
         Cm7 | Fm7 | Bb7 | Ebmaj7 | Abmaj7 | D7 | Gmaj7 | % |",
        &[
            (1, "Ab major"),
            (6, "C major"),
            (9, "Eb major"),
            (14, "G major"),
        ],
    ),
    form(
        "down in whole steps",
        "| Gmaj7 | % | Gm7 | C7 | Fmaj7 | % | Fm7 | Bb7 | Ebmaj7 | Am7b5 D7 | Gm6 | Am7 D7 |",
        &[
            (1, "G major"),
            (3, "F major"),
            (7, "Eb major"),
            (10, "G minor|G major"),
            (12, "G major"),
        ],
    ),
    form(
        "thirds cycle, half a bar each",
        "| Bmaj7 D7 | Gmaj7 Bb7 | Ebmaj7 | Am7 D7 | Gmaj7 Bb7 | Ebmaj7 F#7 | Bmaj7 | Fm7 Bb7 | \
         Ebmaj7 | Am7 D7 | Gmaj7 | C#m7 F#7 | Bmaj7 | Fm7 Bb7 | Ebmaj7 | C#m7 F#7 |",
        &[
            (3, "Eb major"),
            (4, "G major"),
            (5, "G major|Eb major"),
            (6, "Eb major|B major"),
            (7, "B major"),
            (8, "Eb major"),
            (10, "G major"),
            (12, "B major"),
            (14, "Eb major"),
            (16, "B major"),
        ],
    ),
    form(
        "bridge on IV",
        "[A] | Ebmaj7 | Cm7 | Fm7 | Bb7 | Gm7 C7 | Fm7 Bb7 | Ebmaj7 | % | \
         [B] | Bbm7 | Eb7 | Abmaj7 | % | Bbm7 | Eb7 | Abmaj7 | % | [A]",
        &[(1, "Eb major"), (9, "Ab major"), (17, "Eb major")],
    ),
    form(
        "bridge on bVI",
        "[A] | Fmaj7 | Dm7 | Gm7 | C7 | Am7 D7 | Gm7 C7 | Fmaj7 | % | \
         [B] | Ebm7 | Ab7 | Dbmaj7 | Bbm7 | Ebm7 | Ab7 | Dbmaj7 | Gm7 C7 | [A]",
        &[(1, "F major"), (9, "Db major"), (16, "F major")],
    ),
    form(
        "bridge a half step up, rhythm of two bars",
        "[A] | Dm7 | G7 | Cmaj7 | % | Dm7 | G7 | Cmaj7 | % | \
         [B] | Dbmaj7 | % | Ebm7 | Ab7 | Dbmaj7 | % | Dm7 | G7 | [A]",
        &[(1, "C major"), (9, "Db major"), (15, "C major")],
    ),
    form(
        "parallel minor and major",
        "| Cm6 | % | Fm7 | G7 | Cm6 | % | Dm7b5 | G7 | Cmaj7 | % | Dm7 | G7 | Cmaj7 | Am7 | Dm7 | G7 |",
        &[
            (1, "C minor"),
            (8, "C minor|C major"),
            (9, "C major"),
            (16, "C major|C minor"),
        ],
    ),
    form(
        "minor tune that ends in major",
        "| Dm6 | % | Em7b5 | A7b9 | Dm6 | Gm7 | Em7b5 | A7 | Dmaj7 | % | Em7b5 | A7b9 |",
        &[
            (1, "D minor"),
            (8, "D minor|D major"),
            (9, "D minor|D major"),
            (11, "D minor|D major"),
        ],
    ),
    form(
        "modal, a half step up and back",
        "| Dm7 | % | % | % | % | % | % | % | Ebm7 | % | % | % | % | % | % | % | Dm7 | % | % | % |",
        &[(1, "D minor"), (9, "Eb minor"), (17, "D minor")],
    ),
    form(
        "Dorian with its IV7",
        "| Gm7 | C7 | Gm7 | C7 | Gm7 | % | Gm6 | % |",
        &[(1, "G minor")],
    ),
    form(
        "begins on ii",
        "| Am7 | D7 | Gmaj7 | Cmaj7 | Am7 | D7 | Gmaj7 | E7 |",
        &[(1, "G major")],
    ),
    form(
        "begins on IV and says so only later",
        "| Bbmaj7 | Bbm7 Eb7 | Fmaj7 | D7 | Gm7 | C7 | Fmaj7 | C7 |",
        &[(2, "F major|Bb major"), (3, "F major")],
    ),
    form(
        "ends on bII",
        "| Cmaj7 | Am7 | Dm7 | G7 | Em7 | A7 | Dm7 G7 | Dbmaj7 |",
        &[(1, "C major")],
    ),
    form(
        "ends on vi",
        "| Gmaj7 | Bm7 | Am7 | D7 | Gmaj7 | B7 | Em7 | % |",
        &[(1, "G major"), (6, "G major|E minor")],
    ),
    form(
        "ballad with a backdoor and a substitute",
        "| Dbmaj7 | Gm7b5 C7 | Fm7 | Bb7 | Ebm7 | Ab7 | Dbmaj7 Gbm7 | B7 | Dbmaj7 | Ebm7 D7 |",
        &[(1, "Db major")],
    ),
    form(
        "bossa in minor",
        "| Cm6 | % | Fm7 | % | Dm7b5 | G7 | Cm6 | % | Ebm7 | Ab7 | Dbmaj7 | % | Dm7b5 | G7 | Cm6 | Dm7b5 G7 |",
        &[(1, "C minor"), (9, "Db major"), (13, "C minor")],
    ),
    form(
        "bossa with II7",
        "| Fmaj7 | % | G7 | % | Gm7 | Gb7 | Fmaj7 | Gb7 |",
        &[(1, "F major")],
    ),
    form(
        "turnaround of major sevenths",
        "| Cmaj7 Ebmaj7 | Abmaj7 Dbmaj7 | Cmaj7 | % | Fm7 | Bb7 | Cmaj7 | % |",
        &[(1, "C major")],
    ),
    form(
        "a visit of two bars by a cadence of its own",
        "| Cmaj7 | % | Fm7 Bb7 | Ebmaj7 | Dm7 | G7 | Cmaj7 | % |",
        &[(1, "C major"), (3, "Eb major"), (5, "C major")],
    ),
    form(
        "chromatic ii-Vs",
        "| Cmaj7 | % | Em7 A7 | Ebm7 Ab7 | Dm7 | G7 | Cmaj7 | % |",
        &[(1, "C major")],
    ),
    form(
        "I, IV and iv in triads",
        "| C | C7 | F | Fm | C | G7 | C | G7 |",
        &[(1, "C major")],
    ),
    form(
        "pop triads",
        "| G | D | Em | C | G | D | C | % |",
        &[(1, "G major")],
    ),
    form(
        "minor triads, descending",
        "| Am | G | F | E7 | Am | G | F | E7 |",
        &[(1, "A minor")],
    ),
    form(
        "descending line in minor",
        "| Am | Am(maj7) | Am7 | Am6 | Dm7 | G7 | Cmaj7 | E7 |",
        &[(1, "A minor"), (5, "A minor|C major")],
    ),
    form(
        "waltz",
        "3/4 | Fmaj7 | D7 | Gm7 | C7 | F7 | Bbmaj7 | Bbm6 | Fmaj7 | Bm7b5 E7 | Am7 | D7 | Gm7 | C7 | Fmaj7 | % | C7 |",
        &[(1, "F major")],
    ),
    form(
        "long ballad in minor with its relative",
        "[A] | Dm6 | Bm7b5 E7 | Em7b5 A7 | Dm6 | Gm7 | C7 | Fmaj7 | Em7b5 A7 | \
         [B] | Am7b5 D7 | Gm7 | Gm7 C7 | Fmaj7 | Em7b5 | A7 | Dm6 | Em7b5 A7 | [A]",
        &[
            (1, "D minor"),
            (5, "D minor|F major"),
            (13, "D minor"),
            (21, "D minor|F major"),
        ],
    ),
    form(
        "dominants in a cycle, home to major",
        "| E7 | % | A7 | % | D7 | % | G7 | % | Cmaj7 | % | % | % |",
        &[(1, "C major")],
    ),
    form(
        "gospel",
        "| C | C7 | F | F#dim7 | C/G | A7 | D7 G7 | C F |",
        &[(1, "C major")],
    ),
    form(
        "sus over a bass",
        "| Dm7/G | Cmaj7 | Dm7/G | Cmaj7 | F/G | Cmaj7 | F/G | Cmaj7 |",
        &[(1, "C major")],
    ),
    form(
        "long major tune with a tonicised ii",
        "| Fmaj7 | Gm7 C7 | Fmaj7 | Am7b5 D7b9 | Gm7 | D7 | Gm7 | Bbm7 Eb7 | \
         Am7 | D7alt | Gm7 | Db9 | Am7 Abm7 | Gm7 C7 | F6 | Am7 D7 |",
        &[(1, "F major")],
    ),
    form(
        "major tune with a tonicised iii",
        "| Bbmaj7 | Cm7 F7 | Bbmaj7 | Em7b5 A7 | Dm7 | G7 | Cm7 | F7 | \
         Dm7 | Db7 | Cm7 | B7 | Bbmaj7 | Ebm7 Ab7 | Dm7 G7 | Cm7 F7 |",
        &[(1, "Bb major")],
    ),
    form(
        "ii approached by its dominant, four times",
        "| C6 | A7b9 | Dm7 | A7b9 | Dm7 | Fm6 | Em7 Eb7 | Dm7 Db7 | \
         C6 | A7 | Dm7 | Ab7 G7 | C6 | A7#5 | Dm9 | G13 |",
        &[(1, "C major")],
    ),
    form(
        "vi approached by its dominant",
        "| Abmaj7 | C7 | Fm7 | Bb7 | Bbm7 | Eb7 | Abmaj7 | % | Dbmaj7 | Gb7 | Abmaj7 | F7 | Bbm7 | Eb7 | Ab6 | Bbm7 Eb7 |",
        &[(1, "Ab major")],
    ),
    form(
        "bridge in the minor mediant, by a cadence",
        "[A] | Gmaj7 | Em7 | Am7 | D7 | Gmaj7 | E7 | Am7 D7 | G6 | \
         [B] | Bm6 | C#m7b5 F#7 | Bm6 | % | Em7 | C#m7b5 F#7b9 | Bm6 | Am7 D7 | [A]",
        &[
            (1, "G major"),
            (9, "B minor"),
            (16, "G major|B minor"),
            (17, "G major"),
        ],
    ),
    form(
        "bridge in the minor supertonic, i iv V i",
        "[A] | Cmaj7 | Am7 | Dm7 | G7 | Cmaj7 | Am7 | Dm7 G7 | C6 | \
         [B] | Dm6 | % | Gm6 | % | Em7b5 | A7b9 | Dm6 | G7 | [A]",
        &[
            (1, "C major"),
            (9, "D minor"),
            (16, "C major|D minor"),
            (17, "C major"),
        ],
    ),
    form(
        "bridge in the relative minor, two cadences",
        "[A] | Ebmaj7 | Fm7 Bb7 | Gm7 C7 | Fm7 Bb7 | Ebmaj7 | Ab7 | Gm7 C7 | Fm7 Bb7 | \
         [B] | Cm6 | % | Dm7b5 | G7b9 | Cm6 | % | Fm7 | Bb7 | [A]",
        &[
            (1, "Eb major"),
            (9, "C minor"),
            (15, "C minor|Eb major"),
            (17, "Eb major"),
        ],
    ),
    form(
        "bridge by ii-Vs in major keys",
        "[A] | Fmaj7 | D7 | Gm7 | C7 | Fmaj7 | D7 | Gm7 C7 | F6 | \
         [B] | Bm7 | E7 | Amaj7 | % | Am7 | D7 | Gmaj7 | C7 | [A]",
        &[
            (1, "F major"),
            (9, "A major"),
            (13, "G major"),
            (16, "G major|F major"),
            (17, "F major"),
        ],
    ),
    form(
        "interchange under a melody that stays",
        "| Cmaj7 | Gm7 | Fmaj7 | Fm7 | Ebmaj7 | Abmaj7 | Dbmaj7 | G7sus4 | \
         Cmaj7 | Bbmaj7 | Abmaj7 | Bbmaj7 | Cmaj7 | Fm7 | Cmaj7 | % |",
        &[(1, "C major")],
    ),
    form(
        "interchange, major sevenths by thirds",
        "| Gmaj7 | Bbmaj7 | Ebmaj7 | Abmaj7 | Gmaj7 | Dm7 | Cmaj7 | Cm7 | Gmaj7 | Fmaj7 | Ebmaj7 | D7 |",
        &[(1, "G major")],
    ),
    form(
        "begins on IV, two bars, then the backdoor",
        "| Abmaj7 | % | Abm7 | Db7 | Ebmaj7 | Cm7 | Fm7 | Bb7 | \
         Abmaj7 | % | Abm7 | Db7 | Gm7 | C7 | Fm7 Bb7 | Eb6 |",
        &[(1, "Eb major")],
    ),
    form(
        "begins on IV, the diminished chord after it",
        "| Ebmaj7 | Edim7 | Bb6/F | G7 | Cm7 | F7 | Bbmaj7 | Fm7 Bb7 | \
         Ebmaj7 | Ebm6 | Bb6/D | G7 | Cm7 | F7 | Bb6 | % |",
        &[(1, "Bb major")],
    ),
    form(
        "begins on bII",
        "| Abmaj7 | Gmaj7 | Abmaj7 | Gmaj7 | Am7 | D7 | Bm7 | E7 | Am7 | D7 | Gmaj7 | % |",
        &[(1, "G major")],
    ),
    form(
        "begins on I, then a section on V",
        "| Cmaj7 | % | Dm7 G7 | Cmaj7 | Am7 | D7 | Gmaj7 | % | Am7 D7 | Gmaj7 | Dm7 | G7 | Cmaj7 | F7 | Dm7 G7 | C6 |",
        &[
            (1, "C major"),
            (5, "C major|G major"),
            (7, "G major"),
            (11, "C major"),
        ],
    ),
    form(
        "begins on VI7",
        "| A7 | % | D9 | % | Dm7 | G7 | Cmaj7 | Em7b5 A7 | D9 | % | Dm7 | G7 | C6 | A7 | Dm7 G7 | C6 |",
        &[(1, "C major")],
    ),
    form(
        "begins on vi and its cadence",
        "| Am7 | D7 | Gm7 | C7 | Fmaj7 | Bm7b5 E7 | Am7 D7 | Gm7 C7 | F6 | % | Gm7 | C7 | Am7 | D7 | Gm7 C7 | F6 |",
        &[(1, "F major")],
    ),
    form(
        "blues with a slide of dominants",
        "| Bb7 | Eb7 | Bb7 | Bb7 A7 | Ab7 G7 | Cm7 | F7 | % | Eb7 | Edim7 | Bb7 G7 | Cm7 F7 |",
        &[(1, "Bb blues")],
    ),
    form(
        "blues that tonicises its ii and its iii",
        "| F7 | Bb7 | F7 | Cm7 F7 | Bb7 | Bdim7 | F7 E7 | Am7b5 D7b9 | Gm7 | C7 | Am7 D7alt | Gm7 C7 |",
        &[(1, "F blues")],
    ),
    form(
        "minor tune that visits its iv and comes home",
        "| Gm6 | Am7b5 D7 | Gm6 | Dm7b5 G7b9 | Cm7 | Am7b5 D7 | Gm6 | Eb7 D7 | Gm6 | % | Cm6 | % | Am7b5 | D7b9 | Gm6 | % |",
        &[(1, "G minor")],
    ),
    form(
        "the line of the relative minor, then iv and home",
        "| Cmaj7 | Bm7b5 E7 | Am7 | Am7/G | F#m7b5 | Fm6 | C/E | Ebdim7 | Dm7 | G7 | C6 | % |",
        &[(1, "C major"), (2, "C major|A minor"), (6, "C major")],
    ),
    form(
        "tonicised ii and iii in sixteen bars, ending at home",
        "| Dmaj7 | B7 | Em7 | A7 | F#m7 | G#m7b5 C#7 | F#m7 | B7b9 | \
         Em7 | B7b9 | Em7 | Gm7 C7 | F#m7 F7 | Em7 Eb7 | D6 | Em7 A7 |",
        &[(1, "D major")],
    ),
    form(
        "ii by its dominant again and again",
        "| Ebmaj7 | C7 | Fm7 | C7alt | Fm7 | % | Abm7 | Db9 | Gm7 | Gb7 | Fm7 | E9 | Eb6 | Cm7 | Fm7 | Bb7 |",
        &[(1, "Eb major")],
    ),
    form(
        "deceptive ii-Vs of home",
        "| Fmaj7 | Gm7 C7 | Am7 | D7 | Gm7 | C7 | Dm7 | G7 | Gm7 | C7 | Am7 Abdim7 | Gm7 C7 | F6 | % | Gm7 | C7 |",
        &[(1, "F major")],
    ),
    form(
        "bridge in the minor subdominant of its relative",
        "[A] | Bbmaj7 | Gm7 | Cm7 | F7 | Dm7 G7 | Cm7 F7 | Bb6 | % | \
         [B] | Dm6 | Em7b5 A7 | Dm6 | % | Em7b5 | A7b9 | Dm6 | Cm7 F7 | [A]",
        &[
            (1, "Bb major"),
            (9, "D minor"),
            (16, "Bb major|D minor"),
            (17, "Bb major"),
        ],
    ),
    form(
        "bridge a major third up and back",
        "[A] | Ebmaj7 | C7 | Fm7 | Bb7 | Ebmaj7 | C7 | Fm7 Bb7 | Eb6 | \
         [B] | Am7 | D7 | Gmaj7 | % | Gm7 | C7 | Fm7 | Bb7 | [A]",
        &[
            (1, "Eb major"),
            (9, "G major"),
            (13, "Eb major|G major|F major"),
            (15, "Eb major"),
        ],
    ),
    form(
        "interchange without a cadence",
        "| Ebmaj7 | Dbmaj7 | Ebmaj7 | Bbm7 | Abmaj7 | Abm7 | Gbmaj7 | Cbmaj7 | Ebmaj7 | Fm7 | Bb7 | Ebmaj7 |",
        &[(1, "Eb major")],
    ),
    form(
        "begins on IV and walks home",
        "| Fmaj7 | F#dim7 | C6/G | A7 | Dm7 | G7 | C6 | Gm7 C7 | Fmaj7 | Fm7 Bb7 | Em7 A7 | Dm7 G7 | C6 | % |",
        &[(1, "C major")],
    ),
    form(
        "begins on bII, two bars",
        "| Dbmaj7 | % | Cmaj7 | % | Dbmaj7 | % | Cmaj7 | A7 | Dm7 | G7 | Em7 A7 | Dm7 G7 | Cmaj7 | % |",
        &[(1, "C major")],
    ),
    form(
        "begins on II7",
        "| G7 | % | Gm7 | C7 | Fmaj7 | D7 | G7 | % | Gm7 | C7b9 | Fmaj7 | % |",
        &[(1, "F major")],
    ),
    form(
        "begins on I and goes to IV",
        "| Gmaj7 | % | Dm7 | G7 | Cmaj7 | % | Cm7 | F7 | Bm7 | E7 | Am7 | D7 | Gmaj7 | E7 | Am7 | D7 |",
        &[(1, "G major"), (3, "G major|C major"), (7, "G major")],
    ),
    form(
        "blues with ii-Vs down to ii",
        "| C7 | F7 | C7 | Gm7 C7 | F7 | F#dim7 | C7 B7 | Bb7 A7 | Dm7 | G7 | Em7 A7 | Dm7 Db7 |",
        &[(1, "C blues")],
    ),
    form(
        "minor key of a cadence that stays, then home",
        "| Abmaj7 | Bbm7 Eb7 | Abmaj7 | Dm7b5 G7 | Cm6 | % | Dm7b5 G7 | Cm6 | Bbm7 | Eb7 | Abmaj7 | % |",
        &[
            (1, "Ab major"),
            (4, "C minor|Ab major"),
            (5, "C minor"),
            (9, "Ab major"),
        ],
    ),
    form(
        "blues whose IV7 moves on to iv",
        "| C7 | % | % | % | F7 | Fm7 Bb7 | Em7 A7 | Ebm7 Ab7 | Dm7 | G7 | C7 A7 | Dm7 G7 |",
        &[(1, "C blues")],
    ),
    form(
        "bridge on iii with a minor seventh that stays",
        "[A] | Ebmaj7 | Cm7 | Fm7 | Bb7 | Ebmaj7 | C7 | Fm7 Bb7 | Eb6 | [A] \
         [B] | Gm7 | Am7b5 D7 | Gm7 | % | Cm7 | Am7b5 D7 | Gm7 C7 | Fm7 Bb7 | [A]",
        &[
            (1, "Eb major"),
            (17, "G minor"),
            (23, "Eb major|G minor"),
            (24, "Eb major"),
        ],
    ),
    form(
        "a vamp on i and IV7, then a step down",
        "| Ebm7 | % | Ab7 | % | Ebm7 | % | % | % | Dbm7 | % | Gb7 | % | Ebm7 | % | B7 | Bb7 |",
        &[(1, "Eb minor"), (9, "C# minor|Eb minor"), (13, "Eb minor")],
    ),
    form(
        "bVII, IV and I in triads",
        "| C | Bb | F | C | C | Bb | F | C |",
        &[(1, "C major")],
    ),
    form(
        "a turnaround of thirds at the end",
        "| Cmaj7 | % | Fm7 | Bb7 | Cmaj7 | A7 | Dm7 | G7 | Cmaj7 Eb7 | Abmaj7 Db7 |",
        &[(1, "C major")],
    ),
];

/// Charts and their functions; `*` where it does not matter.
pub const FUNCTIONS: &[(&str, &str)] = &[
    ("| Cmaj7 | A7 | Dm7 | G7 |", "I in C major; V of ii; ii; V"),
    ("| Cmaj7 | A7 | D7 | G7 |", "I; V of II; V of V; V"),
    ("| Cmaj7 | E7 | Fmaj7 | G7 |", "I; V of vi; IV; V"),
    (
        "| Cmaj7 | A7 | Fm6 | G7 | Cmaj7 | % |",
        "I; V of ii; iv, borrowed; V; I",
    ),
    (
        "| Cmaj7 | Fm7 Bb7 | Cmaj7 | G7 |",
        "I; iv, backdoor; bVII, backdoor; I; V",
    ),
    (
        "| Cmaj7 | Fm7 Bb7 | Em7 A7 | Dm7 G7 |",
        "I; iv, backdoor; bVII, backdoor; iii; V of ii; ii; V",
    ),
    (
        "| Cmaj7 | Abm7 Db7 | Cmaj7 | G7 |",
        "I; ii of the substitute; tritone substitute to I; I; V",
    ),
    (
        "| Cmaj7 | Bbm7 Eb7 | Dm7 | G7 |",
        "I; ii of the substitute; tritone substitute to ii; ii; V",
    ),
    ("| Cmaj7 | Ab7 | Dm7 | G7 |", "I; bVI; ii; V"),
    ("| Cmaj7 | Ab7 | G7 | % |", "I; bVI; V"),
    ("| Cm6 | Ab7 | Dm7b5 | G7 |", "i in C minor; bVI; iiø; V"),
    ("| Cm6 | D7 | G7 | Cm6 |", "i in C minor; V of V; V; i"),
    ("| Cmaj7 | D7 | Dm7 | G7 |", "I; V of V; ii; V"),
    ("| Cmaj7 | C#dim7 | Dm7 | G7 |", "I; #i°, passing; ii; V"),
    (
        "| Em7 | Ebdim7 | Dm7 | G7 | Cmaj7 | % |",
        "iii in C major; biii°, passing; ii; V; I",
    ),
    ("| Cmaj7 | Cdim7 | Cmaj7 | G7 |", "I; i°, common tone; I; V"),
    (
        "| C7 | F7 | C7 | % | F7 | F#dim7 | C7 | A7 | Dm7 | G7 | C7 | G7 |",
        "I in C blues; IV; I; IV; #iv°, passing; I; V of ii; ii; V; I; V",
    ),
    (
        "| Cmaj7 | Gm7 C7 | Fmaj7 | G7 |",
        "I; ii of IV; V of IV; IV; V",
    ),
    (
        "| Cmaj7 | Bm7b5 E7 | Am7 | G7 |",
        "I; iiø of vi; V of vi; vi; V",
    ),
    (
        "| Cmaj7 | F#m7b5 B7 | Em7 A7 | Dm7 G7 |",
        "I; iiø of iii; V of iii; iii; V of ii; ii; V",
    ),
    ("| Cmaj7 | Bdim7 | Cmaj7 | G7 |", "I; vii°; I; V"),
    ("| Cmaj7 | Dm7b5 G7 | Cmaj7 | % |", "I; iiø; V; I"),
    (
        "| Cmaj7 | Abmaj7 | Dbmaj7 | G7 |",
        "I in C major; bVI, borrowed; bII, chromatic; V",
    ),
    (
        "| C6 | D#dim7 | C/E | Dm7 | G7 | Cdim7 | C6 | % |",
        "I; #ii°, passing; I; ii; V; i°, common tone; I",
    ),
    (
        "| Cmaj7 | % | Fm7 | Bb7 | Dm7 | G7 | Cmaj7 | % |",
        "I; iv, backdoor; bVII, backdoor; ii; V; I in C major",
    ),
    (
        "| Cmaj7 | Db7 | Fmaj7 | G7 | Cmaj7 | % |",
        "I; tritone substitute to I; IV; V; I",
    ),
    (
        "| C7 | F7 | C7 | C7b9 | F7 | F#dim7 | C7 | A7b9 | Dm7 | G7 | C7 | G7 |",
        "I in C blues; IV; I; V of IV; IV; #iv°, passing; I; V of ii; ii; V; I; V",
    ),
    (
        "| Cmaj7 | % | B7 | Bb7 | A7 | Dm7 | G7 | Cmaj7 |",
        "I; *; tritone substitute to VI; V of ii; ii; V; I in C major",
    ),
    (
        "| Cm6 | % | Am7b5 D7 | Gm7b5 C7 | Fm7 | G7 | Cm6 | % |",
        "i in C minor; iiø of V; V of V; iiø of iv; V of iv; iv; V; i",
    ),
];
