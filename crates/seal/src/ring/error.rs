use halfmicron_numerics::constraint::ConstraintError;
use halfmicron_numerics::mesh::MeshError;
use halfmicron_numerics::sparse::SparseError;

/// Why a ring has no answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum RingError {
    /// The section can't be meshed.
    #[error("the section of the ring: {0}")]
    Mesh(#[from] MeshError),
    /// The case describes no such ring.
    #[error("the case gives the ring no section: describe it by `section` with pieces `r` and `z`; `halfmicron film` alone does without")]
    NoSection,
    /// The running band is empty or reversed.
    #[error("the running band from {inner_m} m to {outer_m} m radius is empty; give the inner diameter smaller than the outer")]
    EmptyBand {
        /// Inner radius, m.
        inner_m: f64,
        /// Outer radius, m.
        outer_m: f64,
    },
    /// Too few elements over the band.
    #[error("{elements} elements over the band are too few; take at least 4")]
    CoarseBand {
        /// Elements asked for.
        elements: usize,
    },
    /// The secondary-seal point does not lie on the ring.
    #[error("the secondary-seal point r {} m, z {} m is {distance_m:.2e} m away from the ring; place it on the surface where the sealed fluid ends", point_m[0], point_m[1])]
    SecondarySealOffRing {
        /// Point given `[r, z]`, m.
        point_m: [f64; 2],
        /// Distance to the nearest surface, m.
        distance_m: f64,
    },
    /// The support does not lie on the ring.
    #[error("the support at r {} to {} m, z {z_m} m lies on no surface of the ring; give a face or circle on its surface", radius_m[0], radius_m[1])]
    SupportOffRing {
        /// Radii, m.
        radius_m: [f64; 2],
        /// Axial position, m.
        z_m: f64,
    },
    /// The springs press beside the ring.
    #[error("the springs press at r {radius_m} m, but the back of the ring reaches from {} to {} m", back_m[0], back_m[1])]
    SpringOffRing {
        /// Radius given, m.
        radius_m: f64,
        /// Radii of the back faces, m.
        back_m: [f64; 2],
    },
    /// No surface gives heat away.
    #[error("no surface of the ring carries heat away: every edge is insulated or its coefficient is zero")]
    Insulated,
    /// A condition that is no number, or negative where it must not be.
    #[error("{what} is {value}; it must be a finite number{}", if *not_negative { ", zero or more" } else { "" })]
    BadCondition {
        /// Which quantity.
        what: &'static str,
        /// Value given.
        value: f64,
        /// Whether negative values are refused.
        not_negative: bool,
    },
    /// A list of face values of the wrong length.
    #[error("{got} face values were given for {expected} face nodes")]
    WrongLength {
        /// Values given.
        got: usize,
        /// Face nodes.
        expected: usize,
    },
    /// A material value that no solid can have.
    #[error("material `{material}` has {what} = {value}, which no solid can have")]
    BadMaterial {
        /// Name of the material.
        material: String,
        /// Which value.
        what: &'static str,
        /// Value.
        value: f64,
    },
    /// The matrices of the section can't be factored.
    #[error("the stiffness or conductance of the section: {0}")]
    Matrix(#[from] SparseError),
    /// The contact of an interference fit opens and closes without settling.
    #[error("the contact of an interference fit did not settle in {rounds} rounds; change its interference or the temperature slightly")]
    FitUnsettled {
        /// Rounds tried.
        rounds: usize,
    },
    /// Part of the ring can move freely.
    #[error("the ring is not held: {0}")]
    Loose(#[from] ConstraintError),
}
