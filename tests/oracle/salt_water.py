"""Water activity of sodium chloride in water at 25 degrees C, by Pitzer's equations (Pitzer and Mayorga 1973)."""

import math

from frame import text, told

A_PHI, B, ALPHA = 0.392, 1.2, 2.0
BETA_0, BETA_1, C_PHI = 0.0765, 0.2664, 0.00127
WATER, SALT = 18.0153, 58.443


def reckon(case):
    molality = float(case["grams"]) * 10 / SALT
    root = math.sqrt(molality)
    osmotic = (
        1
        - A_PHI * root / (1 + B * root)
        + molality * (BETA_0 + BETA_1 * math.exp(-ALPHA * root))
        + molality**2 * C_PHI
    )
    return text(math.exp(-2 * molality * osmotic * WATER / 1000))


told(reckon)
