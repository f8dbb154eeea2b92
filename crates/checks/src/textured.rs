//! Films between rigid faces that are not the same at every angle, from the text of a case, for the checks of the two-dimensional film.

use halfmicron::case::parse;
use halfmicron::film::{FilmAlone, Fineness, film_alone_on};

/// Solve the film of a case that has one duty, with the shipped reader and the shipped film, on a grid of choice.
///
/// # Errors
/// The message of the case or of the film.
pub fn film_of(text: &str, fineness: Fineness) -> Result<FilmAlone, String> {
    let model = parse(text).and_then(|case| case.model()).map_err(|errors| errors.to_string())?;
    let duty = model.duties.first().ok_or("the case has no duty")?;
    film_alone_on(&model, duty, fineness).map_err(|error| error.to_string())
}
