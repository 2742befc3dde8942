#!/usr/bin/python3
"""mutation.py BUILD [NAME...] - changes each grade limit, unit and physical constant by 1 %, one at a time, and shows which
test notices. Not part of make check: it takes a good while. Needs a built BUILD (make check-built B=BUILD).

The tree is not touched: a changed copy of one source is compiled and linked before the library. NAME: files to limit it to.
Prints a line a mutation; ends with 1 when one survives that is not explained in SURVIVES."""
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile

TOP = pathlib.Path(__file__).resolve().parents[1]
BUILD = pathlib.Path(sys.argv[1]).resolve()
PYTHON = "/usr/bin/python3" if os.path.exists("/usr/bin/python3") else "python3"
FLAGS = ["-std=c17", "-D_POSIX_C_SOURCE=200809L", "-ffp-contract=off", "-O1", "-w", f"-I{TOP}/include", f"-I{TOP}/src", f"-I{BUILD}",
         '-DDUTYPROOF_VERSION="mutated"']
LIBS = ["-lcsv", "-lgsl", "-lgslcblas", "-ljansson", "-lnettle", "-lsqlite3", "-lz", "-lm", "-pthread"]

# Each source: the unit suites and the outside checks that answer for it, in the order in which they are asked.
WATCHED = {
    "reference/grades.csv": (["grade", "judge"], ["whole_chain"]),
    "reference/classes.csv": (["grade", "settle", "reduce", "judge"], ["whole_chain"]),
    "src/units.c": (["units"], ["units_gnu"]),
    "src/water.c": (["water"], ["water_iapws"]),
    "src/head.c": (["head"], ["friction_fluids"]),
    "src/flow_throttle.c": (["flowmeter"], ["flow_fluids"]),
    "src/flow_weir.c": (["flowmeter"], ["weir_second_opinion"]),
    "src/flow_tank.c": (["flowmeter"], ["textbook"]),
    "src/electric.c": (["electric", "reduce"], ["textbook"]),
    "src/spread.c": (["spread", "uncertainty"], ["statistics_scipy"]),
    "src/translate.c": (["translate", "reduce"], ["textbook"]),
    "reference/spreads.csv": (["grade", "settle", "reduce"], []),
    "reference/label_star.csv": (["label"], ["label_vectors"]),
    "reference/label_eu.csv": (["label"], ["label_vectors"]),
    "reference/label_us.csv": (["label"], ["label_vectors"]),
    "reference/label_scope.csv": (["label"], []),
    "src/label_eu.c": (["label"], ["label_vectors"]),
    "src/label_us.c": (["label"], ["label_vectors"]),
    "src/label_batch.c": (["label"], ["label_vectors"]),
    "src/batch_stats.c": (["batch"], []),
    "src/fluctuation.c": (["fluctuation"], []),
    "src/routine.c": (["routine"], []),
    "src/judge.c": (["judge"], []),
    "src/fit.c": (["fit"], ["regression_numpy"]),
    "src/reduce.c": (["reduce"], []),
    "src/motor.c": (["motor"], []),
    "src/cautions.c": (["cautions"], []),
    "src/caution_power.c": (["cautions"], []),
    "src/look_here.c": (["look_here"], []),
}
PROBES = {"water_iapws": ["probe"], "friction_fluids": ["probe"], "flow_fluids": ["probe"], "weir_second_opinion": ["probe"],
          "units_gnu": ["program"], "textbook": ["program"], "whole_chain": ["program"], "statistics_scipy": ["probe", "fit_probe"],
          "label_vectors": ["label_probe"], "regression_numpy": ["fit_probe"]}

NUMBER = re.compile(r"(?<![\w.\"%])(\d+\.\d*(?:e[-+]?\d+)?|\d+e[-+]?\d+)(?![\w.])")
# Lines whose numbers are no physics: bounds of iterations, rounding allowances, clamps to a range.
NO_PHYSICS = re.compile(r"1e-1[0-9]|limit_rounding|JUDGE_RESOLUTION|ITERATIONS|fmin\(|isfinite")

# A mutation that no test can see, and why: the file, what stands in its line, the number ("": any).
SURVIVES = [
    ("src/head.c", "double x = -2.0 * log10(", "", "where Newton's method starts"),
    ("src/head.c", "double step =", "", "Newton's step: the way to the root, not the root"),
    ("src/spread.c", "if (s <= 1e-9 * b)", "", "below it the normal part is beyond the last digit"),
    ("src/spread.c", "double small =", "", "below it the normal part is beyond the last digit"),
    ("src/spread.c", "negligible = 0.05", "", "where a narrow rectangle is taken as normal: both sides agree to 1e-5"),
    ("src/spread.c", "narrow * narrow / 3.0", "", "variance of a rectangle that is negligible beside the rest"),
    ("src/spread.c", "wide * wide / 3.0", "", "variance of a rectangle that is negligible beside the rest"),
    ("src/spread.c", "high = 8.0 * normal_deviation", "", "an upper bound for the search"),
    ("src/flow_throttle.c", "law_coefficient(law, beta, bore_m, 1e6)", "1e6", "the Reynolds number at which the iteration starts"),
    ("src/fit.c", "#define FLOW_APART", "", "how near two settings of a valve are one: a share that no source gives"),
    ("src/fit.c", "#define NO_OUTLIER_WITHIN", "", "common practice, no source"),
    ("src/fit.c", "#define FALSE_ALARM", "", "a rate that no source gives; a hundredth of it moves the limit by less than 0.1 %"),
    ("src/fit.c", "leverage > 1e-9", "", "arithmetic: a point that the curve must pass through"),
    ("src/reduce.c", "one_wattmeter = count == 1", "", "phases are whole numbers: more than 1 is more than 1.01"),
    ("src/routine.c", "struct unit plain", "", "every check has a dimension: a plain number is never asked for"),
    ("src/routine.c", "double ohm = quantity_or(size", "", "chooses the unit shown, not the number"),
    ("src/routine.c", ": ohm < ", "", "chooses the unit shown, not the number"),
    ("src/routine.c", "always in megohms", "", "chooses the unit shown, not the number"),
    ("src/caution_power.c", "turned_pf <= 1.0", "", "such a reading differs by less than three times what turning it mends"),
    ("src/caution_power.c", "ratios[i] != 1.0", "", "a ratio of 1 makes no impossible power factor plausible"),
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
            yield f"{path}:{number + 1}: {match[0]} in {line.strip()[:70]}", "\n".join(lines[:number] + [mutated] + lines[number + 1:])


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
    shutil.copytree(TOP / "tests/outside", tree / "tests/outside")
    for name in ("include", "samples", "reference", "src"):
        if path.split("/")[0] != name:
            (tree / name).symlink_to(TOP / name)
            continue
        (tree / name).mkdir()
        for entry in (TOP / name).iterdir():
            if entry.name != pathlib.Path(path).name:
                (tree / name / entry.name).symlink_to(entry)
        (tree / path).write_text(text)
    return tree


def who_notices(path, text, changed, folder):
    """The first test that fails; None when all pass."""
    suites, outside = WATCHED[path]
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


def main():
    survivors, count = [], 0
    for path in sys.argv[2:] or WATCHED:
        for what, text in mutations(path):
            with tempfile.TemporaryDirectory() as folder:
                changed = compile_changed(path, text, pathlib.Path(folder))
                noticed = who_notices(path, text, changed, pathlib.Path(folder)) if changed else "the compiler"
            count += 1
            excuse = next((why for file, part, literal, why in SURVIVES if what.startswith(file) and part in what and
                           (literal == "" or f": {literal} in " in what)), None)
            print(f"{what}: {noticed or ('survives: ' + (excuse or 'UNEXPLAINED'))}", flush=True)
            survivors += [what] if noticed is None and excuse is None else []
    print(f"mutation: {count} changes of 1 %, {len(survivors)} survive unexplained")
    sys.exit(1 if survivors else 0)


main()
