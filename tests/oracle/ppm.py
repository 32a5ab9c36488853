"""Ingoing nitrite by the five published methods, carried through with units by pint: the answer has to be a pure ratio."""

import pint

from frame import text, told

units = pint.UnitRegistry()


def of(pair):
    return units.Quantity(float(pair[0]), pair[1])


def reckon(case):
    salt = of(case["cure"]) * float(case["strength"]) / 100
    method = case["method"]
    if method in ("comminuted", "dry"):
        ratio = salt / of(case["meat"])
    elif method in ("pumped", "pick-up"):
        # What the pickle holds, times the pickle that a piece of one kilogram takes.
        green = units.Quantity(1, "kg")
        ratio = salt / of(case["pickle"]) * (green * float(case["taken"]) / 100) / green
    else:
        ratio = salt / (of(case["meat"]) + of(case["pickle"]))
    return text(ratio.to("mg/kg").magnitude)


told(reckon)
