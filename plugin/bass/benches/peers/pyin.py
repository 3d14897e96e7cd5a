"""librosa's pYIN over files named on the input, one a line: the processor time and the number of
frames, then a line of time and frequency for each frame. One run serves all files, since it
compiles itself for seconds first."""

import sys
import time

import librosa
import numpy

RANGE_HZ = (30.0, 400.0)
HOP = 256
WINDOW = 4096
# In semitones; half as many steps as the default has take a quarter of its time.
RESOLUTION = 0.2


def pitches_of(sound, rate):
    """The pitch of each frame, 0 where there is none."""
    pitches, _, _ = librosa.pyin(
        sound,
        fmin=RANGE_HZ[0],
        fmax=RANGE_HZ[1],
        sr=rate,
        frame_length=WINDOW,
        hop_length=HOP,
        resolution=RESOLUTION,
    )
    return numpy.nan_to_num(pitches)


pitches_of(numpy.sin(numpy.arange(4 * WINDOW) * 0.02), 44_100)
for line in sys.stdin:
    sound, rate = librosa.load(line.strip(), sr=None)
    before = time.process_time()
    pitches = pitches_of(sound, rate)
    print(time.process_time() - before, len(pitches))
    for frame, pitch in enumerate(pitches):
        # A frame is centred: all of it is known half a window later.
        print((frame * HOP + WINDOW / 2) / rate, pitch)
    sys.stdout.flush()
