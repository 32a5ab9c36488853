//! Flitchbook: a small butcher shop's record book for meat that is cured, fermented and dried.

/// Weights, shares, temperatures, money, codes and days: read as people type them, printed as people read them.
pub mod measure;

/// Published formulas: curing, recipes and their scaling, yields, joint cost, drying; each with its source.
pub mod standards;
