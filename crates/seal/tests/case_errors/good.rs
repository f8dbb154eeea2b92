//! The Saltmere cases and the starter become models.

use halfmicron::case::{self, CaseErrors};
use halfmicron::model::Model;

pub const CASES: [(&str, &str); 5] = [
    ("brine-booster", include_str!("../../../../cases/brine-booster.toml")),
    ("caustic-transfer", include_str!("../../../../cases/caustic-transfer.toml")),
    ("chlorine-agitator", include_str!("../../../../cases/chlorine-agitator.toml")),
    ("thermal-oil", include_str!("../../../../cases/thermal-oil.toml")),
    ("thickener-underflow", include_str!("../../../../cases/thickener-underflow.toml")),
];

pub fn model(text: &str) -> Result<Model, CaseErrors> {
    case::parse(text)?.model()
}

fn good(name: &str, text: &str) -> Model {
    model(text).unwrap_or_else(|errors| panic!("{}", errors.plain_text(name, text)))
}

#[test]
fn every_case_becomes_a_model() {
    for (name, text) in CASES {
        let model = good(name, text);
        assert!(!model.rotating_ring.parts.is_empty() && !model.stationary_ring.parts.is_empty());
        for notice in &model.notices {
            println!("{name}: {} {} {}", notice.code, notice.field, notice.message);
        }
    }
}
