"""Do the stated 95 % intervals hold the truth in 95 % of simulated tests? (Definition of coverage: JCGM 100:2008, 2.3.5.)

Each share must lie within 95 +/- 1 % (of 10,000 trials its own standard deviation is 0.22 %), records, of which a tenth as many
are run, and what they need approximations for, within 95 +/- 2 %. Under the sanitizers fewer are run (COVERAGE_TRIALS); three
standard deviations of a smaller number are added.
"""
import math
import os
import subprocess
import sys

trials = int(os.environ.get("COVERAGE_TRIALS", "10000"))
lines = subprocess.run([os.environ["PROBES"] + "/coverage", str(trials)], check=True, capture_output=True, text=True).stdout.split("\n")
NAMES = {"rectangular": "rectangular instrument errors, {} readings a point", "normal": "normal instrument errors, {} readings a point",
         "single": "points of {} reading", "analyser": "power on two inputs of one analyser, {} readings a point",
         "record": "records, correlation time {} tenths of a second"}
worst, good = 0.0, True
for line in filter(None, lines):
    kind, number, _, head, _, efficiency, count = line.split()
    count = int(count)
    spread = math.sqrt(0.95 * 0.05 / count)
    slack = (0.02 if kind == "record" else 0.01) + (0 if count >= 10000 else 3 * spread)
    print(f"coverage, {NAMES[kind].format(number)}: head {float(head):.2%}, set efficiency {float(efficiency):.2%}, +/- {spread:.2%}")
    off = max(abs(float(head) - 0.95), abs(float(efficiency) - 0.95))
    good = good and off <= slack
    worst = max(worst, off)
print(f"coverage: {trials} tests a case, of records a tenth, largest deviation from 95 %: {worst:.2%}")
sys.exit(0 if len(list(filter(None, lines))) >= 12 and good else 1)
