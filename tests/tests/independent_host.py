"""The VST3 build in an independent host: loads, lists its parameters, renders the
audition tone to MIDI input, saves and restores its state. One JSON object goes to
standard output.

Usage: independent_host.py BUNDLE
"""

import json
import re
import sys

import numpy
import pedalboard
from pedalboard import _pedalboard

RATE_HZ = 48_000
NOTE_ON, NOTE_OFF, ROOT = 0x90, 0x80, 48

# Hosts of this kind make a parameter of every MIDI controller, and this one asks
# each for a thousand words. It passes such parameters over by their names, of which
# it does not know the framework's.
_pedalboard.PARAMETER_NAME_REGEXES_TO_IGNORE.add(re.compile(r"MIDI Ch\. \d+ "))


def tone(plugin, played=True, block=512):
    """A root that sounds from 0.25 to 1.25 of 2.5 seconds: peaks before, within and
    at the end, and the frequency that is strongest within."""
    notes = [([NOTE_ON, ROOT, 100], 0.25), ([NOTE_OFF, ROOT, 0], 1.25)] if played else []
    sound = plugin(notes, duration=2.5, sample_rate=RATE_HZ, num_channels=2, buffer_size=block)
    assert sound.shape == (2, 2.5 * RATE_HZ), sound.shape
    within = sound[0, RATE_HZ // 2 : RATE_HZ]
    spectrum = numpy.abs(numpy.fft.rfft(within * numpy.hanning(len(within))))
    peak = lambda samples: float(numpy.abs(samples).max())
    return {
        "finite": bool(numpy.isfinite(sound).all()),
        "before": peak(sound[:, : RATE_HZ // 4]),
        "within": peak(sound[:, RATE_HZ // 4 : RATE_HZ]),
        "after": peak(sound[:, -RATE_HZ // 10 :]),
        "strongest_hz": float(spectrum.argmax() * RATE_HZ / len(within)),
    }


def values(plugin):
    return {name: parameter.raw_value for name, parameter in plugin.parameters.items()}


def main(bundle):
    plugin = pedalboard.load_plugin(bundle)
    found = {
        "name": plugin.name,
        "maker": plugin.manufacturer_name,
        "category": plugin.category,
        "version": plugin.version,
        "instrument": plugin.is_instrument,
        "parameters": [
            [parameter.name, parameter.string_value] for parameter in plugin.parameters.values()
        ],
    }

    plugin.chords_from = "Roots"
    found["tone"] = tone(plugin)
    found["small_blocks"] = tone(plugin, block=32)
    found["unplayed"] = tone(plugin, played=False)
    plugin.audition_tone = False
    found["switched_off"] = tone(plugin)
    plugin.audition_tone = True

    fresh = values(plugin)
    plugin.texture = "Open"
    plugin.key = "Eb"
    plugin.swing = 55.0
    changed = values(plugin)
    # Values that a host sets reach the plugin with the next block.
    found["tone_changed"] = tone(plugin)
    saved = plugin.raw_state
    found["changed"] = sorted(name for name in fresh if fresh[name] != changed[name])

    other = pedalboard.load_plugin(bundle)
    found["other_differs"] = values(other) != changed
    other.raw_state = saved
    found["restored"] = values(other) == changed
    found["words"] = [str(other.texture), str(other.key), float(other.swing)]
    found["tone_restored"] = tone(other)
    other.raw_state = other.raw_state
    found["restored_twice"] = values(other) == changed
    print(json.dumps(found))


main(sys.argv[1])
