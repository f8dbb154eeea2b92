//! Extended corresponding states: the dense part of transport from a reference fluid of the same family.
//!
//! **What.** For a fluid without dense correlations of its own (propylene), those of a reference fluid (propane) at the
//! conformal state, scaled.
//!
//! **Equation.** The conformal state `(rho0, T0)` has the same residual Helmholtz energy and compressibility factor in the
//! reference equation as `(rho, T)` in the fluid's own. With `f = T/T0`, `h = (rho0/M0)/(rho/M)`:
//! `mu_d = mu_d0(rho0 psi, T0) sqrt(f M/M0) h^(-2/3)`, `k_d = k_d0(rho0 psi', T0) sqrt(f M0/M) h^(-2/3)`; `psi` are fitted
//! polynomials in density. Thin cold vapour has no conformal state; there, where the dense part is less than a part in a
//! thousand, the ratios of the critical points serve, blended in from 0.005 down to 0.001 of the critical density (our choice).
//!
//! **Valid when.** As far as the reference fluid's correlations reach at the conformal state.
//!
//! **Source.** Huber, Laesecke and Perkins, Ind. Eng. Chem. Res. 42 (2003) 3163; Ely and Hanley, Ind. Eng. Chem. Fundam. 20 (1981) 323.
//!
//! **Checked by.** `transport_agrees_with_the_outside_library`.

use super::super::jets::Dual;
use super::super::pure::PureFluid;

/// State of the reference fluid, with derivatives by the density and temperature of the fluid itself.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Conformal<'a> {
    pub reference: &'a PureFluid,
    pub density: Dual,
    pub temperature: Dual,
    /// Molar mass over that of the reference fluid.
    pub mass_ratio: f64,
}

impl<'a> Conformal<'a> {
    /// The conformal state of residual Helmholtz energy `alpha` and compressibility factor `z`, sought from `start`, which is
    /// density and temperature by the ratios of the critical points; `reduced` is the density over the critical one.
    pub fn find(reference: &'a PureFluid, mass_ratio: f64, alpha: Dual, z: Dual, start: (Dual, Dual), reduced: Dual) -> Self {
        let share = smooth_step(reduced);
        let found = if share.v > 0.0 { solve(reference, alpha, z, (start.0.v, start.1.v)) } else { None };
        let (density, temperature) = found.map_or(start, |(rho, t)| (start.0 + share * (rho - start.0), start.1 + share * (t - start.1)));
        Self { reference, density, temperature, mass_ratio }
    }

    /// `sqrt(f) h^(-2/3)` at density and temperature of the fluid itself.
    pub fn scale(&self, rho: Dual, t: Dual) -> Dual {
        let h = self.density / rho * self.mass_ratio;
        (t / self.temperature).sqrt() * h.powf(-2.0 / 3.0)
    }
}

/// Zero below 0.001, one above 0.005, with continuous slope.
fn smooth_step(reduced: Dual) -> Dual {
    let x = ((reduced.v - 0.001) / 0.004).clamp(0.0, 1.0);
    reduced.chain(x * x * (3.0 - 2.0 * x), 6.0 * x * (1.0 - x) / 0.004)
}

/// Newton in the logarithms of density and temperature, steps bounded; derivatives from the equations solved.
fn solve(reference: &PureFluid, alpha: Dual, z: Dual, start: (f64, f64)) -> Option<(Dual, Dual)> {
    let (mut rho, mut t) = start;
    for _ in 0..40 {
        let r = reference.residual_derivatives(rho, t);
        // by ln rho and ln T of residual energy and compressibility factor
        let [[a, b], [c, d]] = [[r[1][0], -r[0][1]], [r[2][0], -r[1][1]]];
        let determinant = a * d - b * c;
        let invert = |x: f64, y: f64| ((d * x - b * y) / determinant, (a * y - c * x) / determinant);
        let (by_rho, by_t) = invert(alpha.v - r[0][0], z.v - 1.0 - r[1][0]);
        let size = by_rho.abs().max(by_t.abs());
        if !size.is_finite() {
            return None;
        }
        let damped = (0.3 / size).min(1.0);
        rho *= (damped * by_rho).exp();
        t *= (damped * by_t).exp();
        if !(rho < 4.5 * reference.critical_density()
            && t > 0.15 * reference.critical_temperature
            && t < 10.0 * reference.critical_temperature)
        {
            return None;
        }
        if size < 1e-10 {
            let (rho_a, t_a) = invert(alpha.a, z.a);
            let (rho_b, t_b) = invert(alpha.b, z.b);
            return Some((Dual::new(rho, rho * rho_a, rho * rho_b), Dual::new(t, t * t_a, t * t_b)));
        }
    }
    None
}
