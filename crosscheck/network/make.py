"""Independent values for the room `network`, by scikit-rf and SciPy.

Run in a virtual environment with the versions of README.md:
    python make.py > results.json
Every input is synthetic and given by a formula, so that the tests rebuild it.
"""

import json
import sys

import numpy as np
import scipy
import scipy.signal
import scipy.stats
import skrf as rf
from skrf.calibration.deembedding import IEEEP370_FD_QM

out = {"versions": {"scikit-rf": rf.__version__, "numpy": np.__version__, "scipy": scipy.__version__}}


def one_port(s, f):
    return rf.Network(f=f, s=np.asarray(s).reshape(-1, 1, 1), z0=50, f_unit="Hz")


# Time domain: one ideal reflector.
f = np.linspace(0, 10e9, 1001)
n = one_port(0.1 * np.exp(-2j * np.pi * f * 6.2e-9), f)
out["impulse"] = {}
for name, window in [("rectangular", "boxcar"), ("hamming", "hamming"), ("kaiser6", ("kaiser", 6)), ("kaiser13", ("kaiser", 13))]:
    t, y = n.impulse_response(window=window)
    k = int(np.argmax(y))
    out["impulse"][name] = {"dt": t[1] - t[0], "start": t[0], "count": len(t), "index": k, "time": t[k], "around": y[k - 1 : k + 2].tolist()}

# Band-pass.
f = np.linspace(1e9, 10e9, 901)
n = one_port(0.1 * np.exp(-2j * np.pi * f * 6.2e-9), f)
out["band_pass"] = {}
for name, window in [("hamming", "hamming"), ("kaiser6", ("kaiser", 6))]:
    t, y = n.impulse_response(window=window, bandpass=True)
    k = int(np.argmax(np.abs(y)))
    out["band_pass"][name] = {"dt": t[1] - t[0], "start": t[0], "time": t[k], "magnitude": float(np.abs(y[k]))}

# A small series inductance.
f = np.linspace(0, 26.5e9, 2651)
L = 5.9e-12
z = 2j * np.pi * f * L / 50
n = one_port(z / (2 + z) * np.exp(-2j * np.pi * f * 6.2e-9), f)
t, y = n.impulse_response(window=("kaiser", 6))
ts, ys = n.step_response(window=("kaiser", 6))
inside = np.abs(ts - 6.2e-9) < 0.5e-9
out["inductance"] = {"impulse_peak": y.max(), "step_peak": ys.max(), "step_time": ts[np.argmax(ys)], "area": float(np.sum(ys[inside]) * (ts[1] - ts[0]))}

# A gate without renormalisation.
f = np.linspace(0, 10e9, 1001)
n = one_port(0.05 * np.exp(-2j * np.pi * f * 2e-9) + 0.1 * np.exp(-2j * np.pi * f * 6.2e-9), f)
out["gate"] = {}
for name, kw in [("fft_cosine", dict(method="fft", fft_window="cosine")), ("rfft", dict(method="rfft", fft_window=None, mode="bandpass"))]:
    g = n.time_gate(center=6.2, span=2, t_unit="ns", window=("kaiser", 6), **kw).s[:, 0, 0]
    out["gate"][name] = {str(k): [abs(g[k]), abs(abs(g[k]) - 0.1)] for k in (0, 10, 100, 500, 990, 1000)}

# Zoom of a trace of three reflectors.
f = np.linspace(0, 10e9, 401)
s = sum(a * np.exp(-2j * np.pi * f * t) for a, t in [(0.1, 1.1e-9), (-0.05, 1.17e-9), (0.02, 3.3e-9)])
w = scipy.signal.get_window(("kaiser", 6), 2 * len(f))[len(f) :]
times = 0.9e-9 + 13e-12 * np.arange(40)
step = f[1]
raw = scipy.signal.czt(s * w, m=40, w=np.exp(2j * np.pi * step * 13e-12), a=np.exp(-2j * np.pi * step * 0.9e-9))
out["zoom"] = ((2 * raw.real - (s[0] * w[0]).real) / (2 * w.sum() - w[0])).tolist()

# IEEE 370 initial metrics on a formula two-port: lossy line with mismatch.
f = np.linspace(0.2e9, 18e9, 90)
gamma = 0.08 * np.sqrt(f / 18e9)
d = np.exp(-(gamma + 2j * np.pi * f * 1e-9))
r = 0.1
den = 1 - r * r * d * d
s = np.empty((90, 2, 2), complex)
s[:, 0, 0] = s[:, 1, 1] = r * (1 - d * d) / den
s[:, 0, 1] = s[:, 1, 0] = d * (1 - r * r) / den

s2 = s.copy()
s2[:, 0, 1] *= 1.02 * np.exp(0.01j)
out["singular"] = {"plain": np.linalg.svd(s, compute_uv=False)[:, 0].max(), "times_1_12": np.linalg.svd(s * 1.12, compute_uv=False)[:, 0].max()}
out["ieee370"] = {}
quality = IEEEP370_FD_QM()
for name, x in [("plain", s), ("times_1_12", s * 1.12), ("not_reciprocal", s2), ("conjugate", s.conj())]:
    q = quality.check_se_quality(rf.Network(f=f, s=x, z0=50, f_unit="Hz"))
    out["ieee370"][name] = {k: float(q[k]["value"]) for k in ("passivity", "reciprocity", "causality")}

# Parameter conversions.
rng = np.random.default_rng(20240607)
s = (rng.normal(size=(2, 3, 3)) + 1j * rng.normal(size=(2, 3, 3))) * 0.3
z0 = [30.0, 50.0, 75.0]
out["conversion"] = {
    "s": [[[v.real, v.imag] for v in m.ravel()] for m in s],
    "z": [[[v.real, v.imag] for v in m.ravel()] for m in rf.network.s2z(s, np.array(z0))],
    "y": [[[v.real, v.imag] for v in m.ravel()] for m in rf.network.s2y(s, np.array(z0))],
}
s = s[:, :2, :2]
out["conversion_two_port"] = {
    "s": [[[v.real, v.imag] for v in m.ravel()] for m in s],
    "h": [[[v.real, v.imag] for v in m.ravel()] for m in rf.network.s2h(s, np.array(z0[:2]))],
    "g": [[[v.real, v.imag] for v in m.ravel()] for m in rf.network.s2g(s, np.array(z0[:2]))],
}

# Mixed mode.
s = (rng.normal(size=(1, 4, 4)) + 1j * rng.normal(size=(1, 4, 4))) * 0.2
n = rf.Network(f=[1e9], s=s, z0=50, f_unit="Hz")
m = n.copy()
m.se2gmm(p=2)
out["mixed_mode"] = {"single": [[v.real, v.imag] for v in s[0].ravel()], "mixed": [[v.real, v.imag] for v in m.s[0].ravel()]}

# Statistics: distributions and a two-sample T² computed the long way.
a = rng.normal(size=(8, 2)) * [1.0, 0.5] + [0.2, 0.1]
b = rng.normal(size=(9, 2)) * [1.3, 0.7] + [0.9, -0.4]
na, nb, p = len(a), len(b), 2
sa, sb = np.cov(a.T), np.cov(b.T)
sp = ((na - 1) * sa + (nb - 1) * sb) / (na + nb - 2)
delta = a.mean(0) - b.mean(0)
t2 = na * nb / (na + nb) * delta @ np.linalg.solve(sp, delta)
F = (na + nb - p - 1) / (p * (na + nb - 2)) * t2
S = sa / na + sb / nb
t2u = delta @ np.linalg.solve(S, delta)
A = [sa / na @ np.linalg.inv(S), sb / nb @ np.linalg.inv(S)]
nu = (p + p * p) / sum((np.trace(x @ x) + np.trace(x) ** 2) / (k - 1) for x, k in zip(A, (na, nb)))
Fu = t2u * (nu - p + 1) / (nu * p)
out["hotelling"] = {
    "a": a.tolist(), "b": b.tolist(), "t2": t2, "p": scipy.stats.f.sf(F, p, na + nb - p - 1),
    "t2_unequal": t2u, "nu": nu, "p_unequal": scipy.stats.f.sf(Fu, p, nu - p + 1),
}
out["coverage"] = {str(k): float(np.sqrt(2 * (k - 1) / (k - 2) * scipy.stats.f.ppf(0.95, 2, k - 2))) for k in (4, 6, 8, 10, 16, 30)}

json.dump(out, sys.stdout, indent=1)
