//! What a duty sets: pressures, forces, speeds, fluid and surroundings, before anything is solved.

use halfmicron_properties::{Fluid, FluidState, Saturation};

use std::sync::Arc;

use super::coupled::{Coupled, Evaluation};
use super::fields::FieldGrids;
use super::pair::Pair;
use super::rings::Reduced;
use super::{PointError, Prepared, secondary, surroundings};
use crate::contact::ContactLaw;
use crate::hand;
use crate::model::{Duty, Model, PressureSide, RingRole};
use crate::outcome::Status;
use crate::ring::{RingConditions, RingResponse};

/// Forces, pressures and speeds of a duty.
#[derive(Debug, Clone)]
pub(super) struct Setting {
    pub inner_pressure_pa: f64,
    pub outer_pressure_pa: f64,
    pub base_pressure_pa: f64,
    /// Closing force above the low pressure without friction, N.
    pub closing_force_n: f64,
    pub friction_n: [f64; 3],
    pub speeds_rad_per_s: [f64; 2],
    /// +1 where the higher pressure is outside.
    pub outside_is_high: bool,
    /// Added to film and closing forces for reports: turns the base into the lower of both pressures, N.
    pub reported_shift_n: f64,
    pub balance_radius_m: f64,
    pub chamber_temperature_k: f64,
    pub contact: ContactLaw,
    /// Grids of the textures that vary round the circumference.
    pub fields: Option<Arc<FieldGrids>>,
    /// Whether the grid of the search is taken, not that of the answer.
    pub searching: bool,
}

impl Setting {
    fn new(model: &Model, duty: &Duty, chamber_temperature_k: f64) -> Self {
        let (ri, ro) = (model.band.inner_radius_m, model.band.outer_radius_m);
        let (inner, outer) = match model.seal.pressure_side {
            PressureSide::Outside => (duty.low_pressure_pa, duty.pressure_pa),
            PressureSide::Inside => (duty.pressure_pa, duty.low_pressure_pa),
        };
        let reversed = duty.pressure_pa < duty.low_pressure_pa;
        let rb = hand::balance_radius_m(&model.seal, duty);
        let pi = std::f64::consts::PI;
        let base = duty.low_pressure_pa;
        let hydraulic = (outer - inner) * pi * (ro * ro - rb * rb) + (inner - base) * pi * (ro * ro - ri * ri);
        let lower = duty.low_pressure_pa.min(duty.pressure_pa);
        let contact = ContactLaw::of(model);
        Self {
            inner_pressure_pa: inner,
            outer_pressure_pa: outer,
            base_pressure_pa: base,
            closing_force_n: hydraulic + model.seal.spring_force_n,
            friction_n: secondary::friction_n(&model.seal, rb, duty.pressure_pa - duty.low_pressure_pa),
            speeds_rad_per_s: [duty.speed_rad_per_s, 0.0],
            outside_is_high: (model.seal.pressure_side == PressureSide::Outside) != reversed,
            reported_shift_n: (base - lower) * model.band.area_m2(),
            balance_radius_m: rb,
            chamber_temperature_k,
            contact,
            fields: None,
            searching: false,
        }
    }

    pub fn turning(&self) -> bool {
        self.speeds_rad_per_s[0] != 0.0
    }

    pub fn coupled<'a>(&'a self, pair: &'a Pair, fluid: &'a Fluid, model: &'a Model) -> Coupled<'a> {
        Coupled {
            pair,
            contact: self.contact,
            fluid,
            inner_pressure_pa: self.inner_pressure_pa,
            outer_pressure_pa: self.outer_pressure_pa,
            base_pressure_pa: self.base_pressure_pa,
            entry_temperature_k: self.chamber_temperature_k,
            speeds_rad_per_s: self.speeds_rad_per_s,
            boundary_friction: model.contact.boundary_friction[1],
            switches: &model.switches,
            field: self.fields.as_deref().map(|grids| if self.searching { &grids.search } else { &grids.answer }),
        }
    }
}

/// Rings at their surroundings.
pub(super) struct Surroundings {
    /// Rotating and stationary ring.
    pub conditions: [RingConditions; 2],
    pub convection: surroundings::DutyConvection,
    pub pair: Pair,
}

/// Everything a report needs of one solved duty.
pub(super) struct Solved<'a> {
    pub prepared: &'a Prepared,
    pub rings: Reduced,
    pub duty: &'a Duty,
    pub fluid: &'a Fluid,
    pub chamber: FluidState,
    pub setting: Setting,
    pub surroundings: Surroundings,
}

/// Why a duty has no answer.
pub(super) struct Refusal {
    pub status: Status,
    pub reason: String,
}

impl From<PointError> for Refusal {
    fn from(error: PointError) -> Self {
        Self { status: Status::OutOfRange, reason: error.to_string() }
    }
}

impl Solved<'_> {
    pub fn model(&self) -> &Model {
        &self.prepared.model
    }

    /// Take the contacts of interference fits as they are at an evaluated point; whether that changed a response.
    pub fn settle_fits(&mut self, evaluation: &Evaluation) -> Result<bool, PointError> {
        let model = self.prepared.model();
        if [&model.rotating_ring, &model.stationary_ring].iter().all(|ring| ring.parts.iter().all(|part| part.fit.is_none())) {
            return Ok(false);
        }
        let about = |index: usize, role: RingRole| {
            self.rings[index]
                .respond_about(&self.surroundings.conditions[index], &evaluation.face_pressure_pa, &evaluation.faces.flux_w_per_m2[index])
                .map_err(|cause| PointError::Ring { role: super::role_name(role), cause })
        };
        let rings = [about(0, RingRole::Rotating)?, about(1, RingRole::Stationary)?];
        let changed =
            rings.iter().zip(&self.surroundings.pair.rings).any(|(new, old)| new.deflection_per_pressure != old.deflection_per_pressure);
        if changed {
            self.surroundings.pair = joined(self.prepared, rings);
        }
        Ok(changed)
    }

    pub fn coupled(&self) -> Coupled<'_> {
        self.setting.coupled(&self.surroundings.pair, self.fluid, &self.prepared.model)
    }

    /// The same on the grid of the search.
    pub fn coupled_for_search(&self) -> Coupled<'_> {
        let field = self.setting.fields.as_deref().map(|grids| &grids.search);
        Coupled { field, ..self.coupled() }
    }
}

impl<'a> Solved<'a> {
    pub fn at(prepared: &'a Prepared, rings: &Reduced, duty: &'a Duty, fluid: &'a Fluid, temperature_k: f64) -> Result<Self, Refusal> {
        let chamber = fluid
            .at_pressure_temperature(duty.pressure_pa, temperature_k)
            .map_err(|error| Refusal { status: Status::OutOfRange, reason: format!("the fluid in the chamber: {error}") })?;
        let mut setting = Setting::new(&prepared.model, duty, temperature_k);
        let nodes = prepared.store.nodes();
        let fields = prepared.fields.at(&prepared.model.textures, nodes);
        setting.fields = fields.map_err(|error| Refusal { status: Status::OutOfRange, reason: error.to_string() })?;
        let convection = surroundings::for_duty(&prepared.model, duty, &chamber).scaled(prepared.convection);
        let conditions = [0, 1].map(|index| RingConditions {
            sealed_pressure_pa: duty.pressure_pa,
            low_pressure_pa: duty.low_pressure_pa,
            balance_radius_m: setting.balance_radius_m,
            speed_rad_per_s: duty.speed_rad_per_s,
            spring_force_n: prepared.model.seal.spring_force_n,
            friction_force_n: 0.0,
            sealed_temperature_k: temperature_k,
            low_side_temperature_k: convection.low_side_temperature_k,
            sealed_coefficient_w_per_m2_k: convection.rings[index].sealed[1],
            low_side_coefficient_w_per_m2_k: convection.rings[index].low_side[1],
        });
        let pair = pair(prepared, rings, &conditions)?;
        Ok(Self {
            prepared,
            rings: rings.clone(),
            duty,
            fluid,
            chamber,
            setting,
            surroundings: Surroundings { conditions, convection, pair },
        })
    }
}

/// Both rings at given surroundings, with the lapped form of the case.
pub(super) fn pair(prepared: &Prepared, reduced: &Reduced, conditions: &[RingConditions; 2]) -> Result<Pair, PointError> {
    let respond = |index: usize, role: RingRole| {
        reduced[index].respond(&conditions[index]).map_err(|cause| PointError::Ring { role: super::role_name(role), cause })
    };
    Ok(joined(prepared, [respond(0, RingRole::Rotating)?, respond(1, RingRole::Stationary)?]))
}

/// Two responses with the lapped form of the case.
fn joined(prepared: &Prepared, rings: [RingResponse; 2]) -> Pair {
    let model = &*prepared.model;
    let mut lapped = lapped_profile(prepared, model.rotating_ring.lapped_coning_m + model.stationary_ring.lapped_coning_m);
    for (gap, &radius) in lapped.iter_mut().zip(&prepared.store.nodes().radius_m) {
        *gap += model.textures.iter().map(|texture| texture.form.taper_m(radius)).sum::<f64>();
    }
    Pair::new(prepared.store.nodes().clone(), rings, lapped, Coupled::following(&model.switches))
}

/// Lapped form as a gap: straight over the band, positive opening toward the sealed side.
pub(super) fn lapped_profile(prepared: &Prepared, coning_m: f64) -> Vec<f64> {
    let model = &*prepared.model;
    let outward = if model.seal.pressure_side == PressureSide::Outside { coning_m } else { -coning_m };
    let (ri, b) = (model.band.inner_radius_m, model.band.width_m());
    prepared.store.nodes().radius_m.iter().map(|r| outward * (r - ri) / b).collect()
}

/// Saturation temperature where there is one.
pub(super) fn saturation_k(fluid: &Fluid, pressure_pa: f64) -> Option<f64> {
    match fluid.saturation_temperature(pressure_pa) {
        Saturation::At(t) => Some(t),
        Saturation::Beyond { limit } => Some(limit),
        _ => None,
    }
}
