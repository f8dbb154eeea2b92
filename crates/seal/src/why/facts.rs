//! What an explanation reads: the case, one duty with its outcome, and how a number becomes an input.

use crate::hand::{high_side, pressure_is_reversed};
use crate::model::{ChamberTemperature, Duty, Model, PressureSide, Ring, RingRole};
use crate::notice::Notice;
use crate::outcome::{DutyOutcome, Equilibrium, Verdict};
use crate::rules::text::number;
use crate::rules::view::reason_or_status;
use crate::sheet::rounding::significant;
use crate::sheet::text::{in_units, of_fitting_size};
use crate::sheet::units::{Kind, unit};
use crate::sheet::{Row, UnitSet, chosen, rows_of};
use halfmicron_properties::{Fluid, FluidKind};

use super::{Origin, WhyInput};

/// Digits of a number that the case states: as it stands there, but for noise of conversion.
const STATED_DIGITS: i32 = 7;
/// Digits of a number that was found.
const FOUND_DIGITS: i32 = 4;

/// One duty to be explained.
pub(super) struct Facts<'a> {
    pub model: &'a Model,
    pub duty: &'a Duty,
    pub outcome: &'a DutyOutcome,
    /// The believed equilibrium.
    pub at: Option<&'a Equilibrium>,
    /// Verdicts of the rules that look over all duties.
    case_verdicts: &'a [Verdict],
    pub units: UnitSet,
}

impl<'a> Facts<'a> {
    pub fn new(model: &'a Model, outcome: &'a DutyOutcome, case_verdicts: &'a [Verdict], units: UnitSet) -> Option<Self> {
        let duty = model.duties.iter().find(|duty| duty.name == outcome.name)?;
        Some(Self { model, duty, outcome, at: chosen(outcome), case_verdicts, units })
    }

    /// Rows of the sheet of this duty alone.
    pub fn rows(&self) -> Vec<Row> {
        rows_of(self.outcome, self.units)
    }

    /// Verdicts of this duty, then those of the case.
    pub fn verdicts(&self) -> impl Iterator<Item = &'a Verdict> {
        self.outcome.verdicts.iter().chain(self.case_verdicts)
    }

    pub fn fluid(&self) -> &'a Fluid {
        self.duty.fluid.as_deref().unwrap_or(&self.model.fluid)
    }

    pub fn outside_is_high(&self) -> bool {
        high_side(&self.model.seal, self.duty) == PressureSide::Outside
    }

    pub fn reversed(&self) -> bool {
        pressure_is_reversed(self.duty)
    }

    pub fn turning(&self) -> bool {
        self.outcome.conditions.turning
    }

    pub fn ring(&self, role: RingRole) -> &'a Ring {
        match role {
            RingRole::Rotating => &self.model.rotating_ring,
            RingRole::Stationary => &self.model.stationary_ring,
        }
    }

    /// What the outcome says in words of a result.
    pub fn remark(&self, key: &str) -> String {
        if self.at.is_none()
            && !matches!(key, "verdict" | "conditions.fluid")
            && !key.starts_with("hand.")
            && !key.starts_with("conditions.")
        {
            return self.written(&format!("no operating point: {}", reason_or_status(self.outcome)));
        }
        let said = match key {
            "status" => self.outcome.chosen_reason.clone(),
            "boiling_margin_k" => self.at.map_or(String::new(), |at| at.boiling_margin_reason.clone()),
            _ => super::margins::words(self.outcome, key),
        };
        self.written(&said)
    }

    /// A sentence with SI quantities in the reader's units.
    pub fn written(&self, sentence: &str) -> String {
        in_units(sentence, self.units)
    }

    /// A number that the case states at a path, or that was taken by default there.
    pub fn stated(&self, symbol: &str, label: &str, path: &str, kind: Kind, si: f64) -> WhyInput {
        let taken = self.taken_by_default(path);
        let from = if taken.is_some() { Origin::Default } else { Origin::Case };
        let note = taken.map_or(String::new(), |notice| self.written(&notice.message));
        WhyInput { path: Some(path.to_owned()), from, note, ..self.input(symbol, label, kind, si, STATED_DIGITS) }
    }

    /// The notice of a default taken at a path.
    pub fn taken_by_default(&self, path: &str) -> Option<&'a Notice> {
        let of_path = |notice: &&Notice| notice.code.starts_with("default.") && notice.field == path;
        self.model.notices.iter().find(of_path)
    }

    /// A number found by the solution or another equation, shown by the row `result` where there is one.
    pub fn found(&self, symbol: &str, label: &str, result: &str, kind: Kind, si: f64) -> WhyInput {
        let result = (!result.is_empty()).then(|| result.to_owned());
        WhyInput { result, ..self.input(symbol, label, kind, si, FOUND_DIGITS) }
    }

    /// A number of the believed equilibrium; nothing where there is none.
    pub fn of_point(&self, symbol: &str, label: &str, result: &str, kind: Kind, of: impl Fn(&Equilibrium) -> f64) -> Option<WhyInput> {
        self.at.map(|at| self.found(symbol, label, result, kind, of(at)))
    }

    /// A number of the library with its source.
    pub fn library(&self, symbol: &str, label: &str, kind: Kind, si: f64, source: &str) -> WhyInput {
        WhyInput { from: Origin::Library, note: source.to_owned(), ..self.input(symbol, label, kind, si, FOUND_DIGITS) }
    }

    /// A constant of the calculation.
    pub fn constant(&self, symbol: &str, label: &str, kind: Kind, si: f64, note: &str) -> WhyInput {
        WhyInput { from: Origin::Constant, note: note.to_owned(), ..self.input(symbol, label, kind, si, STATED_DIGITS) }
    }

    /// Words that entered.
    pub fn words(&self, label: &str, value: &str, from: Origin, note: &str) -> WhyInput {
        WhyInput { value: value.to_owned(), from, note: note.to_owned(), ..self.input("", label, Kind::Number, 0.0, 1) }
    }

    fn input(&self, symbol: &str, label: &str, kind: Kind, si: f64, digits: i32) -> WhyInput {
        let unit = unit(of_fitting_size(si, kind), self.units);
        WhyInput {
            symbol: symbol.to_owned(),
            path: None,
            result: None,
            label: label.to_owned(),
            value: without_idle_zeros(&significant(unit.convert(si), digits)),
            unit: unit.label.to_owned(),
            from: Origin::Solved,
            note: String::new(),
        }
    }

    // Inputs that many equations share.

    pub fn outer_diameter(&self) -> WhyInput {
        self.stated(
            "Do",
            "outer diameter of the running band",
            &self.face_path("outer"),
            Kind::Length,
            2.0 * self.model.band.outer_radius_m,
        )
    }

    pub fn inner_diameter(&self) -> WhyInput {
        self.stated(
            "Di",
            "inner diameter of the running band",
            &self.face_path("inner"),
            Kind::Length,
            2.0 * self.model.band.inner_radius_m,
        )
    }

    fn face_path(&self, end: &str) -> String {
        format!("{}.face.{end}", ring_key(self.model.narrow_ring))
    }

    pub fn balance_diameter(&self) -> WhyInput {
        let (path, label) = match self.reversed() {
            true => ("seal.reverse_balance_diameter", "balance diameter at reversed pressure"),
            false => ("seal.balance_diameter", "balance diameter"),
        };
        self.stated("Db", label, path, Kind::Length, 2.0 * self.outcome.conditions.balance_radius_m)
    }

    pub fn pressures(&self) -> Vec<WhyInput> {
        vec![
            self.stated("p", "sealed pressure", &self.duty_path("pressure"), Kind::AbsolutePressure, self.duty.pressure_pa),
            self.stated("p_low", "low pressure", &self.duty_path("low_pressure"), Kind::AbsolutePressure, self.duty.low_pressure_pa),
        ]
    }

    pub fn speed(&self) -> WhyInput {
        self.stated("n", "shaft speed", &self.duty_path("speed"), Kind::ShaftSpeed, self.duty.speed_rad_per_s)
    }

    pub fn spring_force(&self) -> WhyInput {
        self.stated("F_spring", "spring force", "seal.spring_force", Kind::Force, self.model.seal.spring_force_n)
    }

    pub fn area(&self) -> WhyInput {
        self.found("A", "face area", "hand.area_m2", Kind::Area, self.outcome.hand.area_m2)
    }

    pub fn balance_ratio(&self) -> WhyInput {
        self.found("B", "balance ratio", "hand.balance_ratio", Kind::Number, self.outcome.hand.balance_ratio)
    }

    pub fn chamber_temperature(&self) -> WhyInput {
        let kelvin = self.outcome.conditions.chamber_temperature_k;
        match self.duty.temperature {
            ChamberTemperature::Stated(_) => {
                self.stated("T", "chamber temperature", &self.duty_path("temperature"), Kind::Temperature, kelvin)
            }
            ChamberTemperature::FromFlush(_) => {
                self.found("T", "chamber temperature", "conditions.chamber_temperature_k", Kind::Temperature, kelvin)
            }
        }
    }

    pub fn chamber_viscosity(&self) -> WhyInput {
        let label = format!("viscosity of {} in the chamber", self.outcome.conditions.fluid);
        self.property("mu", &label, "viscosity", Kind::Viscosity, self.outcome.conditions.chamber_viscosity_pa_s)
    }

    pub fn chamber_density(&self) -> WhyInput {
        let label = format!("density of {} in the chamber", self.outcome.conditions.fluid);
        self.property("rho", &label, "density", Kind::Density, self.outcome.conditions.chamber_density_kg_per_m3)
    }

    /// A property of the fluid in the chamber: of the library, or stated for a fluid of constant properties.
    fn property(&self, symbol: &str, label: &str, key: &str, kind: Kind, si: f64) -> WhyInput {
        let table = match self.fluid().kind() {
            FluidKind::Constant => "liquid",
            FluidKind::ConstantGas if key == "viscosity" => "gas",
            _ => return self.library(symbol, label, kind, si, &self.fluid_sources()),
        };
        WhyInput {
            from: Origin::Case,
            path: Some(format!("{table}.{key}")),
            note: String::new(),
            ..self.library(symbol, label, kind, si, "")
        }
    }

    pub fn fluid_sources(&self) -> String {
        self.fluid().sources().iter().map(|source| source.text).collect::<Vec<_>>().join("; ")
    }

    pub fn roughness(&self) -> Vec<WhyInput> {
        let of = |symbol: &str, role: RingRole| {
            let label = format!("roughness Rq of the {} face (Rq is 1.253 Ra)", name(role));
            self.stated(symbol, &label, &format!("{}.roughness", ring_key(role)), Kind::SmallLength, self.ring(role).roughness_rq_m)
        };
        vec![of("Rq1", RingRole::Rotating), of("Rq2", RingRole::Stationary)]
    }

    /// Boundary friction of the asperity share.
    pub fn boundary_friction(&self) -> WhyInput {
        let [low, nominal, high] = self.model.contact.boundary_friction;
        let input = self.stated("f", "boundary friction of the asperity share", "contact.boundary_friction", Kind::Number, nominal);
        let range = if low < high { format!("low {}, high {}", number(low), number(high)) } else { String::new() };
        let source = if input.from == Origin::Default { self.model.contact.source.as_str() } else { "" };
        let note = [input.note.as_str(), range.as_str(), source].into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join("; ");
        WhyInput { note, ..input }
    }

    /// Modulus, expansion and conductivity of the face material of a ring.
    pub fn face_material(&self, role: RingRole) -> Vec<WhyInput> {
        let Some(part) = self.ring(role).parts.first() else { return Vec::new() };
        let material = &part.material;
        let of = |what: &str, kind: Kind, property: &halfmicron_properties::material::Property| {
            self.library("", &format!("{what} of {}, {} ring", material.name, name(role)), kind, property.value, property.source.text)
        };
        vec![
            of("modulus at 20 degC", Kind::Modulus, &material.youngs_modulus),
            of("expansion", Kind::Expansion, &material.expansion),
            of("conductivity", Kind::Conductivity, &material.conductivity),
        ]
    }

    pub fn duty_path(&self, key: &str) -> String {
        format!("duty.{}.{key}", self.duty.name)
    }
}

pub(super) fn name(role: RingRole) -> &'static str {
    match role {
        RingRole::Rotating => "rotating",
        RingRole::Stationary => "stationary",
    }
}

pub(super) fn ring_key(role: RingRole) -> &'static str {
    match role {
        RingRole::Rotating => "rotating_ring",
        RingRole::Stationary => "stationary_ring",
    }
}

/// `52.4` for `52.40000`; numbers without a point stay.
fn without_idle_zeros(text: &str) -> String {
    match text.split_once('e') {
        Some((digits, exponent)) if digits.contains('.') => format!("{}e{exponent}", digits.trim_end_matches('0').trim_end_matches('.')),
        None if text.contains('.') => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        _ => text.to_owned(),
    }
}
