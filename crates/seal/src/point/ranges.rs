//! Low and high of the headline numbers, and the friction band.
//!
//! Each stated uncertainty is varied alone, the equilibrium is followed there from the nominal one with the Newton matrix at hand, and the
//! changes are added in squares on each side. Positive numbers are added as ratios, temperatures and margins as differences.

use super::branch::{Root, equilibrium, equilibrium_near};
use super::coupled::Coupled;
use super::pair::Pair;
use super::report::{Headlines, headlines};
use super::setting::{Setting, Solved, lapped_profile, pair};
use crate::contact::ContactLaw;
use crate::film::FieldGrid;
use crate::notice::{Notice, Severity};
use crate::outcome::{Equilibrium, FrictionBand, Ranged, Work};
use crate::ring::RingConditions;

/// Scatter taken where a material states none of its own.
const EXPANSION_SCATTER: f64 = 0.10;
/// Scatter of a stated roughness from piece to piece and instrument to instrument (common practice, no source).
const ROUGHNESS_SCATTER: f64 = 0.30;

/// One changed input, at its low and high end.
struct Variation {
    name: &'static str,
    ends: [Changed; 2],
}

/// What a changed input replaces.
#[derive(Default)]
struct Changed {
    pair: Option<Pair>,
    boundary_friction: Option<f64>,
    contact: Option<ContactLaw>,
    closing_force_n: Option<f64>,
}

/// Low and high around an equilibrium, found.
pub(super) struct Ranges {
    nominal: Headlines,
    spread: Spread,
    friction_band: FrictionBand,
    lost: Vec<&'static str>,
}

/// Follow an equilibrium to both ends of every uncertain input.
pub(super) fn ranges(solved: &Solved, root: &Root, work: &mut Work) -> Ranges {
    let nominal = headlines(solved, &solved.coupled(), &root.state, &root.evaluation);
    // Of a textured film the changes are taken on the grid of the search, from its own equilibrium: they are ratios and differences.
    let searched = solved.setting.fields.as_ref().and_then(|_| {
        let coupled = solved.coupled_for_search();
        equilibrium(&coupled, root.state.clone(), solved.setting.closing_force_n, work).ok()
    });
    let base = Base {
        field: searched.as_ref().and(solved.setting.fields.as_deref()).map(|grids| &grids.search),
        root: searched.as_ref().unwrap_or(root),
        nominal: searched.as_ref().map_or(nominal, |root| headlines(solved, &solved.coupled_for_search(), &root.state, &root.evaluation)),
    };
    let mut spread = Spread::default();
    let mut lost = Vec::new();
    for variation in variations(solved) {
        let ends = variation.ends.map(|changed| follow(solved, &base, &changed, work));
        if ends.iter().any(Option::is_none) {
            lost.push(variation.name);
        }
        spread.add(&base.nominal, &ends);
    }
    let friction_band = friction_band(solved, &base, &nominal, &mut spread, work, &mut lost);
    Ranges { nominal, spread, friction_band, lost }
}

impl Ranges {
    /// Write them into the equilibrium.
    pub fn write(self, equilibrium: &mut Equilibrium) {
        self.spread.write(&self.nominal, equilibrium);
        equilibrium.friction_band = self.friction_band;
    }

    /// What must be said where an end was lost.
    pub fn notice(&self) -> Option<Notice> {
        (!self.lost.is_empty()).then(|| {
            Notice::of(
                Severity::Caution,
                "range.lost",
                "",
                format!("the film could not be followed to an end of the range of these inputs: {}", self.lost.join(", ")),
                "The low - high shown leaves those ends out: there another film may be met far off, or none.",
            )
        })
    }
}

/// The equilibrium from which changed inputs are followed.
struct Base<'a> {
    /// Grid of a textured film, where it is not that of the answer.
    field: Option<&'a FieldGrid>,
    root: &'a Root,
    nominal: Headlines,
}

fn follow(solved: &Solved, base: &Base, changed: &Changed, work: &mut Work) -> Option<Headlines> {
    let pair = changed.pair.as_ref().unwrap_or(&solved.surroundings.pair);
    let coupled = Coupled {
        boundary_friction: changed.boundary_friction.unwrap_or(solved.model().contact.boundary_friction[1]),
        contact: changed.contact.unwrap_or(solved.setting.contact),
        ..solved.setting.coupled(pair, solved.fluid, solved.model())
    };
    let coupled = Coupled { field: base.field.or(coupled.field), ..coupled };
    let closing = changed.closing_force_n.unwrap_or(solved.setting.closing_force_n);
    let (state, evaluation) = equilibrium_near(&coupled, base.root, closing, work).ok()?;
    Some(headlines(solved, &coupled, &state, &evaluation))
}

fn variations(solved: &Solved) -> Vec<Variation> {
    let model = solved.model();
    let mut list = vec![Variation { name: "flatness", ends: flatness(solved) }];
    list.push(Variation { name: "roughness", ends: rougher(solved) });
    if model.switches.contact {
        list.push(Variation { name: "contact constants", ends: stiffer_contact(solved) });
    }
    // At rest it bounds the torque that breaks away.
    if model.switches.contact {
        let [low, _, high] = model.contact.boundary_friction;
        list.push(Variation {
            name: "boundary friction",
            ends: [low, high].map(|f| Changed { boundary_friction: Some(f), ..Changed::default() }),
        });
    }
    if model.switches.distortion {
        list.push(Variation { name: "elastic modulus", ends: [-1.0, 1.0].map(|sign| scaled(solved, Scale::modulus(model, sign))) });
    }
    if model.switches.heat && solved.setting.turning() {
        if model.switches.distortion {
            list.push(Variation { name: "expansion", ends: [-1.0, 1.0].map(|sign| scaled(solved, Scale::expansion(sign))) });
        }
        list.push(Variation { name: "convection", ends: convection_ends(solved) });
        list.push(Variation { name: "conductivity", ends: conductivity_ends(solved) });
    }
    list
}

/// Roughness of both faces off by its scatter, and the asperity stiffness with it.
fn rougher(solved: &Solved) -> [Changed; 2] {
    let contact = solved.setting.contact;
    [1.0 - ROUGHNESS_SCATTER, 1.0 + ROUGHNESS_SCATTER]
        .map(|factor| Changed { contact: Some(ContactLaw { roughness_m: factor * contact.roughness_m, ..contact }), ..Changed::default() })
}

/// Asperity constants, seldom measured, at half and double.
fn stiffer_contact(solved: &Solved) -> [Changed; 2] {
    let contact = solved.setting.contact;
    [0.5, 2.0].map(|factor| Changed {
        contact: Some(ContactLaw { elastic_scale_pa: factor * contact.elastic_scale_pa, ..contact }),
        ..Changed::default()
    })
}

/// Both rings within their flatness tolerance, coned one way or the other.
fn flatness(solved: &Solved) -> [Changed; 2] {
    let model = solved.model();
    let tolerance = model.rotating_ring.flatness_m.hypot(model.stationary_ring.flatness_m);
    let lapped = model.rotating_ring.lapped_coning_m + model.stationary_ring.lapped_coning_m;
    [-0.5, 0.5].map(|share| {
        let mut rings = solved.surroundings.pair.rings.clone();
        let profile = lapped_profile(solved.prepared, lapped + share * tolerance);
        Changed { pair: Some(rebuilt(solved, &mut rings, profile)), ..Changed::default() }
    })
}

fn rebuilt(solved: &Solved, rings: &mut [crate::ring::RingResponse; 2], lapped_m: Vec<f64>) -> Pair {
    Pair::new(solved.surroundings.pair.nodes.clone(), rings.clone(), lapped_m, Coupled::following(&solved.model().switches))
}

/// Factors on the parts of a ring's response, rotating and stationary.
struct Scale {
    elastic: [f64; 2],
    thermal: [f64; 2],
}

impl Scale {
    /// Moduli of both rings off by their own scatter, the same way.
    fn modulus(model: &crate::model::Model, sign: f64) -> Self {
        let factor = |ring: &crate::model::Ring| {
            ring.parts.first().map_or(1.0, |part| {
                let modulus = &part.material.youngs_modulus;
                modulus.value / if sign < 0.0 { modulus.low } else { modulus.high }
            })
        };
        Self { elastic: [factor(&model.rotating_ring), factor(&model.stationary_ring)], thermal: [1.0; 2] }
    }

    fn expansion(sign: f64) -> Self {
        Self { elastic: [1.0; 2], thermal: [1.0 + sign * EXPANSION_SCATTER; 2] }
    }
}

fn scaled(solved: &Solved, scale: Scale) -> Changed {
    let mut rings = solved.surroundings.pair.rings.clone();
    for (index, ring) in rings.iter_mut().enumerate() {
        ring.elastic_deflection_m.iter_mut().for_each(|w| *w *= scale.elastic[index]);
        ring.deflection_per_pressure *= faer::Scale(scale.elastic[index]);
        ring.thermal_deflection_m.iter_mut().for_each(|w| *w *= scale.thermal[index]);
        ring.deflection_per_flux *= faer::Scale(scale.thermal[index]);
    }
    let lapped = solved.surroundings.pair.lapped_m.clone();
    Changed { pair: Some(rebuilt(solved, &mut rings, lapped)), ..Changed::default() }
}

/// Conductivity of both rings at the low and at the high end of the scatter of their faces' materials.
///
/// Conduction with `s k` and film coefficients `c` is conduction with `k` and `c/s`, with every temperature rise divided by `s`: no new
/// factorisation is needed.
fn conductivity_ends(solved: &Solved) -> [Changed; 2] {
    let model = solved.model();
    let scatter = [&model.rotating_ring, &model.stationary_ring].map(|ring| {
        ring.parts.first().map_or((1.0, 1.0), |part| {
            let conductivity = &part.material.conductivity;
            (conductivity.low / conductivity.value, conductivity.high / conductivity.value)
        })
    });
    let end = |high: bool| {
        let shares = scatter.map(|(low, top)| if high { top } else { low });
        let mut conditions: [RingConditions; 2] = solved.surroundings.conditions.clone();
        for (condition, share) in conditions.iter_mut().zip(shares) {
            for surface in [&mut condition.sealed_coefficient_w_per_m2_k, &mut condition.low_side_coefficient_w_per_m2_k] {
                surface.cylinder /= share;
                surface.plane /= share;
            }
        }
        let changed = pair(solved.prepared, &solved.rings, &conditions).ok().map(|found| {
            let mut rings = found.rings.clone();
            for (ring, share) in rings.iter_mut().zip(shares) {
                ring.temperature_per_flux *= faer::Scale(1.0 / share);
                ring.deflection_per_flux *= faer::Scale(1.0 / share);
            }
            rebuilt(solved, &mut rings, found.lapped_m.clone())
        });
        Changed { pair: changed, ..Changed::default() }
    };
    [end(false), end(true)]
}

/// Every convection coefficient at the low and at the high end of its correlation.
fn convection_ends(solved: &Solved) -> [Changed; 2] {
    let convection = &solved.surroundings.convection;
    let end = |high: bool| {
        let mut conditions: [RingConditions; 2] = solved.surroundings.conditions.clone();
        for (condition, surface) in conditions.iter_mut().zip(&convection.rings) {
            condition.sealed_coefficient_w_per_m2_k = surface.sealed[if high { 2 } else { 0 }];
            condition.low_side_coefficient_w_per_m2_k = surface.low_side[if high { 2 } else { 0 }];
        }
        Changed { pair: pair(solved.prepared, &solved.rings, &conditions).ok(), ..Changed::default() }
    };
    [end(false), end(true)]
}

fn friction_band(
    solved: &Solved,
    base: &Base,
    nominal: &Headlines,
    spread: &mut Spread,
    work: &mut Work,
    lost: &mut Vec<&'static str>,
) -> FrictionBand {
    let Setting { friction_n, closing_force_n, reported_shift_n, .. } = solved.setting;
    let closings = [closing_force_n + friction_n[1], closing_force_n - friction_n[1]];
    let closing_force_n = closings.map(|f| f + reported_shift_n);
    let ends = if friction_n[1] == 0.0 {
        [Some(*nominal); 2]
    } else {
        let ends = closings.map(|closing| follow(solved, base, &Changed { closing_force_n: Some(closing), ..Changed::default() }, work));
        if ends.iter().any(Option::is_none) {
            lost.push("secondary-seal friction");
        }
        spread.add(&base.nominal, &ends);
        ends.map(|end| end.map(|end| end.on_the_answer(&base.nominal, nominal)))
    };
    FrictionBand {
        friction_n,
        closing_force_n,
        minimum_film_m: ends.map(|end| end.map(|h| h.minimum_film_m)),
        leakage_kg_per_s: ends.map(|end| end.map(|h| h.leakage_kg_per_s)),
        face_temperature_max_k: ends.map(|end| end.map(|h| h.face_temperature_max_k)),
    }
}

/// Sums of squares below and above the nominal of each headline.
#[derive(Default)]
struct Spread {
    minimum_film: Sides,
    mean_film: Sides,
    leakage: Sides,
    torque: Sides,
    power: Sides,
    contact_share: Sides,
    face_temperature: Sides,
    film_temperature: Sides,
    boiling_margin: Sides,
}

#[derive(Default, Clone, Copy)]
struct Sides {
    below: f64,
    above: f64,
}

impl Sides {
    fn difference(&mut self, nominal: f64, values: impl Iterator<Item = f64>) {
        self.square(values.map(|v| v - nominal));
    }

    /// As a ratio where the nominal is positive; as a difference where it is not (no contact, a leak that spin turns round).
    fn ratio(&mut self, nominal: f64, values: impl Iterator<Item = f64>) {
        if nominal > 0.0 {
            self.square(values.map(|v| (v.max(1e-6 * nominal) / nominal).ln()));
        } else {
            self.difference(nominal, values);
        }
    }

    /// The greatest change to each side counts, squared.
    fn square(&mut self, changes: impl Iterator<Item = f64>) {
        let (mut low, mut high) = (0.0_f64, 0.0_f64);
        for change in changes.filter(|c| c.is_finite()) {
            (low, high) = (low.min(change), high.max(change));
        }
        self.below += low * low;
        self.above += high * high;
    }

    fn around(&self, nominal: f64) -> Ranged {
        Ranged { low: nominal - self.below.sqrt(), nominal, high: nominal + self.above.sqrt() }
    }

    fn about(&self, nominal: f64) -> Ranged {
        if nominal > 0.0 {
            Ranged { low: nominal * (-self.below.sqrt()).exp(), nominal, high: nominal * self.above.sqrt().exp() }
        } else {
            self.around(nominal)
        }
    }
}

/// A range with its unit changed by the factor that changes its nominal.
fn rescaled(range: Ranged, nominal: f64) -> Ranged {
    let factor = if range.nominal == 0.0 { 0.0 } else { nominal / range.nominal };
    Ranged { low: factor * range.low, nominal, high: factor * range.high }
}

impl Spread {
    fn add(&mut self, nominal: &Headlines, ends: &[Option<Headlines>; 2]) {
        let values = |of: fn(&Headlines) -> f64| ends.iter().flatten().map(of);
        self.minimum_film.difference(nominal.minimum_film_m, values(|h| h.minimum_film_m));
        self.mean_film.ratio(nominal.mean_film_m, values(|h| h.mean_film_m));
        self.leakage.ratio(nominal.leakage_kg_per_s, values(|h| h.leakage_kg_per_s));
        self.torque.ratio(nominal.torque_n_m, values(|h| h.torque_n_m));
        self.power.ratio(nominal.power_w, values(|h| h.power_w));
        self.contact_share.ratio(nominal.contact_share, values(|h| h.contact_share));
        self.face_temperature.difference(nominal.face_temperature_max_k, values(|h| h.face_temperature_max_k));
        self.film_temperature.difference(nominal.film_temperature_max_k, values(|h| h.film_temperature_max_k));
        if let Some(margin) = nominal.boiling_margin_k {
            self.boiling_margin.difference(margin, ends.iter().flatten().filter_map(|h| h.boiling_margin_k));
        }
    }

    fn write(&self, nominal: &Headlines, equilibrium: &mut Equilibrium) {
        equilibrium.minimum_film_m = self.minimum_film.around(nominal.minimum_film_m);
        equilibrium.mean_film_m = self.mean_film.about(nominal.mean_film_m);
        equilibrium.leakage_kg_per_s = self.leakage.about(nominal.leakage_kg_per_s);
        equilibrium.leakage_m3_per_s = rescaled(equilibrium.leakage_kg_per_s, nominal.leakage_m3_per_s);
        equilibrium.torque_n_m = self.torque.about(nominal.torque_n_m);
        equilibrium.power_w = self.power.about(nominal.power_w);
        let share = self.contact_share.about(nominal.contact_share);
        // Asperities carry more than closing where spin sucks the film below the lower pressure.
        equilibrium.contact_share = Ranged { low: share.low.max(0.0), high: share.high.min(share.nominal.max(1.0)), ..share };
        equilibrium.face_temperature_max_k = self.face_temperature.around(nominal.face_temperature_max_k);
        equilibrium.film_temperature_max_k = self.film_temperature.around(nominal.film_temperature_max_k);
        equilibrium.boiling_margin_k = nominal.boiling_margin_k.map(|margin| self.boiling_margin.around(margin));
    }
}

#[cfg(test)]
mod tests {
    use super::Sides;

    fn ranged(nominal: f64, ends: [f64; 2]) -> [f64; 2] {
        let mut sides = Sides::default();
        sides.ratio(nominal, ends.into_iter());
        let range = sides.about(nominal);
        [range.low, range.high]
    }

    #[test]
    fn one_cause_gives_its_own_ends_back() {
        for (nominal, ends) in [(2.0, [1.0, 5.0]), (0.0, [0.0, 0.3]), (-2.0, [-3.0, 1.0])] {
            let [low, high] = ranged(nominal, ends);
            assert!((low - ends[0]).abs() < 1e-12 && (high - ends[1]).abs() < 1e-12, "{nominal}: {low} {high}");
        }
    }
}
