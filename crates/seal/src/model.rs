//! The case in SI units and absolute pressure, validated: what the physics works on.
//!
//! Plain data, `Send + Sync`, cheap to clone and to vary.

mod moving;
mod texture;

use std::sync::Arc;

use halfmicron_properties::material::Material;
use halfmicron_properties::{Fluid, MixtureViscosity};

use crate::notice::Notice;
pub use moving::Moving;
pub use texture::{DimpleShape, Grooves, Texture, TextureForm, is_two_dimensional};

/// A whole seal with its duties.
#[derive(Debug, Clone)]
pub struct Model {
    /// Title of the case.
    pub title: String,
    /// The machine around the seal.
    pub machine: Machine,
    /// The sealed fluid of every duty that names none of its own.
    pub fluid: Arc<Fluid>,
    /// Operating points, in the order of the case.
    pub duties: Vec<Duty>,
    /// Arrangement and closing forces.
    pub seal: Seal,
    /// The ring that turns.
    pub rotating_ring: Ring,
    /// The ring that stands.
    pub stationary_ring: Ring,
    /// Which ring carries the narrow face.
    pub narrow_ring: RingRole,
    /// Running band, common to both faces.
    pub band: BandLimits,
    /// Textures of the faces; those that vary round the circumference are all on one ring.
    pub textures: Vec<Texture>,
    /// Contact and boundary friction.
    pub contact: Contact,
    /// Supply and housekeeping that rules look at (quench, solids ...), as given.
    pub supply: Supply,
    /// The user's acceptance limits.
    pub limits: Limits,
    /// Switches that reproduce a hand or published case.
    pub switches: Switches,
    /// What the case says of the masses and springs that move.
    pub moving: Moving,
    /// Prescribed gap for `film`; also the only gap of a case without rings.
    pub gap: Option<PrescribedGap>,
    /// Every default taken while the case became this model.
    pub notices: Vec<Notice>,
    /// BLAKE3 hash of the case text, hexadecimal.
    pub case_hash: String,
}

/// The machine around the seal, as far as the case states it.
#[derive(Debug, Clone, Default)]
pub struct Machine {
    /// Kind in words: `centrifugal pump`, `agitator` ...
    pub kind: String,
    /// Shaft diameter, m.
    pub shaft_diameter_m: Option<f64>,
    /// Face run-out, total indicator reading, m.
    pub face_runout_m: Option<f64>,
    /// End play, m.
    pub end_play_m: Option<f64>,
}

/// One operating point.
#[derive(Debug, Clone)]
pub struct Duty {
    /// Name, unique in the case.
    pub name: String,
    /// Fluid of this duty alone.
    pub fluid: Option<Arc<Fluid>>,
    /// Signed shaft speed, rad/s.
    pub speed_rad_per_s: f64,
    /// Absolute pressure on the sealed side, Pa.
    pub pressure_pa: f64,
    /// Absolute pressure on the other side, Pa.
    pub low_pressure_pa: f64,
    /// Where the temperature at the rings comes from.
    pub temperature: ChamberTemperature,
    /// Hours per year at this duty.
    pub hours_per_year: Option<f64>,
    /// What was observed in service, never fitted.
    pub observed: Observed,
}

/// Temperature of the fluid around the rings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ChamberTemperature {
    /// Stated, K.
    Stated(f64),
    /// From the flush that enters at this temperature, K; the chamber follows from the heat.
    FromFlush(f64),
}

impl ChamberTemperature {
    /// The temperature that the case states, of the chamber or of the flush, K.
    pub fn stated_k(self) -> f64 {
        match self {
            Self::Stated(t) | Self::FromFlush(t) => t,
        }
    }
}

/// Observations, for comparison only.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Observed {
    /// Volume leakage at chamber conditions, m3/s.
    pub leakage_m3_per_s: Option<f64>,
    /// Temperature read near the faces, K.
    pub temperature_k: Option<f64>,
    /// Torque, N m.
    pub torque_n_m: Option<f64>,
}

/// Side of the band on which the sealed pressure acts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PressureSide {
    /// Sealed fluid at the outside diameter.
    Outside,
    /// Sealed fluid at the inside diameter.
    Inside,
}

/// Arrangement and closing.
#[derive(Debug, Clone)]
pub struct Seal {
    /// Where the sealed pressure acts.
    pub pressure_side: PressureSide,
    /// Balance radius, m.
    pub balance_radius_m: f64,
    /// Balance radius when pressure reverses, m; `balance_radius_m` when the case gives none.
    pub reverse_balance_radius_m: f64,
    /// Spring force at working length, N.
    pub spring_force_n: f64,
    /// Whether the springs (and so the floating ring) turn.
    pub rotating_spring: bool,
    /// The sliding secondary seal of the floating ring.
    pub secondary_seal: SecondarySeal,
    /// Flush flow, m3/s.
    pub flush_m3_per_s: Option<f64>,
    /// Heat from hot surroundings into the chamber, W.
    pub heat_soak_w: f64,
}

/// The sliding secondary seal.
#[derive(Debug, Clone)]
pub struct SecondarySeal {
    /// Kind: `O-ring`, `metal bellows`, ...
    pub kind: SecondarySealKind,
    /// Material name as given.
    pub material: String,
    /// Friction force, N.
    pub friction: SecondaryFriction,
}

/// Kind of the sliding secondary seal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SecondarySealKind {
    /// Elastomer or PTFE ring sliding on the balance diameter.
    ORing,
    /// Welded or formed metal bellows: no sliding friction.
    MetalBellows,
    /// Anything else that slides.
    Other,
}

/// Friction of the sliding secondary seal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SecondaryFriction {
    /// By the stated formula.
    Automatic {
        /// O-ring section, m (stated or default).
        section_m: f64,
        /// Squeeze as a share of the section.
        squeeze: f64,
    },
    /// Given, N.
    Given(f64),
}

/// Rotating or stationary.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RingRole {
    /// Turns with the shaft.
    Rotating,
    /// Stands.
    Stationary,
}

/// Limits of the running band, m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BandLimits {
    /// Inner radius, m.
    pub inner_radius_m: f64,
    /// Outer radius, m.
    pub outer_radius_m: f64,
}

impl BandLimits {
    /// Area, m2.
    pub fn area_m2(&self) -> f64 {
        std::f64::consts::PI * (self.outer_radius_m.powi(2) - self.inner_radius_m.powi(2))
    }
    /// Mean radius, m.
    pub fn mean_radius_m(&self) -> f64 {
        0.5 * (self.inner_radius_m + self.outer_radius_m)
    }
    /// Width, m.
    pub fn width_m(&self) -> f64 {
        self.outer_radius_m - self.inner_radius_m
    }
}

/// One ring in its own coordinates: running face at `z = 0`, body in `z > 0`.
#[derive(Debug, Clone, PartialEq)]
pub struct Ring {
    /// Rotating or stationary.
    pub role: RingRole,
    /// Whether this ring floats (is pressed by the springs and carries the sliding secondary seal).
    pub floating: bool,
    /// Pieces of the section, each a quadrilateral of one material; pieces share edges. The first carries the face.
    /// Empty where the case has no such ring or section (a film alone, one ring alone, rigid faces).
    pub parts: Vec<Part>,
    /// Where a fixed ring is held; a floating ring is held by the springs at `spring_radius_m`.
    pub support: Support,
    /// Radius of the circle on which the springs press (floating ring), m; on the back face.
    pub spring_radius_m: f64,
    /// Secondary-seal point `[r, z]`, m: it bounds the surface wetted by the sealed fluid.
    pub secondary_seal_m: [f64; 2],
    /// Root mean square roughness Rq of the face, m.
    pub roughness_rq_m: f64,
    /// Flatness (peak to valley tolerance), m.
    pub flatness_m: f64,
    /// Lapped coning from edge to edge of the band, m: positive where the lapped face opens the gap toward the sealed side
    /// (`Seal::pressure_side`).
    pub lapped_coning_m: f64,
    /// Conditions stated for named edges.
    pub edges: Vec<EdgeCondition>,
    /// Temperature at which the ring is free of thermal strain and flat, K.
    pub stress_free_temperature_k: f64,
    /// Fillet radius stated at inner corners of the section, m.
    pub fillet_radius_m: Option<f64>,
    /// Face load for `ring` alone.
    pub face_load: FaceLoad,
}

/// One piece of a section.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Material with its values.
    pub material: Material,
    /// Four corners `[r, z]` in m, counter-clockwise around the piece (r to the right, z up).
    pub corners_m: [[f64; 2]; 4],
    /// Interference fit of this piece onto its inner neighbour.
    pub fit: Option<Fit>,
}

/// Shrink fit between two pieces at a cylinder.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fit {
    /// Radius of the fit, m.
    pub radius_m: f64,
    /// Radial interference at `temperature_k`, m.
    pub interference_m: f64,
    /// Temperature at which the interference is stated, K.
    pub temperature_k: f64,
}

/// Where a ring is held axially.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Support {
    /// Floating ring: the spring circle takes any surplus.
    SpringCircle,
    /// A circle `r`, `z`.
    Circle {
        /// Radius, m.
        radius_m: f64,
        /// Axial position, m.
        z_m: f64,
    },
    /// Pressure spread evenly over an annulus, mean displacement held.
    Annulus {
        /// Radii, m.
        radius_m: [f64; 2],
        /// Axial position, m.
        z_m: f64,
    },
    /// An annulus held flat: every point of it has zero axial displacement.
    HeldFace {
        /// Radii, m.
        radius_m: [f64; 2],
        /// Axial position, m.
        z_m: f64,
    },
}

/// Condition stated for one edge of the section.
#[derive(Debug, Clone, PartialEq)]
pub struct EdgeCondition {
    /// Which edges.
    pub edge: EdgeSelector,
    /// Convection coefficient, W/(m2 K); 0 insulates.
    pub coefficient_w_per_m2_k: Option<f64>,
    /// Bulk temperature, K.
    pub temperature_k: Option<f64>,
    /// Fluid that wets it.
    pub wetted_by: Option<Wetting>,
    /// Pressure on it, absolute Pa, for `ring` alone.
    pub pressure_pa: Option<f64>,
}

/// How a case names edges of a section.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum EdgeSelector {
    /// Cylindrical surfaces facing the shaft.
    Bore,
    /// Cylindrical surfaces facing outward.
    Outside,
    /// Plane surfaces facing away from the running face.
    Back,
    /// Plane surfaces on the face side, outside the band.
    FaceSide,
    /// Every edge whose middle lies in the box `r`, `z` (m).
    Box {
        /// Radii, m.
        radius_m: [f64; 2],
        /// Axial range, m.
        z_m: [f64; 2],
    },
}

/// Which fluid wets an edge.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wetting {
    /// The sealed fluid at chamber pressure.
    Sealed,
    /// The low-pressure side.
    LowSide,
    /// Neither: insulated and dry (clamped, glued).
    Dry,
}

/// Face load of a ring taken alone.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct FaceLoad {
    /// Heat entering the ring over the band, W.
    pub heat_w: Option<f64>,
    /// Uniform absolute pressure on the band, Pa.
    pub pressure_pa: Option<f64>,
}

/// Contact of the pair.
#[derive(Debug, Clone, PartialEq)]
pub struct Contact {
    /// Greenwood-Tripp `eta beta sigma`.
    pub eta_beta_sigma: f64,
    /// Greenwood-Tripp `sigma / beta`.
    pub sigma_over_beta: f64,
    /// Boundary friction coefficient of the asperity share: low, nominal, high.
    pub boundary_friction: [f64; 3],
    /// Plastic bearing pressure of the softer face, Pa.
    pub plastic_pressure_pa: f64,
    /// Specific wear coefficient, Pa^-1 (depth / (pressure x distance)): low, nominal, high, when the pair is known.
    pub wear_per_pa: Option<[f64; 3]>,
    /// Handbook limit of net pressure x speed, Pa m/s, when the pair is known.
    pub pv_limit_pa_m_per_s: Option<f64>,
    /// Where the pair's numbers come from.
    pub source: String,
}

/// What the case says of supply and product beyond the film.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Supply {
    /// Quench on the low side in words (`water`, `steam`, `nitrogen`), when there is one.
    pub quench: Option<String>,
    /// Solids, volume share of the product.
    pub solids_volume_share: Option<f64>,
    /// Whether the flush is clean liquid from outside.
    pub clean_flush: bool,
    /// Arrangement in words, `single` by default.
    pub arrangement: String,
}

/// Acceptance limits of the user.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Limits {
    /// Volume leakage at chamber conditions, m3/s.
    pub leakage_m3_per_s: Option<f64>,
    /// Mass leakage, kg/s.
    pub leakage_kg_per_s: Option<f64>,
    /// Greatest face temperature, K.
    pub face_temperature_k: Option<f64>,
    /// Least boiling margin, K.
    pub boiling_margin_k: Option<f64>,
    /// Greatest contact share.
    pub contact_share: Option<f64>,
    /// Greatest power, W.
    pub power_w: Option<f64>,
    /// Least film, m.
    pub minimum_film_m: Option<f64>,
}

/// Switches that reproduce a hand or published case; all on by default.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Switches {
    /// Convective inertia `rho u du/dr` and entry loss.
    pub convective_inertia: bool,
    /// Centrifugal inertia of the spinning film.
    pub spin: bool,
    /// Patir-Cheng pressure flow factor.
    pub flow_factor: bool,
    /// Patir-Cheng shear factor.
    pub shear_factor: bool,
    /// Asperity contact.
    pub contact: bool,
    /// Heat: off holds film and faces at chamber temperature.
    pub heat: bool,
    /// Ring distortion by pressure and heat.
    pub distortion: bool,
    /// Momentum factor `a` of convective inertia (1 as in the published works, 6/5 for a parabola).
    pub momentum_factor: f64,
    /// Entry loss coefficient `zeta`.
    pub entry_loss: f64,
    /// How the viscosity of liquid and vapour together follows from those of the two.
    pub mixture_viscosity: MixtureViscosity,
    /// Whether liquid below its boiling pressure turns into vapour within the film.
    pub flashing: Flashing,
    /// Slip of gas at the faces.
    pub slip: Slip,
    /// Turbulent film coefficients above the laminar range.
    pub turbulence: bool,
    /// Cavitation pressure given by the user, absolute Pa.
    pub cavitation_pressure_pa: Option<f64>,
}

/// What liquid does in the film below its boiling pressure.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Flashing {
    /// Liquid and vapour are in equilibrium at every radius: the most vapour that there can be.
    #[default]
    Equilibrium,
    /// No vapour forms on the way: the liquid leaves superheated, the least that there can be.
    Frozen,
}

/// Law of slip of gas at the faces.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Slip {
    /// Flow rate of kinetic theory, at every Knudsen number.
    #[default]
    Kinetic,
    /// First order in the Knudsen number.
    FirstOrder,
    /// Gas clings to the faces.
    None,
}

impl Switches {
    /// Viscous flow of one temperature between smooth faces, as in hand calculations: every effect beyond it off.
    pub fn viscous_alone() -> Self {
        Self {
            convective_inertia: false,
            spin: false,
            flow_factor: false,
            shear_factor: false,
            contact: false,
            heat: false,
            slip: Slip::None,
            turbulence: false,
            ..Self::default()
        }
    }
}

impl Default for Switches {
    fn default() -> Self {
        Self {
            convective_inertia: true,
            spin: true,
            flow_factor: true,
            shear_factor: true,
            contact: true,
            heat: true,
            distortion: true,
            momentum_factor: 1.0,
            entry_loss: 0.5,
            mixture_viscosity: MixtureViscosity::ByMassFluidity,
            flashing: Flashing::Equilibrium,
            slip: Slip::Kinetic,
            turbulence: true,
            cavitation_pressure_pa: None,
        }
    }
}

/// Prescribed gap between rigid faces.
#[derive(Debug, Clone, PartialEq)]
pub struct PrescribedGap {
    /// Gap at the inner edge of the band, m.
    pub inner_m: f64,
    /// Gap at the outer edge of the band, m; linear between.
    pub outer_m: f64,
    /// Waves and tilt of the gap itself, taken to stand still.
    pub features: Vec<Texture>,
}
