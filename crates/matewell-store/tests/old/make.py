"""Cuts stored old files from labs that programs of earlier levels wrote.

Run on 2026-11-27 as

    make.py 1=lab1.db 2=lab2.db 3=lab3.db 4=lab4.db 6=moved6.db 7=moved7.db 8=lab8.db 8b=moved8.db
    make.py 10=lab10.db

It makes the files it is given and leaves the others alone. Each file was
written by the program of that level, for tests of the page (the invented demo
lab) and of the store (two machines, a mapping, an answered key).
What follows after the first facts is cut off, so that the files are small: the
rest is as the old program laid it. No file of level 5 was found, which was the
newest for eight minutes; the test applies the text of migration 5 to the file
of level 4. PostgreSQL came with level 6: the dumps (pg_dump) are of databases
laid by the migrations of levels 6, 8 and 10, with the rows of the files.

`levels.tsv` has number and hash of the last fact of each.
"""

import gzip
import hashlib
import pathlib
import shutil
import sqlite3
import subprocess
import sys
import tempfile

# Facts kept of each; all of the small ones.
KEEP = {"1": 180, "2": 136, "3": 136, "4": 180, "6": 99, "7": 99, "8": 180, "8b": 99, "10": 180}
DUMPED = ("6", "8b", "10")
HERE = pathlib.Path(__file__).parent
MIGRATIONS = HERE / "../../migrations"
BY_SEQ = ["fact_end", "fact_item", "fact_about", "end_mark", "item_mark", "fact"]
REGISTERED = ["connector_end", "item"]


def migration(level, folder=MIGRATIONS):
    return next(folder.glob(f"{level:04}_*.sql")).read_text()


def level_of(name):
    return int(name.rstrip("b"))


def cut(path, keep):
    raw = sqlite3.connect(path, isolation_level=None)
    raw.execute("PRAGMA foreign_keys = OFF")
    raw.execute("PRAGMA journal_mode = DELETE")
    triggers = raw.execute("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'").fetchall()
    tables = [t for (t,) in raw.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")]
    raw.execute("BEGIN")
    for name, _ in triggers:
        raw.execute(f"DROP TRIGGER {name}")
    if raw.execute("SELECT count(*) FROM fact").fetchone()[0] > keep:
        for table in [t for t in BY_SEQ if t in tables]:
            raw.execute(f"DELETE FROM {table} WHERE seq > {keep}")
        for table in REGISTERED:
            raw.execute(f"DELETE FROM {table} WHERE registered_seq > {keep}")
        for table in [t for t in ("kept_file", "webhook") if t in tables]:
            raw.execute(f"DELETE FROM {table}")
    for _, sql in triggers:
        raw.execute(sql)
    raw.execute("COMMIT")
    raw.execute("VACUUM")
    assert raw.execute("PRAGMA foreign_key_check").fetchall() == []
    raw.close()


def pack(text, name):
    with open(HERE / name, "wb") as out, gzip.GzipFile("", "wb", 9, out, 0) as packed:
        packed.write(text)


def cell(value):
    if value is None:
        return r"\N"
    if isinstance(value, bytes):
        return r"\\x" + value.hex()
    return str(value).replace("\\", "\\\\").replace("\t", "\\t").replace("\n", "\\n").replace("\r", "\\r")


def as_dump(path, level, folder):
    """The rows of a file in a database laid by the migrations of its level."""
    programs = sorted(pathlib.Path("/usr/lib/postgresql").glob("*/bin"))[-1]
    data = folder / f"pg{level}"
    owner = ["runuser", "-u", "postgres", "--"]
    shutil.chown(folder, "postgres")

    def run(program, *words, **more):
        words = [*owner, programs / program, *words]
        # As bytes: a note may hold a carriage return.
        return subprocess.run(words, check=True, cwd="/", capture_output=True, **more).stdout

    run("initdb", "-D", data, "-A", "trust", "-U", "postgres", "-E", "UTF8", "--locale=C")
    settings = f"-c listen_addresses='' -c unix_socket_directories={folder}"
    subprocess.run([*owner, programs / "pg_ctl", "-w", "-s", "-D", data, "-o", settings, "-l", folder / "log", "start"], check=True, cwd="/", stdout=subprocess.DEVNULL)
    try:
        raw = sqlite3.connect(path)
        laid = """CREATE TABLE schema_version (version BIGINT PRIMARY KEY CHECK (version BETWEEN 1 AND 9999),
            sha256 BYTEA NOT NULL CHECK (octet_length(sha256) = 32));\n"""
        for number in range(1, level + 1):
            text = migration(number, MIGRATIONS / "postgres")
            laid += text + f"\nINSERT INTO schema_version VALUES ({number}, '\\x{hashlib.sha256(text.encode()).hexdigest()}');\n"
        tables = ["machine", "fact", "item", "connector_end", "fact_end", "fact_item", "fact_about", "end_mark", "item_mark", "saved_mapping", "write_key"]
        for table in tables:
            columns = [row[1] for row in raw.execute(f"PRAGMA table_info({table})")]
            rows = raw.execute(f"SELECT {', '.join(columns)} FROM {table}").fetchall()
            lines = "".join("\t".join(map(cell, row)) + "\n" for row in rows)
            laid += f"COPY {table} ({', '.join(columns)}) FROM stdin;\n{lines}\\.\n"
            if "no" in columns:
                laid += f"SELECT setval(pg_get_serial_sequence('{table}', 'no'), max(no)) FROM {table};\n"
        laid += "INSERT INTO fact_place SELECT id, machine_no, machine_seq, seq FROM fact ORDER BY seq;\n"
        run("psql", "-h", folder, "-U", "postgres", "-v", "ON_ERROR_STOP=1", "-q", "postgres", input=laid.encode())
        dump = run("pg_dump", "-h", folder, "-U", "postgres", "--inserts", "--no-owner", "--no-privileges", "postgres")
        # What only psql and newer servers understand.
        left_out = (b"\\restrict", b"\\unrestrict", b"SET transaction_timeout")
        return b"\n".join(line for line in dump.split(b"\n") if not line.startswith(left_out))
    finally:
        run("pg_ctl", "-m", "immediate", "-D", data, "stop")


def main():
    given = dict(word.split("=") for word in sys.argv[1:])
    with tempfile.TemporaryDirectory(dir="/tmp") as folder:
        folder = pathlib.Path(folder)
        rows = []
        for name in given:
            keep = KEEP[name]
            path = folder / f"level_{name}.db"
            shutil.copy(given[name], path)
            beside = pathlib.Path(given[name] + "-wal")
            if beside.exists():
                shutil.copy(beside, str(path) + "-wal")
            cut(path, keep)
            raw = sqlite3.connect(path)
            level = raw.execute("SELECT max(version) FROM schema_version").fetchone()[0]
            assert level == level_of(name), (name, level)
            seq, head = raw.execute("SELECT seq, hash FROM fact ORDER BY seq DESC LIMIT 1").fetchone()
            rows.append(f"{name}\t{seq}\t{head.hex()}\n")
            raw.close()
            pack(path.read_bytes(), f"level_{name}.db.gz")
            if name in DUMPED:
                pack(as_dump(path, level, folder), f"level_{name}.sql.gz")
        with open(HERE / "levels.tsv", "a") as levels:
            levels.write("".join(rows))


main()
