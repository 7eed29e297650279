#!/usr/bin/env python3
"""Reports the mates of a rig to Matewell. Standard library only.

    export MATEWELL_URL=http://127.0.0.1:7373
    export MATEWELL_TOKEN=mw_...        # not needed where one person works alone
    python3 report_mates.py mates.csv   # columns: a,b,happened_at and, if any, wrench

First asks what would be written and what a mate check says (nothing is written
then), prints every reason with its code, and posts the list only when all of it
would be taken. The key of the post is made from its content: run the script
again after a broken connection and nothing is written twice.

Exit codes: 0 written, 1 the list would not be taken, 2 the server said no.
"""

import csv
import hashlib
import json
import os
import sys
import time
import urllib.error
import urllib.request

URL = os.environ.get("MATEWELL_URL", "http://127.0.0.1:7373").rstrip("/")
TOKEN = os.environ.get("MATEWELL_TOKEN", "")
NAME = os.environ.get("MATEWELL_PERSON", "")


class Refused(Exception):
    """The server answered with problem details (RFC 9457)."""

    def __init__(self, problem):
        super().__init__(problem.get("detail", problem))
        self.problem = problem


def post(path, body, key=None, tries=5):
    """Posts JSON. Tries again when the server is silent or busy: with the same
    key the same request is written once and answered the same."""
    request = urllib.request.Request(URL + path, data=body, method="POST")
    request.add_header("Content-Type", "application/json")
    if TOKEN:
        request.add_header("Authorization", "Bearer " + TOKEN)
    if key:
        request.add_header("Idempotency-Key", key)
    for attempt in range(tries):
        try:
            with urllib.request.urlopen(request, timeout=30) as answer:
                return json.load(answer)
        except urllib.error.HTTPError as error:
            if error.code in (408, 429) or error.code >= 500:
                wait = float(error.headers.get("Retry-After") or 2**attempt)
            else:
                raise Refused(json.load(error)) from None
        except (urllib.error.URLError, TimeoutError):
            wait = 2**attempt
        if attempt + 1 < tries:
            time.sleep(wait)
    raise SystemExit(f"no answer from {URL} after {tries} tries; nothing is lost, run it again")


def read(path):
    with open(path, newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        if not row.get("wrench"):
            row.pop("wrench", None)
    return rows


def main():
    mates = read(sys.argv[1])
    body = {"mates": mates, "source": "program"}
    if NAME:
        body["person"] = NAME
    body = json.dumps(body, sort_keys=True).encode()
    try:
        check = post("/api/v1/mates/bulk/check", body)
        for mate in check["mates"]:
            answer = mate["answer"] or "cannot be written"
            print(f"{mate['number']}: {mate['a']} on {mate['b']}: {answer}")
            for reason in mate["reasons"]:
                print(f"    {reason['weight']} {reason['code']}: {reason['text']}")
        if not check["ready"]:
            print("Nothing was posted: the list is taken whole or not at all.")
            return 1
        written = post("/api/v1/mates/bulk", body, key="rig-" + hashlib.sha256(body).hexdigest())
    except Refused as refused:
        print(f"refused ({refused.problem.get('code')}): {refused}", file=sys.stderr)
        return 2
    print(f"Written: {len(written['facts'])} facts.")
    for end in written["ends"]:
        print(f"    {end['end']['tag']} is now: {end['standing']}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
