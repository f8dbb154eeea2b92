//! Fluids and materials of a drawn case, listed by the library so that whatever joins it is drawn too.

use halfmicron_properties::material::{MaterialGroup, materials};
use halfmicron_properties::{Fluid, FluidEntry, FluidKind, fluid_names};

use super::draw::Draw;
use super::section::Materials;

/// Temperatures of the box, K.
const COLDEST_K: f64 = 53.15;
const HOTTEST_K: f64 = 773.15;
/// Distance kept from the ends of ranges, K: case files carry tenths of a degree.
const INSIDE_K: f64 = 0.2;

/// A fluid with where it may be used.
pub struct Medium {
    pub name: String,
    pub fluid: Fluid,
    pub temperature_k: [f64; 2],
    pub pressure_pa: [f64; 2],
}

/// Every fluid of the library.
pub fn library() -> Vec<FluidEntry> {
    fluid_names()
}

impl Medium {
    /// A fluid of the library; fluids with an equation of state, solutions and oils by weight, each kind evenly.
    pub fn draw(draw: &mut Draw, library: &[FluidEntry]) -> Option<Self> {
        let weights = [(FluidKind::EquationOfState, 0.55), (FluidKind::Solution, 0.25), (FluidKind::Oil, 0.2)];
        let mut share = draw.unit();
        let mut kind = FluidKind::EquationOfState;
        for (of, weight) in weights {
            kind = of;
            share -= weight;
            if share < 0.0 {
                break;
            }
        }
        let of_kind: Vec<&FluidEntry> = library.iter().filter(|entry| entry.kind == kind).collect();
        let entry = *draw.one(&of_kind)?;
        let name = composed(draw, entry).unwrap_or_else(|| entry.example.clone());
        Self::named(&name)
    }

    pub fn named(name: &str) -> Option<Self> {
        let fluid = Fluid::named(name).ok()?;
        let range = fluid.range();
        let low = range.temperature_low.value.max(COLDEST_K).max(fluid.freezing_temperature().unwrap_or(0.0));
        let temperature_k = [low + INSIDE_K, range.temperature_high.value.min(HOTTEST_K) - INSIDE_K];
        let pressure_pa = [range.pressure_low.value.max(1e3), range.pressure_high.value.min(50e6)];
        Some(Self { name: fluid.name().to_owned(), temperature_k, pressure_pa, fluid })
    }

    /// Lowest temperature at which the fluid is thinner than a viscosity (Pa s), K.
    pub fn thin_from_k(&self, pressure_pa: f64, viscosity_pa_s: f64) -> f64 {
        let [low, high] = self.temperature_k;
        let thin = |t: f64| self.viscosity_pa_s(pressure_pa, t) < viscosity_pa_s;
        (0..=40).map(|k| low + (high - low) * f64::from(k) / 40.0).find(|t| thin(*t)).unwrap_or(high)
    }

    /// Viscosity in the chamber, Pa s; zero where the fluid has no state.
    pub fn viscosity_pa_s(&self, pressure_pa: f64, temperature_k: f64) -> f64 {
        self.fluid.at_pressure_temperature(pressure_pa, temperature_k).map_or(0.0, |state| state.viscosity_pa_s)
    }

    /// Saturation temperature at a pressure, where the fluid has one, K.
    pub fn boiling_k(&self, pressure_pa: f64) -> Option<f64> {
        self.fluid.saturation_temperature(pressure_pa).value()
    }
}

/// A name with a composition drawn from what the library says it takes, for example `salinity 0 to 150 g/kg`.
fn composed(draw: &mut Draw, entry: &FluidEntry) -> Option<String> {
    let words: Vec<&str> = entry.composition.split_whitespace().collect();
    let to = words.iter().position(|word| *word == "to")?;
    let (low, high): (f64, f64) = (words.get(to.checked_sub(1)?)?.parse().ok()?, words.get(to + 1)?.parse().ok()?);
    let amount = draw.between(low, high);
    Some(format!("{}, {} {amount:.1} {}", entry.name, words[..to - 1].join(" "), words[to + 2..].join(" ")))
}

/// Materials of one ring that serve at all temperatures between two ends; polymers only where a `soft` face is built.
pub fn ring_materials(draw: &mut Draw, temperature_k: [f64; 2], soft: bool) -> Option<Materials> {
    let serving = |group: MaterialGroup| -> Vec<&str> {
        let serves = |t: f64, range: (f64, f64)| t > range.0 + INSIDE_K && t < range.1 - INSIDE_K;
        materials()
            .iter()
            .filter(|m| m.group == group && temperature_k.iter().all(|t| serves(*t, m.service_range_k)))
            .map(|m| m.name.as_str())
            .collect()
    };
    let metals = serving(MaterialGroup::Metal);
    let polymers = serving(MaterialGroup::Polymer);
    let mut faces = serving(MaterialGroup::Face);
    let choice = draw.unit();
    if soft && choice < 0.2 && !polymers.is_empty() {
        faces = polymers;
    } else if choice < 0.12 && !metals.is_empty() {
        faces.clone_from(&metals);
    }
    let face = (*draw.one(&faces)?).to_owned();
    Some(Materials { face, carrier: draw.one(&metals).map(|name| (*name).to_owned()) })
}

/// Some elastomer or gasket of the library.
pub fn elastomer(draw: &mut Draw) -> &'static str {
    let soft: Vec<&'static str> = materials()
        .iter()
        .filter(|m| matches!(m.group, MaterialGroup::Elastomer | MaterialGroup::Gasket))
        .map(|m| m.name.as_str())
        .collect();
    draw.one(&soft).copied().unwrap_or("FKM")
}
