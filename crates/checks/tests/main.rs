//! The published checks as tests, and the registry of models behind them.

mod models;
mod published;
