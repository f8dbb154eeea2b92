//! Thermal conductivity of methane.
//!
//! **What.** Dilute gas by a modified Eucken relation, dense part, and critical enhancement from the equation of state.
//!
//! **Equation.** `k0 = 0.51828 mu0 (3.75 - f (tau^2 alpha0'' + 1.5))`, `f = 1.45885 - 0.4377162/T*`;
//! `k_d = 6.29638 (sum j delta^r tau^s + j7 delta^2 / delta_s)`, `delta_s` the reduced density of saturated vapour for vapour
//! below the critical temperature, else 1; `k_c = 91.855 / (mu tau^2) (dp/dT / (rho R))^2 chi^0.4681 F`,
//! `chi = 0.28631 delta tau R T / (dp/drho)`. All in mW/(m K), viscosities in micropascal seconds.
//! Inside 3 % of critical temperature and density the paper changes to a scaled equation for `chi`; here `chi` stays that of
//! the equation of state (Setzmann and Wagner), held finite at the critical point.
//!
//! **Valid when.** 91 to 600 K, up to 100 MPa; near the critical point less sure.
//!
//! **Source.** Friend, Ely and Ingham, J. Phys. Chem. Ref. Data 18 (1989) 583, equations 10 to 26; coefficients by way of the
//! open source of the outside library.
//!
//! **Checked by.** `transport_agrees_with_the_outside_library`.

use super::super::jets::Dual;
use super::{Local, powers, products};

const DENSITY: f64 = 10_139.0 * 16.042_8e-3;
const TEMPERATURE: f64 = 190.55;
/// Rows a, t of the collision integral in `T/174 K`, the square root of temperature multiplied in.
const DILUTE: [[f64; 2]; 9] = [
    [-3.032_813_828_1, -0.5],
    [16.918_880_086, 1.0 / 3.0 - 0.5],
    [-37.189_364_917, 2.0 / 3.0 - 0.5],
    [41.288_861_858, 0.5],
    [-24.615_921_140, 4.0 / 3.0 - 0.5],
    [8.948_843_095_9, 5.0 / 3.0 - 0.5],
    [-1.873_924_504_2, 1.5],
    [0.209_661_013_90, 7.0 / 3.0 - 0.5],
    [-9.657_043_707_4e-3, 8.0 / 3.0 - 0.5],
];
/// Rows n, s, r of `n tau^s delta^r`.
const NUMERATOR: [[f64; 3]; 9] = [
    [0.412_501_37, 0.0, 1.0],
    [-0.143_909_12, 1.0, 1.0],
    [0.103_669_93, 0.0, 2.0],
    [0.402_874_64, 1.0, 2.0],
    [-0.249_035_24, 1.5, 2.0],
    [-0.129_531_31, 0.0, 3.0],
    [0.065_757_76, 2.0, 3.0],
    [0.025_666_28, 0.0, 4.0],
    [-0.037_165_26, 1.0, 4.0],
];
const DENOMINATOR: [[f64; 3]; 2] = [[-0.387_983_41, 0.0, 1.0], [0.035_338_15, 1.0, 1.0]];
const DENSE: [[f64; 3]; 6] = [
    [2.414_920_7, 0.0, 1.0],
    [0.551_663_31, 0.0, 3.0],
    [-0.528_377_34, 0.0, 4.0],
    [0.073_809_553, 1.0, 4.0],
    [0.244_655_07, 0.0, 5.0],
    [-0.047_613_626, 1.0, 5.0],
];

/// Whole conductivity, W/(m K).
pub(super) fn conductivity(local: &Local) -> Dual {
    let (delta, tau) = (local.density * (1.0 / DENSITY), local.temperature.recip() * TEMPERATURE);
    let star = local.temperature * (1.0 / 174.0);
    let dilute = powers(&DILUTE, star) * 10.50;
    let viscosity = dilute + products(&NUMERATOR, tau, delta) / (products(&DENOMINATOR, tau, delta) + 1.0) * 12.149;

    let internal = star.recip() * -0.437_716_2 + 1.458_850;
    let thin = dilute * (-(internal * (local.ideal_curvature + 1.5)) + 3.75) * 0.518_28;

    let square = delta * delta * 1.555_461_2;
    let last = local.saturated_vapour.map_or(square, |s| square / (s * (1.0 / DENSITY)));
    let dense = (products(&DENSE, tau, delta) + last) * 6.296_38;

    (thin + dense + enhancement(local, delta, tau, viscosity)) * 1e-3
}

fn enhancement(local: &Local, delta: Dual, tau: Dual, viscosity: Dual) -> Dual {
    let ideal = local.temperature * local.gas_constant;
    let chi = delta * tau * ideal / local.p_rho * 0.286_31;
    let slope = local.p_t / (local.density * local.gas_constant);
    // the root of the distance from the critical temperature, its slope kept finite at zero
    let t = -tau.recip() + 1.0;
    let root = (t * t + 1e-14).powf(0.25);
    let rho = -delta + 1.0;
    let f = (root * -2.646 - rho * rho * 2.678 + rho * 0.637).exp();
    slope * slope * chi.powf(0.468_1) * f / (viscosity * tau * tau) * 91.855
}
