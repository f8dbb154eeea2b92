//! The operating point of a whole seal.

pub mod branch;
pub mod coupled;
pub mod pair;

#[cfg(test)]
mod tests;
