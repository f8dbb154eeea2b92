//! Parallel films of gas and of boiling fluid between rigid faces at rest, for the checks of the compressible film.

use halfmicron::film::{FilmInput, FilmResult, Gap, film, sensitivity};
use halfmicron::model::Switches;
use halfmicron::ring::BandNodes;
use halfmicron_properties::{ConstantGas, Fluid};

/// Gas constant of air, J/(kg K).
pub const AIR_J_PER_KG_K: f64 = 287.05;
/// Temperature of the gas films, K.
pub const AIR_TEMPERATURE_K: f64 = 300.0;
/// Viscosity of the gas films, Pa s.
pub const AIR_VISCOSITY_PA_S: f64 = 1.8e-5;
/// Standard atmosphere, Pa.
pub const ATMOSPHERE_PA: f64 = 101_325.0;

const ELEMENTS: usize = 32;

/// An ideal gas like air.
///
/// # Errors
/// The message of the fluid.
pub fn air(viscosity_pa_s: f64) -> Result<Fluid, String> {
    Fluid::constant_gas(ConstantGas {
        name: "ideal gas".to_owned(),
        gas_constant: AIR_J_PER_KG_K,
        viscosity: viscosity_pa_s,
        conductivity: 0.026,
        heat_capacity: 1005.0,
        reference_temperature: AIR_TEMPERATURE_K,
    })
    .map_err(|error| error.to_string())
}

/// A parallel film at rest, faces and entry at one temperature.
#[derive(Debug, Clone, Copy)]
pub struct RingFilm<'a> {
    /// Fluid.
    pub fluid: &'a Fluid,
    /// Inner and outer radius, m.
    pub radii_m: [f64; 2],
    /// Gap, m.
    pub gap_m: f64,
    /// Temperature, K.
    pub temperature_k: f64,
    /// Absolute pressures inside and outside, Pa.
    pub pressures_pa: [f64; 2],
    /// Effects.
    pub switches: Switches,
}

/// What the checks read from a ring film.
#[derive(Debug, Clone)]
pub struct RingFilmResult {
    /// Film.
    pub film: FilmResult,
    /// Mass flow inward, kg/s.
    pub inflow_kg_per_s: f64,
    /// Integral of the absolute pressure, N.
    pub force_n: f64,
    /// Mean pressure above the inner one over the pressure difference.
    pub profile_factor: f64,
    /// Axial stiffness `-dF/dh`, N/m.
    pub stiffness_n_per_m: f64,
}

impl RingFilm<'_> {
    /// Solve with the shipped film.
    ///
    /// # Errors
    /// The message of the film.
    pub fn solve(&self) -> Result<RingFilmResult, String> {
        let nodes = BandNodes::uniform(self.radii_m[0], self.radii_m[1], ELEMENTS);
        let gap = vec![self.gap_m; nodes.len()];
        let faces = vec![self.temperature_k; nodes.len()];
        let [inner, outer] = self.pressures_pa;
        let input = FilmInput {
            nodes: &nodes,
            gap: Gap { profile_m: &gap, rate_m_per_s: None, field: None },
            fluid: self.fluid,
            inner_pressure_pa: inner,
            outer_pressure_pa: outer,
            entry_temperature_k: self.temperature_k,
            face_temperature_k: &faces,
            speeds_rad_per_s: [0.0, 0.0],
            roughness_m: 1e-9,
            switches: &self.switches,
        };
        let (film, start) = film(&input, None).map_err(|error| error.to_string())?;
        let slopes = sensitivity(&input, &start).map_err(|error| error.to_string())?;
        let weighed = |column: &[f64]| nodes.weight_m2.iter().zip(column).map(|(w, p)| w * p).sum::<f64>();
        let area: f64 = nodes.weight_m2.iter().sum();
        let force_n = film.force_n(&nodes, 0.0);
        Ok(RingFilmResult {
            inflow_kg_per_s: -film.mass_flow_kg_per_s,
            force_n,
            profile_factor: (force_n / area - inner) / (outer - inner),
            stiffness_n_per_m: -(0..nodes.len()).map(|j| weighed(slopes.pressure_by_gap.col_as_slice(j))).sum::<f64>(),
            film,
        })
    }
}
