//! The published checks as tests, and the registry of models behind them.

mod believability;
mod boiling_and_gas;
mod models;
mod published;
