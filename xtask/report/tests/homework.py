"""Plays planned chords into MIDI files, with mistakes that it writes down.

It reads pieces as JSON from the standard input, writes a MIDI file for each with mido, and prints
what it has played wrongly, chord by chord. It knows keys, times and nothing else: what a mistake is
called, and what counts as one, is in homework.rs. With the name of a file it writes a small piece of
homework that is made by hand.
"""

import json
import random
import sys

import mido

# Where the right hand plays, if there is one. The left hand stays below.
LINE = (72, 90)
LEFT_TOP = 70
# How far fingers and chords are off, in seconds: the standard deviation and the most.
FINGER = (0.009, 0.022)
CHORD = (0.015, 0.035)

KINDS = ["half step", "octave", "missing", "extra", "root", "position", "early", "late", "rolled", "left out"]


def off(rng, spread):
    deviation, most = spread
    return max(-most, min(most, rng.gauss(0, deviation)))


class Clock:
    """Seconds and ticks of a file whose tempo changes now and then."""

    def __init__(self, rng, tempo, quarter, quarters, steady):
        self.quarter = quarter
        self.changes = [(0.0, tempo)]
        at = 0.0
        while not steady and at < quarters:
            at += rng.choice([4, 6, 8, 10])
            self.changes.append((at, tempo * rng.uniform(0.9, 1.1)))

    def beat_s(self, quarters):
        tempo = [bpm for at, bpm in self.changes if at <= quarters][-1] if quarters > 0 else self.changes[0][1]
        return 60 / tempo

    def ticks(self, quarters, seconds=0.0):
        return max(0, round((quarters + seconds / self.beat_s(quarters)) * self.quarter))


def half_step(rng, chord, top):
    notes = chord["notes"]
    choices = []
    for at, note in enumerate(notes):
        for step in (-1, 1):
            new = note + step
            others = notes[:at] + notes[at + 1 :]
            clear = all(new != other and (new < other) == (note < other) for other in others)
            if clear and new % 12 != chord["root"] and new <= top:
                choices.append((at, new))
    if not choices:
        return None
    at, new = rng.choice(choices)
    return notes[:at] + [new] + notes[at + 1 :], {"asked": notes[at], "played": new}


def octave(rng, chord, top):
    notes = chord["notes"]
    choices = []
    for at, note in enumerate(notes):
        for step in (-12, 12):
            new = note + step
            played = sorted(notes[:at] + [new] + notes[at + 1 :])
            if 36 <= new <= top and new not in notes and played[-1] - played[0] <= 24:
                choices.append((at, new))
    if not choices:
        return None
    at, new = rng.choice(choices)
    return notes[:at] + [new] + notes[at + 1 :], {"asked": notes[at], "played": new}


def missing(rng, chord, _top):
    notes = chord["notes"]
    at = rng.randrange(len(notes))
    return notes[:at] + notes[at + 1 :], {"asked": notes[at]}


def extra(rng, chord, top):
    notes = chord["notes"]
    classes = {note % 12 for note in notes} | {chord["root"]}
    lowest = min(notes)
    choices = [n for n in range(max(notes) - 15, lowest + 15) if n % 12 not in classes and 40 <= n <= top]
    if not choices:
        return None
    new = rng.choice(choices)
    return notes + [new], {"played": new}


def root(rng, chord, _top):
    notes = chord["notes"]
    if chord["root"] in {note % 12 for note in notes}:
        return None
    choices = [n for n in range(max(31, min(notes) - 14), max(notes)) if n % 12 == chord["root"]]
    if not choices:
        return None
    new = rng.choice(choices)
    return notes + [new], {"played": new}


def position(rng, chord, top):
    """The other half of the notes lowest: an even number of notes in close position."""
    notes = sorted(chord["notes"])
    half = len(notes) // 2
    if len(notes) % 2 or max(notes) - min(notes) >= 12:
        return None
    up = notes[half:] + [n + 12 for n in notes[:half]]
    down = [n - 12 for n in notes[half:]] + notes[:half]
    fitting = [lay for lay in (down, up) if 50 <= lay[0] and lay[-1] <= min(top, 69)]
    return (rng.choice(fitting), {}) if fitting else None


BY_NOTES = {
    "half step": half_step,
    "octave": octave,
    "missing": missing,
    "extra": extra,
    "root": root,
    "position": position,
}


def mistakes(rng, piece, clock):
    """What is played for each chord: its notes, its time, and what is wrong with it."""
    top = LEFT_TOP if piece["line"] else 79
    plays = []
    before = None
    for chord in piece["chords"]:
        at, length = chord["at"], chord["length"]
        play = {"notes": list(chord["notes"]), "at": at, "kind": "none", "roll": None, "told": {}}
        kind = rng.choice(KINDS) if rng.random() < piece["mistakes"] else "none"
        calm = before is None or before["kind"] not in ("late", "rolled")
        if kind in BY_NOTES:
            made = BY_NOTES[kind](rng, chord, top)
            if made:
                play["notes"], play["told"] = made
                play["kind"] = kind
        elif kind == "early":
            room = at - before["at"] if before else 0
            if calm and before and before["kind"] != "left out" and room >= 2 and at >= 1:
                amount = rng.uniform(0.45, min(1.0, room - 1))
                play.update(kind=kind, at=at - amount, told={"late": -amount})
        elif kind == "late":
            if length >= 2:
                amount = rng.uniform(0.45, min(2.0, length - 1.2))
                play.update(kind=kind, at=at + amount, told={"late": amount})
        elif kind == "rolled":
            most = min(0.36, 0.6 * clock.beat_s(at))
            if most > 0.13 and length >= 2 and len(chord["notes"]) > 2:
                seconds = rng.uniform(0.12, most)
                play.update(kind=kind, roll=(seconds, rng.random() < 0.5 and at > 0))
        elif kind == "left out":
            if before is not None and before["kind"] == "none":
                play.update(kind=kind, notes=[])
        plays.append(play)
        before = play
    return plays


def strikes(rng, piece, plays, clock):
    """The left hand: notes with their ticks from struck to released, and the ticks of the pedal."""
    notes, pedal = [], []
    played = [p for p in plays if p["notes"]]
    ends = [begins(p, clock) for p in played][1:] + [piece["quarters"]]
    rolled = set()
    for index, (play, end) in enumerate(zip(played, ends)):
        late = off(rng, CHORD)
        room = end - play["at"]
        hold = {"hold": room - 0.08, "short": 0.4, "again": 0.4, "tied": room + 0.03}[piece["touch"]]
        hold = min(hold, room + 0.03)
        order = sorted(play["notes"])
        starts = []
        for place, note in enumerate(order):
            seconds = late + off(rng, FINGER)
            if play["roll"]:
                total, ends_on_beat = play["roll"]
                seconds += total * place / (len(order) - 1) - (total if ends_on_beat else 0)
            starts.append((note, clock.ticks(play["at"], seconds)))
        if play["roll"]:
            rolled |= {start for _, start in starts}
        last = max(start for _, start in starts)
        for note, start in starts:
            released = max(last + 1, clock.ticks(play["at"] + hold, off(rng, FINGER)))
            notes.append([note, start, released])
        again = play["at"] + 1.5
        if piece["touch"] == "again" and room > 2.7:
            late = off(rng, CHORD)
            for note in order:
                start = clock.ticks(again, late + off(rng, FINGER))
                notes.append([note, start, start + clock.ticks(0.4)])
        if piece["pedal"]:
            down = clock.ticks(play["at"], 0.1)
            pedal.append((max(down, last), max(last + 1, clock.ticks(end, 0.02))))
    if piece["touch"] == "tied":
        notes = tied(rng, notes, rolled)
    return notes, pedal


def begins(play, clock):
    """When the first finger goes down: before the beat, if a roll ends on it."""
    seconds, ends_on_beat = play["roll"] or (0, False)
    return play["at"] - (seconds / clock.beat_s(play["at"]) if ends_on_beat else 0)


def tied(rng, notes, rolled):
    """Notes that come again in the next chord stay down, where fingers like them to. Those that are to
    be rolled are all struck."""
    done = []
    for note in sorted(notes, key=lambda n: n[1]):
        last = next((d for d in reversed(done) if d[0] == note[0]), None)
        if last and note[1] <= last[2] + 1 and note[1] not in rolled and rng.random() < 0.5:
            last[2] = max(last[2], note[2])
        else:
            if last and last[2] >= note[1]:
                last[2] = note[1] - 1
            done.append(note)
    return [note for note in done if note[2] > note[1]]


def line(rng, piece, clock):
    """The right hand: eighths that wander, and sometimes two notes at once."""
    notes = []
    at, note = 0.0, rng.randint(76, 84)
    while at < piece["quarters"] - 1:
        if rng.random() < 0.25:
            at += rng.choice([0.5, 1.0])
            continue
        length = rng.choice([0.5, 0.5, 0.5, 1.0, 1.5])
        note = min(LINE[1], max(LINE[0], note + rng.choice([-4, -3, -2, -1, 1, 2, 3, 4])))
        swing = at + (0.16 if at % 1 else 0.0)
        start = clock.ticks(swing, off(rng, FINGER))
        end = clock.ticks(at + length * rng.uniform(0.7, 0.98))
        both = [note, note + rng.choice([3, 4])] if rng.random() < 0.1 else [note]
        notes += [[n, start, max(start + 1, end)] for n in both]
        at += length
    return notes


def messages(notes, channel, rng, zero_velocity):
    events = []
    for note, start, end in notes:
        velocity = rng.randint(55, 95)
        events.append((start, 1, mido.Message("note_on", channel=channel, note=note, velocity=velocity)))
        if zero_velocity:
            events.append((end, 0, mido.Message("note_on", channel=channel, note=note, velocity=0)))
        else:
            events.append((end, 0, mido.Message("note_off", channel=channel, note=note, velocity=64)))
    return events


def write(rng, piece, clock, left, pedal, right):
    quarter = piece["quarter"]
    lead = piece["lead"]  # quarter notes before the chart
    shift = lambda ticks: ticks + lead * quarter
    file = mido.MidiFile(type=piece["format"], ticks_per_beat=quarter)
    conductor = [(0, 0, mido.MetaMessage("time_signature", numerator=piece["beats"], denominator=piece["unit"]))]
    for at, bpm in clock.changes:
        tempo = mido.MetaMessage("set_tempo", tempo=mido.bpm2tempo(bpm))
        conductor.append((shift(round(at * quarter)) if at else 0, 0, tempo))
    zero = rng.random() < 0.5
    hand = messages([[n, shift(a), shift(b)] for n, a, b in left], 0, rng, zero)
    for down, up in pedal:
        on = mido.Message("control_change", channel=0, control=64, value=rng.choice([64, 100, 127]))
        hand.append((shift(down), 2, on))
        hand.append((shift(up), 0, mido.Message("control_change", channel=0, control=64, value=0)))
    channel = 1 if piece["apart"] else 0
    other = messages([[n, shift(a), shift(b)] for n, a, b in right], channel, rng, zero)
    clicks = messages([[37, n * quarter, n * quarter + quarter // 4] for n in range(lead)], 9, rng, zero)
    if piece["format"] == 0:
        tracks = [conductor + hand + other + clicks]
    elif piece["apart"]:
        tracks = [conductor, other, hand, clicks]
    else:
        tracks = [conductor, hand + other, clicks]
    for events in tracks:
        track = mido.MidiTrack()
        file.tracks.append(track)
        now = 0
        for at, _, message in sorted(events, key=lambda event: event[:2]):
            track.append(message.copy(time=at - now))
            now = at
    file.save(piece["file"])


def perform(piece):
    rng = random.Random(piece["seed"])
    steady = rng.random() < 0.5
    clock = Clock(rng, piece["tempo"], piece["quarter"], piece["quarters"], steady)
    plays = mistakes(rng, piece, clock)
    left, pedal = strikes(rng, piece, plays, clock)
    right = line(rng, piece, clock) if piece["line"] else []
    write(rng, piece, clock, left, pedal, right)
    return [{"kind": play["kind"], "notes": sorted(play["notes"]), **play["told"]} for play in plays]


def by_hand(path):
    """Eight bars at 92, after a bar of clicks: left hand with pedal, right hand above it, one track."""
    file = mido.MidiFile(type=0, ticks_per_beat=480)
    events = [
        (0, 0, mido.MetaMessage("set_tempo", tempo=mido.bpm2tempo(92))),
        (0, 0, mido.MetaMessage("time_signature", numerator=4, denominator=4)),
    ]

    def play(channel, note, at, length, velocity=70):
        on, off = round(at * 480), round((at + length) * 480)
        events.append((on, 2, mido.Message("note_on", channel=channel, note=note, velocity=velocity)))
        events.append((off, 1, mido.Message("note_on", channel=channel, note=note, velocity=0)))

    def chord(notes, at, length, apart=0.008):
        for place, note in enumerate(notes):
            play(0, note, at + place * apart, length - place * apart)

    for beat in range(4):
        play(9, 37, beat, 0.1)
    chord([53, 57, 60, 64], 4.02, 3.4, apart=0.1)  # Dm7: F A C E, rolled
    chord([53, 57, 59, 64], 7.51, 4.3)  # G7: F A B E, half a beat early
    chord([48, 52, 55, 59, 62], 12.01, 3.8)  # Cmaj7: E G B D, over its root
    chord([55, 59, 61, 66], 15.97, 1.2)  # A7: G B C# F#
    chord([55, 59, 62, 66], 17.5, 0.4)  # A7 again, with D for C#
    chord([60, 64, 65, 69], 20.03, 3.6)  # Dm7: C E F A, the other position
    chord([53, 57, 59, 64], 24.0, 3.7)  # G7(b9): A natural
    chord([52, 55, 57, 62], 29.02, 6.5)  # C6: E G A D, a beat late
    for at in (4, 7.5, 12, 16, 20, 24, 29):
        events.append((round((at + 0.3) * 480), 3, mido.Message("control_change", control=64, value=127)))
    for at in (7.52, 12.02, 16.0, 20.04, 24.02, 29.03, 35.5):
        events.append((round(at * 480), 0, mido.Message("control_change", control=64, value=0)))
    line = [74, 77, 81, 84, 83, 79, 77, 76, 74, 72, 76, 79, 78, 76, 73, 76, 77, 81, 84, 81, 80, 77, 76, 74, 72]
    for place, note in enumerate(line):
        play(0, note, 5 + place + (0.17 if place % 3 else 0.0), 0.8)
    track = mido.MidiTrack()
    file.tracks.append(track)
    now = 0
    for at, _, message in sorted(events, key=lambda event: event[:2]):
        track.append(message.copy(time=at - now))
        now = at
    file.save(path)


def main():
    if len(sys.argv) > 1:
        by_hand(sys.argv[1])
        return
    for text in sys.stdin:
        print(json.dumps(perform(json.loads(text))), flush=True)


main()
