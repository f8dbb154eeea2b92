//! One ring reduced to its face and its wetted edges.
//!
//! **What.** Conduction, expansion and elasticity of a ring's section; what remains after one factorisation each are small
//! dense matrices over the nodes of the running band (elastic) and over band and wetted edges (heat).
//! **Equation.** `S = K_BB - K_BI K_II^-1 K_IB` for both fields; the thermal load of boundary temperatures is carried to the
//! band by `E^T C H`, with `E`, `H` the static extensions of the two fields and `C` the coupling. Film coefficients act on the
//! wetted edges only, so a new coefficient needs the small dense conductance alone.
//! **Valid when.** Small strain, isotropic parts, one conductivity a part (taken at the ring's temperature). The face is flat as
//! lapped: free of pressure, at the stress-free temperature, interference fits in place; deflections are measured from there.
//! A fit presses on its cylinder or parts. Without a floor behind it the insert sticks to the cylinder along the axis. An insert
//! pressed home on a floor presses on it or parts from it and slides on it and along the cylinder without friction, but for the
//! node of the cylinder nearest to the floor, which holds it: friction (some 0.1 of the pressure of the fit) is far below what would
//! hinder the difference of expansion. Contacts carry heat as if whole, and no fluid gets between them.
//! **Source.** Guyan, AIAA J. 3 (1965) 380 (static condensation); finite elements as in `halfmicron_numerics`.
//! **Checked by.** E1, E2, E4, E5, E6, E7, E8, E9, T2, T3.

use std::sync::OnceLock;

use faer::Mat;
use halfmicron_numerics::constraint::{Compliance, ConstraintError, Constraints, OneSided};
use halfmicron_numerics::elasticity::{self, ElasticMatrix, Isotropic};
use halfmicron_numerics::heat::{self, Geometry, ScalarMatrix};
use halfmicron_numerics::mesh::{Element, Mesh};
use halfmicron_numerics::sparse::{Factor, Symbolic};

use super::conductance::{Conductance, HeatPlaces};
use super::loads::{Load, Loads, hydraulic_closing, unit_loads};
use super::retained::Retained;
use super::section::{MeshOptions, Section, Surface};
use super::{BandNodes, RingConditions, RingError, RingResponse, Solid};
use crate::model::{BandLimits, PressureSide, Ring, RingRole};
use crate::notice::Notice;

/// Pressure at which faces are lapped and measured, Pa: deflections by the general level of pressure count from here.
const ATMOSPHERE_PA: f64 = 101_325.0;

/// A ring with its factorisations.
#[derive(Debug, Clone)]
pub struct RingReduction {
    pub(super) ring: Ring,
    pub(super) side: PressureSide,
    options: MeshOptions,
    pub(super) solids: Vec<Solid>,
    pub(super) materials: Vec<Isotropic>,
    pub(super) section: Section,
    pub(super) band: BandNodes,
    pub(super) mass: Mat<f64>,
    pub(super) elastic: Factor,
    pub(super) heat: Factor,
    conductance: Conductance,
    pub(super) stiffness: Mat<f64>,
    pub(super) constraints: Constraints,
    /// Index into the mesh's fits of each jump; none where bodies only touch.
    pub(super) jump_fit: Vec<Option<usize>>,
    /// Interference of each jump at the stress-free temperature, m.
    pub(super) interference_m: Vec<f64>,
    /// Reduced thermal load per boundary temperature, N/K.
    pub(super) coupling: Mat<f64>,
    /// The contacts of a ring with fits: flexibility of the jumps, and compliance with all of them open.
    contacts: Option<(OneSided, Mat<f64>)>,
    as_lapped: Closed,
    /// Face deflection by the fits as lapped, m.
    pub(super) lapped_fit_m: Vec<f64>,
    pub(super) loads: Loads,
    notices: Vec<Notice>,
    /// Whether the solids were taken from the parts' materials.
    pub(super) from_materials: bool,
    /// Speed at which tension by spin alone reaches the strength, rad/s; found when it is first asked for.
    pub(super) burst_speed: OnceLock<Result<Option<f64>, RingError>>,
    /// Share of the section's volume that each place of the mesh stands for; found when it is first asked for.
    pub(super) volume_share: OnceLock<Vec<f64>>,
}

/// What follows from one state of the fits.
#[derive(Debug, Clone)]
pub(super) struct Closed {
    pub flags: Vec<bool>,
    pub compliance: Compliance,
    /// Face deflection per boundary temperature, m/K.
    deflection_per_temperature: Mat<f64>,
    deflection_per_pressure: Mat<f64>,
    /// Travel of the inner edge of the band into the body, from where the ring is held, per face pressure at each node, m/Pa.
    edge_travel_per_pressure: Vec<f64>,
}

impl RingReduction {
    /// Mesh and reduce a ring with its materials at the stress-free temperature.
    ///
    /// # Errors
    /// [`RingError`] says what of the section, its support or its materials cannot be.
    pub fn new(ring: &Ring, band: &BandLimits, side: PressureSide, options: &MeshOptions) -> Result<Self, RingError> {
        Self::at_temperature(ring, band, side, options, ring.stress_free_temperature_k)
    }

    /// Whether material values of a ring change with temperature: without tables one reduction serves every temperature.
    pub fn changes_with_temperature(ring: &Ring) -> bool {
        ring.parts.iter().any(|part| !part.material.tables().is_empty())
    }

    /// What the reader must know of the material values of a ring at a temperature, K.
    ///
    /// # Errors
    /// [`RingError::BadCondition`] for a temperature that is none.
    pub fn notices_at(ring: &Ring, temperature_k: f64) -> Result<Vec<Notice>, RingError> {
        solids_at(ring, temperature_k).map(|(_, notices)| notices)
    }

    /// Mesh and reduce a ring with material values at the given mean temperature, K.
    ///
    /// Values that change with temperature are taken once for the whole ring. Pass the mean temperature of the ring over its
    /// volume ([`super::RingState::mean_temperature_k`]); before it is known, the bulk temperature of the sealed fluid, which is
    /// nearer to it than the face. Renew ([`RingReduction::renewed_at`]) when it has moved by more than the tables resolve.
    ///
    /// # Errors
    /// As [`RingReduction::new`].
    pub fn at_temperature(
        ring: &Ring,
        band: &BandLimits,
        side: PressureSide,
        options: &MeshOptions,
        temperature_k: f64,
    ) -> Result<Self, RingError> {
        if ring.parts.is_empty() {
            return Err(RingError::NoSection);
        }
        let (solids, notices) = solids_at(ring, temperature_k)?;
        let mut reduction = Self::with_solids(ring, &solids, band, side, options)?;
        reduction.notices = notices;
        reduction.from_materials = true;
        Ok(reduction)
    }

    /// The same ring with material values at another mean temperature, K. Where none of them changes, this only copies.
    ///
    /// # Errors
    /// As [`RingReduction::new`].
    pub fn renewed_at(&self, temperature_k: f64) -> Result<Self, RingError> {
        let (solids, notices) = solids_at(&self.ring, temperature_k)?;
        let mut reduction = if solids == self.solids {
            self.clone()
        } else {
            let radius = &self.band.radius_m;
            let band = BandLimits { inner_radius_m: radius[0], outer_radius_m: radius[radius.len() - 1] };
            Self::with_solids(&self.ring, &solids, &band, self.side, &self.options)?
        };
        reduction.notices = notices;
        reduction.from_materials = true;
        Ok(reduction)
    }

    /// Mesh and reduce a ring whose parts have the given properties, in the order of its parts.
    ///
    /// # Errors
    /// [`RingError`] says what of the section, its support or its properties cannot be.
    pub fn with_solids(
        ring: &Ring,
        solids: &[Solid],
        band: &BandLimits,
        side: PressureSide,
        options: &MeshOptions,
    ) -> Result<Self, RingError> {
        for solid in solids {
            solid.check()?;
        }
        let band = BandNodes::new(band, options.band_elements)?;
        let section = Section::new(ring, solids, &band, side, options)?;
        let mesh = &section.mesh;
        let materials: Vec<Isotropic> = solids.iter().map(Solid::isotropic).collect();

        let retained = Retained::new(&section);
        let elements: Vec<[usize; 8]> = mesh.elements.iter().map(|element| element.nodes).collect();
        let symbolic = Symbolic::new(&mesh.nodes, &elements, 2, &retained.unknowns, &[])?;
        let elastic = Factor::new(&symbolic, elasticity::stiffness_writer(mesh, &materials), &[])?;

        let places = HeatPlaces::new(&section);
        let conductivity = |_, element: &Element| solids[element.material].conductivity_w_per_m_k;
        let symbolic = Symbolic::new(&heat::place_coordinates(mesh), &heat::place_elements(mesh), 1, &places.places, &[])?;
        let heat = Factor::new(&symbolic, heat::conductance_writer(mesh, Geometry::Axisymmetric, conductivity), &[])?;

        let coupling = coupling(mesh, &materials, &elastic, &heat);
        let loads = unit_loads(ring, &section, &materials, &elastic)?;
        let stiffness = elastic.trailing_schur();
        let interference_m = retained.jump_fit.iter().map(|fit| interference(ring, mesh, &materials, *fit)).collect();
        let mass = band.mass();
        let conductance = Conductance::new(&section, &places, &heat, &mass);
        let jumps = retained.jump_fit.len();
        let contacts = if jumps == 0 {
            None
        } else {
            let released = retained.constraints.compliance(stiffness.as_ref(), &vec![false; jumps])?;
            Some((OneSided::new(&retained.constraints, &released), released.matrix))
        };
        let closed = closed_state(&band, &mass, &retained.constraints, &stiffness, &coupling, &loads, vec![true; jumps])?;
        let mut reduction = Self {
            ring: ring.clone(),
            side,
            options: *options,
            solids: solids.to_vec(),
            materials,
            lapped_fit_m: vec![0.0; band.radius_m.len()],
            section,
            band,
            mass,
            elastic,
            heat,
            conductance,
            stiffness,
            constraints: retained.constraints,
            jump_fit: retained.jump_fit,
            interference_m,
            coupling,
            contacts,
            as_lapped: closed,
            loads,
            notices: Vec::new(),
            from_materials: false,
            burst_speed: OnceLock::new(),
            volume_share: OnceLock::new(),
        };
        let unloaded = vec![0.0; reduction.stiffness.nrows()];
        if let Some(as_lapped) = reduction.settle(&unloaded)? {
            reduction.as_lapped = as_lapped;
        }
        reduction.lapped_fit_m = (0..reduction.band.radius_m.len()).map(|i| reduction.jump_deflection(&reduction.as_lapped, i)).collect();
        Ok(reduction)
    }

    /// Nodes of the running band, the same for both rings of a seal.
    pub fn band(&self) -> &BandNodes {
        &self.band
    }

    /// What the reader must know of the material values taken.
    pub fn notices(&self) -> &[Notice] {
        &self.notices
    }

    /// The mesh.
    pub fn mesh(&self) -> &Mesh {
        &self.section.mesh
    }

    /// The surface outside the band with what wets it.
    pub fn surfaces(&self) -> &[Surface] {
        &self.section.surfaces
    }

    /// Properties of the parts as used.
    pub fn solids(&self) -> &[Solid] {
        &self.solids
    }

    /// Element stiffness matrices, N/m.
    pub fn stiffness_matrices(&self) -> Vec<ElasticMatrix> {
        elasticity::stiffnesses(&self.section.mesh, &self.materials)
    }

    /// Element conductance matrices, W/K.
    pub fn conductance_matrices(&self) -> Vec<ScalarMatrix> {
        heat::conductances(&self.section.mesh, Geometry::Axisymmetric, |_, element| self.solids[element.material].conductivity_w_per_m_k)
    }

    /// Element capacity matrices, J/K.
    pub fn capacity_matrices(&self) -> Vec<ScalarMatrix> {
        heat::capacities(&self.section.mesh, Geometry::Axisymmetric, |_, element| {
            self.solids[element.material].density_kg_per_m3 * self.solids[element.material].specific_heat_j_per_kg_k
        })
    }

    /// Element matrices from temperature to nodal force, N/K, 16 by 8.
    pub fn coupling_matrices(&self) -> Vec<[f64; 128]> {
        elasticity::couplings(&self.section.mesh, &self.materials)
    }

    /// Linear response of the face at given surroundings.
    ///
    /// The contacts of a ring with fits are those under the face pressure that closes the axial balance (a film that falls
    /// linearly over the band and even contact) without face heat; [`RingReduction::respond_about`] takes them at a face state.
    ///
    /// # Errors
    /// [`RingError::BadCondition`] for a condition that is no number, [`RingError::Insulated`] when no surface takes heat away.
    pub fn respond(&self, conditions: &RingConditions) -> Result<RingResponse, RingError> {
        check(conditions)?;
        let nodes = self.band.radius_m.len();
        self.linear_response(conditions, &self.balancing_pressure(conditions), &vec![0.0; nodes])
    }

    /// As [`RingReduction::respond`], with contacts as they are under a face pressure above the low pressure (Pa) and a face flux
    /// into the ring (W/m2), by band node. Without interference fits both agree.
    ///
    /// # Errors
    /// As [`RingReduction::respond`]; lists of the wrong length.
    pub fn respond_about(
        &self,
        conditions: &RingConditions,
        face_pressure_pa: &[f64],
        face_flux_w_per_m2: &[f64],
    ) -> Result<RingResponse, RingError> {
        check(conditions)?;
        self.check_face(&[face_pressure_pa, face_flux_w_per_m2])?;
        self.linear_response(conditions, face_pressure_pa, face_flux_w_per_m2)
    }

    fn linear_response(&self, conditions: &RingConditions, pressure: &[f64], flux: &[f64]) -> Result<RingResponse, RingError> {
        let nodes = self.band.radius_m.len();
        let boundary = self.conductance.temperatures(&self.section.surfaces, conditions)?;
        let by_flux = boundary.subcols(0, nodes);
        let band = self.conductance.band_row();
        let temperature_k = boundary.col_as_slice(nodes)[band..].to_vec();
        let temperature_per_flux = by_flux.subrows(band, nodes).to_owned();

        let mut mechanical = Load::none(0, self.stiffness.nrows());
        self.add_mechanical(conditions, &mut mechanical);
        let rise = self.rise(boundary.col_as_slice(nodes));
        let settled = if self.contacts.is_some() {
            let mut at_state = rise.clone();
            add_product(&boundary, flux, &mut at_state);
            let mut all = mechanical.clone();
            self.add_face(pressure, &mut all);
            self.settle(&self.with_thermal(&self.supported(all).reduced, &at_state))?
        } else {
            None
        };
        let state = settled.as_ref().unwrap_or(&self.as_lapped);

        let mut elastic_deflection_m: Vec<f64> = (0..nodes).map(|i| self.jump_deflection(state, i) - self.lapped_fit_m[i]).collect();
        add_product(&state.compliance.matrix, &self.supported(mechanical).reduced, &mut elastic_deflection_m);
        let mut thermal_deflection_m = vec![0.0; nodes];
        add_product(&state.deflection_per_temperature, &rise, &mut thermal_deflection_m);
        Ok(RingResponse {
            temperature_k,
            temperature_per_flux,
            elastic_deflection_m,
            thermal_deflection_m,
            deflection_per_pressure: state.deflection_per_pressure.clone(),
            edge_travel_per_pressure: state.edge_travel_per_pressure.clone(),
            deflection_per_flux: &state.deflection_per_temperature * by_flux,
        })
    }

    /// Temperatures of the boundary rows for a given face flux, K.
    pub(super) fn boundary_temperature(&self, conditions: &RingConditions, flux: &[f64]) -> Result<Vec<f64>, RingError> {
        let all = self.conductance.temperatures(&self.section.surfaces, conditions)?;
        let mut temperature = all.col_as_slice(flux.len()).to_vec();
        add_product(&all, flux, &mut temperature);
        Ok(temperature)
    }

    /// Temperatures above the stress-free one, K.
    pub(super) fn rise(&self, temperature_k: &[f64]) -> Vec<f64> {
        temperature_k.iter().map(|t| t - self.ring.stress_free_temperature_k).collect()
    }

    /// Face pressure above the low pressure that closes the axial balance: a film linear over the band and even contact, Pa.
    fn balancing_pressure(&self, conditions: &RingConditions) -> Vec<f64> {
        let radius = &self.band.radius_m;
        let (inner, outer) = (radius[0], radius[radius.len() - 1]);
        let above = conditions.sealed_pressure_pa - conditions.low_pressure_pa;
        let film: Vec<f64> = radius
            .iter()
            .map(|r| match self.side {
                PressureSide::Outside => above * (r - inner) / (outer - inner),
                PressureSide::Inside => above * (outer - r) / (outer - inner),
            })
            .collect();
        let closing = hydraulic_closing(&self.band, self.side, conditions) + conditions.spring_force_n + conditions.friction_force_n;
        let opening: f64 = film.iter().zip(&self.band.weight_m2).map(|(p, w)| p * w).sum();
        let contact = ((closing - opening) / self.band.weight_m2.iter().sum::<f64>()).max(0.0);
        film.iter().map(|p| p + contact).collect()
    }

    /// Refuse face values of the wrong number or that are no numbers.
    pub(super) fn check_face(&self, lists: &[&[f64]]) -> Result<(), RingError> {
        let nodes = self.band.radius_m.len();
        for list in lists {
            if list.len() != nodes {
                return Err(RingError::WrongLength { got: list.len(), expected: nodes });
            }
            if let Some(value) = list.iter().find(|value| !value.is_finite()) {
                return Err(RingError::BadCondition { what: "a face value", value: *value, not_negative: false });
            }
        }
        Ok(())
    }

    /// A load with the support that balances it.
    fn supported(&self, mut load: Load) -> Load {
        let axial_n = load.axial_n;
        load.add(&self.loads.support, -axial_n);
        load
    }

    /// Face pressure above the low pressure, Pa, by band node.
    pub(super) fn add_face(&self, pressure_pa: &[f64], load: &mut Load) {
        for (i, node) in self.section.mesh.line.iter().enumerate() {
            let force_n = (i.saturating_sub(2)..(i + 3).min(pressure_pa.len())).map(|j| self.mass[(i, j)] * pressure_pa[j]).sum();
            load.push(2 * node + 1, i, force_n);
        }
    }

    /// Pressures, spring, secondary seal and spin, without face pressure and support.
    pub(super) fn add_mechanical(&self, conditions: &RingConditions, load: &mut Load) {
        let above = conditions.sealed_pressure_pa - conditions.low_pressure_pa;
        load.add(&self.loads.sealed, above);
        load.add(&self.loads.around, conditions.low_pressure_pa - ATMOSPHERE_PA);
        for (pressure, unit) in &self.loads.stated {
            load.add(unit, pressure - conditions.low_pressure_pa);
        }
        if self.ring.role == RingRole::Rotating {
            load.add(&self.loads.spin, conditions.speed_rad_per_s.powi(2));
        }
        if self.ring.floating {
            load.add(&self.loads.spring, -conditions.spring_force_n);
            load.add(&self.loads.secondary_seal, self.secondary_seal_force(conditions));
        }
    }

    /// Axial force at the secondary-seal point of a floating ring, N into the body: pressure between the balance radius in force
    /// and the end of the wetted surface, and friction.
    pub(super) fn secondary_seal_force(&self, conditions: &RingConditions) -> f64 {
        let above = conditions.sealed_pressure_pa - conditions.low_pressure_pa;
        -hydraulic_closing(&self.band, self.side, conditions) - above * self.section.projected_area_m2() - conditions.friction_force_n
    }

    /// Thermal load of boundary temperature rises added to a reduced load.
    pub(super) fn with_thermal(&self, reduced: &[f64], rise: &[f64]) -> Vec<f64> {
        let mut all = reduced.to_vec();
        add_product(&self.coupling, rise, &mut all);
        all
    }

    /// State of the contacts under a reduced load: none when it is the one as lapped.
    pub(super) fn settle(&self, load: &[f64]) -> Result<Option<Closed>, RingError> {
        self.settle_among(load, &vec![true; self.jump_fit.len()])
    }

    /// As [`Self::settle`], with the contacts not in `may_close` held open.
    pub(super) fn settle_among(&self, load: &[f64], may_close: &[bool]) -> Result<Option<Closed>, RingError> {
        let Some((one_sided, released)) = &self.contacts else { return Ok(None) };
        let moved = |row: usize| load.iter().enumerate().map(|(k, g)| released[(row, k)] * g).sum::<f64>();
        let gap: Vec<f64> = self.constraints.jumps.iter().zip(&self.interference_m).map(|([a, b], d)| moved(*b) - moved(*a) - d).collect();
        let flags = one_sided.closed(&gap, may_close, &self.as_lapped.flags).map_err(|error| match error {
            ConstraintError::Unsettled { rounds, .. } => RingError::FitUnsettled { rounds },
            loose @ ConstraintError::Singular { .. } => loose.into(),
        })?;
        if flags == self.as_lapped.flags {
            return Ok(None);
        }
        closed_state(&self.band, &self.mass, &self.constraints, &self.stiffness, &self.coupling, &self.loads, flags).map(Some)
    }

    /// Displacement of the retained unknowns under a reduced load and the interference, m.
    pub(super) fn retained_displacement(&self, state: &Closed, load: &[f64]) -> Vec<f64> {
        let mut displacement: Vec<f64> = (0..load.len()).map(|i| self.jump_deflection(state, i)).collect();
        add_product(&state.compliance.matrix, load, &mut displacement);
        displacement
    }

    /// Force on the far side of each jump, N around the circle, positive when the sides press on each other.
    pub(super) fn jump_forces(&self, displacement: &[f64], load: &[f64]) -> Vec<f64> {
        self.constraints
            .jumps
            .iter()
            .map(|[_, b]| displacement.iter().enumerate().map(|(k, u)| self.stiffness[(*b, k)] * u).sum::<f64>() - load[*b])
            .collect()
    }

    /// State of the contacts when the face was lapped.
    pub(super) fn as_lapped(&self) -> &Closed {
        &self.as_lapped
    }

    fn jump_deflection(&self, state: &Closed, row: usize) -> f64 {
        self.interference_m.iter().enumerate().map(|(k, d)| state.compliance.jump[(row, k)] * d).sum()
    }
}

/// Values of a ring's parts at a temperature, and what the reader must know of them.
fn solids_at(ring: &Ring, temperature_k: f64) -> Result<(Vec<Solid>, Vec<Notice>), RingError> {
    if !(temperature_k.is_finite() && temperature_k > 0.0) {
        return Err(RingError::BadCondition { what: "the mean temperature of the ring (K)", value: temperature_k, not_negative: true });
    }
    let mut notices = Vec::new();
    let at = |part: &crate::model::Part, notices: &mut _| Solid::at(&part.material, ring.stress_free_temperature_k, temperature_k, notices);
    let solids = ring.parts.iter().map(|part| at(part, &mut notices)).collect();
    notices.dedup();
    Ok((solids, notices))
}

/// Reduced thermal load per boundary temperature.
fn coupling(mesh: &Mesh, materials: &[Isotropic], elastic: &Factor, heat: &Factor) -> Mat<f64> {
    let extension = elastic.unit_extension();
    let mut work = heat.bundle(extension.count());
    elasticity::add_thermal_work(mesh, materials, &extension, &mut work);
    heat.carried(work)
}

/// Interference of a fit at the stress-free temperature, m: as stated, and what the two materials differ in between.
fn interference(ring: &Ring, mesh: &Mesh, materials: &[Isotropic], fit: Option<usize>) -> f64 {
    let Some(line) = fit.map(|fit| &mesh.fits[fit]) else { return 0.0 };
    let Some(stated) = ring.parts[line.piece].fit else { return 0.0 };
    let inner = line.edges.first().map_or(line.piece, |edge| mesh.elements[edge.element].material);
    let differ = materials[line.piece].expansion - materials[inner].expansion;
    stated.interference_m + line.radius * differ * (stated.temperature_k - ring.stress_free_temperature_k)
}

fn closed_state(
    band: &BandNodes,
    mass: &Mat<f64>,
    constraints: &Constraints,
    stiffness: &Mat<f64>,
    coupling: &Mat<f64>,
    loads: &Loads,
    flags: Vec<bool>,
) -> Result<Closed, RingError> {
    let compliance = constraints.compliance(stiffness.as_ref(), &flags)?;
    let nodes = band.radius_m.len();
    let face = compliance.matrix.subrows(0, nodes);
    let deflection_per_temperature = face * coupling;
    // a face pressure and the support that balances it
    let support: Vec<f64> = (0..nodes).map(|i| (0..stiffness.nrows()).map(|k| face[(i, k)] * loads.support.reduced[k]).sum()).collect();
    let by_force = face.subcols(0, nodes) * mass;
    let deflection_per_pressure = Mat::from_fn(nodes, nodes, |i, j| by_force[(i, j)] - support[i] * band.weight_m2[j]);
    // displacements count from the inner edge: the edge travels into the body by what the support moves out of it
    let support_per_support: f64 = compliance_product(&compliance.matrix, &loads.support.reduced) + loads.support_indentation_m_per_n;
    let edge_travel_per_pressure = (0..nodes)
        .map(|j| {
            let supported = support_per_support * band.weight_m2[j] - (0..nodes).map(|i| support[i] * mass[(i, j)]).sum::<f64>();
            // zero but for a held face, whose deflections count from the support itself
            deflection_per_pressure[(0, j)] + supported
        })
        .collect();
    Ok(Closed { flags, compliance, deflection_per_temperature, deflection_per_pressure, edge_travel_per_pressure })
}

/// `f^T C f`.
fn compliance_product(compliance: &Mat<f64>, load: &[f64]) -> f64 {
    (0..load.len()).map(|j| load[j] * (0..load.len()).map(|i| load[i] * compliance[(i, j)]).sum::<f64>()).sum()
}

/// Refuse conditions that are no numbers.
pub(super) fn check(conditions: &RingConditions) -> Result<(), RingError> {
    let all = [
        ("the sealed pressure (Pa)", conditions.sealed_pressure_pa, true),
        ("the low pressure (Pa)", conditions.low_pressure_pa, true),
        ("the balance radius (m)", conditions.balance_radius_m, true),
        ("the speed (rad/s)", conditions.speed_rad_per_s, false),
        ("the spring force (N)", conditions.spring_force_n, false),
        ("the friction force (N)", conditions.friction_force_n, false),
        ("the sealed temperature (K)", conditions.sealed_temperature_k, true),
        ("the low-side temperature (K)", conditions.low_side_temperature_k, true),
        ("the sealed film coefficient (W/m2K)", conditions.sealed_coefficient_w_per_m2_k.cylinder, true),
        ("the sealed film coefficient (W/m2K)", conditions.sealed_coefficient_w_per_m2_k.plane, true),
        ("the low-side film coefficient (W/m2K)", conditions.low_side_coefficient_w_per_m2_k.cylinder, true),
        ("the low-side film coefficient (W/m2K)", conditions.low_side_coefficient_w_per_m2_k.plane, true),
    ];
    match all.into_iter().find(|(_, value, not_negative)| !value.is_finite() || (*not_negative && *value < 0.0)) {
        Some((what, value, not_negative)) => Err(RingError::BadCondition { what, value, not_negative }),
        None => Ok(()),
    }
}

/// `y += A x` by column, for as many columns as `x` and as many rows as `y` has.
pub(super) fn add_product(matrix: &Mat<f64>, x: &[f64], y: &mut [f64]) {
    for (j, factor) in x.iter().take(matrix.ncols()).enumerate() {
        y.iter_mut().zip(matrix.col_as_slice(j)).for_each(|(y, a)| *y += factor * a);
    }
}
