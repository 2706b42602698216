"""A temperature coefficient from pairs of time and temperature, by scipy's straight-line regression of ln t on T.

Q = exp(-10 slope); the 95 % interval is Student's, by the standard error of the slope with n - 2 degrees of freedom.
"""

import json
import pathlib

import numpy
import scipy
from scipy import stats

rng = numpy.random.default_rng(21)
cases = []
while len(cases) < 80:
    count = int(rng.integers(2, 9))
    q10 = rng.uniform(1.7, 3.6)
    at = numpy.round(numpy.sort(rng.uniform(16, 27, count)), 1)
    if at[-1] - at[0] < 2:
        continue
    minutes = numpy.round(rng.uniform(5, 15) * q10 ** (-(at - 20) / 10) * numpy.exp(rng.normal(0, 0.02, count)), 3)
    fit = stats.linregress(at, numpy.log(minutes))
    learnt = float(numpy.exp(-10 * fit.slope))
    if not 1.5 <= learnt <= 4:
        continue
    case = {"pairs": [[float(t), float(c)] for t, c in zip(minutes, at)], "q10": learnt}
    if count > 2:
        half = float(10 * fit.stderr * stats.t.ppf(0.975, count - 2))
        case |= {"lower95": learnt * numpy.exp(-half), "upper95": learnt * numpy.exp(half)}
    cases.append(case)
out = {"made_by": "tests/reference/wet/pairs.py", "numpy": numpy.__version__, "scipy": scipy.__version__, "cases": cases}
pathlib.Path(__file__).with_name("pairs.json").write_text(json.dumps(out, indent=None, separators=(",", ":")).replace('{"pairs"', '\n{"pairs"') + "\n")
