#!/bin/sh
# Asks two general libraries what each symbol in symbols-against-libraries.txt
# sounds, and rewrites the columns of that file; the first column and the remarks
# stay. A symbol is added as a line that holds it alone. Needs python3, node, npm
# and their package registries; what it installs stays under target/.
set -eu

MUSIC21=10.5.1
TONAL=6.4.3

data=$(cd "$(dirname "$0")" && pwd)
work="$data/../../../target/symbol-libraries"
mkdir -p "$work"
cd "$work"
[ -d venv ] || python3 -m venv venv
venv/bin/pip install --quiet "music21==$MUSIC21"
npm install --silent --no-audit --no-fund --prefix . "tonal@$TONAL"

cat > ask.py <<'PYTHON'
import json
import re
import subprocess
import sys

from music21 import harmony

table = sys.argv[1]
rows = open(table, encoding="utf-8").read().splitlines()
symbols = [row.split("|")[0].strip() for row in rows if row and row[0] != "#"]

NODE = """
const { Chord, Note } = require("tonal");
const symbols = JSON.parse(require("fs").readFileSync(0, "utf8"));
const classes = (symbol) => {
  const chord = Chord.get(symbol);
  return chord.empty || !chord.tonic ? null : chord.notes.map((note) => Note.chroma(note));
};
console.log(JSON.stringify(symbols.map(classes)));
"""


def music21(symbol):
    """The classes; None where the text is refused. Flats of root and bass go in
    as the library writes them, "-"."""
    root = re.match("([A-G])(b*|♭*)", symbol)
    if not root:
        return None
    text = root[1] + "-" * len(root[2]) + symbol[root.end():]
    text = re.sub("/([A-G])(b+|♭+)$", lambda m: "/" + m[1] + "-" * len(m[2]), text)
    try:
        return [pitch.pitchClass for pitch in harmony.ChordSymbol(text).pitches]
    except Exception:
        return None


def column(classes):
    return " ".join(map(str, sorted(set(classes)))) if classes else "-"


asked = subprocess.run(
    ["node", "-e", NODE], input=json.dumps(symbols), capture_output=True, text=True, check=True
)
tonal = dict(zip(symbols, json.loads(asked.stdout)))
with open(table, "w", encoding="utf-8") as out:
    for row in rows:
        if row and row[0] != "#":
            symbol = row.split("|")[0].strip()
            row = f"{symbol} | {column(music21(symbol))} | {column(tonal[symbol])}"
        print(row, file=out)
PYTHON
venv/bin/python ask.py "$data/symbols-against-libraries.txt"
