//! Contact over the band as nodal pressures.
//!
//! Where a gap opens by several roughnesses within one element, contact pressure falls by powers of ten between two nodes, and a rule that
//! sees the nodes alone is wrong by as much as a sixth. So the pressure is integrated between the nodes, over the straight gap, with the
//! shape functions of the face's elements: nodal forces `F_i = integral of N_i p_c dA`. What is returned is `F_i / integral of N_i dA`, which
//! gives those forces, and their sum, with the weights of the band. Behind a steep edge it can fall a little below zero at one node, as
//! consistent loads do.

use std::f64::consts::PI;

use halfmicron_numerics::quadrature::TWO_POINTS;
use halfmicron_numerics::serendipity::edge_shape;

use super::{ContactLaw, ContactState};
use crate::ring::BandNodes;

/// Nodes on either side of one whose gaps change its pressure.
const REACH: usize = 2;

/// Contact pressures at the nodes of a band, and how they change with the gaps.
#[derive(Debug, Clone, PartialEq)]
pub struct BandContact {
    /// Pressure at each node, Pa.
    pub pressure_pa: Vec<f64>,
    /// Change with the gap of the nodes from two before to two behind, Pa/m.
    by_gap_pa_per_m: Vec<[f64; 2 * REACH + 1]>,
}

impl BandContact {
    /// Contact of a gap at each node, m. `around` gives, at a node whose gap is not the same at every angle, what is added to it and on which
    /// share of the circumference.
    pub fn new<'a>(law: &ContactLaw, nodes: &BandNodes, gap_m: &[f64], around: impl Fn(usize) -> Option<&'a [(f64, f64)]>) -> Self {
        let count = gap_m.len();
        let mut found = Self { pressure_pa: vec![0.0; count], by_gap_pa_per_m: vec![[0.0; 2 * REACH + 1]; count] };
        let states = between_nodes(law, gap_m, around);
        for (state, (interval, (x, weight))) in states.into_iter().zip(places(count)) {
            if state == ContactState::default() {
                continue;
            }
            let start = interval - interval % 2;
            let (a, b) = (nodes.radius_m[interval], nodes.radius_m[interval + 1]);
            let area = weight * 0.5 * (b - a) * 2.0 * PI * (0.5 * (a + b) + 0.5 * (b - a) * x);
            // Place in the whole element, whose middle node stands half way.
            let shape = edge_shape(0.5 * x + if interval == start { -0.5 } else { 0.5 });
            for (local, shape) in shape.into_iter().enumerate() {
                let node = start + local;
                found.pressure_pa[node] += shape * area * state.pressure_pa;
                for (gap, share) in [(interval, 0.5 * (1.0 - x)), (interval + 1, 0.5 * (1.0 + x))] {
                    found.by_gap_pa_per_m[node][gap + REACH - node] += shape * area * share * state.slope_pa_per_m;
                }
            }
        }
        for (node, weight) in nodes.weight_m2.iter().enumerate() {
            found.pressure_pa[node] /= weight;
            found.by_gap_pa_per_m[node].iter_mut().for_each(|slope| *slope /= weight);
        }
        found
    }

    /// Nodes whose gap changes the pressure at one, and by how much, Pa/m.
    pub fn slopes(&self, node: usize) -> impl Iterator<Item = (usize, f64)> + '_ {
        let count = self.pressure_pa.len();
        let all = self.by_gap_pa_per_m[node].iter().enumerate();
        all.filter_map(move |(place, slope)| (node + place).checked_sub(REACH).filter(|other| *other < count).map(|other| (other, *slope)))
    }
}

/// Intervals between nodes, two points in each.
fn places(count: usize) -> impl Iterator<Item = (usize, (f64, f64))> {
    (0..count.saturating_sub(1)).flat_map(|interval| TWO_POINTS.map(|point| (interval, point)))
}

/// Contact at every place of [`places`].
fn between_nodes<'a>(law: &ContactLaw, gap_m: &[f64], around: impl Fn(usize) -> Option<&'a [(f64, f64)]>) -> Vec<ContactState> {
    let gap = |interval: usize, x: f64| gap_m[interval] + 0.5 * (1.0 + x) * (gap_m[interval + 1] - gap_m[interval]);
    let even: Vec<f64> = places(gap_m.len()).map(|(interval, (x, _))| gap(interval, x)).collect();
    if around(0).is_none() {
        return law.over(&even);
    }
    let (mut gaps, mut shares, mut counts) = (Vec::new(), Vec::new(), Vec::new());
    for ((interval, (x, _)), gap) in places(gap_m.len()).zip(even) {
        let before = gaps.len();
        let sides = [interval, interval + 1].map(|node| around(node).unwrap_or(&[]));
        mix(sides, 0.5 * (1.0 + x), |depth, share| {
            gaps.push(gap + depth);
            shares.push(share);
        });
        counts.push(gaps.len() - before);
    }
    let mut states = law.over(&gaps).into_iter().zip(shares);
    counts
        .into_iter()
        .map(|count| {
            states.by_ref().take(count).fold(ContactState::default(), |sum, (state, share)| ContactState {
                pressure_pa: sum.pressure_pa + share * state.pressure_pa,
                slope_pa_per_m: sum.slope_pa_per_m + share * state.slope_pa_per_m,
            })
        })
        .collect()
}

/// What is added to the gap, and on which share, between two nodes: straight from one to the other where both have as many depths, else some
/// of each.
fn mix([first, second]: [&[(f64, f64)]; 2], place: f64, mut found: impl FnMut(f64, f64)) {
    if first.len() == second.len() {
        first.iter().zip(second).for_each(|(a, b)| found(a.0 + place * (b.0 - a.0), a.1 + place * (b.1 - a.1)));
    } else {
        first.iter().for_each(|(depth, share)| found(*depth, (1.0 - place) * share));
        second.iter().for_each(|(depth, share)| found(*depth, place * share));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LAW: ContactLaw = ContactLaw { roughness_m: 1.3e-7, elastic_scale_pa: 6.0e6, plastic_pressure_pa: 3.0e8 };

    /// A face of 6 mm that opens by a micrometre and a half towards its outer edge, on few elements.
    fn coned() -> (BandNodes, Vec<f64>) {
        let nodes = BandNodes::uniform(24e-3, 30e-3, 8);
        let gap = nodes.radius_m.iter().map(|r| 1e-7 + 1.5e-6 * (r - 24e-3) / 6e-3).collect();
        (nodes, gap)
    }

    fn flat<'a>(_: usize) -> Option<&'a [(f64, f64)]> {
        None
    }

    fn force(nodes: &BandNodes, pressure: &[f64]) -> f64 {
        nodes.weight_m2.iter().zip(pressure).map(|(w, p)| w * p).sum()
    }

    /// Force of the straight gap, by a thousand points.
    fn fine(gap: impl Fn(f64) -> f64) -> f64 {
        let width = 6e-3 / 1e3;
        (0..1000).map(|k| 24e-3 + (k as f64 + 0.5) * width).map(|r| 2.0 * PI * r * width * LAW.at(gap(r)).pressure_pa).sum()
    }

    #[test]
    fn the_force_of_a_steep_gap_is_that_of_a_fine_quadrature_where_nodes_alone_are_far_off() {
        let (nodes, gap) = coned();
        let exact = fine(|r| 1e-7 + 1.5e-6 * (r - 24e-3) / 6e-3);
        let found = force(&nodes, &BandContact::new(&LAW, &nodes, &gap, flat).pressure_pa);
        assert!((found / exact - 1.0).abs() < 1e-2, "{found} N instead of {exact} N");
        let nodal: Vec<f64> = LAW.over(&gap).iter().map(|state| state.pressure_pa).collect();
        assert!((force(&nodes, &nodal) / exact - 1.0).abs() > 2e-2, "{} N", force(&nodes, &nodal));
    }

    #[test]
    fn an_even_gap_has_the_same_pressure_everywhere() {
        let (nodes, _) = coned();
        let even = BandContact::new(&LAW, &nodes, &vec![1.7e-7; nodes.len()], flat);
        let alone = LAW.at(1.7e-7).pressure_pa;
        assert!(even.pressure_pa.iter().all(|p| (p / alone - 1.0).abs() < 1e-12), "{:?}", even.pressure_pa);
    }

    #[test]
    fn slopes_are_the_difference_quotients() {
        let (nodes, gap) = coned();
        let found = BandContact::new(&LAW, &nodes, &gap, flat);
        let step = 1e-12;
        for j in 0..nodes.len() {
            let moved = |by: f64| {
                let mut gap = gap.clone();
                gap[j] += by;
                BandContact::new(&LAW, &nodes, &gap, flat).pressure_pa
            };
            let (up, down) = (moved(step), moved(-step));
            let scale = LAW.at(gap[j]).slope_pa_per_m.abs();
            for i in 0..nodes.len() {
                let quotient = (up[i] - down[i]) / (2.0 * step);
                let slope: f64 = found.slopes(i).filter(|(other, _)| *other == j).map(|(_, slope)| slope).sum();
                assert!((slope - quotient).abs() < 1e-5 * scale + 1e3, "{i} by {j}: {slope:e} {quotient:e}");
            }
        }
    }

    #[test]
    fn what_is_the_same_at_every_angle_is_as_without_angles() {
        let (nodes, gap) = coned();
        let none = [(0.0, 0.25), (0.0, 0.75)];
        let turned = BandContact::new(&LAW, &nodes, &gap, |_| Some(&none));
        let plain = BandContact::new(&LAW, &nodes, &gap, flat);
        for (a, b) in turned.pressure_pa.iter().zip(&plain.pressure_pa) {
            assert!((a - b).abs() <= 1e-12 * b.abs().max(1.0));
        }
        // Half of the circumference far apart halves the force.
        let half = [(0.0, 0.5), (1e-4, 0.5)];
        let torn = BandContact::new(&LAW, &nodes, &gap, |_| Some(&half));
        assert!((force(&nodes, &torn.pressure_pa) / force(&nodes, &plain.pressure_pa) - 0.5).abs() < 1e-12);
        // So does a groove far deeper that begins at a node, on its side of it.
        let whole = [(0.0, 1.0)];
        let begun = BandContact::new(&LAW, &nodes, &gap, |node| Some(if node < 4 { &whole } else { &half }));
        let carried = force(&nodes, &begun.pressure_pa) / force(&nodes, &plain.pressure_pa);
        assert!((0.5..1.0).contains(&carried), "{carried}");
    }

    #[test]
    fn faces_apart_touch_nowhere() {
        let (nodes, _) = coned();
        let apart = BandContact::new(&LAW, &nodes, &vec![3e-6; nodes.len()], flat);
        assert!(apart.pressure_pa.iter().all(|p| *p == 0.0) && apart.slopes(3).all(|(_, slope)| slope == 0.0));
        assert_eq!(apart.slopes(0).count(), 3);
    }
}
