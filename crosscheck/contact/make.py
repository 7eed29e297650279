"""Reachability on the time-expanded graph, by networkx.

Node (end, k): the end just before event k. Edges: waiting, unless event k
clears the end; touching, both ways. What is reachable from the node at which
the source went bad is what the source exposed.

Writes cases.json. Run: python3 make.py
"""
import json
import random
import sys

import networkx as nx

SEED = 20260731


def case(rng, ends, length):
    """Times may repeat; the order of the list is the order of the sequence."""
    events, at = [], 0
    for _ in range(length):
        at += rng.choice([0, 1, 1, 3])
        if rng.random() < 0.25:
            events.append([at, "clear", rng.randrange(ends)])
        else:
            a, b = rng.sample(range(ends), 2)
            events.append([at, a, b])
    return events


def graph(ends, events):
    g = nx.DiGraph()
    for k, event in enumerate(events):
        cleared = event[2] if event[1] == "clear" else None
        for end in range(ends):
            if end != cleared:
                g.add_edge((end, k), (end, k + 1), touch=0)
        if cleared is None:
            _, a, b = event
            g.add_edge((a, k), (b, k + 1), touch=1)
            g.add_edge((b, k), (a, k + 1), touch=1)
    return g


def first_at(events, moment):
    """The first event at or after the moment."""
    return next((k for k, event in enumerate(events) if event[0] >= moment), len(events))


def forward(ends, events, source, since):
    g = graph(ends, events)
    start = (source, first_at(events, since))
    g.add_node(start)
    hops = nx.single_source_dijkstra_path_length(g, start, weight="touch")
    found = []
    for end in range(ends):
        steps = sorted(k for (e, k) in hops if e == end)
        if not steps:
            continue
        arrived = since if end == source else events[steps[0] - 1][0]
        fewest = min(hops[(end, k)] for k in steps)
        now = (end, len(events)) in hops
        found.append([end, arrived, fewest, now])
    return found


def backward(ends, events, bad, evidence):
    """Latest moment of a touch that leads to the bad end; nothing is known
    of when it was good."""
    past = next((k for k, event in enumerate(events) if event[0] > evidence), len(events))
    # A clear of the bad end at the moment of the evidence came after it.
    kept = [e for e in events[:past] if not (e[1] == "clear" and e[2] == bad and e[0] == evidence)]
    g = graph(ends, kept)
    goal = (bad, len(kept))
    g.add_node(goal)
    leads = nx.ancestors(g, goal) | {goal}
    found = []
    for end in range(ends):
        leaving = [k for k, e in enumerate(kept) if (end, k) in leads and e[1] != "clear" and end in e[1:]
                   and any((other, k + 1) in leads for other in e[1:] if other != end)]
        if end != bad and leaving:
            found.append([end, kept[max(leaving)][0]])
    return found


def main():
    rng = random.Random(SEED)
    cases = []
    for _ in range(120):
        ends = rng.randint(3, 9)
        events = case(rng, ends, rng.randint(5, 40))
        last = events[-1][0]
        source, since = rng.randrange(ends), rng.randint(0, last)
        bad, evidence = rng.randrange(ends), rng.randint(0, last)
        cases.append({
            "ends": ends, "events": events,
            "source": source, "since": since, "forward": forward(ends, events, source, since),
            "bad": bad, "evidence": evidence, "backward": backward(ends, events, bad, evidence),
        })
    stored = {
        "made_with": {"python": sys.version.split()[0], "networkx": nx.__version__, "seed": SEED},
        "cases": cases,
    }
    with open("cases.json", "w") as out:
        json.dump(stored, out, separators=(",", ":"))
        out.write("\n")


main()
