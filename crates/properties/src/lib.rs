//! Filled piece by piece.
