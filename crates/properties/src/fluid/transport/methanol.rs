//! Viscosity of methanol.
//!
//! **What.** Gas with second and third viscosity virial coefficients, dense fluid as hard spheres whose diameter follows
//! temperature and density, one blended into the other round the critical density.
//!
//! **Equation.** `mu = mu0 (f (1 + B n + C n^2) + (1 - f) (1/g + 0.8 b n + 0.761 g (b n)^2))`, `f = 1/(1 + exp(5 (rho_r - 1)))`,
//! `g = (1 - z/2)/(1 - z)^3`, `z = b n/4`, `b = 2/3 pi N s^3`; `mu0` of the Stockmayer potential.
//!
//! **Valid when.** Triple point to 630 K, up to 8 GPa.
//!
//! **Source.** Xiang, Laesecke and Huber, J. Phys. Chem. Ref. Data 35 (2006) 1597; coefficients by way of the open source of
//! the outside library.
//!
//! **Checked by.** `transport_agrees_with_the_outside_library`.

use super::super::jets::Dual;
use super::{polynomial, powers};

const MOLAR_MASS: f64 = 32.042_16e-3;
const AVOGADRO: f64 = 6.022_141_29e23;
const EPSILON: f64 = 577.87;
const SIGMA: f64 = 0.3408e-9;
const HARD_SPHERE: f64 = 0.719_342_2e-9;
const SECOND: [[f64; 2]; 9] = [
    [-19.572_881, 0.0],
    [219.739_99, -0.25],
    [-1_015.322_6, -0.5],
    [2_471.012_51, -0.75],
    [-3_375.171_7, -1.0],
    [2_491.659_7, -1.25],
    [-787.260_86, -1.5],
    [14.085_455, -2.5],
    [-0.346_641_58, -5.5],
];
const BY_INVERSE_TEMPERATURE: [f64; 7] =
    [-1.181_909, 0.503_103_0, -0.626_846_1, 0.516_931_2, -0.235_134_9, 5.398_023_5e-2, -4.906_961_7e-3];
const BY_DENSITY: [f64; 10] =
    [0.0, 4.018_368, -4.239_180, 2.245_110, -0.575_069_8, 2.302_102_6e-2, 2.569_677_5e-2, -6.837_274_9e-3, 7.270_718_9e-4, -2.925_571_1e-5];

/// Pa s.
pub(super) fn viscosity(rho: Dual, t: Dual) -> Dual {
    let molar = rho * (1.0 / MOLAR_MASS);
    let star = t * (1.0 / EPSILON);
    let volume = AVOGADRO * SIGMA.powi(3);
    let second = powers(&SECOND, star) * volume;
    let third = star * star * star * (star.powf(-0.5) * 9.990_338).exp() * (1.862_220_85e-3 * volume * volume);
    let gas = (third * molar + second) * molar + 1.0;

    let r = rho * (1.0 / 273.0);
    let diameter = (polynomial(&BY_INVERSE_TEMPERATURE, t.recip() * 512.6) + polynomial(&BY_DENSITY, r)) * HARD_SPHERE;
    let b = diameter * diameter * diameter * molar * (2.0 * std::f64::consts::PI * AVOGADRO / 3.0);
    let hollow = -b * 0.25 + 1.0;
    let g = (-b * 0.125 + 1.0) / (hollow * hollow * hollow);
    let spheres = g.recip() + b * 0.8 + g * b * b * 0.761;

    let share = (((r - 1.0) * 5.0).exp() + 1.0).recip();
    dilute(t, star) * (share * gas + (-share + 1.0) * spheres)
}

fn dilute(t: Dual, star: Dual) -> Dual {
    const DELTA: f64 = 0.4575;
    let lennard_jones = star.powf(-0.148_74) * 1.161_45 + (star * -0.773_20).exp() * 0.524_87 + (star * -2.437_87).exp() * 2.161_78;
    let polar = star.powf(-0.973_46) * 0.102_25 + (star * -0.345_28).exp() * 0.106_57 - (star * -2.580_55).exp() * 0.445_57;
    let weight = DELTA * DELTA / (1.0 + 0.959_76e-3 * DELTA.powi(6));
    let integral = lennard_jones * (polar * weight + 1.0);
    (t * (MOLAR_MASS * 1e3)).sqrt() / integral * (2.669_57e-26 / (SIGMA * SIGMA))
}
