//! What a rule sees: the case, one duty and its outcome, with the questions that many rules ask.

use crate::hand;
use crate::model::{Duty, Model, PressureSide, Ring, RingRole};
use crate::outcome::{DutyOutcome, Equilibrium, Outcome, RingResult, Status};

use super::Skip;
use super::facts::{Family, FluidFacts, MaterialFacts};
use super::is_computed;

/// One duty of a case with its outcome.
#[derive(Debug)]
pub struct DutyView<'a> {
    /// The case.
    pub model: &'a Model,
    /// The duty.
    pub duty: &'a Duty,
    /// Its outcome.
    pub outcome: &'a DutyOutcome,
    /// Facts of its fluid.
    pub fluid: FluidFacts,
    /// Facts of the face materials.
    pub rotating: MaterialFacts,
    /// Facts of the face materials.
    pub stationary: MaterialFacts,
}

impl<'a> DutyView<'a> {
    /// A view, with the facts of fluid and faces looked up.
    pub fn new(model: &'a Model, duty: &'a Duty, outcome: &'a DutyOutcome) -> Self {
        let conditions = &outcome.conditions;
        let fluid = duty.fluid.as_ref().unwrap_or(&model.fluid);
        let low_pressure = duty.low_pressure_pa;
        Self {
            model,
            duty,
            outcome,
            fluid: FluidFacts::of(fluid, &conditions.fluid, duty.pressure_pa, conditions.chamber_temperature_k, low_pressure),
            rotating: face_material(&model.rotating_ring),
            stationary: face_material(&model.stationary_ring),
        }
    }

    /// The believed equilibrium, or the reason why there is none.
    pub fn solved(&self) -> Result<&'a Equilibrium, Skip> {
        let chosen = self.outcome.chosen.and_then(|index| self.outcome.equilibria.get(index));
        match chosen {
            Some(equilibrium) if self.outcome.status == Status::Solved => Ok(equilibrium),
            _ => Err(Skip::NotComputed(format!("no operating point: {}", reason_or_status(self.outcome)))),
        }
    }

    /// Higher less lower pressure, Pa.
    pub fn pressure_difference_pa(&self) -> f64 {
        (self.duty.pressure_pa - self.duty.low_pressure_pa).abs()
    }

    /// Mean sliding speed, m/s.
    pub fn sliding_speed_m_per_s(&self) -> f64 {
        self.duty.speed_rad_per_s.abs() * self.model.band.mean_radius_m()
    }

    /// Whether the shaft turns.
    pub fn turns(&self) -> bool {
        self.duty.speed_rad_per_s != 0.0
    }

    /// Only at duties that turn.
    pub fn while_turning(&self) -> Result<(), Skip> {
        if self.turns() { Ok(()) } else { Err(Skip::DoesNotApply) }
    }

    /// Whether this is the duty at which the seal lives: named `normal`, or the only one of its case.
    pub fn is_normal(&self) -> bool {
        self.named("normal") || (self.model.duties.len() == 1 && self.turns())
    }

    /// Whether the duty's name contains the words.
    pub fn named(&self, words: &str) -> bool {
        self.duty.name.to_lowercase().contains(words)
    }

    /// Whether the chamber holds liquid; none when saturation is not known.
    pub fn chamber_is_liquid(&self) -> Option<bool> {
        let conditions = &self.outcome.conditions;
        conditions.chamber_saturation_k.map(|saturation| conditions.chamber_temperature_k < saturation)
    }

    /// Whether the chamber is known to hold gas.
    pub fn chamber_is_gas(&self) -> bool {
        self.chamber_is_liquid() == Some(false)
    }

    /// Material of the narrow face.
    pub fn narrow(&self) -> &MaterialFacts {
        match self.model.narrow_ring {
            RingRole::Rotating => &self.rotating,
            RingRole::Stationary => &self.stationary,
        }
    }

    /// Both face materials.
    pub fn faces(&self) -> [&MaterialFacts; 2] {
        [&self.rotating, &self.stationary]
    }

    /// Whether one face is carbon.
    pub fn carbon_pair(&self) -> bool {
        self.faces().iter().any(|face| face.family.is_carbon())
    }

    /// Whether both faces are hard.
    pub fn hard_pair(&self) -> bool {
        self.faces().iter().all(|face| face.family.is_hard())
    }

    /// Whether one of two hard faces is loaded with graphite.
    pub fn graphite_loaded(&self) -> bool {
        self.faces().iter().any(|face| face.graphite_loaded)
    }

    /// Whether a face is of the family.
    pub fn has_face(&self, family: Family) -> bool {
        self.faces().iter().any(|face| face.family == family)
    }

    /// Side at which the pressure is the higher.
    pub fn high_side(&self) -> PressureSide {
        hand::high_side(&self.model.seal, self.duty)
    }

    /// Whether the case is a single seal: one barrier between product and people.
    pub fn single(&self) -> bool {
        let arrangement = self.model.supply.arrangement.to_lowercase();
        !(arrangement.contains("dual") || arrangement.contains("double") || arrangement.contains("tandem"))
    }

    /// Whether the case is a dual seal with a barrier above the product.
    pub fn dual_pressurised(&self) -> bool {
        let arrangement = self.model.supply.arrangement.to_lowercase();
        !self.single() && arrangement.contains("pressuris") && !arrangement.contains("unpressuris")
    }

    /// Whether the low side is open to the air: at or near ambient pressure.
    pub fn low_side_is_air(&self) -> bool {
        self.duty.low_pressure_pa.min(self.duty.pressure_pa) <= 0.12e6 && !self.dual_pressurised()
    }

    /// Whether a quench serves the low side.
    pub fn quenched(&self) -> bool {
        self.model.supply.quench.as_deref().is_some_and(|quench| !quench.trim().is_empty() && quench != "none")
    }

    /// Words of the machine's kind.
    pub fn machine_is(&self, word: &str) -> bool {
        self.model.machine.kind.to_lowercase().contains(word)
    }

    /// Whether the machine moves gas.
    pub fn gas_machine(&self) -> bool {
        ["compressor", "blower"].iter().any(|word| self.machine_is(word))
    }

    /// Temperature of a chamber, K.
    pub fn chamber_temperature_k(&self) -> f64 {
        self.outcome.conditions.chamber_temperature_k
    }

    /// Both rings with their results.
    pub fn rings(&self, equilibrium: &'a Equilibrium) -> [(&'a Ring, &'a RingResult); 2] {
        [(&self.model.rotating_ring, &equilibrium.rings.rotating), (&self.model.stationary_ring, &equilibrium.rings.stationary)]
    }

    /// The ring on the springs.
    pub fn floating_ring(&self) -> &'a Ring {
        if self.model.rotating_ring.floating { &self.model.rotating_ring } else { &self.model.stationary_ring }
    }

    /// The ring on the springs with its result.
    pub fn floating_result(&self, equilibrium: &'a Equilibrium) -> &'a RingResult {
        if self.model.rotating_ring.floating { &equilibrium.rings.rotating } else { &equilibrium.rings.stationary }
    }
}

/// Why a duty has no operating point.
pub fn reason_or_status(outcome: &DutyOutcome) -> String {
    if outcome.reason.is_empty() { status_in_words(outcome.status).to_owned() } else { outcome.reason.clone() }
}

/// A status in words.
pub fn status_in_words(status: Status) -> &'static str {
    match status {
        Status::Solved => "solved",
        Status::NoneFacesTouch => "no equilibrium: the faces touch",
        Status::NoneFacesPart => "no equilibrium: the faces part",
        Status::NoneStable => "no stable equilibrium",
        Status::NotConverged => "not converged",
        Status::NotModelled => "not modelled",
        Status::OutOfRange => "out of range",
    }
}

/// Name of a ring in a sentence.
pub fn ring_name(role: RingRole) -> &'static str {
    match role {
        RingRole::Rotating => "rotating ring",
        RingRole::Stationary => "stationary ring",
    }
}

/// Facts of the material that carries the face: the first part of the section.
pub fn face_material(ring: &Ring) -> MaterialFacts {
    ring.parts.first().map_or_else(|| MaterialFacts::named("no material"), |part| MaterialFacts::of(&part.material))
}

/// All duties of a case with their outcomes.
#[derive(Debug)]
pub struct CaseView<'a> {
    /// The case.
    pub model: &'a Model,
    /// Its duties, those that were asked for.
    pub duties: Vec<DutyView<'a>>,
}

impl<'a> CaseView<'a> {
    /// A view of the duties that the outcome holds.
    pub fn new(model: &'a Model, outcome: &'a Outcome) -> Self {
        let duties = outcome.duties.iter().filter_map(|solved| {
            let duty = model.duties.iter().find(|duty| duty.name == solved.name)?;
            Some(DutyView::new(model, duty, solved))
        });
        Self { model, duties: duties.collect() }
    }

    /// The first duty whose name contains the words.
    pub fn named(&self, words: &str) -> Option<&DutyView<'a>> {
        self.duties.iter().find(|view| view.named(words))
    }

    /// The duty at which the seal lives.
    pub fn normal(&self) -> Result<&DutyView<'a>, Skip> {
        self.duties.iter().find(|view| view.is_normal()).ok_or_else(|| Skip::NotComputed("no duty named normal was computed".to_owned()))
    }

    /// Only when every duty of the case was computed.
    pub fn complete(&self) -> Result<(), Skip> {
        if self.duties.len() < self.model.duties.len() {
            return Err(Skip::NotComputed(format!("{} of {} duties were asked for", self.duties.len(), self.model.duties.len())));
        }
        match self.duties.iter().find(|view| !is_computed(view.outcome.status)) {
            Some(view) => Err(Skip::NotComputed(format!("duty {} was not computed", view.duty.name))),
            None => Ok(()),
        }
    }
}
