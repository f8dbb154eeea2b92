//! What belongs to lapped faces only: roughness by its parameter, flatness in light bands, lapped form by its sense.

use super::{Dimension, LIGHT_BAND_M, RQ_OVER_RA, STANDARD_ATMOSPHERE_PA, UnitCause, UnitError, read};

/// Form given to a face by lapping, over the running band.
///
/// A ring is lapped like a disc: **convex** stands highest at the inner edge of the band and falls to the outer edge by the
/// stated height, **concave** stands highest at the outer edge. A convex face of an outside-pressurised seal therefore opens
/// toward the sealed side (positive coning), one of an inside-pressurised seal away from it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LappedForm {
    /// Height from edge to edge of the band, m; positive is convex, negative concave.
    pub convex_m: f64,
}

/// Root mean square roughness Rq in m from `Ra 0.1 um` or `Rq 0.125 um`; `Rq = sqrt(pi/2) Ra` for Gaussian heights.
pub fn read_roughness(text: &str) -> Result<f64, UnitError> {
    let trimmed = text.trim_start();
    let skipped = text.len() - trimmed.len();
    let (factor, rest) = if let Some(rest) = trimmed.strip_prefix("Ra") {
        (RQ_OVER_RA, rest)
    } else if let Some(rest) = trimmed.strip_prefix("Rq") {
        (1.0, rest)
    } else {
        return Err(UnitError {
            span: 0..text.len(),
            cause: UnitCause::ParameterMissing(text.trim().to_owned()),
            help: "write the parameter first: \"Ra 0.1 um\" or \"Rq 0.125 um\"".to_owned(),
        });
    };
    let height = read(rest, Dimension::Length, STANDARD_ATMOSPHERE_PA).map_err(|error| shift(error, skipped + 2))?;
    Ok(factor * height)
}

/// Flatness in m from `2 bands` (helium light, 0.29378 um each) or a length.
pub fn read_flatness(text: &str) -> Result<f64, UnitError> {
    let trimmed = text.trim();
    let Some(number) = trimmed.strip_suffix("bands").or_else(|| trimmed.strip_suffix("band")) else {
        return read(text, Dimension::Length, STANDARD_ATMOSPHERE_PA).map_err(|mut error| {
            error.help = "write light bands or a length: \"2 bands\" (0.294 um each, helium light) or \"0.6 um\"".to_owned();
            error
        });
    };
    let number = number.trim();
    let plain = number.bytes().all(|b| b.is_ascii_digit() || matches!(b, b'.' | b'+' | b'-' | b'e'));
    match number.parse::<f64>() {
        Ok(bands) if plain && bands.is_finite() => Ok(bands * LIGHT_BAND_M),
        _ => Err(UnitError {
            span: 0..text.len(),
            cause: UnitCause::NoNumber(trimmed.to_owned()),
            help: "write a number of light bands, for example \"2 bands\"".to_owned(),
        }),
    }
}

/// Lapped form from `0.3 um convex` or `1 band concave`.
pub fn read_lapped_form(text: &str) -> Result<LappedForm, UnitError> {
    let trimmed = text.trim_end();
    let (sign, height) = if let Some(rest) = trimmed.strip_suffix("convex") {
        (1.0, rest)
    } else if let Some(rest) = trimmed.strip_suffix("concave") {
        (-1.0, rest)
    } else {
        return Err(UnitError {
            span: 0..text.len(),
            cause: UnitCause::SenseMissing(text.trim().to_owned()),
            help: "write the sense last: \"0.3 um convex\" (inner edge of the band stands highest) or \"0.3 um concave\"".to_owned(),
        });
    };
    Ok(LappedForm { convex_m: sign * read_flatness(height)? })
}

fn shift(mut error: UnitError, by: usize) -> UnitError {
    error.span = error.span.start + by..error.span.end + by;
    error
}
