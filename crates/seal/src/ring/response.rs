//! What the coupled solve sees of a ring: small dense matrices over the nodes of the running band.

use faer::Mat;

/// Nodes of the running band, common to both rings and to the film, inner to outer radius, with the consistent
/// area weights of the finite elements: `sum(weight * value)` is the integral of the value over the band.
#[derive(Debug, Clone, PartialEq)]
pub struct BandNodes {
    /// Radius of each node, m; odd count: corner, mid-side, corner ... of 8-node elements.
    pub radius_m: Vec<f64>,
    /// Consistent weight of each node, m2.
    pub weight_m2: Vec<f64>,
}

/// State of the surroundings of both rings at one duty. Pressures are absolute.
#[derive(Debug, Clone, PartialEq)]
pub struct RingConditions {
    /// Sealed pressure, Pa.
    pub sealed_pressure_pa: f64,
    /// Low pressure, Pa.
    pub low_pressure_pa: f64,
    /// Balance radius in force, m.
    pub balance_radius_m: f64,
    /// Shaft speed, rad/s (the ring knows whether it turns).
    pub speed_rad_per_s: f64,
    /// Axial force of the springs on the floating ring, towards the face, N.
    pub spring_force_n: f64,
    /// Friction of the secondary seal on the floating ring, towards the face, N.
    pub friction_force_n: f64,
    /// Bulk temperature on the sealed side, K.
    pub sealed_temperature_k: f64,
    /// Bulk temperature on the low side, K.
    pub low_side_temperature_k: f64,
    /// Convection on surfaces wetted by the sealed fluid, from the correlations, W/(m2 K), before any stated edge.
    pub sealed_coefficient_w_per_m2_k: SurfaceCoefficients,
    /// Convection on low-side surfaces, W/(m2 K).
    pub low_side_coefficient_w_per_m2_k: SurfaceCoefficients,
}

/// Convection coefficients by kind of surface, W/(m2 K).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SurfaceCoefficients {
    /// Cylinders.
    pub cylinder: f64,
    /// Plane faces.
    pub plane: f64,
}

/// Linear response of the running face to what happens on it, at given surroundings.
///
/// Fluxes are positive into the ring (W/m2), pressures are total face pressure (film plus contact) above
/// the low pressure (Pa), deflections are displacements of the face into its own body (m): they open the gap.
#[derive(Debug, Clone)]
pub struct RingResponse {
    /// Face temperature without face flux, K.
    pub temperature_k: Vec<f64>,
    /// Face temperature per face flux, K/(W/m2), n x n.
    pub temperature_per_flux: Mat<f64>,
    /// Deflection by pressure on the wetted surfaces, springs, spin and fits, without face pressure, m.
    pub elastic_deflection_m: Vec<f64>,
    /// Thermal deflection without face flux, m.
    pub thermal_deflection_m: Vec<f64>,
    /// Deflection per face pressure, m/Pa, n x n.
    pub deflection_per_pressure: Mat<f64>,
    /// Travel of the inner edge of the band into the body, from where the ring is held, per face pressure at each node, m/Pa.
    pub edge_travel_per_pressure: Vec<f64>,
    /// Deflection per face flux, m/(W/m2), n x n.
    pub deflection_per_flux: Mat<f64>,
}

impl BandNodes {
    /// Evenly spaced nodes of `elements` 8-node elements across a band, with the exact integrals of their quadratic shape
    /// functions over the area as weights.
    pub fn uniform(inner_radius_m: f64, outer_radius_m: f64, elements: usize) -> Self {
        let corners: Vec<f64> =
            (0..=elements).map(|k| inner_radius_m + (outer_radius_m - inner_radius_m) * k as f64 / elements as f64).collect();
        Self::from_corners(&corners)
    }

    /// Nodes of elements between the corners given, mid-side nodes half way.
    pub fn from_corners(corners_m: &[f64]) -> Self {
        let elements = corners_m.len().saturating_sub(1);
        let mut radius_m = Vec::with_capacity(2 * elements + 1);
        let mut weight_m2 = vec![0.0; 2 * elements + 1];
        for k in 0..elements {
            let (a, b) = (corners_m[k], corners_m[k + 1]);
            radius_m.extend([a, 0.5 * (a + b)]);
            // Integral of N_i 2 pi r dr with r linear: Simpson weights times the radius at each node.
            let sixth = 2.0 * std::f64::consts::PI * (b - a) / 6.0;
            weight_m2[2 * k] += sixth * a;
            weight_m2[2 * k + 1] += 4.0 * sixth * 0.5 * (a + b);
            weight_m2[2 * k + 2] += sixth * b;
        }
        radius_m.extend(corners_m.last());
        Self { radius_m, weight_m2 }
    }

    /// Number of nodes.
    pub fn len(&self) -> usize {
        self.radius_m.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.radius_m.is_empty()
    }
}
