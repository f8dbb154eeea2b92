//! Dense part of the viscosity of normal hydrogen.
//!
//! **What.** Correlation found by symbolic regression.
//!
//! **Equation.** `mu_d = c1 rho_r^2 exp(c2 T_r + c3/T_r + c4 rho_r^2/(c5 + T_r) + c6 rho_r^6)`, `rho_r = rho/(90.909 kg/m3)`.
//!
//! **Valid when.** Triple point to 1000 K, up to 200 MPa.
//!
//! **Source.** Muzny, Huber and Kazakov, J. Chem. Eng. Data 58 (2013) 969; coefficients by way of the open source of the
//! outside library.
//!
//! **Checked by.** `transport_agrees_with_the_outside_library`.

use super::super::jets::Dual;

/// Pa s.
pub(super) fn dense_viscosity(rho: Dual, t: Dual) -> Dual {
    let (r, t_r) = (rho * 0.011, t * (1.0 / 33.145));
    let square = r * r;
    let exponent = t_r * 4.563_340_68e-2
        + t_r.recip() * 2.327_978_68e-1
        + square * 9.583_261_20e-1 / (t_r + 1.279_411_89e-1)
        + square * square * square * 3.635_765_95e-1;
    square * exponent.exp() * 6.434_496_73e-6
}
