//! Operating points of a drawn case.

use std::f64::consts::TAU;
use std::fmt::Write;

use halfmicron::convection::{Bulk, rotating_cylinder};

use super::draw::Draw;
use super::media::Medium;
use super::section::Layout;

/// Greatest sliding and shaft speeds that a case may state.
const FASTEST_M_PER_S: f64 = 159.9;
const FASTEST_RAD_PER_S: f64 = 119_900.0 * TAU / 60.0;
const ATMOSPHERE_PA: f64 = 101_325.0;
const ROOM_K: f64 = 293.15;
const HIGHEST_PA: f64 = 50e6;
const LOWEST_PA: f64 = 1e3;
/// Viscosity times squared speed above which nobody starts a cold seal: 10 MW/m2 in a film of a micrometre, N/s.
const MOST_VISCOUS_N_PER_S: f64 = 10.0;
/// Greatest viscosity at which a duty that turns is drawn, Pa s.
const THICKEST_PA_S: f64 = 1.0;
/// Rises of the faces over the chamber for which seals are drawn, K.
const RISE_K: [f64; 2] = [2.0, 60.0];
/// Friction coefficient, film and wetted surface over face area of an ordinary seal, for that estimate (common practice, no source).
const FRICTION: f64 = 0.1;
const FILM_M: f64 = 1e-6;
const WETTED_OVER_FACE: f64 = 4.0;

/// Kinds of duty beside the normal one.
const KINDS: [&str; 8] = [
    "static test",
    "start",
    "standstill",
    "vacuum on the sealed side",
    "vacuum on the low side",
    "reverse pressure",
    "hot standby",
    "upset",
];

/// One operating point.
pub struct DrawnDuty {
    pub name: &'static str,
    pub fluid: Option<String>,
    pub speed_rad_per_s: f64,
    pub pressure_pa: f64,
    pub low_pressure_pa: f64,
    pub temperature_k: f64,
    pub from_flush: bool,
}

/// The duties of a case and the flush that they share.
pub struct Duties {
    pub all: Vec<DrawnDuty>,
    pub flush_m3_per_s: f64,
}

impl Duties {
    /// Greatest difference of pressure over the faces, Pa.
    pub fn greatest_difference_pa(&self) -> f64 {
        self.all.iter().map(|duty| (duty.pressure_pa - duty.low_pressure_pa).abs()).fold(0.0, f64::max)
    }

    pub fn draw(draw: &mut Draw, layout: &Layout, medium: &Medium, water: &Medium) -> Self {
        let normal = normal(draw, layout, medium);
        let flush_m3_per_s = flush(draw, layout, medium, &normal);
        let mut all = vec![normal];
        let mut kinds = KINDS.to_vec();
        for _ in 0..2 {
            let index = (draw.unit() * kinds.len() as f64) as usize;
            let kind = kinds.remove(index);
            let duty = other(draw, kind, layout, &all[0], medium, water);
            all.push(duty);
        }
        Self { all, flush_m3_per_s }
    }

    /// Coldest and hottest temperature that any duty states, K.
    pub fn temperatures_k(&self) -> [f64; 2] {
        self.all.iter().fold([f64::INFINITY, 0.0], |[low, high], duty| [low.min(duty.temperature_k), high.max(duty.temperature_k)])
    }

    pub fn write(&self, out: &mut String) {
        for duty in &self.all {
            let _ = writeln!(out, "\n[[duty]]\nname = \"{}\"", duty.name);
            if let Some(fluid) = &duty.fluid {
                let _ = writeln!(out, "fluid = \"{fluid}\"");
            }
            let _ = writeln!(out, "speed = \"{:.3} rpm\"", duty.speed_rad_per_s * 60.0 / TAU);
            let _ = writeln!(out, "pressure = \"{:.6} MPa(a)\"", 1e-6 * duty.pressure_pa);
            let _ = writeln!(out, "low_pressure = \"{:.6} MPa(a)\"", 1e-6 * duty.low_pressure_pa);
            let key = if duty.from_flush { "flush_temperature" } else { "temperature" };
            let _ = writeln!(out, "{key} = \"{:.2} degC\"", duty.temperature_k - 273.15);
        }
    }
}

/// Nine in ten seals are drawn as somebody would build them: no faster than a stated rise of the faces allows, and with that rise left to
/// the end of the fluid. One in ten takes any pressure with any speed of the box.
fn normal(draw: &mut Draw, layout: &Layout, medium: &Medium) -> DrawnDuty {
    let [lowest, highest] = medium.pressure_pa;
    let corner = draw.chance(0.1);
    let rise_k = draw.logarithmic(RISE_K[0], RISE_K[1]);
    let pressure_pa =
        if corner { draw.logarithmic(LOWEST_PA.max(lowest), highest) } else { draw.logarithmic(0.13e6, 15e6_f64.min(highest)) };
    let low_pressure_pa = low_pressure(draw, pressure_pa, lowest);
    let temperature_k = chamber(draw, medium, pressure_pa, if corner { 0.0 } else { rise_k });
    let speed = draw.logarithmic(0.3, FASTEST_M_PER_S);
    let cooled = cooled_m_per_s(layout, medium, [pressure_pa, low_pressure_pa], temperature_k, rise_k);
    let slow = if corner { speed } else { speed.min(cooled) };
    let speed_rad_per_s = (slow / layout.mean_m()).min(FASTEST_RAD_PER_S) * if draw.chance(0.15) { -1.0 } else { 1.0 };
    DrawnDuty { name: "normal", fluid: None, speed_rad_per_s, pressure_pa, low_pressure_pa, temperature_k, from_flush: draw.chance(0.25) }
}

/// Greatest sliding speed at which convection takes the heat of friction and shear at a rise of the faces, m/s.
fn cooled_m_per_s(layout: &Layout, medium: &Medium, pressures_pa: [f64; 2], temperature_k: f64, rise_k: f64) -> f64 {
    let Ok(state) = medium.fluid.at_pressure_temperature(pressures_pa[0], temperature_k) else { return FASTEST_M_PER_S };
    let bulk = Bulk {
        density_kg_per_m3: state.density_kg_per_m3,
        viscosity_pa_s: state.viscosity_pa_s,
        conductivity_w_per_m_k: state.conductivity_w_per_m_k,
        specific_heat_j_per_kg_k: state.isobaric_heat_capacity_j_per_kg_k,
        expansion_per_k: 1e-3,
    };
    let net_pa = layout.net_pa(pressures_pa[0] - pressures_pa[1]);
    let too_hot = |speed: f64| {
        let heat = FRICTION * net_pa * speed + state.viscosity_pa_s * speed * speed / FILM_M;
        heat > rise_k * WETTED_OVER_FACE * rotating_cylinder(&bulk, 2.0 * layout.mean_m(), 0.5 * speed).nominal
    };
    let (mut slow, mut fast) = (1e-3, FASTEST_M_PER_S);
    if !too_hot(fast) {
        return fast;
    }
    for _ in 0..40 {
        let middle = (slow * fast).sqrt();
        *(if too_hot(middle) { &mut fast } else { &mut slow }) = middle;
    }
    slow
}

fn low_pressure(draw: &mut Draw, pressure_pa: f64, lowest_pa: f64) -> f64 {
    let below = draw.logarithmic(LOWEST_PA.max(lowest_pa), HIGHEST_PA).min(0.8 * pressure_pa);
    if draw.chance(0.75) { ATMOSPHERE_PA } else { below.max(lowest_pa) }
}

/// Chamber temperature: most chambers hold liquid, one in six what the pressure and any temperature of the fluid make of it.
fn chamber(draw: &mut Draw, medium: &Medium, pressure_pa: f64, rise_k: f64) -> f64 {
    let low = medium.thin_from_k(pressure_pa, THICKEST_PA_S);
    let high = (medium.temperature_k[1] - 2.0 * rise_k).max(low);
    let any = draw.between(low, high);
    let boiling = medium.boiling_k(pressure_pa);
    let liquid_to = boiling.map_or(high, |t| t.min(high) - 1.0);
    let share = draw.unit();
    if draw.chance(1.0 / 6.0) || liquid_to <= low { any } else { low + share * (liquid_to - low) }
}

/// Flush for a rise of some kelvins at a friction coefficient of a tenth.
fn flush(draw: &mut Draw, layout: &Layout, medium: &Medium, normal: &DrawnDuty) -> f64 {
    let area = layout.area_m2();
    let heat =
        0.1 * (0.3 * (normal.pressure_pa - normal.low_pressure_pa).abs() + 0.2e6) * area * normal.speed_rad_per_s.abs() * layout.mean_m();
    let capacity = medium
        .fluid
        .at_pressure_temperature(normal.pressure_pa, normal.temperature_k)
        .map_or(4e6, |state| state.density_kg_per_m3 * state.isobaric_heat_capacity_j_per_kg_k);
    (heat / (capacity * draw.logarithmic(2.0, 15.0))).clamp(1.7e-6, 0.033)
}

fn other(draw: &mut Draw, kind: &'static str, layout: &Layout, normal: &DrawnDuty, medium: &Medium, water: &Medium) -> DrawnDuty {
    let [coldest, hottest] = medium.temperature_k;
    let inside = |kelvin: f64| kelvin.clamp(coldest, hottest);
    let as_normal = DrawnDuty { name: kind, fluid: None, from_flush: false, ..*normal };
    let highest = medium.pressure_pa[1];
    match kind {
        "static test" => {
            let wet = draw.chance(0.7);
            let pressure_pa =
                (normal.pressure_pa * draw.between(1.1, 1.6)).min(HIGHEST_PA.min(if wet { water.pressure_pa[1] } else { highest }));
            DrawnDuty {
                fluid: wet.then(|| water.name.clone()),
                speed_rad_per_s: 0.0,
                pressure_pa,
                low_pressure_pa: ATMOSPHERE_PA,
                temperature_k: if wet { ROOM_K } else { inside(ROOM_K) },
                ..as_normal
            }
        }
        "start" => {
            let cold = inside(normal.temperature_k - draw.between(0.0, 80.0));
            let pressure_pa = normal.low_pressure_pa + (normal.pressure_pa - normal.low_pressure_pa) * draw.between(0.1, 1.0);
            let speed = (normal.speed_rad_per_s * layout.mean_m()).abs();
            let thin_from = medium.thin_from_k(pressure_pa, (MOST_VISCOUS_N_PER_S / (speed * speed)).min(THICKEST_PA_S));
            DrawnDuty { pressure_pa, temperature_k: cold.max(thin_from.min(normal.temperature_k)), ..as_normal }
        }
        "standstill" => {
            DrawnDuty { speed_rad_per_s: 0.0, temperature_k: inside(normal.temperature_k - draw.between(0.0, 60.0)), ..as_normal }
        }
        "vacuum on the sealed side" => {
            let pressure_pa = draw.logarithmic(LOWEST_PA, 0.9 * ATMOSPHERE_PA).max(medium.pressure_pa[0]);
            let below_boiling = medium.boiling_k(pressure_pa).map_or(hottest, |t| t - draw.between(1.0, 20.0));
            let turning = draw.chance(0.5);
            DrawnDuty {
                pressure_pa,
                low_pressure_pa: ATMOSPHERE_PA,
                speed_rad_per_s: if turning { normal.speed_rad_per_s } else { 0.0 },
                temperature_k: inside(normal.temperature_k.min(below_boiling)).max(if turning {
                    medium.thin_from_k(pressure_pa, THICKEST_PA_S).min(normal.temperature_k)
                } else {
                    coldest
                }),
                ..as_normal
            }
        }
        "vacuum on the low side" => {
            DrawnDuty { low_pressure_pa: draw.logarithmic(LOWEST_PA, 0.5 * ATMOSPHERE_PA).max(medium.pressure_pa[0]), ..as_normal }
        }
        "reverse pressure" => {
            let back = draw.logarithmic(0.02, 0.5) * (normal.pressure_pa - normal.low_pressure_pa).abs();
            let low_pressure_pa = (normal.pressure_pa.min(normal.low_pressure_pa) + back).min(highest);
            DrawnDuty {
                pressure_pa: normal.pressure_pa.min(normal.low_pressure_pa),
                low_pressure_pa,
                speed_rad_per_s: if draw.chance(0.5) { normal.speed_rad_per_s } else { 0.0 },
                ..as_normal
            }
        }
        "hot standby" => DrawnDuty {
            speed_rad_per_s: if draw.chance(0.7) { 0.0 } else { 0.1 * normal.speed_rad_per_s },
            temperature_k: inside(normal.temperature_k + draw.between(0.0, 60.0)),
            ..as_normal
        },
        _ => DrawnDuty {
            pressure_pa: (normal.pressure_pa * draw.between(1.0, 1.5)).min(HIGHEST_PA.min(highest)),
            temperature_k: inside(normal.temperature_k + draw.between(0.0, 40.0)),
            ..as_normal
        },
    }
}
