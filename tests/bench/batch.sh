#!/bin/sh
# batch.sh PROGRAM [UNITS] - how long a unit of eight readings takes in a batch, on all cores
#
# Without papers: milliseconds a test, at most 2 on two cores. With papers: against one gnuplot process that draws as
# many bare one-page PDFs (two curves with a title, names at the axes, a grid and a key), at most 3 times its time.
# Beside it a process started for each page, and pages of one curve with nothing but numbers at its axes. Seven turns
# of each, one after the other, so that a machine that is now faster and now slower is so for all of them: the times
# are the middle ones, a ratio is that of one turn, and the middle of the seven counts. Exit status 1: a limit is missed.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
dutyproof=$(cd "$(dirname "$1")" && pwd)/$(basename "$1")
units=${2:-300}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
"$here/../cli/make_batch.py" "$work/bay" "$units" 7
/usr/bin/python3 - "$dutyproof" "$work" <<'PYTHON'
import os, statistics, subprocess, sys, time

program, work = sys.argv[1:]
units = f"{work}/bay/units.csv"
tests = sum(line[0] not in "#s" for line in open(units))

PAGE = """set title 'PX-40, PX-0001'
set xlabel 'flow Q, L/s'
set ylabel 'head H, m'
set grid
"""


def pages(name, count, setup, plot):
    with open(f"{work}/{name}.gp", "w") as script:
        script.write(f"set terminal pdfcairo size 21cm,29.7cm\n{setup}")
        for i in range(count):
            script.write(f"set output '{i}.pdf'\n{plot}\nset output\n")
    return ["gnuplot", f"{work}/{name}.gp"]



def certify(*options):
    return [program, "certify", "--quiet", *options, units]


runs = {
    "bare": (pages("bare", tests, PAGE, "plot sin(x) title 'fitted', cos(x) title 'measured'"), 1),
    "blank": (pages("blank", tests, "", "plot sin(x) notitle"), 1),
    "papers": None,
    "resumed": None,
    "none": (certify("--no-papers"), 1),
    "each": (pages("each", 1, PAGE, "plot sin(x) title 'fitted', cos(x) title 'measured'"), 10),
}
elapsed = {name: [] for name in runs}
for turn in range(7):
    here = f"{work}/turn{turn}"
    os.mkdir(here)
    # A new folder each turn: ext4 is slow to make files where thousands were just removed.
    runs["papers"] = (certify("--out", f"{here}/out"), 1)
    runs["resumed"] = (certify("--resume", "--out", f"{here}/out"), 1)
    for name, (command, times) in runs.items():
        begin = time.monotonic()
        for _ in range(times):
            subprocess.run(command, cwd=here, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        elapsed[name].append(time.monotonic() - begin)

print(f"batch of {tests} tests of 8 readings, middle of 7 turns, elapsed time")
good = True


def show(text, name, count=tests, limit_ms=None, limit=None, compared=True):
    global good
    ms = 1e3 * statistics.median(elapsed[name]) / count
    ratios = sorted(a / b for a, b in zip(elapsed[name], elapsed["bare"]))
    ratio = statistics.median(ratios) * tests / count
    line = f"  {text:26}{ms:8.2f} ms"
    if compared:
        line += f"{ratio:7.1f} times a bare page ({ratios[0] * tests / count:.1f} to {ratios[-1] * tests / count:.1f})"
    missed = (limit_ms is not None and ms > limit_ms) or (limit is not None and ratio > limit)
    good = good and not missed
    if limit_ms is not None or limit is not None:
        line += f", at most {limit_ms or limit:g}" + (": MISSED" if missed else "")
    print(line)


show("without papers", "none", limit_ms=2, compared=False)
show("a bare page, one gnuplot", "bare", compared=False)
show("  a process for each", "each", count=10)
show("  without any text", "blank")
show("with papers", "papers", limit=3)
show("--resume, all whole", "resumed", compared=False)
sys.exit(0 if good else 1)
PYTHON
