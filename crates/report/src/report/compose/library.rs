//! Models, materials and fluids with their sources.

use halfmicron::model::{Ring, RingRole};
use halfmicron_checks::models::find;
use halfmicron_properties::Fluid;
use halfmicron_properties::material::{Material, Property};

use super::super::Subject;
use super::super::content::{Cell, Column, Part, Section, Tone};
use super::sentence;

/// Models used, how far each is proven, and what that means.
pub(super) fn models(subject: &Subject) -> Section {
    let columns =
        vec![Column::words("Model", 1.5), Column::words("Valid when", 1.5), Column::words("Source", 1.5), Column::words("Proof", 0.8)];
    let rows: Vec<Vec<Cell>> = subject
        .sheet
        .models
        .iter()
        .map(|line| {
            let known = find(&line.id);
            let of = |text: Option<&'static str>| Cell::text(text.map_or(String::new(), sentence));
            let tone = if line.proof == "unproven" { Tone::Watch } else { Tone::Plain };
            vec![
                Cell { below: line.id.clone(), ..of(known.map(|model| model.title)) },
                of(known.map(|model| model.valid_when)),
                of(known.map(|model| model.source)),
                Cell::toned(&line.proof, tone),
            ]
        })
        .collect();
    if rows.is_empty() {
        return super::nothing("models", "Models", "No duty was solved, so that no model was used.");
    }
    let parts = vec![
        Part::table(columns, rows),
        Part::soft(
            "\"Checked by\" names published checks (exact solutions or published numbers) that this program reruns with the command halfmicron prove. \
             \"Unproven\" means that no such check covers the model: its numbers may be right, but nothing outside this program shows it, and whoever signs \
             takes them as an estimate. A check proves a model within the range of that check, not this seal.",
        ),
    ];
    Section::new("models", "Models", parts)
}

/// Sources of every property that was used.
pub(super) fn materials_and_fluid(subject: &Subject) -> Section {
    let model = subject.model;
    let mut parts = Vec::new();
    let mut sources: Vec<(&str, &str)> = Vec::new();
    let mut rows = Vec::new();
    for (fluid, duties) in fluids(subject) {
        let keys = noted(&mut sources, fluid.sources().iter().map(|source| (source.key, source.text)));
        rows.push(vec![
            Cell::text("fluid"),
            Cell { below: duties, ..Cell::toned(fluid.name(), Tone::Strong) },
            Cell::text("all properties"),
            Cell::text(keys),
        ]);
    }
    for (ring, of) in [(&model.rotating_ring, "rotating ring"), (&model.stationary_ring, "stationary ring")] {
        for material in materials(ring) {
            rows.extend(properties(material, of, &mut sources));
        }
    }
    let columns =
        vec![Column::words("Of", 0.0), Column::words("Material", 1.0), Column::words("Property", 2.0), Column::words("Source", 1.0)];
    parts.push(Part::table(columns, rows));
    let pair = if model.contact.source.is_empty() {
        String::new()
    } else {
        format!(" Friction and wear of the pair: {}", sentence(&model.contact.source))
    };
    let secondary = &model.seal.secondary_seal.material;
    let secondary = if secondary.is_empty() { String::new() } else { format!(" Secondary seal: {secondary}, as the case names it.") };
    parts.push(Part::soft(format!(
        "Values, scatter and ranges are printed by halfmicron fluids NAME and halfmicron materials NAME; values of the case's own materials stand in the \
         case.{pair}{secondary}"
    )));
    if !sources.is_empty() {
        parts.push(Part::heading("Sources"));
        let items = sources.iter().map(|(key, text)| vec![Cell::text(*key), Cell::text(sentence(text))]).collect();
        parts.push(Part::table(vec![Column::words("", 0.0), Column::words("", 1.0)], items));
    }
    Section::new("materials", "Materials and fluid", parts)
}

/// Every fluid with the duties that it fills; no duties where it fills all.
fn fluids<'a>(subject: &Subject<'a>) -> Vec<(&'a Fluid, String)> {
    let mut known: Vec<(&Fluid, Vec<String>)> = Vec::new();
    for column in &subject.sheet.columns {
        let Some(duty) = subject.model.duties.iter().find(|duty| duty.name == column.name) else { continue };
        let fluid: &Fluid = duty.fluid.as_deref().unwrap_or(&subject.model.fluid);
        match known.iter_mut().find(|(other, _)| other.name() == fluid.name()) {
            Some((_, duties)) => duties.push(duty.name.clone()),
            None => known.push((fluid, vec![duty.name.clone()])),
        }
    }
    let all = known.len() == 1;
    known.into_iter().map(|(fluid, duties)| (fluid, if all { String::new() } else { duties.join(", ") })).collect()
}

fn materials(ring: &Ring) -> Vec<&Material> {
    let mut known: Vec<&Material> = Vec::new();
    for part in &ring.parts {
        if !known.iter().any(|other| other.name == part.material.name) {
            known.push(&part.material);
        }
    }
    known
}

/// Properties of a material by their source: one row a source.
fn properties<'a>(material: &Material, of: &str, sources: &mut Vec<(&'a str, &'a str)>) -> Vec<Vec<Cell>> {
    let always: [(&str, Option<&Property>); 6] = [
        ("density", Some(&material.density)),
        ("Young's modulus", Some(&material.youngs_modulus)),
        ("Poisson's ratio", Some(&material.poisson)),
        ("conductivity", Some(&material.conductivity)),
        ("specific heat", Some(&material.specific_heat)),
        ("expansion", Some(&material.expansion)),
    ];
    let strengths = [
        ("tensile strength", material.tension_strength.as_ref()),
        ("compressive strength", material.compression_strength.as_ref()),
        ("flexural strength", material.flexural_strength.as_ref()),
        ("yield strength", material.yield_strength.as_ref()),
        ("plastic bearing pressure", material.plastic_bearing_pressure.as_ref()),
    ];
    let stated = always.into_iter().chain(strengths).filter_map(|(name, property)| property.map(|property| (name, property.source)));
    let tables = material.tables().into_iter().map(|(name, table)| (name, table.source)).collect::<Vec<_>>();
    let mut by_source: Vec<(&'static str, Vec<String>)> = Vec::new();
    let tabulated = tables.into_iter().map(|(name, source)| (format!("{name} over temperature"), source));
    for (name, source) in stated.map(|(name, source)| (name.to_owned(), source)).chain(tabulated) {
        noted(sources, std::iter::once((source.key, source.text)));
        match by_source.iter_mut().find(|(key, _)| *key == source.key) {
            Some((_, names)) => names.push(name),
            None => by_source.push((source.key, vec![name])),
        }
    }
    let row = |(index, (key, names)): (usize, (&str, Vec<String>))| {
        let (of, name) = if index == 0 { (of, material.name.as_str()) } else { ("", "") };
        vec![Cell::text(of), Cell::toned(name, Tone::Strong), Cell::text(names.join(", ")), Cell::text(key)]
    };
    by_source.into_iter().enumerate().map(row).collect()
}

/// Enters sources not yet known and gives the keys of all.
fn noted<'a>(known: &mut Vec<(&'a str, &'a str)>, named: impl Iterator<Item = (&'a str, &'a str)>) -> String {
    let mut keys = Vec::new();
    for source in named {
        if !known.iter().any(|other| other.0 == source.0) {
            known.push(source);
        }
        if !keys.contains(&source.0) {
            keys.push(source.0);
        }
    }
    keys.join(", ")
}

/// Heading of a ring.
pub(super) fn ring_name(role: RingRole) -> &'static str {
    match role {
        RingRole::Rotating => "Rotating ring",
        RingRole::Stationary => "Stationary ring",
    }
}
