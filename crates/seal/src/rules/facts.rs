//! What the rules read of fluids and materials: the one place of `rules` that knows the properties crate.

use halfmicron_properties::material::Material;
use halfmicron_properties::{Fluid, FluidFamily, HazardKind};

/// Kind of fluid as the fitness tables of secondary seals and faces list it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum FluidKind {
    /// Water below 80 degC and hot water by temperature.
    Water,
    /// Sea water and salt brines.
    Brine,
    /// Mineral oils, fuels and long-chain hydrocarbons.
    MineralOil,
    /// Light hydrocarbons.
    LightHydrocarbon,
    /// Aromatic hydrocarbons.
    Aromatic,
    /// Ketones and esters.
    Ketone,
    /// Ammonia.
    Ammonia,
    /// Caustic, with its strength.
    Caustic,
    /// Sulphuric acid.
    Sulphuric,
    /// Nitric or chromic acid.
    Nitric,
    /// Chlorine, wet.
    WetChlorine,
    /// Amines.
    Amine,
    /// Hydrogen sulphide and sour streams.
    Sour,
    /// Glycol mixtures.
    Glycol,
    /// Cryogenic liquids.
    Cryogenic,
    /// Heat-transfer oils.
    ThermalOil,
    /// Oxygen.
    Oxygen,
    /// Inert and light gases.
    InertGas,
    /// A fluid that the tables do not list.
    Other,
}

impl FluidKind {
    /// Kind by the words of a fluid's name.
    pub fn of(name: &str) -> Self {
        let name = name.to_lowercase();
        let has = |words: &[&str]| words.iter().any(|word| name.contains(word));
        if has(&["sea water", "seawater", "brine", "sodium chloride"]) {
            FluidKind::Brine
        } else if has(&["glycol"]) {
            FluidKind::Glycol
        } else if has(&["sodium hydroxide", "caustic", "potassium hydroxide"]) {
            FluidKind::Caustic
        } else if has(&["terphenyl", "diphenyl", "heat-transfer", "heat transfer", "thermal oil"]) {
            FluidKind::ThermalOil
        } else if has(&["mineral oil", "fuel", "lubricat", "iso vg", "octane", "dodecane", "hexane", "heptane", "decane"]) {
            FluidKind::MineralOil
        } else if has(&["benzene", "toluene", "xylene"]) {
            FluidKind::Aromatic
        } else if has(&["hydrogen sulphide", "sour"]) {
            FluidKind::Sour
        } else if has(&["propane", "butane", "propylene", "pentane", "ethylene", "ethane"]) && !has(&["methane"]) {
            FluidKind::LightHydrocarbon
        } else if has(&["ammonia"]) {
            FluidKind::Ammonia
        } else if has(&["sulphuric"]) {
            FluidKind::Sulphuric
        } else if has(&["nitric", "chromic"]) {
            FluidKind::Nitric
        } else if has(&["chlorine"]) {
            FluidKind::WetChlorine
        } else if has(&["amine"]) {
            FluidKind::Amine
        } else if has(&["oxygen"]) {
            FluidKind::Oxygen
        } else if has(&["acetone", "ketone", "acetate", "ester"]) {
            FluidKind::Ketone
        } else if has(&["methane", "natural gas", "lng"]) {
            FluidKind::Cryogenic
        } else if has(&["nitrogen", "argon", "helium", "air", "hydrogen", "carbon dioxide"]) {
            FluidKind::InertGas
        } else if has(&["water", "condensate", "steam"]) {
            FluidKind::Water
        } else {
            FluidKind::Other
        }
    }

    /// Kind of a family of the properties library.
    fn of_family(family: FluidFamily) -> Self {
        match family {
            FluidFamily::WaterCold | FluidFamily::WaterHot => FluidKind::Water,
            FluidFamily::SeaWaterBrine => FluidKind::Brine,
            FluidFamily::MineralOilFuel => FluidKind::MineralOil,
            FluidFamily::LightHydrocarbon => FluidKind::LightHydrocarbon,
            FluidFamily::Aromatic => FluidKind::Aromatic,
            FluidFamily::KetoneEster => FluidKind::Ketone,
            FluidFamily::Ammonia => FluidKind::Ammonia,
            FluidFamily::Caustic => FluidKind::Caustic,
            FluidFamily::SulphuricDilute | FluidFamily::SulphuricConcentrated => FluidKind::Sulphuric,
            FluidFamily::NitricChromic => FluidKind::Nitric,
            FluidFamily::WetChlorine => FluidKind::WetChlorine,
            FluidFamily::Amine => FluidKind::Amine,
            FluidFamily::SourGas => FluidKind::Sour,
            FluidFamily::GlycolMixture => FluidKind::Glycol,
            FluidFamily::LiquidNitrogen => FluidKind::Cryogenic,
            FluidFamily::HotThermalOil => FluidKind::ThermalOil,
            FluidFamily::Oxygen => FluidKind::Oxygen,
        }
    }

    /// Whether a table of practice calls it a poor lubricant at that temperature, a good one, or neither: the
    /// multiplier of handbook PV limits.
    pub fn pv_multiplier(self, temperature_k: f64) -> f64 {
        match self {
            FluidKind::LightHydrocarbon | FluidKind::Ammonia => 0.5,
            FluidKind::Water | FluidKind::Brine if temperature_k > 353.15 => 0.5,
            FluidKind::MineralOil | FluidKind::ThermalOil => 1.5,
            _ => 1.0,
        }
    }
}

/// What the rules know of the fluid of one duty, at its chamber condition where a value depends on it.
#[derive(Debug, Clone, PartialEq)]
pub struct FluidFacts {
    /// Name.
    pub name: String,
    /// Kind for the limits of practice.
    pub kind: FluidKind,
    /// Family of the elastomer fitness table.
    pub family: Option<FluidFamily>,
    /// Vapour pressure at chamber temperature, Pa.
    pub vapour_pressure_pa: Option<f64>,
    /// Saturation temperature at the low pressure, K.
    pub low_side_saturation_k: Option<f64>,
    /// Specific heat in the chamber, J/(kg K).
    pub specific_heat_j_per_kg_k: Option<f64>,
    /// Critical temperature, K, and pressure, Pa.
    pub critical: Option<[f64; 2]>,
    /// Temperature range of its property data, K.
    pub range_k: Option<[f64; 2]>,
    /// Solidification temperature, K.
    pub freezes_k: Option<f64>,
    /// Temperature above which it cokes or decomposes at an edge in air, K.
    pub cokes_k: Option<f64>,
    /// Mass share of dissolved solids that stay when the liquid evaporates.
    pub dissolved_solids: Option<f64>,
    /// Hurts people in small amounts.
    pub toxic: bool,
    /// Burns.
    pub flammable: bool,
    /// Auto-ignition temperature, K.
    pub autoignition_k: Option<f64>,
    /// Feeds fire.
    pub oxidiser: bool,
    /// Displaces air.
    pub asphyxiant: bool,
    /// Polymerises.
    pub polymerises: bool,
    /// Materials that it attacks, by name, and how.
    pub attacks: Vec<(Vec<String>, String)>,
    /// What to tell people, in words.
    pub hazard_words: Vec<String>,
}

impl FluidFacts {
    /// Facts of a fluid of which nothing but the name is known.
    pub fn named(name: &str) -> Self {
        let kind = FluidKind::of(name);
        Self {
            name: name.to_owned(),
            kind,
            family: None,
            vapour_pressure_pa: None,
            low_side_saturation_k: None,
            specific_heat_j_per_kg_k: None,
            critical: None,
            range_k: None,
            freezes_k: None,
            cokes_k: None,
            dissolved_solids: dissolved_solids(name),
            toxic: false,
            flammable: false,
            autoignition_k: None,
            oxidiser: kind == FluidKind::Oxygen,
            asphyxiant: false,
            polymerises: false,
            attacks: Vec::new(),
            hazard_words: Vec::new(),
        }
    }

    /// Facts of a fluid at a chamber condition.
    pub fn of(fluid: &Fluid, name: &str, chamber_pressure_pa: f64, chamber_temperature_k: f64, low_pressure_pa: f64) -> Self {
        let hazards = fluid.hazards();
        let has = |test: fn(&HazardKind) -> bool| hazards.find(test).is_some();
        let named = Self::named(name);
        let family = fluid.family(chamber_temperature_k);
        let (stated_low, stated_high) = fluid.range().stated_temperature_k;
        let mut words: Vec<String> = hazards.entries().iter().map(|hazard| hazard.words.clone()).collect();
        words.dedup();
        if hazards.is_unknown() {
            words.push("its hazards are not known here: no flag does not mean no hazard".to_owned());
        }
        Self {
            kind: kind_of(named.kind, family),
            family,
            vapour_pressure_pa: fluid.saturation_pressure(chamber_temperature_k).value(),
            low_side_saturation_k: fluid.saturation_temperature(low_pressure_pa).value(),
            specific_heat_j_per_kg_k: fluid
                .at_pressure_temperature(chamber_pressure_pa, chamber_temperature_k)
                .ok()
                .map(|state| state.isobaric_heat_capacity_j_per_kg_k),
            critical: fluid.critical_point().map(|(temperature, pressure)| [temperature, pressure]),
            range_k: Some([stated_low, stated_high]),
            freezes_k: fluid.freezing_temperature().or(hazards.freezes_below()),
            cokes_k: hazards.cokes_above(),
            dissolved_solids: hazards.dissolved_mass_fraction().or(named.dissolved_solids),
            toxic: hazards.is_toxic(),
            flammable: hazards.is_flammable(),
            oxidiser: has(|kind| matches!(kind, HazardKind::Oxidiser)) || named.oxidiser,
            asphyxiant: has(|kind| matches!(kind, HazardKind::Asphyxiant)),
            polymerises: has(|kind| matches!(kind, HazardKind::Polymerises)),
            attacks: hazards
                .entries()
                .iter()
                .filter_map(|hazard| match &hazard.kind {
                    HazardKind::Attacks { materials } => Some((materials.clone(), hazard.words.clone())),
                    _ => None,
                })
                .collect(),
            hazard_words: words,
            ..named
        }
    }

    /// Whether the fluid is a strong caustic: a mass share above a quarter.
    pub fn strong_caustic(&self) -> bool {
        self.kind == FluidKind::Caustic && self.dissolved_solids.is_none_or(|share| share > 0.25)
    }
}

/// A name that says a kind is believed before the fitness family, which changes with temperature (a heat-transfer oil attacks
/// elastomers as aromatics do while it is cool, and stays a heat-transfer oil).
fn kind_of(named: FluidKind, family: Option<FluidFamily>) -> FluidKind {
    match (named, family) {
        (FluidKind::Other, Some(family)) => FluidKind::of_family(family),
        (named, _) => named,
    }
}

/// Mass share of dissolved solids as a fluid's name states it: `salinity 70 g/kg`, `50 % by mass`.
fn dissolved_solids(name: &str) -> Option<f64> {
    let kind = FluidKind::of(name);
    if !matches!(kind, FluidKind::Brine | FluidKind::Caustic) {
        return None;
    }
    let words: Vec<&str> = name.split([' ', ',']).filter(|word| !word.is_empty()).collect();
    words.windows(2).find_map(|pair| {
        let value: f64 = pair[0].parse().ok()?;
        match pair[1] {
            "g/kg" => Some(value / 1000.0),
            "%" => Some(value / 100.0),
            _ => None,
        }
    })
}

/// Family of a ring or secondary-seal material.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Family {
    /// Carbon graphite with resin.
    ResinCarbon,
    /// Carbon graphite with antimony.
    AntimonyCarbon,
    /// Carbon graphite of any other kind.
    Carbon,
    /// Silicon carbide, sintered, plain or graphite loaded.
    SinteredSiliconCarbide,
    /// Silicon carbide with free silicon.
    ReactionBondedSiliconCarbide,
    /// Tungsten carbide, nickel binder.
    NickelTungstenCarbide,
    /// Tungsten carbide, cobalt binder.
    CobaltTungstenCarbide,
    /// Alumina.
    Alumina,
    /// Silicon nitride.
    SiliconNitride,
    /// Cast iron with nickel.
    NickelIron,
    /// Steels and alloys.
    Metal,
    /// PTFE, PEEK.
    Polymer,
    /// Anything else.
    Other,
}

impl Family {
    /// Family by the words of a material's name.
    pub fn of(name: &str) -> Self {
        let name = name.to_lowercase();
        let has = |word: &str| name.contains(word);
        if has("carbon graphite") && has("resin") {
            Family::ResinCarbon
        } else if has("carbon graphite") && has("antimony") {
            Family::AntimonyCarbon
        } else if has("carbon graphite") {
            Family::Carbon
        } else if has("silicon carbide") && has("reaction") {
            Family::ReactionBondedSiliconCarbide
        } else if has("silicon carbide") {
            Family::SinteredSiliconCarbide
        } else if has("tungsten carbide") && has("cobalt") {
            Family::CobaltTungstenCarbide
        } else if has("tungsten carbide") {
            Family::NickelTungstenCarbide
        } else if has("alumina") {
            Family::Alumina
        } else if has("silicon nitride") {
            Family::SiliconNitride
        } else if has("nickel cast iron") || has("cast iron") {
            Family::NickelIron
        } else if has("steel") || has("alloy") || has("titanium") || has("17-4") || has("duplex") || has("bronze") || has("nickel") {
            Family::Metal
        } else if has("ptfe") || has("peek") {
            Family::Polymer
        } else {
            Family::Other
        }
    }

    /// Carbon graphite of any impregnation.
    pub fn is_carbon(self) -> bool {
        matches!(self, Family::ResinCarbon | Family::AntimonyCarbon | Family::Carbon)
    }

    /// Hard ceramics and carbides.
    pub fn is_hard(self) -> bool {
        matches!(
            self,
            Family::SinteredSiliconCarbide
                | Family::ReactionBondedSiliconCarbide
                | Family::NickelTungstenCarbide
                | Family::CobaltTungstenCarbide
                | Family::Alumina
                | Family::SiliconNitride
        )
    }

    /// Fails by tension without yielding.
    pub fn is_brittle(self) -> bool {
        self.is_carbon() || self.is_hard()
    }

    /// Yields before it breaks.
    pub fn is_ductile(self) -> bool {
        matches!(self, Family::Metal)
    }
}

/// What the rules know of a material.
#[derive(Debug, Clone, PartialEq)]
pub struct MaterialFacts {
    /// Name.
    pub name: String,
    /// Family.
    pub family: Family,
    /// Whether it is the graphite-loaded grade of a hard material.
    pub graphite_loaded: bool,
    /// Service temperatures, K.
    pub service_k: Option<[f64; 2]>,
    /// Flexural strength, Pa.
    pub flexural_pa: Option<f64>,
    /// Tensile strength, Pa.
    pub tension_pa: Option<f64>,
    /// Compressive strength, Pa.
    pub compression_pa: Option<f64>,
    /// Yield strength, Pa.
    pub yield_pa: Option<f64>,
    /// Young's modulus, Pa.
    pub youngs_modulus_pa: Option<f64>,
    /// Poisson's ratio.
    pub poisson: Option<f64>,
    /// Mean expansion, 1/K.
    pub expansion_per_k: Option<f64>,
    /// Conductivity, W/(m K).
    pub conductivity_w_per_m_k: Option<f64>,
    /// Density, kg/m3.
    pub density_kg_per_m3: Option<f64>,
    /// Cautions in words.
    pub cautions: String,
}

impl MaterialFacts {
    /// Facts of a material of which nothing but the name is known.
    pub fn named(name: &str) -> Self {
        Self {
            name: name.to_owned(),
            family: Family::of(name),
            graphite_loaded: name.contains("graphite loaded"),
            service_k: None,
            flexural_pa: None,
            tension_pa: None,
            compression_pa: None,
            yield_pa: None,
            youngs_modulus_pa: None,
            poisson: None,
            expansion_per_k: None,
            conductivity_w_per_m_k: None,
            density_kg_per_m3: None,
            cautions: String::new(),
        }
    }

    /// Facts of a ring's material.
    pub fn of(material: &Material) -> Self {
        let (low, high) = material.service_range_k;
        Self {
            service_k: Some([low, high]),
            flexural_pa: material.flexural_strength.as_ref().map(|strength| strength.value),
            tension_pa: material.tension_strength.as_ref().map(|strength| strength.value),
            compression_pa: material.compression_strength.as_ref().map(|strength| strength.value),
            yield_pa: material.yield_strength.as_ref().map(|strength| strength.value),
            youngs_modulus_pa: Some(material.youngs_modulus.value),
            poisson: Some(material.poisson.value),
            expansion_per_k: Some(material.expansion.value),
            conductivity_w_per_m_k: Some(material.conductivity.value),
            density_kg_per_m3: Some(material.density.value),
            cautions: material.cautions.clone(),
            ..Self::named(&material.name)
        }
    }
}

/// A material of the library, for tests.
#[cfg(test)]
pub(crate) fn library_material(name: &str) -> Material {
    halfmicron_properties::material::material(name).expect("a material of the library").clone()
}

/// A fluid of the library, for tests.
#[cfg(test)]
pub(crate) fn library_fluid(name: &str) -> Fluid {
    Fluid::named(name).expect("a fluid of the library")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_tell_the_kind() {
        assert_eq!(FluidKind::of("sea water, salinity 70 g/kg"), FluidKind::Brine);
        assert_eq!(FluidKind::of("sodium hydroxide solution, 50 % by mass"), FluidKind::Caustic);
        assert_eq!(FluidKind::of("ethylene glycol and water, 50 % by mass"), FluidKind::Glycol);
        assert_eq!(FluidKind::of("hydrogenated terphenyl heat-transfer oil"), FluidKind::ThermalOil);
        assert_eq!(FluidKind::of("water"), FluidKind::Water);
        assert_eq!(FluidKind::of("chlorinated paraffin"), FluidKind::Other);
    }

    #[test]
    fn names_tell_dissolved_solids() {
        assert_eq!(FluidFacts::named("sea water, salinity 70 g/kg").dissolved_solids, Some(0.07));
        assert_eq!(FluidFacts::named("sodium hydroxide solution, 50 % by mass").dissolved_solids, Some(0.5));
        assert_eq!(FluidFacts::named("water").dissolved_solids, None);
        assert!(FluidFacts::named("sodium hydroxide solution, 50 % by mass").strong_caustic());
        assert!(!FluidFacts::named("sodium hydroxide solution, 20 % by mass").strong_caustic());
    }

    #[test]
    fn names_tell_the_family() {
        assert_eq!(Family::of("carbon graphite, resin impregnated"), Family::ResinCarbon);
        assert_eq!(Family::of("silicon carbide, reaction bonded"), Family::ReactionBondedSiliconCarbide);
        assert_eq!(Family::of("silicon carbide, sintered, graphite loaded"), Family::SinteredSiliconCarbide);
        assert_eq!(Family::of("17-4PH (UNS S17400), H1025"), Family::Metal);
        assert_eq!(Family::of("low expansion alloy UNS K93600"), Family::Metal);
        assert_eq!(Family::of("austenitic nickel cast iron"), Family::NickelIron);
    }
}
