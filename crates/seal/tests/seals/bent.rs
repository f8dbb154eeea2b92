//! Good cases bent: any finite positive change gives a result or a reason, never a panic, a NaN or silence.

use halfmicron::case;
use halfmicron::model::ChamberTemperature;
use halfmicron::outcome::{Status, absent_numbers};
use halfmicron::point::{Options, Prepared};
use proptest::prelude::*;

const CASES: [&str; 3] = [
    include_str!("../../../../cases/brine-booster.toml"),
    include_str!("../../../../cases/caustic-transfer.toml"),
    include_str!("../../../../cases/chlorine-agitator.toml"),
];

proptest! {
    #![proptest_config(ProptestConfig { cases: 14, failure_persistence: None, rng_seed: proptest::test_runner::RngSeed::Fixed(7), ..ProptestConfig::default() })]

    #[test]
    fn a_result_or_a_reason(
        which in 0..CASES.len(),
        pressure in 0.02..30.0_f64,
        speed in 0.0..6.0_f64,
        warmer in -15.0..60.0_f64,
        spring in 0.05..8.0_f64,
        balance in 0.97..1.03_f64,
        roughness in 0.1..10.0_f64,
        // Most of the time of a film near boiling goes into its margins.
        margins in proptest::bool::weighted(0.2),
    ) {
        let mut model = case::parse(CASES[which]).and_then(|case| case.model()).unwrap();
        let mut duty = model.duties.iter().find(|duty| duty.name == "normal").unwrap().clone();
        duty.pressure_pa = duty.low_pressure_pa + pressure * (duty.pressure_pa - duty.low_pressure_pa);
        duty.speed_rad_per_s *= speed;
        duty.temperature = ChamberTemperature::Stated(duty.temperature.stated_k() + warmer);
        model.seal.spring_force_n *= spring;
        model.seal.balance_radius_m *= balance;
        model.rotating_ring.roughness_rq_m *= roughness;
        let prepared = Prepared::new(&model).unwrap();
        let (outcome, _) = prepared.solve_with(&duty, None, Options { margins, ..Options::default() });
        prop_assert!(!outcome.reason.is_empty());
        prop_assert_eq!(outcome.status == Status::Solved, outcome.chosen.is_some());
        let found = absent_numbers(&outcome).unwrap();
        prop_assert!(found.is_empty(), "{:?} in {:?}", found, outcome.status);
        for point in &outcome.equilibria {
            prop_assert!(point.balances.mass <= 1e-8, "mass {:e}", point.balances.mass);
        }
        if let Some(index) = outcome.chosen {
            let balances = outcome.equilibria[index].balances;
            prop_assert!(balances.force <= 1e-8 && balances.heat <= 1e-8, "{:?}", balances);
        }
    }
}
