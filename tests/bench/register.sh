#!/bin/sh
# How fast a register of a million judgements answers: `dutyproof find` as a whole, and the library between opening and
# closing. Usage: register.sh BUILD_DIR [JUDGEMENTS]
# Prints the median of nine runs of each question and what a judgement costs to add; fails where a limit is missed.
set -eu
build=$(cd "$1" && pwd)
count=${2:-1000000}
here=$(cd "$(dirname "$0")" && pwd)
top=$(cd "$here/../.." && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
trap 'exit 2' HUP INT TERM

for program in make_register find_register; do
    ${CC:-cc} -std=c17 -O2 -D_POSIX_C_SOURCE=200809L -I"$top/include" -I"$top/src" "$here/$program.c" "$build/libdutyproof.a" \
        -o "$work/$program" -lcsv -lgsl -lgslcblas -ljansson -lnettle -lsqlite3 -lz -lm -pthread
done
mkdir "$work/bay"
: > "$work/bay/rig.csv"

/usr/bin/python3 - "$work" "$build/dutyproof" "$count" <<'PYTHON'
import os, resource, statistics, subprocess, sys, time

work, program, count = sys.argv[1], sys.argv[2], int(sys.argv[3])
bay = os.path.join(work, "bay")
subprocess.run([os.path.join(work, "make_register"), bay, str(count)], check=True)
used = resource.getrusage(resource.RUSAGE_CHILDREN)
added_ms = 1e3 * (used.ru_utime + used.ru_stime) / count
middle = count // 2 // 50 * 50 + 24 # this one was tested twice
questions = [("a serial", [f"SN-{middle:07d}"]), ("an order", [f"O-{middle // 25:05d}"]), ("a model", ["M-07"]),
             ("a model that failed", ["M-07", "fail"]), ("all that failed", ["fail"]), ("a day", ["2012-05-14"]),
             ("a month", ["2012-05"]), ("a model in a month", ["M-07", "2012-05"]), ("the beginning of serials", ["SN-00012"]),
             ("everything, the latest", [])]
print(f"a register of {count} judgements, {os.path.getsize(os.path.join(bay, 'register.db')) / 1e6:.0f} MB; "
      f"{added_ms:.3f} ms of a processor to add one")
print(f"{'find':26} {'rows':>8} {'library':>10} {'program':>10}")
worst = 0.0
for name, words in questions:
    library, whole = [], []
    for turn in range(9):
        answer = subprocess.run([os.path.join(work, "find_register"), bay, "100", *words], capture_output=True, text=True, check=True)
        given, rows, ms = answer.stdout.split()
        library.append(float(ms))
        begun = time.perf_counter()
        subprocess.run([program, "find", "--bay", bay, *words], capture_output=True, check=True)
        whole.append(1e3 * (time.perf_counter() - begun))
    worst = max(worst, statistics.median(whole))
    print(f"{name:26} {rows:>8} {statistics.median(library):7.1f} ms {statistics.median(whole):7.1f} ms")
checks = [("find, the slowest question, ms", worst, 50.0), ("adding a judgement, ms", added_ms, 0.3)]
good = True
for name, value, limit in checks:
    kept = value <= limit
    good = good and kept
    print(f"{name:35} {value:8.3g}  (at most {limit:g}) {'' if kept else 'MISSED'}".rstrip())
sys.exit(0 if good else 1)
PYTHON
