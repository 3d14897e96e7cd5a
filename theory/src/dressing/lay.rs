//! Where the notes of a dressing lie: next to what sounds now. Imports `place` and `tones`.

use super::place::Place;
use super::tones::Tones;
use crate::candidates;
use crate::chord::Chord;
use crate::shape::Texture;
use crate::voicing::{Position, Voicing};

/// The voicing in which these tones lie nearest to what sounds now. The same position comes
/// first. Where the texture in force does not hold all four tones, they are four notes. None if
/// no hand reaches them.
pub(super) fn nearest(place: &Place, tones: &Tones, symbol: &Chord) -> Option<Voicing> {
    let all = voicings(place, tones, symbol);
    let rank = |v: &Voicing| (moves_hand(place, v), place.now.motion(v), v.lowest());
    all.into_iter().min_by_key(rank)
}

/// Whether the voicing has another position than what sounds now.
pub(super) fn moves_hand(place: &Place, voicing: &Voicing) -> bool {
    let loose = matches!(place.now.position, Position::AsPlayed | Position::Fourths);
    !loose && voicing.position != place.now.position
}

/// The nearest voicing of the same tones in which #9 does not lie a half step below the third.
pub(super) fn clear_of_the_third(place: &Place, tones: &Tones, symbol: &Chord) -> Option<Voicing> {
    let all = voicings(place, tones, symbol);
    let clear = all.into_iter().filter(|v| !v.sharp_nine_inside());
    clear.min_by_key(|v| (place.now.motion(v), v.lowest()))
}

fn voicings(place: &Place, tones: &Tones, symbol: &Chord) -> Vec<Voicing> {
    let tensions = tones.tensions(symbol.quality);
    let needed = tones.set();
    let in_texture = |texture| -> Vec<Voicing> {
        let all = candidates::of(symbol, &tensions, texture, place.reach());
        all.filter(|v| needed.minus(v.degrees()).is_empty())
            .collect()
    };
    let found = in_texture(place.taste.texture);
    if found.is_empty() {
        in_texture(Texture::FourNotes)
    } else {
        found
    }
}
