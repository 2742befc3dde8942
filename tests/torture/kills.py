"""kills.py DUTYPROOF [SHIM] - kills reduce and certify at random moments while a table changes between, and runs eight at once.

Whatever happens, in every folder of papers - in front and in earlier/ - result.json, sheet.txt and the digests agree, and no
judgement that ever stood in front is lost. Every other trial runs on a file system that does not exchange names (shim).
TORTURE_KILLS: how many kills (40; 10000 for a long run). TORTURE_SEED: which moments and orders."""
import glob, hashlib, json, os, random, re, shutil, signal, subprocess, sys, tempfile, time

program = os.path.abspath(sys.argv[1])
shim = os.path.abspath(sys.argv[2]) if len(sys.argv) > 2 else None
root = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..")
kills = int(os.environ.get("TORTURE_KILLS", "40"))
seed = int(os.environ.get("TORTURE_SEED", "7"))
chance = random.Random(seed)
DRAW_EVERY = 10  # trials with gnuplot: it takes ten times as long
AT_ONCE, AT_ONCE_SECONDS = 8, 3 if kills <= 100 else 60
WORDS = {"PASS": "pass", "FAIL": "fail", "NOT JUDGED": "not judged"}


def digest(path):
    with open(path, "rb") as file:
        return hashlib.sha256(file.read()).hexdigest()


def wrong_in(folder):
    """What does not agree in one folder of papers; None when all does."""
    try:
        result = json.load(open(os.path.join(folder, "result.json")))
        sheet = open(os.path.join(folder, "sheet.txt")).read()
        sealed = dict(reversed(line.split("  ", 1)) for line in open(os.path.join(folder, "papers.sha256")).read().splitlines()
                      if not line.startswith("#"))
    except (OSError, ValueError) as error:
        return f"{folder}: {error}"
    word = re.match(r"(PASS|FAIL|NOT JUDGED)", sheet)
    if word is None or WORDS[word[1]] != result["verdict"]:
        return f"{folder}: sheet.txt says {sheet[:12]!r}, result.json {result['verdict']!r}"
    for name, sha256 in sealed.items():
        if not os.path.isfile(os.path.join(folder, name)) or digest(os.path.join(folder, name)) != sha256:
            return f"{folder}: {name} is not as sealed"
    extra = {name for name in os.listdir(folder) if name not in ("earlier", "papers.sha256")} - sealed.keys()
    return f"{folder}: {sorted(extra)} are not sealed" if extra else None


class Room:
    def __init__(self):
        self.at = tempfile.mkdtemp(prefix="kills-")
        self.bay, self.out = os.path.join(self.at, "bay"), os.path.join(self.at, "out")
        shutil.copytree(os.path.join(root, "tests/cli/bays/tiny"), self.bay)
        with open(os.path.join(self.bay, "units.csv"), "w") as units:
            units.write("serial,log,tested\nT-1,logs/pass.csv,2024-05-14\nT-1,logs/retest.csv,2024-05-15\nT-2,logs/fail.csv,2024-05-14\n")
        self.models = open(os.path.join(self.bay, "models.csv")).read()
        self.stood = set()  # digests of result.json that were seen in front

    def change_table(self):
        """The guarantee of head moves up or down, so that a verdict turns."""
        factor = chance.choice([0.6, 1.0, 1.0, 1.5])
        rows = self.models.splitlines()
        heading = [cell.split(" [")[0].strip() for cell in rows[0].split(",")]
        at = heading.index("guaranteed head")
        cells = rows[1].split(",")
        cells[at] = f"{float(cells[at]) * factor:g}"
        with open(os.path.join(self.bay, "models.csv"), "w") as file:
            file.write("\n".join([rows[0], ",".join(cells)] + rows[2:]) + "\n")

    def command(self, draw, exchange):
        logs = [os.path.join(self.bay, "logs", name) for name in ("pass.csv", "retest.csv", "fail.csv")]
        chance.shuffle(logs)
        arguments = (["certify", "--quiet", "--jobs", "2", "--out", self.out, os.path.join(self.bay, "units.csv")]
                     if draw and chance.random() < 0.7 else
                     ["reduce", "--quiet", "--out", self.out] + logs[:chance.choice([1, 2, 3])])
        environment = dict(os.environ, HOME=self.at)
        if not draw:
            environment["DUTYPROOF_GNUPLOT"] = "/bin/false"
        if not exchange and shim:
            environment.update(LD_PRELOAD=shim, TORTURE_NO_EXCHANGE="1")
        return subprocess.Popen([program] + arguments, env=environment, stdin=subprocess.DEVNULL, start_new_session=True,
                                stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)

    def look(self):
        wrong = []
        for unit in ("T-1", "T-2"):
            front = os.path.join(self.out, unit)
            kept = glob.glob(os.path.join(front, "earlier", "*"))
            for folder in ([front] if os.path.exists(front) else []) + kept:
                problem = wrong_in(folder)
                wrong += [problem] if problem else []
            if os.path.exists(os.path.join(front, "result.json")):
                self.stood.add(digest(os.path.join(front, "result.json")))
        return wrong

    def lost(self):
        there = {digest(path) for path in glob.glob(os.path.join(self.out, "T-*", "result.json")) +
                 glob.glob(os.path.join(self.out, "T-*", "earlier", "*", "result.json"))}
        return len(self.stood - there)

    def finish(self):
        """The next run ends what was cut off, and nothing else is left."""
        self.command(False, True).wait(timeout=100)
        left = [name for name in os.listdir(self.out) if name.startswith(".")]
        return [f"left behind: {left}"] if left else []


def took(room, draw):
    began = time.monotonic()
    room.command(draw, True).wait(timeout=100)
    return time.monotonic() - began


def kill_at_random(room):
    wrong, cut = [], 0
    longest = {draw: max(took(room, draw) for _ in range(3)) for draw in (False, True)}
    for trial in range(kills):
        draw, exchange = trial % DRAW_EVERY == 0, trial % 2 == 0
        room.change_table()
        child = room.command(draw, exchange)
        time.sleep(chance.random() * 1.1 * longest[draw])
        cut += child.poll() is None
        try:
            os.killpg(child.pid, signal.SIGKILL)
        except ProcessLookupError:
            pass
        child.wait()
        wrong += [f"kill {trial}: {problem}" for problem in room.look()]
    wrong += room.finish() + room.look()
    print(f"torture: {cut} of {kills} runs killed in their midst, tables changing between (seed {seed}): {len(wrong)} mixed or left, "
          f"{len(room.stood)} judgements stood in front, {room.lost()} lost")
    return wrong + ([f"{room.lost()} judgements are lost"] if room.lost() else [])


def run_at_once(room):
    wrong, runs, bad = [], 0, 0
    end, running = time.monotonic() + AT_ONCE_SECONDS, []
    while time.monotonic() < end or running:
        running = [child for child in running if child.poll() is None or (bad := bad + (child.returncode not in (1, 2))) < 0]
        while len(running) < AT_ONCE and time.monotonic() < end:
            running.append(room.command(False, runs % 2 == 0))
            runs += 1
        time.sleep(0.002)
        front = os.path.join(room.out, "T-1", "result.json")
        try:
            room.stood.add(digest(front))
        except OSError:
            pass
    wrong += room.finish() + room.look()
    wrong += [f"{bad} runs ended by a signal"] if bad else []
    print(f"torture: {runs} runs on the same serials, {AT_ONCE} at once: {len(wrong)} mixed or left, {room.lost()} lost")
    return wrong + ([f"{room.lost()} judgements are lost"] if room.lost() else [])


def main():
    wrong = []
    for part in (kill_at_random, run_at_once):
        room = Room()
        wrong += part(room)
        shutil.rmtree(room.at)
    print("\n".join(wrong[:20]), file=sys.stderr) if wrong else None
    sys.exit(1 if wrong else 0)


main()
