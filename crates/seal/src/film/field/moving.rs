//! The film between faces that move in time: implicit steps of the two-dimensional equation at temperatures that are held.

use halfmicron_numerics::reynolds::{self, Field, Film};

use super::arrays::{Laws, Line, film};
use super::grid::{CellDepth, FieldGrid};
use super::{FieldStart, Given, lines};
use crate::contact::ContactLaw;
use crate::film::{FilmError, FilmInput, FilmStart};

/// A film that follows the motion of its faces from step to step.
pub(crate) struct MovingFilm<'a> {
    input: &'a FilmInput<'a>,
    still: &'a FieldGrid,
    /// The same grid with the depths of the moment.
    moved: FieldGrid,
    start: &'a FieldStart,
    laws: Laws<'a>,
    lines: Vec<Line>,
    film: Film,
    field: Field,
}

/// The film after a step that may yet be taken back.
pub(crate) struct Moved {
    film: Film,
    field: Field,
    /// Force of film and contact above nothing, and moments about x and y in the frame of the features: N, N m, N m.
    pub forces: [f64; 3],
    /// Flow from the higher to the lower pressure, kg/s: mean of what enters and what leaves.
    pub leakage_kg_per_s: f64,
}

impl<'a> MovingFilm<'a> {
    /// From a film settled on the whole ring.
    ///
    /// # Errors
    /// [`FilmError::Input`] where the film was solved on another grid or on less than the ring.
    pub fn new(input: &'a FilmInput<'a>, grid: &'a FieldGrid, settled: &'a FilmStart) -> Result<Self, FilmError> {
        let start = settled.field.as_deref().filter(|field| field.size == grid.size() && grid.sectors() == 1);
        let start = start.ok_or(FilmError::Input("a film moves in time from one that was solved on the whole ring"))?;
        let lines = lines(input, grid, &start.table, &start.temperature_k, &start.pressure_pa);
        let laws = Laws::new(input, start.table.is_gas, start.flow);
        let film = film(grid, &laws, &lines);
        Ok(Self { input, still: grid, moved: grid.clone(), start, laws, lines, film, field: start.solution.field.clone() })
    }

    /// The film a time later, the gap then being greater by `shift(radius, angle)` than the one settled; nothing is taken over yet.
    ///
    /// # Errors
    /// [`FilmError`] of the kernel.
    pub fn step(&mut self, shift: impl Fn(f64, f64) -> f64, contact: &ContactLaw, dt_s: f64) -> Result<Moved, FilmError> {
        let (rows, columns) = (self.still.grid.rows(), self.still.grid.columns());
        let mut forces = [0.0; 3];
        for i in 0..rows {
            let middle = 0.5 * (self.lines[i].gap + self.lines[i + 1].gap);
            for j in 0..columns {
                let cell = self.still.grid.cell(i, j);
                let (radius, angle) = self.still.grid.cell_centre(i, j);
                let by = shift(radius, angle);
                self.moved.depth[cell] = match &self.still.depth[cell] {
                    CellDepth::Even(depth) => CellDepth::Even(depth + by),
                    CellDepth::Cut(samples) => CellDepth::Cut(Box::new(samples.map(|depth| depth + by))),
                };
                let gap = middle + self.moved.mean_depth(cell);
                let pushed = contact.at(gap).pressure_pa * self.still.grid.cell_area_m2(i, j);
                let (sin, cos) = angle.sin_cos();
                for (force, arm) in forces.iter_mut().zip([1.0, radius * sin, -radius * cos]) {
                    *force += pushed * arm;
                }
            }
        }
        let film = film(&self.moved, &self.laws, &self.lines);
        let start = self.start;
        let given = Given {
            input: self.input,
            grid: self.still,
            laws: &self.laws,
            lines: &self.lines,
            table: &start.table,
            cavity_pa: start.cavity_pa,
        };
        let solution = given.problem_of(&film, |problem| Ok(reynolds::step(problem, &self.field, &self.film, dt_s)?))?;
        let totals = &solution.totals;
        for (force, own) in forces.iter_mut().zip([totals.force_n, totals.moment_x_n_m, totals.moment_y_n_m]) {
            *force += own;
        }
        let inward = 0.5 * (totals.inner_flow_kg_per_s + totals.outer_flow_kg_per_s);
        let outside_is_high = self.input.outer_pressure_pa >= self.input.inner_pressure_pa;
        let leakage_kg_per_s = if outside_is_high { inward } else { -inward };
        Ok(Moved { film, field: solution.field, forces, leakage_kg_per_s })
    }

    /// Take a step over.
    pub fn accept(&mut self, moved: Moved) {
        (self.film, self.field) = (moved.film, moved.field);
    }
}
