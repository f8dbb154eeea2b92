//! What of a solved duty decides whether a choice can matter to it.

use crate::model::Model;
use crate::outcome::{Conditions, Equilibrium, FilmPhase};

/// The few facts that the choices ask for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Facts {
    /// Whether the shaft turns.
    pub turning: bool,
    /// Whether liquid and vapour stand together somewhere in the film.
    pub boils: bool,
    /// Whether liquid stands above its boiling temperature somewhere in the film (frozen flashing).
    pub superheated: bool,
    /// Whether gas or supercritical fluid fills any of the film.
    pub gas: bool,
    /// Greatest Reynolds number over the band, radial or circumferential.
    pub reynolds: f64,
    /// Least film over composite roughness.
    pub film_parameter: f64,
    /// Dynamic pressure of the radial flow at its fastest over the pressure difference.
    pub inertia_share: f64,
    /// Whether inertia of the radial flow is computed.
    pub convective_inertia: bool,
}

impl Facts {
    /// The facts of a solved duty.
    pub fn of(model: &Model, conditions: &Conditions, point: &Equilibrium) -> Self {
        let has = |phase: FilmPhase| point.profiles.phase.contains(&phase);
        let gas = has(FilmPhase::Gas) || has(FilmPhase::Supercritical);
        Self {
            turning: conditions.turning,
            // A change of phase between two nodes leaves no node that holds both.
            boils: has(FilmPhase::Mixture) || !point.passage.phase_changes.is_empty(),
            superheated: has(FilmPhase::Superheated),
            gas,
            reynolds: point.reynolds.couette.max(point.reynolds.pressure),
            film_parameter: point.film_parameter,
            inertia_share: inertia_share(model, conditions, point, gas),
            convective_inertia: model.switches.convective_inertia,
        }
    }
}

/// Dynamic pressure of the radial flow at its fastest over the pressure difference: a gas thins out with its pressure.
fn inertia_share(model: &Model, conditions: &Conditions, point: &Equilibrium, gas: bool) -> f64 {
    let [low, high] = [conditions.pressure_pa.min(conditions.low_pressure_pa), conditions.pressure_pa.max(conditions.low_pressure_pa)];
    if high <= low {
        return 0.0;
    }
    let section_m2 = 2.0 * std::f64::consts::PI * model.band.inner_radius_m * point.minimum_film_m.nominal.max(1e-9);
    let density = conditions.chamber_density_kg_per_m3 * if gas { low / high } else { 1.0 };
    0.5 * (point.leakage_kg_per_s.nominal / section_m2).powi(2) / density / (high - low)
}
