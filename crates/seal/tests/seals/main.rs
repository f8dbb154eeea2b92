//! Whole seals from their case files: what the Saltmere works expect of them, rounded results and work counts, and what happens when a
//! good case is bent.

mod bent;
mod contact;
mod grooves;
mod jumps;
mod saltmere;
mod spread;
mod textured;
mod waves;
mod waviness;
mod why;
