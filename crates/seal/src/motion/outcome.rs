//! What comes out of the motion of a seal, SI units. Keys are stable.

use serde::Serialize;

use crate::model::RingRole;
use crate::notice::Notice;
use crate::outcome::Provenance;

/// Motion at every duty asked for.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Motion {
    /// Title of the case.
    pub title: String,
    /// One entry a duty.
    pub duties: Vec<DutyMotion>,
    /// Notices that concern every duty (defaults taken, what is left out).
    pub notices: Vec<Notice>,
    /// Where the result comes from.
    pub provenance: Provenance,
}

/// Motion at one duty.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DutyMotion {
    /// Name of the duty.
    pub name: String,
    /// Shaft speed, rad/s, signed.
    pub speed_rad_per_s: f64,
    /// Ring that floats and follows.
    pub floating: &'static str,
    /// Mass and moments of inertia of the floating ring.
    pub body: Option<Body>,
    /// What holds the floating ring besides the film.
    pub support: Option<Support>,
    /// Stiffness and damping of the film.
    pub film: Option<FilmAnswer>,
    /// Stiffness of the asperities in contact.
    pub contact: Option<ContactAnswer>,
    /// How the floating ring follows.
    pub following: Option<Following>,
    /// Following from standstill to beyond the speed of the duty, every speed with its own operating point.
    pub curve: Vec<CurvePoint>,
    /// Leakage that the relative tilt adds.
    pub leakage: Option<TiltLeakage>,
    /// Where following becomes unstable.
    pub stability: Option<Stability>,
    /// Run-out that leaves a stated least film.
    pub allowed: Option<AllowedRunout>,
    /// The same seal followed in time.
    pub in_time: Option<InTime>,
    /// What was not computed, and why.
    pub refusals: Vec<Refusal>,
    /// Notices of this duty.
    pub notices: Vec<Notice>,
    /// Ids of the models used.
    pub models: Vec<String>,
}

/// Something that was not computed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Refusal {
    /// What.
    pub what: &'static str,
    /// Why.
    pub reason: String,
}

/// A rigid ring.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Body {
    /// Mass, kg.
    pub mass_kg: f64,
    /// Moment of inertia about a diameter through the centre of mass, kg m2.
    pub tilt_inertia_kg_m2: f64,
    /// Moment of inertia about the shaft, kg m2.
    pub spin_inertia_kg_m2: f64,
}

/// Springs and secondary seal together.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Support {
    /// Axial stiffness, N/m.
    pub axial_stiffness_n_per_m: f64,
    /// Axial damping, N s/m.
    pub axial_damping_n_s_per_m: f64,
    /// Tilt stiffness, N m/rad.
    pub tilt_stiffness_n_m_per_rad: f64,
    /// Tilt damping, N m s/rad.
    pub tilt_damping_n_m_s_per_rad: f64,
    /// Share of the stiffness that the secondary seal gives.
    pub secondary_share: f64,
}

/// Stiffness and damping of the film. A moment answers a tilt that turns against it: what the film does is `-(K q + D dq/dt)`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FilmAnswer {
    /// Axial stiffness, N/m.
    pub axial_stiffness_n_per_m: f64,
    /// Axial damping, N s/m.
    pub axial_damping_n_s_per_m: f64,
    /// Tilt stiffness seen from standing ground, N m/rad.
    pub tilt_stiffness_n_m_per_rad: f64,
    /// Tilt damping, N m s/rad.
    pub tilt_damping_n_m_s_per_rad: f64,
    /// Moment across per tilt, seen from standing ground, N m/rad; positive drives a whirl in the positive sense.
    pub cross_stiffness_n_m_per_rad: f64,
    /// Moment across per tilt rate, N m s/rad.
    pub cross_damping_n_m_s_per_rad: f64,
    /// Angular frequency of the axial coefficients, rad/s.
    pub axial_frequency_rad_per_s: f64,
    /// Angular frequency of the tilts where the features stand, rad/s.
    pub tilt_frequency_rad_per_s: f64,
    /// Ring in whose frame the matrices are.
    pub frame: &'static str,
    /// Stiffness by (axial shift in m, tilt about x, tilt about y in rad): N/m, N/rad, N m/m, N m/rad.
    pub stiffness: [[f64; 3]; 3],
    /// Damping, N s/m and so on.
    pub damping: [[f64; 3]; 3],
    /// By how much the answer to a tilt depends on its direction against the features, relative.
    pub direction_dependence: f64,
    /// Force of this film over that of the operating point, less one.
    pub force_difference: f64,
    /// Layers and columns of the grid, and equal sectors of the ring.
    pub cells: [usize; 3],
}

/// Stiffness of the asperities.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ContactAnswer {
    /// Axial, N/m.
    pub axial_stiffness_n_per_m: f64,
    /// Tilt, N m/rad.
    pub tilt_stiffness_n_m_per_rad: f64,
}

/// How the floating ring follows the mating face.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Following {
    /// Angular frequency at which the mating face wobbles, seen from standing ground: shaft speed, or zero where the mating ring stands.
    pub excitation_rad_per_s: f64,
    /// Tilt of the floating ring over that of the mating face.
    pub ratio: f64,
    /// By how much it lags behind in the sense of rotation, rad.
    pub lag_rad: f64,
    /// Tilt between the faces over that of the mating face.
    pub relative_ratio: f64,
    /// Axial: travel of the floating ring over that of the mating face at shaft speed.
    pub axial_ratio: f64,
    /// Axial natural frequency of ring on film, without damping, rad/s.
    pub axial_natural_rad_per_s: f64,
    /// Axial damping over critical damping.
    pub axial_damping_ratio: f64,
    /// Numbers for the run-out of the case.
    pub with_runout: Option<WithRunout>,
}

/// Following of the run-out of the case.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct WithRunout {
    /// Run-out, total indicator reading at the outer edge of the band, m.
    pub runout_m: f64,
    /// Tilt of the mating face, rad.
    pub mating_tilt_rad: f64,
    /// Tilt between the faces, rad.
    pub relative_tilt_rad: f64,
    /// Change of the gap at the outer edge of the band, up and down, m.
    pub gap_swing_m: f64,
    /// Least film of the faces without run-out, m.
    pub least_film_still_m: f64,
    /// Least film round the circumference, m.
    pub least_film_m: f64,
    /// Greatest axial force of the secondary seal per length over its friction per length: above one it slides.
    pub secondary_seal_use: Option<f64>,
}

/// One speed of the curve.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CurvePoint {
    /// Shaft speed, rad/s.
    pub speed_rad_per_s: f64,
    /// Tilt of the floating ring over that of the mating face; none where no operating point or no coefficients were found.
    pub ratio: Option<f64>,
    /// Lag, rad.
    pub lag_rad: Option<f64>,
    /// Tilt between the faces over that of the mating face.
    pub relative_ratio: Option<f64>,
    /// Least film without run-out, m.
    pub least_film_still_m: Option<f64>,
    /// Least film round the circumference with the run-out of the case, m.
    pub least_film_m: Option<f64>,
}

/// Leakage of the tilted film.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct TiltLeakage {
    /// Relative tilt at which the film was solved, rad.
    pub tilt_rad: f64,
    /// Leakage added at the tilt of the case, relative.
    pub added: f64,
    /// The same, kg/s.
    pub added_kg_per_s: f64,
    /// Added at the tilt solved, relative; of second order in the tilt.
    pub added_at_tilt: f64,
}

/// Stability of following.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Stability {
    /// Growth of the least damped tilt motion at the speed of the duty, 1/s; negative dies away.
    pub growth_per_s: f64,
    /// Its angular frequency, seen from standing ground, rad/s.
    pub whirl_rad_per_s: f64,
    /// Least speed at which a tilt motion grows with the film held as at the duty, rad/s; none up to the greatest speed looked at.
    pub threshold_rad_per_s: Option<f64>,
    /// Angular frequency of the whirl there, rad/s.
    pub threshold_whirl_rad_per_s: Option<f64>,
    /// Greatest speed looked at, rad/s.
    pub searched_to_rad_per_s: f64,
}

/// Run-out that leaves a least film, where something limits it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct AllowedRunout {
    /// Least film that is to stay, m.
    pub least_film_m: f64,
    /// Whether the case states it.
    pub stated: bool,
    /// Run-out allowed, total indicator reading at the outer edge of the band, m.
    pub runout_m: f64,
    /// What limits it: the film, or the secondary seal, which slides from there on.
    pub limited_by: &'static str,
    /// Run-out at which the film would be down to its least while the ring follows, m.
    pub by_film_m: f64,
    /// Run-out from which the secondary seal slides, m; none where its stiffness or friction is not known.
    pub slides_from_m: Option<f64>,
}

/// Following in time with the whole film.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct InTime {
    /// Turns of the shaft.
    pub turns: f64,
    /// Steps a turn.
    pub steps_per_turn: usize,
    /// Tilt of the floating ring over that of the mating face, mean of the last turn.
    pub ratio: f64,
    /// Tilt between the faces over that of the mating face, mean of the last turn.
    pub relative_ratio: f64,
    /// The same after the linear equations on the coefficients of the film.
    pub linear_relative_ratio: f64,
    /// Change of the relative tilt over the last turn, relative.
    pub settled_within: f64,
    /// Least film of the last turn, m.
    pub least_film_m: f64,
    /// Least film of the whole run, m.
    pub least_film_ever_m: f64,
    /// Mean leakage of the last turn over that without run-out.
    pub leakage_ratio: f64,
    /// Places of time.
    pub series: Vec<Instant>,
}

/// One place of time.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Instant {
    /// Turns of the shaft since the start.
    pub turns: f64,
    /// Tilt of the floating ring about x and y, rad.
    pub tilt_rad: [f64; 2],
    /// Tilt between the faces about x and y, rad.
    pub relative_tilt_rad: [f64; 2],
    /// Axial travel of the floating ring, m.
    pub axial_m: f64,
    /// Least film round the circumference, m.
    pub least_film_m: f64,
}

/// A ring in words.
pub(crate) fn role(role: RingRole) -> &'static str {
    match role {
        RingRole::Rotating => "rotating",
        RingRole::Stationary => "stationary",
    }
}
