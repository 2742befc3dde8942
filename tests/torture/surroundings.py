"""surroundings.py DUTYPROOF [SHIM] - locale, time zone and number of jobs change no byte of any paper.

With the shim setlocale has been called too, as a host that embeds the library may: then no number of a document, table
or curve may change, though some notes are worded with the host's decimal sign."""
import json, os, shutil, subprocess, sys, tempfile

program = os.path.abspath(sys.argv[1])
shim = os.path.abspath(sys.argv[2]) if len(sys.argv) > 2 else None
root = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..")

LOGS = ["textbook/logs/fox-mcdonald-10-3.csv", "dornapet-weir/logs/DW-2201.csv", "dornapet/logs/DN-1001.csv"]
LOCALES = ["de_DE", "tr_TR", "hi_IN"]
ZONES = ["UTC", "Asia/Kolkata", "America/St_Johns", "Pacific/Kiritimati"]


def contents(folder):
    return {os.path.relpath(os.path.join(at, name), folder): open(os.path.join(at, name), "rb").read()
            for at, _, names in os.walk(folder) for name in names}


def run(room, name, arguments, extra):
    out = os.path.join(room, name)
    environment = {key: value for key, value in os.environ.items() if not key.startswith("LC_")}
    done = subprocess.run([program, *arguments, "--out", out], env=dict(environment, **extra), cwd=room,
                          stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    if done.returncode not in (0, 1):
        sys.exit(f"surroundings: {name}: exit status {done.returncode}: {done.stderr.decode(errors='replace')}")
    return done.returncode, done.stdout, contents(out)


def numbers(value):
    """A document without its texts."""
    if isinstance(value, dict):
        return {key: numbers(item) for key, item in value.items()}
    if isinstance(value, list):
        return [numbers(item) for item in value]
    return None if isinstance(value, str) else value


def in_numbers(outcome):
    """What is left of a run where texts do not count."""
    status, _, papers = outcome
    kept = {path: content for path, content in papers.items() if path.endswith(("points.csv", "curves.dat", "sheet.pdf"))}
    return status, kept, {path: numbers(json.loads(content)) for path, content in papers.items() if path.endswith(".json")}


def make_locales(folder):
    """The locales that can be made here; the C library finds them by LOCPATH."""
    made = []
    for name in LOCALES:
        try:
            subprocess.run(["localedef", "-i", name, "-f", "UTF-8", os.path.join(folder, name + ".UTF-8")],
                           stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        except FileNotFoundError:
            break
        if os.path.isfile(os.path.join(folder, name + ".UTF-8", "LC_NUMERIC")):
            made.append(name + ".UTF-8")
    return made


def main():
    room = tempfile.mkdtemp(prefix="surroundings-")
    try:
        shutil.copytree(os.path.join(root, "samples"), os.path.join(room, "samples"))
        reduce = ["reduce"] + [os.path.join("samples", log) for log in LOGS]
        wrong, reference = [], run(room, "reference", reduce, {"LC_ALL": "C", "TZ": "UTC"})
        made = make_locales(os.path.join(room, "samples"))
        trials = [(f"locale {name}", {"LC_ALL": name, "LOCPATH": os.path.join(room, "samples")}) for name in made]
        trials += [(f"time zone {zone}", {"LC_ALL": "C", "TZ": zone}) for zone in ZONES]
        for name, extra in trials:
            if run(room, name.replace("/", "-"), reduce, extra) != reference:
                wrong.append(name)
        for name in made if shim else []:
            host = {"LC_ALL": name, "LOCPATH": os.path.join(room, "samples"), "LD_PRELOAD": shim, "TORTURE_LOCALE": "1"}
            if in_numbers(run(room, "host " + name, reduce, host)) != in_numbers(reference):
                wrong.append(f"a host in locale {name}")
        if "certify" in subprocess.run([program, "--help"], capture_output=True, text=True).stdout:
            batch = ["certify", "samples/dornapet-weir/units.csv", "--jobs"]
            one = run(room, "jobs1", batch + ["1"], {})
            wrong += [f"{n} jobs" for n in (2, 7) if run(room, f"jobs{n}", batch + [str(n)], {})[2] != one[2]]
        words = ", ".join(made) if made else "no locale can be made here"
        print(f"surroundings: {words}; {len(ZONES)} time zones; 1, 2 and 7 jobs: "
              + (f"{len(wrong)} change the papers: {', '.join(wrong)}" if wrong else "every paper the same"))
        sys.exit(1 if wrong else 0)
    finally:
        shutil.rmtree(room)


main()
