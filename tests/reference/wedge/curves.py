"""Exact strips with their numbers, and 200 noisy strips with what general-purpose smooths make of them.

The noisy strips are read by four ways: PCHIP through the readings, a smoothing spline by generalised cross-validation,
a smoothing spline told the noise, and a least-squares softplus toe and line. Each has base + fog read separately, as
the bench has.
"""

import json
import pathlib
import warnings

import numpy
import scipy
from _film import LOG_H, density, films, numbers
from scipy.interpolate import PchipInterpolator, UnivariateSpline, make_smoothing_spline
from scipy.optimize import brentq, curve_fit

rng = numpy.random.default_rng(20)


def rounded(values):
    return [round(float(v), 5) for v in values]


exact = []
for film in films(rng, 24):
    curve = lambda x, film=film: float(density(film, x))  # noqa: E731
    exact.append({
        "shape": film["shape"], "base_fog": film["base"], "density": [float(v) for v in density(film, LOG_H)],
        "d_max": curve(LOG_H[-1]), **numbers(curve, film["base"]),
    })


def toe(x, base, gamma, foot, k):
    return base + gamma / k * numpy.logaddexp(0, k * (x - foot))


def first_crossing(curve, level):
    """Lowest log H at which a curve that need not rise everywhere passes a density for good."""
    grid = numpy.linspace(LOG_H[0], LOG_H[-1], 601)
    above = curve(grid) > level
    if not above[-1] or above[0]:
        return None
    last = int(numpy.nonzero(~above)[0][-1])
    return float(brentq(lambda x: curve(x) - level, grid[last], grid[last + 1]))


noisy = []
for n, film in enumerate(films(rng, 200)):
    sd = [0.005, 0.01, 0.02, 0.03][n // 4 % 4]
    read = density(film, LOG_H) + sd * rng.standard_normal(LOG_H.size)
    base = film["base"] + sd * rng.standard_normal()
    ways = {
        "pchip": PchipInterpolator(LOG_H, read),
        "smoothing_spline": make_smoothing_spline(LOG_H, read),
        "univariate_spline": UnivariateSpline(LOG_H, read, s=LOG_H.size * sd * sd),
    }
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            fit, _ = curve_fit(toe, LOG_H, read, p0=[base, 0.7, -2.1, 5.0], maxfev=20000)
            ways["curve_fit"] = lambda x, fit=fit: toe(x, *fit)
        except RuntimeError:
            pass
    truth = numbers(lambda x, film=film: float(density(film, x)), film["base"])
    noisy.append({
        "sd": sd, "base_fog": round(float(base), 5), "density": rounded(read),
        "true_base_fog": film["base"], "true_log_h": truth["log_h"], "true_contrast_index": truth["contrast_index"],
        "log_h": {name: first_crossing(curve, base + 0.10) for name, curve in ways.items()},
    })

out = {
    "made_by": "tests/reference/wedge/curves.py", "numpy": numpy.__version__, "scipy": scipy.__version__,
    "log_h": rounded(LOG_H), "exact": exact, "noisy": noisy,
}
pathlib.Path(__file__).with_name("curves.json").write_text(json.dumps(out, indent=None, separators=(",", ":")) + "\n")
