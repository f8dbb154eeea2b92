//! Rings of the checks, solved by the shipped ring reduction: the same way from section to face as a whole seal goes.

use halfmicron::case;
use halfmicron::model::{BandLimits, EdgeCondition, EdgeSelector, Part, PressureSide, Ring, RingRole, Support};
use halfmicron::ring::{MeshOptions, RingConditions, RingReduction, RingState, Solid, SurfaceCoefficients};
use halfmicron_numerics::elasticity::{Isotropic, Stress};

use crate::bench::AMBIENT_PA;

/// Temperature free of strain, K.
pub const REFERENCE_K: f64 = 293.15;

/// A ring of rectangles between two radii, its whole face a running band.
pub struct RingBench {
    /// Pieces of the section: corners, m, and material.
    pub parts: Vec<(Part, Isotropic)>,
    /// Radii of the band, m.
    pub band_m: [f64; 2],
    /// Where the sealed pressure ends on the surface, m.
    pub secondary_seal_m: [f64; 2],
    /// Circle that holds the ring, m.
    pub support_m: [f64; 2],
    /// Sealed pressure above ambient, Pa.
    pub gauge_pressure_pa: f64,
    /// Convection on the back, W/(m2 K); every other surface is insulated.
    pub back_coefficient_w_per_m2_k: f64,
    /// Even flux into the face, W/m2.
    pub flux_w_per_m2: f64,
}

/// A ring and its solved state.
pub struct SolvedRing {
    /// Reduced ring.
    pub reduction: RingReduction,
    /// Its fields.
    pub state: RingState,
}

/// Conductivity of the rings, W/(m K).
pub const CONDUCTIVITY: f64 = 9.0;

/// A rectangular part without fit, m.
pub fn part(r: [f64; 2], z: [f64; 2], material: Isotropic) -> Result<(Part, Isotropic), String> {
    let template = template()?;
    let material_row = template.parts.into_iter().next().ok_or("the starter case has a ring without parts")?.material;
    let corners_m = [[r[0], z[0]], [r[1], z[0]], [r[1], z[1]], [r[0], z[1]]];
    Ok((Part { material: material_row, corners_m, fit: None }, material))
}

/// A stationary ring to start from: that of the starter case.
fn template() -> Result<Ring, String> {
    let case = case::parse(&case::starter("checks")).map_err(|error| error.to_string())?;
    Ok(case.model().map_err(|error| error.to_string())?.stationary_ring)
}

impl RingBench {
    /// Reduce and solve.
    ///
    /// # Errors
    /// The message of the ring.
    pub fn solve(&self) -> Result<SolvedRing, String> {
        let back = EdgeCondition {
            edge: EdgeSelector::Back,
            coefficient_w_per_m2_k: Some(self.back_coefficient_w_per_m2_k),
            temperature_k: Some(REFERENCE_K),
            wetted_by: None,
            pressure_pa: None,
        };
        let ring = Ring {
            role: RingRole::Stationary,
            floating: false,
            parts: self.parts.iter().map(|(part, _)| part.clone()).collect(),
            support: Support::Circle { radius_m: self.support_m[0], z_m: self.support_m[1] },
            secondary_seal_m: self.secondary_seal_m,
            edges: vec![back],
            stress_free_temperature_k: REFERENCE_K,
            ..template()?
        };
        let solids: Vec<Solid> = self.parts.iter().map(|(_, material)| solid(material)).collect();
        let band = BandLimits { inner_radius_m: self.band_m[0], outer_radius_m: self.band_m[1] };
        let fine = MeshOptions { size_factor: 0.5, ..MeshOptions::default() };
        let reduction =
            RingReduction::with_solids(&ring, &solids, &band, PressureSide::Outside, &fine).map_err(|error| error.to_string())?;
        let nodes = reduction.band().len();
        let insulated = SurfaceCoefficients { cylinder: 0.0, plane: 0.0 };
        let conditions = RingConditions {
            sealed_pressure_pa: AMBIENT_PA + self.gauge_pressure_pa,
            low_pressure_pa: AMBIENT_PA,
            balance_radius_m: self.band_m[0],
            speed_rad_per_s: 0.0,
            spring_force_n: 0.0,
            friction_force_n: 0.0,
            sealed_temperature_k: REFERENCE_K,
            low_side_temperature_k: REFERENCE_K,
            sealed_coefficient_w_per_m2_k: insulated,
            low_side_coefficient_w_per_m2_k: insulated,
        };
        let state = reduction.state(&conditions, &vec![0.0; nodes], &vec![self.flux_w_per_m2; nodes]).map_err(|error| error.to_string())?;
        Ok(SolvedRing { reduction, state })
    }
}

fn solid(material: &Isotropic) -> Solid {
    Solid {
        name: "check".into(),
        youngs_modulus_pa: material.youngs_modulus,
        poisson: material.poisson,
        expansion_per_k: material.expansion,
        density_kg_per_m3: material.density,
        conductivity_w_per_m_k: CONDUCTIVITY,
        specific_heat_j_per_kg_k: 700.0,
        tension_pa: None,
    }
}

impl SolvedRing {
    /// Deflection of the inner less that of the outer edge of the face, m, into the body.
    pub fn inner_less_outer_m(&self) -> f64 {
        let deflection = &self.state.face_deflection_m;
        deflection[0] - deflection[deflection.len() - 1]
    }

    /// Displacement at the node nearest to a point, `[radial, axial]`, m.
    pub fn displacement_m(&self, point: [f64; 2]) -> [f64; 2] {
        self.state.displacement_m[self.reduction.mesh().nearest_node(point)]
    }

    /// Stress in a material at the node nearest to a point, Pa.
    pub fn stress(&self, material: usize, point: [f64; 2]) -> Stress {
        let mesh = self.reduction.mesh();
        let distance = |node: usize| (mesh.nodes[node][0] - point[0]).hypot(mesh.nodes[node][1] - point[1]);
        self.state
            .stresses
            .iter()
            .filter(|s| s.material == material)
            .min_by(|a, b| distance(a.node).total_cmp(&distance(b.node)))
            .map(|s| s.stress)
            .unwrap_or_default()
    }
}
