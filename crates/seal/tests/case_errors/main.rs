//! Case files, good and wrong, read as a user would have them read.

mod anything;
mod good;
mod settings;
mod wrong;
