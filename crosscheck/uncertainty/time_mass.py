"""Times one million trials of JCGM 101 9.3 with numpy: draws, model, mean,
standard deviation, and the two coverage intervals. Run by
`cargo run --release -p matewell-uncertainty --example monte_carlo_speed`."""

import time

import numpy as np

TRIALS = 1_000_000


def mass(generator):
    reference = generator.normal(100_000.0, 0.050, TRIALS)
    added = generator.normal(1.234, 0.020, TRIALS)
    air = generator.uniform(1.10, 1.30, TRIALS)
    weight = generator.uniform(7000.0, 9000.0, TRIALS)
    standard = generator.uniform(7950.0, 8050.0, TRIALS)
    found = (reference + added) * (1.0 + (air - 1.2) * (1.0 / weight - 1.0 / standard)) - 100_000.0
    found.sort()
    covered = round(0.95 * TRIALS)
    tail = (TRIALS - covered) // 2
    widths = found[covered:] - found[: TRIALS - covered]
    first = int(np.argmin(widths))
    return found.mean(), found.std(ddof=1), found[tail], found[tail + covered], widths[first]


best = float("inf")
for seed in range(5):
    start = time.perf_counter()
    mean, deviation, low, high, width = mass(np.random.default_rng(seed))
    best = min(best, time.perf_counter() - start)
print("versions numpy", np.__version__)
print("seconds", repr(best))
print("mean", repr(float(mean)))
print("deviation", repr(float(deviation)))
print("low", repr(float(low)))
print("high", repr(float(high)))
print("width", repr(float(width)))
