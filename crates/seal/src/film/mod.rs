//! The film between the faces: one entry, [`film`], for every fluid and every kind of gap.
//!
//! `point` and `ring` see only the radial profiles that come out, so that a film of another kind changes neither.

mod alone;
mod axisymmetric;
mod entry;
mod exit;
mod field;
mod flow;
mod guide;
mod hold;
mod loads;
mod march;
mod mixture;
pub mod resistance;
pub mod roughness;
mod sides;
mod stations;
mod step;
mod tangent;
mod trial;

pub use alone::{FieldAlone, FilmAlone, film_alone, film_alone_on};
pub use axisymmetric::{FilmSensitivity, FilmStart};
pub use field::{Cells, FaceLine, FieldGrid, FilmField, Fineness, face_lines, sector_lines};
pub(crate) use field::{Moved, MovingFilm, small_motions, tilt_impedance};

use std::sync::Arc;

use halfmicron_properties::{Fluid, FluidKind, FluidState, Phase, PropertyError};

use crate::model::{Flashing, Switches};
use crate::outcome::{PhaseChange, PhaseChangeKind};
use crate::ring::BandNodes;

/// Gap between the mean planes of the faces.
#[derive(Debug, Clone, Copy)]
pub struct Gap<'a> {
    /// At each node of the band, m.
    pub profile_m: &'a [f64],
    /// Rate of change at each node, m/s (squeeze); none when steady.
    pub rate_m_per_s: Option<&'a [f64]>,
    /// Grid of the textures that vary round the circumference; the profile is the gap of what they leave. None: the film is axisymmetric.
    pub field: Option<&'a FieldGrid>,
}

/// All that the film needs to know.
#[derive(Debug, Clone, Copy)]
pub struct FilmInput<'a> {
    /// Nodes of the band and their area weights.
    pub nodes: &'a BandNodes,
    /// Gap.
    pub gap: Gap<'a>,
    /// Fluid.
    pub fluid: &'a Fluid,
    /// Absolute pressure inside the band, Pa.
    pub inner_pressure_pa: f64,
    /// Absolute pressure outside the band, Pa.
    pub outer_pressure_pa: f64,
    /// Temperature at which fluid enters, K.
    pub entry_temperature_k: f64,
    /// Mean of the two face temperatures at each node, K.
    pub face_temperature_k: &'a [f64],
    /// Speeds of the two faces, rad/s.
    pub speeds_rad_per_s: [f64; 2],
    /// Composite rms roughness, m.
    pub roughness_m: f64,
    /// Which effects are on.
    pub switches: &'a Switches,
}

/// Why a film could not be computed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum FilmError {
    /// The property library refused a state that the film visits.
    #[error("the film leaves the range of the fluid: {0}")]
    Property(#[from] PropertyError),
    /// The two-dimensional equation has no solution that was found.
    #[error("the two-dimensional film: {0}")]
    Field(#[from] halfmicron_numerics::reynolds::FilmError),
    /// A textured film would boil.
    #[error(
        "the film between textured faces boils, at {:.2} mm radius: the low pressure lies below the vapour pressure there, and boiling is computed \
         between plain faces alone", .radius_m * 1e3
    )]
    FieldBoils {
        /// Where.
        radius_m: f64,
    },
    /// A textured gas film would condense.
    #[error("the gas between textured faces condenses, at {:.2} mm radius, where grooves raise it above its saturation pressure; that is not computed", .radius_m * 1e3)]
    FieldCondenses {
        /// Where.
        radius_m: f64,
    },
    /// A textured film would leave faster than sound.
    #[error(
        "the film between textured faces would leave faster than sound, at {:.2} mm radius: the inertia that limits it is computed between plain \
         faces alone", .radius_m * 1e3
    )]
    FieldSonic {
        /// Where.
        radius_m: f64,
    },
    /// The case's cavitation pressure is above a pressure at the edges.
    #[error(
        "the cavitation pressure {cavity_pa:.0} Pa(a) of the case is above the pressure {edge_pa:.0} Pa(a) at an edge of the band: no liquid enters there"
    )]
    EdgeCavitates {
        /// Pressure at the edge, Pa.
        edge_pa: f64,
        /// Cavitation pressure, Pa.
        cavity_pa: f64,
    },
    /// Newton did not converge.
    #[error("the film did not converge after {iterations} iterations ({})", last_correction(*.correction))]
    NotConverged {
        /// Iterations made.
        iterations: usize,
        /// Last relative correction.
        correction: f64,
        /// Relative correction of every iteration.
        history: Vec<f64>,
    },
    /// The work granted to one film is used up.
    #[error(
        "the flow that passes the film was not found within the work granted to it, {evaluations} evaluations of a step over {nodes} nodes ({}); \
         what stops it is not known", bracket(*.low, *.high)
    )]
    OutOfWork {
        /// Evaluations granted.
        evaluations: u32,
        /// Nodes of the band.
        nodes: usize,
        /// Greatest flow known to be too small, kg/s.
        low: f64,
        /// Least flow known to be too great, kg/s; infinite where none was met.
        high: f64,
    },
    /// Two flows that differ by no more than rounding are films of unlike kinds, and at least one of them boils.
    #[error(
        "no film is found between two flows that differ by less than one part in ten million and of which at least one boils or comes near \
         to it: such a film follows its boiling point along the band, and where it leaves that was not found"
    )]
    AlongSaturation,
    /// The flow reaches the speed of sound at a narrow place inside the band.
    #[error(
        "the flow reaches the speed of sound inside the band, at {:.2} mm radius, where the gap is narrow, and no more passes; what follows behind \
         it, faster than sound and a shock, is not computed", .radius_m * 1e3
    )]
    ChokesInside {
        /// Where.
        radius_m: f64,
    },
    /// The pressure of a liquid falls to nothing, or to its vapour pressure, at a narrow place inside the band.
    #[error(
        "the pressure falls to the vapour pressure or to nothing inside the band, at {:.2} mm radius, where the gap is narrow, and rises again \
         behind it: no more passes, and the cavity that then forms is not computed", .radius_m * 1e3
    )]
    Cavitates {
        /// Where.
        radius_m: f64,
    },
    /// At the edge the fluid has no state between its pressure and the low pressure.
    #[error(
        "the film comes to its edge at {:.3} kPa(a) and {:.2} degC, and on the way from there to {:.3} kPa(a) the fluid would freeze or leave the \
         range of its data, which is not computed: a pressure behind the edge above {:.3} kPa(a) may avoid it",
        .pressure_pa * 1e-3, .temperature_k - 273.15, .exit_pressure_pa * 1e-3, .pressure_pa * 1e-3
    )]
    EndsBeforeExit {
        /// Lowest pressure at which it has a state there, Pa absolute.
        pressure_pa: f64,
        /// Temperature of that state, K.
        temperature_k: f64,
        /// Pressure behind the edge, Pa absolute.
        exit_pressure_pa: f64,
    },
    /// Inconsistent input lengths or values.
    #[error("film input: {0}")]
    Input(&'static str),
}

/// The last correction in words.
fn last_correction(correction: f64) -> String {
    if correction.is_finite() { format!("relative correction {correction:.1e}") } else { "the last flow tried does not pass".to_owned() }
}

/// What is known of a flow in words.
fn bracket(low: f64, high: f64) -> String {
    match (low.is_finite(), high.is_finite()) {
        (true, true) => format!("it lies between {low:.1e} and {high:.1e} kg/s"),
        (true, false) => format!("it is more than {low:.1e} kg/s"),
        (false, true) => format!("it is less than {high:.1e} kg/s"),
        (false, false) => "no flow tried told on which side it lies".to_owned(),
    }
}

impl FilmError {
    /// Whether the film is known to be of a kind that is not modelled, rather than not found.
    #[must_use]
    pub fn is_not_modelled(&self) -> bool {
        let of_the_field =
            matches!(self, Self::FieldBoils { .. } | Self::FieldCondenses { .. } | Self::FieldSonic { .. } | Self::EdgeCavitates { .. });
        of_the_field
            || matches!(self, Self::AlongSaturation | Self::ChokesInside { .. } | Self::Cavitates { .. } | Self::EndsBeforeExit { .. })
    }
}

/// Shear stress that no oil film passes, Pa: `tau = tau_N / sqrt(1 + (tau_N/tau_L)^2)`.
///
/// Bair and Winer, J. Lub. Tech. 101 (1979) 251: of the order of megapascals for mineral oils near ambient pressure, rising with pressure
/// by some hundredths of it, which seals do not feel; from memory.
const OIL_LIMITING_SHEAR_PA: f64 = 3.0e6;

/// Limiting shear stress of a fluid, when it has one that a film can reach: oils.
pub fn limiting_shear_pa(fluid: &Fluid) -> Option<f64> {
    (fluid.kind() == FluidKind::Oil).then_some(OIL_LIMITING_SHEAR_PA)
}

/// Radial profiles and totals of a film.
#[derive(Debug, Clone)]
pub struct FilmResult {
    /// Absolute pressure by node, Pa: nodal values whose shape functions carry the force of the film. The pressure at the node itself
    /// is that of its state; they differ where pressure turns within an element.
    pub pressure_pa: Vec<f64>,
    /// State of the fluid at each node at its mean temperature across the gap.
    pub states: Vec<FluidState>,
    /// Viscous shear heat at each node, W/m2.
    pub shear_heat_w_per_m2: Vec<f64>,
    /// Heat given by the film to both faces together at each node, W/m2.
    pub flux_w_per_m2: Vec<f64>,
    /// Hottest temperature across the gap at each node, K.
    pub hottest_k: Vec<f64>,
    /// Conductivity of the fluid around each node, W/(m K).
    pub conductivity_w_per_m_k: Vec<f64>,
    /// Mass flow, positive outward, kg/s.
    pub mass_flow_kg_per_s: f64,
    /// What is left of the momentum of every step, summed by size, over the resistance of the whole film: relative error of the mass flow.
    pub mass_balance: f64,
    /// Heat carried away by the leak: mass flow times enthalpy rise, W.
    pub leak_heat_w: f64,
    /// Where the fluid begins or ceases to boil, along the flow.
    pub phase_changes: Vec<PhaseChange>,
    /// Greatest mass share of vapour.
    pub vapour_fraction_max: f64,
    /// The flow is the greatest that passes; the exit pressure stands above that behind the seal.
    pub choked: bool,
    /// Pressure at the exit, Pa.
    pub exit_pressure_pa: f64,
    /// Greatest speed over the speed of sound of the fluid in equilibrium.
    pub greatest_mach: f64,
    /// Newton iterations.
    pub iterations: usize,
    /// The film round the circumference, where it is not the same at every angle.
    pub field: Option<Arc<FilmField>>,
}

/// Absolute pressure (Pa) and temperature (K) of the normal state of gases.
const NORMAL_STATE: (f64, f64) = (101_325.0, 273.15);

impl FilmResult {
    /// Leakage as volume of ideal gas in the normal state, m3/s; none where it leaves as liquid. The ideal volume: what is liquid at 0 degC
    /// has no other.
    pub(crate) fn normal_m3_per_s(&self, fluid: &Fluid) -> Option<f64> {
        let exit = if self.mass_flow_kg_per_s >= 0.0 { self.states.last() } else { self.states.first() }?;
        if !matches!(exit.phase, Phase::Vapour | Phase::Supercritical) {
            return None;
        }
        Some(self.mass_flow_kg_per_s.abs() * fluid.gas_constant_j_per_kg_k()? * NORMAL_STATE.1 / NORMAL_STATE.0)
    }

    /// Whether every profile and sum is a number.
    pub(super) fn is_finite(&self) -> bool {
        let profiles = [&self.pressure_pa, &self.shear_heat_w_per_m2, &self.flux_w_per_m2, &self.hottest_k, &self.conductivity_w_per_m_k];
        profiles.into_iter().flatten().chain([&self.mass_flow_kg_per_s, &self.leak_heat_w, &self.mass_balance]).all(|x| x.is_finite())
    }

    /// Integral of the film pressure above `base_pa` over the band, N.
    pub fn force_n(&self, nodes: &BandNodes, base_pa: f64) -> f64 {
        nodes.weight_m2.iter().zip(&self.pressure_pa).map(|(w, p)| w * (p - base_pa)).sum()
    }

    /// Power of viscous shear, W.
    pub fn shear_power_w(&self, nodes: &BandNodes) -> f64 {
        nodes.weight_m2.iter().zip(&self.shear_heat_w_per_m2).map(|(w, q)| w * q).sum()
    }

    /// Viscous torque between the faces, N m; zero at rest.
    pub fn shear_torque_n_m(&self, nodes: &BandNodes, sliding_rad_per_s: f64) -> f64 {
        if sliding_rad_per_s == 0.0 { 0.0 } else { self.shear_power_w(nodes) / sliding_rad_per_s }
    }
}

/// Solve the film. `start` is a film near the one wanted (from the last iteration or duty), if there is one.
///
/// # Errors
/// [`FilmError`]: a state outside the fluid's range, a feature not modelled, or no convergence with its history.
pub fn film(input: &FilmInput, start: Option<&FilmStart>) -> Result<(FilmResult, FilmStart), FilmError> {
    match input.gap.field {
        Some(grid) => field::solve(input, grid, start),
        None => axisymmetric::solve(input, start),
    }
}

/// Derivatives of the profiles of a converged film with respect to the gap and the face temperature at every node.
///
/// # Errors
/// As [`film`].
pub fn sensitivity(input: &FilmInput, converged: &FilmStart) -> Result<FilmSensitivity, FilmError> {
    match input.gap.field {
        Some(grid) => field::sensitivity(input, grid, converged),
        None => tangent::sensitivity(input, converged),
    }
}

#[cfg(test)]
mod compressible_tests;
#[cfg(test)]
mod hold_tests;
#[cfg(test)]
mod tests;
