#!/bin/sh
# batch.sh PROGRAM [UNITS] - how long a unit of eight readings takes in a batch, on all cores
#
# Without papers: milliseconds a test, at most 2 on two cores. With papers: against one gnuplot process that draws as
# many bare one-page PDFs, at most 3 times its time; beside it a process started for each page. The best of five runs
# each, in turns. On a machine that is busy with other things (the one process gets less than four fifths of a core)
# elapsed time says little: then processor time stands in, shared over two cores. Exit status 1: a limit is missed.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
dutyproof=$(cd "$(dirname "$1")" && pwd)/$(basename "$1")
units=${2:-300}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
"$here/../cli/make_batch.py" "$work/bay" "$units" 7
/usr/bin/python3 - "$dutyproof" "$work" <<'PYTHON'
import os, shutil, subprocess, sys, time

program, work = sys.argv[1:]
units = f"{work}/bay/units.csv"
tests = sum(line[0] not in "#s" for line in open(units))
with open(f"{work}/bare.gp", "w") as script:
    script.write("set terminal pdfcairo\n")
    for i in range(tests):
        script.write(f"set output '{i}.pdf'\nplot sin(x)\nset output\n")
with open(f"{work}/one.gp", "w") as script:
    script.write("set terminal pdfcairo\nset output 'one.pdf'\nplot sin(x)\nset output\n")


def certify(*options):
    return [program, "certify", "--quiet", *options, units]


runs = {
    "bare": (["gnuplot", "bare.gp"], 1),
    "papers": (certify("--out", f"{work}/out"), 1),
    "resumed": (certify("--resume", "--out", f"{work}/out"), 1),
    "none": (certify("--no-papers"), 1),
    "each": (["gnuplot", "one.gp"], 10),
}
elapsed, busy = {}, {}
for turn in range(5):
    for name, (command, times) in runs.items():
        if name == "papers":
            shutil.rmtree(f"{work}/out", ignore_errors=True)
        begin, cpu = time.monotonic(), 0.0
        for _ in range(times):
            child = subprocess.Popen(command, cwd=work, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
            usage = os.wait4(child.pid, 0)[2]
            cpu += usage.ru_utime + usage.ru_stime
        elapsed[name] = min(elapsed.get(name, 1e9), time.monotonic() - begin)
        busy[name] = min(busy.get(name, 1e9), cpu)

idle = busy["bare"] >= 0.8 * elapsed["bare"]
took = elapsed if idle else {name: busy[name] / (2 if name in ("papers", "none") else 1) for name in busy}
print(f"batch of {tests} tests of 8 readings, best of 5, " +
      ("elapsed time" if idle else "processor time (the machine is busy), that of the batch shared over two cores"))
good = True


def show(text, ms, ratio=None, limit=None):
    global good
    value = ms if ratio is None else ratio
    kept = limit is None or value <= limit
    good = good and kept
    print(f"  {text:26}{ms:8.2f} ms" + (f"{ratio:7.1f} times that" if ratio is not None else " " * 18) +
          (f"  (at most {limit:g}) {'' if kept else 'MISSED'}" if limit is not None else ""))


page = 1e3 * took["bare"] / tests
show("without papers", 1e3 * took["none"] / tests, None, 2)
show("a bare page, one gnuplot", page)
show("a bare page, one each", 1e2 * took["each"], 1e2 * took["each"] / page)
show("with papers", 1e3 * took["papers"] / tests, took["papers"] / took["bare"], 3)
show("--resume, all whole", 1e3 * took["resumed"] / tests)
print(f"  elapsed: without papers {1e3 * elapsed['none'] / tests:.2f} ms, with {1e3 * elapsed['papers'] / tests:.2f} ms")
sys.exit(0 if good else 1)
PYTHON
