//! Numerics that know no seal.

pub mod constraint;
pub mod elasticity;
pub mod heat;
pub mod jet;
pub mod mesh;
pub mod quadrature;
pub mod reynolds;
pub mod serendipity;
pub mod sparse;
