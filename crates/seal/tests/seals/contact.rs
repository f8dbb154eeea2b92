//! What the asperities carry, against the gap that is printed with it.

use std::f64::consts::PI;

use halfmicron::contact::ContactLaw;
use halfmicron::outcome::{Equilibrium, Status};
use halfmicron::{case, solve};

const BLOWER: &str = include_str!("../../../../cases/nitrogen-blower.toml");

/// Force of the straight gap between the printed nodes, by two hundred points in each interval.
fn carried_n(law: &ContactLaw, point: &Equilibrium) -> f64 {
    const POINTS: usize = 200;
    let (radius, gap) = (&point.profiles.radius_m, &point.profiles.gap_m);
    let interval = |k: usize| -> f64 {
        let width = (radius[k + 1] - radius[k]) / POINTS as f64;
        let at = |i: usize| (i as f64 + 0.5) / POINTS as f64;
        let ring = |s: f64| 2.0 * PI * (radius[k] + s * (radius[k + 1] - radius[k])) * width;
        (0..POINTS).map(at).map(|s| ring(s) * law.at(gap[k] + s * (gap[k + 1] - gap[k])).pressure_pa).sum()
    };
    (0..radius.len() - 1).map(interval).sum()
}

/// The blower's face opens by several roughnesses within the first element: nodes alone were up to a sixth off.
#[test]
fn contact_carries_what_the_printed_gap_says() {
    let model = case::parse(BLOWER).and_then(|case| case.model()).unwrap_or_else(|errors| panic!("{errors}"));
    let law = ContactLaw::new(&model.contact, &model.rotating_ring, &model.stationary_ring);
    let names: Vec<String> = model.duties.iter().map(|duty| duty.name.clone()).collect();
    let mut steep = 0;
    for duty in solve(&model, &names).unwrap_or_else(|error| panic!("{error}")).duties {
        let Some(point) = duty.chosen.filter(|_| duty.status == Status::Solved).map(|index| &duty.equilibria[index]) else { continue };
        let expected = carried_n(&law, point);
        if expected < 1.0 {
            continue;
        }
        assert!(
            (point.contact_force_n / expected - 1.0).abs() < 1e-2,
            "{}: {} N instead of {expected} N",
            duty.name,
            point.contact_force_n
        );
        let gap = &point.profiles.gap_m;
        steep += usize::from(gap.windows(3).any(|gap| (gap[2] - gap[0]).abs() > law.roughness_m && gap[0].min(gap[2]) < law.roughness_m));
    }
    assert!(steep > 0, "a duty whose gap is steep where it bears");
}
