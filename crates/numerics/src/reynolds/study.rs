//! Grid study by Richardson's extrapolation, and the period of a gap round the circumference.

/// A result on three nested grids, each with half the cells of the next in both directions.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GridStudy {
    /// On the coarse, middle and fine grid.
    pub values: [f64; 3],
    /// Observed order of convergence; none if the differences do not shrink steadily.
    pub order: Option<f64>,
    /// Value extrapolated to cells of no size, with the observed order held between 1 and 2 (2 where there is none).
    pub extrapolated: f64,
    /// Estimated error of the fine value, of the unit of the value.
    pub error: f64,
}

impl GridStudy {
    /// From values on the coarse, middle and fine grid (L. F. Richardson, Phil. Trans. R. Soc. A 226 (1927) 299-361; P. J.
    /// Roache, J. Fluids Eng. 116 (1994) 405-413).
    pub fn new(values: [f64; 3]) -> GridStudy {
        let (first, second) = (values[1] - values[0], values[2] - values[1]);
        let ratio = first / second;
        let order = if ratio.is_finite() && ratio > 1.0 { Some(ratio.log2()) } else { None };
        let used = order.unwrap_or(2.0).clamp(1.0, 2.0);
        let change = second / (used.exp2() - 1.0);
        // Without steady shrinking the difference itself is the only estimate.
        let error = if order.is_some() { change.abs() } else { first.abs().max(second.abs()) };
        GridStudy { values, order, extrapolated: values[2] + change, error }
    }
}

/// How many equal sectors a gap of `rows` by `columns` cells on uniform angles consists of, to `tolerance` of its
/// greatest value. A gap that does not vary along has as many as it has columns.
pub fn equal_sectors(gap_m: &[f64], rows: usize, columns: usize, tolerance: f64) -> usize {
    if gap_m.len() != rows * columns || columns == 0 {
        return 1;
    }
    let allowed = tolerance * gap_m.iter().fold(0.0, |most: f64, h| most.max(h.abs()));
    let repeats =
        |period: usize| gap_m.chunks(columns).all(|line| (0..columns).all(|j| (line[j] - line[(j + period) % columns]).abs() <= allowed));
    let period = (1..=columns).find(|&period| columns.is_multiple_of(period) && repeats(period));
    period.map_or(1, |period| columns / period)
}
