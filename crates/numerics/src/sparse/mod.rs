//! Sparse Cholesky factorisation of finite-element matrices on plane meshes.
//!
//! A multifrontal factorisation (Duff and Reid 1983; Liu 1992): the mesh is cut by nested dissection
//! ([`Symbolic`]), element matrices are summed into small dense fronts, and each front is eliminated
//! in turn ([`Factor`]). Unknowns named as *trailing* are never eliminated: what is left on them is the
//! dense Schur complement
//! `S = K_BB - K_BI K_II^-1 K_IB`, with `I` the interior and `B` the trailing unknowns. *Fixed*
//! unknowns are left out of the matrix altogether.
//!
//! References: I. S. Duff and J. K. Reid, "The multifrontal solution of indefinite sparse symmetric
//! linear equations", ACM Trans. Math. Software 9 (1983) 302-325; J. W. H. Liu, "The multifrontal
//! method for sparse matrix solution: theory and practice", SIAM Review 34 (1992) 82-109; A. George,
//! "Nested dissection of a regular finite element mesh", SIAM J. Numer. Anal. 10 (1973) 345-363.

mod bundle;
mod dissection;
mod factor;
mod grid;
mod kernels;
pub mod lu;
mod solve;
mod symbolic;
#[cfg(test)]
mod tests;

pub use bundle::Bundle;
pub use factor::{Factor, Work};
pub use symbolic::Symbolic;

/// Why a matrix could not be ordered, factored or solved with.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SparseError {
    /// A node, unknown or element number beyond the mesh.
    #[error("{what} {index} does not exist: there are {count}")]
    OutOfRange {
        /// What the number counts.
        what: &'static str,
        /// The number given.
        index: usize,
        /// How many there are.
        count: usize,
    },
    /// A node with a coordinate that is not a finite number.
    #[error("node {node} has a coordinate that is not finite")]
    NotFinite {
        /// Node number.
        node: usize,
    },
    /// An unknown named twice as trailing, or both trailing and fixed.
    #[error("unknown {unknown} is named twice among the trailing and fixed unknowns")]
    NamedTwice {
        /// Unknown number.
        unknown: usize,
    },
    /// An unknown that no element touches.
    #[error("unknown {unknown} belongs to no element: fix it or connect its node")]
    Unconnected {
        /// Unknown number.
        unknown: usize,
    },
    /// An added entry couples unknowns that share no element.
    #[error("the added entry ({row}, {column}) couples unknowns that share no element")]
    OutsidePattern {
        /// Row given.
        row: usize,
        /// Column given.
        column: usize,
    },
    /// A pivot that is not positive: the matrix is singular or indefinite.
    #[error("the matrix is not positive definite: pivot {pivot:.3e} at unknown {unknown}; is the body held?")]
    NotPositiveDefinite {
        /// Unknown whose pivot failed.
        unknown: usize,
        /// The pivot, in the unit of the matrix.
        pivot: f64,
    },
    /// The element matrices or added entries hold something that is not a number.
    #[error("the matrix has an entry that is not finite at or before unknown {unknown}")]
    MatrixNotFinite {
        /// Unknown at which it came to light.
        unknown: usize,
    },
    /// A pivot lost in rounding: the matrix is singular or far from diagonally dominant.
    #[error(
        "the matrix cannot be factored without exchanging rows: pivot {pivot:.3e} at unknown {unknown} is lost in rounding; \
         is the level of the solution held, and each row dominated by its diagonal?"
    )]
    LostPivot {
        /// Unknown whose pivot failed.
        unknown: usize,
        /// The pivot, in the unit of the matrix.
        pivot: f64,
    },
    /// A grid without nodes or with more than can be numbered.
    #[error("a grid of {radial} by {circumferential} nodes cannot be ordered: at least 1 by 1 and at most 477 million nodes")]
    GridSize {
        /// Nodes across.
        radial: usize,
        /// Nodes around.
        circumferential: usize,
    },
    /// Row offsets that do not fit the list of columns.
    #[error("the row offsets must ascend from 0 to the number of entries, {entries}, which must stay below 2^32")]
    Offsets {
        /// Entries of the list of columns.
        entries: usize,
    },
    /// A matrix given by the wrong number of values.
    #[error("the matrix is given by {got} values where its pattern has {expected}")]
    Values {
        /// Values expected.
        expected: usize,
        /// Values given.
        got: usize,
    },
    /// A solve after a factorisation that failed.
    #[error("the last factorisation failed: factor a matrix before solving")]
    NotFactored,
    /// A right-hand side of the wrong height.
    #[error("the right-hand side has {got} rows, the matrix {expected}")]
    Shape {
        /// Rows expected.
        expected: usize,
        /// Rows given.
        got: usize,
    },
}
