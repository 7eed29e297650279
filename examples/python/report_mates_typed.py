"""Reports the mates of a rig with the client that `make-client` generates.

    export MATEWELL_URL=https://matewell.example:7373
    export MATEWELL_TOKEN=mw_...        # not needed where one person works alone
    .client/venv/bin/python report_mates_typed.py mates.csv [--dry-run]

Columns of the file: a, b, happened_at and, if any, wrench. It does what
`report_mates.py` does without a client: asks what would be written, says every
reason by its code, and posts the list once, all of it or nothing.

Exit codes: 0 written or ready, 1 the list would not be taken, 2 the server said no.
"""

import csv
import hashlib
import json
import os
import sys

from matewell_client import AuthenticatedClient, Client
from matewell_client.api.default import post_mates_bulk, post_mates_bulk_check
from matewell_client.models import BulkBody, BulkMate, Problem, RigCheckJson, WrittenJson
from matewell_client.types import UNSET


class Refused(Exception):
    """The server answered with problem details (RFC 9457)."""


def asked(response, expected):
    """The answer as its type; problem details of any status as an error."""
    if isinstance(response.parsed, expected):
        return response.parsed
    problem = response.parsed
    if not isinstance(problem, Problem):
        problem = Problem.from_dict(json.loads(response.content))
    raise Refused(f"refused ({problem.code}): {problem.detail}")


def read(path):
    with open(path, newline="", encoding="utf-8") as file:
        return [
            BulkMate(a=row["a"], b=row["b"], happened_at=row["happened_at"], wrench=row.get("wrench") or UNSET)
            for row in csv.DictReader(file)
        ]


def report(client, body, dry_run):
    check = asked(post_mates_bulk_check.sync_detailed(client=client, body=body), RigCheckJson)
    for mate in check.mates:
        print(f"{mate.number}: {mate.a} on {mate.b}: {mate.answer or 'cannot be written'}")
        for reason in mate.reasons:
            about = f" [{reason.end}]" if reason.end else ""
            print(f"    {reason.weight} {reason.code}{about}")
    if not check.ready:
        print("Nothing was posted: the list is taken whole or not at all.")
        return 1
    if dry_run:
        print("Ready. Nothing was posted.")
        return 0
    # The key is made from the content: sent again, it is written once.
    content = json.dumps(body.to_dict(), sort_keys=True).encode()
    key = "rig-" + hashlib.sha256(content).hexdigest()
    response = post_mates_bulk.sync_detailed(client=client, body=body, idempotency_key=key)
    written = asked(response, WrittenJson)
    print(f"Written: {len(written.facts)} facts.")
    for end in written.ends:
        print(f"    {end.end.tag} is now: {end.standing}")
    return 0


def main():
    url = os.environ.get("MATEWELL_URL", "http://127.0.0.1:7373")
    token = os.environ.get("MATEWELL_TOKEN")
    client = AuthenticatedClient(base_url=url, token=token) if token else Client(base_url=url)
    person = os.environ.get("MATEWELL_PERSON") or UNSET
    body = BulkBody(mates=read(sys.argv[1]), source="program", person=person)
    try:
        return report(client, body, "--dry-run" in sys.argv[2:])
    except Refused as refused:
        print(refused, file=sys.stderr)
        return 2


if __name__ == "__main__":
    sys.exit(main())
