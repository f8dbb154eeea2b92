//! Numerics that know no seal.

pub mod marching;
