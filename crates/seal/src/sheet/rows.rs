//! Rows of the sheet: which numbers are shown, under which heading, and which end is the bad one.

use crate::outcome::{DutyOutcome, Equilibrium, Hand, JumpMargin, Margins, Passage, PhaseChangeKind, Ranged, Regime, WavyFilm, Word};
use crate::rules::{is_computed, worst_word};

use super::rounding::{MISSING, ranged, significant};
use super::units::{Kind, UnitSet, unit};
use super::{Block, Cell, Row, chosen};

/// Which end of a row is the bad one.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Bad {
    High,
    Low,
    Neither,
}

/// Of a margin that was followed as far as it goes without meeting a jump.
pub(crate) const UNSEEN: &str = "no jump seen";

/// The word of a verdict as written everywhere.
pub(crate) fn word(word: Word) -> &'static str {
    match word {
        Word::Holds => "holds",
        Word::Watch => "watch",
        Word::Fails => "fails",
        Word::NotComputed => "not computed",
    }
}

/// Every block of an outcome but the hand numbers.
pub(super) fn blocks(duties: &[DutyOutcome], units: UnitSet) -> Vec<Block> {
    let rows = Rows { duties, units };
    let block = |title: &str, rows: Vec<Row>| Block { title: title.to_owned(), rows };
    let mut blocks = vec![
        block("Duty", duty_rows(&rows)),
        block("Film", film_rows(&rows)),
        block("Leakage", leakage_rows(&rows)),
        block("Heat", heat_rows(&rows)),
        block("Load", load_rows(&rows)),
        block("Rings", ring_rows(&rows)),
    ];
    if duties.iter().filter_map(|duty| duty.margins.as_ref()).any(Margins::followed) {
        blocks.push(block("Before the film jumps", margin_rows(&rows)));
    }
    blocks.push(block("Balances, relative residual", balance_rows(&rows)));
    blocks
}

/// One of the margins.
pub(crate) type MarginOf = fn(&Margins) -> Option<&JumpMargin>;

/// Margins to the jump: key, label, kind, and the margin itself.
pub(crate) const MARGINS: [(&str, &str, Kind, MarginOf); 5] = [
    ("margins.closing_force_fall_n", "closing force may fall by", Kind::Force, |m| m.closing_force_fall_n.as_ref()),
    ("margins.closing_force_rise_n", "closing force may rise by", Kind::Force, |m| m.closing_force_rise_n.as_ref()),
    ("margins.temperature_rise_k", "chamber may warm by", Kind::TemperatureDifference, |m| m.temperature_rise_k.as_ref()),
    ("margins.temperature_fall_k", "chamber may cool by", Kind::TemperatureDifference, |m| m.temperature_fall_k.as_ref()),
    ("margins.pressure_fall_pa", "sealed pressure may fall by", Kind::Pressure, |m| m.pressure_fall_pa.as_ref()),
];

/// Margins that a jump bounds, each in its row; those that none bounds share one.
fn margin_rows(rows: &Rows) -> Vec<Row> {
    let of = |duty: &DutyOutcome, margin: MarginOf| duty.margins.as_ref().and_then(margin).cloned();
    let jumps = |margin| rows.duties.iter().filter_map(|duty| of(duty, margin)).any(|margin| margin.to_jump.is_some());
    let mut all = Vec::new();
    let mut without = Vec::new();
    for (key, label, kind, margin) in MARGINS {
        if !jumps(margin) {
            without.push(margin);
            continue;
        }
        let unit = unit(kind, rows.units);
        let cell = |duty: &DutyOutcome| match of(duty, margin) {
            None => MISSING.to_owned(),
            Some(JumpMargin { to_jump: Some(amount), then: Some(then), .. }) => {
                format!("{}, then {}", significant(unit.convert(amount), 3), then.words())
            }
            Some(_) => UNSEEN.to_owned(),
        };
        let cells = rows.duties.iter().map(|duty| Cell::words(cell(duty)));
        all.push(rows.row(key, label, kind, cells.collect()));
    }
    if rows.duties.iter().any(|duty| without.iter().any(|margin| of(duty, *margin).is_some())) {
        let label = if all.is_empty() { "by any change" } else { "by any other change" };
        all.push(rows.words("margins", label, |duty| {
            let followed = without.iter().any(|margin| of(duty, *margin).is_some());
            if followed { UNSEEN.to_owned() } else { MISSING.to_owned() }
        }));
    }
    let onset = |duty: &DutyOutcome| duty.margins.as_ref().and_then(|margins| margins.boiling_onset_k);
    if rows.duties.iter().any(|duty| onset(duty).is_some()) {
        all.push(rows.known("margins.boiling_onset_k", "film starts to boil at chamber", Kind::Temperature, 4, onset));
    }
    all
}

/// Hand numbers.
pub(super) fn hand_block(duties: &[DutyOutcome], units: UnitSet) -> Block {
    let rows = Rows { duties, units };
    let hand = |key, label, kind, digits, value: fn(&Hand) -> f64| rows.known(key, label, kind, digits, |duty| Some(value(&duty.hand)));
    Block {
        title: "By hand".to_owned(),
        rows: vec![
            hand("hand.area_m2", "face area", Kind::Area, 5, |hand| hand.area_m2),
            hand("hand.balance_ratio", "balance ratio", Kind::Number, 4, |hand| hand.balance_ratio),
            hand("hand.spring_pressure_pa", "spring pressure", Kind::Pressure, 3, |hand| hand.spring_pressure_pa),
            hand("hand.sliding_speed_m_per_s", "sliding speed", Kind::Speed, 3, |hand| hand.sliding_speed_m_per_s),
            hand("hand.closing_force_n", "closing force", Kind::Force, 4, |hand| hand.closing_force_n),
            hand("hand.net_pressure_pa", "net pressure, K = 0.5", Kind::Pressure, 3, |hand| hand.net_pressure_pa),
            hand("hand.net_pv_pa_m_per_s", "net PV, K = 0.5", Kind::PressureSpeed, 3, |hand| hand.net_pv_pa_m_per_s),
            hand("hand.parallel_film_m", "parallel film taken", Kind::SmallLength, 2, |hand| hand.parallel_film_m),
            hand("hand.parallel_film_leakage_m3_per_s", "its leakage", Kind::VolumeLeakage, 3, |hand| hand.parallel_film_leakage_m3_per_s),
        ],
    }
}

struct Rows<'a> {
    duties: &'a [DutyOutcome],
    units: UnitSet,
}

impl Rows<'_> {
    fn row(&self, key: &str, label: &str, kind: Kind, cells: Vec<Cell>) -> Row {
        Row { key: key.to_owned(), label: label.to_owned(), unit: unit(kind, self.units).label.to_owned(), cells }
    }

    /// Words of each duty.
    fn words(&self, key: &str, label: &str, of: impl Fn(&DutyOutcome) -> String) -> Row {
        let cells = self.duties.iter().map(|duty| Cell::words(of(duty)));
        self.row(key, label, Kind::Number, cells.collect())
    }

    /// Numbers known without solving.
    fn known(&self, key: &str, label: &str, kind: Kind, digits: i32, of: impl Fn(&DutyOutcome) -> Option<f64>) -> Row {
        let unit = unit(kind, self.units);
        let text = |duty: &DutyOutcome| match of(duty) {
            None => MISSING.to_owned(),
            Some(value) if value.abs() < negligible(kind) => "0".to_owned(),
            Some(value) => significant(unit.convert(value), digits),
        };
        let cells = self.duties.iter().map(|duty| Cell::number(text(duty), of(duty).map(|value| unit.convert(value))));
        self.row(key, label, kind, cells.collect())
    }

    /// A solved number without a range of its own.
    fn solved(&self, key: &str, label: &str, kind: Kind, digits: i32, of: impl Fn(&Equilibrium) -> Option<f64>) -> Row {
        self.known(key, label, kind, digits, |duty| chosen(duty).and_then(&of))
    }

    /// A headline number with its range; the worst duty is marked.
    fn headline(&self, key: &str, label: &str, kind: Kind, bad: Bad, of: impl Fn(&Equilibrium) -> Option<Ranged>) -> Row {
        let unit = unit(kind, self.units);
        let converted = |range: Ranged| {
            let shown = |value: f64| if value.abs() < negligible(kind) { 0.0 } else { unit.convert(value) };
            let [low, nominal, high] = [range.low, range.nominal, range.high].map(shown);
            Ranged { low, nominal, high }
        };
        let values: Vec<Option<Ranged>> = self.duties.iter().map(|duty| chosen(duty).and_then(&of).map(converted)).collect();
        let worst = worst_index(&values, bad);
        let cells = values.iter().enumerate().map(|(index, value)| {
            let text = value.map_or(MISSING.to_owned(), ranged);
            Cell { text, worst: worst == Some(index), value: value.map(|range| range.nominal) }
        });
        self.row(key, label, kind, cells.collect())
    }
}

/// What is nothing to a reader: less than a tenth of a thousandth of a film, a hundredth of a watt, a millionth of a kelvin, a watt
/// on a square metre of face, a millionth of a per cent.
pub(super) fn negligible(kind: Kind) -> f64 {
    match kind {
        Kind::SmallLength => 1e-11,
        Kind::Power => 0.01,
        Kind::TemperatureDifference => 1e-6,
        Kind::PressureSpeed => 1.0,
        Kind::Share => 1e-8,
        _ => 0.0,
    }
}

/// Index of the worst nominal, where two or more duties are solved and they differ.
fn worst_index(values: &[Option<Ranged>], bad: Bad) -> Option<usize> {
    let nominals: Vec<(usize, f64)> =
        values.iter().enumerate().filter_map(|(index, value)| value.map(|range| (index, range.nominal))).collect();
    let least = nominals.iter().min_by(|a, b| a.1.total_cmp(&b.1))?;
    let greatest = nominals.iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
    if nominals.len() < 2 || greatest.1 - least.1 <= 1e-6 * greatest.1.abs() {
        return None;
    }
    match bad {
        Bad::High => Some(greatest.0),
        Bad::Low => Some(least.0),
        Bad::Neither => None,
    }
}

fn duty_rows(rows: &Rows) -> Vec<Row> {
    let pressures_small = rows.duties.iter().any(|duty| duty.conditions.low_pressure_pa.min(duty.conditions.pressure_pa) < 0.02e6);
    let low_kind = if pressures_small { Kind::LowAbsolutePressure } else { Kind::AbsolutePressure };
    let mut all = vec![
        rows.words("verdict", "verdict", verdict_summary),
        rows.words("status", "operating point", |duty| super::status_in_words(duty.status).to_owned()),
        rows.words("conditions.fluid", "fluid", |duty| duty.conditions.fluid.clone()),
        rows.known("conditions.speed_rad_per_s", "speed", Kind::ShaftSpeed, 4, |duty| Some(duty.conditions.speed_rad_per_s)),
        rows.known("conditions.pressure_pa", "sealed pressure", Kind::AbsolutePressure, 4, |duty| Some(duty.conditions.pressure_pa)),
        rows.known("conditions.low_pressure_pa", "low pressure", low_kind, 4, |duty| Some(duty.conditions.low_pressure_pa)),
        rows.known("conditions.chamber_temperature_k", "chamber temperature", Kind::Temperature, 4, |duty| {
            Some(duty.conditions.chamber_temperature_k)
        }),
    ];
    if !rows.duties.iter().all(chamber_is_gas) {
        all.push(rows.known("chamber_margin_k", "chamber below boiling", Kind::TemperatureDifference, 3, chamber_margin_k));
    }
    all.push(rows.known("conditions.hours_per_year", "hours a year", Kind::Hours, 4, |duty| duty.conditions.hours_per_year));
    all
}

/// Saturation temperature less chamber temperature, K, of a chamber that is known to hold liquid.
fn chamber_margin_k(duty: &DutyOutcome) -> Option<f64> {
    let conditions = &duty.conditions;
    conditions.chamber_saturation_k.map(|saturation| saturation - conditions.chamber_temperature_k).filter(|margin| *margin >= 0.0)
}

fn chamber_is_gas(duty: &DutyOutcome) -> bool {
    duty.conditions.chamber_saturation_k.is_some() && chamber_margin_k(duty).is_none()
}

fn verdict_summary(duty: &DutyOutcome) -> String {
    // Rules on what is given may hold all the same: that must not read as a verdict on a duty without an answer.
    if !is_computed(duty.status) && worst_word(&duty.verdicts) != Some(Word::Fails) {
        return word(Word::NotComputed).to_owned();
    }
    let Some(worst) = worst_word(&duty.verdicts) else {
        return MISSING.to_owned();
    };
    let count = duty.verdicts.iter().filter(|verdict| verdict.word == worst).count();
    match worst {
        Word::Holds => word(worst).to_owned(),
        _ if count == 1 => word(worst).to_owned(),
        _ => format!("{} ({count})", word(worst)),
    }
}

/// Whether a least film is shown that is below zero.
pub(super) fn below_zero_film(duties: &[DutyOutcome]) -> bool {
    duties.iter().filter_map(chosen).any(|e| e.minimum_film_m.low.min(e.minimum_film_m.nominal) < -negligible(Kind::SmallLength))
}

fn film_rows(rows: &Rows) -> Vec<Row> {
    let um = Kind::SmallLength;
    let label = if below_zero_film(rows.duties) { "least film, between mean planes" } else { "least film" };
    let mut all = vec![rows.headline("minimum_film_m", label, um, Bad::Low, |e| Some(e.minimum_film_m))];
    all.extend(friction_rows(rows));
    all.extend(with_wave(rows, "with_wave.minimum_film_m", um, |wavy| wavy.minimum_film_m));
    all.extend([
        rows.headline("mean_film_m", "mean film", um, Bad::Neither, |e| Some(e.mean_film_m)),
        rows.solved("film_parameter", "least film over roughness", Kind::Number, 2, |e| Some(e.film_parameter)),
        rows.words("regime", "regime", |duty| chosen(duty).map_or(MISSING, |e| regime(e.regime)).to_owned()),
        rows.headline("contact_share", "contact share", Kind::Share, Bad::High, |e| Some(e.contact_share)),
    ]);
    all.extend(with_wave(rows, "with_wave.contact_share", Kind::Share, |wavy| wavy.contact_share));
    all.extend([
        rows.solved("coning_m.total", "coning, + opens to high pressure", um, 2, |e| Some(e.coning_m.total)),
        rows.solved("coning_m.elastic", "  by pressure", um, 2, |e| Some(e.coning_m.elastic)),
        rows.solved("coning_m.thermal", "  by heat", um, 2, |e| Some(e.coning_m.thermal)),
        rows.solved("coning_m.lapped", "  lapped", um, 2, |e| Some(e.coning_m.lapped)),
        rows.solved("pressure_profile_factor", "pressure-profile factor K", Kind::Number, 2, |e| e.pressure_profile_factor),
        rows.solved("film_stiffness_n_per_m.coupled", "stiffness per least gap", Kind::Stiffness, 2, |e| {
            Some(-e.film_stiffness_n_per_m.coupled)
        }),
    ]);
    all
}

/// The least film where the secondary seal holds the floating ring back, both ways; none where nothing rubs.
fn friction_rows(rows: &Rows) -> Vec<Row> {
    if rows.duties.iter().filter_map(chosen).all(|e| e.friction_band.friction_n[1] <= 0.0) {
        return Vec::new();
    }
    let end = |label: &str, end: usize| {
        rows.solved(["friction_band.minimum_film_m.0", "friction_band.minimum_film_m.1"][end], label, Kind::SmallLength, 2, move |e| {
            e.friction_band.minimum_film_m[end]
        })
    };
    vec![end("  friction adding to closing", 0), end("  friction taking from it", 1)]
}

/// What waviness does to a number: the same film between faces that carry a rigid wave; no row where no duty has it.
fn with_wave(rows: &Rows, key: &str, kind: Kind, of: fn(&WavyFilm) -> f64) -> Option<Row> {
    let any = rows.duties.iter().filter_map(chosen).any(|e| e.with_wave.is_some());
    any.then(|| rows.solved(key, "  with a rigid wave", kind, 2, move |e| e.with_wave.as_ref().map(of)))
}

fn regime(regime: Regime) -> &'static str {
    match regime {
        Regime::FullFilm => "full film",
        Regime::Mixed => "mixed",
        Regime::Boundary => "boundary",
    }
}

/// Volume of gas in the normal state, with the range of the mass that it is.
fn as_gas(equilibrium: &Equilibrium) -> Option<Ranged> {
    let (volume, mass) = (equilibrium.passage.leakage_normal_m3_per_s?, equilibrium.leakage_kg_per_s);
    let scaled = |kg_per_s: f64| if mass.nominal == 0.0 { volume } else { volume * kg_per_s / mass.nominal };
    Some(Ranged { low: scaled(mass.low), nominal: volume, high: scaled(mass.high) })
}

fn leakage_rows(rows: &Rows) -> Vec<Row> {
    let volume =
        rows.headline("leakage_m3_per_s", "leakage at chamber density", Kind::VolumeLeakage, Bad::High, |e| Some(e.leakage_m3_per_s));
    let mass = rows.headline("leakage_kg_per_s", "leakage by mass", Kind::MassLeakage, Bad::Neither, |e| Some(e.leakage_kg_per_s));
    let mut bounded = vec![volume, mass];
    let shown = |of: fn(&Equilibrium) -> bool| rows.duties.iter().filter_map(chosen).any(of);
    if shown(|e| e.passage.leakage_normal_m3_per_s.is_some()) {
        bounded.push(rows.headline(
            "passage.leakage_normal_m3_per_s",
            "leakage as gas, 0 degC 1.01325 bar",
            Kind::GasLeakage,
            Bad::Neither,
            as_gas,
        ));
    }
    let mut all: Vec<Row> = bounded.into_iter().map(|row| at_least(rows, row)).collect();
    all.splice(1..1, with_wave(rows, "with_wave.leakage_m3_per_s", Kind::VolumeLeakage, |wavy| wavy.leakage_m3_per_s));
    if shown(|e| e.passage.choked) {
        let pressure = |e: &Equilibrium| e.passage.choked.then_some(e.passage.exit_pressure_pa);
        all.push(rows.words("passage.choked", "flow", |duty| chosen(duty).map_or(MISSING, |e| flow(&e.passage)).to_owned()));
        all.push(rows.solved("passage.exit_pressure_pa", "exit pressure where choked", Kind::AbsolutePressure, 3, pressure));
    }
    let places = [
        (PhaseChangeKind::BeginsToBoil, "passage.phase_changes.begins-to-boil", "boils from radius"),
        (PhaseChangeKind::LeavesBoilingPoint, "passage.phase_changes.leaves-boiling-point", "boils over a stretch to radius"),
        (PhaseChangeKind::AllVapour, "passage.phase_changes.all-vapour", "all vapour from radius"),
    ];
    for (kind, key, label) in places {
        if rows.duties.iter().filter_map(chosen).any(|e| first_place_m(&e.passage, kind).is_some()) {
            all.push(rows.solved(key, label, Kind::Length, 4, |e| first_place_m(&e.passage, kind)));
        }
    }
    all
}

fn flow(passage: &Passage) -> &'static str {
    if passage.choked { "choked" } else { "not choked" }
}

/// Radius of the first place along the flow where this happens, m.
fn first_place_m(passage: &Passage, kind: PhaseChangeKind) -> Option<f64> {
    passage.phase_changes.iter().find(|change| change.kind == kind).map(|change| change.radius_m)
}

/// Leakage that is a lower bound says so in the cell.
fn at_least(rows: &Rows, mut row: Row) -> Row {
    for (cell, duty) in row.cells.iter_mut().zip(rows.duties) {
        if chosen(duty).is_some_and(|e| e.leakage_is_lower_bound) && cell.text != MISSING {
            cell.text = format!("at least {}", cell.text);
        }
    }
    row
}

/// Of every duty, standing or turning.
const BREAK_AWAY: &str = "torque to break away from rest at this pressure";

fn heat_rows(rows: &Rows) -> Vec<Row> {
    let still = rows.duties.iter().any(|duty| !duty.conditions.turning && chosen(duty).is_some());
    let torque = if still { "torque; break-away at standstill" } else { "torque" };
    let mut all = vec![
        rows.headline("power_w", "power", Kind::Power, Bad::High, |e| Some(e.power_w)),
        rows.headline("torque_n_m", torque, Kind::Torque, Bad::Neither, |e| Some(e.torque_n_m)),
    ];
    all.extend(with_wave(rows, "with_wave.torque_n_m", Kind::Torque, |wavy| wavy.torque_n_m));
    all.extend([
        rows.headline("break_away_torque_n_m", BREAK_AWAY, Kind::Torque, Bad::Neither, |e| e.break_away_torque_n_m),
        rows.headline("face_temperature_max_k", "hottest face", Kind::Temperature, Bad::High, |e| Some(e.face_temperature_max_k)),
    ]);
    all.extend(with_wave(rows, "with_wave.face_temperature_max_k", Kind::Temperature, |wavy| wavy.face_temperature_max_k));
    all.extend([
        rows.headline("film_temperature_max_k", "hottest film", Kind::Temperature, Bad::Neither, |e| Some(e.film_temperature_max_k)),
        rows.headline("boiling_margin_k", "film below boiling", Kind::TemperatureDifference, Bad::Low, |e| e.boiling_margin_k),
        rows.solved("heat_split_w.rotating", "heat into rotating ring", Kind::Power, 2, |e| Some(e.heat_split_w.rotating)),
        rows.solved("heat_split_w.stationary", "heat into stationary ring", Kind::Power, 2, |e| Some(e.heat_split_w.stationary)),
    ]);
    // Of a chamber that holds gas it would say 100 % of what never boiled.
    let vapour = |duty: &DutyOutcome| chosen(duty).filter(|_| !chamber_is_gas(duty)).map(|e| e.vapour_fraction_max);
    if rows.duties.iter().filter_map(vapour).any(|fraction| fraction > 0.0) {
        all.push(rows.known("vapour_fraction_max", "vapour by mass, at most", Kind::Share, 2, vapour));
    }
    all
}

fn load_rows(rows: &Rows) -> Vec<Row> {
    vec![
        rows.solved("closing_force_n", "closing force", Kind::Force, 4, |e| Some(e.closing_force_n)),
        rows.headline("friction_band.friction_n", "secondary-seal friction", Kind::Force, Bad::Neither, |e| {
            let [low, nominal, high] = e.friction_band.friction_n;
            Some(Ranged { low, nominal, high })
        }),
        rows.solved("film_force_n", "carried by film", Kind::Force, 3, |e| Some(e.film_force_n)),
        rows.solved("contact_force_n", "carried by contact", Kind::Force, 3, |e| Some(e.contact_force_n)),
        rows.solved("pv_pa_m_per_s", "net PV, solved K", Kind::PressureSpeed, 3, |e| Some(e.pv_pa_m_per_s)),
    ]
}

fn ring_rows(rows: &Rows) -> Vec<Row> {
    let tension = Kind::Pressure;
    vec![
        rows.solved("rings.rotating.coning_m.total", "coning of rotating ring", Kind::SmallLength, 2, |e| {
            Some(e.rings.rotating.coning_m.total)
        }),
        rows.solved("rings.stationary.coning_m.total", "coning of stationary ring", Kind::SmallLength, 2, |e| {
            Some(e.rings.stationary.coning_m.total)
        }),
        rows.solved("rings.rotating.stress_pa.tension_max", "tension in rotating ring", tension, 2, |e| {
            Some(e.rings.rotating.stress_pa.tension_max)
        }),
        rows.solved("rings.stationary.stress_pa.tension_max", "tension in stationary ring", tension, 2, |e| {
            Some(e.rings.stationary.stress_pa.tension_max)
        }),
    ]
}

fn balance_rows(rows: &Rows) -> Vec<Row> {
    // Below this a residual is rounding: its digits differ from machine to machine and tell nothing.
    const CLOSED: f64 = 1e-9;
    let row = |key, label, of: fn(&Equilibrium) -> f64| {
        rows.words(key, label, |duty| match chosen(duty).map(|e| of(e).abs()) {
            None => MISSING.to_owned(),
            Some(residual) if residual < CLOSED => "below 1e-9".to_owned(),
            Some(residual) => significant(residual, 1),
        })
    };
    vec![
        row("balances.mass", "mass", |e| e.balances.mass),
        row("balances.force", "force", |e| e.balances.force),
        row("balances.heat", "heat", |e| e.balances.heat),
    ]
}
