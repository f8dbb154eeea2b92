//! How far an equilibrium stands from the jump.

use serde::{Deserialize, Serialize};

/// Margins of the chosen equilibrium to where it meets another of its own closing force and both vanish.
///
/// What there is none of is left out of the JSON. A key names what changes and in which sense; everything else stays as the duty states it, the chamber temperature included.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Margins {
    /// Closing force that may be lost, N.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub closing_force_fall_n: Option<JumpMargin>,
    /// Closing force that may be added, N.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub closing_force_rise_n: Option<JumpMargin>,
    /// By how much the chamber may warm, K; none where boiling is far and the curve unfolded, so that nothing was followed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub temperature_rise_k: Option<JumpMargin>,
    /// By how much the chamber may cool, K; followed for films that boil.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub temperature_fall_k: Option<JumpMargin>,
    /// By how much the sealed pressure may fall, Pa; none as for `temperature_rise_k`, and at reversed pressure.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pressure_fall_pa: Option<JumpMargin>,
    /// Chamber temperature at which vapour first appears in this film, K.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub boiling_onset_k: Option<f64>,
    /// Why there is no such temperature; empty where there is one or nothing was followed.
    pub boiling_onset_reason: String,
}

impl Margins {
    /// Whether temperature and pressure were followed: a jump or boiling is near enough to look at.
    pub fn followed(&self) -> bool {
        let conditions = [&self.temperature_rise_k, &self.temperature_fall_k, &self.pressure_fall_pa];
        conditions.into_iter().any(Option::is_some) || !self.boiling_onset_reason.is_empty()
    }
}

/// One margin.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct JumpMargin {
    /// Change at which the equilibrium vanishes, in the unit of the key; none where it does not as far as it was followed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to_jump: Option<f64>,
    /// Change up to which it was followed, in the unit of the key.
    pub followed: f64,
    /// What the faces do then.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub then: Option<Jump>,
    /// Least film to which they go, m, where another film holds them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub then_film_m: Option<f64>,
    /// All of it in words, SI quantities inside.
    pub words: String,
}

/// What faces do when their equilibrium vanishes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Jump {
    /// They pop open to another film.
    Opens,
    /// They part: no film holds them.
    Parts,
    /// They close to another, thinner film or onto asperities.
    Closes,
    /// They touch beyond the model.
    Touches,
}

impl Jump {
    /// In words, for a table.
    pub fn words(self) -> &'static str {
        match self {
            Self::Opens => "pops open",
            Self::Parts => "parts",
            Self::Closes => "closes",
            Self::Touches => "touches",
        }
    }
}
