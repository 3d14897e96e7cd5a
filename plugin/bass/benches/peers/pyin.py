"""librosa's pYIN over one file: the processor time, then a line of time and frequency a frame."""

import sys
import time

import librosa
import numpy

RANGE_HZ = (30.0, 400.0)
HOP = 256
WINDOW = 4096

sound, rate = librosa.load(sys.argv[1], sr=None)
librosa.pyin(sound[: 2 * WINDOW], fmin=RANGE_HZ[0], fmax=RANGE_HZ[1], sr=rate, frame_length=WINDOW)
before = time.process_time()
pitches, _, _ = librosa.pyin(
    sound,
    fmin=RANGE_HZ[0],
    fmax=RANGE_HZ[1],
    sr=rate,
    frame_length=WINDOW,
    hop_length=HOP,
)
print(time.process_time() - before)
for frame, pitch in enumerate(numpy.nan_to_num(pitches)):
    # A frame is centred: all of it is known half a window later, but a hop is added elsewhere.
    print((frame - 1) * HOP / rate + WINDOW / 2 / rate, pitch)
