"""Parse, impulse + gate, and the verdict beside scikit-rf: alternating pairs.

    python compare.py PATH-TO-BINARY FOLDER [LARGEST-POINT-COUNT]

Equal numbers first (checksums agree to 1e-9 relative), then median of the
ratios of pairs with the smallest and largest.
"""

import statistics
import subprocess
import sys
import time
import warnings
from pathlib import Path

import numpy as np
import skrf as rf

warnings.simplefilter("ignore")
binary, folder = sys.argv[1], Path(sys.argv[2])
largest = int(sys.argv[3]) if len(sys.argv) > 3 else 100_001


def ours(*arguments):
    lines = subprocess.run([binary, *map(str, arguments)], capture_output=True, text=True, check=True).stdout.split()
    return statistics.median(map(float, lines[:-2])), float(lines[-1])


def report(name, pairs, check, other="scikit-rf"):
    ratios = [theirs / mine for mine, theirs in pairs]
    mine, theirs = (statistics.median(p[k] for p in pairs) for k in (0, 1))
    print(f"{name:24} ours {mine:9.2f} ms  {other} {theirs:9.2f} ms  ratio {statistics.median(ratios):6.1f} "
          f"({min(ratios):.1f} to {max(ratios):.1f}, {len(pairs)} pairs)  difference {check:.0e}", flush=True)


for points in (10_001, 100_001):
    if points > largest:
        continue
    for ports in (2, 4):
        name = folder / f"bench{points}.s{ports}p"
        if not name.exists():
            random = np.random.default_rng(points + ports)
            f = np.linspace(10e6, 26.5e9, points)
            numbers = random.normal(size=(points, 2 * ports * ports)) * 0.3
            with name.open("w") as out:
                out.write("# Hz S RI R 50\n")
                per_line = 8 if ports > 2 else 2 * ports * ports
                for k in range(points):
                    row = [f"{x:.9e}" for x in numbers[k]]
                    lines = [" ".join(row[i : i + per_line]) for i in range(0, len(row), per_line)]
                    out.write(f"{f[k]:.6f} " + "\n".join(lines) + "\n")
        pairs, check = [], 0.0
        for _ in range(5 if points < 50_000 else 3):
            mine, total = ours("parse", name, 3)
            start = time.perf_counter()
            network = rf.Network(str(name))
            theirs = (time.perf_counter() - start) * 1e3
            expected = (network.s.real - network.s.imag).sum()
            check = max(check, abs(total - expected) / abs(network.s).sum())
            assert check < 1e-9, (total, expected)
            pairs.append((mine, theirs))
        report(f"parse {points} .s{ports}p", pairs, check)
        pairs, check = [], 0.0
        for _ in range(5 if points < 50_000 else 3):
            mine, total = ours("parse", name, 3)
            theirs, other = ours("parse-crate", name, 3)
            check = max(check, abs(total - other) / abs(network.s).sum())
            assert check < 1e-9, (total, other)
            pairs.append((mine, theirs))
        report(f"parse {points} .s{ports}p", pairs, check, "crate touchstone")
        print(" ", subprocess.run([binary, "memory", name], capture_output=True, text=True, check=True).stdout.strip())

for points in (201, 1001, 10_001):
    f = np.linspace(0, 10e9, points)
    s = 0.05 * np.exp(-2j * np.pi * f * 2e-9) + 0.1 * np.exp(-2j * np.pi * f * 6.2e-9)
    network = rf.Network(f=f, s=s.reshape(-1, 1, 1), z0=50, f_unit="Hz")
    pairs, check = [], 0.0
    for _ in range(7):
        mine, total = ours("gate", points, 21)
        rounds = []
        for _ in range(9):
            start = time.perf_counter()
            impulse = network.impulse_response(window="hamming")
            gated = network.time_gate(center=6.2, span=2, t_unit="ns", method="rfft", fft_window=None)
            rounds.append((time.perf_counter() - start) * 1e3)
        pairs.append((mine, statistics.median(rounds)))
        # Theirs is not divided by the window's gain, and its gate is right to 1e-5.
        window = 0.54 + 0.46 * np.cos(np.pi * np.arange(points) / points)
        gain = (2 * window.sum() - 1) / (2 * points - 1)
        check = abs(total - impulse[1][0] / gain - abs(gated.s[points // 2, 0, 0]))
        assert check < 1e-4, (total, check)
    report(f"impulse + gate {points}", pairs, check)
print(f"verdict, 4 joints, 1325 points: {ours('verdict', 51)[0]:.2f} ms (median of 51)")
