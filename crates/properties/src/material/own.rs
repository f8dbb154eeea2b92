//! A material of the user's own: a supplier's certificate, or the figures of a published case.

use super::{Material, MaterialGroup, Property};
use crate::error::{PropertyError, above};
use crate::source;

/// Figures given by the user, SI units. What is not given comes from the material that it is like.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct OwnFigures {
    /// kg/m3
    pub density: Option<f64>,
    /// Pa
    pub youngs_modulus: Option<f64>,
    /// -
    pub poisson: Option<f64>,
    /// W/(m K)
    pub conductivity: Option<f64>,
    /// J/(kg K)
    pub specific_heat: Option<f64>,
    /// 1/K; 0 is allowed
    pub expansion: Option<f64>,
    /// Tensile strength, Pa
    pub tension_strength: Option<f64>,
    /// Compressive strength, Pa
    pub compression_strength: Option<f64>,
    /// Flexural strength, Pa
    pub flexural_strength: Option<f64>,
    /// Yield strength, Pa
    pub yield_strength: Option<f64>,
    /// Plastic bearing pressure, Pa
    pub plastic_bearing_pressure: Option<f64>,
    /// Service temperatures, K
    pub service_range_k: Option<(f64, f64)>,
}

impl Material {
    /// A material of the user's own. With `like` it is that material but for the figures given, which hold at every
    /// temperature; without, density, modulus, Poisson ratio, conductivity, specific heat, expansion and service range are needed.
    ///
    /// # Errors
    /// [`PropertyError::InvalidInput`] naming the figure that is missing or impossible.
    pub fn own(name: &str, like: Option<&Self>, figures: &OwnFigures) -> Result<Self, PropertyError> {
        let mut material = match like {
            Some(material) => material.clone(),
            None => blank(figures)?,
        };
        name.clone_into(&mut material.name);
        let f = figures;
        let positive = |field: &str, value: Option<f64>| value.map(|v| above(field, v, 0.0, "(SI)").map(exact)).transpose();
        replace(&mut material.density, positive("density", f.density)?);
        if let Some(modulus) = positive("youngs_modulus", f.youngs_modulus)? {
            (material.youngs_modulus, material.youngs_modulus_table) = (modulus, None);
        }
        if let Some(poisson) = f.poisson {
            if !(0.0..0.5).contains(&poisson) {
                return Err(needed("poisson", poisson, "0 to below 0.5 is allowed"));
            }
            material.poisson = exact(poisson);
        }
        if let Some(conductivity) = positive("conductivity", f.conductivity)? {
            (material.conductivity, material.conductivity_table) = (conductivity, None);
        }
        if let Some(heat) = positive("specific_heat", f.specific_heat)? {
            (material.specific_heat, material.specific_heat_table) = (heat, None);
        }
        if let Some(expansion) = f.expansion {
            if !(0.0..1e-3).contains(&expansion) {
                return Err(needed("expansion", expansion, "0 to below 1e-3 1/K is allowed"));
            }
            (material.expansion, material.expansion_table) = (exact(expansion), None);
        }
        if let Some(strength) = positive("compression_strength", f.compression_strength)? {
            (material.compression_strength, material.compression_table) = (Some(strength), None);
        }
        for (place, given, field) in [
            (&mut material.tension_strength, f.tension_strength, "tension_strength"),
            (&mut material.flexural_strength, f.flexural_strength, "flexural_strength"),
            (&mut material.yield_strength, f.yield_strength, "yield_strength"),
            (&mut material.plastic_bearing_pressure, f.plastic_bearing_pressure, "plastic_bearing_pressure"),
        ] {
            if let Some(strength) = positive(field, given)? {
                *place = Some(strength);
            }
        }
        if let Some((low, high)) = f.service_range_k {
            if !(low > 0.0 && high > low && high.is_finite()) {
                return Err(needed("service_range", high, "an upper temperature above the lower is needed"));
            }
            material.service_range_k = (low, high);
        }
        material.notes.push("figures given by the user".to_owned());
        Ok(material)
    }
}

/// The shape of a material without figures of its own; those that physics needs must all be given.
fn blank(f: &OwnFigures) -> Result<Material, PropertyError> {
    let all = [
        ("density", f.density.is_some()),
        ("youngs_modulus", f.youngs_modulus.is_some()),
        ("poisson", f.poisson.is_some()),
        ("conductivity", f.conductivity.is_some()),
        ("specific_heat", f.specific_heat.is_some()),
        ("expansion", f.expansion.is_some()),
        ("service_range", f.service_range_k.is_some()),
    ];
    if let Some((field, _)) = all.iter().find(|(_, given)| !given) {
        return Err(needed(field, f64::NAN, "it must be given for a material that is like no other"));
    }
    let range = f.service_range_k.unwrap_or((0.0, 0.0));
    let zero = exact(0.0);
    Ok(Material {
        name: String::new(),
        group: MaterialGroup::Face,
        density: zero.clone(),
        youngs_modulus: zero.clone(),
        poisson: zero.clone(),
        conductivity: zero.clone(),
        specific_heat: zero.clone(),
        expansion: zero,
        expansion_range_k: range,
        tension_strength: None,
        compression_strength: None,
        flexural_strength: None,
        yield_strength: None,
        plastic_bearing_pressure: None,
        hardness: "not stated".to_owned(),
        service_range_k: range,
        spread_words: "none: the user's figures are taken as exact".to_owned(),
        cautions: "the user's own material: its fitness for the fluid is not known".to_owned(),
        notes: Vec::new(),
        conductivity_table: None,
        specific_heat_table: None,
        youngs_modulus_table: None,
        expansion_table: None,
        compression_table: None,
    })
}

fn replace(place: &mut Property, given: Option<Property>) {
    if let Some(given) = given {
        *place = given;
    }
}

fn exact(value: f64) -> Property {
    Property { value, low: value, high: value, source: source::USER }
}

fn needed(field: &str, value: f64, requirement: &str) -> PropertyError {
    PropertyError::InvalidInput { field: field.to_owned(), value, requirement: requirement.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::super::materials;
    use super::*;

    #[test]
    fn given_figures_stand_at_every_temperature() {
        let carbide = materials().iter().find(|m| m.name == "silicon carbide, sintered").unwrap();
        let figures = OwnFigures { conductivity: Some(90.0), ..OwnFigures::default() };
        let own = Material::own("certified carbide", Some(carbide), &figures).unwrap();
        assert_eq!(own.name, "certified carbide");
        assert_eq!((own.conductivity_at(293.15).value, own.conductivity_at(700.0).value), (90.0, 90.0));
        assert_eq!(own.youngs_modulus_at(700.0), carbide.youngs_modulus_at(700.0));
    }

    #[test]
    fn what_is_missing_or_impossible_is_named() {
        let steel = OwnFigures {
            density: Some(7850.0),
            youngs_modulus: Some(2.1e11),
            poisson: Some(0.3),
            conductivity: Some(45.0),
            specific_heat: Some(470.0),
            expansion: Some(1.2e-5),
            service_range_k: Some((200.0, 700.0)),
            ..OwnFigures::default()
        };
        assert!(Material::own("steel", None, &steel).is_ok());
        for (wrong, field) in [
            (OwnFigures { density: None, ..steel.clone() }, "density"),
            (OwnFigures { poisson: Some(0.5), ..steel.clone() }, "poisson"),
            (OwnFigures { youngs_modulus: Some(f64::NAN), ..steel.clone() }, "youngs_modulus"),
            (OwnFigures { expansion: Some(-1e-6), ..steel }, "expansion"),
        ] {
            let Err(PropertyError::InvalidInput { field: named, .. }) = Material::own("steel", None, &wrong) else { panic!("{field}") };
            assert_eq!(named, field);
        }
    }
}
