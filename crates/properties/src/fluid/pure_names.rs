//! The pure fluids known by name: aliases, data files, ends of their ranges.

use std::sync::{Arc, OnceLock};

use super::hazards::hazards_for;
use super::pure::{PureFluid, PureFluidData, Transport};
use super::surface::Surface;
use super::transport::Correlations;
use super::{Bound, Fluid, FluidFamily, FluidKind, Inner, Model, PropertyNotice, PureEntry, Range};
use crate::error::PropertyError;
use crate::source;

/// One pure fluid.
pub(super) struct PureName {
    pub name: &'static str,
    /// What people write instead, in lower case.
    pub aliases: &'static [&'static str],
    file: &'static str,
    text: &'static str,
    family: Option<FluidFamily>,
    /// Highest temperature of the viscosity and conductivity correlations, K; infinite where it is that of the equation.
    transport_high: f64,
    /// What the reader of every result must know.
    notice: Option<&'static str>,
}

macro_rules! fluids {
    ($($name:literal, $file:literal, $aliases:expr, $family:expr, $high:expr, $notice:expr;)*) => {
        pub(super) const PURE: &[PureName] = &[$(PureName {
            name: $name,
            aliases: &$aliases,
            file: concat!("fluids/", $file, ".toml"),
            text: include_str!(concat!("../../data/fluids/", $file, ".toml")),
            family: $family,
            transport_high: $high,
            notice: $notice,
        }),*];
        static ENTRIES: [OnceLock<Result<Arc<PureEntry>, PropertyError>>; PURE.len()] = [const { OnceLock::new() }; PURE.len()];
    };
}

const EQUATION: f64 = f64::INFINITY;
/// Where the transport correlations of most of the papers end, Pa.
const HIGHEST_PRESSURE: f64 = 100e6;

use FluidFamily::{Ammonia, Aromatic, LightHydrocarbon, LiquidNitrogen, MineralOilFuel, Oxygen, WaterCold};

fluids! {
    "water", "water", ["steam", "condensate", "h2o"], Some(WaterCold), 1_173.15, None;
    "nitrogen", "nitrogen", ["n2", "liquid nitrogen", "nitrogen gas"], Some(LiquidNitrogen), EQUATION, None;
    "oxygen", "oxygen", ["o2", "liquid oxygen"], Some(Oxygen), EQUATION, None;
    "argon", "argon", ["ar", "liquid argon"], Some(LiquidNitrogen), EQUATION, None;
    "air", "air", ["compressed air", "dry air"], None, EQUATION,
        Some("air: taken as one substance (pseudo-pure). Its saturation line is that of equal Gibbs energy of the equation; real air boils over some 3 K between bubble and dew point, on both sides of that line");
    "carbon dioxide", "carbon-dioxide", ["co2"], None, 1_100.0, None;
    "ammonia", "ammonia", ["nh3", "r717"], Some(Ammonia), EQUATION,
        Some("ammonia: the critical enhancement of its conductivity is a crossover form with the amplitudes of Tufeu et al. (1984), not their own term, which is infinite at 405.4 K at every density");
    "methane", "methane", ["ch4", "r50"], Some(LightHydrocarbon), 600.0, None;
    "ethane", "ethane", ["c2h6", "r170"], Some(LightHydrocarbon), 500.0, None;
    "propane", "propane", ["n-propane", "c3h8", "r290"], Some(LightHydrocarbon), 600.0, None;
    "butane", "butane", ["n-butane", "c4h10", "r600"], Some(LightHydrocarbon), EQUATION, None;
    "isobutane", "isobutane", ["i-butane", "2-methylpropane", "r600a"], Some(LightHydrocarbon), EQUATION, None;
    "pentane", "pentane", ["n-pentane", "c5h12"], Some(LightHydrocarbon), EQUATION, None;
    "hexane", "hexane", ["n-hexane", "c6h14"], Some(LightHydrocarbon), 600.0, None;
    "heptane", "heptane", ["n-heptane", "c7h16"], Some(MineralOilFuel), 600.0, None;
    "octane", "octane", ["n-octane", "c8h18"], Some(MineralOilFuel), EQUATION, None;
    "nonane", "nonane", ["n-nonane", "c9h20"], Some(MineralOilFuel), EQUATION, None;
    "decane", "decane", ["n-decane", "c10h22"], Some(MineralOilFuel), EQUATION, None;
    "dodecane", "dodecane", ["n-dodecane", "c12h26"], Some(MineralOilFuel), EQUATION, None;
    "propylene", "propylene", ["propene", "c3h6", "r1270"], Some(LightHydrocarbon), EQUATION,
        Some("propylene: viscosity and conductivity by extended corresponding states from propane");
    "hydrogen", "hydrogen", ["h2", "normal hydrogen", "liquid hydrogen"], None, EQUATION, None;
    "helium", "helium", ["he", "helium-4"], None, EQUATION, None;
    "methanol", "methanol", ["methyl alcohol", "ch3oh"], None, EQUATION, None;
    "ethanol", "ethanol", ["ethyl alcohol", "c2h5oh"], None, 600.0, None;
    "benzene", "benzene", ["c6h6"], Some(Aromatic), 675.0, None;
    "toluene", "toluene", ["methylbenzene", "c7h8"], Some(Aromatic), 675.0, None;
    "R134a", "r134a", ["r-134a", "1,1,1,2-tetrafluoroethane"], None, EQUATION, None;
}

/// Names under which a mixture is taken for its main part, with that part.
const TAKEN_FOR: [(&str, &str); 4] =
    [("lng", "methane"), ("liquefied natural gas", "methane"), ("natural gas", "methane"), ("lpg", "propane")];

/// The pure fluid of a name in lower case, if there is one.
pub(super) fn find(clean: &str) -> Option<Result<Fluid, PropertyError>> {
    if let Some(index) = PURE.iter().position(|p| p.name.to_lowercase() == clean || p.aliases.contains(&clean)) {
        return Some(fluid(index, None));
    }
    let (alias, main) = TAKEN_FOR.iter().find(|(alias, _)| *alias == clean)?;
    let index = PURE.iter().position(|p| p.name == *main)?;
    let notice = PropertyNotice {
        code: "fluid.taken-for",
        message: format!("{main} taken for {alias}: a mixture boils over a range of temperatures, which is not computed"),
    };
    Some(fluid(index, Some(notice)))
}

fn fluid(index: usize, taken_for: Option<PropertyNotice>) -> Result<Fluid, PropertyError> {
    let pure = &PURE[index];
    describe(pure, ENTRIES[index].get_or_init(|| Ok(Arc::new(entry(pure)?))).clone()?, taken_for)
}

fn describe(pure: &PureName, entry: Arc<PureEntry>, taken_for: Option<PropertyNotice>) -> Result<Fluid, PropertyError> {
    let fluid = &entry.fluid;
    let mut sources = Vec::new();
    for key in fluid.source_keys() {
        let found = source::by_key(key)
            .ok_or_else(|| PropertyError::Data { file: pure.file.to_owned(), message: format!("unknown source \"{key}\"") })?;
        if !sources.contains(&found) {
            sources.push(found);
        }
    }
    sources.extend([source::BELL_ALPERT, source::MCADAMS, source::CICCHITTI, source::DUKLER]);
    let range = range(pure, fluid);
    let freezing = (pure.name != "helium").then_some(if pure.name == "water" { 273.15 } else { fluid.triple_temperature });
    let notices = pure.notice.map(|message| PropertyNotice { code: "fluid.model", message: message.to_owned() });
    Ok(Fluid::from_inner(Inner {
        name: fluid.name.clone(),
        kind: FluidKind::EquationOfState,
        sources,
        hazards: hazards_for(pure.name)?,
        data_version: fluid.data_version.clone(),
        family: pure.family,
        standing_notices: notices.into_iter().chain(taken_for).collect(),
        transport_high: pure.transport_high.min(range.stated_temperature_k.1),
        freezing,
        range,
        model: Model::Pure(entry),
    }))
}

fn range(pure: &PureName, fluid: &PureFluid) -> Range {
    let bound = |value: f64, reason: &str| Bound { value, reason: reason.to_owned() };
    let pressure_low = bound(1.0, "below 1 Pa there is no film to speak of");
    if pure.name == "water" {
        return Range {
            temperature_low: bound(273.15, "water freezes"),
            temperature_high: bound(1_273.15, "the equation of state was fitted to 1000 degC"),
            pressure_low,
            pressure_high: bound(1e9, "the equation of state was fitted to 1 GPa"),
            stated_temperature_k: (273.15, 1_273.15),
        };
    }
    let high = fluid.highest_temperature;
    let (low, why) = match pure.name {
        "helium" => (3.5, "below it helium comes near the superfluid, which its conductivity does not cover"),
        // under pressure the cold liquid is solid before it is this cold, and the viscosity correlation at its end
        "toluene" => (200.0, "colder, under pressure, it is solid"),
        "nonane" => (240.0, "colder, under pressure, it is solid"),
        _ => (fluid.triple_temperature, "it freezes there; the equation of state ends at the triple point"),
    };
    Range {
        temperature_low: bound(low, why),
        temperature_high: bound(high, "the equation of state was fitted up to there"),
        pressure_low,
        pressure_high: if fluid.highest_pressure > HIGHEST_PRESSURE {
            bound(HIGHEST_PRESSURE, "viscosity and conductivity were fitted to some 100 MPa")
        } else {
            bound(fluid.highest_pressure, "the equation of state was fitted up to there")
        },
        stated_temperature_k: (low, high),
    }
}

fn entry(pure: &PureName) -> Result<PureEntry, PropertyError> {
    let fluid = build(pure)?;
    Ok(PureEntry { surface: Surface::new(&fluid), fluid })
}

/// Parses the embedded file of one fluid and makes the fluid ready.
pub(super) fn build(pure: &PureName) -> Result<PureFluid, PropertyError> {
    let mut data: PureFluidData =
        toml::from_str(pure.text).map_err(|e| PropertyError::Data { file: pure.file.to_owned(), message: e.to_string() })?;
    let transport = data.transport.take().map_or(Transport::Water, Transport::Correlations);
    let fluid = PureFluid::new(data, transport)?;
    let Some(name) = fluid.correlations().and_then(Correlations::reference) else { return Ok(fluid) };
    let reference = PURE
        .iter()
        .find(|p| p.name == name && p.name != pure.name)
        .ok_or_else(|| PropertyError::Data { file: pure.file.to_owned(), message: format!("reference fluid \"{name}\" is not known") })?;
    let reference = Arc::new(build(reference)?);
    Ok(fluid.with_reference(reference))
}

/// A fluid made anew, of which no state has been asked for yet; for benches.
pub(crate) fn fresh_for_bench(name: &str) -> Option<Fluid> {
    let pure = PURE.iter().find(|p| p.name == name)?;
    describe(pure, Arc::new(entry(pure).ok()?), None).ok()
}

/// Parses a fluid's file anew and returns the number of its saturation pieces; for benches.
pub(crate) fn parse_for_bench(name: &str) -> usize {
    PURE.iter().find(|p| p.name == name).and_then(|p| build(p).ok()).map_or(0, |f| f.saturation().pieces())
}
