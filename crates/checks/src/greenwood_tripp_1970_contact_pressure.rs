//! R4: contact pressure of rough faces from single Hertz contacts.

use halfmicron::case;
use halfmicron::contact::ContactLaw;
use halfmicron::model::{Contact, Ring};

use crate::section::read;
use crate::{Check, Kind, Quantity};

/// The contact law against the double integral that it stands for.
pub const CHECK: Check = Check {
    id: "R4",
    title: "Contact pressure of rough faces against the sum of misaligned Hertz contacts",
    source: "Greenwood and Tripp, Proc. IMechE 185 (1970-71) 625 (model from memory: paraboloids of radius beta and density eta on both faces); digits: \
             double integral over misalignment and height evaluated independently for eta beta sigma 0.05, sigma/beta 0.001, E 23 and 415 GPa, nu 0.2 and 0.16",
    kind: Kind::Proof,
    from_memory: false,
    models: &["contact.greenwood-tripp"],
    run,
};

/// Separation in roughnesses and pressure, Pa.
const TABLE: [(f64, f64); 4] = [(0.0, 5_240_224.173), (1.0, 684_627.440_4), (2.0, 46_091.230_86), (3.0, 1_452.096_925)];

fn run(distortion: f64) -> Vec<Quantity> {
    let law = law(23e9 * (1.0 + 0.01 * distortion));
    TABLE
        .map(|(ratio, expected)| {
            let computed = read(&law, |law| law.at(ratio * 1e-7).pressure_pa);
            Quantity::relative(
                format!("contact pressure at h/sigma = {ratio}"),
                "Pa",
                expected,
                computed,
                1e-6,
                "quadrature to ten digits; table of F_2.5 to 1e-8",
            )
        })
        .into()
}

/// Two faces of 0.08 and 0.06 um, 0.1 um together, that do not yield.
fn law(carbon_modulus_pa: f64) -> Result<ContactLaw, String> {
    let case = case::parse(&case::starter("checks")).map_err(|error| error.to_string())?;
    let model = case.model().map_err(|error| error.to_string())?;
    let contact = Contact { eta_beta_sigma: 0.05, sigma_over_beta: 1e-3, plastic_pressure_pa: 1e30, ..model.contact };
    let rotating = face(model.rotating_ring, carbon_modulus_pa, 0.2, 0.8e-7);
    let stationary = face(model.stationary_ring, 415e9, 0.16, 0.6e-7);
    Ok(ContactLaw::new(&contact, &rotating, &stationary))
}

fn face(mut ring: Ring, modulus_pa: f64, poisson: f64, roughness_rq_m: f64) -> Ring {
    for part in &mut ring.parts {
        part.material.youngs_modulus.value = modulus_pa;
        part.material.poisson.value = poisson;
    }
    Ring { roughness_rq_m, ..ring }
}
