//! What a film is made of: arrays of gap and conductance, motion, edges, fluid.

use super::{FilmError, Grid};

/// Arrays with one value a cell ([`Grid::cell`]). What varies inside a cell the caller averages: the gap by
/// volume, the conductance as the flow through the cell needs it (a step on a grid line needs nothing).
#[derive(Clone, Debug, PartialEq)]
pub struct Film {
    /// Average gap `hT` of storage and of the flow dragged along, m.
    pub gap_m: Vec<f64>,
    /// Volume flow of a pressure gradient per width, `phi_p h^3 / (k mu)`, across, m3/(Pa s).
    pub conductance_m3_per_pa_s: Vec<f64>,
    /// The same along the motion; `None` if the same as across (it differs in turbulent films).
    pub conductance_along_m3_per_pa_s: Option<Vec<f64>>,
    /// Shear flow of rough faces `sigma phi_s`, m; dragged by half the difference of the speeds.
    pub shear_flow_gap_m: Option<Vec<f64>>,
    /// Rate of the average gap `dhT/dt` where the features stand, m/s.
    pub gap_rate_m_per_s: Option<Vec<f64>>,
    /// Shear stress per sliding speed `mu phi_f / h` (times a turbulence factor), Pa s/m.
    pub shear_pa_s_per_m: Vec<f64>,
    /// `dhT/dh` by the distance of the faces; `None` for one.
    pub gap_slope: Option<Vec<f64>>,
    /// `d conductance / dh` across, m2/(Pa s); `None` for `3 conductance / gap`. Along follows in proportion.
    pub conductance_slope_m2_per_pa_s: Option<Vec<f64>>,
}

impl Film {
    /// Smooth faces, laminar: conductance `h^3/(12 mu)`, shear `mu/h`.
    pub fn laminar(gap_m: Vec<f64>, viscosity_pa_s: f64) -> Film {
        let conductance = gap_m.iter().map(|h| h.powi(3) / (12.0 * viscosity_pa_s)).collect();
        let shear = gap_m.iter().map(|h| viscosity_pa_s / h).collect();
        Film {
            gap_m,
            conductance_m3_per_pa_s: conductance,
            conductance_along_m3_per_pa_s: None,
            shear_flow_gap_m: None,
            gap_rate_m_per_s: None,
            shear_pa_s_per_m: shear,
            gap_slope: None,
            conductance_slope_m2_per_pa_s: None,
        }
    }

    pub(super) fn check(&self, grid: &Grid) -> Result<(), FilmError> {
        let cells = grid.cells();
        let optional = |values: &Option<Vec<f64>>, what| values.as_ref().map_or(Ok(()), |v| check_array(v, cells, what, |x| x.is_finite()));
        check_array(&self.gap_m, cells, "gap (m)", |x| x > 0.0)?;
        check_array(&self.conductance_m3_per_pa_s, cells, "conductance (m3/(Pa s))", |x| x > 0.0)?;
        check_array(&self.shear_pa_s_per_m, cells, "shear per speed (Pa s/m)", |x| x >= 0.0)?;
        if let Some(along) = &self.conductance_along_m3_per_pa_s {
            check_array(along, cells, "conductance along (m3/(Pa s))", |x| x > 0.0)?;
        }
        optional(&self.shear_flow_gap_m, "shear flow gap (m)")?;
        optional(&self.gap_rate_m_per_s, "rate of the gap (m/s)")?;
        optional(&self.gap_slope, "slope of the average gap")?;
        optional(&self.conductance_slope_m2_per_pa_s, "slope of the conductance (m2/(Pa s))")
    }

    pub(super) fn along(&self, cell: usize) -> f64 {
        self.conductance_along_m3_per_pa_s.as_ref().map_or(self.conductance_m3_per_pa_s[cell], |v| v[cell])
    }

    pub(super) fn slope(&self, cell: usize) -> f64 {
        match &self.conductance_slope_m2_per_pa_s {
            Some(slope) => slope[cell],
            None => 3.0 * self.conductance_m3_per_pa_s[cell] / self.gap_m[cell],
        }
    }

    pub(super) fn gap_slope(&self, cell: usize) -> f64 {
        self.gap_slope.as_ref().map_or(1.0, |v| v[cell])
    }
}

pub(super) fn check_array(values: &[f64], count: usize, what: &'static str, allowed: impl Fn(f64) -> bool) -> Result<(), FilmError> {
    if values.len() != count {
        return Err(FilmError::Length { what, expected: count, got: values.len() });
    }
    match values.iter().position(|&x| !(x.is_finite() && allowed(x))) {
        Some(place) => Err(FilmError::Value { what, place, value: values[place] }),
        None => Ok(()),
    }
}

/// How the faces move, seen from the frame in which the features of the gap stand still.
///
/// On a ring these are angular speeds (rad/s), positive with the angle; in the plane speeds (m/s) along.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Motion {
    /// Mean speed of both faces relative to the features, `(w_smooth - w_features) / 2`.
    pub mean: f64,
    /// Sliding speed `w_smooth - w_features`.
    pub sliding: f64,
    /// `W = (3 w1^2 + 4 w1 w2 + 3 w2^2) / 10` of the absolute speeds, rad2/s2; zero leaves spin out.
    pub spin: f64,
}

impl Motion {
    /// From the absolute speeds of the smooth face and of the face with the features, spin included.
    pub fn of_faces(smooth: f64, features: f64) -> Motion {
        let spin = (3.0 * smooth * smooth + 4.0 * smooth * features + 3.0 * features * features) / 10.0;
        Motion { mean: 0.5 * (smooth - features), sliding: smooth - features, spin }
    }

    /// The same without the inertia of the spinning film.
    #[must_use]
    pub fn without_spin(self) -> Motion {
        Motion { spin: 0.0, ..self }
    }
}

/// A boundary of the film.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Edge {
    /// Flooded at this absolute pressure, Pa.
    Pressure(f64),
    /// No flow passes (a plane of symmetry).
    Closed,
}

/// The boundaries of the film.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Edges {
    /// First line across (inner radius).
    pub inner: Edge,
    /// Last line across (outer radius).
    pub outer: Edge,
    /// First and last line along, of a grid that is not periodic; closed on a periodic one, where they do not exist.
    pub ends: [Edge; 2],
}

impl Edges {
    /// Pressures (Pa, absolute) at the inner and outer radius of a periodic grid.
    pub fn ring(inner_pa: f64, outer_pa: f64) -> Edges {
        Edges { inner: Edge::Pressure(inner_pa), outer: Edge::Pressure(outer_pa), ends: [Edge::Closed; 2] }
    }
}

/// Density (kg/m3) and its slope (kg/(m3 Pa)) at a line across and a pressure (Pa).
pub type DensityLaw<'a> = dyn Fn(usize, f64) -> (f64, f64) + Sync + 'a;

/// Factor on the conductance in a layer of cells at a gap (m) and a pressure (Pa), and its slope (1/Pa).
pub type FlowFactor<'a> = dyn Fn(usize, f64, f64) -> (f64, f64) + Sync + 'a;

/// What fills the film.
#[derive(Clone)]
pub enum Fluid<'a> {
    /// A compressible fluid whose density follows from pressure.
    Gas {
        /// Density by line across and pressure, above zero and rising.
        density: &'a DensityLaw<'a>,
        /// Slip: factor on the conductance by layer, gap and pressure.
        flow_factor: Option<&'a FlowFactor<'a>>,
    },
    /// A liquid that cavitates.
    Liquid {
        /// Density, one value a cell, kg/m3.
        density_kg_per_m3: &'a [f64],
        /// Cavitation pressure, absolute, Pa.
        cavitation_pressure_pa: f64,
    },
}

/// A film to be solved.
#[derive(Clone)]
pub struct Problem<'a> {
    /// Grid.
    pub grid: &'a Grid,
    /// Arrays over its cells.
    pub film: &'a Film,
    /// Motion of the faces.
    pub motion: Motion,
    /// Boundaries.
    pub edges: Edges,
    /// Fluid.
    pub fluid: Fluid<'a>,
}
