"""Values by SciPy and statsmodels for the checks of matewell-study.

Run: python make.py > values.csv, in a virtual environment with scipy and
statsmodels. Each row: source,kind,arguments separated by blanks,value.
"""

import re
from pathlib import Path

import numpy as np
import pandas as pd
import scipy
import statsmodels
import statsmodels.api as sm
from scipy import stats
from scipy.optimize import minimize
from statsmodels.formula.api import ols
from statsmodels.stats.anova import anova_lm

SCIPY = f"SciPy {scipy.__version__}"
STATSMODELS = f"statsmodels {statsmodels.__version__}"
DATA = (Path(__file__).parents[2] / "crates/matewell-study/src/published/data.rs").read_text()


def numbers(name):
    text = DATA[DATA.index(f"const {name}:") :]
    body = text[re.search(r"=\s*\[", text).start() :]
    body = body[: body.index("];")]
    return np.array([float(x) for x in re.findall(r"-?\d[\d_]*\.[\d_]+(?:e-?\d+)?", body)])


def row(source, kind, arguments, value):
    print(f"{source},{kind},{' '.join(repr(float(a)) for a in arguments)},{float(value)!r}")


def bands():
    x, y = numbers("NORRIS_X"), numbers("NORRIS_Y")
    fit = sm.OLS(y, sm.add_constant(x)).fit()
    for at in (0.0, 300.0, 1200.0):
        p = fit.get_prediction([[1, at]])
        row(STATSMODELS, "norris_fit_u", [at], p.se_mean[0])
        row(STATSMODELS, "norris_prediction", [at], p.conf_int(obs=True, alpha=0.05)[0][1] - p.predicted_mean[0])
    longley = numbers("LONGLEY").reshape(16, 7)
    fit = sm.OLS(longley[:, 0], sm.add_constant(longley[:, 1:])).fit()
    for n, (b, s) in enumerate(zip(fit.params, fit.bse)):
        row(STATSMODELS, "longley_se", [n], s)
    row(STATSMODELS, "longley_f_probability", [], fit.f_pvalue)
    mates = 50.0 * np.arange(8)
    pins = [-8.0, -7.6, -7.5, -6.9, -6.8, -6.1, -6.0, -5.5]
    fit = sm.OLS(pins, sm.add_constant(mates)).fit()
    row(STATSMODELS, "drift_slope_probability", [], fit.pvalues[1])
    for at in (400.0, 600.0):
        p = fit.get_prediction([[1, at]])
        row(STATSMODELS, "drift_upper", [at], p.conf_int(obs=True, alpha=0.10)[0][1])


def anova():
    study = numbers("STUDY").reshape(3, 3, 10)
    frame = pd.DataFrame(
        [(a, p, study[a, t, p]) for a in range(3) for t in range(3) for p in range(10)],
        columns=["appraiser", "part", "y"],
    )
    table = anova_lm(ols("y ~ C(appraiser) * C(part)", frame).fit())
    names = ["C(appraiser)", "C(part)", "C(appraiser):C(part)", "Residual"]
    for n, name in enumerate(names):
        row(STATSMODELS, "anova_squares", [n], table.loc[name, "sum_sq"])
    for n, name in enumerate(names[:3]):
        row(STATSMODELS, "anova_f_repeatability", [n], table.loc[name, "F"])
    mean_square = table["sum_sq"] / table["df"]
    for n, name in enumerate(names[:2]):
        row(STATSMODELS, "anova_f_interaction", [n], mean_square[name] / mean_square[names[2]])
    row(STATSMODELS, "anova_probability", [2], table.loc[names[2], "PR(>F)"])


def tails():
    for f, d1, d2 in ((0.4337, 18, 60), (4.3, 2, 30), (1.0, 5, 5), (12.5, 1, 8), (0.02, 3, 300)):
        row(SCIPY, "f_tail", [f, d1, d2], stats.f.sf(f, d1, d2))


def lives():
    failed, good = numbers("WEIBULL_FAILURES"), np.full(10, 500.0)

    def loss(p):
        law = stats.weibull_min(p[0], scale=p[1])
        return -law.logpdf(failed).sum() - law.logsf(good).sum()

    best = minimize(loss, [1.7, 600.0], method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-13, "maxiter": 5000})
    row(SCIPY, "weibull_shape", [], best.x[0])
    row(SCIPY, "weibull_scale", [], best.x[1])
    failures, survivors = numbers("SURVIVAL_FAILURES"), numbers("SURVIVAL_SURVIVORS")
    both = stats.CensoredData.right_censored(
        np.concatenate([failures, survivors]), [False] * len(failures) + [True] * len(survivors)
    )
    curve = stats.ecdf(both).sf
    for n, t in enumerate(sorted(failures)):
        row(SCIPY, "survival", [n], curve.evaluate(t))


def charts():
    x = numbers("EWMA")
    z = pd.Series(np.concatenate([[50.0], x])).ewm(alpha=0.3, adjust=False).mean().to_numpy()[1:]
    for n, value in enumerate(z):
        row(f"pandas {pd.__version__}", "ewma", [n], value)


bands()
anova()
tails()
lives()
charts()
