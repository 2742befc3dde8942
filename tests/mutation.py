#!/usr/bin/python3
"""mutation.py BUILD [--sample] [NAME...] - changes each grade limit, unit and physical constant by 1 %, one at a time, and
shows which test notices. Needs a built BUILD (make check-built). NAME: sources or tables to limit it to.

--sample tries one in SAMPLED only, chosen by the text of its line, so that a change elsewhere does not change the choice
(make check); all take an hour or more (make long). JOBS: how many at a time (the cores; 1 with --sample).
The tree is not touched: a changed copy of one source is compiled and linked before the library.
Prints a line a mutation; ends with 1 when one survives that is not explained in SURVIVES. When all are tried it ends
with 1 too where a source has such numbers and is neither in WATCHED nor in LEFT_OUT, or where these name what is gone."""
import concurrent.futures
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import zlib

TOP = pathlib.Path(__file__).resolve().parents[1]
BUILD = pathlib.Path(sys.argv[1]).resolve()
PYTHON = "/usr/bin/python3" if os.path.exists("/usr/bin/python3") else "python3"
FLAGS = ["-std=c17", "-D_POSIX_C_SOURCE=200809L", "-ffp-contract=off", "-O1", "-w", f"-I{TOP}/src", f"-I{TOP}/src", f"-I{BUILD}",
         '-DDUTYPROOF_VERSION="mutated"']
LIBS = re.search(r"^LIBS := (.*)$", (TOP / "Makefile").read_text(), re.M)[1].split()

SAMPLED = 100
# Each source, wherever it lies below src/: the unit suites and the outside checks that answer for it, in the order in which they are asked.
WATCHED = {
    "grades.csv": (["grade", "judge"], ["whole_chain"]),
    "classes.csv": (["grade", "settle", "reduce", "judge"], ["whole_chain"]),
    "units.c": (["units"], ["units_gnu"]),
    "water.c": (["water"], ["water_iapws"]),
    "head.c": (["head"], ["friction_fluids"]),
    "flow_throttle.c": (["flowmeter"], ["flow_fluids"]),
    "flow_weir.c": (["flowmeter"], ["weir_second_opinion"]),
    "flow_tank.c": (["flowmeter"], ["textbook"]),
    "electric.c": (["electric", "reduce"], ["textbook"]),
    "spread.c": (["spread", "uncertainty"], ["statistics_scipy"]),
    "translate.c": (["translate", "reduce"], ["textbook"]),
    "spreads.csv": (["grade", "settle", "reduce"], []),
    "label_star.csv": (["label"], ["label_vectors"]),
    "label_eu.csv": (["label"], ["label_vectors"]),
    "label_us.csv": (["label"], ["label_vectors"]),
    "label_scope.csv": (["label"], []),
    "label_eu.c": (["label"], ["label_vectors"]),
    "label_us.c": (["label"], ["label_vectors"]),
    "label_batch.c": (["label"], ["label_vectors"]),
    "batch_stats.c": (["batch", "margins"], []),
    "fluctuation.c": (["fluctuation"], []),
    "routine.c": (["routine"], []),
    "plausible.csv": (["impossible"], []),
    "impossible.c": (["impossible"], []),
    "judge.c": (["judge"], []),
    "fit.c": (["fit"], ["regression_numpy"]),
    "reduce.c": (["reduce"], []),
    "motor.c": (["motor"], []),
    "cautions.c": (["cautions"], []),
    "caution_power.c": (["cautions"], []),
    "uncertainty.c": (["uncertainty", "conformity", "margins"], ["monte_carlo"]),
    "sensitivity.c": (["uncertainty", "conformity", "margins"], ["monte_carlo"]),
    "duty_forms.c": (["uncertainty", "conformity", "margins"], ["monte_carlo"]),
    "conformance.c": (["conformity", "uncertainty"], ["conformity_monte_carlo"]),
    "monte_carlo.c": (["uncertainty", "conformity"], ["monte_carlo"]),
    "curve.c": (["fit", "judge"], ["regression_numpy"]),
    "settle.c": (["settle"], ["steady_null"]),
    "steady.c": (["settle"], ["steady_null"]),
    "record.c": (["settle"], ["steady_null"]),
    "blocks.c": (["settle"], ["steady_null"]),
    "spikes.c": (["settle"], ["steady_null"]),
    "point_stats.c": (["settle", "reduce"], []),
    "log.c": (["log", "settle"], []),
    "log_clock.c": (["log", "settle"], []),
    "log_stamps.c": (["log"], []),
    "log_columns.c": (["log", "bay"], []),
    "grade.c": (["grade", "bay"], []),
    "models.c": (["bay"], []),
    "motors.c": (["bay", "motor"], []),
    "rig.c": (["bay"], []),
    "instruments.c": (["bay"], []),
    "routines.c": (["routine", "bay"], []),
    "label.c": (["label"], ["label_vectors"]),
    "label_star.c": (["label"], ["label_vectors"]),
    "label_book.c": (["label"], ["label_vectors"]),
    "batch_record.c": (["batch", "margins"], []),
    "date.c": (["date"], []),
    "figures.c": (["figures"], []),
    "chart.c": (["drawn", "sheet", "gnuplot"], []),
    "papers/curves.c": (["drawn", "document"], []),
    "papers/sheet.c": (["document"], []),
    "papers/plot.c": (["drawn"], []),
    "causes.c": (["causes"], ["causes"]),
    "covariance.c": (["causes"], ["causes"]),
    "evidence.c": (["causes"], ["causes"]),
    "families.c": (["causes"], ["causes"]),
    "learn.c": (["causes"], ["causes"]),
    "causes/reference.c": (["causes"], ["causes"]),
    "signs.c": (["causes"], ["causes"]),
    "next_steps.c": (["causes"], []),
    "cause_table.c": (["causes"], []),
    "reference_curves.c": (["causes"], []),
}
# Numbers that are no limit and no physics: where things stand on the paper, how long a message waits, words.
LEFT_OUT = {
    "render_sheet.c": "places on the paper",
    "render_certificate.c": "places on the paper", "render_label.c": "places on the paper, per cent",
    "render_record_plot.c": "places on the paper",
    "pdf/flow.c": "places on the paper", "src/papers/pdf/page.c": "places on the paper", "pdf/page.c": "places on the paper", "pdf/pdf.c": "places on the paper", "pdf/table.c": "places on the paper",
    "papers/press.c": "places on the paper", "papers/certificate_plots.c": "places on the paper",
    "papers/label_strip.c": "places on the paper", "papers/label_paper.c": "per cent",
    "papers/sheet_readings.c": "per cent",
    "render_inspect.c": "how many are shown",
    "label_words.c": "per cent, W", "cmd_label.c": "options' ranges", "cmd_reduce.c": "options' ranges",
    "likely_slip.c": "factors of a hint: the case impossible-slips",
    "progress.c": "how often the line of progress is written", "text.c": "powers of ten: outside check numbers_python tries them all",
}
PROBES = {"water_iapws": ["probe"], "friction_fluids": ["probe"], "flow_fluids": ["probe"], "weir_second_opinion": ["probe"],
          "units_gnu": ["program"], "textbook": ["program"], "whole_chain": ["program"], "statistics_scipy": ["probe", "fit_probe"],
          "label_vectors": ["label_probe"], "regression_numpy": ["fit_probe"],
          "monte_carlo": ["program"], "steady_null": ["program"], "conformity_monte_carlo": ["program"],
          "causes": ["causes_probe"]}

NUMBER = re.compile(r"(?<![\w.\"%])(\d+\.\d*(?:e[-+]?\d+)?|\d+e[-+]?\d+)(?![\w.])")
# Lines whose numbers are no physics: bounds of iterations, rounding allowances, clamps to a range.
NO_PHYSICS = re.compile(r"1e-1[0-9]|limit_rounding|JUDGE_RESOLUTION|ITERATIONS|fmin\(|isfinite")

# A mutation that no test can see, and why: the file, what stands in its line, the number ("": any).
SURVIVES = [
    ("impossible.c", "stats->mean != 0.0", "", "readings about a mean of 0 are left as they are"),
    ("head.c", "double x = -2.0 * log10(", "", "where Newton's method starts"),
    ("head.c", "double step =", "", "Newton's step: the way to the root, not the root"),
    ("spread.c", "if (s <= 1e-9 * b)", "", "below it the normal part is beyond the last digit"),
    ("spread.c", "double small =", "", "below it the normal part is beyond the last digit"),
    ("spread.c", "negligible = 0.05", "", "where a narrow rectangle is taken as normal: both sides agree to 1e-5"),
    ("spread.c", "narrow * narrow / 3.0", "", "variance of a rectangle that is negligible beside the rest"),
    ("spread.c", "wide * wide / 3.0", "", "variance of a rectangle that is negligible beside the rest"),
    ("spread.c", "high = 8.0 * normal_deviation", "", "an upper bound for the search"),
    ("flow_throttle.c", "law_coefficient(law, beta, bore_m, 1e6)", "1e6", "the Reynolds number at which the iteration starts"),
    ("fit.c", "#define FLOW_APART", "", "how near two settings of a valve are one: a share that no source gives"),
    ("fit.c", "#define NO_OUTLIER_WITHIN", "", "common practice, no source"),
    ("fit.c", "#define FALSE_ALARM", "", "a rate that no source gives; a hundredth of it moves the limit by less than 0.1 %"),
    ("fit.c", "leverage > 1e-9", "", "arithmetic: a point that the curve must pass through"),
    ("reduce.c", "one_wattmeter = count == 1", "", "phases are whole numbers: more than 1 is more than 1.01"),
    ("routine.c", "struct unit plain", "", "every check has a dimension: a plain number is never asked for"),
    ("routine.c", "double ohm = quantity_or(size", "", "chooses the unit shown, not the number"),
    ("routine.c", ": ohm < ", "", "chooses the unit shown, not the number"),
    ("routine.c", "always in megohms", "", "chooses the unit shown, not the number"),
    ("caution_power.c", "turned_pf <= 1.0", "", "such a reading differs by less than three times what turning it mends"),
    ("chart.c", "arm_m3s = ellipse ? 0.2", "", "how long the arms of the cross in an ellipse are: a mark to the eye"),
    ("curve.c", "TOUCH", "", "arithmetic: what two roots of one touch differ by"),
    ("curve.c", "double slack = 1e-9", "", "arithmetic: the last bits of a flow"),
    ("curve.c", "bool at_end = ", "", "arithmetic: how near to an end a search stops"),
    ("uncertainty.c", "freedom += (double)readings - 1.0", "", "1 % of a degree of freedom moves the F limit by less than the tests tell"),
    ("sensitivity.c", "1e-3 * fmax(fabs(reading), 1e-3)", "", "step of a difference quotient"),
    ("sensitivity.c", "(double)stats->n - 1.0", "", "1 % of a degree of freedom, where fewer than four are known"),
    ("conformance.c", "double least = 1.0", "", "a start that no probability exceeds"),
    ("conformance.c", "p < 0.9999", "", "above it a check is certain beside the Monte Carlo error of the others"),
    ("conformance.c", "least < 1e-4", "", "below it the draws' own error is greater than the probability"),
    ("conformance.c", "gsl_ran_", "", "1 % of a width is within the Monte Carlo error that the checks allow"),
    ("monte_carlo.c", "gsl_ran_", "", "1 % of a width is within the Monte Carlo error that the check allows"),
    ("monte_carlo.c", "size_t inside", "0.5", "rounds to a whole number of trials"),
    ("monte_carlo.c", "0.5 * shortest", "", "1 % of a width is within the Monte Carlo error that the check allows"),
    ("steady.c", "C_QUANTILE", "2.3263478740408408", "1 % of it moves the share of windows rejected from 1.00 to 0.94 %: within what steady_null allows"),
    ("steady.c", "return C_QUANTILE * sqrt", "", "1 % of 1 or 2 in 10 to 64 groups: within what steady_null allows"),
    ("steady.c", "double groups = ceil", "1e-6", "arithmetic: the last bits of a time"),
    ("causes.c", "length / weighing->length : 1.0", "", "a fault that changes nothing has no direction to scale"),
    ("record.c", "#define CHANCE_ERRORS", "", "stated to two digits: 1 % is within its rounding (2.576)"),
    ("blocks.c", "#define STAMP_ERROR", "", "arithmetic: the last bits of a stamp"),
    ("caution_power.c", "ratios[i] != 1.0", "", "a ratio of 1 makes no impossible power factor plausible"),
]


def changed_literals(path, text):
    """Each decimal literal of the code, 0 apart, times 1.01."""
    lines, comment = text.split("\n"), False
    for number, line in enumerate(lines):
        code = line
        if comment or line.lstrip().startswith(("*", "/*", "//")):
            comment = (comment or "/*" in line) and "*/" not in line
            continue
        code = code.split("/*")[0]
        if NO_PHYSICS.search(code):
            continue
        for match in NUMBER.finditer(code):
            if code[:match.start()].count('"') % 2 == 1 or float(match[0]) == 0.0:
                continue
            mutated = line[:match.start()] + repr(float(match[0]) * 1.01) + line[match.end():]
            yield f"{path}:{number + 1}: {match[0]} in {line.strip()}", "\n".join(lines[:number] + [mutated] + lines[number + 1:])


def changed_units(path, text):
    """Each unit's factor times 1.01, and each offset that is not 0."""
    for match in re.finditer(r'\{\{"([^"]+)", (DIM_\w+), (.+?), ([^,{}]+)\}, ', text):
        name, dimension, factor, offset = match.groups()
        yield f"{path}: {name} ({dimension[4:].lower()})", text[:match.start(3)] + f"1.01 * ({factor})" + text[match.end(3):]
        if offset.strip() != "0":
            yield f"{path}: offset of {name}", text[:match.start(4)] + f"1.01 * ({offset})" + text[match.end(4):]


def changed_cells(path, text):
    """Each number in a reference table times 1.01."""
    lines = text.split("\n")
    header = next(i for i, line in enumerate(lines) if line and not line.startswith("#"))
    names = lines[header].split(",")
    for number in range(header + 1, len(lines)):
        cells = lines[number].split(",")
        for column, cell in enumerate(cells[:len(names)]):
            if re.fullmatch(r"\d+(\.\d+)?", cell) and float(cell) != 0.0 and names[column] != "class":
                mutated = cells[:column] + [repr(float(cell) * 1.01)] + cells[column + 1:]
                yield (f"{path}: {cells[0]}, {names[column]} {cell}",
                       "\n".join(lines[:number] + [",".join(mutated)] + lines[number + 1:]))


def find(name):
    """The path below TOP of a source, wherever it lies below src/, or of a table of reference/; None: there is none."""
    if (TOP / name).is_file():
        return name
    found = [TOP / "reference" / name] if name.endswith(".csv") else sorted((TOP / "src").rglob(name))
    return str(found[0].relative_to(TOP)) if len(found) == 1 and found[0].is_file() else None


def entry_of(path, names):
    """The entry that names the source: by its name, or its folder and its name."""
    return next((name for name in names if f"/{path}".endswith(f"/{name}")), None)


def mutations(path):
    text = (TOP / path).read_text()
    if path.endswith(".csv"):
        return changed_cells(path, text)
    return changed_units(path, text) if path.endswith("units.c") else changed_literals(path, text)


def compile_changed(path, text, folder):
    """The object of the changed source; None when it does not compile."""
    source, made = folder / pathlib.Path(path).name, folder / "changed.o"
    source.write_text(text)
    if path.endswith(".csv"):
        tables = [source if t.name == source.name else t for t in sorted((TOP / "reference").glob("*.csv"))]
        source = folder / "builtin_tables.c"
        with open(source, "w") as out:
            subprocess.run(["awk", "-f", str(TOP / "src/embed_tables.awk"), *map(str, tables)], stdout=out, check=True,
                           env=dict(os.environ, LC_ALL="C"))
    done = subprocess.run(["gcc", *FLAGS, "-c", "-o", str(made), str(source)], capture_output=True, text=True)
    return made if done.returncode == 0 else None


def link(name, changed, folder):
    target = folder / name
    parts = {"unit_tests": sorted(BUILD.glob("unit/*.o")), "program": [BUILD / "main.o", *sorted(BUILD.glob("cli/*.o"))]}
    objects = parts.get(name) or [folder / f"{name}.o"]
    if name not in parts:
        subprocess.run(["gcc", *FLAGS, "-c", "-o", str(objects[0]), str(TOP / "tests/outside" / f"{name}.c")], check=True)
    check = subprocess.run(["pkg-config", "--libs", "check"], capture_output=True, text=True).stdout.split() if name == "unit_tests" else []
    subprocess.run(["gcc", "-o", str(target), *map(str, objects), str(changed), str(BUILD / "libdutyproof.a"), *check, *LIBS], check=True)
    return target


def tree_of(path, text, folder):
    """The outside checks beside the changed source, for those that compile a source by themselves."""
    tree = folder / "tree"
    shutil.copytree(TOP / "tests/outside", tree / "tests/outside")  # a script finds the tree by its own real path
    for name in ("include", "samples", "reference", "src"):
        shutil.copytree(TOP / name, tree / name, copy_function=os.symlink)
    (tree / path).unlink()
    (tree / path).write_text(text)
    return tree


def who_notices(path, text, changed, folder):
    """The first test that fails; None when all pass."""
    suites, outside = WATCHED[entry_of(path, WATCHED)]
    tests = link("unit_tests", changed, folder)
    for suite in suites:
        done = subprocess.run([str(tests)], capture_output=True, text=True, errors="replace", timeout=300, cwd=TOP,
                              env=dict(os.environ, CK_FORK="no", CK_RUN_SUITE=suite))
        if done.returncode != 0:
            failed = re.search(r":[FE]:([^:]+):([^:]+):", done.stdout)
            return f"unit test {failed[2]}" if failed else f"unit suite {suite}"
    tree = tree_of(path, text, folder)
    for check in outside:
        environment = dict(os.environ, PROBES=str(folder), PROBE=str(folder / "probe"), DUTYPROOF=str(folder / "program"))
        for part in PROBES[check]:
            link(part, changed, folder)
        done = subprocess.run([PYTHON, str(tree / "tests/outside" / f"{check}.py")], capture_output=True, text=True, env=environment)
        if done.returncode != 0:
            return f"outside check {check}"
    return None


def tried(path, what, text):
    """Makes one change. Returns: what it was, who noticed (None: nobody), why nobody can (None: not explained)."""
    with tempfile.TemporaryDirectory() as folder:
        changed = compile_changed(path, text, pathlib.Path(folder))
        try:
            noticed = who_notices(path, text, changed, pathlib.Path(folder)) if changed else "the compiler"
        except subprocess.TimeoutExpired:
            noticed = "a test that does not end"
    name = pathlib.Path(path).name
    excuse = next((entry[3] for entry in SURVIVES if excused(entry, name, what)), None)
    return what, noticed, excuse


def excused(entry, name, what):
    file, part, literal, _ = entry
    return file == name and part in what.split(" in ", 1)[-1] and (literal == "" or f": {literal} in " in what)


def in_sample(path, what):
    return zlib.crc32(f"{pathlib.Path(path).name} {re.sub(r'^[^ ]*: ', '', what)}".encode()) % SAMPLED == 0


def unlisted():
    """What the tables name and is not there, and sources with numbers that they do not name."""
    for source in sorted((TOP / "src").rglob("*.c")):
        path = str(source.relative_to(TOP))
        if entry_of(path, [*WATCHED, *LEFT_OUT]) is None and any(mutations(path)):
            yield f"{path} has numbers, and is neither in WATCHED nor in LEFT_OUT"
    yield from (f"{name} is not there, or there twice" for name in [*WATCHED, *LEFT_OUT] if find(name) is None)
    for name, (suites, outside) in WATCHED.items():
        yield from (f"{name}: no suite {s}" for s in suites if not (TOP / f"tests/unit/test_{s}.c").is_file())
        changes = [what for what, _ in mutations(find(name))] if find(name) else []
        yield from (f"SURVIVES names nothing: {entry[0]}, {entry[1]}" for entry in SURVIVES
                    if changes and entry[0] == name and not any(excused(entry, name, what) for what in changes))
        yield from (f"{name}: no outside check {c}" for c in outside if not (TOP / f"tests/outside/{c}.py").is_file())


def main():
    sample, wanted = "--sample" in sys.argv, [word for word in sys.argv[2:] if word != "--sample"]
    paths = [path for path in map(find, wanted or WATCHED) if path is not None]
    if wanted and len(paths) < len(wanted):
        sys.exit(f"mutation: not there: {', '.join(name for name in wanted if find(name) is None)}")
    changes = [(path, what, text) for path in paths for what, text in mutations(path) if not sample or in_sample(path, what)]
    wrong = list(unlisted()) if not wanted else []
    print("".join(f"mutation: {what}\n" for what in wrong), end="")
    jobs = 1 if sample else int(os.environ.get("JOBS") or os.cpu_count() or 1)
    survivors = 0
    with concurrent.futures.ThreadPoolExecutor(jobs) as pool:
        for what, noticed, excuse in pool.map(lambda change: tried(*change), changes):
            print(f"{what[:120]}: {noticed or ('survives: ' + (excuse or 'UNEXPLAINED'))}", flush=True)
            survivors += noticed is None and excuse is None
    print(f"mutation: {len(changes)} changes of 1 %, {survivors} survive unexplained, {len(wrong)} names wrong")
    sys.exit(1 if survivors or (wrong and not sample) else 0)


main()
