//! Drawings, close-ups and reports of the Saltmere cases: to scale, readable, the same in both kinds of file.

mod drawings;
mod faces;
mod pdf_text;
mod report;
mod views;
