//! Molar masses, kg/mol (IUPAC atomic weights; dry air with 0.04 % carbon dioxide).

/// Of water.
pub(crate) const WATER: f64 = 0.018_015_28;
/// Of dry air.
pub(crate) const DRY_AIR: f64 = 0.028_964_6;
/// Of carbon dioxide.
pub(crate) const CARBON_DIOXIDE: f64 = 0.044_009_5;
