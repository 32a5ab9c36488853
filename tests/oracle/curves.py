"""Curves through losses by scipy's curve_fit: each family at its least squares, told by what it says on each day."""

import numpy
from scipy.optimize import curve_fit

from frame import text, told

FAMILIES = {
    "levels": (lambda t, most, rate: most * (1 - numpy.exp(-rate * t)), (0.4, 0.03), ((0, 0.001), (0.8, 0.5))),
    "power": (lambda t, scale, power: scale * t**power, (0.05, 0.5), ((0, 0.15), (numpy.inf, 1.2))),
}


def reckon(case):
    days, losses = numpy.array(case["days"]), numpy.array(case["losses"])
    family, start, bounds = FAMILIES[case["family"]]
    found, _ = curve_fit(family, days, losses, p0=start, bounds=bounds, xtol=1e-12, ftol=1e-12, gtol=1e-12, max_nfev=20000)
    return [text(loss) for loss in family(days, *found)]


told(reckon)
