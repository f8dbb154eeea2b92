//! Materials of rings, carriers, springs and secondary seals, with spread, cautions and source of every number.
//!
//! One data file per source; where two could give the same figure, exactly one does. Spreads are low and high factors on
//! the value; where a file gives none the group's habit is taken (common practice, no source).

mod data;
mod fitness;
mod own;
mod pairs;

use std::sync::OnceLock;

pub use fitness::{Fitness, FitnessVerdict, fitness};
pub use own::OwnFigures;
pub use pairs::{FacePair, face_pair, face_pairs};

use crate::error::{PropertyError, nearest_names};
use crate::source::SourceRef;

/// What a material is used for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum MaterialGroup {
    /// Seal faces.
    Face,
    /// Carriers, sleeves, springs, bellows.
    Metal,
    /// Polymers.
    Polymer,
    /// Elastomers.
    Elastomer,
    /// Gaskets.
    Gasket,
}

/// One figure with its spread and source.
#[derive(Debug, Clone, PartialEq)]
pub struct Property {
    /// Nominal, SI unit.
    pub value: f64,
    /// Low end of the scatter.
    pub low: f64,
    /// High end of the scatter.
    pub high: f64,
    /// Where the nominal value comes from.
    pub source: SourceRef,
}

/// A value at a temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AtTemperature {
    /// The value, SI unit.
    pub value: f64,
    /// The temperature lay beyond the ends of the table; the end value was held.
    pub clamped: bool,
}

/// Straight pieces between points (kelvin, value), with the source of the table.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// Points in rising temperature.
    pub points: Vec<(f64, f64)>,
    /// For mean expansion: temperature from which the mean is taken, K.
    pub reference_k: Option<f64>,
    /// What the file says of it.
    pub note: String,
    /// Source.
    pub source: SourceRef,
}

/// One material. SI units, kelvin.
#[derive(Debug, Clone, PartialEq)]
pub struct Material {
    /// Name: a class, a UNS number or an ISO code.
    pub name: String,
    /// Use.
    pub group: MaterialGroup,
    /// kg/m3
    pub density: Property,
    /// Pa, at 20 degC
    pub youngs_modulus: Property,
    /// -
    pub poisson: Property,
    /// W/(m K)
    pub conductivity: Property,
    /// J/(kg K)
    pub specific_heat: Property,
    /// Mean linear expansion over `expansion_range_k`, 1/K
    pub expansion: Property,
    /// Temperatures of the mean expansion, K
    pub expansion_range_k: (f64, f64),
    /// Tensile strength, Pa: a mean for brittle materials
    pub tension_strength: Option<Property>,
    /// Compressive strength, Pa
    pub compression_strength: Option<Property>,
    /// Flexural strength, Pa
    pub flexural_strength: Option<Property>,
    /// Yield (0.2 %), Pa
    pub yield_strength: Option<Property>,
    /// Pressure at which touching peaks yield, Pa
    pub plastic_bearing_pressure: Option<Property>,
    /// Hardness as the trade writes it
    pub hardness: String,
    /// Service temperatures, K
    pub service_range_k: (f64, f64),
    /// Spread in words
    pub spread_words: String,
    /// What it does not stand
    pub cautions: String,
    /// Remarks on the figures
    pub notes: Vec<String>,
    conductivity_table: Option<Table>,
    specific_heat_table: Option<Table>,
    youngs_modulus_table: Option<Table>,
    expansion_table: Option<Table>,
    compression_table: Option<Table>,
}

impl Table {
    /// Value at a temperature, held beyond the ends.
    pub fn at(&self, temperature_k: f64) -> AtTemperature {
        let (Some(first), Some(last)) = (self.points.first(), self.points.last()) else {
            return AtTemperature { value: f64::NAN, clamped: true };
        };
        if temperature_k <= first.0 {
            return AtTemperature { value: first.1, clamped: temperature_k < first.0 };
        }
        if temperature_k >= last.0 {
            return AtTemperature { value: last.1, clamped: temperature_k > last.0 };
        }
        let value = self
            .points
            .windows(2)
            .find(|w| temperature_k <= w[1].0)
            .map_or(last.1, |w| w[0].1 + (w[1].1 - w[0].1) * (temperature_k - w[0].0) / (w[1].0 - w[0].0));
        AtTemperature { value, clamped: false }
    }
}

/// A figure of physics that a study varies by a factor.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Figure {
    /// Thermal conductivity.
    Conductivity,
    /// Young's modulus.
    YoungsModulus,
    /// Linear expansion.
    Expansion,
}

impl Material {
    /// The figure's nominal.
    pub fn figure(&self, figure: Figure) -> &Property {
        match figure {
            Figure::Conductivity => &self.conductivity,
            Figure::YoungsModulus => &self.youngs_modulus,
            Figure::Expansion => &self.expansion,
        }
    }

    /// The same material with one figure times a factor, at every temperature.
    #[must_use]
    pub fn scaled(&self, figure: Figure, factor: f64) -> Self {
        let mut scaled = self.clone();
        let (property, table) = match figure {
            Figure::Conductivity => (&mut scaled.conductivity, &mut scaled.conductivity_table),
            Figure::YoungsModulus => (&mut scaled.youngs_modulus, &mut scaled.youngs_modulus_table),
            Figure::Expansion => (&mut scaled.expansion, &mut scaled.expansion_table),
        };
        for number in [&mut property.value, &mut property.low, &mut property.high] {
            *number *= factor;
        }
        table.iter_mut().flat_map(|table| &mut table.points).for_each(|(_, value)| *value *= factor);
        scaled
    }

    fn by_table(&self, table: Option<&Table>, constant: &Property, t: f64) -> AtTemperature {
        table.map_or(AtTemperature { value: constant.value, clamped: false }, |table| table.at(t))
    }

    /// Conductivity at a temperature, W/(m K).
    pub fn conductivity_at(&self, temperature_k: f64) -> AtTemperature {
        self.by_table(self.conductivity_table.as_ref(), &self.conductivity, temperature_k)
    }

    /// Slope of the conductivity with temperature, W/(m K2); zero beyond the table.
    pub fn conductivity_slope_at(&self, temperature_k: f64) -> f64 {
        let step = 0.01;
        (self.conductivity_at(temperature_k + step).value - self.conductivity_at(temperature_k - step).value) / (2.0 * step)
    }

    /// Specific heat at a temperature, J/(kg K).
    pub fn specific_heat_at(&self, temperature_k: f64) -> AtTemperature {
        self.by_table(self.specific_heat_table.as_ref(), &self.specific_heat, temperature_k)
    }

    /// Young's modulus at a temperature, Pa.
    pub fn youngs_modulus_at(&self, temperature_k: f64) -> AtTemperature {
        self.by_table(self.youngs_modulus_table.as_ref(), &self.youngs_modulus, temperature_k)
    }

    /// Compressive strength at a temperature, Pa.
    pub fn compression_strength_at(&self, temperature_k: f64) -> Option<AtTemperature> {
        self.compression_strength.as_ref().map(|c| self.by_table(self.compression_table.as_ref(), c, temperature_k))
    }

    /// Mean linear expansion between a reference temperature and another, 1/K: thermal strain is this times their difference.
    pub fn mean_expansion(&self, reference_k: f64, temperature_k: f64) -> AtTemperature {
        let Some(table) = &self.expansion_table else {
            return AtTemperature { value: self.expansion.value, clamped: false };
        };
        let origin = table.reference_k.unwrap_or(293.15);
        let strain = |t: f64| table.at(t).value * (t - origin);
        let (mut a, mut b) = (reference_k, temperature_k);
        if (b - a).abs() < 1e-3 {
            (a, b) = (a - 5e-4, a + 5e-4);
        }
        let clamped = table.at(reference_k).clamped || table.at(temperature_k).clamped;
        AtTemperature { value: (strain(b) - strain(a)) / (b - a), clamped }
    }

    /// Whether a temperature lies in the service range.
    pub fn serves_at(&self, temperature_k: f64) -> bool {
        temperature_k >= self.service_range_k.0 && temperature_k <= self.service_range_k.1
    }

    /// Tables of change with temperature: quantity and table.
    pub fn tables(&self) -> Vec<(&'static str, &Table)> {
        [
            ("conductivity", &self.conductivity_table),
            ("specific heat", &self.specific_heat_table),
            ("Young's modulus", &self.youngs_modulus_table),
            ("mean expansion", &self.expansion_table),
            ("compressive strength", &self.compression_table),
        ]
        .into_iter()
        .filter_map(|(name, table)| table.as_ref().map(|t| (name, t)))
        .collect()
    }
}

fn library() -> Result<&'static [Material], PropertyError> {
    static LIBRARY: OnceLock<Result<Vec<Material>, PropertyError>> = OnceLock::new();
    LIBRARY.get_or_init(data::load).as_deref().map_err(Clone::clone)
}

/// All materials. Empty only if a shipped data file were broken, which the tests rule out; [`material`] then says what is broken.
pub fn materials() -> &'static [Material] {
    library().unwrap_or_default()
}

/// A material by its name; case and spacing do not matter.
///
/// # Errors
/// [`PropertyError::UnknownMaterial`] with the nearest names.
pub fn material(name: &str) -> Result<&'static Material, PropertyError> {
    let clean = |s: &str| s.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
    let wanted = clean(name);
    let all = library()?;
    all.iter().find(|m| clean(&m.name) == wanted).ok_or_else(|| PropertyError::UnknownMaterial {
        name: name.to_owned(),
        nearest: nearest_names(name, all.iter().map(|m| m.name.as_str())),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn library_is_whole() {
        let all = library().unwrap();
        assert_eq!(all.len(), 26);
        for m in all {
            for (name, p) in [
                ("density", &m.density),
                ("youngs_modulus", &m.youngs_modulus),
                ("poisson", &m.poisson),
                ("conductivity", &m.conductivity),
                ("specific_heat", &m.specific_heat),
                ("expansion", &m.expansion),
            ] {
                assert!(p.low > 0.0 && p.low <= p.value && p.value <= p.high, "{} {name}", m.name);
            }
            assert!(m.poisson.high < 0.5);
            assert!(!m.cautions.is_empty() && !m.hardness.is_empty());
            for (_, t) in m.tables() {
                assert!(t.points.windows(2).all(|w| w[0].0 < w[1].0), "{}", m.name);
            }
        }
    }

    /// ASTM F1684 by way of a public page: mean expansion of K93600 from 30 degC to 300 degC is 6.05e-6 1/K.
    #[test]
    fn expansion_of_low_expansion_alloy() {
        let m = material("low expansion alloy UNS K93600").unwrap();
        assert!((m.mean_expansion(303.15, 573.15).value - 6.05e-6).abs() < 1e-12);
        assert!((m.mean_expansion(573.15, 303.15).value - 6.05e-6).abs() < 1e-12);
        // between two other temperatures the strains add up
        let strain = |a: f64, b: f64| m.mean_expansion(a, b).value * (b - a);
        assert!((strain(303.15, 473.15) + strain(473.15, 673.15) - strain(303.15, 673.15)).abs() < 1e-12);
        assert!(m.mean_expansion(303.15, 900.0).clamped);
    }

    #[test]
    fn tables_start_at_the_nominal_value() {
        for m in materials() {
            for (at, nominal) in [
                (m.youngs_modulus_at(293.15).value, m.youngs_modulus.value),
                (m.conductivity_at(293.15).value, m.conductivity.value),
                (m.specific_heat_at(293.15).value, m.specific_heat.value),
            ] {
                // stainless 316: 14 at 20 degC against a mean of 14.6 over 20 to 100 degC
                assert!((at / nominal - 1.0).abs() < 0.05, "{}", m.name);
            }
        }
    }

    #[test]
    fn a_scaled_figure_is_scaled_at_every_temperature_and_no_other_is() {
        for m in materials() {
            let [k, e, a] = [Figure::Conductivity, Figure::YoungsModulus, Figure::Expansion].map(|figure| m.scaled(figure, 1.01));
            for t in [200.0, 293.15, 420.0, 700.0] {
                let near = |value: f64, expected: f64| assert!((value / expected - 1.0).abs() < 1e-9, "{} at {t}", m.name);
                near(k.conductivity_at(t).value, 1.01 * m.conductivity_at(t).value);
                near(e.youngs_modulus_at(t).value, 1.01 * m.youngs_modulus_at(t).value);
                near(a.mean_expansion(293.15, t).value, 1.01 * m.mean_expansion(293.15, t).value);
                near(k.youngs_modulus_at(t).value, m.youngs_modulus_at(t).value);
                near(e.mean_expansion(293.15, t).value, m.mean_expansion(293.15, t).value);
                near(a.conductivity_at(t).value, m.conductivity_at(t).value);
            }
        }
    }

    #[test]
    fn unknown_material_names_the_nearest() {
        let Err(PropertyError::UnknownMaterial { nearest, .. }) = material("silicon carbide sintered") else { panic!() };
        assert_eq!(nearest[0], "silicon carbide, sintered");
        assert!(material("Silicon  Carbide, sintered").is_ok());
    }
}
