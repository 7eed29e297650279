#!/usr/bin/env python3
"""Puts hostile values into every field of every route of a running Matewell.

    hostile.py http://127.0.0.1:7373 [TOKEN]

The lab should be the demo lab on a copy that may be thrown away. Each route of
the description is asked with a base that fits (labels that are on record), then
with each hostile value in the place of each parameter and each field of the
body, one at a time. Nothing may answer 500 or above, or not at all. Standard
library only. Prints counts by status; exit code 1 on a failure.
"""

import collections
import http.client
import json
import sys
import urllib.parse

HOSTILE = [
    "", " ", "\t\r\n", "\x00", "a\x00b", "'", "' OR '1'='1", "'; DROP TABLE fact; --", "\"; DELETE FROM fact; --",
    "1); ATTACH DATABASE '/tmp/x.db' AS x; --", "%", "_", "\\", "../../etc/passwd", "..\\..\\x", "%2e%2e%2f", "/etc/passwd",
    "file:///etc/passwd", "http://169.254.169.254/", "=1+1", "=cmd|' /C calc'!A0", "+1", "-1", "@SUM(1)", "<script>alert(1)</script>",
    "${jndi:ldap://x}", "{{7*7}}", "%s%n%x", "\u202e", "\u200b", "\ufeff", "\ud7ff", "\U0010ffff", "e\u0301" * 50, "𝕏" * 300, "ẞß",
    "İi", "x" * 100_000, "1e309", "1e-400", "-1e308", "NaN", "Infinity", "-Infinity", "9" * 400, "0", "-0", "0x10", "1_000",
    "9223372036854775808", "-9223372036854775809", "18446744073709551616", "1e308um", "-1um", "1e400GHz", "0GHz", "NaNum", "1 um", "１２um",
    "9999-12-31T23:59:59.999999Z", "10000-01-01T00:00:00Z", "-009999-01-01T00:00:00Z", "0000-00-00T00:00:00Z", "2026-02-30",
    "1970-01-01T00:00:00Z", "-000001-01-01T00:00:00Z", "2026-13-01", "2026-11-25T25:00:00Z", "2026-11-25T08:00:00+99:99",
    "0001-01-01T00:00:00Z", "2026-11-25T08:00:60Z", "true", "null", "[]", "{}", "00000000-0000-0000-0000-000000000000",
    "ffffffff-ffff-ffff-ffff-ffffffffffff",
]
OTHER = [None, True, False, 0, -1, 1, 0.1, 1e308, -1e308, 2**31, 2**53, 2**63, 2**64, -(2**63) - 1, [], {}, [None], [[[]]],
         ["x"] * 2000, {"a": {"b": {}}}, {"": ""}]
BASE = {
    "tag": "CB-014A", "a": "CB-014B", "b": "IN-003P1", "end": "CB-014A", "ends": "CB-014A,CB-014B", "tool": "GA-002", "wrench": "TW-003",
    "at": "18GHz", "as_of": "2026-11-25T09:00:00Z", "person": "technician-1", "because": "looks odd", "interface": "3.5mm",
    "happened_at": "2026-11-20T08:00:00Z", "since": "2026-10-01", "until": "2026-11-20", "outcome": "good", "place": "drawer 3",
    "gauge": "GA-001", "master": "GM-001", "name": "Mara Lind", "act": "gauge", "days": 30, "scope": ["read"], "roles": ["reader"],
    "label": "rack", "url": "http://127.0.0.1:9/", "kind": "cable", "sex": "pin", "frequency": "18GHz", "gap": "60um", "offset": "20um",
    "by": "8um", "too": "recessed", "word": "recessed", "distance": "12um", "length": "100mm", "certificate": "C-1",
    "temperature": "23degC", "pressure": "1013hPa", "humidity": "40%",
}


class Lab:
    def __init__(self, url, token):
        self.host = urllib.parse.urlsplit(url).netloc
        self.headers = {"Authorization": "Bearer " + token} if token else {}
        self.connection = http.client.HTTPConnection(self.host, timeout=120)
        self.statuses = collections.Counter()
        self.failures = []

    def ask(self, method, path, query, body, kind="application/json"):
        target = path + ("?" + urllib.parse.urlencode(query) if query else "")
        if len(target) > 60_000:
            target = target[:60_000]
        headers = dict(self.headers)
        if body is not None:
            headers["Content-Type"] = kind
        for again in (True, False):
            try:
                self.connection.request(method, target, body, headers)
                answer = self.connection.getresponse()
                text = answer.read()
                break
            except (http.client.HTTPException, OSError, UnicodeError) as error:
                self.connection.close()
                if not again:
                    self.failures.append((method, target[:300], str(body)[:300], repr(error)))
                    return None
        self.statuses[answer.status] += 1
        if answer.status >= 500:
            self.failures.append((method, target[:300], str(body)[:300], text[:300]))
        elif answer.status >= 400 and b'"detail"' not in text and answer.status not in (404, 414, 431):
            self.failures.append((method, target[:300], str(body)[:300], "no problem details: %r" % text[:200]))
        return answer.status


def resolve(document, schema):
    while "$ref" in schema:
        schema = document["components"]["schemas"][schema["$ref"].rsplit("/", 1)[1]]
    return schema


def example(document, schema, name="", depth=0):
    schema = resolve(document, schema)
    if name in BASE and "properties" not in schema and schema.get("type") not in ("array", "object"):
        return BASE[name]
    if depth > 6:
        return None
    if "allOf" in schema:
        merged = {}
        for part in schema["allOf"]:
            value = example(document, part, name, depth + 1)
            if isinstance(value, dict):
                merged.update(value)
        return merged
    for several in ("oneOf", "anyOf"):
        if several in schema:
            parts = [p for p in schema[several] if p.get("type") != "null"]
            return example(document, parts[0], name, depth + 1) if parts else None
    kind = schema.get("type")
    kind = next((k for k in kind if k != "null"), None) if isinstance(kind, list) else kind
    if "properties" in schema or kind == "object":
        needed = schema.get("required", [])
        return {k: example(document, v, k, depth + 1) for k, v in schema.get("properties", {}).items() if k in needed or k in BASE}
    if kind == "array":
        return BASE[name] if isinstance(BASE.get(name), list) else [example(document, schema.get("items", {}), name.rstrip("s"), depth + 1)]
    return {"integer": 1, "number": 1.0, "boolean": False}.get(kind, schema.get("enum", ["x"])[0])


def places(value, path=()):
    """Every place of a body, by the way to it."""
    yield path
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from places(inner, path + (key,))
    elif isinstance(value, list):
        for at, inner in enumerate(value[:1]):
            yield from places(inner, path + (at,))


def put(value, path, what):
    if not path:
        return what
    copy = dict(value) if isinstance(value, dict) else list(value)
    copy[path[0]] = put(copy[path[0]], path[1:], what)
    return copy


def raw(value):
    try:
        return json.dumps(value, ensure_ascii=False).encode()
    except UnicodeEncodeError:
        return json.dumps(value).encode()


def main():
    lab = Lab(sys.argv[1], sys.argv[2] if len(sys.argv) > 2 else "")
    lab.connection.request("GET", "/api/v1/openapi.json")
    document = json.load(lab.connection.getresponse())
    routes = told = 0
    # Cases that are open make every later write slower: they come last.
    for path, item in sorted(document["paths"].items(), key=lambda one: one[0].startswith("/api/v1/cases")):
        for failure in lab.failures[told:]:
            print("FAILS", *failure, flush=True)
        told = len(lab.failures)
        print(sum(lab.statuses.values()), len(lab.failures), path, file=sys.stderr, flush=True)
        if path.endswith("/events") or path.startswith("/api/v1/session"):
            continue
        for method, operation in item.items():
            routes += 1
            parameters = operation.get("parameters", [])
            query = {p["name"]: BASE[p["name"]] for p in parameters if p["in"] == "query" and p["name"] in BASE}
            inside = {p["name"]: BASE.get(p["name"], "CB-014A") for p in parameters if p["in"] == "path"}
            content = operation.get("requestBody", {}).get("content", {})
            kind = next(iter(content), None)
            body = example(document, content[kind]["schema"]) if kind == "application/json" else None
            send = raw(body) if kind == "application/json" else (b"x" if kind else None)

            def fill(inside):
                filled = path
                for name, value in inside.items():
                    filled = filled.replace("{%s}" % name, urllib.parse.quote(str(value), safe="", errors="surrogatepass"))
                return filled

            verb = method.upper()
            lab.ask(verb, fill(inside), query, send, kind or "")
            for bad in HOSTILE:
                for name in inside:
                    lab.ask(verb, fill({**inside, name: bad[:5000]}), query, send, kind or "")
                for name in [p["name"] for p in parameters if p["in"] == "query"]:
                    lab.ask(verb, fill(inside), {**query, name: bad[:10_000]}, send, kind or "")
            if kind == "application/json":
                for place in places(body):
                    for bad in HOSTILE + OTHER:
                        lab.ask(verb, fill(inside), query, raw(put(body, place, bad)), kind)
                for text in (b"", b"{", b"\xff\xfe", b"[" * 100_000, b'{"a":' * 50_000, b"null", b'{"person":"a","person":"b"}', b"1" * 100_000):
                    lab.ask(verb, fill(inside), query, text, kind)
            elif kind:
                for bad in HOSTILE:
                    lab.ask(verb, fill(inside), query, bad.encode("utf-8", "surrogatepass") or b"\0", kind)
                for text in (b"", b"\xff" * 5000, b"PK\x03\x04" + b"\0" * 500, b"\x89PNG\r\n\x1a\n" + b"\0" * 64, b"# GHz S RI R 50\n1e999 NaN inf\n"):
                    lab.ask(verb, fill(inside), query, text, kind)
    total = sum(lab.statuses.values())
    print(f"{routes} routes, {total} requests:", ", ".join(f"{s}: {n}" for s, n in sorted(lab.statuses.items())))
    for failure in lab.failures[told:]:
        print("FAILS", *failure)
    print(len(lab.failures), "failures")
    return 1 if lab.failures else 0


if __name__ == "__main__":
    sys.exit(main())
