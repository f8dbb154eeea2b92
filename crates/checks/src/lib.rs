//! Published checks, shipped so that users can rerun the proof on their own machine.
//!
//! A [`Check`] carries its citation, the models it concerns and a run function; running it gives one [`CheckResult`] for each
//! quantity: expected, computed, difference, tolerance with its reason, verdict. Disagreements stay listed. A fitted parameter would
//! make a calibration, and none is here. The same code runs in the tests, once as it stands and once with a distorted input, which
//! every quantity must notice.
//!
//! ```
//! let check = halfmicron_checks::all().into_iter().find(|check| check.id == "F1").unwrap();
//! for result in check.results() {
//!     println!("{} {}: {:e} against {:e} {}", result.id, result.quantity, result.computed, result.expected, result.unit);
//! }
//! ```

mod bench;
pub mod models;
mod plane_film;
mod ring_bench;
mod ring_film;
mod section;

mod archard_1953_wear_budget;
mod becker_1963_rotating_cylinder;
mod boley_1960_free_coning;
mod buck_1989_ring_as_fin;
mod burgdorfer_1959_slip;
mod coned_motion;
mod etsion_1996_dimple;
mod findlay_1968_spin;
mod fowell_2007_pocket;
mod fukui_kaneko_1990_flow_rate;
mod gabriel_1979_spiral_grooves;
mod green_etsion_1983_coefficients;
mod green_etsion_1985_threshold;
mod greenwood_tripp_1970_contact_pressure;
mod greenwood_tripp_1970_height_integrals;
mod helium_1960_light_bands;
mod hughes_1978_boiling_film;
mod iapws_1995_water;
mod iso_21049_heat_generation;
mod lame_1852_shrink_fit;
mod lame_1852_thick_cylinder;
mod lebeck_1991_coned_film;
mod lebeck_1991_gas_film;
mod lebeck_1991_parallel_film;
mod lebeck_1991_whole_seal;
mod muijderman_1966_narrow_grooves;
mod nafems_1990_le11_solid;
mod nafems_1990_t4_conduction;
mod ng_pan_1965_turbulent_film;
mod optasanu_bonneau_2000_squeeze;
mod patir_cheng_1978_flow_factors;
mod patir_cheng_1979_shear_factor;
mod payvar_salant_1992_wavy_face;
mod raimondi_boyd_1958_journal;
mod rayleigh_1918_pads;
mod roark_1938_ring_twist;
mod scikit_fem_2026_films;
mod textured;
mod theodorsen_regier_1944_drag;
mod timoshenko_1934_radial_temperature;
mod timoshenko_1934_rotating_disc;
mod unesco_1983_sea_water;
mod vijayaraghavan_keith_1989_slider;
mod zuk_1972_plane_gas_film;

use serde::Serialize;

/// What a check can say about a model.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// The shipped model against an exact solution or a published number: it counts as proof.
    Proof,
    /// A formula against its own numbers: it guards against slips and never counts as proof of a model.
    Arithmetic,
    /// The shipped model against a coarser theory or a measurement: it shows the size of the difference.
    Comparison,
}

/// Word of one quantity.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum CheckVerdict {
    /// The difference is within the tolerance.
    Agrees,
    /// It is not, or nothing could be computed; the note says why.
    Disagrees,
}

/// One compared quantity, SI units.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CheckResult {
    /// Id of the check, e.g. `F1`.
    pub id: &'static str,
    /// Title of the check.
    pub title: &'static str,
    /// Citation with figure or table.
    pub source: &'static str,
    /// What is compared.
    pub quantity: String,
    /// SI unit of the four numbers that follow; empty for pure numbers.
    pub unit: &'static str,
    /// Value of the source.
    pub expected: f64,
    /// Value of this program; not a number when the computation failed (then `note` says why).
    pub computed: f64,
    /// Computed less expected.
    pub difference: f64,
    /// Greatest absolute difference that still agrees.
    pub tolerance: f64,
    /// Why this tolerance.
    pub tolerance_reason: &'static str,
    /// Word.
    pub verdict: CheckVerdict,
    /// What the check can say.
    pub kind: Kind,
    /// Whether the expected value was recalled, not read in its source.
    pub from_memory: bool,
    /// Why the two disagree, or what must be known to read the line; often empty.
    pub note: String,
}

impl CheckResult {
    /// The word that another computed value would get on this line.
    pub fn word_for(&self, computed: f64) -> CheckVerdict {
        if (computed - self.expected).abs() <= self.tolerance { CheckVerdict::Agrees } else { CheckVerdict::Disagrees }
    }

    /// Whether this line says that the program is wrong: a comparison with a coarser theory may disagree and stays listed with its
    /// reason, a proof or a piece of arithmetic may not.
    pub fn contradicts(&self) -> bool {
        self.verdict == CheckVerdict::Disagrees && self.kind != Kind::Comparison
    }
}

/// One published check.
#[derive(Debug, Clone, Copy)]
pub struct Check {
    /// Stable id: the letter and number of the list of checks, e.g. `E1`.
    pub id: &'static str,
    /// What it is.
    pub title: &'static str,
    /// Citation with figure or table, and how its numbers are known.
    pub source: &'static str,
    /// What it can say.
    pub kind: Kind,
    /// Whether the expected values were recalled, not read in their source.
    pub from_memory: bool,
    /// Ids of the models that it concerns (see [`models`]).
    pub models: &'static [&'static str],
    /// Computes the quantities. The argument distorts the input that drives the check: 0 for the check itself; at 1 every quantity
    /// must disagree, which shows that the line depends on what is computed.
    pub run: fn(distortion: f64) -> Vec<Quantity>,
}

/// One line of a check before it is judged.
#[derive(Debug, Clone, PartialEq)]
pub struct Quantity {
    /// What is compared.
    pub name: String,
    /// SI unit.
    pub unit: &'static str,
    /// Value of the source.
    pub expected: f64,
    /// Value of this program, or why there is none.
    pub computed: Result<f64, String>,
    /// Greatest absolute difference.
    pub tolerance: f64,
    /// Why this tolerance.
    pub tolerance_reason: &'static str,
    /// Remark; often empty.
    pub note: &'static str,
}

impl Quantity {
    /// A quantity with a relative tolerance.
    pub fn relative(
        name: impl Into<String>,
        unit: &'static str,
        expected: f64,
        computed: Result<f64, String>,
        tolerance: f64,
        reason: &'static str,
    ) -> Self {
        Self::absolute(name, unit, expected, computed, tolerance * expected.abs(), reason)
    }

    /// A quantity with an absolute tolerance.
    pub fn absolute(
        name: impl Into<String>,
        unit: &'static str,
        expected: f64,
        computed: Result<f64, String>,
        tolerance: f64,
        reason: &'static str,
    ) -> Self {
        Self { name: name.into(), unit, expected, computed, tolerance, tolerance_reason: reason, note: "" }
    }

    /// The same with a remark.
    pub fn noted(self, note: &'static str) -> Self {
        Self { note, ..self }
    }
}

impl Check {
    /// Run the check: one result for each quantity.
    pub fn results(&self) -> Vec<CheckResult> {
        self.results_distorted(0.0)
    }

    /// Run it with its driving input distorted: at 1 every result must disagree.
    pub fn results_distorted(&self, distortion: f64) -> Vec<CheckResult> {
        (self.run)(distortion).into_iter().map(|quantity| self.judged(quantity)).collect()
    }

    fn judged(&self, quantity: Quantity) -> CheckResult {
        let (computed, note) = match quantity.computed {
            Ok(value) => (value, quantity.note.to_owned()),
            Err(reason) => (f64::NAN, format!("not computed: {reason}")),
        };
        let mut result = CheckResult {
            id: self.id,
            title: self.title,
            source: self.source,
            quantity: quantity.name,
            unit: quantity.unit,
            expected: quantity.expected,
            computed,
            difference: computed - quantity.expected,
            tolerance: quantity.tolerance,
            tolerance_reason: quantity.tolerance_reason,
            verdict: CheckVerdict::Disagrees,
            kind: self.kind,
            from_memory: self.from_memory,
            note,
        };
        result.verdict = result.word_for(computed);
        result
    }
}

/// Every published check, in the order of the list: film, contact, standard example, heat, solids, rest.
pub fn all() -> Vec<Check> {
    vec![
        lebeck_1991_parallel_film::CHECK,
        lebeck_1991_coned_film::CHECK,
        lebeck_1991_gas_film::CHECK,
        findlay_1968_spin::CHECK,
        ng_pan_1965_turbulent_film::CHECK,
        green_etsion_1983_coefficients::CHECK,
        green_etsion_1983_coefficients::SOLVER_CHECK,
        green_etsion_1983_coefficients::MOTION_CHECK,
        green_etsion_1985_threshold::CHECK,
        green_etsion_1985_threshold::MOTION_CHECK,
        burgdorfer_1959_slip::CHECK,
        fukui_kaneko_1990_flow_rate::CHECK,
        zuk_1972_plane_gas_film::CHECK,
        zuk_1972_plane_gas_film::STIFFNESS_CHECK,
        hughes_1978_boiling_film::CHECK,
        gabriel_1979_spiral_grooves::CHECK,
        muijderman_1966_narrow_grooves::CHECK,
        scikit_fem_2026_films::GROOVE_CHECK,
        vijayaraghavan_keith_1989_slider::CHECK,
        vijayaraghavan_keith_1989_slider::DOUBLE_CHECK,
        fowell_2007_pocket::CHECK,
        optasanu_bonneau_2000_squeeze::CHECK,
        payvar_salant_1992_wavy_face::CHECK,
        etsion_1996_dimple::CHECK,
        raimondi_boyd_1958_journal::CHECK,
        rayleigh_1918_pads::CHECK,
        scikit_fem_2026_films::WAVE_CHECK,
        greenwood_tripp_1970_height_integrals::CHECK,
        patir_cheng_1978_flow_factors::CHECK,
        patir_cheng_1979_shear_factor::CHECK,
        greenwood_tripp_1970_contact_pressure::CHECK,
        iso_21049_heat_generation::CHECK,
        boley_1960_free_coning::CHECK,
        boley_1960_free_coning::RING_CHECK,
        buck_1989_ring_as_fin::CHECK,
        buck_1989_ring_as_fin::FIN_CHECK,
        buck_1989_ring_as_fin::SERIES_CHECK,
        nafems_1990_le11_solid::CHECK,
        nafems_1990_t4_conduction::CHECK,
        lame_1852_thick_cylinder::CHECK,
        lame_1852_shrink_fit::CHECK,
        lame_1852_shrink_fit::STICKING_CHECK,
        timoshenko_1934_rotating_disc::CHECK,
        timoshenko_1934_radial_temperature::CHECK,
        roark_1938_ring_twist::CHECK,
        roark_1938_ring_twist::THEORY_CHECK,
        roark_1938_ring_twist::SOLID_CHECK,
        roark_1938_ring_twist::RING_CHECK,
        lebeck_1991_whole_seal::CHECK,
        iapws_1995_water::CHECK,
        iapws_1995_water::VISCOSITY_CHECK,
        iapws_1995_water::CONDUCTIVITY_CHECK,
        unesco_1983_sea_water::CHECK,
        becker_1963_rotating_cylinder::CHECK,
        theodorsen_regier_1944_drag::CHECK,
        helium_1960_light_bands::CHECK,
        archard_1953_wear_budget::CHECK,
    ]
}
