//! The HTTP interface, asked in process: every route, as it is meant and as it is not.

#![allow(clippy::disallowed_methods, reason = "tests make folders and files")]

mod asking;
mod files;
mod gates;
mod page;
mod solving;
mod studies;
mod texts;
