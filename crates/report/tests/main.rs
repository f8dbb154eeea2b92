//! Drawings of the Saltmere cases: to scale, readable, the same in both kinds of file.

mod drawings;
mod views;
