//! The grid of a textured film: lines through the nodes of the band and along every wall, depth in every cell.

use std::f64::consts::TAU;

use halfmicron_numerics::reynolds::Grid;

use super::depth::{Depth, depth, rims, turn, walls};
use crate::film::FilmError;
use crate::model::{RingRole, Texture, TextureForm};
use crate::ring::BandNodes;

/// How fine a film is resolved.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Fineness {
    /// Half the lines of `Normal`.
    Coarse,
    /// Some sixty cells over one period.
    #[default]
    Normal,
    /// Twice the lines of `Normal`.
    Fine,
}

/// Cells into which the grid is cut.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cells {
    /// Layers in each interval between nodes of the band.
    pub per_interval: usize,
    /// Columns in one period.
    pub columns: usize,
    /// Greatest number of columns, where periods do not agree.
    pub most_columns: usize,
}

impl Cells {
    /// Cells over a band whose nodes are as fine themselves.
    pub fn of(fineness: Fineness) -> Self {
        let columns = match fineness {
            Fineness::Coarse => 32,
            Fineness::Normal => 64,
            Fineness::Fine => 128,
        };
        Self { per_interval: 1, columns, most_columns: 6 * columns }
    }
}

/// Depth of a cell, m.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum CellDepth {
    /// The same all over, or smooth: its mean.
    Even(f64),
    /// Cut by a wall that no line follows: samples, row by row along the circumference.
    Cut(Box<[f64; SAMPLES * SAMPLES]>),
}

/// Samples of a cell in each direction.
pub(super) const SAMPLES: usize = 4;

/// Share of a layer below which lines are not told apart.
const SAME: f64 = 1e-6;
/// Least cells between two walls.
const LEAST_CELLS: usize = 3;
/// Depths nearer to each other than this are one, m.
const SAME_DEPTH_M: f64 = 1e-13;

/// Lines, cells and depths of a textured film.
#[derive(Debug, Clone)]
pub struct FieldGrid {
    pub(super) grid: Grid,
    /// Depth of each cell.
    pub(super) depth: Vec<CellDepth>,
    /// Interval of the band and share of it, for each line.
    pub(super) place: Vec<(usize, f64)>,
    /// Line of each node of the band.
    pub(super) line_of_node: Vec<usize>,
    /// Ring on which everything stands.
    pub(super) on: RingRole,
    textures: Vec<Texture>,
    /// Depths round the circumference at each node, with their shares.
    around: Vec<Vec<(f64, f64)>>,
    /// The same in each layer.
    pub(super) shares: Vec<Vec<(f64, f64)>>,
}

impl FieldGrid {
    /// The grid of all textures that vary round the circumference; none where none does.
    ///
    /// # Errors
    /// [`FilmError::Field`] where the lines do not make a grid.
    pub fn new(textures: &[Texture], nodes: &BandNodes, cells: Cells) -> Result<Option<Self>, FilmError> {
        let textures: Vec<Texture> = textures.iter().copied().filter(|texture| !texture.form.is_axisymmetric()).collect();
        let Some(on) = textures.first().map(|texture| texture.on) else { return Ok(None) };
        let counts: Vec<u32> = textures.iter().filter_map(|texture| texture.form.count()).collect();
        let sectors = counts.iter().copied().reduce(common).unwrap_or(1).max(1);
        Self::on_sectors(textures, on, nodes, cells, sectors).map(Some)
    }

    /// The grid of faces of which none is textured, in `sectors` equal parts (at least three) of `cells.columns` each.
    ///
    /// # Errors
    /// As [`FieldGrid::new`].
    pub fn smooth(on: RingRole, nodes: &BandNodes, cells: Cells, sectors: u32) -> Result<Self, FilmError> {
        Self::on_sectors(Vec::new(), on, nodes, cells, sectors)
    }

    /// The grid of textures on the whole ring, whatever its period.
    ///
    /// # Errors
    /// As [`FieldGrid::new`].
    pub fn whole_ring(textures: &[Texture], on: RingRole, nodes: &BandNodes, cells: Cells) -> Result<Self, FilmError> {
        let textures = textures.iter().copied().filter(|texture| !texture.form.is_axisymmetric()).collect();
        Self::on_sectors(textures, on, nodes, cells, 1)
    }

    fn on_sectors(textures: Vec<Texture>, on: RingRole, nodes: &BandNodes, cells: Cells, sectors: u32) -> Result<Self, FilmError> {
        let counts: Vec<u32> = textures.iter().filter_map(|texture| texture.form.count()).collect();
        let (radii, place) = radial_lines(&textures, nodes, cells.per_interval);
        let shift: Vec<f64> = radii.iter().map(|&r| shift(&textures, r)).collect();
        let period = TAU / f64::from(sectors);
        let most = (counts.iter().copied().max().unwrap_or(1) / sectors).max(1);
        let columns = (cells.columns * most as usize).min(cells.most_columns).max(cells.columns);
        // A tilt varies slowly: one turn takes two periods' cells.
        let columns = if sectors == 1 && most == 1 { 2 * columns } else { columns };
        let angles = angular_lines(&textures, &radii, period, columns);
        let grid = Grid::polar(&radii, &angles, &shift, sectors as usize, true)?;
        let depth = (0..grid.rows())
            .flat_map(|i| (0..grid.columns()).map(move |j| (i, j)))
            .map(|(i, j)| cell_depth(&textures, &grid, i, j))
            .collect();
        let line_of_node = (0..nodes.len()).map(|node| radii.iter().position(|&r| r == nodes.radius_m[node]).unwrap_or_default()).collect();
        let around = nodes.radius_m.iter().map(|&r| distribution(&textures, &grid, r, [radii[0], radii[radii.len() - 1]])).collect();
        let mut field = Self { grid, depth, place, line_of_node, on, textures, around, shares: Vec::new() };
        field.shares = field.filled_shares(None);
        Ok(field)
    }

    /// Shares of the circumference by depth in every layer, of the part that is filled.
    pub(super) fn filled_shares(&self, fill: Option<&[f64]>) -> Vec<Vec<(f64, f64)>> {
        let angles = self.grid.along();
        let span = angles[angles.len() - 1] - angles[0];
        let layer = |i: usize| {
            let mut shares: Vec<(f64, f64)> = Vec::new();
            let mut add = |depth: f64, share: f64| match shares.iter_mut().find(|(d, _)| *d == depth) {
                Some(known) => known.1 += share,
                None => shares.push((depth, share)),
            };
            for j in 0..self.grid.columns() {
                let corners = [(i, j), (i, j + 1), (i + 1, j), (i + 1, j + 1)].map(|(i, j)| self.grid.node(i, j));
                let filled = fill.map_or(1.0, |fill| 0.25 * corners.iter().map(|&node| fill[node]).sum::<f64>());
                let share = filled * (angles[j + 1] - angles[j]) / span;
                match &self.depth[self.grid.cell(i, j)] {
                    CellDepth::Even(depth) => add(*depth, share),
                    CellDepth::Cut(samples) => samples.iter().for_each(|depth| add(*depth, share / samples.len() as f64)),
                }
            }
            shares
        };
        (0..self.grid.rows()).map(layer).collect()
    }

    /// The ring on which the features of the gap stand.
    pub fn on(&self) -> RingRole {
        self.on
    }

    /// The textures it was made for.
    pub fn textures(&self) -> &[Texture] {
        &self.textures
    }

    /// Layers and columns.
    pub fn size(&self) -> [usize; 2] {
        [self.grid.rows(), self.grid.columns()]
    }

    /// Equal sectors of the ring, one of which is solved.
    pub fn sectors(&self) -> usize {
        self.grid.sectors()
    }

    /// Depths round the circumference at a node of the band, each with its share.
    pub fn around(&self, node: usize) -> &[(f64, f64)] {
        &self.around[node]
    }

    /// Mean round the circumference, at a node of the band, of what follows from the gap.
    pub fn mean(&self, node: usize, gap_m: f64, of: impl Fn(f64) -> f64) -> f64 {
        self.around[node].iter().map(|(depth, share)| share * of(gap_m + depth)).sum()
    }

    /// Least gap over the face, m, from the gap of what is not textured at each node.
    pub fn least_m(&self, gap_m: &[f64]) -> f64 {
        gap_m
            .iter()
            .zip(&self.around)
            .flat_map(|(gap, around)| around.iter().map(move |(depth, _)| gap + depth))
            .fold(f64::INFINITY, f64::min)
    }

    /// Values at nodes of the band as straight values at every line.
    pub(super) fn on_lines(&self, nodal: &[f64]) -> Vec<f64> {
        self.place.iter().map(|&(k, share)| if share == 0.0 { nodal[k] } else { nodal[k] + share * (nodal[k + 1] - nodal[k]) }).collect()
    }

    /// Mean depth of a cell, m.
    pub(super) fn mean_depth(&self, cell: usize) -> f64 {
        match &self.depth[cell] {
            CellDepth::Even(depth) => *depth,
            CellDepth::Cut(samples) => samples.iter().sum::<f64>() / samples.len() as f64,
        }
    }
}

/// Greatest common divisor.
fn common(a: u32, b: u32) -> u32 {
    if b == 0 { a } else { common(b, a % b) }
}

/// Turn of the lines at a radius: along the spirals of every spiral texture that lies below it.
fn shift(textures: &[Texture], radius: f64) -> f64 {
    let of = |texture: &Texture| match (&texture.form, turn(texture)) {
        (TextureForm::SpiralGrooves { grooves, .. }, Some(turn)) => {
            turn * (radius.clamp(grooves.radii_m[0], grooves.radii_m[1]) / grooves.radii_m[0]).ln()
        }
        _ => 0.0,
    };
    textures.iter().map(of).sum()
}

/// Radii of the lines, and where each lies in the band: through every node and rim, crowded toward the rims of what is cut in long pieces.
///
/// Pressure is singular where a groove ends: of evenly spaced lines the force is of order 1.5 there.
fn radial_lines(textures: &[Texture], nodes: &BandNodes, per_interval: usize) -> (Vec<f64>, Vec<(usize, f64)>) {
    let last = nodes.len() - 1;
    let [inner, outer] = [nodes.radius_m[0], nodes.radius_m[last]];
    let interval = (outer - inner) / last as f64;
    let mut edges = vec![inner];
    let mut walled =
        textures.iter().flat_map(rims).filter(|rim| *rim > inner + SAME * interval && *rim < outer - SAME * interval).collect::<Vec<_>>();
    walled.sort_by(f64::total_cmp);
    walled.dedup_by(|a, b| (*a - *b).abs() < SAME * interval);
    edges.extend(walled);
    edges.push(outer);
    let crowded: Vec<f64> = textures.iter().filter(|texture| !matches!(texture.form, TextureForm::Dimples { .. })).flat_map(rims).collect();
    let is_crowded = |edge: f64| crowded.iter().any(|rim| (rim - edge).abs() < SAME * interval);
    let (mut radii, mut place) = (Vec::new(), Vec::new());
    for zone in edges.windows(2) {
        let spacing = Spacing { ends: [zone[0], zone[1]], crowded: [is_crowded(zone[0]), is_crowded(zone[1])] };
        let layers = per_interval as f64 * (zone[1] - zone[0]) / interval;
        // Nodes within the zone cut it; each piece takes its share of the layers.
        let mut cuts = vec![zone[0]];
        cuts.extend(nodes.radius_m.iter().copied().filter(|r| *r > zone[0] + SAME * interval && *r < zone[1] - SAME * interval));
        cuts.push(zone[1]);
        for piece in cuts.windows(2) {
            let [from, to] = [piece[0], piece[1]].map(|r| spacing.place(r));
            let count = ((to - from) * layers).round().max(1.0) as usize;
            for k in 0..count {
                let radius = if k == 0 { piece[0] } else { spacing.at(from + (to - from) * k as f64 / count as f64) };
                radii.push(radius);
                place.push(interval_of(nodes, radius, SAME * interval));
            }
        }
    }
    radii.push(outer);
    place.push((last, 0.0));
    // A node keeps its very radius.
    for (radius, &(k, share)) in radii.iter_mut().zip(&place) {
        if share == 0.0 {
            *radius = nodes.radius_m[k];
        }
    }
    (radii, place)
}

/// Interval of the band in which a radius lies, and share of it; none of the next one at a node.
fn interval_of(nodes: &BandNodes, radius: f64, near: f64) -> (usize, f64) {
    let last = nodes.len() - 1;
    let k = nodes.radius_m.partition_point(|r| *r <= radius + near).saturating_sub(1).min(last);
    let share = if k == last { 0.0 } else { (radius - nodes.radius_m[k]) / (nodes.radius_m[k + 1] - nodes.radius_m[k]) };
    (k, if (radius - nodes.radius_m[k]).abs() <= near { 0.0 } else { share })
}

/// Power of the distance by which lines crowd toward an end.
const CROWDING: f64 = 1.6;

/// Lines between two ends, crowded toward either or both or none.
struct Spacing {
    ends: [f64; 2],
    crowded: [bool; 2],
}

impl Spacing {
    /// Place of the share `t` of the lines.
    fn at(&self, t: f64) -> f64 {
        let way = match self.crowded {
            [false, false] => t,
            [true, false] => t.powf(CROWDING),
            [false, true] => 1.0 - (1.0 - t).powf(CROWDING),
            [true, true] if t <= 0.5 => 0.5 * (2.0 * t).powf(CROWDING),
            [true, true] => 1.0 - 0.5 * (2.0 * (1.0 - t)).powf(CROWDING),
        };
        self.ends[0] + way * (self.ends[1] - self.ends[0])
    }

    /// Share of the lines before a place.
    fn place(&self, at: f64) -> f64 {
        let way = ((at - self.ends[0]) / (self.ends[1] - self.ends[0])).clamp(0.0, 1.0);
        let root = 1.0 / CROWDING;
        match self.crowded {
            [false, false] => way,
            [true, false] => way.powf(root),
            [false, true] => 1.0 - (1.0 - way).powf(root),
            [true, true] if way <= 0.5 => 0.5 * (2.0 * way).powf(root),
            [true, true] => 1.0 - 0.5 * (2.0 * (1.0 - way)).powf(root),
        }
    }
}

/// Angles of the lines over one period, through every wall.
fn angular_lines(textures: &[Texture], radii: &[f64], period: f64, columns: usize) -> Vec<f64> {
    let mut marks: Vec<f64> = vec![0.0];
    for texture in textures {
        let Some([inner, outer]) = texture.form.cut_radii_m() else { continue };
        let middle = 0.5 * (inner + outer);
        let turned = shift(textures, middle);
        marks.extend(walls(texture, middle).into_iter().map(|wall| (wall - turned).rem_euclid(period)));
    }
    marks.sort_by(f64::total_cmp);
    let near = 1e-9 * period + 1e-7 * period / radii.len() as f64;
    marks.dedup_by(|a, b| (*a - *b).abs() < near);
    marks.retain(|mark| period - mark > near);
    marks.push(period);
    let mut lines = vec![0.0];
    let crowds =
        textures.iter().any(|texture| texture.form.cut_radii_m().is_some() && !matches!(texture.form, TextureForm::Dimples { .. }));
    for pair in marks.windows(2) {
        let cells = ((pair[1] - pair[0]) / period * columns as f64).round().max(LEAST_CELLS as f64) as usize;
        let cells = if marks.len() == 2 { columns } else { cells };
        let spacing = Spacing { ends: [pair[0], pair[1]], crowded: [crowds; 2] };
        lines.extend((1..=cells).map(|k| if k == cells { pair[1] } else { spacing.at(k as f64 / cells as f64) }));
    }
    lines
}

fn total(textures: &[Texture], radius: f64, angle: f64) -> Depth {
    textures
        .iter()
        .map(|texture| depth(texture, radius, angle))
        .fold(Depth::default(), |sum, d| Depth { smooth: sum.smooth + d.smooth, walled: sum.walled + d.walled })
}

fn cell_depth(textures: &[Texture], grid: &Grid, i: usize, j: usize) -> CellDepth {
    let (radii, angles, shift) = (grid.across(), grid.along(), grid.shift());
    let mut samples = [0.0; SAMPLES * SAMPLES];
    let mut walled = [f64::INFINITY, f64::NEG_INFINITY];
    for row in 0..SAMPLES {
        let s = (row as f64 + 0.5) / SAMPLES as f64;
        // Straight in the logarithm, as spirals are.
        let radius = radii[i] * (radii[i + 1] / radii[i]).powf(s);
        for column in 0..SAMPLES {
            let t = (column as f64 + 0.5) / SAMPLES as f64;
            let angle = angles[j] + t * (angles[j + 1] - angles[j]) + shift[i] + s * (shift[i + 1] - shift[i]);
            let depth = total(textures, radius, angle);
            walled = [walled[0].min(depth.walled), walled[1].max(depth.walled)];
            samples[row * SAMPLES + column] = depth.smooth + depth.walled;
        }
    }
    if walled[1] - walled[0] > SAME_DEPTH_M {
        return CellDepth::Cut(Box::new(samples));
    }
    let (least, greatest) = samples.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), &s| (f64::min(a, s), f64::max(b, s)));
    let even = greatest - least < SAME_DEPTH_M;
    CellDepth::Even(if even { samples[0] } else { samples.iter().sum::<f64>() / samples.len() as f64 })
}

/// Depths round the circumference at a radius, half from each side of it.
fn distribution(textures: &[Texture], grid: &Grid, radius: f64, edges: [f64; 2]) -> Vec<(f64, f64)> {
    let sides: Vec<f64> =
        [-1.0, 1.0].into_iter().map(|side| radius * (1.0 + side * 1e-9)).filter(|r| *r > edges[0] && *r < edges[1]).collect();
    let angles = grid.along();
    let span = angles[angles.len() - 1] - angles[0];
    let mut found: Vec<(f64, f64)> = Vec::new();
    for &r in &sides {
        let turned = shift(textures, r);
        for pair in angles.windows(2) {
            let depth = total(textures, r, 0.5 * (pair[0] + pair[1]) + turned);
            found.push((depth.smooth + depth.walled, (pair[1] - pair[0]) / (span * sides.len() as f64)));
        }
    }
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut merged: Vec<(f64, f64)> = Vec::new();
    for (depth, share) in found {
        match merged.last_mut() {
            Some(last) if depth - last.0 < SAME_DEPTH_M => last.1 += share,
            _ => merged.push((depth, share)),
        }
    }
    merged
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{DimpleShape, Grooves};

    fn nodes() -> BandNodes {
        BandNodes::uniform(59e-3, 78e-3, 16)
    }

    fn spiral() -> Texture {
        let grooves = Grooves { count: 12, depth_m: 6e-6, radii_m: [68.5e-3, 78e-3], width_ratio: 0.4 };
        Texture {
            on: RingRole::Rotating,
            form: TextureForm::SpiralGrooves { grooves, angle_rad: 15f64.to_radians(), pumps_outward: false },
        }
    }

    fn made(textures: &[Texture]) -> FieldGrid {
        FieldGrid::new(textures, &nodes(), Cells::of(Fineness::Coarse)).unwrap().unwrap()
    }

    fn volume(field: &FieldGrid) -> f64 {
        let grid = &field.grid;
        let cells = (0..grid.rows()).flat_map(|i| (0..grid.columns()).map(move |j| (i, j)));
        grid.sectors() as f64 * cells.map(|(i, j)| grid.cell_area_m2(i, j) * field.mean_depth(grid.cell(i, j))).sum::<f64>()
    }

    #[test]
    fn lines_follow_spiral_grooves_so_that_no_cell_is_cut() {
        let field = made(&[spiral()]);
        assert_eq!(field.sectors(), 12);
        assert!(field.depth.iter().all(|depth| matches!(depth, CellDepth::Even(d) if *d == 0.0 || *d == 6e-6)));
        let exact = 0.4 * 6e-6 * std::f64::consts::PI * (78e-3f64.powi(2) - 68.5e-3f64.powi(2));
        assert!((volume(&field) / exact - 1.0).abs() < 1e-12);
        let line = field.line_of_node[7];
        assert_eq!(field.grid.across()[line], nodes().radius_m[7]);
    }

    #[test]
    fn lines_crowd_toward_the_ends_of_grooves_and_meet_every_node() {
        let field = made(&[spiral()]);
        let radii = field.grid.across();
        let width = |r: f64| radii.windows(2).find(|pair| pair[0] <= r && r < pair[1]).map(|pair| pair[1] - pair[0]).unwrap();
        assert!(width(68.5e-3 + 1e-9) < 0.5 * width(73e-3) && width(68.5e-3 - 1e-9) < 0.5 * width(62e-3));
        for (line, &(k, share)) in field.place.iter().enumerate() {
            let r = &nodes().radius_m;
            let straight = if share == 0.0 { r[k] } else { r[k] + share * (r[k + 1] - r[k]) };
            assert!((radii[line] - straight).abs() < 1e-15, "{line}");
        }
        for (node, &line) in field.line_of_node.iter().enumerate() {
            assert_eq!(radii[line], nodes().radius_m[node]);
        }
        let spacing = Spacing { ends: [1.0, 3.0], crowded: [true, true] };
        for t in [0.0, 0.2, 0.5, 0.9, 1.0] {
            assert!((spacing.place(spacing.at(t)) - t).abs() < 1e-14);
        }
    }

    #[test]
    fn equal_textures_take_one_period_and_unlike_ones_a_common_one() {
        let wave = |count| Texture { on: RingRole::Rotating, form: TextureForm::Waves { count, amplitude_m: 1e-7 } };
        assert_eq!(made(&[wave(9)]).sectors(), 9);
        assert_eq!(made(&[wave(9), wave(6)]).sectors(), 3);
        assert_eq!(made(&[spiral(), wave(8)]).sectors(), 4);
        assert!(made(&[spiral(), wave(8)]).depth.iter().all(|depth| matches!(depth, CellDepth::Even(_))));
        let tilt = Texture { on: RingRole::Rotating, form: TextureForm::Tilt { angle_rad: 1e-5 } };
        assert_eq!(made(&[tilt]).sectors(), 1);
    }

    #[test]
    fn cut_cells_keep_the_volume_of_dimples() {
        for (shape, share) in [(DimpleShape::Cylinder, 1.0), (DimpleShape::SphericalCap, 0.5)] {
            let form = TextureForm::Dimples { count: 90, rows: 3, radius_m: 1e-3, depth_m: 5e-6, shape, radii_m: [60e-3, 77e-3] };
            let field = made(&[Texture { on: RingRole::Stationary, form }]);
            let exact = 270.0 * share * 5e-6 * std::f64::consts::PI * 1e-6;
            assert!((volume(&field) / exact - 1.0).abs() < 0.03, "{shape:?}: {}", volume(&field) / exact);
        }
    }

    #[test]
    fn what_a_node_sees_around_sums_to_one() {
        let field = made(&[spiral()]);
        for node in 0..nodes().len() {
            let shares: f64 = field.around(node).iter().map(|(_, share)| share).sum();
            assert!((shares - 1.0).abs() < 1e-12);
            let deep = field.mean(node, 0.0, |h| h) / 6e-6;
            // A node on the rim sees both sides of it.
            let expected = match nodes().radius_m[node] - 68.5e-3 {
                off if off.abs() < 1e-9 => 0.2,
                off => {
                    if off < 0.0 {
                        0.0
                    } else {
                        0.4
                    }
                }
            };
            assert!((deep - expected).abs() < 1e-9, "{node}: {deep}");
        }
        assert_eq!(field.least_m(&vec![1e-6; nodes().len()]), 1e-6);
    }
}
