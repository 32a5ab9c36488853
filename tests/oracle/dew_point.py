"""Dew points by psychrolib, which follows the ASHRAE Handbook of Fundamentals."""

import psychrolib

from frame import text, told

psychrolib.SetUnitSystem(psychrolib.SI)


def reckon(case):
    return text(psychrolib.GetTDewPointFromRelHum(float(case["celsius"]), float(case["humidity"]) / 100))


told(reckon)
