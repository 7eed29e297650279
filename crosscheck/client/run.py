"""Runs the example with the generated client against a real server.

    cargo build --bin matewell
    python3 crosscheck/client/run.py target/debug/matewell > crosscheck/client/result.txt

Needs the network for PyPI. What it says is stored beside it; every step that is
not as expected stops it.
"""

import hashlib
import os
import pathlib
import subprocess
import sys
import tempfile

ROOT = pathlib.Path(__file__).parents[2]
PROGRAM = pathlib.Path(sys.argv[1]).resolve()
PASSWORD = "green cable, left drawer\n"


def expect(what, found, expected):
    print(f"{'as expected' if found == expected else 'NOT AS EXPECTED'}: {what}: {found}")
    if found != expected:
        raise SystemExit(1)


def main():
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        subprocess.run([ROOT / "examples/python/make-client", folder / "client"], check=True, stdout=subprocess.DEVNULL)
        python = folder / "client/venv/bin/python"
        lab = [PROGRAM, "--data", folder / "lab.db"]

        def run(*words, given=None):
            done = subprocess.run([*lab, *words], check=True, capture_output=True, text=True, input=given)
            return done.stdout

        def facts():
            return len(run("export").splitlines())

        run("demo")
        run("person", "add", "Mara Lind", "--role", "administrator", "--password-stdin", given=PASSWORD)
        run("person", "add", "rig-1", "--role", "technician")
        made = run("person", "token", "rig-1", "--label", "x", "--scope", "work", "--scope", "read", "--days", "1")
        token = made.split("Bearer ")[1].split()[0]
        server = subprocess.Popen([*lab, "serve", "--port", "0"], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
        try:
            url = server.stdout.readline().split()[-1].rstrip("/")

            def report(rows, *words, token=token):
                (folder / "mates.csv").write_text("a,b,happened_at,wrench\n" + rows)
                environment = {**os.environ, "MATEWELL_URL": url, "MATEWELL_TOKEN": token}
                example = [python, ROOT / "examples/python/report_mates_typed.py", folder / "mates.csv", *words]
                done = subprocess.run(example, capture_output=True, text=True, env=environment)
                for line in (done.stdout + done.stderr).splitlines():
                    print("    " + line)
                return done.returncode, done.stdout + done.stderr

            before = facts()
            rows = "CB-014B,IN-003P1,2026-11-20T08:00:00Z,\nCB-014B,IN-003P1,2026-11-20T09:00:00Z,TW-003\n"
            code, _ = report(rows, "--dry-run")
            expect("exit code of a dry run, facts it wrote", (code, facts() - before), (0, 0))
            for time in ("first", "second"):
                code, text = report(rows)
                expect(f"exit code of the {time} post, facts on record for it", (code, facts() - before), (0, 2))
                expect("the answer tells the ends", "CB-014B is now: " in text, True)
            code, text = report("CB-031A,AD-008A,2026-11-20T08:00:00Z,\nCB-014B,NOPE,2026-11-20T08:00:00Z,\n")
            expect("exit code of a list with an unknown label", code, 1)
            expect("reasons by their codes", ("problem unknown-tag" in text, "forbids " in text), (True, True))
            code, text = report(rows, token="mw_nobody")
            expect("exit code and code of a token that lets nobody in", (code, "(sign-in)" in text), (2, True))
            expect("facts written in all", facts() - before, 2)
        finally:
            server.kill()
            server.wait()
    document = (ROOT / "docs/reference/openapi.json").read_bytes()
    print(f"OpenAPI document with the SHA-256 {hashlib.sha256(document).hexdigest()}")


main()
