//! Developers only.
fn main() {}
