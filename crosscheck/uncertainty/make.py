"""Values by SciPy and GTC for the checks of matewell-uncertainty.

Run: python make.py > values.csv, in a virtual environment with scipy and GTC.
Each row: source,kind,arguments separated by blanks,value.
"""

import math
from importlib.metadata import version

import GTC
import scipy
from scipy import integrate, optimize, stats
from scipy.stats import multivariate_normal

SCIPY = f"SciPy {scipy.__version__}"
GTC_NAME = f"GTC {version('GTC')}"


def row(source, kind, arguments, value):
    print(f"{source},{kind},{' '.join(repr(float(a)) for a in arguments)},{float(value)!r}")


def quantiles():
    for p in (1e-6, 0.0013, 0.025, 0.2, 0.6, 0.95, 0.99, 0.999999):
        row(SCIPY, "normal_quantile", [p], stats.norm.ppf(p))
    for p in (0.001, 0.05, 0.6, 0.975, 0.9995):
        for dof in (1, 2.5, 4, 16.7519, 100, 12345.6):
            row(SCIPY, "t_quantile", [p, dof], stats.t.ppf(p, dof))
    for t, dof in ((-3.1, 2), (1.4, 10), (2.7, 393), (-0.2, 1.3)):
        row(SCIPY, "t_below", [t, dof], stats.t.cdf(t, dof))


def magnitudes():
    # x1, x2, u: noncentral chi-squared with two degrees of freedom.
    for x1, x2, u in ((0, 0, 0.005), (0.01, 0, 0.005), (0.03, 0.02, 0.005), (0.05, 0, 0.005), (0.2, 0.1, 0.004)):
        law = stats.ncx2(2, (x1**2 + x2**2) / u**2, scale=u**2) if x1 or x2 else stats.chi2(2, scale=u**2)
        for p in (0.025, 0.5, 0.975):
            row(SCIPY, "square_quantile", [x1, x2, u, u, 0, p], law.ppf(p))
        width = lambda tail: law.ppf(tail + 0.95) - (law.ppf(tail) if tail > 0 else 0)
        best = optimize.minimize_scalar(width, bounds=(0, 0.05 - 1e-12), method="bounded", options={"xatol": 1e-12})
        row(SCIPY, "square_shortest_width", [x1, x2, u, u, 0], min(width(0), best.fun))
    # Unequal and correlated: polar integral of the bivariate normal density.
    for x1, x2, u1, u2, r, y in ((0.01, 0, 0.005, 0.005, 0.9, 3e-4), (0.02, -0.01, 0.005, 0.002, -0.5, 6e-4), (0, 0, 0.003, 0.006, 0.2, 5e-5)):
        law = multivariate_normal([x1, x2], [[u1 * u1, r * u1 * u2], [r * u1 * u2, u2 * u2]])
        density = lambda a, q: q * law.pdf([q * math.cos(a), q * math.sin(a)])
        value, _ = integrate.dblquad(density, 0, math.sqrt(y), 0, 2 * math.pi, epsabs=1e-11, epsrel=1e-11)
        row(SCIPY, "square_below", [x1, x2, u1, u2, r, y], value)


def risks():
    # Bivariate normal of true and measured value over the four corners.
    def normal(mean, sd, u, low, high, accept_low, accept_high):
        law = multivariate_normal([mean, mean], [[sd**2, sd**2], [sd**2, sd**2 + u**2]], abseps=1e-12, releps=1e-12, maxpts=10**7)
        box = lambda a, b, c, d: law.cdf([b, d], lower_limit=[a, c])
        far = mean + 40 * (sd + u)
        near = mean - 40 * (sd + u)
        consumer = box(near, low, accept_low, accept_high) + box(high, far, accept_low, accept_high)
        producer = box(low, high, near, accept_low) + box(low, high, accept_high, far)
        return consumer, producer

    for case in ((0, 0.5, 0.1, -1, 1, -1, 1), (0.2, 0.4, 0.2, -1, 1, -0.8, 0.8), (1500, 0.12, 0.04, 1499.8, 1500.2, 1499.76, 1500.24)):
        consumer, producer = normal(*case)
        row(SCIPY, "normal_consumer", case, consumer)
        row(SCIPY, "normal_producer", case, producer)
    for mean, sd, u, limit, accept in ((1, 0.5, 0.25, 2, 2), (1, 0.5, 0.1, 2, 1.8), (3, 1, 0.2, 5, 5.1)):
        shape = (mean / sd) ** 2
        law = stats.gamma(shape, scale=mean / shape)
        accepted = lambda x: stats.norm.cdf((accept - x) / u)
        consumer, _ = integrate.quad(lambda x: law.pdf(x) * accepted(x), limit, limit + 10 * u, epsabs=1e-13)
        producer, _ = integrate.quad(lambda x: law.pdf(x) * (1 - accepted(x)), 0, limit, epsabs=1e-13, points=[accept] if accept < limit else None)
        row(SCIPY, "gamma_consumer", [mean, sd, u, limit, accept], consumer)
        row(SCIPY, "gamma_producer", [mean, sd, u, limit, accept], producer)


def gtc():
    volts = [5.007, 4.994, 5.005, 4.990, 4.999]
    amperes = [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3]
    phases = [1.0456, 1.0438, 1.0468, 1.0428, 1.0433]
    v, i, phi = GTC.type_a.multi_estimate_real([volts, amperes, phases])
    r = v * GTC.cos(phi) / i
    x = v * GTC.sin(phi) / i
    z = v / i
    for n, q in enumerate((r, x, z)):
        row(GTC_NAME, "impedance_value", [n], GTC.value(q))
        row(GTC_NAME, "impedance_u", [n], GTC.uncertainty(q))
    for a, b, q, w in ((0, 1, r, x), (0, 2, r, z), (1, 2, x, z)):
        row(GTC_NAME, "impedance_r", [a, b], GTC.get_correlation(q, w))
    t = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
    b = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]
    fit = GTC.type_a.line_fit([ti - 20 for ti in t], b)
    row(GTC_NAME, "line_ssr", [], fit.ssr)
    for theta in (20, 24, 30):
        y = fit.intercept + fit.slope * (theta - 20)
        row(GTC_NAME, "line_value", [theta], GTC.value(y))
        row(GTC_NAME, "line_u", [theta], GTC.uncertainty(y))
    # Welch-Satterthwaite and sharing: (a b + c) / a with finite dof.
    a, b2, c = GTC.ureal(2.0, 0.1, 5), GTC.ureal(3.0, 0.2, 9), GTC.ureal(1.0, 0.3, 4)
    q = (a * b2 + c) / a
    w = q - b2
    row(GTC_NAME, "shared_u", [], GTC.uncertainty(q))
    row(GTC_NAME, "shared_dof", [], GTC.dof(q))
    row(GTC_NAME, "shared_difference_u", [], GTC.uncertainty(w))
    row(GTC_NAME, "shared_difference_dof", [], GTC.dof(w))
    row(GTC_NAME, "shared_r", [], GTC.get_correlation(q, w))


quantiles()
magnitudes()
risks()
gtc()
