//! Colours of temperature: even steps for the eye from pale (cold) to deep (hot), so that they stay in order in grey print.
//!
//! Mixed in the Oklab space (B. Ottosson 2020, matrices from memory; the tests hold them together), as `color-mix(in oklab, ..)` of
//! CSS does: a page that has other ends for its dark look gets the same even steps.

use super::Colour;

/// Coldest and hottest on white paper.
pub(super) const ENDS: [Colour; 2] = [[0xfb, 0xf1, 0xea], [0xb8, 0x43, 0x1f]];

/// Share of the way from cold to hot at the middle of a band.
pub(super) fn share(band: usize, count: usize) -> f64 {
    if count < 2 { 0.2 } else { 0.04 + 0.96 * band as f64 / (count - 1) as f64 }
}

/// Colour of a band of temperature on paper.
pub(super) fn of_band(band: usize, count: usize) -> Colour {
    mixed(ENDS, share(band, count))
}

/// A share of the way from one colour to another, in Oklab.
pub(super) fn mixed([from, to]: [Colour; 2], share: f64) -> Colour {
    let (a, b) = (oklab(from), oklab(to));
    rgb([0, 1, 2].map(|i| a[i] + share * (b[i] - a[i])))
}

/// Lightness and two axes of hue.
fn oklab(colour: Colour) -> [f64; 3] {
    let [r, g, b] = colour.map(|byte| {
        let c = f64::from(byte) / 255.0;
        if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
    });
    let l = (0.412_221_470_8 * r + 0.536_332_536_3 * g + 0.051_445_992_9 * b).cbrt();
    let m = (0.211_903_498_2 * r + 0.680_699_545_1 * g + 0.107_396_956_6 * b).cbrt();
    let s = (0.088_302_461_9 * r + 0.281_718_837_6 * g + 0.629_978_700_5 * b).cbrt();
    [
        0.210_454_255_3 * l + 0.793_617_785_0 * m - 0.004_072_046_8 * s,
        1.977_998_495_1 * l - 2.428_592_205_0 * m + 0.450_593_709_9 * s,
        0.025_904_037_1 * l + 0.782_771_766_2 * m - 0.808_675_766_0 * s,
    ]
}

fn rgb([lightness, a, b]: [f64; 3]) -> Colour {
    let l = (lightness + 0.396_337_777_4 * a + 0.215_803_757_3 * b).powi(3);
    let m = (lightness - 0.105_561_345_8 * a - 0.063_854_172_8 * b).powi(3);
    let s = (lightness - 0.089_484_177_5 * a - 1.291_485_548_0 * b).powi(3);
    let linear = [
        4.076_741_662_1 * l - 3.307_711_591_3 * m + 0.230_969_929_2 * s,
        -1.268_438_004_6 * l + 2.609_757_401_1 * m - 0.341_319_396_5 * s,
        -0.004_196_086_3 * l - 0.703_418_614_7 * m + 1.707_614_701_0 * s,
    ];
    linear.map(|c| {
        let shown = if c <= 0.003_130_8 { 12.92 * c } else { 1.055 * c.max(0.0).powf(1.0 / 2.4) - 0.055 };
        (255.0 * shown).round().clamp(0.0, 255.0) as u8
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn there_and_back_is_the_same_colour() {
        for colour in [[0; 3], [255; 3], ENDS[0], ENDS[1], [12, 200, 77], [255, 0, 0]] {
            assert_eq!(rgb(oklab(colour)), colour);
        }
        let white = oklab([255; 3]);
        assert!((white[0] - 1.0).abs() < 1e-4 && white[1].abs() < 1e-4 && white[2].abs() < 1e-4, "{white:?}");
    }

    /// In grey, hotter is darker by even steps, and ink stays readable on the hottest.
    #[test]
    fn bands_keep_their_order_in_grey() {
        let grey = |c: Colour| 0.2126 * f64::from(c[0]) + 0.7152 * f64::from(c[1]) + 0.0722 * f64::from(c[2]);
        for count in [2, 5, 12] {
            let lightness: Vec<f64> = (0..count).map(|band| oklab(of_band(band, count))[0]).collect();
            let steps: Vec<f64> = lightness.windows(2).map(|pair| pair[0] - pair[1]).collect();
            let mean = steps.iter().sum::<f64>() / steps.len() as f64;
            assert!(steps.iter().all(|step| (step - mean).abs() < 0.1 * mean + 0.002), "{steps:?}");
            assert!((1..count).all(|band| grey(of_band(band, count)) < grey(of_band(band - 1, count))));
        }
        assert!(oklab(of_band(11, 12))[0] > 0.5);
    }
}
