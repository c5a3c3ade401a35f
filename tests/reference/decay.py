"""Fits of decay curves by scipy, as a check of the fits of src/judge/decay.rs.

Writes decay.toml beside it: readings with noise from a fixed seed, and what scipy's curve_fit
(general-purpose least squares) finds for the logarithm of the brightness.
"""
import pathlib

import numpy as np
from scipy.optimize import curve_fit

rng = np.random.default_rng(20260301)
rows = ["# Written by decay.py; scipy.optimize.curve_fit on the logarithm of noisy readings."]


def power(t, log_a, n):
    return log_a - n * np.log(t)


def exponentials(t, a1, t1, a2, t2):
    return np.log(np.exp(a1 - t / np.exp(t1)) + np.exp(a2 - t / np.exp(t2)))


times = np.geomspace(10, 7200, 40)
cases = [
    ("power", power(times, np.log(900), 0.93)),
    ("exponentials", exponentials(times, np.log(300), np.log(90), np.log(15), np.log(2500))),
    ("exponentials", exponentials(times, np.log(50), np.log(300), np.log(8), np.log(4000))),
]
for kind, curve in cases:
    noisy = curve + rng.normal(0, 0.03, len(times))
    model, start = (power, (6, 1)) if kind == "power" else (exponentials, (5, 4.5, 2, 8))
    found, _ = curve_fit(model, times, noisy, p0=start, maxfev=20000)
    rss = float(np.sum((noisy - model(times, *found)) ** 2))
    rows += [
        "",
        "[[case]]",
        f'kind = "{kind}"',
        f"time_s = {[float(f'{t:.6g}') for t in times]}",
        f"brightness = {[float(f'{b:.6g}') for b in np.exp(noisy)]}",
        f"found = {[float(f'{p:.6g}') for p in found]}",
        f"rms = {(rss / len(times)) ** 0.5:.6g}",
    ]
pathlib.Path(__file__).with_suffix(".toml").write_text("\n".join(rows) + "\n")
