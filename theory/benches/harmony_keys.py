"""One key a tune: what music21 finds in the notes of its chords, beside ours and the
annotation.

Usage: harmony_keys.py TUNES     as `cargo bench -p guidehand-theory --bench harmony --
                                 --tunes TUNES` writes them

music21 gets each chord as notes for as long as it lasts, the bass lowest, and finds the
key with its standard weights (`analyze("key")`). It knows major and minor alone: a blues
in major counts as major, for it and for us.
"""

import sys

from music21 import chord, pitch, stream


def notes(names):
    """Rising from the first name, which lies in the octave below middle C."""
    rising = []
    for name in names:
        one = pitch.Pitch(name.replace("b", "-"))
        one.octave = 3
        while rising and one.ps <= rising[-1].ps:
            one.octave += 1
        rising.append(one)
    return rising


def plain(key):
    """Pitch class and mode of a key such as "Bb blues"."""
    tonic, mode = key.split()
    return pitch.Pitch(tonic.replace("b", "-")).pitchClass, mode.replace("blues", "major")


def found(chords):
    line = stream.Stream()
    for one in chords:
        quarters, names = one.split(":")
        line.append(chord.Chord(notes(names.split()), quarterLength=float(quarters)))
    key = line.analyze("key")
    return f"{key.tonic.name.replace('-', 'b')} {key.mode}"


def main():
    count, ours_right, theirs_right = 0, 0, 0
    print("  differing from the annotation: annotated, ours, music21's")
    for line in open(sys.argv[1], encoding="utf-8"):
        name, annotated, ours, *chords = line.rstrip("\n").split("\t")
        theirs = found(chords)
        right = [plain(key) == plain(annotated) for key in (ours, theirs)]
        count += 1
        ours_right += right[0]
        theirs_right += right[1]
        if not all(right):
            print(f"    {name}: {annotated}, {ours}, {theirs}")
    for whose, share in (("ours", ours_right), ("music21's", theirs_right)):
        print(f"  {whose} agrees for {share} of {count} tunes ({100 * share / count:.1f} %)")


main()
