#!/bin/sh
# Measures the log reader on records of a million rows and 13 columns, one with its points numbered and one in which they
# must be found, against libcsv alone walking the same file and, for the numbered one, against pandas and numpy doing the
# same reduction. Usage: run.sh BUILD_DIR [ROWS]
# Prints the best of ten runs of each (five of the slow one), in processor time, which a busy machine disturbs least, and
# fails where a limit is missed.
set -eu
build=$1
rows=${2:-1000000}
here=$(dirname "$0")
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
trap 'exit 2' HUP INT TERM
cc=${CC:-cc}
flags="-std=c17 -O2 -D_POSIX_C_SOURCE=200809L"

$cc $flags "$here/make_record.c" -o "$work/make_record" -lm
$cc $flags "$here/walk_csv.c" -o "$work/walk_csv" -lcsv
$cc $flags -I"$here/../../src" "$here/reduce_record.c" "$build/libdutyproof.a" -o "$work/reduce_record" \
    -lcsv -lgsl -lgslcblas -ljansson -lnettle -lsqlite3 -lz -lm -pthread
"$work/make_record" "$rows" > "$work/numbered.csv"
"$work/make_record" "$rows" search > "$work/searched.csv"

/usr/bin/python3 - "$work" "$here/reduce_record.py" <<'PYTHON'
import os, re, resource, subprocess, sys

work, script = sys.argv[1:]
WALK, OURS, PANDAS = "libcsv walk", "dutyproof", "pandas and numpy"
records = {name: os.path.join(work, name + ".csv") for name in ("numbered", "searched")}
commands = {WALK: [os.path.join(work, "walk_csv")], OURS: [os.path.join(work, "reduce_record")],
            PANDAS: ["/usr/bin/python3", script]}
best, output, peak_mib = {}, {}, {}

def children_s():
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime

for turn in range(10):
    for record, path in records.items():
        for name, command in commands.items():
            if name == PANDAS and (record != "numbered" or turn >= 5):
                continue  # its reduction takes the point numbers, and its time
            before = children_s()
            run = subprocess.run(command + [path], capture_output=True, text=True, check=True)
            seconds = children_s() - before
            best[record, name] = min(best.get((record, name), seconds), seconds)
            output[record, name] = run.stdout
            if name == OURS:
                peak_mib[record] = int(re.search(r"peak_kib ([1-9]\d*)", run.stderr)[1]) / 1024

print(f"{'':18} {'points numbered':>16} {'points found':>16}")
print(f"{'size':18}" + "".join(f" {os.path.getsize(path) / 1e6:13.0f} MB" for path in records.values()))
for name in commands:
    cells = (f"{best[record, name]:14.3f} s" if (record, name) in best else f"{'':16}" for record in records)
    print(f"{name:18} " + " ".join(cells))

def numbers(text):
    rows = [line.split(",") for line in text.splitlines()[1:]]
    return {(row[0], row[1]): [float(cell) for cell in row[2:]] for row in rows}

ours, theirs = output["numbered", OURS], output["numbered", PANDAS]
same = ours.splitlines()[0] == theirs.splitlines()[0]  # the file's SHA-256
ours, theirs = numbers(ours), numbers(theirs)
largest = 0.0
for key in ours if same and ours.keys() == theirs.keys() else ():
    for a, b in zip(ours[key], theirs[key]):
        largest = max(largest, abs(a - b) / max(abs(a), abs(b), 1e-300))
points = len({point for point, _ in numbers(output["searched", OURS])})
checks = [
    ("numbered: time over libcsv's walk", best["numbered", OURS] / best["numbered", WALK], "at most", 1.8),
    ("found: time over libcsv's walk", best["searched", OURS] / best["searched", WALK], "at most", 1.8),
    ("numbered: times faster than pandas", best["numbered", PANDAS] / best["numbered", OURS], "at least", 6.0),
    ("numbered: peak memory, MiB", peak_mib["numbered"], "at most", 24.0),
    ("found: peak memory, MiB", peak_mib["searched"], "at most", 24.0),
    ("largest difference from pandas", largest if same and ours.keys() == theirs.keys() else float("nan"), "at most", 1e-6),
    ("points found that are there, of 10", points, "at least", 10),
    ("points found in all", points, "at most", 10),
]
good = True
for name, value, sense, limit in checks:
    kept = value <= limit if sense == "at most" else value >= limit
    good = good and kept
    print(f"{name:35} {value:8.3g}  ({sense} {limit:g}) {'' if kept else 'MISSED'}".rstrip())
sys.exit(0 if good else 1)
PYTHON
"$here/batch.sh" "$build/dutyproof"
"$here/register.sh" "$build"
