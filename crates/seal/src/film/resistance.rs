//! Resistance of a thin film to pressure flow and to shear, beyond the laminar continuum.
//!
//! **What.** Factor on the viscosity of the pressure flow (1 in a laminar continuum film) and on the viscous shear.
//! **Equation.** Turbulent Couette flow: `k = 12 + 0.0043 Re^0.96`, shear `1 + 0.0012 Re^0.94`, `Re = rho r w h/mu`. Turbulent pressure flow
//! (bulk-flow friction): `k = 0.066 Re_p^(3/4)`, `Re_p = rho u h/mu`. Both excesses over 12 add as root of squares. Gas: flow times `Q/(D/6)` with the
//! kinetic flow rate `Q(D)`, `D = p h/(mu sqrt(2 R T))`.
//! **Valid when.** Laminar below a Reynolds number of 1000, the turbulent coefficients above 1600, a smooth blend between. Slip: full weight below
//! a tenth of the critical density, none above half of it.
//! **Source.** Ng and Pan 1965 and Constantinescu (coefficients from memory); Hirs 1973 (friction law, from memory); Fukui and Kaneko, J.
//! Tribol. 112 (1990) 78 (flow rate, from memory); Burgdorfer 1959 (first-order slip).
//! **Checked by.** F5, K1, K2.

use halfmicron_numerics::jet::Jet;

use crate::model::Slip;

/// Reynolds numbers between which laminar and turbulent laws are blended.
pub const LAMINAR_REYNOLDS: f64 = 1000.0;
/// See [`LAMINAR_REYNOLDS`].
pub const TURBULENT_REYNOLDS: f64 = 1600.0;

/// Share of the turbulent law at a Reynolds number: 0 at 1000, 1 at 1600, smooth between; and its slope.
fn turbulent_share(reynolds: f64) -> (f64, f64) {
    let x = (reynolds - LAMINAR_REYNOLDS) / (TURBULENT_REYNOLDS - LAMINAR_REYNOLDS);
    if x <= 0.0 {
        (0.0, 0.0)
    } else if x >= 1.0 {
        (1.0, 0.0)
    } else {
        (x * x * (3.0 - 2.0 * x), 6.0 * x * (1.0 - x) / (TURBULENT_REYNOLDS - LAMINAR_REYNOLDS))
    }
}

/// `kz - 12` of a turbulent Couette film for flow along the radius.
pub fn couette_excess(reynolds: f64) -> f64 {
    0.0043 * reynolds.powf(0.96)
}

/// `kx - 12` of a turbulent Couette film for flow along the circumference.
pub fn couette_excess_along_motion(reynolds: f64) -> f64 {
    0.0136 * reynolds.powf(0.9)
}

/// Factor on the laminar shear stress of a turbulent Couette film.
pub fn couette_shear(reynolds: f64) -> f64 {
    1.0 + 0.0012 * reynolds.powf(0.94)
}

/// Blended excess `k - 12` over the laminar resistance.
fn blended<const N: usize>(reynolds: Jet<N>, excess: f64, excess_slope: f64) -> Jet<N> {
    let (share, share_slope) = turbulent_share(reynolds.value);
    reynolds.chain(share * excess, share_slope * excess + share * excess_slope)
}

/// Factor `k/12` on the viscosity of the pressure flow, from the Reynolds numbers of shear and of pressure flow.
pub fn turbulent_flow_factor<const N: usize>(couette: Jet<N>, pressure: Jet<N>) -> Jet<N> {
    if couette.value <= LAMINAR_REYNOLDS && pressure.value <= LAMINAR_REYNOLDS {
        return Jet::constant(1.0);
    }
    let excess = couette_excess(couette.value);
    let by_shear = blended(couette, excess, 0.96 * excess / couette.value.max(1.0));
    let friction = 0.066 * pressure.value.max(0.0).powf(0.75);
    let by_flow = blended(pressure, (friction - 12.0).max(0.0), 0.75 * friction / pressure.value.max(1.0));
    if by_flow.value == 0.0 {
        return by_shear * (1.0 / 12.0) + 1.0;
    }
    if by_shear.value == 0.0 {
        return by_flow * (1.0 / 12.0) + 1.0;
    }
    (by_shear.squared() + by_flow.squared()).sqrt() * (1.0 / 12.0) + 1.0
}

/// The same for flow along the motion.
pub fn turbulent_flow_factor_along_motion<const N: usize>(couette: Jet<N>, pressure: Jet<N>) -> Jet<N> {
    if couette.value <= LAMINAR_REYNOLDS && pressure.value <= LAMINAR_REYNOLDS {
        return Jet::constant(1.0);
    }
    let excess = couette_excess_along_motion(couette.value);
    let by_shear = blended(couette, excess, 0.9 * excess / couette.value.max(1.0));
    let friction = 0.066 * pressure.value.max(0.0).powf(0.75);
    let by_flow = blended(pressure, (friction - 12.0).max(0.0), 0.75 * friction / pressure.value.max(1.0));
    let squares = by_shear.squared() + by_flow.squared();
    if squares.value == 0.0 { Jet::constant(1.0) } else { squares.sqrt() * (1.0 / 12.0) + 1.0 }
}

/// Factor on the viscous shear stress at a Reynolds number of shear.
pub fn turbulent_shear_factor<const N: usize>(couette: Jet<N>) -> Jet<N> {
    if couette.value <= LAMINAR_REYNOLDS {
        return Jet::constant(1.0);
    }
    let excess = couette_shear(couette.value) - 1.0;
    blended(couette, excess, 0.94 * excess / couette.value) + 1.0
}

/// Kinetic flow rate `Q(D)` of plane Poiseuille flow and its slope: the continuum has `D/6`.
///
/// Piecewise fit of Fukui and Kaneko 1990 (from memory); their pieces jump by 0.14 % at D = 5 and 0.27 % at 0.15, so
/// neighbours are blended over a quarter of the decade around each join.
pub fn kinetic_flow_rate(d: f64) -> (f64, f64) {
    if d > 1.5 { joined(d, 5.0, &MIDDLE, &DENSE) } else { joined(d.max(0.01), 0.15, &RARE, &MIDDLE) }
}

/// `a, b, c, e` of a piece `a D + b + c / D - e / D^2`.
type Piece = [f64; 4];
const DENSE: Piece = [1.0 / 6.0, 1.0162, 1.0653, 2.1354];
const MIDDLE: Piece = [0.13852, 1.25087, 0.15653, 0.00969];
const RARE: Piece = [-2.22919, 2.10673, 0.01653, 0.0000694];

/// A piece and its slope.
fn of_piece(&[a, b, c, e]: &Piece, d: f64) -> (f64, f64) {
    let inverse = 1.0 / d;
    (a * d + b + (c - e * inverse) * inverse, a - (c - 2.0 * e * inverse) * (inverse * inverse))
}

/// Half-width in `ln D` over which two pieces are blended.
const JOIN_WIDTH: f64 = 0.3;

/// `exp(JOIN_WIDTH)`, rounded up: beyond it nothing is blended, and most places need no logarithm.
const JOIN_RATIO: f64 = 1.35;

fn joined(d: f64, at: f64, below: &Piece, above: &Piece) -> (f64, f64) {
    if d * JOIN_RATIO < at {
        return of_piece(below, d);
    }
    if d > JOIN_RATIO * at {
        return of_piece(above, d);
    }
    let x = ((d / at).ln() / JOIN_WIDTH + 1.0) / 2.0;
    if x <= 0.0 {
        return of_piece(below, d);
    }
    if x >= 1.0 {
        return of_piece(above, d);
    }
    let (share, by_d) = (x * x * (3.0 - 2.0 * x), 6.0 * x * (1.0 - x) / (2.0 * JOIN_WIDTH * d));
    let ((low, low_slope), (high, high_slope)) = (of_piece(below, d), of_piece(above, d));
    (low + share * (high - low), low_slope + share * (high_slope - low_slope) + by_d * (high - low))
}

/// Gas at one place of the film.
#[derive(Debug, Clone, Copy)]
pub struct Gas<const N: usize> {
    /// Absolute pressure, Pa.
    pub pressure: Jet<N>,
    /// Temperature, K.
    pub temperature: Jet<N>,
    /// Density, kg/m3.
    pub density: Jet<N>,
    /// Viscosity, Pa s.
    pub viscosity: Jet<N>,
    /// Gap, m.
    pub gap: Jet<N>,
}

/// Whether a gas of a density slips at all.
pub(super) fn slips(law: Slip, density: f64, critical_density: f64) -> bool {
    law != Slip::None && slip_weight(density / critical_density).0 > 0.0
}

/// Factor on the mass flow of a gas film for slip at the walls.
pub fn slip_flow_factor<const N: usize>(law: Slip, gas: &Gas<N>, gas_constant: f64, critical_density: f64) -> Jet<N> {
    let (weight, weight_slope) = slip_weight(gas.density.value / critical_density);
    if weight == 0.0 || law == Slip::None {
        return Jet::constant(1.0);
    }
    let weight = gas.density.chain(weight, weight_slope / critical_density);
    // Inverse Knudsen number with the mean speed of the molecules.
    let d = gas.pressure * gas.gap / (gas.viscosity * (gas.temperature * (2.0 * gas_constant)).sqrt());
    let excess = match law {
        Slip::Kinetic => {
            let (rate, slope) = kinetic_flow_rate(d.value);
            d.chain(6.0 * rate / d.value - 1.0, 6.0 * (slope - rate / d.value) / d.value)
        }
        // 6 lambda/h with lambda = (mu/rho) sqrt(pi/(2 R T)), which for an ideal gas is 3 sqrt(pi)/D.
        Slip::FirstOrder => d.recip() * (3.0 * std::f64::consts::PI.sqrt()),
        Slip::None => Jet::constant(0.0),
    };
    weight * excess + 1.0
}

/// Slip of a gas at one temperature, as a function of gap and pressure.
#[derive(Debug, Clone, Copy)]
pub(super) struct SlipAt {
    law: Slip,
    /// Reduced density per pressure, 1/Pa.
    density_per_pressure: f64,
    /// Inverse Knudsen number per pressure and gap, 1/(Pa m).
    inverse_knudsen: f64,
}

impl SlipAt {
    pub fn new(law: Slip, gas: &Gas<0>, gas_constant: f64, critical_density: f64) -> Self {
        Self {
            law,
            density_per_pressure: gas.density.value / (gas.pressure.value * critical_density),
            inverse_knudsen: 1.0 / (gas.viscosity.value * (2.0 * gas_constant * gas.temperature.value).sqrt()),
        }
    }

    /// Factor on the mass flow and its slope by pressure: [`slip_flow_factor`] of a gas whose density is in proportion to its pressure.
    pub fn factor(&self, gap: f64, pressure: f64) -> (f64, f64) {
        let (weight, weight_slope) = slip_weight(self.density_per_pressure * pressure);
        if weight == 0.0 {
            return (1.0, 0.0);
        }
        let per_pressure = self.inverse_knudsen * gap;
        let d = per_pressure * pressure;
        let (excess, slope) = match self.law {
            Slip::Kinetic => {
                let (rate, slope) = kinetic_flow_rate(d);
                let per = rate / d;
                (6.0 * per - 1.0, 6.0 * (slope - per) / d)
            }
            Slip::FirstOrder => {
                let excess = 3.0 * std::f64::consts::PI.sqrt() / d;
                (excess, -excess / d)
            }
            Slip::None => return (1.0, 0.0),
        };
        (1.0 + weight * excess, weight_slope * self.density_per_pressure * excess + weight * slope * per_pressure)
    }
}

/// Weight of slip against the reduced density, and its slope.
fn slip_weight(reduced_density: f64) -> (f64, f64) {
    let x = (0.5 - reduced_density) / 0.4;
    if x >= 1.0 {
        (1.0, 0.0)
    } else if x <= 0.0 {
        (0.0, 0.0)
    } else {
        (x * x * (3.0 - 2.0 * x), -6.0 * x * (1.0 - x) / 0.4)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn laminar_films_have_no_factor() {
        let r = |x: f64| Jet::<0>::constant(x);
        assert_eq!(turbulent_flow_factor(r(999.0), r(10.0)).value, 1.0);
        assert_eq!(turbulent_shear_factor(r(999.0)).value, 1.0);
    }

    #[test]
    fn turbulent_films_have_the_published_coefficients() {
        // Ng and Pan 1965 / Constantinescu, from memory (F5).
        let r = |x: f64| Jet::<0>::constant(x);
        for (re, kz, shear) in [(5000.0, 27.29254, 4.599259), (10_000.0, 41.74873, 7.905279)] {
            assert!((12.0 * turbulent_flow_factor(r(re), r(10.0)).value / kz - 1.0).abs() < 1e-6);
            assert!((turbulent_shear_factor(r(re)).value / shear - 1.0).abs() < 1e-6);
        }
    }

    #[test]
    fn factors_have_exact_slopes() {
        for (couette, pressure) in [(1200.0, 10.0), (1500.0, 1200.0), (500.0, 1400.0), (9000.0, 3000.0), (10.0, 20_000.0)] {
            let (a, b) = (Jet::<2>::variable(couette, 0), Jet::<2>::variable(pressure, 1));
            let value = |x: f64, y: f64| turbulent_flow_factor(Jet::<0>::constant(x), Jet::constant(y)).value;
            let found = turbulent_flow_factor(a, b);
            let step = 1e-3;
            for (slope, (up, down)) in found.slopes.iter().zip([
                (value(couette + step, pressure), value(couette - step, pressure)),
                (value(couette, pressure + step), value(couette, pressure - step)),
            ]) {
                assert!((slope - (up - down) / (2.0 * step)).abs() < 1e-7, "{couette} {pressure}: {slope}");
            }
        }
    }

    #[test]
    fn kinetic_flow_rate_joins_smoothly_and_has_its_minimum() {
        for (d, expected) in [(0.01, 3.04344), (0.1, 2.04217), (1.0, 1.53623), (10.0, 2.76804), (100.0, 17.69331)] {
            assert!((kinetic_flow_rate(d).0 / expected - 1.0).abs() < 5e-5, "{d}: {}", kinetic_flow_rate(d).0);
        }
        let mut d = 0.02;
        while d < 20.0 {
            let step = 1e-6 * d;
            let quotient = (kinetic_flow_rate(d + step).0 - kinetic_flow_rate(d - step).0) / (2.0 * step);
            assert!((kinetic_flow_rate(d).1 - quotient).abs() < 1e-5 * quotient.abs().max(1.0), "{d}");
            d *= 1.03;
        }
        let least = (1..400).map(|k| kinetic_flow_rate(0.02 * f64::from(k)).0).fold(f64::INFINITY, f64::min);
        assert!((least - 1.535).abs() < 0.01, "the Knudsen minimum: {least}");
    }

    #[test]
    fn slip_at_one_temperature_is_the_same_law() {
        for law in [Slip::Kinetic, Slip::FirstOrder, Slip::None] {
            for (gap, p) in [(1e-8, 1e5), (3e-7, 2e5), (1e-6, 1e5), (2e-6, 3e6), (1e-5, 8e6), (1e-6, 3e7)] {
                let density = 1.2e-5;
                let variable = Jet::<1>::variable(p, 0);
                let gas = Gas {
                    pressure: variable,
                    temperature: Jet::constant(300.0),
                    density: variable * density,
                    viscosity: Jet::constant(1.8e-5),
                    gap: Jet::constant(gap),
                };
                let expected = slip_flow_factor(law, &gas, 287.0, 300.0);
                let at = |p: f64| Gas::<0> {
                    pressure: Jet::constant(p),
                    temperature: Jet::constant(300.0),
                    density: Jet::constant(density * p),
                    viscosity: Jet::constant(1.8e-5),
                    gap: Jet::constant(gap),
                };
                let (factor, slope) = SlipAt::new(law, &at(2e5), 287.0, 300.0).factor(gap, p);
                assert!((factor / expected.value - 1.0).abs() < 1e-13, "{law:?} {gap} {p}: {factor}");
                assert!((slope - expected.slopes[0]).abs() <= 1e-11 * (expected.value / p), "{law:?} {gap} {p}: {slope}");
            }
        }
    }

    #[test]
    fn slip_fades_with_density() {
        let gas = |density: f64| Gas::<0> {
            pressure: Jet::constant(1e5),
            temperature: Jet::constant(300.0),
            density: Jet::constant(density),
            viscosity: Jet::constant(1.8e-5),
            gap: Jet::constant(1e-6),
        };
        let factor = |density: f64, law: Slip| slip_flow_factor(law, &gas(density), 287.0, 300.0).value;
        assert!(factor(1.2, Slip::Kinetic) > 1.3 && factor(100.0, Slip::Kinetic) < factor(1.2, Slip::Kinetic));
        assert_eq!(factor(160.0, Slip::Kinetic), 1.0);
        assert_eq!(factor(1.2, Slip::None), 1.0);
        // K1: lambda about 66 nm in air at ambient: 1 + 6 x 0.066.
        assert!((factor(1.18, Slip::FirstOrder) - 1.4).abs() < 0.02, "{}", factor(1.18, Slip::FirstOrder));
    }
}
