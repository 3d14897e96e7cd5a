"""What other programs read in the files of the exchange: one JSON object a line.

Usage: peers.py midi FILE...      events of each file, read by mido
       peers.py valid FILE...     what the W3C's schema of MusicXML 4.0 finds wrong
       peers.py music21 FILE...   chord symbols, notes, meters, read by music21
       peers.py played FILE...    the order in which music21 plays the measures
       peers.py horn FILE         music21 writes a lead sheet of a B-flat instrument there
       peers.py triads DIRECTORY  mido writes C Am F G there, once for each way to lay
                                  them: the file and what it is
       peers.py corpus DIRECTORY  the same for every score with chord symbols that
                                  music21 carries; copies the scores there as
                                  1.xml, 2.mxl and so on
       peers.py sung DIRECTORY    the highest line of every staff of these scores, and of
                                  some without chord symbols, as music21 plays it;
                                  copies the scores there too
"""

import json
import pathlib
import shutil
import sys


def midi(path):
    import mido

    tracks = []
    for track in mido.MidiFile(path).tracks:
        now, events = 0, []
        for message in track:
            now += message.time
            events.append({"at": now, **{k: v for k, v in message.dict().items() if k != "time"}})
        tracks.append(events)
    return {"quarter": mido.MidiFile(path).ticks_per_beat, "tracks": tracks}


def schema():
    import musicxml
    import xmlschema
    from lxml import etree

    local = pathlib.Path(xmlschema.__file__).parent / "schemas"
    names = {"xlink.xsd": local / "XLINK/xlink.xsd", "xml.xsd": local / "XML/xml.xsd"}

    class Local(etree.Resolver):
        def resolve(self, url, public_id, context):
            name = url.rsplit("/", 1)[-1]
            if name in names:
                return self.resolve_filename(str(names[name]), context)

    parser = etree.XMLParser(no_network=True)
    parser.resolvers.add(Local())
    xsd = pathlib.Path(musicxml.__file__).parent / "generate_classes/musicxml_4_0.xsd"
    return etree.XMLSchema(etree.parse(str(xsd), parser))


def valid(path, schema):
    from lxml import etree

    document = etree.parse(path, etree.XMLParser(no_network=True, load_dtd=False))
    schema.validate(document)
    return {"errors": [f"line {e.line}: {e.message}" for e in schema.error_log]}


def name(pitch):
    return pitch.name.replace("-", "b")


def symbol(found, measure):
    from music21 import harmony

    silent = isinstance(found, harmony.NoChord)
    return {
        "measure": measure,
        "at": float(found.offset),
        "kind": found.chordKind,
        "root": None if silent else name(found.root()),
        "bass": None if silent else name(found.bass()),
        "degrees": [] if silent else [
            [m.modType, m.degree, int(m.interval.semitones) if m.interval else 0]
            for m in found.chordStepModifications
        ],
        "classes": [] if silent else sorted({p.pitchClass for p in found.pitches}),
    }


def score(parsed):
    from music21 import harmony, stream

    parts = []
    for part in parsed.parts:
        symbols, notes, meters = [], [], []
        for index, measure in enumerate(part.getElementsByClass(stream.Measure)):
            if measure.timeSignature:
                meters.append([index, measure.timeSignature.ratioString])
            for found in measure.recurse().getElementsByClass(harmony.Harmony):
                symbols.append(symbol(found, index))
            for note in measure.recurse().notes:
                if isinstance(note, harmony.Harmony):
                    continue
                at = float(note.getOffsetInHierarchy(part))
                for one in note.notes if hasattr(note, "notes") else [note]:
                    struck = one.tie is None or one.tie.type == "start"
                    pitch = one.pitch
                    notes.append([at, float(note.quarterLength), f"{name(pitch)}{pitch.octave}", struck])
        parts.append({"symbols": symbols, "notes": notes, "meters": meters})
    return {"parts": parts}


def played(parsed):
    """The numbers of the measures in the order in which music21 plays them."""
    from music21 import repeat, stream

    part = parsed.parts[0]
    expanded = repeat.Expander(part).process()
    return {"order": [m.measureNumber for m in expanded.getElementsByClass(stream.Measure)]}


def horn(path):
    """A lead sheet as a B-flat instrument reads it: Em7 A7 Dmaj7, which sound a whole step lower."""
    from music21 import harmony, instrument, key, metadata, note, stream

    part = stream.Part()
    reed = instrument.SopranoSaxophone()
    reed.partName = "Reed"
    part.insert(0, reed)
    for number, symbol in enumerate(["Em7", "A7", "Dmaj7"], start=1):
        measure = stream.Measure(number=number)
        if number == 1:
            measure.insert(0, key.KeySignature(2))
        measure.insert(0, harmony.ChordSymbol(symbol))
        measure.append(note.Note("A4", type="whole"))
        part.append(measure)
    whole = stream.Score()
    whole.insert(0, metadata.Metadata(title="Two flats"))
    part.atSoundingPitch = False
    whole.insert(0, part)
    whole.atSoundingPitch = False
    return {"file": str(whole.write("musicxml", fp=path))}


def triads(directory):
    """One bar for each chord, or a chord in each half; struck once, on each beat or broken."""
    import mido

    close = [(60, 64, 67), (57, 60, 64), (53, 57, 60), (55, 59, 62)]
    smooth = [(60, 64, 67), (60, 64, 69), (60, 65, 69), (59, 62, 67)]
    high = [(64, 67, 72), (64, 69, 72), (65, 69, 72), (62, 67, 71)]
    wide = [(60, 67, 76), (57, 64, 72), (53, 60, 69), (55, 62, 71)]
    bass = [(48,), (45,), (41,), (43,)]
    low = [b + c for b, c in zip(bass, smooth)]
    lays = {"close": close, "smooth": smooth, "high": high, "wide": wide, "with a bass": low}
    for name, chords in lays.items():
        for way in ["struck", "on each beat", "broken", "two in a bar"]:
            file = mido.MidiFile(ticks_per_beat=480)
            track = mido.MidiTrack()
            file.tracks.append(track)
            track.append(mido.MetaMessage("time_signature", numerator=4, denominator=4))
            track.append(mido.Message("program_change", program=0))
            beats = 2 if way == "two in a bar" else 4
            events = []
            for index, chord in enumerate(chords * 2):
                start = index * beats * 480
                end = start + beats * 480
                if way == "on each beat":
                    hits = [(start + b * 480, start + b * 480 + 400) for b in range(beats)]
                    notes = [(a, z, n) for a, z in hits for n in chord]
                elif way == "broken":
                    notes = [(start + min(i, 3) * 120, end, n) for i, n in enumerate(chord)]
                else:
                    notes = [(start, end, n) for n in chord]
                for a, z, n in notes:
                    events += [(a, 1, n), (z, 0, n)]
            now = 0
            for at, on, note in sorted(events):
                kind = "note_on" if on else "note_off"
                track.append(mido.Message(kind, note=note, velocity=80, time=at - now))
                now = at
            path = pathlib.Path(directory) / f"{name}-{way}.mid".replace(" ", "-")
            file.save(path)
            yield {"file": str(path), "beats": beats}


def line(part):
    """The highest notes of a staff as they are played and as they sound: start and length in quarter
    notes, and the key. None if music21 finds no way through the repeats or the staff has voices."""
    from music21 import chord, harmony, repeat, stream

    if part.recurse().getElementsByClass(stream.Voice):
        return None
    try:
        part = part.expandRepeats()
    except repeat.ExpanderException:
        return None
    notes = []
    for found in part.toSoundingPitch().flatten().notes:
        if isinstance(found, harmony.Harmony) or found.duration.isGrace or not found.pitches:
            continue
        top = max(found.notes, key=lambda n: n.pitch.midi) if isinstance(found, chord.Chord) else found
        at, length, key = float(found.offset), float(found.quarterLength), top.pitch.midi
        stops = top.tie is not None and top.tie.type in ("stop", "continue")
        if stops and notes and notes[-1][2] == key and abs(sum(notes[-1][:2]) - at) < 1e-6:
            notes[-1][1] += length
        else:
            notes.append([at, length, key])
    return notes


# Every so manieth score without chord symbols is read too.
SOME = 23


def sung(directory):
    from music21 import converter, corpus

    count, others = 0, 0
    for path in sorted(map(str, corpus.getCorePaths())):
        if not path.endswith((".xml", ".musicxml", ".mxl")):
            continue
        has_symbols = holds_harmony(path)
        if not has_symbols:
            others += 1
            if others % SOME:
                continue
        parts = [line(part) for part in converter.parse(path).parts]
        count += 1
        copy = pathlib.Path(directory) / f"{count}{pathlib.Path(path).suffix}"
        shutil.copy(path, copy)
        lines = [notes for notes in parts if notes is None or notes]
        yield {"file": str(copy), "symbols": has_symbols, "lines": lines}


def corpus(directory):
    from music21 import converter, corpus, harmony

    count = 0
    for path in sorted(map(str, corpus.getCorePaths())):
        if not path.endswith((".xml", ".musicxml", ".mxl")):
            continue
        if not holds_harmony(path):
            continue
        parsed = converter.parse(path)
        count += 1
        copy = pathlib.Path(directory) / f"{count}{pathlib.Path(path).suffix}"
        shutil.copy(path, copy)
        yield {"file": str(copy), **score(parsed)}


def holds_harmony(path):
    import zipfile

    if path.endswith(".mxl"):
        with zipfile.ZipFile(path) as packed:
            return any(b"<harmony" in packed.read(n) for n in packed.namelist() if n.endswith("xml"))
    return b"<harmony" in pathlib.Path(path).read_bytes()


def main():
    kind, *files = sys.argv[1:]
    if kind == "triads":
        lines = triads(files[0])
    elif kind == "corpus":
        lines = corpus(files[0])
    elif kind == "sung":
        lines = sung(files[0])
    elif kind == "horn":
        lines = map(horn, files)
    elif kind == "midi":
        lines = map(midi, files)
    elif kind == "valid":
        against = schema()
        lines = (valid(file, against) for file in files)
    else:
        from music21 import converter

        told = played if kind == "played" else score
        lines = (told(converter.parse(file, forceSource=True)) for file in files)
    for line in lines:
        print(json.dumps(line), flush=True)


main()
