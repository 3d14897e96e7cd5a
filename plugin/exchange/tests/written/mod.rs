//! Charts as players write them.

/// Ten charts with what players write: slashes, polychords, roads, endings, pickups, silence.
pub const WRITTEN: [&str; 10] = [
    "Harbour Lights\n[A] |: Dm7 G7 | Cmaj7 A7(b9) | [1 Dm7 G7 :| [2 C6 |\n[B] | Gm7 C7 | Fmaj7 | Am7 D7 | G7sus4 G7 |",
    "| D/C7 | Gb/C7 | Abm/G7 | Cmaj7 |",
    "3/4 Pickup G7 | C6 | Am7 | Dm7 Fm6/Ab | G7/B :| x3 Cmaj9 |",
    "| Bb7 | Eb7 Edim7 | Bb7/F | Fm7 Bb7alt | Eb7 | Ebm7 Ab7 | Bb7 G7(#9) | Cm7 F7 |",
    "[A] | Cm7b5 F7(b9) | Bbm(maj7) | N.C. | Gbmaj7(#11) Fine |\n[B] | Ebm9 Ab13 | Dbmaj9 D.C. al Fine |",
    "| Em7 | Segno A7 | Dmaj7 To Coda | Gmaj7 D.S. al Coda |\n| Coda F#m7 B7 | Em6/9 |",
    "5/4 | Ebm7 Bbm7 | Ebm7 Bbm7 | 4/4 Cbmaj7 Abm6 | Fm7b5 Bb7(#5) |",
    "| Am Am/G# | Am/G Am/F# | Fmaj7#5 F6 | E7sus4(b9) E7 |",
    "12/8 | Cmaj7 C#dim7 | Dm11 G13(b9) | 6/8 C6 A7 | 2/2 D9 G9 |",
    "| Csus4 C | Fadd9 | G5 | Caug C+7 | Bdim E7(b9,b13) | Am(add9) |",
];
