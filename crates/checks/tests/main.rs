//! The published checks as tests, and the registry of models behind them.

mod believability;
mod models;
mod published;
