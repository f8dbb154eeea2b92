//! Numerics that know no seal.

pub mod marching;
pub mod sparse;
