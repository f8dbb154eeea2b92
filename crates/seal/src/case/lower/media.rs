//! Fluids and materials, by name or by the user's own values, and the temperatures at which they serve.

use std::sync::Arc;

use halfmicron_properties::material::{self, Material, OwnFigures};
use halfmicron_properties::{ConstantFluid, ConstantGas, CustomFluid, Fluid, PropertyError, ViscosityLaw};

use super::super::error::Cause;
use super::super::tree::{Table, Value};
use super::{Lowering, rounded};
use crate::model::{ChamberTemperature, Duty, Ring};
use crate::notice::Notice;
use crate::units::{Dimension, ZERO_CELSIUS_K};

/// Kinematic viscosity above which a custom fluid is taken as an oil, m2/s (ASTM D341 is stated from 2 mm2/s).
const OIL_FROM_M2_PER_S: f64 = 2e-6;
/// Molar gas constant, J/(mol K): exact since the SI of 2019.
const MOLAR_GAS_CONSTANT: f64 = 8.314_462_618_153_24;
/// Reach of a custom fluid beyond its two viscosities, K.
const CUSTOM_REACH_K: f64 = 20.0;

impl Lowering<'_> {
    /// The material named by a key.
    pub(super) fn material(&mut self, table: &Table, key: &str) -> Option<Material> {
        if !table.has(key) {
            self.missing(table, key, "");
            return None;
        }
        let name = table.text(key)?;
        if let Some(own) = self.root.list("material").iter().find(|own| own.text("name") == Some(name)) {
            return self.own_material(own, name);
        }
        match material::material(name) {
            Ok(material) => Some(material.clone()),
            Err(error) => self.property_error(table, key, &error),
        }
    }

    /// A material that the case describes.
    fn own_material(&mut self, own: &Table, name: &str) -> Option<Material> {
        let like = match own.text("like") {
            Some(like) => match material::material(like) {
                Ok(material) => Some(material),
                Err(error) => return self.property_error(own, "like", &error),
            },
            None => None,
        };
        let figures = OwnFigures {
            density: own.number("density"),
            youngs_modulus: own.number("youngs_modulus"),
            poisson: own.number("poisson"),
            conductivity: own.number("conductivity"),
            specific_heat: own.number("specific_heat"),
            expansion: own.number("expansion"),
            tension_strength: own.number("tension"),
            compression_strength: own.number("compression"),
            flexural_strength: own.number("flexural"),
            yield_strength: own.number("yield"),
            plastic_bearing_pressure: own.number("plastic_pressure"),
            service_range_k: own.pair("service").map(|[low, high]| (low, high)),
        };
        match Material::own(name, like, &figures) {
            Ok(material) => Some(material),
            Err(error) => self.property_error(own, "name", &error),
        }
    }

    /// The fluid of the case: by name, by the user's measurements, or of constant properties.
    pub(super) fn fluid(&mut self) -> Option<Arc<Fluid>> {
        let root = self.root;
        let stated: Vec<&str> = ["fluid", "liquid", "gas"].into_iter().filter(|name| root.has(name)).collect();
        if let [_, second, ..] = stated[..] {
            let message = format!("the sealed fluid is stated more than once: {}", stated.join(", "));
            self.error(root, second, Cause::Contradiction(message), "keep one of [fluid], [liquid] and [gas]");
            return None;
        }
        match stated.first() {
            Some(&"fluid") => self.stated_fluid(root.table("fluid")?),
            Some(&"liquid") => self.constant_liquid(root.table("liquid")?),
            Some(_) => self.constant_gas(root.table("gas")?),
            None => {
                self.missing(root, "fluid", "");
                None
            }
        }
    }

    fn stated_fluid(&mut self, table: &Table) -> Option<Arc<Fluid>> {
        match (table.has("name"), table.has("custom")) {
            (true, false) => {
                let name = table.text("name")?.to_owned();
                self.named_fluid(table, "name", &name)
            }
            (false, true) => self.custom_fluid(table.table("custom")?),
            (true, true) => {
                let message = "a fluid has a `name` of the library or a `custom` description".to_owned();
                self.error(
                    table,
                    "custom",
                    Cause::Contradiction(message),
                    "remove one of the two; a custom fluid has its name inside [fluid.custom]",
                );
                None
            }
            (false, false) => {
                self.missing(table, "name", "or describe the fluid in [fluid.custom]");
                None
            }
        }
    }

    /// A fluid of the library.
    pub(super) fn named_fluid(&mut self, table: &Table, key: &str, name: &str) -> Option<Arc<Fluid>> {
        match Fluid::named(name) {
            Ok(fluid) => Some(Arc::new(fluid)),
            Err(error) => self.property_error(table, key, &error),
        }
    }

    fn constant_liquid(&mut self, table: &Table) -> Option<Arc<Fluid>> {
        let name = self.text_or(table, "name", "liquid, constant properties", "the case gives none");
        let heat_capacity = self.number_or(table, "specific_heat", 4184.0, "4184 J/(kg K)", "that of cold water");
        let conductivity = self.number_or(table, "conductivity", 0.6, "0.6 W/(m K)", "that of cold water");
        let (density, viscosity) = (table.number("density")?, table.number("viscosity")?);
        match Fluid::constant(ConstantFluid { name, density, viscosity, heat_capacity, conductivity }) {
            Ok(fluid) => Some(Arc::new(fluid)),
            Err(error) => self.property_error(self.root, "liquid", &error),
        }
    }

    fn constant_gas(&mut self, table: &Table) -> Option<Arc<Fluid>> {
        let name = self.text_or(table, "name", "ideal gas, constant properties", "the case gives none");
        let gas_constant = self.gas_constant(table)?;
        let heat_capacity = self.number_or(
            table,
            "specific_heat",
            3.5 * gas_constant,
            &format!("{} J/(kg K)", rounded(3.5 * gas_constant)),
            "3.5 times the gas constant, that of a gas of two atoms",
        );
        let conductivity = self.number_or(table, "conductivity", 0.026, "0.026 W/(m K)", "that of air");
        let viscosity = table.number("viscosity")?;
        let gas = ConstantGas { name, gas_constant, viscosity, conductivity, heat_capacity, reference_temperature: ZERO_CELSIUS_K };
        match Fluid::constant_gas(gas) {
            Ok(fluid) => Some(Arc::new(fluid)),
            Err(error) => self.property_error(self.root, "gas", &error),
        }
    }

    /// Specific gas constant, J/(kg K), stated or from the molar mass.
    fn gas_constant(&mut self, table: &Table) -> Option<f64> {
        match (table.has("gas_constant"), table.has("molar_mass")) {
            (true, true) => {
                let message = "`gas_constant` and `molar_mass` say the same thing".to_owned();
                self.error(table, "molar_mass", Cause::Contradiction(message), "remove one of the two");
                None
            }
            (true, false) => table.number("gas_constant"),
            (false, true) => Some(MOLAR_GAS_CONSTANT / table.number("molar_mass")?),
            (false, false) => {
                self.missing(table, "gas_constant", "or give `molar_mass`");
                None
            }
        }
    }

    fn custom_fluid(&mut self, table: &Table) -> Option<Arc<Fluid>> {
        let name = self.text_or(table, "name", "custom fluid", "the case gives none");
        let density_at = self.number_or(table, "density_at", 293.15, "20 degC", "the usual temperature of a density");
        let expansion = self.number_or(table, "expansion", 0.7e-3, "0.0007 1/K", "an ordinary liquid (common practice, no source)");
        let viscosity = self.two_viscosities(table, density_at, expansion);
        let vapour_pressure = if table.has("vapour_pressure") { Some(self.two_points(table, "vapour_pressure")?) } else { None };
        if vapour_pressure.is_none() {
            let message = "`vapour_pressure` is not given: no margin to boiling can be said";
            let hint = "give the vapour pressure at two temperatures";
            self.notices.push(Notice::caution("default.vapour_pressure", &table.path_of("vapour_pressure"), message, hint));
        }
        let (points, kinematic_least) = viscosity?;
        let oil = match table.text("viscosity_law") {
            Some(law) => law == "oil",
            None => kinematic_least > OIL_FROM_M2_PER_S,
        };
        if !table.has("viscosity_law") {
            let law = if oil { "\"oil\"" } else { "\"light liquid\"" };
            self.default(&table.path_of("viscosity_law"), law, "oil where both points are above 2 mm2/s, the reach of ASTM D341");
        }
        let (heat, conducts, kind) = if oil { (2000.0, 0.12, "an ordinary oil") } else { (4200.0, 0.6, "a water-like liquid") };
        let heat_capacity = self.number_or(table, "specific_heat", heat, &format!("{heat} J/(kg K)"), kind);
        let conductivity = self.number_or(table, "conductivity", conducts, &format!("{conducts} W/(m K)"), kind);
        let pressure_viscosity =
            self.number_or(table, "pressure_viscosity", 0.0, "0 1/GPa", "viscosity taken as the same at every pressure");
        let reach = (points[0].0.min(points[1].0) - CUSTOM_REACH_K, points[0].0.max(points[1].0) + CUSTOM_REACH_K);
        if !table.has("range") {
            let words = format!("{} to {} degC", rounded(reach.0 - ZERO_CELSIUS_K), rounded(reach.1 - ZERO_CELSIUS_K));
            self.default(&table.path_of("range"), &words, "20 K beyond the two viscosities");
        }
        let description = CustomFluid {
            name,
            viscosity: points,
            viscosity_law: if oil { ViscosityLaw::Walther } else { ViscosityLaw::LogInverseTemperature },
            density: (density_at, table.number("density")?),
            expansion_per_k: Some(expansion),
            vapour_pressure,
            heat_capacity: Some(heat_capacity),
            conductivity: Some(conductivity),
            pressure_viscosity: Some(pressure_viscosity),
            bulk_modulus: table.number("bulk_modulus"),
            temperature_range: table.pair("range").map_or(reach, |[low, high]| (low, high)),
            freezing: table.number("freezing"),
        };
        match Fluid::custom(description) {
            Ok(fluid) => Some(Arc::new(fluid)),
            Err(error) => {
                let parent = self.root.table("fluid")?;
                self.property_error(parent, "custom", &error)
            }
        }
    }

    /// Two dynamic viscosities (K, Pa s) and the lesser kinematic one, m2/s.
    fn two_viscosities(&mut self, table: &Table, density_at: f64, expansion: f64) -> Option<([(f64, f64); 2], f64)> {
        let points = self.two_points(table, "viscosity")?;
        let density = table.number("density")?;
        let mut least = f64::INFINITY;
        let mut dynamic = points;
        for ((temperature, value), given) in dynamic.iter_mut().zip(table.list("viscosity")) {
            let there = density * (1.0 - expansion * (*temperature - density_at));
            let kinematic = matches!(given.node("value").map(|node| &node.value), Some(Value::Quantity(_, Dimension::KinematicViscosity)));
            least = least.min(if kinematic { *value } else { *value / there });
            if kinematic {
                *value *= there;
            }
        }
        Some((dynamic, least))
    }

    fn two_points(&mut self, table: &Table, key: &str) -> Option<[(f64, f64); 2]> {
        let points = table.list(key);
        if points.len() != 2 {
            if !table.invalid(key) && table.has(key) {
                let message = format!("`{key}` is given at {} temperatures, two are needed", points.len());
                let help = "write [ { at = \"40 degC\", value = ... }, { at = \"100 degC\", value = ... } ]";
                self.error(table, key, Cause::Contradiction(message), help);
            }
            return None;
        }
        let both: Option<Vec<(f64, f64)>> = points.iter().map(|point| Some((point.number("at")?, point.number("value")?))).collect();
        both?.try_into().ok()
    }

    /// What a property refuses, said at the key that asked for it.
    fn property_error<T>(&mut self, table: &Table, key: &str, error: &PropertyError) -> Option<T> {
        let (message, help) = match error {
            PropertyError::UnknownFluid { name, nearest } => (
                format!("no fluid is called \"{name}\""),
                format!("nearest known: {}. `halfmicron fluids` lists them; describe your own in [fluid.custom]", quoted(nearest)),
            ),
            PropertyError::UnknownMaterial { name, nearest } => (
                format!("no material is called \"{name}\""),
                format!("nearest known: {}. `halfmicron materials` lists them", quoted(nearest)),
            ),
            PropertyError::Composition { name, problem, example, quantity, low, high, unit } => {
                (format!("\"{name}\": {problem}"), format!("write for example \"{example}\"; {quantity} from {low} to {high} {unit}"))
            }
            PropertyError::InvalidInput { field, value, requirement } if value.is_nan() => {
                (format!("`{field}` is missing"), format!("{requirement}; or name a material that it is like in `like`"))
            }
            PropertyError::InvalidInput { field, value, requirement } => {
                (format!("{field} = {value:e} is not usable"), requirement.clone())
            }
            other => (other.to_string(), "correct the value, or describe the fluid in [fluid.custom]".to_owned()),
        };
        self.error(table, key, Cause::Property(message), help);
        None
    }

    /// The duty's temperature and pressure against the ranges of fluid and ring materials.
    pub(super) fn check_temperature(&mut self, table: &Table, duty: &Duty, fluid: Option<&Arc<Fluid>>, rings: [&Option<Ring>; 2]) {
        let (key, kelvin) = match duty.temperature {
            ChamberTemperature::Stated(kelvin) => ("temperature", kelvin),
            ChamberTemperature::FromFlush(kelvin) => ("flush_temperature", kelvin),
        };
        if let Some(fluid) = fluid {
            self.check_fluid_range(table, key, kelvin, duty.pressure_pa, fluid);
        }
        let parts = rings.into_iter().flatten().flat_map(|ring| &ring.parts);
        let mut named: Vec<&str> = Vec::new();
        for material in parts.map(|part| &part.material) {
            if material.serves_at(kelvin) || named.contains(&material.name.as_str()) {
                continue;
            }
            named.push(&material.name);
            let (low, high) = material.service_range_k;
            let message = format!("{} is outside the service range of \"{}\"", celsius(kelvin), material.name);
            let help = format!("allowed range {} to {}: choose another material or temperature", celsius(low), celsius(high));
            self.error(table, key, Cause::Property(message), help);
        }
    }

    fn check_fluid_range(&mut self, table: &Table, key: &str, kelvin: f64, pressure_pa: f64, fluid: &Fluid) {
        let range = fluid.range();
        let outside = [
            (&range.temperature_low, kelvin < range.temperature_low.value),
            (&range.temperature_high, kelvin > range.temperature_high.value),
        ];
        for (bound, _) in outside.into_iter().filter(|(_, outside)| *outside) {
            let message = format!("{} is outside the range of \"{}\": {}", celsius(kelvin), fluid.name(), bound.reason);
            let help = format!("allowed range {} to {}", celsius(range.temperature_low.value), celsius(range.temperature_high.value));
            self.error(table, key, Cause::Property(message), help);
        }
        if let Some(freezing) = fluid.freezing_temperature().filter(|freezing| kelvin < *freezing && kelvin >= range.temperature_low.value)
        {
            let message =
                format!("\"{}\" freezes or crystallises at {}, above the stated {}", fluid.name(), celsius(freezing), celsius(kelvin));
            self.error(
                table,
                key,
                Cause::Property(message),
                format!("allowed range {} to {}", celsius(freezing), celsius(range.temperature_high.value)),
            );
        }
        if pressure_pa < range.pressure_low.value || pressure_pa > range.pressure_high.value {
            let message = format!("{} MPa absolute is outside the range of \"{}\"", rounded(pressure_pa * 1e-6), fluid.name());
            let help = format!(
                "allowed range {} to {} MPa absolute",
                rounded(range.pressure_low.value * 1e-6),
                rounded(range.pressure_high.value * 1e-6)
            );
            self.error(table, "pressure", Cause::Property(message), help);
        }
    }
}

fn celsius(kelvin: f64) -> String {
    format!("{} degC", rounded(((kelvin - ZERO_CELSIUS_K) * 100.0).round() / 100.0))
}

fn quoted(names: &[String]) -> String {
    names.iter().map(|name| format!("\"{name}\"")).collect::<Vec<_>>().join(", ")
}
