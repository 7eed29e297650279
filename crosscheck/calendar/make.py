"""Writes texts.json: texts, each as the Python library icalendar writes it
in a property of type TEXT, unfolded. Run with icalendar 7.3.2 from PyPI."""

import json
from pathlib import Path

from icalendar import Event

TEXTS = [
    "plain",
    "comma, semicolon; backslash \\ colon: quote \" apostrophe '",
    "two\nlines",
    "three\n\nlines with an empty one",
    "\\n is not a line end; \\, is not a comma",
    "ends with a backslash\\",
    "x" * 300,
    "ü" * 200,
    "µm, Ω; ° and ✓ " * 20,
    "𝕏" * 80,
    "a" * 62 + "é" * 40,
    " leading and trailing ",
    "END:VEVENT\nBEGIN:VEVENT",
]

cases = []
for text in TEXTS:
    event = Event()
    event.add("description", text)
    raw = event.to_ical().decode()
    unfolded = raw.replace("\r\n ", "")
    line = next(line for line in unfolded.split("\r\n") if line.startswith("DESCRIPTION:"))
    cases.append((text, line.removeprefix("DESCRIPTION:")))
    assert str(Event.from_ical(raw)["description"]) == text
Path(__file__).with_name("texts.json").write_text(json.dumps(cases, ensure_ascii=False, indent=1) + "\n", encoding="utf-8")
