"""Unit conversions by pint."""

import pint

from frame import text, told

units = pint.UnitRegistry()


def reckon(case):
    return text(units.Quantity(float(case["amount"]), case["from"]).to(case["to"]).magnitude)


told(reckon)
