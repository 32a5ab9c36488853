//! Flitchbook: a small butcher shop's record book for meat that is cured, fermented and dried.

