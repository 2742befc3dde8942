#!/usr/bin/python3
"""check.py BUILD [--long] [NAME...] - runs the tests of a built BUILD side by side on the cores (make check, make long).

NAME is a suite of tests/unit, a case of tests/cli, a check of tests/outside, a fuzzer, a part of torture or lint, or a
pattern of such (reduce*); KIND/NAME and KIND/ choose within a kind. Without NAME all run. A NAME that is no test's ends
with 2. What a part prints is shown whole when it ends; then a line a kind, and what failed once more.

--long makes every call and allocation fail, kills ten thousand batches, changes every constant and fuzzes for
FUZZ_SECONDS (1200) each; without it each is a sample chosen by a fixed seed.
JOBS is the number of parts at a time (the cores); SANITIZE=1 says that BUILD is a sanitized one."""
import concurrent.futures
import difflib
import fnmatch
import os
import pathlib
import re
import shutil
import subprocess
import sys
import time

TESTS = pathlib.Path(__file__).resolve().parent
TOP = TESTS.parent
PYTHON = "/usr/bin/python3" if os.path.exists("/usr/bin/python3") else sys.executable
SANITIZED = bool(os.environ.get("SANITIZE"))
KINDS = ("lint", "unit", "cli", "outside", "fuzz", "torture", "mutation")
# What takes longest is begun first, so that no core waits for it at the end.
FIRST = ("fuzzing/*", "torture/*", "mutation/*", "unit/sheet", "cli/certify-torture", "outside/*", "lint/*", "unit/*")
# Sanitized code is some five times slower: fewer trials there. The plain run makes them all.
FEWER = {"COVERAGE_TRIALS": "1000", "MONTE_CARLO_TRIALS": "5000", "CONFORMITY_SETS": "40", "TORTURE_CALLS": "100"} if SANITIZED else {}


class Part:
    """One test that runs by itself: a command, and what it printed."""

    def __init__(self, kind, name, command, **environment):
        self.kind, self.name, self.command, self.environment = kind, name, [str(word) for word in command], environment
        self.output, self.status, self.seconds = "", None, 0.0

    def __str__(self):
        return f"{self.kind}/{self.name}"

    def run(self):
        began = time.monotonic()
        try:
            done = subprocess.run(self.command, cwd=TOP, env={**os.environ, **FEWER, **self.environment}, stdin=subprocess.DEVNULL,
                                  stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
            self.output, self.status = done.stdout.decode(errors="replace"), done.returncode
        except OSError as error:
            self.output, self.status = f"{error}\n", 127
        if self.kind == "unit" and self.checks() is None:
            self.status = self.status or 1  # a suite that says nothing has not run
        self.seconds = time.monotonic() - began
        return self

    def checks(self):
        """Checks, failures and errors of a unit suite; None when it did not come to its end, or ran nothing."""
        found = re.findall(r"^\d+%: Checks: (\d+), Failures: (\d+), Errors: (\d+)$", self.output, re.M)
        counts = [sum(map(int, column)) for column in zip(*found)]
        return counts if counts and counts[0] > 0 else None


def names(folder, pattern, prefix=""):
    return sorted(path.stem[len(prefix):] for path in (TESTS / folder).glob(pattern))


def parts_of(build, long):
    program, shim = build / "dutyproof", build / "torture/shim.so"
    fork = {"CK_FORK": "no"} if SANITIZED else {}
    yield Part("lint", "banned", [TESTS / "banned.sh"])
    yield Part("lint", "house", [TESTS / "house.sh"])
    yield Part("lint", "public", [TESTS / "public.sh", build])
    yield Part("lint", "format", ["make", "--no-print-directory", "format-check"], MAKEFLAGS="", MFLAGS="")
    for name in names("unit", "test_*.c", "test_"):
        yield Part("unit", name, [build / "unit_tests"], CK_RUN_SUITE=name, **fork)
    for name in sorted(path.name for path in (TESTS / "cli/cases").iterdir()):
        yield Part("cli", name, [TESTS / "cli/run.sh", program, name])
    probes = {"DUTYPROOF": str(program), "PROBES": str(build / "probe"), "PROBE": str(build / "probe/probe")}
    for name in names("outside", "*.py"):
        yield Part("outside", name, [PYTHON, TESTS / "outside" / f"{name}.py"], **probes)
    for name in names("fuzz", "fuzz_*.c", "fuzz_"):
        yield Part("fuzz", name, [build / "fuzz" / name, *sorted((TESTS / "fuzz/corpus" / name).iterdir())])
    yield from torture_parts(build, long, program, shim)
    if not SANITIZED:
        sample = [] if long else ["--sample"]
        yield Part("mutation", "constants", [PYTHON, TESTS / "mutation.py", build, *sample])
    if long:
        yield Part("torture", "kills", [TESTS / "cli/batch_torture.sh", program, "10000", "40"])
        for name in names("fuzz", "fuzz_*.c", "fuzz_"):
            yield Part("fuzzing", name, [TESTS / "fuzz/run.sh", build, name, os.environ.get("FUZZ_SECONDS", "1200")])


def torture_parts(build, long, program, shim):
    bays = [(TESTS / "cli/bays/tiny", TESTS / "cli/bays/tiny/logs/pass.csv")]
    if long:
        bays += [(log.parents[1], log) for log in sorted(TOP.glob("samples/*/logs/*"))]
    for bay, log in bays:
        yield Part("torture", "alloc" if bay.name == "tiny" else f"alloc-{log.name}", [build / "torture/alloc", bay, log])
    yield Part("torture", "hostile", [PYTHON, TESTS / "torture/hostile.py", program])
    # A sanitizer must be loaded before the shim, and has its own malloc: system calls are not tried under it.
    preload = [] if SANITIZED else [shim]
    yield Part("torture", "surroundings", [PYTHON, TESTS / "torture/surroundings.py", program, *preload])
    if not SANITIZED:
        whole = {"TORTURE_CALLS": "0"} if long else {}
        yield Part("torture", "calls", [PYTHON, TESTS / "torture/calls.py", program, shim], **whole)
        many = {"TORTURE_KILLS": "10000"} if long else {}
        yield Part("torture", "kills-in-turn", [PYTHON, TESTS / "torture/kills.py", program, shim], **many)


def chosen(parts, wanted):
    """The parts that the names call for; ends with 2 where a name calls for none."""
    kept = []
    for name in wanted:
        pattern = name + "*" if name.endswith("/") else name
        found = [part for part in parts if fnmatch.fnmatchcase(str(part), pattern) or fnmatch.fnmatchcase(part.name, pattern)]
        if not found:
            near = difflib.get_close_matches(name, sorted({part.name for part in parts}), 4, 0.5)
            print(f"check: no test is named '{name}'" + (f"; near to it: {', '.join(near)}" if near else "")
                  + f". Kinds: {', '.join(KINDS)}", file=sys.stderr)
            sys.exit(2)
        kept += [part for part in found if part not in kept]
    return kept


def turn(part):
    return next((i for i, pattern in enumerate(FIRST) if fnmatch.fnmatchcase(str(part), pattern)), len(FIRST))


def show(part):
    text = part.output.rstrip("\n")
    if part.kind == "cli":  # its own count of one case is in the count of all
        text = "\n".join(line for line in text.split("\n") if not line.startswith("cli: "))
    if part.kind not in ("cli", "unit") or part.status != 0:
        print(f"--- {part} ({part.seconds:.1f} s)")
    elif part.kind == "unit":  # Check's own line
        text = f"{part.name}: {text.splitlines()[-1]}"
    print(text, flush=True)


def close(done):
    """A line for each kind, and what failed. Returns: the exit status."""
    for kind in dict.fromkeys(part.kind for part in sorted(done, key=lambda part: (KINDS + ("fuzzing",)).index(part.kind))):
        these = [part for part in done if part.kind == kind]
        failed = sum(part.status != 0 for part in these)
        print(f"{kind}: {len(these) - failed} passed, {failed} failed")
        if kind == "unit":
            checks, failures, errors = (sum(column) for column in zip(*(part.checks() or [0, 0, 1] for part in these)))
            print(f"{100 * (checks - failures - errors) // max(checks, 1)}%: Checks: {checks}, Failures: {failures}, Errors: {errors}")
    failed = [part for part in done if part.status != 0]
    for part in failed:
        print(f"FAILED: {part} (status {part.status}); again alone: make check T={part}", flush=True)
    return 1 if failed else 0


def main():
    arguments = [word for word in sys.argv[1:] if word != "--long"]
    if not arguments:
        print(__doc__, file=sys.stderr)
        sys.exit(2)
    build = pathlib.Path(arguments[0]).resolve()
    parts = list(parts_of(build, "--long" in sys.argv))
    parts = chosen(parts, arguments[1:]) if len(arguments) > 1 else parts
    jobs = int(os.environ.get("JOBS") or os.cpu_count() or 1)
    began, done = time.monotonic(), []
    with concurrent.futures.ThreadPoolExecutor(jobs) as pool:
        for future in concurrent.futures.as_completed([pool.submit(part.run) for part in sorted(parts, key=turn)]):
            done.append(future.result())
            show(done[-1])
    status = close(done)
    print(f"check: {len(done)} parts in {time.monotonic() - began:.0f} s, {jobs} at a time")
    sys.exit(status)


main()
