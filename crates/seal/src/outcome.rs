//! What came out of one duty, SI units. Keys are stable: the JSON a user scripts against is this, serialised.

mod absent;
mod margins;

use std::sync::Arc;

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::choices::ModelSpread;
use crate::film::FilmField;
use crate::notice::Notice;
pub use absent::absent_numbers;
pub use margins::{Jump, JumpMargin, Margins};

/// A headline number with its uncertainty.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Ranged {
    /// Low end of the stated uncertainty.
    pub low: f64,
    /// Nominal.
    pub nominal: f64,
    /// High end.
    pub high: f64,
}

impl Ranged {
    /// A number known exactly as far as this result goes.
    pub fn exact(value: f64) -> Self {
        Self { low: value, nominal: value, high: value }
    }

    /// Widen the range so that it contains `value`; non-finite values are ignored.
    pub fn include(&mut self, value: f64) {
        if value.is_finite() {
            self.low = self.low.min(value);
            self.high = self.high.max(value);
        }
    }
}

/// Everything computed from one case.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Outcome {
    /// Title of the case.
    pub title: String,
    /// One entry a duty, in the order of the case.
    pub duties: Vec<DutyOutcome>,
    /// Notices that concern the whole case (defaults taken).
    pub notices: Vec<Notice>,
    /// Verdicts of the rules that look over all duties, filled by `rules::case_verdicts`.
    #[serde(default)]
    pub verdicts: Vec<Verdict>,
    /// Where the result comes from.
    pub provenance: Provenance,
}

/// Where a result comes from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Provenance {
    /// Version of halfmicron.
    pub version: String,
    /// BLAKE3 hash of the case text.
    pub case_hash: String,
    /// Version of the property data.
    pub data_version: String,
    /// Seed of random numbers; none are drawn in a solve.
    pub seed: Option<u64>,
}

/// How the solve of a duty ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Status {
    /// A stable equilibrium was found and chosen.
    Solved,
    /// No equilibrium: even the closest film cannot carry the closing force; the faces touch beyond the model.
    NoneFacesTouch,
    /// No equilibrium: the film force exceeds closing over the whole scan; the faces part.
    NoneFacesPart,
    /// Only unstable equilibria.
    NoneStable,
    /// The numerical method failed; the history is in `trace`.
    NotConverged,
    /// The physics needed is outside what is modelled (boiling, gas); the reason says which.
    NotModelled,
    /// An input is outside the range of a property or model.
    OutOfRange,
}

/// One duty.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DutyOutcome {
    /// Name of the duty.
    pub name: String,
    /// How it ended.
    pub status: Status,
    /// Why, in words and numbers that can be checked.
    pub reason: String,
    /// Index into `equilibria` of the one believed.
    pub chosen: Option<usize>,
    /// Why that one.
    pub chosen_reason: String,
    /// What can be checked by hand.
    pub hand: Hand,
    /// Conditions of the duty in SI.
    pub conditions: Conditions,
    /// Every equilibrium found, in the order in which closed faces meet them as they part.
    pub equilibria: Vec<Equilibrium>,
    /// Margins of the chosen equilibrium to the jump; none where none is chosen or no complete search was made.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub margins: Option<Margins>,
    /// Branch trace of the search: what a reviewer needs to recheck "none" or the count.
    pub trace: Vec<TracePoint>,
    /// Notices of this duty.
    pub notices: Vec<Notice>,
    /// Verdicts of the rules, filled by `rules`.
    pub verdicts: Vec<Verdict>,
    /// Ids of the models used.
    pub models: Vec<String>,
    /// Work counts.
    pub work: Work,
    /// What other laws than those of the case would give, when asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub model_spread: Option<ModelSpread>,
}

impl DutyOutcome {
    /// An outcome of a duty that is still to be solved.
    pub fn empty(name: &str) -> Self {
        Self {
            name: name.to_owned(),
            status: Status::NotConverged,
            reason: String::new(),
            chosen: None,
            chosen_reason: String::new(),
            hand: Hand::default(),
            conditions: Conditions::default(),
            equilibria: Vec::new(),
            margins: None,
            trace: Vec::new(),
            notices: Vec::new(),
            verdicts: Vec::new(),
            models: Vec::new(),
            work: Work::default(),
            model_spread: None,
        }
    }
}

/// Conditions of a duty.
#[derive(Default, Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Conditions {
    /// Name of the fluid.
    pub fluid: String,
    /// Speed, rad/s, signed.
    pub speed_rad_per_s: f64,
    /// Sealed pressure, Pa absolute.
    pub pressure_pa: f64,
    /// Low pressure, Pa absolute.
    pub low_pressure_pa: f64,
    /// Chamber temperature as stated or as it followed from the flush, K.
    pub chamber_temperature_k: f64,
    /// Balance radius in force (reverse pressure has its own), m.
    pub balance_radius_m: f64,
    /// Whether pressure is reversed.
    pub reverse_pressure: bool,
    /// Whether the shaft turns.
    pub turning: bool,
    /// Saturation temperature at chamber pressure, K, when known.
    pub chamber_saturation_k: Option<f64>,
    /// Viscosity in the chamber, Pa s.
    pub chamber_viscosity_pa_s: f64,
    /// Density in the chamber, kg/m3.
    pub chamber_density_kg_per_m3: f64,
    /// Hours a year.
    pub hours_per_year: Option<f64>,
}

/// Hand numbers: what an engineer checks with a pocket calculator.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct Hand {
    /// Face area, m2.
    pub area_m2: f64,
    /// Balance ratio.
    pub balance_ratio: f64,
    /// Spring force over face area, Pa.
    pub spring_pressure_pa: f64,
    /// Sliding speed at the mean diameter, m/s.
    pub sliding_speed_m_per_s: f64,
    /// Closing force above the low pressure, spring included, N.
    pub closing_force_n: f64,
    /// Net face pressure `dp (B - 0.5) + spring pressure`, Pa.
    pub net_pressure_pa: f64,
    /// Net PV, Pa m/s.
    pub net_pv_pa_m_per_s: f64,
    /// Volume leakage of a parallel film of the mean thickness solved (0.7 um where none is), chamber viscosity, m3/s.
    pub parallel_film_leakage_m3_per_s: f64,
    /// The thickness used for it, m.
    pub parallel_film_m: f64,
    /// Whether it was taken for a gas that expands on its way, at the density at which it enters.
    pub parallel_film_of_gas: bool,
}

/// One equilibrium.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Equilibrium {
    /// Stable by the coupled slope.
    pub stable: bool,
    /// Stable against motions too fast for heat to follow: temperatures and thermal shape held.
    pub stable_with_heat_frozen: bool,
    /// Gap at the inner edge of the band, m.
    pub inner_gap_m: f64,
    /// Least gap over the band, m.
    pub minimum_film_m: Ranged,
    /// Area mean of the gap, m.
    pub mean_film_m: Ranged,
    /// Mass leakage, positive from the sealed to the low side... from high to low pressure, kg/s.
    pub leakage_kg_per_s: Ranged,
    /// The same as volume at chamber density, m3/s.
    pub leakage_m3_per_s: Ranged,
    /// Whether the leakage is a lower bound (flat axisymmetric faces).
    pub leakage_is_lower_bound: bool,
    /// The same equilibrium between faces that carry a default wave, for the one chosen; none for a gas, for faces whose textures are stated, and
    /// where it is not known (a notice says why).
    #[serde(default)]
    pub with_wave: Option<WavyFilm>,
    /// Torque, N m; at standstill the one that breaks the faces away.
    pub torque_n_m: Ranged,
    /// Torque that breaks the seal away from rest at the pressure and chamber temperature of the duty, N m; given for the equilibrium chosen,
    /// none where no stable film was found at rest.
    #[serde(default)]
    pub break_away_torque_n_m: Option<Ranged>,
    /// Power, W.
    pub power_w: Ranged,
    /// Share of closing carried by asperities.
    pub contact_share: Ranged,
    /// Film force above low pressure plus contact, N.
    pub opening_force_n: f64,
    /// Closing force, N.
    pub closing_force_n: f64,
    /// Film share of the opening force, N.
    pub film_force_n: f64,
    /// Contact share of the opening force, N.
    pub contact_force_n: f64,
    /// Pressure-profile factor K; none at equal pressures.
    pub pressure_profile_factor: Option<f64>,
    /// Coning end to end, positive opening toward the high-pressure side.
    pub coning_m: Coning,
    /// Best-fit slope times the band width, m.
    pub coning_fit_m: f64,
    /// Coning of each ring alone.
    pub rings: RingPair<RingResult>,
    /// Greatest face temperature, K.
    pub face_temperature_max_k: Ranged,
    /// Greatest film temperature, K.
    pub film_temperature_max_k: Ranged,
    /// Least of saturation temperature at local pressure less hottest film temperature, K.
    pub boiling_margin_k: Option<Ranged>,
    /// Saturation temperature at chamber pressure less chamber temperature, K; none where the chamber holds gas.
    pub chamber_margin_k: Option<f64>,
    /// Least of local pressure less vapour pressure at hottest film temperature, Pa.
    pub boiling_margin_pa: Option<f64>,
    /// Why a boiling margin is not given.
    pub boiling_margin_reason: String,
    /// Greatest vapour mass fraction.
    pub vapour_fraction_max: f64,
    /// What the fluid does on its way through the film.
    pub passage: Passage,
    /// Slopes of the opening force with the least gap, N/m.
    pub film_stiffness_n_per_m: Stiffness,
    /// Heat into the rings and carried by the leak, W.
    pub heat_split_w: HeatSplit,
    /// Net PV with the solved K: mean net face pressure times mean sliding speed, Pa m/s.
    pub pv_pa_m_per_s: f64,
    /// Film regime.
    pub regime: Regime,
    /// Least film over composite roughness.
    pub film_parameter: f64,
    /// Duty parameter: viscosity x speed x width / closing force.
    pub duty_parameter: f64,
    /// Reynolds numbers, greatest over the band.
    pub reynolds: Reynolds,
    /// Equilibrium least film, leakage and face temperature at both ends of secondary-seal friction.
    pub friction_band: FrictionBand,
    /// Curves over the band.
    pub profiles: Profiles,
    /// The film round the circumference, where textures make it differ from angle to angle and fields were asked for; for drawing, and too
    /// long to be written out.
    #[serde(skip)]
    pub film_field: Option<Arc<FilmField>>,
    /// Relative residuals of the balances.
    pub balances: Balances,
    /// Time to wear the nose at the solved contact pressure, m per hour (mean over the band), when the pair is known.
    pub wear_rate_m_per_s: Option<Ranged>,
    /// Film force at a gap of 10 um with the same shape and temperatures, over closing.
    pub wide_gap_force_share: f64,
}

/// An equilibrium between faces of which the narrow one carries a rigid wave round the circumference.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct WavyFilm {
    /// Waves in a turn.
    pub count: u32,
    /// Height of the wave from valley to peak, m.
    pub peak_to_valley_m: f64,
    /// Least gap over the face, m.
    pub minimum_film_m: f64,
    /// Area mean of the gap, m.
    pub mean_film_m: f64,
    /// Mass leakage, positive from high to low pressure, kg/s.
    pub leakage_kg_per_s: f64,
    /// The same as volume at chamber density, m3/s.
    pub leakage_m3_per_s: f64,
    /// Torque, N m; at standstill the one that breaks the faces away.
    pub torque_n_m: f64,
    /// Power, W.
    pub power_w: f64,
    /// Share of closing carried by asperities.
    pub contact_share: f64,
    /// Greatest face temperature, K.
    pub face_temperature_max_k: f64,
    /// Mean wear rate of the narrow face, m/s, when the pair is known.
    pub wear_rate_m_per_s: Option<f64>,
    /// Share of the face over which the liquid is torn.
    pub cavitated_share: f64,
}

/// What the fluid does on its way through the film.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Passage {
    /// Places where it begins or ceases to boil, along the flow.
    pub phase_changes: Vec<PhaseChange>,
    /// The flow is the greatest that passes: the speed of sound is reached at the exit.
    pub choked: bool,
    /// Absolute pressure at the exit, Pa; above the low pressure where choked.
    pub exit_pressure_pa: f64,
    /// Greatest speed over the speed of sound of the fluid in equilibrium.
    pub greatest_mach: f64,
    /// Leakage as volume of gas at 0 degC and 101 325 Pa, m3/s, where the fluid leaves as gas.
    pub leakage_normal_m3_per_s: Option<f64>,
}

/// A place where the fluid changes its phase.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct PhaseChange {
    /// Radius, m.
    pub radius_m: f64,
    /// What happens there along the flow.
    pub kind: PhaseChangeKind,
}

/// What happens to the fluid along its flow.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum PhaseChangeKind {
    /// Liquid begins to boil.
    BeginsToBoil,
    /// The mixture has become vapour.
    AllVapour,
    /// Vapour begins to condense.
    BeginsToCondense,
    /// The mixture has become liquid.
    AllLiquid,
    /// Boiling over a stretch ends: up to here the film follows its boiling point.
    LeavesBoilingPoint,
}

/// Phase of the fluid at a radius.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum FilmPhase {
    /// Liquid.
    Liquid,
    /// Liquid and vapour in equilibrium.
    Mixture,
    /// Gas or vapour.
    Gas,
    /// Above the critical pressure and temperature.
    Supercritical,
    /// Liquid kept above its boiling point (frozen flashing).
    Superheated,
}

/// Coning by cause, m, end to end over the band; positive opens toward the high-pressure side.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct Coning {
    /// Sum.
    pub total: f64,
    /// Pressure, contact, spring, spin, fit.
    pub elastic: f64,
    /// Heat.
    pub thermal: f64,
    /// Lapped form.
    pub lapped: f64,
    /// Wear.
    pub worn: f64,
}

/// One value a ring.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct RingPair<T> {
    /// Rotating ring.
    pub rotating: T,
    /// Stationary ring.
    pub stationary: T,
}

/// Results of one ring at an equilibrium.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct RingResult {
    /// Its part of the coning.
    pub coning_m: Coning,
    /// Heat entering it, W.
    pub heat_w: f64,
    /// Greatest face temperature, K.
    pub face_temperature_max_k: f64,
    /// Face temperature rise over the chamber, area mean, K.
    pub face_rise_k: f64,
    /// Stresses.
    pub stress_pa: Stress,
    /// Axial reaction at the support, N, and its balance.
    pub reaction_n: f64,
    /// Temperature at the secondary-seal point, K.
    pub secondary_seal_temperature_k: f64,
    /// Interference fits.
    pub fits: Vec<FitResult>,
    /// Temperatures over the section and the shape of the face, where full fields were asked for; for drawings, not in the JSON.
    #[serde(skip)]
    pub field: Option<RingField>,
}

/// A ring's temperatures over its section and the shape of its face.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct RingField {
    /// Nodes `[r, z]` in the ring's own coordinates, m.
    pub nodes_m: Vec<[f64; 2]>,
    /// Nodes of each 8-node element: four corners counter-clockwise, then the middle of each side, first between the first two corners.
    pub elements: Vec<[usize; 8]>,
    /// Temperature at each node, K.
    pub temperature_k: Vec<f64>,
    /// Axial displacement at each node against the ring as it was lapped, positive into the body, the inner edge of the face at zero, m.
    pub axial_m: Vec<f64>,
    /// Radii of the nodes of the running face, m.
    pub face_radius_m: Vec<f64>,
    /// Axial position of the face there, positive into the body, its inner edge at zero: lapped form and deflection together, m.
    pub face_shape_m: Vec<f64>,
}

/// Stresses of a ring.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Stress {
    /// Greatest principal tension outside singular places, Pa.
    pub tension_max: f64,
    /// Where, `[r, z]` m.
    pub tension_at_m: [f64; 2],
    /// Material there.
    pub tension_material: String,
    /// Greatest von Mises stress outside singular places, Pa.
    pub von_mises_max: f64,
    /// Roots and circles left out because no fillet is stated there.
    pub not_assessed: Vec<String>,
}

/// State of an interference fit.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct FitResult {
    /// Radius, m.
    pub radius_m: f64,
    /// Mean contact pressure, Pa; zero when loose.
    pub pressure_pa: f64,
    /// Remaining interference, m.
    pub interference_m: f64,
    /// Torque at which it slips with friction 0.1 (common practice), N m.
    pub slip_torque_n_m: f64,
    /// Uniform temperature at which it loosens, K, when there is one.
    pub loosening_temperature_k: Option<f64>,
}

/// Slopes of film plus contact force with the least gap; negative resists closing. The stable label itself follows the slope with the
/// axial travel of the ring where it is held (see `point`).
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct Stiffness {
    /// Everything following.
    pub coupled: f64,
    /// Thermal shape and temperature held, elastic shape following.
    pub thermally_frozen: f64,
    /// Shape held.
    pub frozen: f64,
}

/// Where the heat goes, W.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct HeatSplit {
    /// Viscous shear.
    pub viscous: f64,
    /// Asperity friction.
    pub contact: f64,
    /// Into the rotating ring.
    pub rotating: f64,
    /// Into the stationary ring.
    pub stationary: f64,
    /// Carried away by the leak.
    pub leak: f64,
}

/// Film regime by `h/sigma` and contact share.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Regime {
    /// Least film above 3 sigma, contact below 1 %.
    FullFilm,
    /// Between.
    Mixed,
    /// Contact share above 90 %.
    Boundary,
}

/// Greatest Reynolds numbers over the band.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct Reynolds {
    /// Circumferential.
    pub couette: f64,
    /// Radial.
    pub pressure: f64,
}

/// Equilibria at both ends of the friction band.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct FrictionBand {
    /// Friction of the secondary seal, N: low, nominal, high of its own estimate.
    pub friction_n: [f64; 3],
    /// Closing forces at the two ends, N.
    pub closing_force_n: [f64; 2],
    /// Least film at the two ends (friction helps closing first), m; NaN-free: none where no equilibrium.
    pub minimum_film_m: [Option<f64>; 2],
    /// Leakage at the two ends, kg/s.
    pub leakage_kg_per_s: [Option<f64>; 2],
    /// Face temperature at the two ends, K.
    pub face_temperature_max_k: [Option<f64>; 2],
}

/// Curves over the band, inner to outer radius.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Profiles {
    /// Radius, m.
    pub radius_m: Vec<f64>,
    /// Gap between mean planes, m.
    pub gap_m: Vec<f64>,
    /// Film pressure, Pa absolute.
    pub pressure_pa: Vec<f64>,
    /// Contact pressure, Pa.
    pub contact_pressure_pa: Vec<f64>,
    /// Mean film temperature, K.
    pub temperature_k: Vec<f64>,
    /// Hottest temperature across the film, K.
    #[serde(default)]
    pub film_hottest_k: Vec<f64>,
    /// Boiling temperature at the film's pressure, K; none above the critical pressure and beyond the vapour data, empty where nothing boils.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub boiling_temperature_k: Vec<Option<f64>>,
    /// Mass share of vapour.
    #[serde(default)]
    pub vapour_fraction: Vec<f64>,
    /// Phase of the fluid.
    #[serde(default)]
    pub phase: Vec<FilmPhase>,
    /// Face temperatures, K.
    pub rotating_face_temperature_k: Vec<f64>,
    /// Face temperatures, K.
    pub stationary_face_temperature_k: Vec<f64>,
    /// Heat flux into the rotating ring, W/m2.
    pub rotating_flux_w_per_m2: Vec<f64>,
    /// Heat flux into the stationary ring, W/m2.
    pub stationary_flux_w_per_m2: Vec<f64>,
}

/// Relative balance residuals, each computed another way than the solve made it.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct Balances {
    /// Inlet against outlet of the discrete film.
    pub mass: f64,
    /// Finite-element reaction of the floating ring over closing.
    pub force: f64,
    /// Convection over the reconstructed ring fields plus leak against friction work, over max(heat, 1 W).
    pub heat: f64,
}

/// One point of the branch trace.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct TracePoint {
    /// Gap at the inner edge, m.
    pub inner_gap_m: f64,
    /// Least gap, m.
    pub minimum_gap_m: f64,
    /// Opening force, N.
    pub opening_force_n: f64,
    /// Closing force, N.
    pub closing_force_n: f64,
}

/// Work counts.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Work {
    /// Film evaluations.
    pub film_solves: u64,
    /// Newton iterations of the coupled system.
    pub iterations: u64,
    /// Dense factorisations of the coupled system.
    pub factorisations: u64,
    /// Sparse ring factorisations.
    pub ring_factorisations: u64,
    /// Branch points traced.
    pub branch_points: u64,
}

impl Work {
    /// Count other work in.
    pub fn add(&mut self, other: &Self) {
        self.film_solves += other.film_solves;
        self.iterations += other.iterations;
        self.factorisations += other.factorisations;
        self.ring_factorisations += other.ring_factorisations;
        self.branch_points += other.branch_points;
    }
}

/// Word of a verdict.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Word {
    /// Within.
    Holds,
    /// Look at it.
    Watch,
    /// Not acceptable.
    Fails,
    /// Could not be assessed.
    NotComputed,
}

/// Verdict of one rule.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Verdict {
    /// Stable id of the rule, e.g. `film.contact-share`.
    pub rule: String,
    /// Word.
    pub word: Word,
    /// Reason with the numbers, SI inside; the sheet writes units.
    pub reason: String,
    /// Hint to the user.
    pub hint: String,
    /// Source tag of the limit: `std`, `sec`, `cfr`, `hb`, `cp`, `mem`, `geo`, `user`.
    pub source: String,
    /// Value compared, SI, when there is one.
    pub value: Option<f64>,
    /// Limit compared with, SI, when there is one.
    pub limit: Option<f64>,
    /// How far the value stands beyond the limit, in limits; negative by how much is left. It orders verdicts and is not written.
    #[serde(skip)]
    pub excess: Option<f64>,
}
