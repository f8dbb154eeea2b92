//! Stiffness and damping of a settled film.
//!
//! **What.** Force and moments by which a film answers small motions of its faces: axial shift and tilts about two axes, at a frequency; and of
//! tilts that turn and grow or die.
//! **Equation.** `(A + s B) x = -(dR/dh + s dR/dh') N` on the factors of the settled film, `s = i nu`, `N` the gap of a shift or a tilt; force and
//! moments are the same shapes' weights on the pressure `x`. Slopes of gap and conductance with the distance of the faces are those of the rough,
//! turbulent, slipping film itself. A smooth face is a grid of few cells round, which a tilt passes with its phase.
//! **Valid when.** Small motions; rings that keep their shape; temperatures held (heat is slower); one phase, slower than sound, inertia of the
//! flow left out.
//! **Source.** Lund, ASME J. Lub. Tech. 109 (1987) 37 for the perturbation (from memory); discretisation derived here.
//! **Checked by.** F6c, `coefficients_are_the_slopes_of_the_solved_film`.

use faer::c64;
use halfmicron_numerics::reynolds::{self, Coefficients, Film, Problem, Solution};

use super::arrays::{Laws, Line, film};
use super::{FieldGrid, Given, lines};
use crate::film::{FilmError, FilmInput, FilmStart};

/// Relative change of the gap by which slopes are taken.
const SMALL: f64 = 1e-5;

/// Stiffness and damping of a film settled on a grid, in the frame where its features stand, at an angular frequency seen there; the axial
/// ones alone where tilts are not asked for.
///
/// # Errors
/// [`FilmError`] of the kernel: two equal sectors, a response that stalls.
pub(crate) fn small_motions(
    input: &FilmInput,
    grid: &FieldGrid,
    settled: &FilmStart,
    frequency_rad_per_s: f64,
    tilts: bool,
) -> Result<Coefficients, FilmError> {
    answered(input, grid, settled, |solution, problem| {
        if tilts { solution.coefficients(problem, frequency_rad_per_s) } else { solution.axial_coefficients(problem, frequency_rad_per_s) }
    })
}

/// Moment against a tilt that goes as `exp(s t)` over that tilt, `s` as seen where the features stand: N m/rad.
///
/// # Errors
/// As [`small_motions`].
pub(crate) fn tilt_impedance(input: &FilmInput, grid: &FieldGrid, settled: &FilmStart, rate_per_s: c64) -> Result<c64, FilmError> {
    answered(input, grid, settled, |solution, problem| solution.tilt_impedance(problem, rate_per_s))
}

fn answered<T>(
    input: &FilmInput,
    grid: &FieldGrid,
    settled: &FilmStart,
    ask: impl FnOnce(&Solution, &Problem) -> Result<T, reynolds::FilmError>,
) -> Result<T, FilmError> {
    let start = settled.field.as_deref().filter(|field| field.size == grid.size());
    let start = start.ok_or(FilmError::Input("small motions are asked of a film that was not solved on this grid"))?;
    let lines = lines(input, grid, &start.table, &start.temperature_k, &start.pressure_pa);
    let laws = Laws::new(input, start.table.is_gas, start.flow);
    let film = sloped(grid, &laws, &lines, &start.solution.field.pressure_pa, input.roughness_m);
    let given = Given { input, grid, laws: &laws, lines: &lines, table: &start.table, cavity_pa: start.cavity_pa };
    given.problem_of(&film, |problem| Ok(ask(&start.solution, problem)?))
}

/// Arrays of the film with their slopes by the distance of the faces. Slip, which the equation takes by pressure, falls with the gap as well.
fn sloped(grid: &FieldGrid, laws: &Laws, lines: &[Line], pressure_pa: &[f64], roughness_m: f64) -> Film {
    let step_m = SMALL * lines.iter().map(|line| line.gap.abs()).fold(roughness_m, f64::max);
    let at = |by: f64| film(grid, laws, &lines.iter().map(|line| Line { gap: line.gap + by, ..*line }).collect::<Vec<_>>());
    let (narrower, wider) = (at(-step_m), at(step_m));
    let slope = |a: &[f64], b: &[f64]| -> Vec<f64> { a.iter().zip(b).map(|(a, b)| (b - a) / (2.0 * step_m)).collect() };
    let mut by_gap = slope(&narrower.conductance_m3_per_pa_s, &wider.conductance_m3_per_pa_s);
    let film = film(grid, laws, lines);
    if laws.slips(lines) {
        let rows = &grid.grid;
        for (i, pair) in lines.windows(2).enumerate() {
            let Some(slip) = laws.slip(&Line::between(&pair[0], &pair[1], 0.5)) else { continue };
            for j in 0..rows.columns() {
                let cell = rows.cell(i, j);
                let corners = [rows.node(i, j), rows.node(i, j + 1), rows.node(i + 1, j), rows.node(i + 1, j + 1)];
                let pressure = 0.25 * corners.map(|node| pressure_pa[node]).iter().sum::<f64>();
                let [low, high] = [&narrower, &wider].map(|film| slip.factor(film.gap_m[cell], pressure).0);
                by_gap[cell] += film.conductance_m3_per_pa_s[cell] * (high - low) / (step_m * (high + low));
            }
        }
    }
    Film { gap_slope: Some(slope(&narrower.gap_m, &wider.gap_m)), conductance_slope_m2_per_pa_s: Some(by_gap), ..film }
}
