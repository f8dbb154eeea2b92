//! Full fields of a ring at one state of its face: temperatures, displacements, stresses, balances.

use faer::Mat;
use halfmicron_numerics::elasticity::{self, NodalStress, nodal_stresses};
use halfmicron_numerics::heat::{self, Geometry};
use halfmicron_numerics::mesh::EdgeSpan;

use super::conductance::film;
use super::loads::Load;
use super::reduction::{add_product, check};
use super::section::{Hold, Section};
use super::{RingConditions, RingError, RingReduction};
use crate::model::RingRole;
use crate::outcome::{FitResult, Stress};

/// Temperature to which loosening of a fit is looked for, K.
const HOTTEST_FIT_K: f64 = 1300.0;

/// Friction of a shrink fit for its slip torque (common practice, no source).
const FIT_FRICTION: f64 = 0.1;

/// Everything about one ring at one state of its face.
#[derive(Debug, Clone, PartialEq)]
pub struct RingState {
    /// Temperature at each node of the mesh, K.
    pub temperature_k: Vec<f64>,
    /// Displacement `[radial, axial]` at each node, m, the mean of the support at rest.
    pub displacement_m: Vec<[f64; 2]>,
    /// Stresses at nodes, averaged per material.
    pub stresses: Vec<NodalStress>,
    /// Face temperature at the band nodes, K.
    pub face_temperature_k: Vec<f64>,
    /// Axial deflection of the face into the body against its lapped state, m.
    pub face_deflection_m: Vec<f64>,
    /// The same at each node of the mesh, m.
    pub axial_deflection_m: Vec<f64>,
    /// Part of it by heat, m, up to a constant over the face.
    pub thermal_deflection_m: Vec<f64>,
    /// Heat entering over the band, W.
    pub face_heat_w: f64,
    /// Heat leaving by convection, integrated over the reconstructed temperatures, W.
    pub convected_heat_w: f64,
    /// Heat exchanged by convection, entering and leaving surfaces added up, W: what a balance of heat is measured by.
    pub exchanged_heat_w: f64,
    /// Area mean of temperature over the section's volume, K.
    pub mean_temperature_k: f64,
    /// Temperature at the secondary-seal point, K.
    pub secondary_seal_temperature_k: f64,
    /// Sum of the axial forces applied, N into the body: face, fluid, springs, secondary seal.
    pub applied_force_n: f64,
    /// Force of the support towards the face, from the stresses of the elements that touch it, N.
    pub reaction_n: f64,
    /// Greatest unbalanced nodal force away from the support, N.
    pub unbalanced_n: f64,
    /// Stresses and places not assessed.
    pub stress: Stress,
    /// Speed at which tension by spin alone reaches the strength, over the speed; none at standstill or without strength.
    pub burst_speed_ratio: Option<f64>,
    /// Interference fits.
    pub fits: Vec<FitResult>,
}

impl RingReduction {
    /// Full fields for a face pressure above the low pressure (Pa) and a face flux into the ring (W/m2), by band node.
    ///
    /// # Errors
    /// As [`RingReduction::respond`]; lists of the wrong length.
    pub fn state(&self, conditions: &RingConditions, face_pressure_pa: &[f64], face_flux_w_per_m2: &[f64]) -> Result<RingState, RingError> {
        check(conditions)?;
        let nodes = self.band.radius_m.len();
        self.check_face(&[face_pressure_pa, face_flux_w_per_m2])?;
        let mesh = &self.section.mesh;
        let boundary = self.boundary_temperature(conditions, face_flux_w_per_m2)?;
        let extended = self.heat.extend(Mat::from_fn(boundary.len(), 1, |i, _| boundary[i]).as_ref())?;
        let places: Vec<f64> = (0..mesh.place_count).map(|i| extended[(i, 0)]).collect();
        let rise = self.rise(&places);

        let loads = self.applied(conditions, face_pressure_pa);
        let boundary_rise = self.rise(&boundary);
        let reduced = self.with_thermal(&loads.all.reduced, &boundary_rise);
        let settled = self.settle(&reduced)?;
        let fit_state = settled.as_ref().unwrap_or(self.as_lapped());
        let retained = self.retained_displacement(fit_state, &reduced);
        let mut full = loads.all.full.clone();
        elasticity::add_thermal_load(mesh, &self.materials, &rise, &mut full);
        let displacement = self.whole_displacement(&retained, &full)?;

        let internal = elasticity::internal_forces(mesh, &self.materials, &displacement, &rise);
        let (reaction_n, unbalanced_n) = self.reaction(&internal, &loads.without_support.full);
        let shift = self.support_motion(&displacement);
        let stresses = nodal_stresses(mesh, &self.materials, &displacement, &rise);
        let thermal_only = self.with_thermal(&vec![0.0; reduced.len()], &boundary_rise);
        let mut thermal_deflection_m = vec![0.0; nodes];
        add_product(&fit_state.compliance.matrix, &thermal_only, &mut thermal_deflection_m);
        let fits = self.fit_results(&fit_state.flags, &retained, &reduced)?;
        let lapped = self.lapped_displacement(displacement.len())?;
        Ok(RingState {
            face_temperature_k: mesh.line.iter().map(|node| places[mesh.places[*node]]).collect(),
            face_deflection_m: mesh
                .line
                .iter()
                .enumerate()
                .map(|(i, node)| displacement[2 * node + 1] - shift - self.lapped_fit_m[i])
                .collect(),
            axial_deflection_m: (0..mesh.nodes.len()).map(|n| displacement[2 * n + 1] - shift - lapped[2 * n + 1]).collect(),
            thermal_deflection_m,
            face_heat_w: self.band.weight_m2.iter().zip(face_flux_w_per_m2).map(|(w, q)| w * q).sum(),
            convected_heat_w: self.convected(conditions, &places).sum(),
            exchanged_heat_w: self.convected(conditions, &places).map(f64::abs).sum(),
            mean_temperature_k: self.mean_temperature(&places),
            secondary_seal_temperature_k: edge_value(&self.section, &places),
            applied_force_n: loads.without_support.axial_n,
            reaction_n,
            unbalanced_n,
            stress: self.greatest(&stresses),
            burst_speed_ratio: self.burst_speed_ratio(conditions)?,
            fits,
            displacement_m: (0..mesh.nodes.len()).map(|n| [displacement[2 * n], displacement[2 * n + 1] - shift]).collect(),
            stresses,
            temperature_k: mesh.places.iter().map(|place| places[*place]).collect(),
        })
    }

    fn applied(&self, conditions: &RingConditions, face_pressure_pa: &[f64]) -> Applied {
        let mut without_support = Load::none(2 * self.section.mesh.nodes.len(), self.stiffness.nrows());
        self.add_mechanical(conditions, &mut without_support);
        self.add_face(face_pressure_pa, &mut without_support);
        let mut all = without_support.clone();
        all.add(&self.loads.support, -without_support.axial_n);
        Applied { without_support, all }
    }

    fn whole_displacement(&self, retained: &[f64], load: &[f64]) -> Result<Vec<f64>, RingError> {
        let mut displacement = Mat::from_fn(load.len(), 1, |i, _| load[i]);
        self.elastic.solve_held(&mut displacement, Mat::from_fn(retained.len(), 1, |i, _| retained[i]).as_ref())?;
        Ok(displacement.col_as_slice(0).to_vec())
    }

    /// Displacements by the fits alone, in the state in which the face was lapped, m.
    fn lapped_displacement(&self, unknowns: usize) -> Result<Vec<f64>, RingError> {
        let retained = self.retained_displacement(self.as_lapped(), &vec![0.0; self.stiffness.nrows()]);
        if retained.iter().all(|value| *value == 0.0) {
            return Ok(vec![0.0; unknowns]);
        }
        self.whole_displacement(&retained, &vec![0.0; unknowns])
    }

    /// Reaction towards the face, and the greatest axial force left over elsewhere.
    fn reaction(&self, internal: &[f64], applied: &[f64]) -> (f64, f64) {
        let mesh = &self.section.mesh;
        let mut held = vec![false; mesh.nodes.len()];
        match &self.section.hold {
            Hold::Circle(place) => place.edge.nodes.iter().for_each(|node| held[*node] = true),
            Hold::Spread(spans) => spans.iter().flat_map(|span| span.edge.nodes).for_each(|node| held[node] = true),
            Hold::Nodes(nodes) => nodes.iter().for_each(|node| held[*node] = true),
        }
        // the two sides of an interface exchange forces: look at their sum
        let mut left: Vec<f64> = (0..mesh.nodes.len()).map(|n| internal[2 * n + 1] - applied[2 * n + 1]).collect();
        for twin in &mesh.twins {
            left[twin.inner] += left[twin.outer];
            left[twin.outer] = 0.0;
            held[twin.inner] |= held[twin.outer];
        }
        let reaction = -(0..mesh.nodes.len()).filter(|n| held[*n]).map(|n| left[n]).sum::<f64>();
        let unbalanced = (0..mesh.nodes.len()).filter(|n| !held[*n]).map(|n| left[n].abs()).fold(0.0, f64::max);
        (reaction, unbalanced)
    }

    /// Mean axial motion of the support, m.
    fn support_motion(&self, displacement: &[f64]) -> f64 {
        self.loads.support.full.iter().zip(displacement).map(|(f, u)| f * u).sum()
    }

    /// Heat that leaves by convection over each surface, W.
    fn convected<'a>(&'a self, conditions: &'a RingConditions, places: &'a [f64]) -> impl Iterator<Item = f64> + 'a {
        self.section.surfaces.iter().map(move |surface| {
            let (coefficient, bulk) = film(surface, conditions);
            heat::convected(&self.section.mesh, Geometry::Axisymmetric, &surface.span, places, coefficient, bulk)
        })
    }

    fn mean_temperature(&self, places: &[f64]) -> f64 {
        let shares = self.volume_share.get_or_init(|| self.volume_shares());
        shares.iter().zip(places).map(|(share, temperature)| share * temperature).sum()
    }

    fn volume_shares(&self) -> Vec<f64> {
        let mesh = &self.section.mesh;
        let mut shares = vec![0.0; mesh.place_count];
        for (element, matrix) in mesh.elements.iter().zip(heat::capacities(mesh, Geometry::Axisymmetric, |_, _| 1.0)) {
            for i in 0..8 {
                shares[mesh.places[element.nodes[i]]] += matrix[8 * i..8 * i + 8].iter().sum::<f64>();
            }
        }
        let volume: f64 = shares.iter().sum();
        shares.iter_mut().for_each(|share| *share /= volume);
        shares
    }

    /// Greatest stresses outside the singular places.
    pub(super) fn greatest(&self, stresses: &[NodalStress]) -> Stress {
        let mesh = &self.section.mesh;
        let mut result = Stress {
            not_assessed: self.section.singular.iter().map(|place| place.name.clone()).filter(|name| !name.is_empty()).collect(),
            ..Stress::default()
        };
        let mut tension = f64::NEG_INFINITY;
        for entry in stresses.iter().filter(|entry| !self.section.masked(mesh.nodes[entry.node])) {
            let greatest = entry.stress.principal()[0];
            if greatest > tension {
                tension = greatest;
                result.tension_max = greatest;
                result.tension_at_m = mesh.nodes[entry.node];
                result.tension_material = self.solids[entry.material].name.clone();
            }
            result.von_mises_max = result.von_mises_max.max(entry.stress.von_mises());
        }
        result
    }

    /// Speed at which tension by spin alone reaches the strength of a part, over the speed of the duty.
    fn burst_speed_ratio(&self, conditions: &RingConditions) -> Result<Option<f64>, RingError> {
        let speed = conditions.speed_rad_per_s.abs();
        if self.ring.role != RingRole::Rotating || speed == 0.0 {
            return Ok(None);
        }
        let burst = self.burst_speed.get_or_init(|| self.find_burst_speed()).clone()?;
        Ok(burst.map(|burst| burst / speed))
    }

    /// The speed itself, rad/s; it is the same at every duty.
    fn find_burst_speed(&self) -> Result<Option<f64>, RingError> {
        let spin = &self.loads.spin;
        let mut retained = vec![0.0; spin.reduced.len()];
        add_product(&self.as_lapped().compliance.matrix, &spin.reduced, &mut retained);
        let displacement = self.whole_displacement(&retained, &spin.full)?;
        let cold = vec![0.0; self.section.mesh.place_count];
        let speed = nodal_stresses(&self.section.mesh, &self.materials, &displacement, &cold)
            .iter()
            .filter(|entry| !self.section.masked(self.section.mesh.nodes[entry.node]))
            .filter_map(|entry| {
                let strength = self.solids[entry.material].tension_pa?;
                let tension = entry.stress.principal()[0];
                (tension > 0.0).then(|| (strength / tension).sqrt())
            })
            .fold(f64::INFINITY, f64::min);
        Ok(speed.is_finite().then_some(speed))
    }

    fn fit_results(&self, closed: &[bool], retained: &[f64], load: &[f64]) -> Result<Vec<FitResult>, RingError> {
        if self.jump_fit.is_empty() {
            return Ok(Vec::new());
        }
        let mesh = &self.section.mesh;
        let force = self.jump_forces(retained, load);
        let touching: Vec<bool> = self.jump_fit.iter().map(Option::is_none).collect();
        let released = self.settle_among(load, &touching)?;
        let free = self.retained_displacement(released.as_ref().unwrap_or(self.as_lapped()), load);
        Ok(mesh
            .fits
            .iter()
            .enumerate()
            .map(|(index, fit)| {
                let jumps: Vec<usize> = (0..self.jump_fit.len()).filter(|k| self.jump_fit[*k] == Some(index)).collect();
                let area: f64 =
                    fit.edges.iter().map(|edge| heat::edge_weights(mesh, Geometry::Axisymmetric, &edge.whole()).iter().sum::<f64>()).sum();
                let pressing: f64 = jumps.iter().filter(|k| closed[**k]).map(|k| force[*k].max(0.0)).sum();
                let pressure_pa = pressing / area;
                let overlap = |k: &usize| {
                    let [a, b] = self.constraints.jumps[*k];
                    self.interference_m[*k] - (free[b] - free[a])
                };
                FitResult {
                    radius_m: fit.radius,
                    pressure_pa,
                    interference_m: jumps.iter().map(overlap).sum::<f64>() / jumps.len().max(1) as f64,
                    slip_torque_n_m: FIT_FRICTION * pressing * fit.radius,
                    loosening_temperature_k: self.loosening_temperature(index),
                }
            })
            .collect())
    }

    /// Least uniform temperature above that of the fit at which the free sizes of the two parts agree, K.
    fn loosening_temperature(&self, fit: usize) -> Option<f64> {
        const STEP_K: f64 = 2.0;
        let line = &self.section.mesh.fits[fit];
        let stated = self.ring.parts[line.piece].fit?;
        let inner = self.section.mesh.elements[line.edges.first()?.element].material;
        let grip = |temperature: f64| {
            let rise = temperature - stated.temperature_k;
            let strain = |part: usize| {
                let mean = if self.from_materials {
                    self.ring.parts[part].material.mean_expansion(stated.temperature_k, temperature).value
                } else {
                    self.materials[part].expansion
                };
                mean * rise
            };
            stated.interference_m - line.radius * (strain(line.piece) - strain(inner))
        };
        let steps = (HOTTEST_FIT_K - stated.temperature_k) / STEP_K;
        let mut before = grip(stated.temperature_k);
        for k in 1..=steps.max(0.0) as usize {
            let temperature = stated.temperature_k + STEP_K * k as f64;
            let now = grip(temperature);
            if before > 0.0 && now <= 0.0 {
                return Some(temperature - STEP_K * now / (now - before));
            }
            before = now;
        }
        None
    }
}

pub(super) struct Applied {
    pub without_support: Load,
    pub all: Load,
}

impl Section {
    /// Whether a point lies where stress is singular.
    fn masked(&self, point: [f64; 2]) -> bool {
        self.singular.iter().any(|place| (point[0] - place.position_m[0]).hypot(point[1] - place.position_m[1]) < place.mask_m)
    }
}

/// Temperature at the secondary-seal point, K.
fn edge_value(section: &Section, places: &[f64]) -> f64 {
    let place = &section.secondary_seal;
    let span: EdgeSpan = place.edge.whole();
    let shape = span.edge.at(&section.mesh, place.s).shape;
    (0..3).map(|k| shape[k] * places[section.mesh.places[place.edge.nodes[k]]]).sum()
}
