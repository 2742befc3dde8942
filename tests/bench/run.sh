#!/bin/sh
# Measures the log reader on a record of a million rows and 13 columns, against libcsv alone walking the same file and
# against pandas and numpy doing the same reduction. Usage: run.sh BUILD_DIR [ROWS]
# Prints the best of five runs of each, in processor time, which a busy machine disturbs least, and fails where a limit is missed.
set -eu
build=$1
rows=${2:-1000000}
here=$(dirname "$0")
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cc=${CC:-cc}
flags="-std=c17 -O2 -D_POSIX_C_SOURCE=200809L"

$cc $flags "$here/make_record.c" -o "$work/make_record" -lm
$cc $flags "$here/walk_csv.c" -o "$work/walk_csv" -lcsv
$cc $flags -Iinclude "$here/reduce_record.c" "$build/libdutyproof.a" -o "$work/reduce_record" \
    -lcsv -lgsl -lgslcblas -ljansson -lnettle -lz -lm -pthread
"$work/make_record" "$rows" > "$work/record.csv"

/usr/bin/python3 - "$work" "$here/reduce_record.py" <<'PYTHON'
import os, re, subprocess, sys

work, script = sys.argv[1:]
record = os.path.join(work, "record.csv")
commands = {
    "libcsv walk": [os.path.join(work, "walk_csv"), record],
    "dutyproof": [os.path.join(work, "reduce_record"), record],
    "pandas and numpy": ["/usr/bin/python3", script, record],
}
best, output, peak_mib = {}, {}, 0.0
for _ in range(5):
    for name, command in commands.items():
        before = os.times()
        run = subprocess.run(command, capture_output=True, text=True, check=True)
        after = os.times()
        seconds = after.children_user + after.children_system - before.children_user - before.children_system
        best[name] = min(best.get(name, seconds), seconds)
        output[name] = run.stdout
        peak = re.search(r"peak_kib (\d+)", run.stderr)
        peak_mib = max(peak_mib, int(peak[1]) / 1024) if peak else peak_mib
print(f"record: {os.path.getsize(record) / 1e6:.0f} MB")
for name, seconds in best.items():
    print(f"{name:17} {seconds:6.3f} s")

def numbers(text):
    rows = [line.split(",") for line in text.splitlines()[1:]]
    return {(row[0], row[1]): [float(cell) for cell in row[2:]] for row in rows}

ours, theirs = numbers(output["dutyproof"]), numbers(output["pandas and numpy"])
largest = 0.0
same_keys = ours.keys() == theirs.keys() and output["dutyproof"].splitlines()[0] == output["pandas and numpy"].splitlines()[0]
for key in ours if same_keys else ():
    for a, b in zip(ours[key], theirs[key]):
        largest = max(largest, abs(a - b) / max(abs(a), abs(b), 1e-300))
checks = [
    ("time over libcsv's walk", best["dutyproof"] / best["libcsv walk"], "at most", 1.8),
    ("times faster than pandas", best["pandas and numpy"] / best["dutyproof"], "at least", 6.0),
    ("peak memory, MiB", peak_mib, "at most", 24.0),
    ("largest difference from pandas", largest if same_keys else float("nan"), "at most", 1e-6),
]
good = True
for name, value, sense, limit in checks:
    kept = value <= limit if sense == "at most" else value >= limit
    good = good and kept
    print(f"{name:31} {value:8.3g}  ({sense} {limit:g}) {'' if kept else 'MISSED'}")
sys.exit(0 if good else 1)
PYTHON
