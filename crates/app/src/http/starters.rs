//! What a new case may begin as: the commented starter, or a case of the invented Saltmere works.

use axum::Json;
use rust_embed::RustEmbed;
use serde::Serialize;
use utoipa::ToSchema;

use super::folder::Folder;
use super::problem::Problem;

/// The shipped cases.
#[derive(RustEmbed)]
#[folder = "../../cases"]
struct Shipped;

/// Word before the name of a shipped case.
const WORKS: &str = "saltmere/";

/// One thing to begin from.
#[derive(Debug, Serialize, ToSchema)]
pub struct Starter {
    /// What to send as `from`.
    pub from: String,
    /// Title.
    pub title: String,
    /// Kind of machine in words.
    pub machine: String,
    /// Sealed fluid.
    pub fluid: String,
    /// Number of duties.
    pub duties: usize,
}

/// What a new case may begin as
#[utoipa::path(get, path = "/api/starters", operation_id = "starters", tag = "folder", responses((status = 200, description = "The starter first, then the cases of the works", body = Vec<Starter>)))]
pub async fn list() -> Json<Vec<Starter>> {
    let mut names: Vec<String> = Shipped::iter().map(|name| name.into_owned()).filter(|name| name.ends_with(".toml")).collect();
    names.sort();
    let shipped = names.iter().filter_map(|name| Some(about(&format!("{WORKS}{name}"), &shipped(name)?)));
    let starter = about("starter", &halfmicron::case::starter("Commented starter"));
    Json(std::iter::once(starter).chain(shipped).collect())
}

fn about(from: &str, text: &str) -> Starter {
    let model = halfmicron::case::parse(text).and_then(|case| case.model()).ok();
    Starter {
        from: from.to_owned(),
        title: model.as_ref().map_or_else(String::new, |model| model.title.clone()),
        machine: model.as_ref().map_or_else(String::new, |model| model.machine.kind.clone()),
        fluid: model.as_ref().map_or_else(String::new, |model| model.fluid.name().to_owned()),
        duties: model.map_or(0, |model| model.duties.len()),
    }
}

fn shipped(name: &str) -> Option<String> {
    Shipped::get(name).and_then(|file| String::from_utf8(file.data.into_owned()).ok())
}

/// The text of a new case.
pub fn text(folder: &Folder, name: &str, from: &str) -> Result<String, Problem> {
    if from == "starter" {
        return Ok(halfmicron::case::starter(name.strip_suffix(".toml").unwrap_or(name)));
    }
    match from.strip_prefix(WORKS) {
        Some(case) => shipped(case).ok_or_else(|| nothing(from)),
        None if super::folder::name_fault(from).is_some() => Err(nothing(from)),
        None => folder.read(from),
    }
}

fn nothing(from: &str) -> Problem {
    Problem::not_found(
        "starter.none",
        format!("there is no `{}` to begin from", from.chars().take(80).collect::<String>()),
        "GET /api/starters lists what there is; a case of the folder is named by its file.",
    )
}
