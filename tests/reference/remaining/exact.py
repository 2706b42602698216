"""Sixty simulated cans and the exact posterior of what is left, by emcee: exact.json for the Rust test.

Truth is drawn from the priors, evidence from the truth with reading noise and rounding (scale to 1 g, diameter to
0.1 mm). The sampler sees the full non-linear model and the constraint that film left is not negative.
"""

import math

import emcee
import numpy as np

from fixtures import LEARNT, LOADER, STOCK, can, shelf
from _model import CLICK_M, Problem, write

SEED = 20_260
CANS = 60
WALKERS, BURN, STEPS = 64, 1000, 4000
LEARNT_LOADER = {"click_scale": [1.001, 0.0015], "uncounted_mm": [101.0, 6.0]}


def simulate(rng):
    """One single-can shelf, or None when the film ran out before the plan was done."""
    loader = LOADER if rng.random() < 0.6 else LEARNT_LOADER
    stock = STOCK if rng.random() < 0.5 else LEARNT
    nominal = [[30.48, 0.1524], [15.0, 1.5], [20.0, 3.0], [9.0, 0.3]][rng.choice(4, p=[0.55, 0.2, 0.15, 0.1])]
    own = [[150.0, 75.0], [168.0, 1.0], [168.0, 4.0]][rng.choice(3, p=[0.3, 0.4, 0.3])]
    draw = lambda prior: rng.normal(prior[0], prior[1])
    k, u = draw(loader["click_scale"]), draw(loader["uncounted_mm"])
    rho, t = draw(stock["linear_mass_g_per_m"]), draw(stock["thickness_mm"])
    left, tare = draw(nominal), draw(own)
    click = CLICK_M["long"]
    evidence = []
    weighs, gauges = rng.random() < 0.7, rng.random() < 0.5

    def look(chance):
        if weighs and rng.random() < chance:
            evidence.append({"kind": "weigh", "grams": float(round(tare + rho * left + rng.normal(0, 1))), "sd": 1.0})
        if gauges and rng.random() < chance / 2:
            d = math.sqrt(31.75**2 + 4 * left * 1000 * t / math.pi) + rng.normal(0, 0.5)
            evidence.append({"kind": "gauge", "outer_mm": max(31.75, round(d, 1)), "core_mm": 31.75, "sd": 0.5})

    look(0.8)
    for _ in range(rng.integers(1, max(2, int(nominal[0] / 1.7)))):
        clicks = int(rng.choice([12, 18, 24, 30, 42, 42, 42]))
        left -= clicks * click * k + u / 1000
        if left < 0:
            return None
        evidence.append({"kind": "wind", "loader": 0, "clicks": clicks})
        look(0.25)
    look(0.8)
    return shelf([can(evidence, own=own, length=nominal)], [loader], [stock])


def sample(spec, rng):
    p = Problem(spec)
    x, cov = p.fit()
    if np.any(p.weights < 1):
        return None
    root = np.linalg.cholesky(cov)  # walkers live in units of the normal approximation, for the sampler's ease only
    natural = lambda walkers: x[:, None] + root @ walkers.T

    def log_prob(walkers):
        y = natural(walkers)
        left = p.left(y, 0)
        r = [np.atleast_1d(v) for v in p.priors(y)]
        r += [p.reading(y, i, j) for i, j in p.observations]
        out = -0.5 * np.sum(np.array(r) ** 2, axis=0)
        return np.where(left >= 0, out, -np.inf)

    start = rng.normal(size=(4000, len(x)))
    start = start[np.isfinite(log_prob(start))][:WALKERS]
    if len(start) < WALKERS:
        return None
    np.random.seed(int(rng.integers(2**31)))
    sampler = emcee.EnsembleSampler(WALKERS, len(x), log_prob, vectorize=True,
                                    moves=[(emcee.moves.DEMove(), 0.8), (emcee.moves.StretchMove(), 0.2)])
    sampler.run_mcmc(start, BURN + STEPS)
    chain = sampler.get_chain(discard=BURN)
    left = p.left(natural(chain.reshape(-1, len(x))), 0).reshape(STEPS, WALKERS)
    tau = float(emcee.autocorr.integrated_time(left, quiet=True)[0])
    lower, upper = np.quantile(left, [0.025, 0.975])
    return {"mean_m": float(left.mean()), "sd_m": float(left.std()), "lower95_m": float(lower), "upper95_m": float(upper),
            "effective_samples": left.size / tau}


def main():
    rng = np.random.default_rng(SEED)
    cans = []
    while len(cans) < CANS:
        spec = simulate(rng)
        exact = spec and sample(spec, rng)
        if not exact:
            continue
        cans.append({"shelf": spec, **exact})
        print(len(cans), {k: round(v, 4) for k, v in exact.items()}, flush=True)
    head = {"made_by": "tests/reference/remaining/exact.py", "seed": SEED, "numpy": np.__version__, "emcee": emcee.__version__}
    write("exact.json", head, "cans", cans)


if __name__ == "__main__":
    main()
