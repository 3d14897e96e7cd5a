"""The VST3 build in an independent host: loads, lists its parameters, renders the
audition tone to MIDI input, saves and restores its state. One JSON object goes to
standard output.

Usage: independent_host.py BUNDLE
"""

import json
import sys

import numpy
import pedalboard
from pedalboard import _pedalboard

RATE_HZ = 48_000
NOTE_ON, NOTE_OFF, CONTROLLER, ROOT = 0x90, 0x80, 0xB0, 48
VOLUME, ALL_NOTES_OFF = 7, 123

texts = 0
ask_for_text = _pedalboard.get_text_for_raw_value


def count_text(*arguments):
    global texts
    texts += 1
    return ask_for_text(*arguments)


_pedalboard.get_text_for_raw_value = count_text


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


def after_controller(plugin, number):
    """The peak of a held key's tone after a controller that comes while it sounds."""
    notes = [([NOTE_ON, ROOT, 100], 0.0), ([CONTROLLER, number, 0], 0.5)]
    sound = plugin(notes, duration=1.0, sample_rate=RATE_HZ, num_channels=2)
    return float(numpy.abs(sound[:, RATE_HZ * 3 // 4 :]).max())


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
        "texts": texts,
        "listed": len(plugin._parameters),
    }

    plugin.chords_from = "Roots"
    found["tone"] = tone(plugin)
    found["small_blocks"] = tone(plugin, block=32)
    found["unplayed"] = tone(plugin, played=False)
    found["volume"] = after_controller(plugin, VOLUME)
    found["all_notes_off"] = after_controller(plugin, ALL_NOTES_OFF)
    plugin.audition_tone = False
    found["switched_off"] = tone(plugin)
    plugin.audition_tone = True

    fresh = values(plugin)
    plugin.texture = "Drop 2"
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
