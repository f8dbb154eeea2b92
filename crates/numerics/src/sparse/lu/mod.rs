//! Sparse LU factorisation, without exchange of rows, of matrices on plane grids.
//!
//! A multifrontal factorisation as in the parent module, for matrices whose values are not symmetric:
//! those of a film whose flow is carried along as well as pressed through. Rows are not exchanged, so the matrix has to be
//! diagonally dominant by rows or by columns, or nearly so, as discretised film equations are; a pivot lost in
//! rounding is an error.
//!
//! [`LuSymbolic`] orders a grid once; [`Lu`] factors and solves with any number of matrices on it, real or complex.

mod cylinder;
mod factor;
mod kernels;
mod number;
mod patches;
mod plane;
mod product;
mod solve;
mod space;
mod symbolic;
#[cfg(test)]
mod tests;

pub use cylinder::Stencil;
pub use factor::Lu;
pub use number::Number;
pub use symbolic::{LuSymbolic, LuWork};

/// Marks a neighbour beyond the edge of the grid.
const NOWHERE: u32 = u32::MAX;
