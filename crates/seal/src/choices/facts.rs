//! What of a solved duty decides whether a choice can matter to it.

use halfmicron_properties::{Fluid, Saturation};

use crate::model::{Flashing, Model, Switches};
use crate::outcome::{Conditions, Equilibrium};

/// The few facts that the choices ask for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Facts {
    /// Whether the shaft turns.
    pub turning: bool,
    /// Whether liquid and vapour stand together somewhere in the film.
    pub boils: bool,
    /// Whether liquid stands above its boiling temperature somewhere in the film (frozen flashing).
    pub superheated: bool,
    /// Whether gas or supercritical fluid of low density fills any of the film.
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

/// Mean film temperature this near saturation is at saturation, K.
const AT_SATURATION_K: f64 = 1e-6;

/// Where the film of a place stands beside its saturation temperature.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Side {
    Below,
    At,
    Above,
}

impl Facts {
    /// The facts of a solved duty; `fluid` is the one of that duty.
    pub fn of(model: &Model, fluid: &Fluid, conditions: &Conditions, point: &Equilibrium) -> Self {
        let sides: Vec<Side> = sides(fluid, point).collect();
        let has = |side: Side| sides.contains(&side);
        let Switches { flashing, convective_inertia, .. } = model.switches;
        let enters_liquid = conditions.chamber_saturation_k.is_some_and(|boiling_k| conditions.chamber_temperature_k <= boiling_k);
        let superheated = flashing == Flashing::Frozen && enters_liquid && has(Side::Above);
        let partly = point.vapour_fraction_max > 0.0 && point.vapour_fraction_max < 1.0;
        Self {
            turning: conditions.turning,
            boils: !superheated && (partly || has(Side::At) || (has(Side::Below) && has(Side::Above))),
            superheated,
            gas: !superheated && has(Side::Above),
            reynolds: point.reynolds.couette.max(point.reynolds.pressure),
            film_parameter: point.film_parameter,
            inertia_share: inertia_share(model, conditions, point, has(Side::Above)),
            convective_inertia,
        }
    }
}

/// Every place of the film beside its saturation temperature; what has none that is known counts as liquid.
fn sides(fluid: &Fluid, point: &Equilibrium) -> impl Iterator<Item = Side> {
    let critical_k = fluid.critical_point().map_or(f64::INFINITY, |(kelvin, _)| kelvin);
    point.profiles.pressure_pa.iter().zip(&point.profiles.temperature_k).map(move |(&pressure_pa, &kelvin)| {
        let boiling_k = match fluid.saturation_temperature(pressure_pa) {
            Saturation::At(kelvin) => kelvin,
            Saturation::Supercritical => critical_k,
            Saturation::Beyond { .. } | Saturation::NoVapourData => f64::INFINITY,
        };
        match kelvin - boiling_k {
            above if above > AT_SATURATION_K => Side::Above,
            below if below < -AT_SATURATION_K => Side::Below,
            _ => Side::At,
        }
    })
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
