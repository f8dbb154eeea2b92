//! Fluids and materials with their sources.

/// A fluid.
#[derive(Debug)]
pub struct Fluid;

/// Materials.
pub mod material {
    /// A material.
    #[derive(Debug, Clone, PartialEq)]
    pub struct Material {
        /// Name.
        pub name: String,
    }
}
