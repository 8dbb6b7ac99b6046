#!/usr/bin/env python3
"""Maximum likelihood, Kolmogorov and Smirnov, Anderson and Darling and AIC by scipy, for fixed values that the tests of
src/calibrate/laws.rs and src/calibrate/goodness.rs read from scipy_fits.txt beside this script. Needs numpy and scipy, no
network.

    python scipy_fits.py            prints the file anew
    python scipy_fits.py --check    compares it with the one that is kept, to 8 digits
"""

import math
import pathlib
import sys

import numpy as np
import scipy
from scipy import stats

# Written down by hand: ten values, thirty with one far out, and ten a thousandth of the first.
TEN = [1.2, 0.8, 2.5, 1.9, 0.7, 3.1, 1.4, 1.1, 2.2, 0.9]
CODEC = [3.981, 4.112, 4.027, 4.318, 3.902, 4.871, 4.056, 3.944, 4.203, 4.097, 4.488, 3.871, 4.001, 4.149, 4.064,
         5.903, 3.967, 4.021, 4.254, 4.083, 3.915, 4.172, 4.039, 4.361, 3.988, 4.118, 4.007, 4.229, 3.934, 4.075]
SETS = {"ten": TEN, "codec": CODEC, "small": [1e-3 * x for x in TEN]}


def anderson(cdf, values):
    """A^2 by its definition (Anderson and Darling 1952), with scipy's distribution functions."""
    x = np.sort(values)
    n = len(x)
    i = np.arange(1, n + 1)
    return -n - np.sum((2 * i - 1) * (cdf.logcdf(x) + cdf.logsf(x[::-1]))) / n


def laws(values):
    """Each family at its maximum, location 0 where it has one, and how many parameters were estimated."""
    yield "Normal", stats.norm(*stats.norm.fit(values)), 2
    shape, _, scale = stats.lognorm.fit(values, floc=0)
    # scipy's search stops within 1e-8 of the maximum; the closed form is the maximum.
    logs = np.log(values)
    assert abs(shape - logs.std()) < 1e-5 and abs(math.log(scale) - logs.mean()) < 1e-5
    yield "LogNormal", stats.lognorm(logs.std(), 0, math.exp(logs.mean())), 2
    shape, _, scale = stats.gamma.fit(values, floc=0)
    # The same for gamma: the root of its equation, to the last digit.
    s = math.log(np.mean(values)) - logs.mean()
    root = scipy.optimize.brentq(lambda k: math.log(k) - scipy.special.digamma(k) - s, shape / 2, shape * 2, xtol=1e-13)
    assert abs(root / shape - 1) < 1e-5
    yield "Gamma", stats.gamma(root, 0, np.mean(values) / root), 2
    yield "Exponential", stats.expon(*stats.expon.fit(values, floc=0)), 1


def lines():
    yield f"# scipy {scipy.__version__}, numpy {np.__version__}"
    yield "# values: name, numbers"
    for name, values in SETS.items():
        yield f"values {name} " + " ".join(f"{x:.10g}" for x in values)
    yield "# law: values, family, mean, cv, log-likelihood, AIC, Kolmogorov and Smirnov, Anderson and Darling"
    for name, values in SETS.items():
        for family, law, parameters in laws(np.array(values)):
            likelihood = law.logpdf(values).sum()
            row = [law.mean(), law.std() / law.mean(), likelihood, 2 * parameters - 2 * likelihood,
                   stats.kstest(values, law.cdf).statistic, anderson(law, values)]
            yield f"law {name} {family} " + " ".join(f"{x:.12g}" for x in row)
    yield "# two: values, factor, distance of Kolmogorov and Smirnov from the values times the factor"
    for name, factor in [("ten", 1.3), ("ten", 1.0), ("codec", 1.02), ("codec", 2.0)]:
        values = np.array(SETS[name])
        yield f"two {name} {factor} {stats.ks_2samp(values, values * factor).statistic:.12g}"
    yield "# kolmogorov: n, distance, probability of a greater one"
    for n, distance in [(10, 0.3), (30, 0.2), (100, 0.12066), (100, 0.16081), (1000, 0.04278), (1000, 0.06146),
                        (10000, 0.01222), (10000, 0.01626)]:
        yield f"kolmogorov {n} {distance} {stats.kstwo.sf(distance, n):.6f}"


def same(a, b):
    try:
        return math.isclose(float(a), float(b), rel_tol=1e-8, abs_tol=1e-12)
    except ValueError:
        return a == b


def main():
    made = list(lines())
    if sys.argv[1:] != ["--check"]:
        print("\n".join(made))
        return 0
    kept = pathlib.Path(__file__).with_suffix(".txt").read_text(encoding="utf-8").splitlines()
    pairs = [(a.split(), b.split()) for a, b in zip(kept, made) if not a.startswith("#")]
    other = [a for a, b in pairs if len(a) != len(b) or not all(map(same, a, b))]
    if len(kept) != len(made) or other:
        print(f"scipy_fits.txt differs: {len(kept)} lines kept, {len(made)} made; {other}")
        return 1
    print(f"{len(pairs)} lines agree; kept: {kept[0][2:]}; here: {made[0][2:]}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
