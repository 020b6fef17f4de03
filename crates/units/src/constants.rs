//! Physical constants, each with its source. Units are the last words of the name.

/// Molar gas constant (SI brochure 9th ed., exact by the definitions of 2019, rounded to 10 digits), J/(mol K).
pub const GAS_CONSTANT_J_PER_MOL_K: f64 = 8.314_462_618;
/// Molar mass of water, IAPWS R5-85 (from memory), kg/mol.
pub const WATER_MOLAR_MASS_KG_PER_MOL: f64 = 0.018_015_268;
/// Molar mass of dry air, ASHRAE Fundamentals 2017 ch. 1 (from memory), kg/mol.
pub const DRY_AIR_MOLAR_MASS_KG_PER_MOL: f64 = 0.028_966;
/// Gas constant of water vapour (R / M), J/(kg K).
pub const WATER_VAPOUR_GAS_CONSTANT_J_PER_KG_K: f64 = 461.524;
/// Gas constant of dry air, ASHRAE Fundamentals 2017 ch. 1 eq. 1 (from memory), J/(kg K).
pub const DRY_AIR_GAS_CONSTANT_J_PER_KG_K: f64 = 287.042;
/// Ratio of the molar masses of water and dry air, ASHRAE Fundamentals 2017 ch. 1 (from memory).
pub const MOLAR_MASS_RATIO_WATER_TO_AIR: f64 = 0.621_945;
/// 0 degC in kelvin, defined.
pub const ZERO_CELSIUS_K: f64 = 273.15;
/// Standard gravity, defined, m/s2.
pub const STANDARD_GRAVITY_M_PER_S2: f64 = 9.806_65;
/// Stefan-Boltzmann constant (SI 2019, rounded), W/(m2 K4).
pub const STEFAN_BOLTZMANN_W_PER_M2_K4: f64 = 5.670_374e-8;
/// Standard atmosphere, defined, Pa.
pub const STANDARD_PRESSURE_PA: f64 = 101_325.0;
