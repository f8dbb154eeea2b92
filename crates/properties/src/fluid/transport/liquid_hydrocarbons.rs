//! Dense part of the viscosity of hexane, heptane, benzene and toluene.
//!
//! **What.** Four correlations of one family, each a rational function of reduced density and temperature found by search.
//!
//! **Equation.** `mu_d = rho_r^(2/3) sqrt(T_r) f(rho_r, T_r)`, `f` as below, micropascal seconds.
//!
//! **Valid when.** Triple point to 600 K (hexane, heptane) or 675 K (benzene, toluene); up to 100, 248, 300, 500 MPa.
//!
//! **Source.** Michailidou et al., J. Phys. Chem. Ref. Data 42 (2013) 033104 and 43 (2014) 023103; Avgeri et al., J. Phys. Chem.
//! Ref. Data 43 (2014) 033103 and 44 (2015) 033101; coefficients by way of the open source of the outside library.
//!
//! **Checked by.** `transport_agrees_with_the_outside_library`.

use super::super::jets::Dual;

/// Reduced density and temperature, and the factor that all four share, with micropascal turned to pascal.
fn reduced(rho: Dual, t: Dual, critical_density: f64, critical_temperature: f64) -> (Dual, Dual, Dual) {
    let (r, t_r) = (rho * (1.0 / critical_density), t * (1.0 / critical_temperature));
    (r, t_r, r.powf(2.0 / 3.0) * t_r.sqrt() * 1e-6)
}

pub(super) fn hexane(rho: Dual, t: Dual) -> Dual {
    let (r, t_r, factor) = reduced(rho, t, 233.182, 507.82);
    let first = t_r.recip() * 2.534_023_35;
    let second = (t_r + r * r * 158.557_163_1 + 0.469_437_316).recip() * -9.724_061_002;
    let bottom = t_r * 8.628_373_915 + r * -6.613_464_41 + r * r + r * t_r * -2.212_724_566 + 10.607_512_53;
    factor * (first + second + (r + 1.0) * 72.429_168_56 / bottom)
}

pub(super) fn heptane(rho: Dual, t: Dual) -> Dual {
    let (r, t_r, factor) = reduced(rho, t, 232.0, 540.13);
    let bottom = t_r * 9.519_00 + r * -6.340_76 + r * r + r * t_r * -2.519_09 + 9.734_49;
    factor * (r * (r * (r * 3.717_91 - 15.008_70) + 22.150_00) + r * 77.728_18 / bottom)
}

pub(super) fn benzene(rho: Dual, t: Dual) -> Dual {
    let (r, t_r, factor) = reduced(rho, t, 304.792, 562.02);
    let square = r * r;
    let second = r * 86.062_60 / (t_r * 1.111_30 - r + 2.748_72);
    let third = (r * -134.133_0 + square * -352.473) / (square * 88.417_4 + 6.609_89);
    factor * (square * -9.989_45 + second + third)
}

pub(super) fn toluene(rho: Dual, t: Dual) -> Dual {
    let (r, t_r, factor) = reduced(rho, t, 291.987, 591.75);
    let square = r * r;
    let first = (r * 19.919_216 + square * square * -2.655_790_5) / t_r;
    let second = square * r * -135.904_211 / (square + t_r * -11.014_795 - 7.996_271_9);
    factor * (first + second + r * -10.113_817)
}
