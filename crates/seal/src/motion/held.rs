//! The film of an operating point, held: its gap, shape and temperatures, on grids made for motion.

use faer::c64;
use halfmicron_numerics::reynolds::Coefficients;
use halfmicron_properties::Fluid;

use super::outcome::ContactAnswer;
use super::tilt::TiltFilm;
use crate::contact::{BandContact, ContactLaw};
use crate::film::{Cells, FieldGrid, FilmError, FilmInput, FilmResult, FilmStart, Gap, film, small_motions, tilt_impedance};
use crate::model::{Duty, Model, PressureSide, RingRole, Switches, Texture, TextureForm, is_two_dimensional};
use crate::outcome::Equilibrium;
use crate::point::State;
use crate::ring::BandNodes;

/// Equal sectors and columns in each, of faces without textures: a tilt is seen at 720 places round.
const SMOOTH_SECTORS: u32 = 180;
const SMOOTH: Cells = Cells { per_interval: 2, columns: 4, most_columns: 4 };
/// Cells of textured faces, and of the whole ring.
const TEXTURED: Cells = Cells { per_interval: 2, columns: 48, most_columns: 192 };
const WHOLE: Cells = Cells { per_interval: 1, columns: 24, most_columns: 288 };

/// Gap, temperatures and pressures of an operating point.
pub(super) struct Held<'a> {
    pub model: &'a Model,
    pub duty: &'a Duty,
    pub nodes: &'a BandNodes,
    pub gap_m: Vec<f64>,
    pub face_temperature_k: Vec<f64>,
    pub entry_temperature_k: f64,
    pub contact: ContactLaw,
    pub switches: Switches,
    pub leakage_kg_per_s: f64,
}

/// A film solved on a grid.
pub(super) struct Solved {
    pub result: FilmResult,
    pub start: FilmStart,
}

impl<'a> Held<'a> {
    pub fn new(model: &'a Model, duty: &'a Duty, nodes: &'a BandNodes, state: &State, point: &Equilibrium, chamber_k: f64) -> Self {
        let contact = ContactLaw::of(model);
        Self {
            model,
            duty,
            nodes,
            gap_m: state.gap_m.clone(),
            face_temperature_k: state.face_temperature_k.clone(),
            entry_temperature_k: chamber_k,
            contact,
            switches: model.switches,
            leakage_kg_per_s: point.leakage_kg_per_s.nominal,
        }
    }

    fn fluid(&self) -> &Fluid {
        self.duty.fluid.as_deref().unwrap_or(&self.model.fluid)
    }

    /// Ring that floats.
    pub fn floating(&self) -> RingRole {
        if self.model.rotating_ring.floating { RingRole::Rotating } else { RingRole::Stationary }
    }

    pub fn textured(&self) -> bool {
        is_two_dimensional(&self.model.textures)
    }

    /// Ring on which the features of the gap stand; without any the standing one, so that the frame is the ground.
    fn features_on(&self) -> RingRole {
        self.model.textures.iter().find(|texture| !texture.form.is_axisymmetric()).map_or(RingRole::Stationary, |texture| texture.on)
    }

    /// Grid on which small motions are answered.
    pub fn grid(&self) -> Result<FieldGrid, FilmError> {
        match FieldGrid::new(&self.model.textures, self.nodes, TEXTURED)? {
            None => FieldGrid::smooth(RingRole::Stationary, self.nodes, SMOOTH, SMOOTH_SECTORS),
            // A tilt is answered on one sector or on three and more.
            Some(grid) if grid.sectors() == 2 => FieldGrid::whole_ring(&self.model.textures, self.features_on(), self.nodes, WHOLE),
            Some(grid) => Ok(grid),
        }
    }

    /// Grid of the whole ring with a tilt that stands on the mating ring beside the textures; on the ring of the textures where there are any.
    pub fn whole_ring(&self, tilt_rad: f64) -> Result<FieldGrid, FilmError> {
        let on = if self.textured() { self.features_on() } else { self.mating() };
        let tilt = Texture { on, form: TextureForm::Tilt { angle_rad: tilt_rad } };
        let textures: Vec<Texture> = self.model.textures.iter().copied().chain([tilt]).collect();
        FieldGrid::whole_ring(&textures, on, self.nodes, WHOLE)
    }

    pub fn mating(&self) -> RingRole {
        match self.floating() {
            RingRole::Rotating => RingRole::Stationary,
            RingRole::Stationary => RingRole::Rotating,
        }
    }

    pub fn input<'b>(&'b self, grid: &'b FieldGrid, speed_rad_per_s: f64) -> FilmInput<'b> {
        let (inner, outer) = match self.model.seal.pressure_side {
            PressureSide::Outside => (self.duty.low_pressure_pa, self.duty.pressure_pa),
            PressureSide::Inside => (self.duty.pressure_pa, self.duty.low_pressure_pa),
        };
        FilmInput {
            nodes: self.nodes,
            gap: Gap { profile_m: &self.gap_m, rate_m_per_s: None, field: Some(grid) },
            fluid: self.fluid(),
            inner_pressure_pa: inner,
            outer_pressure_pa: outer,
            entry_temperature_k: self.entry_temperature_k,
            face_temperature_k: &self.face_temperature_k,
            speeds_rad_per_s: [speed_rad_per_s, 0.0],
            roughness_m: self.contact.roughness_m,
            switches: &self.switches,
        }
    }

    pub fn solve(&self, grid: &FieldGrid, speed_rad_per_s: f64, start: Option<&FilmStart>) -> Result<Solved, FilmError> {
        let (result, start) = film(&self.input(grid, speed_rad_per_s), start)?;
        Ok(Solved { result, start })
    }

    pub fn coefficients(
        &self,
        grid: &FieldGrid,
        solved: &Solved,
        speed_rad_per_s: f64,
        frequency_rad_per_s: f64,
        tilts: bool,
    ) -> Result<Coefficients, FilmError> {
        small_motions(&self.input(grid, speed_rad_per_s), grid, &solved.start, frequency_rad_per_s, tilts)
    }

    /// Speed of the frame in which the features of a grid stand, rad/s.
    pub fn frame(&self, grid: &FieldGrid, speed_rad_per_s: f64) -> f64 {
        if grid.on() == RingRole::Rotating { speed_rad_per_s } else { 0.0 }
    }

    /// The film's answer to a tilt at an angular frequency seen from standing ground.
    pub fn tilt_film(&self, grid: &FieldGrid, solved: &Solved, speed: f64, frequency: f64) -> Result<TiltFilm, FilmError> {
        let frame = self.frame(grid, speed);
        let coefficients = self.coefficients(grid, solved, speed, (frequency - frame).abs(), true)?;
        Ok(TiltFilm::of(&coefficients, frame))
    }

    /// Moment of the film against a tilt that goes as `exp(s t)` seen from standing ground, over that tilt, N m/rad.
    pub fn tilt_impedance(&self, grid: &FieldGrid, solved: &Solved, speed: f64, rate_per_s: c64) -> Result<c64, FilmError> {
        let seen = rate_per_s - c64::new(0.0, self.frame(grid, speed));
        tilt_impedance(&self.input(grid, speed), grid, &solved.start, seen)
    }

    /// The same film at the temperatures that it has, whatever its speed makes of them.
    pub fn at_held_temperatures(&self, solved: &Solved) -> Held<'a> {
        let face_temperature_k = solved.result.states.iter().map(|state| state.temperature_k).collect();
        Held { gap_m: self.gap_m.clone(), face_temperature_k, switches: Switches { heat: false, ..self.switches }, ..*self }
    }

    /// Stiffness of the asperities over the whole face.
    pub fn contact_answer(&self, grid: &FieldGrid) -> ContactAnswer {
        let contact = BandContact::new(&self.contact, self.nodes, &self.gap_m, |node| Some(grid.around(node)));
        let (mut axial, mut tilt) = (0.0, 0.0);
        for (node, (weight, radius)) in self.nodes.weight_m2.iter().zip(&self.nodes.radius_m).enumerate() {
            for (other, slope) in contact.slopes(node) {
                axial -= weight * slope;
                tilt -= 0.5 * weight * radius * self.nodes.radius_m[other] * slope;
            }
        }
        ContactAnswer { axial_stiffness_n_per_m: axial, tilt_stiffness_n_m_per_rad: tilt }
    }

    /// Least film where one face leans against the other, m.
    pub fn least_m(&self, grid: &FieldGrid, tilt_rad: f64) -> f64 {
        let leaning: Vec<f64> = self.gap_m.iter().zip(&self.nodes.radius_m).map(|(gap, radius)| gap - tilt_rad * radius).collect();
        grid.least_m(&leaning)
    }

    /// Relative tilt at which the least film is down to a stated one, rad; none where it is below it already.
    pub fn tilt_to(&self, grid: &FieldGrid, least_film_m: f64) -> Option<f64> {
        let deep = |k: usize| grid.around(k).iter().map(|(depth, _)| *depth).fold(f64::INFINITY, f64::min);
        let room = |k: usize| (self.gap_m[k] + deep(k) - least_film_m) / self.nodes.radius_m[k];
        Some((0..self.gap_m.len()).map(room).fold(f64::INFINITY, f64::min)).filter(|tilt| *tilt > 0.0)
    }
}
