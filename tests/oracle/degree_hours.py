"""Degrees above a critical temperature, integrated over a curve of straight lines: by scipy's quadrature, told of each corner."""

import numpy
from scipy.integrate import quad

from frame import text, told


def reckon(case):
    hours = [float(hour) for hour, _ in case["knots"]]
    degrees = [float(degree) for _, degree in case["knots"]]
    base = float(case["base"])

    def above(hour):
        return max(numpy.interp(hour, hours, degrees) - base, 0.0)

    whole = 0.0
    for begins, ends, cold, warm in zip(hours, hours[1:], degrees, degrees[1:]):
        crosses = (cold - base) * (warm - base) < 0
        corner = [begins + (base - cold) / (warm - cold) * (ends - begins)] if crosses else None
        whole += quad(above, begins, ends, points=corner, epsabs=1e-10, epsrel=1e-12)[0]
    return text(whole)


told(reckon)
