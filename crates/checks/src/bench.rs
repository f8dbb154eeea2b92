//! Faces, fluids and switches that several film checks share.

use halfmicron::film::{FilmInput, FilmResult, Gap, film};
use halfmicron::model::Switches;
use halfmicron::ring::BandNodes;
use halfmicron_properties::{ConstantFluid, Fluid};

/// mL/h in m3/s: leakages are published in millilitres an hour.
pub const MILLILITRE_PER_HOUR: f64 = 1e-6 / 3600.0;
/// Gauge pressures are counted from here; only differences matter to a fluid of constant properties.
pub const AMBIENT_PA: f64 = 1e5;

/// Inner and outer radius of face "A", m.
pub const FACE_A_M: [f64; 2] = [24.45e-3, 30.80e-3];
/// Density of its fluid, kg/m3.
pub const DENSITY_KG_PER_M3: f64 = 1000.0;
/// 3000 rpm, rad/s.
pub const SPEED_RAD_PER_S: f64 = 100.0 * std::f64::consts::PI;

/// A rigid face pair, isothermal and smooth, with a fluid of constant properties, solved by the shipped film.
#[derive(Debug, Clone, Copy)]
pub struct RigidFilm {
    /// Gap at the inner and outer edge, m; linear between.
    pub gap_m: [f64; 2],
    /// Rate of change of the gap everywhere, m/s.
    pub gap_rate_m_per_s: f64,
    /// Pressures above ambient at the inner and outer edge, Pa.
    pub gauge_pressure_pa: [f64; 2],
    /// Speed of the turning face, rad/s.
    pub speed_rad_per_s: f64,
    /// Whether the film feels its spin.
    pub spin: bool,
    /// Viscosity, Pa s.
    pub viscosity_pa_s: f64,
}

impl Default for RigidFilm {
    fn default() -> Self {
        Self {
            gap_m: [1e-6, 1e-6],
            gap_rate_m_per_s: 0.0,
            gauge_pressure_pa: [0.0, 2e6],
            speed_rad_per_s: SPEED_RAD_PER_S,
            spin: false,
            viscosity_pa_s: 1e-3,
        }
    }
}

/// What the checks read from a film.
#[derive(Debug, Clone)]
pub struct RigidFilmResult {
    /// Film.
    pub film: FilmResult,
    /// Its nodes.
    pub nodes: BandNodes,
    /// Volume flow inward, m3/s.
    pub leakage_m3_per_s: f64,
    /// Integral of the pressure above ambient, N.
    pub force_n: f64,
    /// Power of shear, W.
    pub power_w: f64,
}

impl RigidFilm {
    /// Solve with the shipped film on 32 elements.
    ///
    /// # Errors
    /// The message of the film.
    pub fn solve(&self) -> Result<RigidFilmResult, String> {
        let nodes = BandNodes::uniform(FACE_A_M[0], FACE_A_M[1], 32);
        let share = |r: &f64| (r - FACE_A_M[0]) / (FACE_A_M[1] - FACE_A_M[0]);
        let gap: Vec<f64> = nodes.radius_m.iter().map(|r| self.gap_m[0] + (self.gap_m[1] - self.gap_m[0]) * share(r)).collect();
        let rate = vec![self.gap_rate_m_per_s; nodes.len()];
        let temperature = vec![293.15; nodes.len()];
        let fluid = Fluid::constant(ConstantFluid {
            name: "constant properties".to_owned(),
            density: DENSITY_KG_PER_M3,
            viscosity: self.viscosity_pa_s,
            conductivity: 0.6,
            heat_capacity: 4180.0,
        })
        .map_err(|error| error.to_string())?;
        let switches = Switches { spin: self.spin, turbulence: true, ..Switches::viscous_alone() };
        let input = FilmInput {
            nodes: &nodes,
            gap: Gap { profile_m: &gap, rate_m_per_s: (self.gap_rate_m_per_s != 0.0).then_some(rate.as_slice()), field: None },
            fluid: &fluid,
            inner_pressure_pa: AMBIENT_PA + self.gauge_pressure_pa[0],
            outer_pressure_pa: AMBIENT_PA + self.gauge_pressure_pa[1],
            entry_temperature_k: 293.15,
            face_temperature_k: &temperature,
            speeds_rad_per_s: [self.speed_rad_per_s, 0.0],
            roughness_m: 1e-9,
            switches: &switches,
        };
        let (film, _) = film(&input, None).map_err(|error| error.to_string())?;
        Ok(RigidFilmResult {
            leakage_m3_per_s: -film.mass_flow_kg_per_s / DENSITY_KG_PER_M3,
            force_n: film.force_n(&nodes, AMBIENT_PA),
            power_w: film.shear_power_w(&nodes),
            film,
            nodes,
        })
    }

    /// Axial stiffness `-dF/dh`, N/m, by the central difference of the published table, 0.1 nm.
    ///
    /// # Errors
    /// The message of the film.
    pub fn stiffness_n_per_m(&self) -> Result<f64, String> {
        let step = 1e-10;
        let moved = |by: f64| Self { gap_m: self.gap_m.map(|h| h + by), ..*self }.solve();
        Ok(-(moved(step)?.force_n - moved(-step)?.force_n) / (2.0 * step))
    }
}

/// Area of face "A", m2.
pub fn face_a_area_m2() -> f64 {
    std::f64::consts::PI * (FACE_A_M[1].powi(2) - FACE_A_M[0].powi(2))
}

/// The entry of a table that differs most in units of its tolerance; reports stay short and nothing is hidden.
pub fn worst(lines: Vec<crate::Quantity>) -> Option<crate::Quantity> {
    let count = lines.len();
    let excess = |line: &crate::Quantity| match &line.computed {
        Ok(value) if value.is_finite() => (value - line.expected).abs() / line.tolerance,
        _ => f64::INFINITY,
    };
    lines.into_iter().max_by(|a, b| excess(a).total_cmp(&excess(b))).map(|mut line| {
        line.name = format!("{} (worst of {count})", line.name);
        line
    })
}
