//! Mechanical face seals: pure functions from a case to an outcome.
//!
//! `case` reads what the engineer wrote, `model` is the same in SI and absolute pressure, `point` solves one duty of it,
//! `outcome` is what came out, and `sheet` is the one place where numbers are rounded and given the reader's units.

pub mod case;
pub mod choices;
pub mod contact;
pub mod convection;
pub mod film;
pub mod hand;
pub mod model;
pub mod motion;
pub mod notice;
pub mod outcome;
pub mod point;
pub mod ring;
pub mod rules;
pub mod sheet;
mod solve;
pub mod study;
mod together;
pub mod units;
pub mod why;

pub use solve::{solve, solve_each, solve_with_spread};
