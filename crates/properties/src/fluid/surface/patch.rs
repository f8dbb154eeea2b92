//! Tensor Chebyshev expansions over rectangles, filled when first visited and halved where they have not converged,
//! across the direction in which they have converged less.

use std::sync::OnceLock;

use super::super::jets::Dual;

/// Nodes each way. They include the borders, so that neighbours of one size meet without a step.
pub(super) const NODES: usize = 6;
const DEEPEST: u32 = 18;
/// Sum of the last coefficients over the first, at which an expansion has converged.
const TAIL: f64 = 1e-6;
/// The same for the susceptibility, which passes through zero where the enhancement goes like its square root.
const TAIL_SUSCEPTIBILITY: (f64, f64) = (3e-7, 1e-8);

/// At one node: temperature, density (or density over pressure), viscosity, conductivity, background conductivity,
/// susceptibility, heat-capacity ratio, heat capacity.
pub(super) type Sample = [f64; 8];
/// Coefficients of four quantities; rows by y, columns by x.
pub(super) type Block = [[[f64; 4]; NODES]; NODES];
type Edge = [[f64; 4]; NODES];

/// Bounds of a cell.
#[derive(Debug, Clone, Copy)]
pub(super) struct Window {
    pub x: (f64, f64),
    pub y: (f64, f64),
}

#[derive(Debug)]
pub(super) struct Patch {
    window: Window,
    /// rows by y, columns by x: temperature, density, viscosity, conductivity (its background where enhanced)
    main: Block,
    /// susceptibility, heat-capacity ratio, heat capacity, unused
    enhancement: Option<Box<Block>>,
    /// The expansions at y = 0, where the patch touches the phase line.
    edge: Option<Box<(Edge, Option<Edge>)>>,
}

/// A patch, or the direction in which the window is to be cut; none where a node has no state.
pub(super) type Filled = Result<Patch, Option<Across>>;

/// Four interpolated quantities and, where the conductivity is formed at evaluation, four more; slopes by x and y.
pub(super) struct Interpolated {
    pub main: [Dual; 4],
    pub enhancement: Option<[Dual; 4]>,
}

/// Direction that is to be cut in two.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Across {
    X,
    Y,
}

#[derive(Debug)]
enum Cell {
    Patch(Box<Patch>),
    Halves(Across, Box<[OnceLock<Cell>; 2]>),
    Equation,
}

/// A grid of cells.
#[derive(Debug)]
pub(super) struct Cells {
    origin: (f64, f64),
    step: (f64, f64),
    per_step: (f64, f64),
    counts: (usize, usize),
    cells: Box<[OnceLock<Cell>]>,
}

/// How many patches have been filled, and how many cells are left to the equation.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct Tally {
    pub patches: usize,
    pub equation: usize,
}

impl Cells {
    /// Cells of about `step`, from the origin to the far corner at least; in x exactly to it.
    pub fn new(origin: (f64, f64), far: (f64, f64), step: (f64, f64)) -> Self {
        let count = |from: f64, to: f64, step: f64| ((to - from) / step).ceil().clamp(1.0, 400.0) as usize;
        let counts = (count(origin.0, far.0, step.0), count(origin.1, far.1, step.1));
        let step = ((far.0 - origin.0) / counts.0 as f64, step.1);
        Self {
            origin,
            step,
            per_step: (1.0 / step.0, 1.0 / step.1),
            counts,
            cells: (0..counts.0 * counts.1).map(|_| OnceLock::new()).collect(),
        }
    }

    /// The patch at a point; nothing outside the grid and where the equation has to answer.
    #[inline]
    pub fn find(&self, x: f64, y: f64, fill: impl Fn(Window) -> Filled) -> Option<&Patch> {
        // a cast drops the fraction without a call; the far border in x belongs to the last cell
        let (u, v) = ((x - self.origin.0) * self.per_step.0, (y - self.origin.1) * self.per_step.1);
        if !(v >= 0.0 && u >= -1e-9) {
            return None;
        }
        let (i, j) = ((u as usize).min(self.counts.0 - 1), v as usize);
        let slot = if j < self.counts.1 { &self.cells[j * self.counts.0 + i] } else { return None };
        match slot.get() {
            Some(Cell::Patch(patch)) => Some(patch),
            _ => descend(slot, self.window(i, j), x, y, &fill),
        }
    }

    /// The undivided cell at a point.
    pub fn window_at(&self, x: f64, y: f64) -> Option<Window> {
        let (u, v) = ((x - self.origin.0) * self.per_step.0, (y - self.origin.1) * self.per_step.1);
        let inside = v >= 0.0 && v < self.counts.1 as f64;
        inside.then(|| self.window((u as usize).min(self.counts.0 - 1), v as usize))
    }

    #[cold]
    fn window(&self, i: usize, j: usize) -> Window {
        let corner = |origin: f64, step: f64, i: usize| (origin + i as f64 * step, origin + (i + 1) as f64 * step);
        Window { x: corner(self.origin.0, self.step.0, i), y: corner(self.origin.1, self.step.1, j) }
    }

    pub fn tally(&self) -> Tally {
        let mut tally = Tally::default();
        self.cells.iter().for_each(|c| add(c, &mut tally));
        tally
    }
}

fn descend<'a>(mut slot: &'a OnceLock<Cell>, mut window: Window, x: f64, y: f64, fill: &dyn Fn(Window) -> Filled) -> Option<&'a Patch> {
    let mut level = 0;
    loop {
        match slot.get_or_init(|| filled(window, level, fill)) {
            Cell::Patch(patch) => return Some(patch),
            Cell::Equation => return None,
            Cell::Halves(across, halves) => {
                let upper = window.take_half(*across, x, y);
                slot = &halves[usize::from(upper)];
                level += 1;
            }
        }
    }
}

fn filled(window: Window, level: u32, fill: &dyn Fn(Window) -> Filled) -> Cell {
    match fill(window) {
        Ok(patch) => Cell::Patch(Box::new(patch)),
        Err(_) if level == DEEPEST => Cell::Equation,
        Err(across) => {
            let across = across.unwrap_or(if level.is_multiple_of(2) { Across::X } else { Across::Y });
            Cell::Halves(across, Box::new(std::array::from_fn(|_| OnceLock::new())))
        }
    }
}

fn add(slot: &OnceLock<Cell>, tally: &mut Tally) {
    match slot.get() {
        None => {}
        Some(Cell::Patch(_)) => tally.patches += 1,
        Some(Cell::Equation) => tally.equation += 1,
        Some(Cell::Halves(_, halves)) => halves.iter().for_each(|half| add(half, tally)),
    }
}

impl Window {
    /// Shrinks to the half that holds a point; true for the upper one.
    fn take_half(&mut self, across: Across, x: f64, y: f64) -> bool {
        let (range, at) = match across {
            Across::X => (&mut self.x, x),
            Across::Y => (&mut self.y, y),
        };
        let middle = 0.5 * (range.0 + range.1);
        let upper = at >= middle;
        *range = if upper { (middle, range.1) } else { (range.0, middle) };
        upper
    }

    /// Place of node (row by y, column by x).
    pub fn node(&self, row: usize, column: usize) -> (f64, f64) {
        (from_unit(self.x, lobatto(NODES, column)), from_unit(self.y, lobatto(NODES, row)))
    }
}

impl Patch {
    /// The expansion through the nodes, or the direction in which it has converged less.
    pub fn through(window: Window, nodes: &[[Sample; NODES]; NODES]) -> Result<Self, Across> {
        let all = expand(nodes);
        // last coefficients by x and by y against what is allowed
        let tails = |k: usize| {
            let (relative, absolute) = if k == 5 { TAIL_SUSCEPTIBILITY } else { (TAIL, 0.0) };
            let allowed = relative * all[0][0][k].abs() + absolute;
            let (mut by_x, mut by_y) = (0.0, 0.0);
            for i in 0..NODES {
                by_x += all[i][NODES - 1][k].abs();
                by_y += all[NODES - 1][i][k].abs();
            }
            (by_x / allowed, by_y / allowed)
        };
        let converged = |k: usize| {
            let (by_x, by_y) = tails(k);
            by_x + by_y <= 1.0
        };
        let worst = |channels: &[usize]| {
            let tails = channels.iter().map(|&k| tails(k));
            let (by_x, by_y) = tails.fold((0.0_f64, 0.0_f64), |a, b| (a.0.max(b.0), a.1.max(b.1)));
            if by_x >= by_y { Across::X } else { Across::Y }
        };
        if !(0..3).all(converged) {
            return Err(worst(&[0, 1, 2]));
        }
        let block = |channels: [usize; 4]| std::array::from_fn(|i| std::array::from_fn(|j| channels.map(|k| all[i][j][k])));
        let (main, enhancement) = if converged(3) {
            (block([0, 1, 2, 3]), None)
        } else if (4..8).all(converged) {
            (block([0, 1, 2, 4]), Some(Box::new(block([5, 6, 7, 7]))))
        } else {
            return Err(worst(&[4, 5, 6, 7]));
        };
        let edge = (window.y.0 == 0.0).then(|| Box::new((edge_of(&main), enhancement.as_deref().map(edge_of))));
        Ok(Self { window, main, enhancement, edge })
    }

    #[inline(always)]
    pub fn at(&self, x: f64, y: f64) -> Interpolated {
        let (by_x, by_y) = (Basis::new(self.window.x, x), Basis::new(self.window.y, y));
        let at = |block: &Block| evaluate(block, &by_x, &by_y);
        Interpolated { main: at(&self.main), enhancement: self.enhancement.as_deref().map(at) }
    }

    /// The same at y = 0, for a patch that touches the phase line; slopes by x alone.
    #[inline(always)]
    pub fn on_line(&self, x: f64) -> Option<Interpolated> {
        let (main, enhancement) = &**self.edge.as_ref()?;
        let by_x = Basis::new(self.window.x, x);
        let at = |edge: &Edge| by_x.sum(edge);
        Some(Interpolated { main: at(main), enhancement: enhancement.as_ref().map(at) })
    }

    pub fn height(&self) -> f64 {
        self.window.y.1
    }
}

/// Chebyshev polynomials and their derivatives by the variable itself.
pub(in super::super) struct Basis<const N: usize> {
    value: [f64; N],
    slope: [f64; N],
}

impl<const N: usize> Basis<N> {
    #[inline(always)]
    pub fn new(range: (f64, f64), at: f64) -> Self {
        let scale = 2.0 / (range.1 - range.0);
        let x = (at - range.0) * scale - 1.0;
        let (mut value, mut slope) = ([1.0; N], [0.0; N]);
        value[1] = x;
        slope[1] = scale;
        // from the halves, not from the neighbours: a short chain of operations
        for k in 2..N {
            let (a, b) = (k / 2, k - k / 2);
            let (v, d) = (value[a] * value[b], slope[a] * value[b] + value[a] * slope[b]);
            (value[k], slope[k]) = if a == b { (2.0 * v - 1.0, 2.0 * d) } else { (2.0 * v - x, 2.0 * d - scale) };
        }
        Self { value, slope }
    }

    /// Sums of one variable alone; the same values as [`Basis::sum`].
    #[inline(always)]
    pub fn values<const K: usize>(&self, coefficients: &[[f64; K]; N]) -> [f64; K] {
        let mut v = [0.0; K];
        for (j, c) in coefficients.iter().enumerate() {
            for k in 0..K {
                v[k] += c[k] * self.value[j];
            }
        }
        v
    }

    /// Sums of one variable, with slopes by it.
    #[inline(always)]
    pub fn sum<const K: usize>(&self, coefficients: &[[f64; K]; N]) -> [Dual; K] {
        let (mut v, mut d) = ([0.0; K], [0.0; K]);
        for (j, c) in coefficients.iter().enumerate() {
            for k in 0..K {
                v[k] += c[k] * self.value[j];
                d[k] += c[k] * self.slope[j];
            }
        }
        std::array::from_fn(|k| Dual::new(v[k], d[k], 0.0))
    }
}

/// Four quantities with their slopes by x (`a`) and y (`b`).
#[inline]
pub(super) fn evaluate(block: &Block, by_x: &Basis<NODES>, by_y: &Basis<NODES>) -> [Dual; 4] {
    let (mut value, mut dx, mut dy) = ([0.0; 4], [0.0; 4], [0.0; 4]);
    for (i, row) in block.iter().enumerate() {
        let (mut s, mut ds) = ([0.0; 4], [0.0; 4]);
        for (j, c) in row.iter().enumerate() {
            for k in 0..4 {
                s[k] += c[k] * by_x.value[j];
                ds[k] += c[k] * by_x.slope[j];
            }
        }
        for k in 0..4 {
            value[k] += by_y.value[i] * s[k];
            dx[k] += by_y.value[i] * ds[k];
            dy[k] += by_y.slope[i] * s[k];
        }
    }
    std::array::from_fn(|k| Dual::new(value[k], dx[k], dy[k]))
}

/// At the low end in y the polynomials are 1, -1, 1 ...
fn edge_of(block: &Block) -> Edge {
    let mut edge = [[0.0; 4]; NODES];
    for (i, row) in block.iter().enumerate() {
        let sign = if i.is_multiple_of(2) { 1.0 } else { -1.0 };
        for (sum, c) in edge.iter_mut().zip(row) {
            for k in 0..4 {
                sum[k] += sign * c[k];
            }
        }
    }
    edge
}

/// Node `i` of `n` in -1..1, from the low end.
pub(in super::super) fn lobatto(n: usize, i: usize) -> f64 {
    -(std::f64::consts::PI * i as f64 / (n - 1) as f64).cos()
}

pub(in super::super) fn from_unit(range: (f64, f64), x: f64) -> f64 {
    // the ends are met exactly
    if x >= 1.0 { range.1 } else { range.0 + 0.5 * (range.1 - range.0) * (x + 1.0) }
}

/// Weights `[m][i]` from values at the nodes to coefficients.
pub(in super::super) fn weights<const N: usize>() -> [[f64; N]; N] {
    let last = N - 1;
    let half = |i: usize| if i == 0 || i == last { 0.5 } else { 1.0 };
    std::array::from_fn(|m| {
        std::array::from_fn(|i| {
            let polynomial = (std::f64::consts::PI * (m * (last - i)) as f64 / last as f64).cos();
            2.0 / last as f64 * half(m) * half(i) * polynomial
        })
    })
}

/// Values at the nodes to tensor coefficients.
fn expand(nodes: &[[Sample; NODES]; NODES]) -> [[Sample; NODES]; NODES] {
    let w = weights::<NODES>();
    let mut rows = [[[0.0; 8]; NODES]; NODES];
    let mut out = [[[0.0; 8]; NODES]; NODES];
    for i in 0..NODES {
        for n in 0..NODES {
            for j in 0..NODES {
                for k in 0..8 {
                    rows[i][n][k] += w[n][j] * nodes[i][j][k];
                }
            }
        }
    }
    for m in 0..NODES {
        for i in 0..NODES {
            for n in 0..NODES {
                for k in 0..8 {
                    out[m][n][k] += w[m][i] * rows[i][n][k];
                }
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A polynomial of the expansion's degree is met exactly, derivatives too.
    #[test]
    fn expansions_reproduce_polynomials() {
        let f = |x: f64, y: f64| (1.0 + x - 0.3 * x.powi(4), 1.0 + 0.2 * y * y - y.powi(5) * 0.01);
        let window = Window { x: (0.2, 0.9), y: (0.0, 2.0) };
        let mut nodes = [[[1.0; 8]; NODES]; NODES];
        for (i, row) in nodes.iter_mut().enumerate() {
            for (j, sample) in row.iter_mut().enumerate() {
                let (x, y) = window.node(i, j);
                sample[0] = f(x, y).0 * f(x, y).1;
            }
        }
        let all = expand(&nodes);
        let block: Block = std::array::from_fn(|i| std::array::from_fn(|j| std::array::from_fn(|k| all[i][j][k])));
        let patch = Patch { window, edge: Some(Box::new((edge_of(&block), None))), main: block, enhancement: None };
        for (x, y) in [(0.2, 0.0), (0.4, 1.3), (0.9, 2.0)] {
            let t = patch.at(x, y).main[0];
            let (a, b) = f(x, y);
            assert!((t.v - a * b).abs() < 1e-13);
            assert!((t.a - (1.0 - 1.2 * x.powi(3)) * b).abs() < 1e-12);
            assert!((t.b - a * (0.4 * y - 0.05 * y.powi(4))).abs() < 1e-12);
            let on = patch.on_line(x).unwrap().main[0];
            assert!((on.v - a).abs() < 1e-13 && (on.a - (1.0 - 1.2 * x.powi(3))).abs() < 1e-12);
        }
    }
}
