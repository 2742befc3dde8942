"""Calls the library through the program that the environment names PROBE (built from probe.c)."""
import os
import subprocess
import sys

_failed = []


def probe(function, rows):
    """The library's results of function over rows of numbers; None where it is absent."""
    text = "".join(function + " " + " ".join(repr(float(x)) for x in row) + "\n" for row in rows)
    done = subprocess.run([os.environ["PROBE"]], input=text, capture_output=True, text=True, check=True)
    answers = done.stdout.split()
    if len(answers) != len(rows):
        sys.exit(f"{function}: {len(answers)} answers to {len(rows)} lines")
    return [None if a == "absent" else float(a) for a in answers]


def compare(name, got, want, relative, why):
    """Prints the largest relative deviation; a missing answer or NaN fails."""
    worst = 0.0
    for g, w in zip(got, want, strict=True):
        deviation = float("inf") if g is None else abs(g - w) / abs(w)
        worst = deviation if not deviation <= worst else worst
    ok = bool(got) and worst <= relative
    print(f"{'ok  ' if ok else 'FAIL'} {name}: {len(got)} values, largest deviation {worst:.2g} of {relative:.2g} ({why})")
    if not ok:
        _failed.append(name)


def finish():
    sys.exit(1 if _failed else 0)
