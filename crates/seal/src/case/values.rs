//! Numbers of a model addressed by path, for sweeps and studies.

use super::read::nearest;
use crate::model::{ChamberTemperature, Model, Ring, SecondaryFriction};

/// A path that names no number of this model, or a value that it cannot take.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PathError {
    /// No such number.
    #[error("`{path}` names no number of this model{}", hint(nearest))]
    Unknown {
        /// Path as given.
        path: String,
        /// The most similar path that does.
        nearest: Option<String>,
    },
    /// A value that no such quantity has.
    #[error("`{path}` = {value} is not possible: {requirement}")]
    Impossible {
        /// Path as given.
        path: String,
        /// Value as given, SI.
        value: f64,
        /// What is required.
        requirement: &'static str,
    },
}

fn hint(nearest: &Option<String>) -> String {
    nearest.as_ref().map(|nearest| format!("; did you mean `{nearest}`?")).unwrap_or_default()
}

/// What a number may be.
#[derive(Clone, Copy)]
enum Allowed {
    Any,
    NotNegative,
    Positive,
}

/// A number: where it lies, and how the path's SI value relates to it (`stored = value * scale`).
struct Slot<'m> {
    place: &'m mut f64,
    scale: f64,
    allowed: Allowed,
}

fn slot(place: &mut f64, allowed: Allowed) -> Option<Slot<'_>> {
    Some(Slot { place, scale: 1.0, allowed })
}

/// A stored radius addressed as the diameter that the case gives.
fn diameter(place: &mut f64) -> Option<Slot<'_>> {
    Some(Slot { place, scale: 0.5, allowed: Allowed::Positive })
}

impl Model {
    /// The number at a path, in SI units and absolute pressure. Diameters are diameters, as in the case file.
    ///
    /// # Errors
    /// A path that names no number of this model.
    pub fn get(&self, path: &str) -> Result<f64, PathError> {
        if path == "contact.boundary_friction" {
            return Ok(self.contact.boundary_friction[1]);
        }
        let mut copy = self.clone();
        let found = copy.slot(path).map(|slot| *slot.place / slot.scale);
        found.ok_or_else(|| self.unknown(path))
    }

    /// Set the number at a path, in SI units and absolute pressure. Boundary friction keeps the ratio of its low and high ends.
    ///
    /// # Errors
    /// A path that names no number of this model; a value that is not finite or not possible there.
    pub fn set(&mut self, path: &str, value: f64) -> Result<(), PathError> {
        let impossible = |requirement| Err(PathError::Impossible { path: path.to_owned(), value, requirement });
        if !value.is_finite() {
            return impossible("a finite number is needed");
        }
        if path == "contact.boundary_friction" {
            return self.set_boundary_friction(path, value);
        }
        let Some(slot) = self.slot(path) else { return Err(self.unknown(path)) };
        match slot.allowed {
            Allowed::Positive if value <= 0.0 => impossible("a number above zero is needed"),
            Allowed::NotNegative if value < 0.0 => impossible("a number not below zero is needed"),
            _ => {
                *slot.place = value * slot.scale;
                Ok(())
            }
        }
    }

    fn set_boundary_friction(&mut self, path: &str, value: f64) -> Result<(), PathError> {
        if value < 0.0 {
            return Err(PathError::Impossible { path: path.to_owned(), value, requirement: "a number not below zero is needed" });
        }
        let [low, nominal, high] = self.contact.boundary_friction;
        let ratio = if nominal > 0.0 { [low / nominal, high / nominal] } else { [1.0; 2] };
        self.contact.boundary_friction = [value * ratio[0], value, value * ratio[1]];
        Ok(())
    }

    /// Every path that [`Model::get`] and [`Model::set`] take for this model.
    pub fn paths(&self) -> Vec<String> {
        let mut names: Vec<String> = Vec::new();
        for duty in &self.duties {
            names.extend(DUTY.iter().map(|name| format!("duty.{}.{name}", duty.name)));
        }
        names.extend(OTHER.iter().map(|name| (*name).to_owned()));
        for ring in ["rotating_ring", "stationary_ring"] {
            names.extend(RING.iter().map(|name| format!("{ring}.{name}")));
        }
        let mut copy = self.clone();
        names.retain(|path| path == "contact.boundary_friction" || copy.slot(path).is_some());
        names
    }

    fn unknown(&self, path: &str) -> PathError {
        let paths = self.paths();
        PathError::Unknown { path: path.to_owned(), nearest: nearest(path, paths.iter().map(String::as_str)).map(str::to_owned) }
    }

    fn slot(&mut self, path: &str) -> Option<Slot<'_>> {
        use Allowed::{Any, NotNegative, Positive};
        let (head, rest) = path.split_once('.')?;
        match head {
            "duty" => self.duty_slot(rest),
            "rotating_ring" => ring_slot(&mut self.rotating_ring, rest),
            "stationary_ring" => ring_slot(&mut self.stationary_ring, rest),
            "seal" => match rest {
                "balance_diameter" => diameter(&mut self.seal.balance_radius_m),
                "reverse_balance_diameter" => diameter(&mut self.seal.reverse_balance_radius_m),
                "spring_force" => slot(&mut self.seal.spring_force_n, NotNegative),
                "flush" => slot(self.seal.flush_m3_per_s.as_mut()?, NotNegative),
                "heat_soak" => slot(&mut self.seal.heat_soak_w, Any),
                "secondary_seal.friction" => match &mut self.seal.secondary_seal.friction {
                    SecondaryFriction::Given(force) => slot(force, NotNegative),
                    SecondaryFriction::Automatic { .. } => None,
                },
                "secondary_seal.section" => match &mut self.seal.secondary_seal.friction {
                    SecondaryFriction::Automatic { section_m, .. } => slot(section_m, Positive),
                    SecondaryFriction::Given(_) => None,
                },
                "secondary_seal.squeeze" => match &mut self.seal.secondary_seal.friction {
                    SecondaryFriction::Automatic { squeeze, .. } => slot(squeeze, NotNegative),
                    SecondaryFriction::Given(_) => None,
                },
                _ => None,
            },
            "contact" => match rest {
                "eta_beta_sigma" => slot(&mut self.contact.eta_beta_sigma, Positive),
                "sigma_over_beta" => slot(&mut self.contact.sigma_over_beta, Positive),
                "plastic_pressure" => slot(&mut self.contact.plastic_pressure_pa, Positive),
                _ => None,
            },
            "switches" => match rest {
                "momentum_factor" => slot(&mut self.switches.momentum_factor, Positive),
                "entry_loss" => slot(&mut self.switches.entry_loss, NotNegative),
                "cavitation_pressure" => slot(self.switches.cavitation_pressure_pa.as_mut()?, Positive),
                _ => None,
            },
            _ => None,
        }
    }

    /// Duty names may hold dots: the key is what follows the last one.
    fn duty_slot(&mut self, rest: &str) -> Option<Slot<'_>> {
        let (name, key) = rest.rsplit_once('.')?;
        let duty = self.duties.iter_mut().find(|duty| duty.name == name)?;
        match (key, &mut duty.temperature) {
            ("temperature", ChamberTemperature::Stated(kelvin)) => slot(kelvin, Allowed::Positive),
            ("flush_temperature", ChamberTemperature::FromFlush(kelvin)) => slot(kelvin, Allowed::Positive),
            ("speed", _) => slot(&mut duty.speed_rad_per_s, Allowed::Any),
            ("pressure", _) => slot(&mut duty.pressure_pa, Allowed::Positive),
            ("low_pressure", _) => slot(&mut duty.low_pressure_pa, Allowed::Positive),
            _ => None,
        }
    }
}

const DUTY: [&str; 5] = ["speed", "pressure", "low_pressure", "temperature", "flush_temperature"];
const OTHER: [&str; 15] = [
    "seal.balance_diameter",
    "seal.reverse_balance_diameter",
    "seal.spring_force",
    "seal.flush",
    "seal.heat_soak",
    "seal.secondary_seal.friction",
    "seal.secondary_seal.section",
    "seal.secondary_seal.squeeze",
    "contact.eta_beta_sigma",
    "contact.sigma_over_beta",
    "contact.boundary_friction",
    "contact.plastic_pressure",
    "switches.momentum_factor",
    "switches.entry_loss",
    "switches.cavitation_pressure",
];
const RING: [&str; 5] = ["roughness", "flatness", "lapped_coning", "stress_free_temperature", "spring_diameter"];

fn ring_slot<'m>(ring: &'m mut Ring, key: &str) -> Option<Slot<'m>> {
    match key {
        "roughness" => slot(&mut ring.roughness_rq_m, Allowed::Positive),
        "flatness" => slot(&mut ring.flatness_m, Allowed::NotNegative),
        "lapped_coning" => slot(&mut ring.lapped_coning_m, Allowed::Any),
        "stress_free_temperature" => slot(&mut ring.stress_free_temperature_k, Allowed::Positive),
        "spring_diameter" if ring.floating => diameter(&mut ring.spring_radius_m),
        _ => None,
    }
}
