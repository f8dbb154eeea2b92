//! Textures in words: what a drawing and a page say beside their picture.

use super::super::rounding::significant;
use super::super::units::{Kind, UnitSet, unit};
use crate::model::{DimpleShape, Grooves, RingRole, Texture, TextureForm};

/// A texture in words: what it is and where, then each of its measures.
pub fn texture_words(texture: &Texture, units: UnitSet) -> Vec<String> {
    let shown = |kind: Kind, si: f64| {
        let unit = unit(kind, units);
        format!("{} {}", plain(unit.convert(si)), unit.label)
    };
    let diameters = |[inner, outer]: [f64; 2]| {
        let unit = unit(Kind::Length, units);
        format!("from diameter {} to {} {}", plain(unit.convert(2.0 * inner)), plain(unit.convert(2.0 * outer)), unit.label)
    };
    let degrees = |angle: f64| format!("{} deg", plain(angle.to_degrees()));
    let depth = |depth_m: f64| format!("{} deep", shown(Kind::SmallLength, depth_m));
    let grooves = |grooves: &Grooves| {
        vec![
            depth(grooves.depth_m),
            diameters(grooves.radii_m),
            format!("each takes {} % of its pitch", plain(100.0 * grooves.width_ratio)),
        ]
    };
    let on = match texture.on {
        RingRole::Rotating => "in the rotating face",
        RingRole::Stationary => "in the stationary face",
    };
    let (what, measures) = match &texture.form {
        TextureForm::SpiralGrooves { grooves: cut, angle_rad, pumps_outward } => {
            let mut measures = grooves(cut);
            measures.push(format!("{} to the circumference", degrees(*angle_rad)));
            measures.push(format!("pumping {}", if *pumps_outward { "outward" } else { "inward" }));
            (format!("{} spiral grooves {on}", cut.count), measures)
        }
        TextureForm::RadialGrooves(cut) => (format!("{} radial grooves {on}", cut.count), grooves(cut)),
        TextureForm::Pads(cut) => (format!("{} pads {on}", cut.count), grooves(cut)),
        TextureForm::TGrooves { grooves: cut, stem_width_ratio, bar_radius_m, bar_inside } => {
            let mut measures = grooves(cut);
            measures.push(format!("stem {} % of the pitch", plain(100.0 * stem_width_ratio)));
            let side = if *bar_inside { "inside" } else { "outside" };
            measures.push(format!("bar {side} of diameter {}", shown(Kind::Length, 2.0 * bar_radius_m)));
            (format!("{} T grooves {on}", cut.count), measures)
        }
        TextureForm::Dimples { count, rows, radius_m, depth_m, shape, radii_m } => {
            let form = match shape {
                DimpleShape::SphericalCap => "spherical caps",
                DimpleShape::Cylinder => "flat bottoms",
            };
            let measures = vec![
                depth(*depth_m),
                diameters(*radii_m),
                format!("{rows} {} of {count}", if *rows == 1 { "row" } else { "rows" }),
                format!("each {} across", shown(Kind::Length, 2.0 * radius_m)),
                form.to_owned(),
            ];
            (format!("{} dimples {on}", count * rows), measures)
        }
        TextureForm::Waves { count, amplitude_m } => (
            format!("{count} {} {on}", if *count == 1 { "wave" } else { "waves" }),
            vec![format!("amplitude {}", shown(Kind::SmallLength, *amplitude_m))],
        ),
        TextureForm::Tilt { angle_rad } => {
            let angle =
                if *angle_rad < 1e-3 { format!("{} urad", plain(1e6 * angle_rad)) } else { format!("{} mrad", plain(1e3 * angle_rad)) };
            let text = format!("leans by {angle} against the shaft");
            (format!("tilt {}", on.trim_start_matches("in ").replacen("the", "of the", 1)), vec![text])
        }
        TextureForm::Taper { depth_m, radii_m, deep_outside } => {
            let side = if *deep_outside { "outer" } else { "inner" };
            (format!("taper {on}"), vec![depth(*depth_m), diameters(*radii_m), format!("deepest at the {side} end")])
        }
    };
    std::iter::once(what).chain(measures).collect()
}

/// At most five digits, none that say nothing: measures of a case are stated, not computed.
fn plain(value: f64) -> String {
    let text = significant(value, 5);
    if text.contains('.') && !text.contains('e') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn measures_are_those_of_the_case() {
        let grooves = Grooves { count: 12, depth_m: 6e-6, radii_m: [68.5e-3, 78e-3], width_ratio: 0.5 };
        let form = TextureForm::SpiralGrooves { grooves, angle_rad: 15f64.to_radians(), pumps_outward: false };
        let words = texture_words(&Texture { on: RingRole::Rotating, form }, UnitSet::Si);
        let expected = [
            "12 spiral grooves in the rotating face",
            "6 um deep",
            "from diameter 137 to 156 mm",
            "each takes 50 % of its pitch",
            "15 deg to the circumference",
            "pumping inward",
        ];
        assert_eq!(words, expected);
        let us = texture_words(&Texture { on: RingRole::Rotating, form }, UnitSet::Us);
        assert_eq!(us[1..3], ["236.22 uin deep", "from diameter 5.3937 to 6.1417 in"]);
        let tilt = Texture { on: RingRole::Stationary, form: TextureForm::Tilt { angle_rad: 2e-5 } };
        assert_eq!(texture_words(&tilt, UnitSet::Si), ["tilt of the stationary face", "leans by 20 urad against the shaft"]);
    }
}
