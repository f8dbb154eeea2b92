//! Viscosity and thermal conductivity of helium.
//!
//! **What.** Viscosity as exponential of a density series; conductivity as dilute part, dense part and critical enhancement.
//!
//! **Equation.** `ln mu = a(x) + B(x) rho + C(x) rho^2 + D(x) rho^3`, `x = ln min(T, 300 K)`, above 100 K with the dilute gas
//! replaced; `k = k0(T) + k_e(rho, T) + k_c`, `k_c` proportional to `sqrt(K_T) T^2 (dp/dT)^2/(rho mu)` and a bell round the critical
//! point. `K_T` is that of the equation of state throughout; the paper changes to a scaled equation within 20 % of the critical
//! temperature and 25 % of the critical density.
//!
//! **Valid when.** 3.5 to 1500 K, up to 100 MPa; the superfluid and what is near it are not covered.
//!
//! **Source.** Arp, McCarty and Friend, NIST Technical Note 1334 (1998); Hands and Arp, Cryogenics 21 (1981) 697; coefficients by
//! way of the open source of the outside library, which says that two of them differ from the paper.
//!
//! **Checked by.** `transport_agrees_with_the_outside_library`.

use super::super::jets::Dual;
use super::{Local, powers};

fn ln(x: Dual) -> Dual {
    x.chain(x.v.ln(), 1.0 / x.v)
}

/// Pa s.
pub(super) fn viscosity(local: &Local) -> Dual {
    let (rho, t) = (local.density * 1e-3, local.temperature);
    let x = if t.v <= 300.0 { ln(t) } else { Dual::constant(300.0_f64.ln()) };
    let series = |c: [f64; 5]| x.recip() * c[0] + (x * (x * (x * c[4] + c[3]) + c[2]) + c[1]);
    let thin = series([-0.135_311_743, 1.003_478_41, 1.206_546_49, -0.149_564_551, 0.012_520_841]);
    let b = series([-47.529_525_9, 87.679_930_9, -42.074_158_9, 8.331_282_89, -0.589_252_385]);
    let c = series([547.309_267, -904.870_586, 431.404_928, -81.450_485_4, 5.370_084_33]);
    let d = series([-1_684.393_24, 3_331.086_30, -1_632.191_72, 308.804_413, -20.293_636_7]);
    let whole = (thin + rho * (b + rho * (c + rho * d))).exp();
    if t.v <= 100.0 {
        return whole * 1e-7;
    }
    let dilute = t.powf(0.719_38) * (t.recip() * 12.451 - t.recip() * t.recip() * 295.67 - 4.124_9).exp() * 196.0;
    (whole + dilute - thin.exp()) * 1e-7
}

/// W/(m K).
pub(super) fn conductivity(local: &Local) -> Dual {
    let (rho, t) = (local.density, local.temperature);
    let u = t.recip();
    let exponent = u * (u * (u * (u * -4.926_397_634e1 + 5.982_252_246e1) - 2.620_316_969e1) + 3.739_232_544);
    let dilute = t.powf(0.703_400_705_7) * exponent.exp() * 2.787_003_4e-3;
    let third = 1.0 / 3.0;
    let first =
        powers(&[[1.862_970_530e-4, 0.0], [-7.275_964_435e-7, 1.0], [-1.427_549_651e-4, third], [3.290_833_592e-5, 2.0 * third]], t);
    let cubic = powers(&[[-5.213_335_363e-8, 0.0], [4.492_659_933e-8, third], [-5.924_416_513e-9, 2.0 * third]], t);
    let mixed =
        powers(&[[7.087_321_137e-6, 0.0], [-6.013_335_678e-6, third], [8.067_145_814e-7, 2.0 * third], [3.995_125_013e-7, -1.0]], t);
    let dense = rho * (first + rho * rho * cubic + rho * mixed * ln(rho * (1.0 / 68.0)));
    dilute + dense + enhancement(local)
}

fn enhancement(local: &Local) -> Dual {
    let (rho, t) = (local.density, local.temperature);
    let (dt, dr) = (t * (1.0 / 5.189_92) - 1.0, rho * (1.0 / 69.158) - 1.0);
    let bell = (dt * dt * -18.66 - dr * dr * dr * dr * 4.25).exp();
    // nothing is left of it above some 12 K; before that the product of a large and a small number is not asked for
    if bell.v < 1e-12 {
        return Dual::constant(0.0);
    }
    let compressibility = (rho * local.p_rho).recip();
    compressibility.sqrt() * t * t * local.p_t * local.p_t * bell / (rho * viscosity(local)) * (3.468_523_3e-17 * 3.726_229_668)
}
