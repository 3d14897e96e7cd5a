//! Stock progressions to read, each in one key: those the reader's points are set with,
//! and two groups of others to judge them by. Common practice, no published source; all
//! were written for this file or are in general use.

/// A key and a chart that goes round in it.
pub type Progression = (&'static str, &'static str);

/// What the reader's points are set with.
pub const TRAINING: [Progression; 96] = [
    // Cadences and turnarounds in major.
    ("C", "Dm7 | G7 | Cmaj7"),
    ("C", "Dm9 | G13 | Cmaj9 | A7"),
    ("C", "Cmaj7 | Am7 | Dm7 | G7"),
    ("C", "Em7 | A7 | Dm7 | G7"),
    ("C", "C6 | Am7 | D7 | G7"),
    ("C", "Dm7 | Db7 | Cmaj7"),
    ("C", "Dm7 | G7b9 | C6/9"),
    ("C", "Cmaj7 | Fmaj7 | Em7 | A7 | Dm7 | G7"),
    ("C", "Bm7b5 | E7 | Am7 | D7 | Dm7 | G7 | Cmaj7"),
    ("C", "Gm7 | C7 | Fmaj7 | Dm7 | G7 | Cmaj7"),
    ("C", "D7 | Dm7 | G7 | C6"),
    // Passing and common-tone diminished chords.
    ("C", "C6 | C#dim7 | Dm7 | D#dim7 | Em7 | A7 | Dm7 | G7"),
    ("C", "Fmaj7 | F#dim7 | C6 | A7 | Dm7 | G7"),
    ("C", "Em7 | Ebdim7 | Dm7 | G7 | Cmaj7"),
    // The minor subdominant and the backdoor.
    ("C", "Fmaj7 | Fm6 | Em7 | A7 | Dm7 | G7 | Cmaj7"),
    ("C", "Cmaj7 | Fm7 | Bb7 | Cmaj7 | Dm7 | G7"),
    ("C", "C6 | C7 | Fmaj7 | Fm6 | C6 | G7"),
    ("C", "Dm7 | Dm7b5 | G7b9 | Cmaj7"),
    // Suspensions.
    ("C", "Dm7 | G7sus4 | G7 | Cmaj7"),
    ("C", "G13sus4 | Cmaj7"),
    ("C", "Cmaj7 | A7sus4 | A7 | Dm7 | G7sus4 | G7"),
    // Tonics with ninths, and diatonic steps.
    ("C", "C6/9 | Dm9 | Em7 | Dm9"),
    ("C", "Cmaj9 | Fmaj9 | Cmaj9 | G13"),
    ("C", "Cmaj7 | Dm7 | Em7 | Fmaj7 | Dm7 | G7"),
    // Blues and chains of dominants.
    ("C", "C7 | F7 | C7 | G7 | F7 | C7 | G7"),
    ("C", "D7 | G7 | C7 | F7 | Dm7 | G7 | C6"),
    ("C", "E7 | A7 | D7 | G7 | Cmaj7"),
    // Triads.
    ("C", "C | F | G7 | C | Am | Dm | G7"),
    // Cadences in minor.
    ("Cm", "Dm7b5 | G7 | Cm6"),
    ("Cm", "Cm7 | Fm7 | Dm7b5 | G7alt"),
    ("Cm", "Cm6 | Abmaj7 | Dm7b5 | G7b9"),
    ("Cm", "Fm7 | Bb7 | Ebmaj7 | Abmaj7 | Dm7b5 | G7 | Cm6"),
    ("Cm", "Dm7b5 | G7b9 | Cm(maj7) | Cm6"),
    ("Cm", "Cm7 | Fm7 | Cm7 | Ab7 | G7"),
    // Lines over a minor tonic.
    ("Cm", "Cm | Cm(maj7) | Cm7 | Cm6"),
    ("Cm", "Cm6 | Bdim7 | Cm6 | G7"),
    ("Cm", "Cm6 | Fm6 | G7b9 | Cm6 | Dm7b5 | G7"),
    ("Cm", "Cm(maj7) | Fm7 | G7alt"),
    // Modal.
    ("Cm", "Cm7 | Dm7 | Cm7 | F7"),
    ("Cm", "Cm11 | Ebmaj7 | Dm7 | Cm9 | Bbmaj7"),
    // Substitutes and chains of half steps.
    ("C", "Am7 | Ab7 | Gm7 | Gb7 | Fmaj7 | Dm7 | Db7"),
    ("C", "Cmaj7 | B7 | Bb7 | A7 | Ab7 | G7"),
    ("C", "Fmaj7 | E7 | Eb7 | D7 | Db7 | C6"),
    ("C", "C6 | Bb7 | A7 | Dm7 | Db7"),
    ("C", "Cmaj7 | Ebmaj7 | Abmaj7 | Db7"),
    ("C", "Em7b5 | Eb7 | Dm7 | G7 | C6"),
    ("Cm", "Cm7 | Ab7 | G7 | Db7"),
    ("Cm", "Fm7 | E7 | Ebmaj7 | Ab7 | Dm7b5 | G7"),
    // More lines and minor chords with sixths.
    ("C", "Am | Am(maj7) | Am7 | Am6 | Dm7 | G7"),
    ("C", "Dm7 | Dm(maj7) | Dm7 | G7 | Cmaj7"),
    ("C", "Cmaj7 | Cm6 | Dm7 | G7"),
    ("C", "C | Fm6 | C | G7"),
    ("Cm", "Cm6 | Cm(maj7) | Cm6 | Ab7 | G7"),
    ("Cm", "Fm6 | G7 | Cm | Cm7"),
    // More diminished chords.
    ("C", "Cmaj7 | Dm7 | D#dim7 | Em7 | Am7 | Dm7 | G7"),
    ("C", "G7 | G#dim7 | Am7 | D7 | Fmaj7 | F#dim7 | C6"),
    ("C", "C6 | Ebdim7 | Dm7 | G7 | Bdim7"),
    ("Cm", "Cm | Edim7 | Fm7 | F#dim7 | G7"),
    // More suspensions.
    ("C", "Fmaj7 | G7sus4 | Em7 | A7sus4 | A7 | D7sus4 | D7 | G7"),
    ("Cm", "Cm7 | Bb7sus4 | Bb7 | Ebmaj7 | G7sus4 | G7"),
    ("C", "Cmaj9 | F9sus4 | Bbmaj7 | G9sus4"),
    ("C", "Dm7 | G9sus4 | G9 | Em7 | A9sus4 | A7b9"),
    ("C", "G7sus4 | G7 | C6 | Am7 | D7sus4 | D7"),
    ("C", "C13sus4 | C13 | F13 | G13sus4 | G13"),
    ("C", "F6 | G13sus4 | Am7 | D13sus4 | G13sus4 | C6/9"),
    ("Cm", "Fm9 | Bb13sus4 | Ebmaj9 | Dm7b5 | G7sus4(b9) | G7b9"),
    // More half-diminished chords.
    ("C", "Bm7b5 | E7b9 | Am7 | F#m7b5 | B7b9 | Em7 | A7"),
    ("C", "Dm7b5 | G7b9 | C6 | Gm7b5 | C7b9 | Fmaj7 | Fm6"),
    ("C", "Am7 | F#m7b5 | Fmaj7 | Em7b5 | A7b9 | Dm7 | G7"),
    ("Cm", "Cm7 | Gm7b5 | C7b9 | Fm7 | Dm7b5 | G7b9"),
    ("Cm", "Am7b5 | Ab7 | G7sus4 | G7"),
    (
        "Cm",
        "Fm7 | Bb7 | Gm7b5 | C7alt | Fm7 | Dm7b5 | G7alt | Cm6",
    ),
    // Diminished chords once more.
    ("C", "C6 | C#dim7 | Dm7 | Ebdim7 | C6 | A7"),
    ("C", "F6 | F#dim7 | C6 | Bdim7 | C6 | Abdim7 | G7"),
    ("C", "Am7 | Abdim7 | Gm7 | C7 | F6 | F#dim7 | G7"),
    ("Cm", "Cm6 | F#dim7 | Fm6 | Bdim7 | Cm6 | Dm7b5 | G7"),
    // Dominants that go elsewhere, and substitutes with their iis.
    ("C", "Dm7 | G7 | Am7 | D7 | Fm6 | G7"),
    ("C", "Cmaj7 | E7 | Fmaj7 | D7 | G7 | E7alt | A7 | Dm7 | G7"),
    (
        "C",
        "Cmaj7 | Gm7 | Gb7 | Fmaj7 | Fm7 | Bb7 | Em7 | A7 | Abm7 | Db7",
    ),
    ("C", "Em7 | A7 | Ebm7 | Ab7 | Dm7 | G7"),
    ("C", "C7 | F7 | C7 | Bb7 | F7 | Ab7 | G7"),
    // Steps of the key.
    ("C", "Cmaj7 | Em7 | Am7 | Fmaj7 | Dm7 | G7"),
    ("C", "Cmaj7 | Bbmaj7 | Abmaj7 | G7"),
    ("C", "Em7 | Fmaj7 | Em7 | Dm7"),
    ("C", "C6 | Dm7 | Em7 | Dm7"),
    ("C", "Fmaj7 | G7 | Em7 | Am7 | Fmaj7 | G7 | Cmaj7"),
    ("C", "Am7 | Em7 | Fmaj7 | Cmaj7 | Dm7 | Em7 | Fmaj7 | G7"),
    // More triads.
    ("C", "C | Em | F | Fm | C | A7 | D7 | G7"),
    ("C", "F | C | G7 | C | D7 | G7"),
    ("C", "Am | Dm | Am | E7 | Am | F | G | C"),
    // More minor keys.
    ("Cm", "Cm | Fm | Cm | G7 | Ab7 | G7"),
    ("Cm", "Cm7 | Fm7 | Bb7 | Ebmaj7 | Abmaj7 | D7alt | G7alt"),
    ("Cm", "Cm9 | Abmaj7 | Fm9 | G7alt"),
    ("Cm", "Cm6 | Ab7 | Cm6 | D7alt | G7b9"),
    ("Cm", "Cm7 | Ebmaj7 | Fm7 | Gm7 | Abmaj7 | Bb7"),
    ("Cm", "Cm6 | Fm6 | Cm6 | Dm7b5 | G7alt | Cm(maj7)"),
];

/// What they are judged by.
pub const JUDGING: [Progression; 40] = [
    // Cadences and turnarounds in major.
    ("C", "Am7 | Dm7 | G7 | Cmaj7 | Fmaj7 | Bm7b5 | E7"),
    ("C", "Cmaj7 | A7 | Dm7 | G7"),
    ("C", "Em7 | Am7 | Dm7 | G7 | Cmaj7"),
    ("C", "Cmaj7 | Eb7 | Abmaj7 | Db7"),
    ("C", "C6 | Eb7 | Dm7 | Db7"),
    ("C", "Em7 | Eb7 | Dm7 | Db7 | Cmaj7"),
    ("C", "Dm9 | G7(b9,b13) | Cmaj9"),
    (
        "C",
        "Cmaj7 | Bm7b5 | E7 | Am7 | Gm7 | C7 | Fmaj7 | Dm7 | G7",
    ),
    ("C", "Dm7 | G7alt | C6 | Em7b5 | A7b9"),
    ("C", "Cmaj7 | E7 | Am7 | D7 | Dm7 | G7"),
    ("C", "Am7 | D7 | Gm7 | C7 | Fmaj7 | Fm7 | Bb7 | Cmaj7"),
    // Passing and common-tone diminished chords.
    ("C", "Cmaj7 | C#dim7 | Dm7 | G7"),
    ("C", "Cmaj7 | Ebdim7 | Dm7 | G7"),
    (
        "C",
        "Fmaj7 | F#dim7 | Em7 | A7 | Dm7 | G#dim7 | Am7 | D7 | G7",
    ),
    ("C", "C6 | Cdim7 | Cmaj7 | Dm7 | G7"),
    // The minor subdominant and the backdoor.
    ("C", "Cmaj7 | Gm7 | C7 | Fmaj7 | Bb7 | Cmaj7 | Dm7 | G7"),
    ("C", "Dm7 | Fm6 | Cmaj7 | A7"),
    ("C", "Fmaj7 | Fm7 | Bb7 | Em7 | A7 | Dm7 | G7 | C6"),
    // Suspensions.
    ("C", "Am7 | D7sus4 | D7 | G7sus4 | G7 | Cmaj7"),
    ("C", "Fmaj7 | G9sus4 | Cmaj9 | Am7"),
    ("F", "Gm7 | C7sus4 | C7 | Fmaj7 | D7"),
    ("Cm", "Dm7b5 | G7sus4 | G7b9 | Cm7"),
    // Tonics with ninths, and diatonic steps.
    ("C", "C6/9 | Am7 | Dm9 | G13"),
    ("C", "Fmaj9 | Em7 | Dm9 | Cmaj9"),
    ("C", "Cmaj9 | Em7 | Fmaj7 | G13"),
    // Blues and chains of dominants.
    (
        "C",
        "C7 | F7 | C7 | Gm7 | C7 | F7 | F#dim7 | C7 | Em7b5 | A7 | Dm7 | G7",
    ),
    ("C", "C13 | F9 | C13 | A7alt | D9 | G13"),
    ("C", "A7 | D7 | G7 | C6"),
    // Triads.
    ("C", "C | Am | F | G7"),
    ("C", "C | E7 | Am | F | Dm | G7"),
    // Cadences in minor.
    ("Cm", "Cm6 | Am7b5 | Dm7b5 | G7b9"),
    ("Cm", "Cm7 | Ab7 | Dm7b5 | G7alt"),
    ("Cm", "Cm7 | Bb7 | Abmaj7 | G7b9"),
    ("Cm", "Ebmaj7 | Abmaj7 | Dm7b5 | G7 | Cm7 | Fm7 | Bb7"),
    ("Cm", "Dm7b5 | Db7 | Cm6"),
    // Lines over a minor tonic.
    ("Cm", "Cm | Cm6 | Cm(maj7) | Cm6 | Dm7b5 | G7"),
    ("Cm", "Cm(maj7) | Cm7 | Cm6 | Abmaj7 | G7"),
    ("Cm", "Cm6 | Bdim7 | Cm6 | Edim7 | Fm6 | F#dim7 | Cm6 | G7"),
    // Modal.
    ("Cm", "Cm9 | F13"),
    ("Cm", "Cm7 | Dm7 | Ebmaj7 | Dm7 | Cm11"),
];

/// What they are judged by a second time, written before the points were last set.
pub const FRESH: [Progression; 38] = [
    // Cadences and turnarounds in major.
    ("C", "Cmaj7 | F7 | Em7 | A7 | Dm7 | G7"),
    ("C", "Cmaj7 | C7 | Fmaj7 | Fm6 | Em7 | A7b9 | Dm7 | G13"),
    ("C", "Fmaj7 | Em7 | Dm7 | Cmaj7 | Bm7b5 | E7 | Am7 | G7"),
    ("C", "Dm7 | G7 | Em7 | Am7 | Dm7 | G7b9 | C6/9"),
    ("C", "Cmaj9 | Bb9 | Cmaj9 | A7alt | Dm9 | G13"),
    ("C", "C6 | B7 | Em7 | A7 | D9 | G13"),
    ("C", "Am7 | D9 | Dm7 | G9 | Cmaj7 | E7b9"),
    ("C", "Cmaj7 | Fm7 | Bb9 | Em7 | Eb7 | Dm7 | Db9"),
    ("C", "Cmaj7 | Ab7 | Dm7 | G7"),
    ("C", "F#m7b5 | B7 | Em7 | A7 | Dm7 | G7"),
    ("C", "Em7b5 | A7b9 | Dm7 | Fm6 | C6"),
    ("C", "Cmaj7 | Ebmaj7 | Abmaj7 | Dbmaj7"),
    // Triads.
    ("C", "C | G7 | C7 | F | Fm | C | G7"),
    ("C", "Am | Em | F | C | Dm | G7"),
    // Diminished chords.
    ("C", "C6 | C#dim7 | G7 | G#dim7 | Am7 | D7 | Dm7 | G7"),
    ("C", "Dm7 | D#dim7 | Em7 | A7 | Fmaj7 | F#dim7 | Em7 | A7"),
    ("C", "F#m7b5 | Fm6 | Em7 | Ebdim7 | Dm7 | G7 | C6"),
    // Suspensions.
    ("C", "D7sus4 | D7 | G7sus4 | C6/9"),
    ("C", "Dm9 | G13sus4 | G7b9 | Cmaj9"),
    (
        "C",
        "Cmaj7 | C7sus4 | C7 | Fmaj7 | Bb7 | Am7 | D7 | G7sus4 | G7",
    ),
    ("C", "E7sus4 | E7 | Am7 | D9sus4 | D7 | G7"),
    ("Cm", "Cm7 | F7sus4 | F7 | Bb7sus4 | Bb7 | Ebmaj7 | G7alt"),
    ("Cm", "Cm9 | Bb13sus4 | Abmaj7 | Bb13sus4"),
    // Blues and chains of dominants.
    ("C", "C7 | F7 | C7 | A7 | Dm7 | G7 | C7 | G7"),
    ("C", "F13 | F#dim7 | C13 | A7 | D9 | G13"),
    ("C", "B7 | E7 | A7 | D7 | G7 | Cmaj7"),
    // Minor keys.
    ("Cm", "Cm6 | D7 | G7 | Cm6"),
    ("Cm", "Cm9 | Fm9 | Bb13 | Ebmaj9 | Am7b5 | D7alt | G7alt"),
    ("Cm", "Cm | G7 | Cm | Fm | Dm7b5 | G7 | Cm6"),
    ("Cm", "Fm7 | Dm7b5 | G7b9 | Cm(maj7) | Cm7 | Am7b5 | Abmaj7"),
    ("Cm", "Cm7 | Bb7 | Ab7 | G7"),
    ("Cm", "Ebmaj7 | Edim7 | Fm7 | F#dim7 | Cm6 | Dm7b5 | G7alt"),
    ("Cm", "Cm7 | Dbmaj7 | Cm7 | G7alt"),
    ("Cm", "Fm6 | Cm6 | D7 | G7b9"),
    ("Cm", "Cm9 | Dbmaj7 | Cm9 | Bbm7 | Eb7 | Abmaj7 | G7alt"),
    ("Cm", "Cm(maj7) | Cm6 | Fm7 | Bb7 | Ebmaj7 | Ab7 | G7b9"),
    ("Cm", "Bdim7 | Cm6 | C#dim7 | Dm7b5 | G7"),
    ("Cm", "Dm7 | Cm7 | Ebmaj7 | Fm7 | Cm7 | Bb7"),
];
