"""hostile.py DUTYPROOF - every text of every table and log holds what gnuplot, a shell, printf, a path or a browser might
act upon. It must come out as text on every paper, run nothing, and make no file outside OUT."""
import csv, io, json, os, re, shutil, subprocess, sys, tempfile

program = os.path.abspath(sys.argv[1])
CANARY = "canary"

PAYLOADS = {
    "gnuplot string": f"x' ; system('touch {CANARY}') ; '",
    "gnuplot double": f'y" ; system("touch {CANARY}") ; "',
    "gnuplot backtick": f"`touch {CANARY}`",
    "gnuplot macro": "@term @GPVAL_TERM {/Symbol a}^2_3 {/=50 huge} \\n \\101 $1 #c",
    "shell": f"$(touch {CANARY}); touch {CANARY} | touch {CANARY} && touch {CANARY}",
    "printf": "%s%s%n%5$s %d %1000000d",
    "path": f"../../../{CANARY}",
    "absolute path": f"/tmp/{CANARY}-dutyproof",
    "html": "<script>alert(1)</script><img src=x onerror=1>&amp;x",
    "spreadsheet": f"=cmd|' /C touch {CANARY}'!A0",
    "right to left": "\u202eevil\u202c \u05d0\u05d1 \u0627\u0628 \u200b\u2066x",
    "combining": "z\u0301\u0302\u0303\u0304\u0305\u0306\u0307\u0308 e\u0301",
    "controls": "a\x01\x02\x07\x08\x1b[31mred\x1b[0m\x7f\u0085\u009b31m",
    "long": "L" * 10000,
    "long wide": "\u6f22" * 3000,
    "dots": "..",
    "dashes": "--help",
    "nul escape": "\\0\\x00%00",
}
BIDI = re.compile("[\u202a-\u202e\u2066-\u2069\u200b-\u200f]")
CONTROL = re.compile("[\x00-\x08\x0b-\x1f\x7f\u0080-\u009f]")

failures = []


def check(name, condition, what):
    if not condition:
        failures.append(f"{name}: {what}")


def table(rows):
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows(rows)
    return out.getvalue()


def build(folder, text):
    """A bay of 'text' wherever a table takes text. Its numbers are made up: H = 50 m - 0.4 m (Q / (L/s))^2."""
    def put(name, rows, head=""):
        with open(os.path.join(folder, name), "w", encoding="utf-8", newline="") as file:
            file.write(head + table(rows))

    put("rig.csv", [["item", "value", "unit", "note"], ["bay", text, "", text], ["gravity", "9.8", "m/s2", text],
                    ["water density", "1000", "kg/m3", ""], ["air pressure", "100", "kPa", ""],
                    ["flow method", "meter", "", ""], ["delivery bore", "80", "mm", ""], ["gauge height", "0", "m", ""],
                    ["water level", "0", "m", ""], ["speed basis", "frequency", "", text]])
    put("instruments.csv", [["channel", "serial", "accuracy [%]", "basis", "certificate", "calibrated", "due"]] +
        [[channel, text, "0.5", "reading", text, "2024-01-01", "2025-01-01"]
         for channel in ("flow", "gauge pressure", "input power", "current")])
    put("models.csv", [["model", "poles", "phases", "rated voltage [V]", "rated frequency [Hz]", "rated power [kW]",
                        "guaranteed flow [L/s]", "guaranteed head [m]", "guaranteed efficiency [%]", "efficiency of",
                        "grade", "label minimum source", "motor", text[:2000]],
                       [text, "2", "3", "415", "50", "4", "5", "39", "40", "set", "2B", text, text, text]])
    put("motors.csv", [["motor", "input power [kW]", "shaft power [kW]", "speed [rpm]", "current [A]"],
                       [text, "1", "0.7", "2950", "4"], [text, "9", "7.5", "2850", "15"]])
    points = [[str(i + 1), f"{q}", f"{(50 - 0.4 * q * q) * 9.8:.3f}", f"{2 + 0.5 * q:.3f}", "415", f"{5 + q}", "50", "20"]
              for i, q in enumerate([0.5, 1, 2, 3, 4, 5, 6, 7])]
    remark = text.replace("\n", " ")
    put("log.csv", [["point", "flow [L/s]", "gauge pressure [kPa]", "input power [kW]", "voltage [V]", "current [A]",
                     "frequency [Hz]", "water temperature [C]", text[:2000]]] + [point + [text] for point in points],
        f"# serial: {remark}\n# model: {remark}\n# tester: {remark}\n# tested: 2024-06-01\n")
    put("units.csv", [["serial", "model", "log", "tested", "tester", "remarks"],
                      [text, text, "log.csv", "2024-06-01", text, text]])


def everything(folder):
    return {os.path.relpath(os.path.join(at, name), folder) for at, _, names in os.walk(folder) for name in names}


def run(room, *arguments):
    return subprocess.run([program, *arguments], cwd=room, capture_output=True, timeout=300,
                          env=dict(os.environ, TMPDIR=os.path.join(room, "tmp"), LC_ALL="C.UTF-8"))


def letters(text):
    """What a reader of a paper can compare: letters and digits only, since a PDF breaks lines and pads."""
    return re.sub(r"[^0-9A-Za-z]", "", text)


def look_at_papers(name, text, folder):
    document = json.load(open(os.path.join(folder, "result.json"), encoding="utf-8"))
    sheet = open(os.path.join(folder, "sheet.txt"), encoding="utf-8").read()
    check(name, not CONTROL.search(sheet.replace("\n", "")), "a control character on sheet.txt")
    check(name, not BIDI.search(sheet), "a bidirectional control on sheet.txt")
    check(name, max(map(len, sheet.split("\n"))) <= 130, "a line of sheet.txt runs on")
    clean = CONTROL.sub("\ufffd", text.strip())
    check(name, letters(document["serial"])[:200] == letters(clean)[:200], "the serial of result.json is another")
    check(name, letters(clean)[:12] in letters(sheet), "sheet.txt does not show the text")
    pdf = os.path.join(folder, "sheet.pdf")
    shown = subprocess.run(["pdftotext", "-layout", pdf, "-"], capture_output=True, text=True)
    pages = subprocess.run(["pdfinfo", pdf], capture_output=True, text=True).stdout
    check(name, shown.returncode == 0, "pdftotext cannot read sheet.pdf")
    check(name, re.search(r"^Pages: +\d+$", pages, re.M), "sheet.pdf has no pages")
    check(name, letters(clean)[:12] in letters(shown.stdout), "sheet.pdf does not show the text")


def one(name, text, room):
    bay = os.path.join(room, "bay")
    os.mkdir(bay)
    os.mkdir(os.path.join(room, "tmp"))
    build(bay, text)
    before = everything(room)
    done = run(room, "reduce", "--bay", "bay", "--out", "out", "bay/log.csv")
    check(name, done.returncode in (0, 1), f"reduce ends with {done.returncode}: {done.stderr[-300:]}")
    check(name, not CONTROL.search(done.stdout.decode("utf-8").replace("\n", "")), "a control character on the terminal")
    check(name, not CONTROL.search(done.stderr.decode("utf-8").replace("\n", "")), "a control character in a message")
    made = everything(room) - before
    check(name, all(path == "bay/register.db" or re.fullmatch(r"out/[^/]+/[a-z.0-9]+", path) for path in made), f"files elsewhere: {sorted(made)[:5]}")
    folders = os.listdir(os.path.join(room, "out")) if os.path.isdir(os.path.join(room, "out")) else []
    check(name, len(folders) == 1 and not folders[0].startswith("."), f"folders {folders}")
    if folders and done.returncode < 2:
        look_at_papers(name, text, os.path.join(room, "out", folders[0]))
    for command in (["inspect", "bay/log.csv"], ["label", "--bay", "bay", "bay/log.csv"],
                    ["certify", "--out", "batch", "bay/units.csv"], ["reduce", "--json", "--no-papers", "bay/log.csv"],
                    ["reduce", "--no-papers", "--model", text[:4000], "--serial", text[:4000], "bay/log.csv"]):
        other = run(room, *command)
        check(name, 0 <= other.returncode <= 2, f"{command[0]} ends with {other.returncode}")
        check(name, command[0] != "certify" or other.returncode < 2, f"certify: {other.stderr[-300:]}")
        for stream in (other.stdout, other.stderr):
            if stream.startswith(b"{"):
                json.loads(stream)
                continue
            check(name, not CONTROL.search(stream.decode("utf-8").replace("\n", "").replace("\r", "")),
                  f"{command[0]} prints a control character")
    check(name, not os.path.exists(f"/tmp/{CANARY}-dutyproof"), "a file at the absolute path")
    check(name, not any(CANARY in path for path in everything(room) if not path.startswith(("out/", "batch/"))), "the canary")
    check(name, not any(os.path.basename(path) == CANARY for path in everything(room)), "the canary was touched")


def main():
    wanted = sys.argv[2:] or list(PAYLOADS)
    for name in wanted:
        room = tempfile.mkdtemp(prefix="hostile-")
        try:
            one(name, PAYLOADS[name], room)
        except Exception as problem:  # a paper that cannot even be read
            failures.append(f"{name}: {type(problem).__name__}: {problem}")
        finally:
            shutil.rmtree(room)
    print("\n".join(failures), file=sys.stderr) if failures else None
    print(f"hostile: {len(wanted)} texts in every field of every table: {len(failures)} wrong")
    sys.exit(1 if failures else 0)


main()
