"""Do the stated 95 % intervals hold the truth in 95 % of simulated tests? (Definition of coverage: JCGM 100:2008, 2.3.5.)

Each share must lie within 95 +/- 1 %; of 10,000 trials its own standard deviation is 0.22 %. Under the sanitizers fewer are
run (COVERAGE_TRIALS), and three standard deviations of the smaller number are added.
"""
import math
import os
import subprocess
import sys

trials = int(os.environ.get("COVERAGE_TRIALS", "10000"))
slack = 0.01 + (0 if trials >= 10000 else 3 * math.sqrt(0.95 * 0.05 / trials))
lines = subprocess.run([os.environ["PROBES"] + "/coverage", str(trials)], check=True, capture_output=True, text=True).stdout.split("\n")
worst = 0.0
for line in filter(None, lines):
    kind, readings, _, head, _, efficiency = line.split()
    print(f"coverage, {kind} instrument errors, {readings} readings a point: head {float(head):.2%}, set efficiency {float(efficiency):.2%}")
    worst = max(worst, abs(float(head) - 0.95), abs(float(efficiency) - 0.95))
print(f"coverage: {trials} tests a case, largest deviation from 95 %: {worst:.2%}")
sys.exit(0 if len(lines) >= 6 and worst <= slack else 1)
