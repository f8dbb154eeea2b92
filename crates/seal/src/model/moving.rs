//! Masses, springs and dampers of the floating ring, as far as the case states them.

/// What is stated; the rest is computed or taken by default when motion is asked for.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Moving {
    /// Axial spring rate of all springs together, N/m.
    pub spring_rate_n_per_m: Option<f64>,
    /// Axial damping of springs and drive, N s/m.
    pub spring_damping_n_s_per_m: Option<f64>,
    /// Axial stiffness of the secondary seal, N/m.
    pub secondary_stiffness_n_per_m: Option<f64>,
    /// Axial damping of the secondary seal, N s/m.
    pub secondary_damping_n_s_per_m: Option<f64>,
    /// Mass of the floating ring, kg.
    pub mass_kg: Option<f64>,
    /// Its moment of inertia about a diameter, kg m2.
    pub tilt_inertia_kg_m2: Option<f64>,
    /// Its moment of inertia about the shaft, kg m2.
    pub spin_inertia_kg_m2: Option<f64>,
}
