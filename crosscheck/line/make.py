"""Values of line and interface formulas by other implementations.

Writes values.csv (id, source, locator, quantity, printed), which the published
checks of the room `line` read, and versions.txt. Run with numpy, scipy, mpmath
and scikit-rf installed:  python make.py;  python make.py --time prints timings,
--pairs the pairs of steps that were compared.
"""
import csv
import platform
import sys
from pathlib import Path

import mpmath as mp
import numpy as np
import scipy
import scipy.constants as sc
import skrf as rf
from scipy.optimize import brentq
from scipy.special import j0, j1, y0, y1
from skrf.media import Coaxial, DefinedGammaZ0

mp.mp.dps = 30
HERE = Path(__file__).parent
C = mp.mpf(299792458)
MU0 = mp.mpf("1.25663706127e-6")
ETA = MU0 * C
K = ETA / (2 * mp.pi)
EPS0 = 1 / (MU0 * C**2)
rows = []
MP, SP, SK = f"mpmath {mp.__version__}", f"scipy {scipy.__version__}", f"scikit-rf {rf.__version__}"


def row(key, source, locator, quantity, value, digits):
    rows.append((key, source, locator, quantity, mp.nstr(mp.mpf(value), digits, min_fixed=-4, max_fixed=15, strip_zeros=False)))


def z0(D, d, er=1):
    return K * mp.log(mp.mpf(D) / mp.mpf(d)) / mp.sqrt(mp.mpf(er))


# --- impedance
for D, d, er in [("7.0", "3.04", "1"), ("3.5", "1.52", "1.000649"), ("2.4", "1.042", "1"), ("1.0", "0.434", "1"), ("4.13", "1.27", "2.02")]:
    row(f"z0 {D} {d} {er}", MP, "log", f"Z0 of {D}/{d} mm, permittivity {er}, in ohms", z0(D, d, er), 12)
for D, d, e in [("3.5", "1.52", "0.1"), ("2.4", "1.042", "0.05"), ("1.0", "0.434", "0.02")]:
    x = (mp.mpf(D) ** 2 + mp.mpf(d) ** 2 - 4 * mp.mpf(e) ** 2) / (2 * mp.mpf(D) * mp.mpf(d))
    row(f"offcentre {D} {d} {e}", MP, "acosh", f"Z of {D}/{d} mm off centre by {e} mm, in ohms", K * mp.acosh(x), 11)


# --- the off-centre line without the arcosh: bipolar charges found numerically
def bipolar(D, d, e):
    R, r, e = mp.mpf(D) / 2, mp.mpf(d) / 2, mp.mpf(e)
    # image charges at s and R^2/s from the outer axis, inverse in both circles
    s = mp.findroot(lambda s: (s - e) * (R**2 / s - e) - r**2, e * (1 + r**2 / (R**2 - r**2)))
    t = R**2 / s
    outer = mp.log((t - R) / (R - s))
    inner = mp.log((t - e - r) / (e + r - s))
    return K * abs(inner - outer)


row("images 3.5 1.52 0.1", MP, "findroot, image charges", "Z of 3.5/1.52 mm off centre by 0.1 mm, by image charges, in ohms", bipolar("3.5", "1.52", "0.1"), 11)


# --- TE11
def te11(D, d, er="1"):
    a, b = mp.mpf(d) / 2000, mp.mpf(D) / 2000
    jp = lambda x: mp.besselj(1, x, derivative=1)
    yp = lambda x: mp.bessely(1, x, derivative=1)
    k = mp.findroot(lambda k: jp(k * a) * yp(k * b) - jp(k * b) * yp(k * a), 2 / (a + b))
    return k * C / (2 * mp.pi * mp.sqrt(mp.mpf(er))) / 1e9, k * a


for D, d, er in [("7.0", "3.04", "1"), ("3.5", "1.52", "1"), ("2.92", "1.268", "1"), ("2.4", "1.042", "1"), ("1.85", "0.8036", "1"), ("1.0", "0.434", "1"), ("4.13", "1.27", "2.02")]:
    row(f"te11 {D} {d} {er}", MP, "besselj, bessely, findroot", f"TE11 cut-off of {D}/{d} mm, permittivity {er}, in GHz", te11(D, d, er)[0], 11)
for c in ("2", "3", "4", "5"):
    row(f"kca {c}", MP, "besselj, bessely, findroot", f"TE11 kc a at b/a = {c}", te11(c, "1")[1], 10)

# --- loss: scikit-rf's coaxial medium, and the exact TM00 equation by mpmath
SIGMA = 1.3e7
for D, d, f in [(3.5, 1.52, 26.5), (3.5, 1.52, 1.0), (3.5, 1.52, 0.05), (7.0, 3.04, 1.0), (2.4, 1.042, 50.0)]:
    freq = rf.Frequency(f, f, 1, "ghz")
    m = Coaxial(freq, Dint=d / 1000, Dout=D / 1000, epsilon_r=1, tan_delta=0, sigma=SIGMA)
    g, z = m.gamma[0], m.z0_characteristic[0]
    where = "media.Coaxial"
    row(f"alpha {D} {d} {f}", SK, where, f"loss of {D}/{d} mm, 1.3e7 S/m, {f} GHz, in dB/m", abs(g.real) * 20 / np.log(10), 7)
    row(f"zre {D} {d} {f}", SK, where, f"Re Z0 of {D}/{d} mm, 1.3e7 S/m, {f} GHz, in ohms", z.real, 8)
    row(f"zim {D} {d} {f}", SK, where, f"Im Z0 of {D}/{d} mm, 1.3e7 S/m, {f} GHz, in ohms", z.imag, 6)


def tm00(D, d, f):
    w = 2 * mp.pi * mp.mpf(f) * 10**9
    a, b, s = mp.mpf(d) / 2000, mp.mpf(D) / 2000, mp.mpf(SIGMA)
    k0 = w / C
    def equation(g):
        kr = mp.sqrt(k0**2 + g**2)                 # radial in the air
        km = mp.sqrt(1j * w * MU0 * s - g**2)      # decay in the metal
        zi = km / s * mp.besseli(0, km * a) / mp.besseli(1, km * a)
        zo = km / s * mp.besselk(0, km * b) / mp.besselk(1, km * b)
        # E_z = A J0 + B Y0; H_phi = j w eps/kr * (A J1 + B Y1)  (sign below)
        y = 1j * w * EPS0 / kr
        e = lambda r: (mp.besselj(0, kr * r), mp.bessely(0, kr * r))
        h = lambda r: (y * mp.besselj(1, kr * r), y * mp.bessely(1, kr * r))
        ea, ha, eb, hb = e(a), h(a), e(b), h(b)
        # inner: E = zi H ; outer: E = -zo H
        m11, m12 = ea[0] - zi * ha[0], ea[1] - zi * ha[1]
        m21, m22 = eb[0] + zo * hb[0], eb[1] + zo * hb[1]
        return m11 * m22 - m12 * m21
    m = Coaxial(rf.Frequency(f, f, 1, "ghz"), Dint=d / 1000, Dout=D / 1000, epsilon_r=1, tan_delta=0, sigma=SIGMA)
    start = mp.mpc(abs(m.gamma[0].real), abs(m.gamma[0].imag))
    return mp.findroot(equation, (start, start * (1 + mp.mpf("1e-5"))), solver="secant", tol=1e-20, verify=False)


for D, d, f in [(3.5, 1.52, 26.5), (3.5, 1.52, 0.05), (2.4, 1.042, 50.0)]:
    g = tm00(D, d, f)
    row(f"exact {D} {d} {f}", MP, "exact TM00 equation, findroot", f"loss of {D}/{d} mm, 1.3e7 S/m, {f} GHz, in dB/m", g.real * 20 / mp.log(10), 7)

# --- pin gap: circuit elements from mpmath, two-port by scikit-rf
RATIO = mp.mpf("2.30230371784")


def gap(D, dp, g_um, f_ghz):
    D, dp, g, f = mp.mpf(D) / 1000, mp.mpf(dp) / 1000, mp.mpf(g_um) / 10**6, mp.mpf(f_ghz) * 10**9
    d = D / RATIO
    a, ap, k = d / 2, dp / 2, 2 * mp.pi * f / C
    J, Y = mp.besselj, mp.bessely
    # shorted radial line by its wave solution: E = J0(kr) Y0(ka') - J0(ka') Y0(kr), Z = E/(H 2 pi a)
    E = J(0, k * a) * Y(0, k * ap) - J(0, k * ap) * Y(0, k * a)
    dE = -(J(1, k * a) * Y(0, k * ap) - J(0, k * ap) * Y(1, k * a))
    X = ETA * g / (2 * mp.pi * a) * E / dE
    B = 2 * mp.pi * f * 2 * EPS0 * g**2 / (d * mp.log(D / d) ** 2)
    Z0 = K * mp.log(D / d)
    XB = 2 * mp.pi * f * MU0 * g / (2 * mp.pi) * mp.log(d / dp)
    freq = rf.Frequency(float(f_ghz), float(f_ghz), 1, "ghz")
    line = DefinedGammaZ0(freq, z0=float(Z0), gamma=1j * float(k))
    def chain(x):
        half = line.inductor(float(x / 2) / freq.w[0])
        shunt = line.shunt_capacitor(-float(B) / freq.w[0])
        return abs((half ** shunt ** half).s[0, 0, 0])
    zg = float(K * mp.log(D / dp))
    section = DefinedGammaZ0(freq, z0=zg, gamma=1j * float(k), z0_port=float(Z0)).line(float(g), "m")
    return X, XB, B, Z0, chain(X), chain(XB), abs(section.s[0, 0, 0])


for name, D, dp, g, f in [("3.5", "3.5", "0.927", 25, "26.5"), ("2.4", "2.4", "0.511", 25, "50"), ("N", "7", "1.651", 100, "18"), ("1.0", "1", "0.250", 10, "110")]:
    X, XB, B, Z0, withradial, closed, short = gap(D, dp, g, f)
    what = f"gap of {name} mm, {g} um, {f} GHz"
    row(f"gap {name}", SK, "inductor and shunt_capacitor, elements by mpmath", f"|S11|, {what}", withradial, 9)
    row(f"gapclosed {name}", SK, "inductor and shunt_capacitor, elements by mpmath", f"|S11| without radial line, {what}", closed, 9)
    row(f"gapshort {name}", SK, "DefinedGammaZ0.line", f"|S11| of the short line, {what}", short, 9)
    row(f"gapfirst {name}", MP, "first order (X + B Z0^2)/2 Z0", f"|S11| to first order, {what}", (X / Z0 + B * Z0) / 2, 9)

# --- dielectric recess
for g, f in [(50, 18.0), (100, 18.0), (254, 18.0), (100, 6.0)]:
    freq = rf.Frequency(f, f, 1, "ghz")
    k = 2 * np.pi * f * 1e9 / float(C)
    medium = DefinedGammaZ0(freq, z0=float(z0("4.13", "1.27")), gamma=1j * k, z0_port=float(z0("4.13", "1.27", "2.02")))
    s = abs(medium.line(g * 1e-6, "m").s[0, 0, 0])
    row(f"recess {g} {f}", SK, "DefinedGammaZ0.line", f"|S11| of a {g} um recess in 4.13/1.27 mm, permittivity 2.02, {f} GHz", s, 9)

# --- cascade of three two-ports with loss
freq = rf.Frequency(10, 10, 1, "ghz")
m = DefinedGammaZ0(freq, z0=50, gamma=0.3 + 200j)
chain = m.inductor(20e-12) ** DefinedGammaZ0(freq, z0=53, gamma=0.3 + 200j, z0_port=50).line(0.013, "m") ** m.shunt_capacitor(30e-15)
for part, value in [("s11re", chain.s[0, 0, 0].real), ("s11im", chain.s[0, 0, 0].imag), ("s21re", chain.s[0, 1, 0].real), ("s21im", chain.s[0, 1, 0].imag)]:
    row(f"cascade {part}", SK, "cascade by **", f"{part} of 20 pH, 13 mm of 53 ohm at 0.3+200j per metre, 30 fF, 10 GHz", value, 10)


# --- step capacitance by static mode matching (own script)
def modes(p, q, n):
    """Roots k of J0(kp)Y0(kq) = J0(kq)Y0(kp)."""
    lo, hi = min(p, q), max(p, q)
    f = lambda k: j0(k * lo) * y0(k * hi) - j0(k * hi) * y0(k * lo)
    step = np.pi / (hi - lo)
    return np.array([brentq(f, (i - 0.45) * step, (i + 0.45) * step, xtol=1e-14) for i in range(1, n + 1)])


def step_capacitance(common, narrow, wide, n):
    """Both rings share the radius `common`; a flat wall joins `narrow` and `wide`. Farads."""
    m = int(round(n * abs(wide - common) / abs(narrow - common)))
    ka, kb = modes(common, narrow, n), modes(common, wide, m)
    sign = 1.0 if narrow > common else -1.0
    R = lambda k, r: j0(k * r) * y0(k * common) - y0(k * r) * j0(k * common)
    dR = lambda k, r: -k * (j1(k * r) * y0(k * common) - y1(k * r) * j0(k * common))
    norm = lambda k, q: (q**2 * dR(k, q) ** 2 - common**2 * dR(k, common) ** 2) / (2 * k**2) * sign
    NA, NB = norm(ka, narrow), norm(kb, wide)
    P = sign * narrow * R(kb, narrow)[:, None] * dR(ka, narrow)[None, :] / (kb[:, None] ** 2 - ka[None, :] ** 2)
    at = sign * common * dR(kb, common) / kb**2
    inA = at + sign * narrow * R(kb, narrow) * (-1 / (narrow * np.log(narrow / common))) / kb**2
    # b NB = P a + inA - at ;  ka NA a = -P^T (kb b)
    rhs = (inA - at) / NB
    A = np.diag(ka * NA) + P.T @ ((kb / NB)[:, None] * P)
    a = np.linalg.solve(A, -P.T @ (kb * rhs))
    b = rhs + (P @ a) / NB
    q = np.sum(a * dR(ka, common) / ka) + np.sum(b * dR(kb, common) / kb)
    return -sign * 2 * np.pi * float(EPS0) * common * q * 1e-3


for kind, common, narrow, wide in [("inner", 4.0, 2.0, 1.0), ("inner", 2.3, 1.5, 1.0), ("outer", 1.0, 2.0, 4.0), ("outer", 1.0, 1.5, 2.3), ("outer", 0.521, 0.925, 1.2), ("outer", 0.76, 1.75, 2.065), ("inner", 1.75, 0.76, 0.635)]:
    c = [step_capacitance(common, narrow, wide, n) for n in (40, 80, 160)]
    print(kind, common, narrow, wide, [f"{x*1e15:.4f}" for x in c], file=sys.stderr)
    row(f"step {kind} {common} {narrow} {wide}", SP, "static mode matching, j0, y0, brentq", f"{kind} step, radii {common} common, {narrow} to {wide} mm, in fF", c[-1] * 1e15, 5)

# --- two different rings that meet: excess capacitance by its energy
def side(ring, eps, a1, a2, kap, n):
    """Projection of the aperture onto one ring: k, norm, P, right-hand side."""
    p, q = ring
    R = lambda k, r, c: j0(k * r) * y0(k * c) - y0(k * r) * j0(k * c)
    dR = lambda k, r, c: -k * (j1(k * r) * y0(k * c) - y1(k * r) * j0(k * c))
    if (p, q) == (a1, a2):
        norm = (q**2 * dR(kap, q, p) ** 2 - p**2 * dR(kap, p, p) ** 2) / (2 * kap**2)
        return kap, norm, np.diag(norm), np.zeros(n), eps
    m = int(round(n * (q - p) / (a2 - a1)))
    k = modes(p, q, m)
    norm = (q**2 * dR(k, q, p) ** 2 - p**2 * dR(k, p, p) ** 2) / (2 * k**2)
    S1, S2 = R(k, a1, p), R(k, a2, p)
    P = (a2 * S2[:, None] * dR(kap, a2, a1)[None, :] - a1 * S1[:, None] * dR(kap, a1, a1)[None, :]) / (
        k[:, None] ** 2 - kap[None, :] ** 2)
    return k, norm, P, (S1 - S2) / np.log(a2 / a1) / k**2, eps


def pair(ring1, eps1, ring2, eps2, n):
    a1, a2 = max(ring1[0], ring2[0]), min(ring1[1], ring2[1])
    kap = modes(a1, a2, n)
    sides = [side(ring1, eps1, a1, a2, kap, n), side(ring2, eps2, a1, a2, kap, n)]
    A = sum(e * P.T @ ((k / N)[:, None] * P) for k, N, P, r, e in sides)
    y = -sum(e * P.T @ (k / N * r) for k, N, P, r, e in sides)
    c = np.linalg.solve(A, y)
    energy = sum(e * np.sum(k * ((r + P @ c) / N) ** 2 * N) for k, N, P, r, e in sides)
    return 2 * np.pi * float(EPS0) * energy * 1e-3


for name, ring1, eps1, ring2, eps2 in [
    ("single", (0.635, 1.75), 1, (0.76, 1.75), 1),
    ("sma35", (0.635, 2.065), 2.02, (0.76, 1.75), 1),
    ("sma292", (0.635, 2.065), 2.02, (0.634, 1.46), 1),
    ("35292", (0.76, 1.75), 1, (0.634, 1.46), 1),
    ("24185", (0.521, 1.2), 1, (0.4018, 0.925), 1),
]:
    c = [pair(ring1, eps1, ring2, eps2, n) for n in (30, 60, 120)]
    print(name, [f"{x*1e15:.4f}" for x in c], file=sys.stderr)
    if name != "single":
        row(f"pair {name}", SP, "static mode matching, energy", f"excess capacitance of pair {name}, in fF", c[-1] * 1e15, 4)

# --- the 17 nested pairs behind the claim that putting single steps together is
# within 8 % (the other three are rows "pair"); --pairs prints them
def somlo_inner(r1, r2, r3):
    al, t = (r3 - r2) / (r3 - r1), r3 / r1
    return 2 * np.pi * r3 * 1e-3 * (shared(al) + 1.11e-13 * (1 - al) * (t - 1))


def somlo_outer(r1, r2, r3):
    al, t = (r2 - r1) / (r3 - r1), r3 / r1
    return 2 * np.pi * r1 * 1e-3 * (shared(al) + 4.12e-13 * (0.8 - al) * (t - 1.4))


def shared(al):
    return float(EPS0) / np.pi * ((al**2 + 1) / al * np.log((1 + al) / (1 - al)) - 2 * np.log(4 * al / (1 - al**2)))


def nested_pairs():
    import random
    random.seed(2)
    cases = [((.635, 2.065), (.76, 1.75), 2.02), ((.635, 2.065), (.76, 1.75), 1), ((1, 4), (1.5, 3), 1),
             ((1, 4), (1.1, 3.5), 1), ((1, 4), (1.5, 3.9), 1), ((1, 2.3), (1.2, 1.9), 1), ((1, 4), (1.02, 3), 1)]
    for _ in range(10):
        b2 = random.uniform(1.8, 4)
        a1 = 1 + random.uniform(.05, .4) * (b2 - 1)
        cases.append(((1, b2), (a1, a1 + random.uniform(.3, .9) * (b2 - a1)), 1))
    for (b1, b2), (a1, a2), eps in cases:
        la, lb = np.log(a2 / a1), np.log(b2 / b1)
        r = np.exp((np.log(a1) * lb - np.log(b1) * la) / (lb - la))
        x = np.log(r / a1) / la
        est = eps * (somlo_inner(b1, a1, r) * x**2 + somlo_outer(r, a2, b2) * (1 - x) ** 2)
        full = pair((b1, b2), eps, (a1, a2), 1, 80)
        print(f"wide {b1:.3f}..{b2:.3f} ring {a1:.3f}..{a2:.3f} eps {eps}: {100 * (est / full - 1):+.1f} %")


if "--pairs" in sys.argv:
    nested_pairs()
    sys.exit()

# --- moist air
for t, p, h in [("23", "1013.25", "0.5"), ("23", "850", "0.5"), ("20", "1013.25", "0")]:
    tc, P, H = mp.mpf(t), mp.mpf(p), mp.mpf(h)
    ef = 1 + mp.mpf("1e-4") * (mp.mpf("7.2") + P * (mp.mpf("0.0320") + mp.mpf("5.9e-6") * tc**2))
    e = H * ef * mp.mpf("6.1121") * mp.exp((mp.mpf("18.678") - tc / mp.mpf("234.5")) * tc / (tc + mp.mpf("257.14")))
    T = tc + mp.mpf("273.15")
    N = mp.mpf("77.6") * (P - e) / T + 72 * e / T + mp.mpf("3.75e5") * e / T**2
    row(f"air {t} {p} {h}", MP, "exp", f"permittivity of air at {t} degC, {p} hPa, humidity {h}", (1 + N * mp.mpf("1e-6")) ** 2, 12)

# --- mismatch, by simulation-free closed forms
for key, value in [("up", 20 * mp.log10(mp.mpf("1.01"))), ("down", 20 * mp.log10(mp.mpf("0.99")))]:
    row(f"mismatch {key}", MP, "log10", f"interaction limit of 0.1 and 0.1, {key}, in dB", value, 10)

# --- constants
row("eps0", SP, "constants.epsilon_0", "vacuum permittivity in F/m", mp.mpf(repr(sc.epsilon_0)), 10)
row("eta0", SP, "constants, characteristic impedance of vacuum", "impedance of vacuum in ohms", mp.mpf(repr(sc.physical_constants["characteristic impedance of vacuum"][0])), 10)

# --- timing of the same in SciPy, one call at a time and vectorised
def scipy_gap(D, d, dp, g, f):
    k = 2 * np.pi * f / 299792458.0
    a, ap = d / 2, dp / 2
    top = j0(k * ap) * y0(k * a) - j0(k * a) * y0(k * ap)
    x = 376.730313412 * g / (2 * np.pi * a) * top / (j1(k * a) * y0(k * ap) - j0(k * ap) * y1(k * a))
    log = np.log(D / d)
    z = 59.958491592084 * log
    x, b = x / z, 2 * np.pi * f * 2 * 8.8541878188e-12 * g**2 / (d * log**2) * z
    common = x + x * x * b / 4
    return np.abs(common + b) / np.hypot(2 + x * b, common - b)


def scipy_te11(a, b):
    from scipy.special import jvp, yvp
    f = lambda k: jvp(1, k * b) * yvp(1, k * a) - jvp(1, k * a) * yvp(1, k * b)
    return brentq(f, 1.8 / (a + b), 2.2 / (a + b), xtol=1e-12)


def timing():
    import time
    f = np.linspace(1e9, 26e9, 200_000)
    t = time.perf_counter(); scipy_gap(3.5e-3, 1.52e-3, 0.927e-3, 25e-6, f); many = (time.perf_counter() - t) / len(f)
    t = time.perf_counter(); [scipy_gap(3.5e-3, 1.52e-3, 0.927e-3, 25e-6, x) for x in f[:5000]]; one = (time.perf_counter() - t) / 5000
    t = time.perf_counter(); [scipy_te11(0.76 + i * 1e-6, 1.75) for i in range(2000)]; root = (time.perf_counter() - t) / 2000
    # Read by the example `speed` of the room: equal numbers first, then times.
    print("gap", repr(float(scipy_gap(3.5e-3, 1.52e-3, 0.927e-3, 25e-6, 26e9))))
    print("te11_hz", repr(scipy_te11(0.76, 1.75) * 1e3 * 299792458.0 / (2 * np.pi)))
    print("gap_each_s", one)
    print("gap_in_an_array_s", many)
    print("te11_s", root)
    print("versions", f"numpy {np.__version__}, {SP}")


if "--time" in sys.argv:
    timing()
    sys.exit()

with open(HERE / "values.csv", "w", newline="") as out:
    writer = csv.writer(out, lineterminator="\n", delimiter=";")
    writer.writerow(["id", "source", "locator", "quantity", "printed"])
    writer.writerows(rows)
(HERE / "versions.txt").write_text(
    f"python {platform.python_version()}\nnumpy {np.__version__}\n{SP}\n{MP}\n{SK}\n")
print(len(rows), "rows", file=sys.stderr)
