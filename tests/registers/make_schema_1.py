"""make_schema_1.py FILE - a register of schema 1, as its tables were and as src/register/rows.h says that rows are chained, made
without the program: schema-1.db, from which the tests are brought up to date, came out of this."""
import hashlib, os, sqlite3, sys, zlib

path = sys.argv[1]
if os.path.exists(path):
    os.remove(path)
db = sqlite3.connect(path)
db.executescript("""
PRAGMA page_size = 1024;
PRAGMA application_id = 0x44507267;
PRAGMA user_version = 1;
CREATE TABLE judgement (
  id INTEGER PRIMARY KEY, at TEXT NOT NULL, who TEXT, serial TEXT COLLATE NOCASE, model TEXT COLLATE NOCASE,
  ordered TEXT COLLATE NOCASE, tested TEXT, log TEXT, log_sha256 TEXT, tables TEXT, program TEXT, libraries TEXT,
  verdict TEXT, figures TEXT, result_sha256 TEXT, revision INTEGER NOT NULL, changes TEXT, previous TEXT,
  digest TEXT NOT NULL) STRICT;
CREATE TABLE papers (
  id INTEGER PRIMARY KEY, judgement INTEGER NOT NULL, at TEXT NOT NULL, folder TEXT, files TEXT, previous TEXT,
  digest TEXT NOT NULL) STRICT;
CREATE TABLE content (sha256 TEXT PRIMARY KEY, size INTEGER NOT NULL, deflated BLOB NOT NULL) STRICT;
CREATE TABLE head (chain TEXT PRIMARY KEY, rows INTEGER NOT NULL, digest TEXT) STRICT;
CREATE INDEX judgement_serial ON judgement (serial);
CREATE INDEX judgement_ordered ON judgement (ordered, tested);
CREATE INDEX judgement_model ON judgement (model, tested);
CREATE INDEX judgement_tested ON judgement (tested);
CREATE INDEX judgement_log ON judgement (log_sha256);
CREATE INDEX papers_judgement ON papers (judgement);
""")

def sha256(data):
    return hashlib.sha256(data).hexdigest()

def keep(data):
    db.execute("INSERT OR IGNORE INTO content VALUES (?, ?, ?)", (sha256(data), len(data), zlib.compress(data)))
    return sha256(data)

def add(table, row, previous):
    row["previous"] = previous
    said = "".join(f"{name}={len(str(value).encode())}:{value}," for name, value in row.items() if value not in (None, ""))
    row["digest"] = sha256(said.encode())
    db.execute(f"INSERT INTO {table} ({', '.join(row)}) VALUES ({', '.join('?' * len(row))})", list(row.values()))
    return row["digest"]

models = keep("model;head\nKV-6;40,0\n".encode())
head = heads = None
for i, (serial, verdict, order) in enumerate([("OLD-1", "pass", "A-77"), ("OLD-2", "fail", None), ("ÖLD 3", "not judged", "A-78")], 1):
    result = keep(f'{{"serial": "{serial}"}}\n'.encode())
    row = {"id": i, "at": f"2024-03-0{i}T08:00:00Z", "who": "tester@bench", "serial": serial, "model": "KV-6", "ordered": order,
           "tested": f"2024-03-0{i}", "log": f"logs/{i}.csv", "log_sha256": sha256(b"log %d" % i),
           "tables": f"- {models} models.csv\n", "program": "0.1.0", "libraries": "gsl 2.7", "verdict": verdict,
           "figures": '{"margin": 0.5}', "result_sha256": result, "revision": 1, "changes": None}
    head = add("judgement", row, head)
    heads = add("papers", {"id": i, "judgement": i, "at": row["at"], "folder": f"reports/{i}", "files": f"{result}  result.json\n"}, heads)
db.execute("INSERT INTO head VALUES ('judgement', 3, ?), ('papers', 3, ?)", (head, heads))
db.commit()
db.execute("VACUUM")
db.close()
