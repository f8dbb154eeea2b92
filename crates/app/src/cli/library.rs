//! What is known of fluids and materials, with source and range.

use comfy_table::Table;
use halfmicron::sheet::UnitSet;
use halfmicron::sheet::rounding::significant;
use halfmicron::sheet::text::quantity;
use halfmicron::sheet::units::Kind;
use halfmicron_properties::material::{Material, Property, material, materials};
use halfmicron_properties::{Fluid, Hazards, PropertyError, Saturation, fluid_names};

use super::write::{Page, cell, strong};
use crate::{Answer, Terminal};

/// Pressure at which a fluid's sample states are shown, Pa absolute.
const SAMPLE_PRESSURE_PA: f64 = 1.0e6;

/// Temperatures of the sample states, as far as the fluid allows, K.
const SAMPLES_K: [f64; 8] = [253.15, 273.16, 293.15, 313.15, 333.15, 373.15, 423.15, 573.15];

/// The list of fluids, or one of them.
pub fn fluids(name: Option<&str>, units: UnitSet, terminal: Terminal) -> Answer {
    match name {
        None => Answer::result(list_of_fluids(units, terminal)),
        Some(name) => match Fluid::named(name) {
            Ok(fluid) => Answer::result(one_fluid(&fluid, units, terminal)),
            Err(error) => refusal(&error),
        },
    }
}

fn refusal(error: &PropertyError) -> Answer {
    Answer::error(format!("error: {error}\n"))
}

fn list_of_fluids(units: UnitSet, terminal: Terminal) -> String {
    let mut page = Page::new(terminal);
    let mut table = Table::new();
    table.set_header(["fluid", "write", "from", "to"].map(strong));
    for entry in fluid_names() {
        let (low, high) = entry.range.stated_temperature_k;
        let write = if entry.composition.is_empty() { entry.example.clone() } else { format!("{} ({})", entry.example, entry.composition) };
        table.add_row(vec![
            cell(&entry.name),
            cell(&write),
            cell(&quantity(low, Kind::Temperature, units)),
            cell(&quantity(high, Kind::Temperature, units)),
        ]);
    }
    page.table(table);
    page.line("");
    page.paragraph("", "", "`halfmicron fluids NAME` shows values, ranges, sources and hazards of one fluid.");
    page.finish()
}

fn one_fluid(fluid: &Fluid, units: UnitSet, terminal: Terminal) -> String {
    let mut page = Page::new(terminal);
    page.heading(fluid.name());
    let range = fluid.range();
    let kelvin = |value: f64| quantity(value, Kind::Temperature, units);
    let pascal = |value: f64| quantity(value, Kind::AbsolutePressure, units);
    let (low, high) = range.stated_temperature_k;
    page.paragraph("  ", "    ", &format!("data from {} to {}", kelvin(low), kelvin(high)));
    for (words, bound) in [("not below", &range.temperature_low), ("not above", &range.temperature_high)] {
        page.paragraph("  ", "    ", &format!("{words} {}: {}", kelvin(bound.value), bound.reason));
    }
    for (words, bound) in [("not below", &range.pressure_low), ("not above", &range.pressure_high)] {
        page.paragraph("  ", "    ", &format!("{words} {}: {}", pascal(bound.value), bound.reason));
    }
    if let Some(freezes) = fluid.freezing_temperature() {
        page.paragraph("  ", "    ", &format!("freezes or crystallises at {}", kelvin(freezes)));
    }
    page.line("");
    page.line(&format!("At {}", pascal(SAMPLE_PRESSURE_PA)));
    page.table(samples(fluid, units));
    hazards(&mut page, fluid.hazards());
    page.heading("Sources");
    for source in fluid.sources() {
        page.paragraph("  ", "    ", &format!("{} [{}]", source.text, source.key));
    }
    page.finish()
}

fn samples(fluid: &Fluid, units: UnitSet) -> Table {
    let mut table = Table::new();
    let header = ["temperature", "state", "density", "viscosity", "specific heat", "conductivity", "vapour pressure"];
    table.set_header(header.map(strong));
    for kelvin in SAMPLES_K {
        let Ok(state) = fluid.at_pressure_temperature(SAMPLE_PRESSURE_PA, kelvin) else { continue };
        let vapour = match fluid.saturation_pressure(kelvin) {
            Saturation::At(pressure) => quantity(pressure, Kind::AbsolutePressure, units),
            Saturation::Beyond { limit } => format!("beyond {}", quantity(limit, Kind::AbsolutePressure, units)),
            Saturation::Supercritical => "supercritical".to_owned(),
            Saturation::NoVapourData => "not known".to_owned(),
        };
        table.add_row(vec![
            cell(&quantity(kelvin, Kind::Temperature, units)),
            cell(&state.phase.to_string()),
            cell(&quantity(state.density_kg_per_m3, Kind::Density, units)),
            cell(&quantity(state.viscosity_pa_s, Kind::Viscosity, units)),
            cell(&quantity(state.isobaric_heat_capacity_j_per_kg_k, Kind::SpecificHeat, units)),
            cell(&quantity(state.conductivity_w_per_m_k, Kind::Conductivity, units)),
            cell(&vapour),
        ]);
    }
    table
}

fn hazards(page: &mut Page, hazards: &Hazards) {
    page.heading("To think about (not a safety data sheet: the site's own rules)");
    if hazards.is_unknown() {
        page.paragraph("  ", "    ", "Nothing is known of its hazards; that does not mean that there are none.");
    } else if hazards.entries().is_empty() {
        page.paragraph("  ", "    ", "No flag in the data.");
    }
    for hazard in hazards.entries() {
        page.paragraph("  ", "    ", &format!("{} [{}]", hazard.words, hazard.source.key));
    }
}

/// The list of materials, or one of them.
pub fn materials_known(name: Option<&str>, units: UnitSet, terminal: Terminal) -> Answer {
    match name {
        None => Answer::result(list_of_materials(units, terminal)),
        Some(name) => match material(name) {
            Ok(known) => Answer::result(one_material(known, units, terminal)),
            Err(error) => refusal(&error),
        },
    }
}

fn list_of_materials(units: UnitSet, terminal: Terminal) -> String {
    let mut page = Page::new(terminal);
    let mut table = Table::new();
    table.set_header(["material", "E", "conductivity", "expansion", "strength", "service to"].map(strong));
    for known in materials() {
        let strength = known.flexural_strength.as_ref().map(|s| ("flexural", s));
        let strength =
            strength.or(known.yield_strength.as_ref().map(|s| ("yield", s))).or(known.tension_strength.as_ref().map(|s| ("tension", s)));
        table.add_row(vec![
            cell(&known.name),
            cell(&quantity(known.youngs_modulus.value, Kind::Modulus, units)),
            cell(&quantity(known.conductivity.value, Kind::Conductivity, units)),
            cell(&quantity(known.expansion.value, Kind::Expansion, units)),
            cell(&strength.map_or(String::new(), |(words, s)| format!("{} {words}", quantity(s.value, Kind::Pressure, units)))),
            cell(&quantity(known.service_range_k.1, Kind::Temperature, units)),
        ]);
    }
    page.table(table);
    page.line("");
    page.paragraph("", "", "`halfmicron materials NAME` shows scatter, cautions and the source of every value.");
    page.finish()
}

fn one_material(known: &Material, units: UnitSet, terminal: Terminal) -> String {
    let mut page = Page::new(terminal);
    page.heading(&known.name);
    let mut table = Table::new();
    table.set_header(["property", "value", "low", "high", "source"].map(strong));
    let mut add = |words: &str, property: Option<&Property>, kind: Kind| {
        let Some(property) = property else { return };
        let shown = |value: f64| if kind == Kind::Number { significant(value, 3) } else { quantity(value, kind, units) };
        let cells = [words.to_owned(), shown(property.value), shown(property.low), shown(property.high), property.source.key.to_owned()];
        table.add_row(cells.iter().map(|text| cell(text)).collect::<Vec<_>>());
    };
    add("density", Some(&known.density), Kind::Density);
    add("Young's modulus", Some(&known.youngs_modulus), Kind::Modulus);
    add("Poisson's ratio", Some(&known.poisson), Kind::Number);
    add("conductivity", Some(&known.conductivity), Kind::Conductivity);
    add("specific heat", Some(&known.specific_heat), Kind::SpecificHeat);
    add("expansion, mean", Some(&known.expansion), Kind::Expansion);
    add("tensile strength", known.tension_strength.as_ref(), Kind::Pressure);
    add("compressive strength", known.compression_strength.as_ref(), Kind::Pressure);
    add("flexural strength", known.flexural_strength.as_ref(), Kind::Pressure);
    add("yield strength", known.yield_strength.as_ref(), Kind::Pressure);
    add("plastic bearing pressure", known.plastic_bearing_pressure.as_ref(), Kind::Pressure);
    page.table(table);
    let kelvin = |value: f64| quantity(value, Kind::Temperature, units);
    page.line("");
    page.paragraph("  ", "    ", &format!("hardness {}", known.hardness));
    let (low, high) = known.service_range_k;
    page.paragraph("  ", "    ", &format!("service {} to {}", kelvin(low), kelvin(high)));
    let (low, high) = known.expansion_range_k;
    page.paragraph("  ", "    ", &format!("expansion is the mean from {} to {}", kelvin(low), kelvin(high)));
    for (words, text) in [("scatter", &known.spread_words), ("cautions", &known.cautions)] {
        if !text.is_empty() {
            page.paragraph("  ", "    ", &format!("{words}: {text}"));
        }
    }
    for note in &known.notes {
        page.paragraph("  ", "    ", note);
    }
    if !known.tables().is_empty() {
        page.heading("With temperature");
        page.table(by_temperature(known, units));
        page.paragraph("  ", "    ", "between these on a straight line, beyond their ends held, with a notice");
    }
    page.heading("Sources");
    let always = [&known.density, &known.youngs_modulus, &known.poisson, &known.conductivity, &known.specific_heat, &known.expansion];
    let strengths = [&known.tension_strength, &known.compression_strength, &known.flexural_strength, &known.yield_strength];
    let stated = strengths.into_iter().chain([&known.plastic_bearing_pressure]).flatten();
    let properties = always.into_iter().chain(stated).map(|property| &property.source);
    let tables = known.tables();
    let mut said: Vec<&str> = Vec::new();
    for source in properties.chain(tables.iter().map(|(_, table)| &table.source)) {
        if !said.contains(&source.key) {
            said.push(source.key);
            page.paragraph("  ", "    ", &format!("{} [{}]", source.text, source.key));
        }
    }
    page.finish()
}

/// Every temperature at which a quantity of the material is tabulated; `-` beyond the ends of a quantity's own table.
fn by_temperature(known: &Material, units: UnitSet) -> Table {
    let tables = known.tables();
    let mut temperatures: Vec<f64> = tables.iter().flat_map(|(_, table)| table.points.iter().map(|point| point.0)).collect();
    temperatures.sort_by(f64::total_cmp);
    temperatures.dedup();
    let mut drawn = Table::new();
    drawn.set_header(std::iter::once("temperature").chain(tables.iter().map(|(name, _)| *name)).map(strong).collect::<Vec<_>>());
    for kelvin in temperatures {
        let mut cells = vec![cell(&quantity(kelvin, Kind::Temperature, units))];
        cells.extend(tables.iter().map(|(name, table)| {
            let at = table.at(kelvin);
            cell(&if at.clamped { "-".to_owned() } else { quantity(at.value, kind_of(name), units) })
        }));
        drawn.add_row(cells);
    }
    drawn
}

/// Kind of a tabulated quantity.
fn kind_of(name: &str) -> Kind {
    match name {
        "conductivity" => Kind::Conductivity,
        "specific heat" => Kind::SpecificHeat,
        "Young's modulus" => Kind::Modulus,
        "mean expansion" => Kind::Expansion,
        _ => Kind::Pressure,
    }
}
