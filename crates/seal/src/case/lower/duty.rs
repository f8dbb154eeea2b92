//! Operating points.

use std::sync::Arc;

use halfmicron_properties::Fluid;

use super::super::error::Cause;
use super::super::tree::Table;
use super::Lowering;
use crate::model::{BandLimits, ChamberTemperature, Duty, Observed, PressureSide, Ring, Seal};
use crate::notice::Notice;
use crate::units::{Dimension, STANDARD_ATMOSPHERE_PA};

/// Greatest sliding speed at the mean diameter that the models cover, m/s.
const GREATEST_SLIDING_SPEED_M_PER_S: f64 = 160.0;

impl Lowering<'_> {
    pub(super) fn duties(
        &mut self,
        band: Option<BandLimits>,
        seal: Option<&Seal>,
        rotating: &Option<Ring>,
        stationary: &Option<Ring>,
        fluid: Option<&Arc<Fluid>>,
    ) -> Option<Vec<Duty>> {
        let ambient_pa = self.ambient_pa();
        let mut known: Vec<(String, Option<Arc<Fluid>>)> = Vec::new();
        let mut duties = Vec::new();
        let mut whole = !self.root.invalid("duty");
        for table in self.root.list("duty") {
            let own = table.text("fluid").map(str::to_owned).map(|name| self.duty_fluid(table, name, &mut known));
            let in_force = match &own {
                Some(own) => own.as_ref(),
                None => fluid,
            };
            match self.duty(table, ambient_pa, band) {
                Some(duty) => {
                    self.check_temperature(table, &duty, in_force, [rotating, stationary]);
                    self.check_reverse(table, &duty, seal);
                    whole &= own.as_ref().is_none_or(Option::is_some);
                    duties.push(Duty { fluid: own.flatten(), ..duty });
                }
                None => whole = false,
            }
        }
        whole.then_some(duties)
    }

    fn ambient_pa(&mut self) -> f64 {
        let machine = self.child("machine");
        let words = "101325 Pa(a)";
        self.number_or(
            &machine,
            "ambient_pressure",
            STANDARD_ATMOSPHERE_PA,
            words,
            "the standard atmosphere; gauge pressures count from it",
        )
    }

    /// A duty's own fluid; the same name is looked up once.
    fn duty_fluid(&mut self, table: &Table, name: String, known: &mut Vec<(String, Option<Arc<Fluid>>)>) -> Option<Arc<Fluid>> {
        if let Some((_, fluid)) = known.iter().find(|(other, _)| *other == name) {
            return fluid.clone();
        }
        let fluid = self.named_fluid(table, "fluid", &name);
        known.push((name, fluid.clone()));
        fluid
    }

    fn duty(&mut self, table: &Table, ambient_pa: f64, band: Option<BandLimits>) -> Option<Duty> {
        let low_pressure_pa = match table.number("low_pressure") {
            Some(pressure) => Some(pressure),
            None if table.has("low_pressure") => None,
            None => Some(self.number_or(table, "low_pressure", ambient_pa, "ambient pressure", "the low side is open to the surroundings")),
        };
        let temperature = self.chamber_temperature(table);
        let speed = table.number("speed");
        if let (Some(speed), Some(band)) = (speed, band) {
            self.check_speed(table, speed, band);
        }
        let observed = table.table("observed");
        Some(Duty {
            name: table.text("name")?.to_owned(),
            fluid: None,
            speed_rad_per_s: speed?,
            pressure_pa: table.number("pressure")?,
            low_pressure_pa: low_pressure_pa?,
            temperature: temperature?,
            hours_per_year: table.number("hours_per_year"),
            observed: Observed {
                leakage_m3_per_s: observed.and_then(|seen| seen.number("leakage")),
                temperature_k: observed.and_then(|seen| seen.number("temperature")),
                torque_n_m: observed.and_then(|seen| seen.number("torque")),
            },
        })
    }

    fn chamber_temperature(&mut self, table: &Table) -> Option<ChamberTemperature> {
        match (table.has("temperature"), table.has("flush_temperature")) {
            (true, false) => table.number("temperature").map(ChamberTemperature::Stated),
            (false, true) => {
                let flush = self.root.table("seal");
                if flush.is_some_and(|seal| !seal.invalid("flush") && seal.number("flush").unwrap_or(0.0) <= 0.0) {
                    let message = "`flush_temperature` asks for the chamber temperature to be computed, but no flush flows".to_owned();
                    let help = format!(
                        "give `seal.flush` above zero, for example \"{}\", or state `temperature`",
                        Dimension::VolumeFlow.example()
                    );
                    self.error(table, "flush_temperature", Cause::Contradiction(message), help);
                }
                table.number("flush_temperature").map(ChamberTemperature::FromFlush)
            }
            (true, true) => {
                let message = "`temperature` and `flush_temperature` are both given".to_owned();
                let help = "keep `temperature` to state the chamber, or `flush_temperature` to have it computed";
                self.error(table, "flush_temperature", Cause::Contradiction(message), help);
                None
            }
            (false, false) => {
                self.missing(table, "temperature", "");
                None
            }
        }
    }

    fn check_speed(&mut self, table: &Table, speed: f64, band: BandLimits) {
        let sliding = speed.abs() * band.mean_radius_m();
        if sliding > GREATEST_SLIDING_SPEED_M_PER_S {
            let message = format!(
                "sliding speed {sliding:.1} m/s at the mean diameter is above {GREATEST_SLIDING_SPEED_M_PER_S} m/s, the end of the models' range"
            );
            let greatest = GREATEST_SLIDING_SPEED_M_PER_S / band.mean_radius_m() * 60.0 / std::f64::consts::TAU;
            let help = format!("for this band the allowed range is up to {greatest:.0} rpm; check speed and diameters");
            self.error(table, "speed", Cause::Contradiction(message), help);
        }
    }

    fn check_reverse(&mut self, table: &Table, duty: &Duty, seal: Option<&Seal>) {
        let Some(seal) = seal else { return };
        let stated = self.root.table("seal").is_some_and(|table| table.has("reverse_balance_diameter"));
        if duty.pressure_pa >= duty.low_pressure_pa || stated {
            return;
        }
        let side = if seal.pressure_side == PressureSide::Outside { "outside" } else { "inside" };
        let message =
            format!("in \"{}\" the pressure is reversed (sealed side is {side}), and no reverse balance diameter is stated", duty.name);
        let hint = "a secondary seal free to move slides to the other wall and changes the balance: state `seal.reverse_balance_diameter`";
        self.notices.push(Notice::caution("input.reverse-balance", &table.path, message, hint));
    }
}
