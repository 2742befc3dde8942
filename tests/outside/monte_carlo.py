"""First-order propagation (JCGM 100) against Monte Carlo through the whole chain (JCGM 101), by the program itself.

The record's points rest on many readings, so both ways see nearly the same errors: they must agree within 5 % (the interval of
20,000 trials is itself good to 1 %; the degree of the curves is an error only of the first way). The reading sheet's points rest on three: JCGM
101, 6.4.9, draws their scatter from Student's t of 2 degrees of freedom, which is wider than the effective degrees of freedom
of JCGM 100, G.4, say, so there Monte Carlo may be wider, by no more than half. A rerun gives the very same numbers.
"""
import json
import os
import subprocess
import sys

program = os.environ["DUTYPROOF"]
trials = os.environ.get("MONTE_CARLO_TRIALS", "20000")
cases = [("samples/dornapet/logs/DN-2010.csv.gz", 0.95, 1.05), ("samples/dornapet/logs/DN-2012.csv", 0.95, 1.5)]
failed = False
for log, low, high in cases:
    command = [program, "reduce", "--no-papers", "--json", "--monte-carlo", trials, log]
    texts = [subprocess.run(command, capture_output=True, text=True).stdout for _ in range(2)]
    result = json.loads(texts[0])
    first, second = result["duties"][0]["uncertainty"], result["monte_carlo"]
    ratios = [second[key] / first[key] for key in ("head_m", "set_efficiency")]
    gap = abs(second["conformity_probability"] - result["conformity_probability"])
    good = all(low <= ratio <= high for ratio in ratios) and gap <= 0.05 and texts[0] == texts[1]
    failed = failed or not good
    print(f"monte carlo, {os.path.basename(log)}: interval over first-order, head {ratios[0]:.3f}, set efficiency {ratios[1]:.3f}; "
          f"conformity differs by {gap:.3f}; {'ok' if good else 'NOT OK'}")
sys.exit(1 if failed else 0)
