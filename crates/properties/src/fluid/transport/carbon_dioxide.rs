//! Viscosity of carbon dioxide.
//!
//! **What.** Dilute and dense parts of the reference correlation; the initial density dependence is the shared form.
//!
//! **Equation.** `mu0 = 1.0055e-3 sqrt(T) / (a0 + a1 T^(1/6) + a2 exp(a3 T^(1/3)) + (a4 + a5 T^(1/3)) / exp(T^(1/3)) + a6 sqrt(T))` mPa s;
//! `mu_d = mu_t (c1 T_r rho_r^3 + (rho_r^2 + rho_r^g) / (T_r - c2))`, reduced by the liquid at the triple point.
//!
//! **Valid when.** 100 to 2000 K, up to 8 GPa.
//!
//! **Source.** Laesecke and Muzny, J. Phys. Chem. Ref. Data 46 (2017) 013107, equations 4, 8 and 9; coefficients by way of the
//! open source of the outside library.
//!
//! **Checked by.** `transport_agrees_with_the_outside_library`.

use super::super::jets::Dual;
use super::powers;

/// Dilute gas, Pa s.
pub(super) fn dilute_viscosity(t: Dual) -> Dual {
    let root = t.powf(1.0 / 3.0);
    let sum = powers(&[[1_749.354_893_188_35, 0.0], [-369.069_300_007_128, 1.0 / 6.0], [5.343_686_495_092_78, 0.5]], t)
        + (root * -2.212_838_521_683_56).exp() * 5_423_856.348_876_91
        + (root * 73_145.021_531_826 - 269_503.247_933_569) * (-root).exp();
    t.sqrt() / sum * 0.001_005_5
}

/// Dense part, Pa s.
pub(super) fn dense_viscosity(rho: Dual, t: Dual) -> Dual {
    const TRIPLE_TEMPERATURE: f64 = 216.592;
    const TRIPLE_DENSITY: f64 = 1_178.53;
    const MOLAR_MASS: f64 = 44.009_8e-3;
    const GAS_CONSTANT: f64 = 8.314_51;
    let scale =
        TRIPLE_DENSITY.powf(2.0 / 3.0) * (GAS_CONSTANT * TRIPLE_TEMPERATURE).sqrt() / (MOLAR_MASS.powf(1.0 / 6.0) * 84_446_887.435_799_45);
    let (t_r, rho_r) = (t * (1.0 / TRIPLE_TEMPERATURE), rho * (1.0 / TRIPLE_DENSITY));
    let square = rho_r * rho_r;
    let sum = t_r * square * rho_r * 0.360_603_235_428_487 + (square + rho_r.powf(8.062_827_374_812_77)) / (t_r - 0.121_550_806_591_497);
    sum * scale
}
