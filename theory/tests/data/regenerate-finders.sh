#!/bin/sh
# Asks the chord finders of three general libraries what each set in
# sets-in-finders.txt is, and rewrites their columns; the rest stays. Needs
# python3, node, npm and their package registries; what it installs stays under
# target/.
set -eu

MUSIC21=10.5.1
PYCHORD=1.2.3
TONAL=6.4.3

data=$(cd "$(dirname "$0")" && pwd)
work="$data/../../../target/symbol-libraries"
mkdir -p "$work"
cd "$work"
[ -d venv ] || python3 -m venv venv
venv/bin/pip install --quiet "music21==$MUSIC21" "pychord==$PYCHORD"
npm install --silent --no-audit --no-fund --prefix . "tonal@$TONAL"

cat > find.py <<'PYTHON'
import json
import subprocess
import sys

from music21 import chord, harmony
from pychord import find_chords_from_notes

table = sys.argv[1]
rows = open(table, encoding="utf-8").read().splitlines()
sets = [row.split("|")[0].split() for row in rows if row and row[0] != "#"]

NODE = """
const { Chord } = require("tonal");
const sets = JSON.parse(require("fs").readFileSync(0, "utf8"));
const bare = (note) => note.replace(/[0-9]/g, "");
console.log(JSON.stringify(sets.map((notes) => Chord.detect(notes.map(bare)))));
"""


def music21(notes):
    found = chord.Chord([note.replace("b", "-") for note in notes])
    figure = harmony.chordSymbolFigureFromChord(found)
    return [] if figure == "Chord Symbol Cannot Be Identified" else [figure.replace("-", "b")]


def pychord(notes):
    try:
        return [str(found) for found in find_chords_from_notes([n.rstrip("0123456789") for n in notes])]
    except Exception:
        return []


asked = subprocess.run(
    ["node", "-e", NODE], input=json.dumps(sets), capture_output=True, text=True, check=True
)
tonal = iter(json.loads(asked.stdout))
with open(table, "w", encoding="utf-8") as out:
    for row in rows:
        if row and row[0] != "#":
            cells = [cell.strip() for cell in row.split("|")][:3]
            notes = cells[0].split()
            for names in (music21(notes), next(tonal), pychord(notes)):
                cells.append(", ".join(names) or "-")
            row = " | ".join(cells)
        print(row, file=out)
PYTHON
venv/bin/python find.py "$data/sets-in-finders.txt"
