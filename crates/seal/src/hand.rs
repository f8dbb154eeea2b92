//! Hand numbers: what an engineer checks with a pocket calculator, always shown beside the solved ones.
//!
//! Formulas are geometry, but for the leakage of a parallel film with curvature kept, `Q = pi h^3 dp / (6 mu ln(ro/ri))`
//! (Lebeck, *Principles and Design of Mechanical Face Seals*, Wiley 1991; check F1), of a gas `m = pi h^3 (p1^2 - p2^2) / (12 mu R T ln(ro/ri))`
//! (check F3).

use std::f64::consts::PI;

use crate::model::{Duty, Model, PressureSide, Seal};
use crate::outcome::Hand;

/// Film thickness of the parallel-film estimate where no film is solved, m.
pub const ASSUMED_FILM_M: f64 = 0.7e-6;

/// Pressure-profile factor of the hand calculation; a straight line of pressure, and a guess.
pub const ASSUMED_PROFILE_FACTOR: f64 = 0.5;

/// What the hand numbers need of the fluid in the chamber.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chamber {
    /// Viscosity, Pa s.
    pub viscosity_pa_s: f64,
    /// Whether it is a gas, which expands on its way through the film.
    pub gas: bool,
}

/// Hand numbers of one duty. `mean_film_m` is the solved mean film; without it 0.7 um is taken and the result says so
/// by its `parallel_film_m`.
pub fn hand(model: &Model, duty: &Duty, chamber: Chamber, mean_film_m: Option<f64>) -> Hand {
    let band = model.band;
    let area = band.area_m2();
    let pressure_difference = (duty.pressure_pa - duty.low_pressure_pa).abs();
    let balance_ratio = balance_ratio(model, duty);
    let spring_pressure = model.seal.spring_force_n / area;
    let speed = duty.speed_rad_per_s.abs() * band.mean_radius_m();
    let net_pressure = pressure_difference * (balance_ratio - ASSUMED_PROFILE_FACTOR) + spring_pressure;
    let film = mean_film_m.filter(|film| film.is_finite() && *film > 0.0).unwrap_or(ASSUMED_FILM_M);
    let expansion = if chamber.gas { mean_density(duty.pressure_pa, duty.low_pressure_pa) } else { 1.0 };
    Hand {
        area_m2: area,
        balance_ratio,
        spring_pressure_pa: spring_pressure,
        sliding_speed_m_per_s: speed,
        closing_force_n: pressure_difference * balance_ratio * area + model.seal.spring_force_n,
        net_pressure_pa: net_pressure,
        net_pv_pa_m_per_s: net_pressure * speed,
        parallel_film_leakage_m3_per_s: expansion
            * parallel_film_leakage(band.inner_radius_m, band.outer_radius_m, film, pressure_difference, chamber.viscosity_pa_s),
        parallel_film_m: film,
        parallel_film_of_gas: chamber.gas,
    }
}

/// Volume flow through a parallel film of an incompressible liquid, curvature kept, m3/s. Check F1.
pub fn parallel_film_leakage(
    inner_radius_m: f64,
    outer_radius_m: f64,
    film_m: f64,
    pressure_difference_pa: f64,
    viscosity_pa_s: f64,
) -> f64 {
    PI * film_m.powi(3) * pressure_difference_pa / (6.0 * viscosity_pa_s * (outer_radius_m / inner_radius_m).ln())
}

/// Mean density of an isothermal ideal gas in a parallel film over that with which it enters: `(p1 + p2)/(2 p1)`. Check F3.
fn mean_density(a_pa: f64, b_pa: f64) -> f64 {
    0.5 * (a_pa + b_pa) / a_pa.max(b_pa)
}

/// Whether the pressure stands against the side on which the case seals.
pub fn pressure_is_reversed(duty: &Duty) -> bool {
    duty.pressure_pa < duty.low_pressure_pa
}

/// Balance radius in force: reversed pressure moves the secondary seal to the other wall of its groove, m.
pub fn balance_radius_m(seal: &Seal, duty: &Duty) -> f64 {
    if pressure_is_reversed(duty) { seal.reverse_balance_radius_m } else { seal.balance_radius_m }
}

/// Side of the band at which the pressure is the higher; the case's own side at equal pressures.
pub fn high_side(seal: &Seal, duty: &Duty) -> PressureSide {
    match (seal.pressure_side, pressure_is_reversed(duty)) {
        (side, false) => side,
        (PressureSide::Outside, true) => PressureSide::Inside,
        (PressureSide::Inside, true) => PressureSide::Outside,
    }
}

/// Balance ratio against the low pressure as base, with the balance diameter in force.
pub fn balance_ratio(model: &Model, duty: &Duty) -> f64 {
    balance_ratio_at(model, duty, balance_radius_m(&model.seal, duty))
}

/// Balance ratio that another balance radius would give.
pub fn balance_ratio_at(model: &Model, duty: &Duty, balance_radius_m: f64) -> f64 {
    let inner = model.band.inner_radius_m.powi(2);
    let outer = model.band.outer_radius_m.powi(2);
    let balance = balance_radius_m.powi(2);
    match high_side(&model.seal, duty) {
        PressureSide::Outside => (outer - balance) / (outer - inner),
        PressureSide::Inside => (balance - inner) / (outer - inner),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::testing::Bench;

    /// Published check F1 (Lebeck 1991, closed form): 16.32813 mL/h at 1 um, 2.0 MPa, 1 mPa s.
    #[test]
    fn parallel_film_keeps_curvature() {
        let flow = parallel_film_leakage(24.45e-3, 30.80e-3, 1e-6, 2.0e6, 1e-3);
        assert!((flow / 4.535591e-9 - 1.0).abs() < 1e-6, "{flow}");
    }

    /// Published check F3 (closed form): 1.9114223e-2 g/s of nitrogen-like gas at 3 um, 1.1 MPa to 101 325 Pa, 300 K.
    #[test]
    fn a_gas_expands_on_its_way() {
        let liquid = parallel_film_leakage(58.42e-3, 77.78e-3, 3e-6, 1.1e6 - 101_325.0, 1.8e-5);
        let mass = liquid * mean_density(1.1e6, 101_325.0) * 1.1e6 / (287.05 * 300.0);
        assert!((mass / 1.9114223e-5 - 1.0).abs() < 1e-6, "{mass}");
    }

    /// Hand table of the invented brine booster at its normal duty (scenario).
    #[test]
    fn booster_agrees_with_its_hand_table() {
        let bench = Bench::booster();
        let mut duty = bench.model.duties[0].clone();
        duty.low_pressure_pa = 101_325.0;
        duty.pressure_pa = 101_325.0 + 1.1e6;
        let numbers = hand(&bench.model, &duty, Chamber { viscosity_pa_s: 0.8e-3, gas: false }, None);
        let close = |value: f64, expected: f64, relative: f64| assert!((value / expected - 1.0).abs() < relative, "{value} for {expected}");
        close(numbers.area_m2, 1102.2e-6, 1e-4);
        close(numbers.balance_ratio, 0.7474, 1e-4);
        close(numbers.spring_pressure_pa, 0.1724e6, 1e-3);
        close(numbers.closing_force_n, 1096.0, 1e-3);
        close(numbers.sliding_speed_m_per_s, 8.56, 1e-3);
        close(numbers.net_pressure_pa, 0.4445e6, 1e-3);
        close(numbers.net_pv_pa_m_per_s, 3.81e6, 2e-3);
        close(numbers.parallel_film_leakage_m3_per_s, 3.85e-6 / 3600.0, 5e-3);
        assert_eq!(numbers.parallel_film_m, ASSUMED_FILM_M);
    }

    #[test]
    fn balance_ratio_of_both_sides() {
        let mut bench = Bench::booster();
        let outside = balance_ratio(&bench.model, &bench.model.duties[0]);
        bench.model.seal.pressure_side = PressureSide::Inside;
        let inside = balance_ratio(&bench.model, &bench.model.duties[0]);
        assert!((outside + inside - 1.0).abs() < 1e-12, "the two sides share the band at the balance diameter");
    }

    #[test]
    fn a_solved_film_replaces_the_assumed_one() {
        let bench = Bench::booster();
        let numbers = |film| hand(&bench.model, &bench.model.duties[0], Chamber { viscosity_pa_s: 1e-3, gas: false }, film);
        let ratio = numbers(Some(1.4e-6)).parallel_film_leakage_m3_per_s / numbers(None).parallel_film_leakage_m3_per_s;
        assert!((ratio - 8.0).abs() < 1e-9, "leakage grows as the cube of the gap");
        assert_eq!(numbers(Some(f64::NAN)).parallel_film_m, ASSUMED_FILM_M);
    }
}
