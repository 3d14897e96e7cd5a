#!/bin/sh
# Asks a general library for the scales in scales-against-libraries.txt by its own
# names, the second column, and rewrites the third; the rest stays. Needs python3,
# node, npm and its package registry; what it installs stays under target/.
set -eu

TONAL=6.4.3

data=$(cd "$(dirname "$0")" && pwd)
work="$data/../../../target/symbol-libraries"
mkdir -p "$work"
cd "$work"
npm install --silent --no-audit --no-fund --prefix . "tonal@$TONAL"

cat > scales.py <<'PYTHON'
import json
import subprocess
import sys

table = sys.argv[1]
rows = open(table, encoding="utf-8").read().splitlines()
names = [row.split("|")[1].strip() for row in rows if row and row[0] != "#"]

NODE = """
const { Note, Scale } = require("tonal");
const names = JSON.parse(require("fs").readFileSync(0, "utf8"));
const classes = (name) => Scale.get("C " + name).notes.map((note) => Note.chroma(note));
console.log(JSON.stringify(names.map(classes)));
"""

asked = subprocess.run(
    ["node", "-e", NODE], input=json.dumps(names), capture_output=True, text=True, check=True
)
found = iter(json.loads(asked.stdout))
with open(table, "w", encoding="utf-8") as out:
    for row in rows:
        if row and row[0] != "#":
            ours, theirs = [cell.strip() for cell in row.split("|")][:2]
            classes = " ".join(map(str, sorted(next(found)))) or "-"
            row = f"{ours} | {theirs} | {classes}"
        print(row, file=out)
PYTHON
python3 scales.py "$data/scales-against-libraries.txt"
