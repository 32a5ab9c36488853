"""The blend nearest to the shares on hand, by scipy's general minimiser."""

import numpy
from scipy.optimize import minimize

from frame import text, told


def reckon(case):
    held = numpy.array([float(bin["held"]) for bin in case["bins"]])
    lean = numpy.array([float(bin["lean"]) for bin in case["bins"]]) / 100
    total, target = float(case["total"]), float(case["target"]) / 100
    # In shares of the total, so that the minimiser's tolerances mean the same for a tub and for a truck.
    held, start = held / total, held / held.sum()
    found = minimize(
        lambda x: ((x - start) ** 2).sum(),
        start,
        jac=lambda x: 2 * (x - start),
        bounds=[(0, most) for most in held],
        constraints=[
            {"type": "eq", "fun": lambda x: x.sum() - 1, "jac": lambda x: numpy.ones_like(x)},
            {"type": "eq", "fun": lambda x: x @ lean - target, "jac": lambda x: lean},
        ],
        method="SLSQP",
        options={"ftol": 1e-14, "maxiter": 1000},
    )
    assert found.success, found.message
    return [text(share * total) for share in found.x]


told(reckon)
