"""calls.py DUTYPROOF SHIM - fails each system call and allocation of the program in turn (shim.c), and looks at what it leaves.

A failed call ends in exit status 2 with a message, or does no harm: the papers are all there and the same. In either
case no paper is cut, nothing is left behind, and the next run makes everything whole.
TORTURE_CALLS of them are tried (320; 0: every one, side by side on the cores), in an order shuffled by a fixed seed."""
import concurrent.futures, hashlib, os, random, shutil, signal, subprocess, sys, tempfile, time

program, shim = (os.path.abspath(path) for path in sys.argv[1:3])
root = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..")
sample = int(os.environ.get("TORTURE_CALLS", "320"))

# These lose something, or the promise that it will last, unless the run says so.
MUST_TELL = {"write", "fsync", "syncfs", "rename", "renameat", "renameat2", "create", "createat", "mkdir", "mkdirat", "mkdtemp", "fork", "socketpair"}
# When the failed call is the one that clears away, what it could not clear stays; that is told.
CLEARS = {"unlink", "unlinkat", "rmdir", "opendir"}
# In a batch a log that cannot be read is a unit not judged, and its papers say so.
NOT_JUDGED = {"open", "openat", "read", "malloc", "calloc", "realloc", "realpath", "opendir"}
MEMORY = ("malloc", "calloc", "realloc")
ENDS = {".json": b"}\n", ".pdf": b"%%EOF\n", ".csv": b"\n", ".txt": b"\n", ".sha256": b"\n"}


def files_under(folder):
    found = {}
    for at, folders, names in os.walk(folder):
        for name in names + [f for f in folders if f.startswith(".")]:
            path = os.path.join(at, name)
            found[os.path.relpath(path, folder)] = open(path, "rb").read() if os.path.isfile(path) else None
    return found


def agrees(folder, seal, left):
    """Every paper that a seal names is there, as sealed: fewer papers, as without gnuplot, have another seal."""
    rows = [line.split("  ", 1) for line in (seal or b"").decode().splitlines() if not line.startswith("#")]
    papers = [(sha256, left.get(os.path.join(folder, name))) for sha256, name in rows]
    return bool(rows) and all(paper is not None and hashlib.sha256(paper).hexdigest() == sha256 for sha256, paper in papers)


class Case:
    """A command line, run in a room of its own."""

    def __init__(self, name, bay, arguments):
        self.name, self.bay, self.arguments = name, bay, arguments
        self.batch = arguments[0] in ("certify", "label", "watch")
        room = self.enter()
        counts = os.path.join(room, "counts")
        self.status, self.error = self.run(room, {"TORTURE_COUNTS": counts})
        self.papers = files_under(os.path.join(room, "out"))
        self.counts = {line.split()[0]: int(line.split()[1]) for line in open(counts)}
        shutil.rmtree(room)

    def enter(self):
        room = tempfile.mkdtemp(prefix="torture-")
        shutil.copytree(os.path.join(root, self.bay), os.path.join(room, "bay"))
        os.mkdir(os.path.join(room, "tmp"))
        return room

    def run(self, room, extra):
        environment = dict(os.environ, TMPDIR=os.path.join(room, "tmp"), HOME=room, LD_PRELOAD=shim, **extra)
        done = subprocess.run([program] + self.arguments, cwd=room, env=environment, timeout=100,
                              stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        return done.returncode, done.stderr.decode(errors="replace")

    def whole(self, path, content, call, left):
        if path.endswith("papers.sha256"):
            return agrees(os.path.dirname(path), content, left)
        if self.batch and call in NOT_JUDGED:
            return content is not None and content.endswith(ENDS.get(os.path.splitext(path)[1], b""))
        return content == self.papers[path]

    @staticmethod
    def other_font(path, content, error):
        """A font that cannot be opened is told, and the page is drawn without it."""
        return "Pango-WARNING" in error and path.endswith(".pdf") and content.endswith(ENDS[".pdf"])

    def look(self, room, call, status, error):
        """What is wrong after a run in which a call failed."""
        if status < 0 or status > 2:
            return [f"it ended by signal or status {status}"]
        wrong = []
        left = files_under(os.path.join(room, "out"))
        for path, content in left.items():
            if path not in self.papers and call not in CLEARS and "cannot be removed" not in error:
                wrong.append(f"'{path}' was left behind")
            elif path in self.papers and not (self.whole(path, content, call, left) or self.other_font(path, content, error)):
                wrong.append(f"'{path}' is cut or changed")
        if os.listdir(os.path.join(room, "tmp")) and call not in CLEARS:
            wrong.append(f"left in the temporary folder: {os.listdir(os.path.join(room, 'tmp'))}")
        if status == 2 and not error.strip():
            wrong.append("it failed without a message")
        # A removal that failed may leave something beside the papers.
        kept = {path: content for path, content in left.items() if call not in CLEARS or path in self.papers}
        same = status == self.status and kept == self.papers
        if status != 2 and not same and "Pango-WARNING" not in error and not (self.batch and call in NOT_JUDGED and left.keys() <= self.papers.keys()):
            wrong.append(f"exit status {status}, but the papers are not whole")
        if status != 2 and call in MUST_TELL and not (call == "mkdir" and same):
            wrong.append("the failure was not told")
        return wrong

    def torture(self, call, at):
        room = self.enter()
        try:
            status, error = self.run(room, {"TORTURE": f"{call}:{at}"})
            wrong = self.look(room, call, status, error)
            if status >= 0 and (call in MUST_TELL or sample == 0):
                status, _ = self.run(room, {})
                if status != self.status or not set(self.papers.items()) <= set(files_under(os.path.join(room, "out")).items()):
                    wrong.append(f"the next run does not make it whole (exit status {status})")
            return [f"{self.name}: {call} {at}: {what}: {error.strip()[:200]}" for what in wrong]
        finally:
            shutil.rmtree(room)


class Watch(Case):
    """A watch that a log is brought to and that is then interrupted. Its memory is that of the other commands, and a run
    takes seconds: only its other calls are tried."""

    def __init__(self, name, bay, log):
        self.log = log
        super().__init__(name, bay, ["watch", "--bay", "bay", "--out", "out", "folder"])
        self.counts = {call: count for call, count in self.counts.items() if call not in MEMORY}

    def enter(self):
        room = super().enter()
        os.mkdir(os.path.join(room, "folder"))
        return room

    def run(self, room, extra):
        environment = dict(os.environ, TMPDIR=os.path.join(room, "tmp"), HOME=room, LD_PRELOAD=shim, **extra)
        error = os.path.join(room, "error")
        with open(error, "w") as to:
            child = subprocess.Popen([program] + self.arguments, cwd=room, env=environment, stdin=subprocess.DEVNULL,
                                     stdout=subprocess.DEVNULL, stderr=to)
        shutil.copy(os.path.join(room, "bay", self.log), os.path.join(room, "folder", "other.csv"))
        self.until(child, lambda: "watching" in open(error).read())
        shutil.copy(os.path.join(room, "bay", self.log), os.path.join(room, "folder", "log.csv"))
        self.until(child, lambda: "papers:" in open(error).read() or "log.csv" in open(error).read())
        time.sleep(0.2)
        child.send_signal(signal.SIGINT)
        child.wait(timeout=100)
        return child.returncode, open(error).read()

    @staticmethod
    def until(child, seen):
        end = time.monotonic() + 8
        while child.poll() is None and not seen() and time.monotonic() < end:
            time.sleep(0.05)


def main():
    cases = [
        Case("reduce", "samples/textbook",
             ["reduce", "--bay", "bay", "--out", "out", "bay/logs/fox-mcdonald-10-3.csv"]),
        Case("reduce two", "tests/cli/bays/tiny",
             ["reduce", "--bay", "bay", "--out", "out", "bay/logs/pass.csv", "bay/logs/fail.csv"]),
    ]
    if "certify" in subprocess.run([program, "--help"], capture_output=True, text=True).stdout:
        cases.append(Case("certify", "samples/dornapet-weir",
                          ["certify", "--jobs", "1", "--out", "out", "bay/units.csv"]))
    cases.append(Case("label", "samples/dornapet", ["label", "--bay", "bay", "--out", "out", "bay/logs/DN-1507.csv"]))
    cases.append(Case("inspect", "samples/dornapet", ["inspect", "--bay", "bay", "bay/logs/DN-1507.csv"]))
    cases.append(Case("tables", "samples/dornapet", ["tables", "grades"]))
    cases.append(Watch("watch", "samples/textbook", "logs/fox-mcdonald-10-3.csv"))
    trials = [(case, call, at) for case in cases for call, count in case.counts.items() for at in range(1, count + 1)]
    wanted = len(trials)
    # Files first: they are few, and what they lose is lost for good. A watch takes seconds: it comes after the others.
    random.Random(9906).shuffle(trials)
    trials.sort(key=lambda trial: (trial[1] in MEMORY, isinstance(trial[0], Watch)))
    trials = trials[:sample] if sample > 0 else trials
    with concurrent.futures.ThreadPoolExecutor(os.cpu_count() if sample == 0 else 1) as pool:
        wrong = [line for lines in pool.map(lambda trial: trial[0].torture(*trial[1:]), trials) for line in lines]
    print("\n".join(wrong), file=sys.stderr) if wrong else None
    print(f"torture: {len(trials)} of {wanted} calls of {', '.join(case.name for case in cases)} failed, each in a run of its own:"
          f" {len(wrong)} wrong")
    sys.exit(1 if wrong else 0)


main()
