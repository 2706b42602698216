"""Time scipy.optimize.least_squares on the shelves of the example bench_remaining, made here once more.

Vectorised residuals and an exact dense Jacobian, one solve (method lm) and one covariance. Judging outliers is not part
of it; the shelves have none. 400 cans take scipy some twenty seconds, so it stops at 100.
"""

import json
import math
import time

import numpy as np
from scipy.optimize import least_squares

WINDINGS, LOADERS = 50, 5


def shelf(cans):
    """Readings as (kind, can, value, clicks per loader, rolls per loader), and what the last can has drawn."""
    state = 1

    def draw():
        nonlocal state
        state = (state * 6364136223846793005 + 1442695040888963407) % 2**64
        return (state >> 40) / 2**24 - 0.5

    readings = []
    for i in range(cans):
        left = 30.48 + 0.4 * draw()
        tare, g_per_m = 160.0 + i // 10 % 7 + 3.0 * draw(), 7.3 + i // 10 % 5 * 0.1
        clicks, rolls = [0.0] * LOADERS, [0.0] * LOADERS
        for n in range(WINDINGS):
            if n % 9 == 0:
                readings.append(("weigh", i, math.floor(tare + g_per_m * left + 3.0 * draw() + 0.5), clicks[:], rolls[:]))
            c = math.floor(12.0 + 4.0 * draw() + 0.5)
            left -= c * 0.038 + 0.095
            clicks[n % LOADERS] += c
            rolls[n % LOADERS] += 1
        if i % 2 == 0:
            clicks[i // 2 % LOADERS] += math.floor((left - 0.095) / 0.038)
            rolls[i // 2 % LOADERS] += 1
            readings.append(("end", i, 0.0, clicks[:], rolls[:]))
            readings.append(("weigh_empty", i, math.floor(tare + 0.5), clicks[:], rolls[:]))
    return readings, clicks, rolls


def solve(cans):
    groups = -(-cans // 10)
    readings, last_clicks, last_rolls = shelf(cans)
    loaders = LOADERS
    kind, can, value, clicks, rolls = (np.array(column) for column in zip(*readings))
    read, clicks = readings, clicks * 0.038
    group = can // 10
    sd = np.where(kind == "end", 0.019, 1.0)

    # Unknowns, in units of their prior sd: k, u (m), g/m, mean tare, then per can length and departure of its tare.
    mean = np.concatenate([np.full(loaders, 1.0), np.full(loaders, 0.095), np.full(groups, 7.5), np.full(groups, 150.0),
                           np.full(cans, 30.48), np.zeros(cans)])
    unit = np.concatenate([np.full(loaders, 0.003), np.full(loaders, 0.025), np.full(groups, 0.75), np.full(groups, 75.0),
                           np.full(cans, 0.1524), np.full(cans, 1.0)])
    at = np.cumsum([0, loaders, loaders, groups, groups, cans])
    row = np.arange(len(read))
    weigh, empty = kind == "weigh", kind == "weigh_empty"

    def parts(z):
        x = mean + unit * z
        left = x[at[4] + can] - clicks @ x[:loaders] - rolls @ x[at[1]:at[2]]
        return x, left

    def residuals(z):
        x, left = parts(z)
        rho, tare = x[at[2] + group], x[at[3] + group] + x[at[5] + can]
        predicted = np.where(weigh, tare + rho * left, np.where(empty, tare, left))
        return np.concatenate([z, (predicted - value) / sd])

    def jacobian(z):
        x, left = parts(z)
        d_left = np.where(weigh, x[at[2] + group], np.where(empty, 0.0, 1.0))
        d_tare = np.where(weigh | empty, 1.0, 0.0)
        j = np.zeros((len(read), len(z)))
        j[:, :loaders] = -d_left[:, None] * clicks
        j[:, at[1]:at[2]] = -d_left[:, None] * rolls
        j[row, at[2] + group] = np.where(weigh, left, 0.0)
        j[row, at[3] + group] = d_tare
        j[row, at[4] + can] = d_left
        j[row, at[5] + can] = d_tare
        return np.vstack([np.eye(len(z)), j * unit / sd[:, None]])

    start = time.perf_counter()
    fit = least_squares(residuals, np.zeros(len(mean)), jac=jacobian, method="lm", xtol=1e-12, ftol=1e-12, gtol=1e-12)
    j = jacobian(fit.x)
    cov = np.linalg.inv(j.T @ j)
    seconds = time.perf_counter() - start

    g = np.zeros(len(mean))
    g[:loaders], g[at[1]:at[2]], g[at[4] + cans - 1] = -np.array(last_clicks) * 0.038, -np.array(last_rolls), 1.0
    left, left_sd = g @ (mean + unit * fit.x), math.sqrt((g * unit) @ cov @ (g * unit))
    return seconds, left, left_sd


def main():
    for cans in (40, 100):
        seconds, left, sd = solve(cans)
        print(json.dumps({"bench": f"what is left: {cans} cans, {cans * WINDINGS} windings", "tool": "scipy least_squares",
                          "seconds": seconds, "last_can_m": f"{left:.6f}", "sd_m": f"{sd:.6f}"}))


if __name__ == "__main__":
    main()
