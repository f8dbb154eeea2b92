//! Headers of physical models: five headings each, and only ids of checks that exist. `docs/models.md` is made of them.

use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail, ensure};

use crate::tree;

const HEADINGS: [&str; 5] = ["What", "Equation", "Valid when", "Source", "Checked by"];

/// Folders in the order of the document, with its headings.
const FOLDERS: &[(&str, &str)] = &[
    ("crates/seal/src/film", "Film"),
    ("crates/seal/src/contact", "Contact"),
    ("crates/seal/src/ring", "Rings"),
    ("crates/seal/src/convection", "Convection"),
    ("crates/seal/src/point", "Operating point"),
    ("crates/seal/src/motion", "Motion"),
    ("crates/seal/src", "Beside the film"),
    ("crates/numerics/src", "Fields in a section"),
    ("crates/properties/src", "Fluids and materials"),
];

/// The header of one file.
struct Header {
    path: PathBuf,
    title: String,
    /// Text under each of [`HEADINGS`].
    passages: Vec<String>,
}

/// Checks every header.
pub fn check() -> Result<()> {
    let known = known_checks()?;
    let mut wrong = Vec::new();
    let mut count = 0;
    for path in sources()? {
        match header(&path, &tree::text(&path)?.unwrap_or_default()) {
            Ok(None) => {}
            Ok(Some(header)) => {
                count += 1;
                let unknown = check_ids(&header.passages[4]).into_iter().filter(|id| !known.contains(id));
                wrong.extend(unknown.map(|id| format!("{}: there is no check {id}", path.display())));
            }
            Err(error) => wrong.push(error.to_string()),
        }
    }
    if count == 0 || !wrong.is_empty() {
        bail!("{count} headers read\n{}", wrong.join("\n"));
    }
    println!("{count} headers, {} checks", known.len());
    Ok(())
}

/// The headers as a document.
pub fn page() -> Result<String> {
    let mut headers = Vec::new();
    for path in sources()? {
        headers.extend(header(&path, &tree::text(&path)?.unwrap_or_default())?);
    }
    let mut page = String::from(
        "# Models\n\n<!-- Written by `cargo xtask generate` from the headers of the source files; do not edit. -->\n\nEvery physical model with its equation, range, source and checks, as it stands at \
         the head of its source file. Constants of single correlations and materials stand with their own source beside the value.\n",
    );
    for (folder, heading) in FOLDERS {
        let of_folder: Vec<&Header> = headers.iter().filter(|header| folder_of(&header.path) == Some(*folder)).collect();
        if !of_folder.is_empty() {
            page += &format!("\n## {heading}\n");
        }
        for header in of_folder {
            page += &format!("\n### {}\n\n[{2}](../{2})\n\n{1}\n", header.title, paragraphs(header), header.path.display());
        }
    }
    Ok(page)
}

/// The headers as a table for the program, which shows them beside a result.
pub fn table() -> Result<String> {
    let mut table = String::from(
        "//! Headers of the physical models. Written by `cargo xtask generate` from the source files; do not edit.\n\nuse super::models::Header;\n\n/// Every header, by its file.\n#[rustfmt::skip]\npub(super) const HEADERS: &[Header] = &[\n",
    );
    for path in sources()? {
        let Some(header) = header(&path, &tree::text(&path)?.unwrap_or_default())? else { continue };
        let file = path.to_string_lossy().replace('\\', "/");
        table += &format!("    Header {{\n        file: {file:?},\n        title: {:?},\n", header.title);
        for (field, passage) in FIELDS.iter().zip(&header.passages) {
            table += &format!("        {field}: {:?},\n", plain(passage));
        }
        table += "    },\n";
    }
    Ok(table + "];\n")
}

/// Fields of the table, in the order of [`HEADINGS`].
const FIELDS: [&str; 5] = ["what", "equation", "valid_when", "source", "checked_by"];

/// A passage for a reader of results: no links into the source, no names of Rust.
fn plain(passage: &str) -> String {
    passage.replace("[`", "`").replace("`]", "`").replace("super::", "").replace("halfmicron_numerics", "numerics")
}

fn sources() -> Result<Vec<PathBuf>> {
    let mut files = tree::files()?;
    files.retain(|path| tree::has_extension(path, "rs") && folder_of(path).is_some());
    Ok(files)
}

/// The most particular folder of the document that holds the file.
fn folder_of(path: &Path) -> Option<&'static str> {
    FOLDERS.iter().map(|(folder, _)| *folder).filter(|folder| path.starts_with(folder)).max_by_key(|folder| folder.len())
}

/// The header of a file, if it is that of a model; an error if headings are missing or in another order.
fn header(path: &Path, text: &str) -> Result<Option<Header>> {
    let lines: Vec<&str> =
        text.lines().take_while(|line| line.starts_with("//!")).map(|line| line.trim_start_matches("//!").trim()).collect();
    let starts: Vec<usize> = lines.iter().enumerate().filter(|(_, line)| line.starts_with("**")).map(|(index, _)| index).collect();
    let names: Vec<&str> =
        starts.iter().filter_map(|start| lines[*start].split("**").nth(1)).map(|name| name.trim_end_matches('.')).collect();
    if !names.iter().any(|name| HEADINGS.contains(name)) {
        return Ok(None);
    }
    ensure!(names == HEADINGS, "{}: the header has {}; it needs {}", path.display(), names.join(", "), HEADINGS.join(", "));
    let ends = starts.iter().skip(1).copied().chain([lines.len()]);
    let passages = starts.iter().zip(ends).map(|(start, end)| {
        let passage = lines[*start..end].split(|line| line.is_empty()).next().unwrap_or_default().join(" ");
        passage.splitn(3, "**").nth(2).unwrap_or_default().trim().to_string()
    });
    let title = lines.first().context("a header has a first line")?.trim_end_matches('.').to_string();
    Ok(Some(Header { path: path.to_path_buf(), title, passages: passages.collect() }))
}

fn paragraphs(header: &Header) -> String {
    let paragraph = |(name, passage): (&&str, &String)| format!("**{name}.** {}\n", passage.replace("[`", "`").replace("`]", "`"));
    HEADINGS.iter().zip(&header.passages).map(paragraph).collect::<Vec<_>>().join("\n")
}

/// Ids of checks in a passage such as `F1, R2 (arithmetic), patch tests.`
fn check_ids(passage: &str) -> Vec<String> {
    passage.split([',', '.', '(', ';']).map(str::trim).filter(|word| is_check_id(word)).map(str::to_string).collect()
}

fn is_check_id(word: &str) -> bool {
    let rest = word.strip_prefix(|letter: char| letter.is_ascii_uppercase());
    rest.is_some_and(|rest| {
        rest.starts_with(|digit: char| digit.is_ascii_digit())
            && rest.trim_end_matches(|c: char| c.is_ascii_lowercase()).chars().all(|c| c.is_ascii_digit())
    })
}

/// Ids that the checks of `crates/checks` carry.
fn known_checks() -> Result<Vec<String>> {
    let mut known = Vec::new();
    for path in tree::files()?.iter().filter(|path| path.starts_with("crates/checks/src") && tree::has_extension(path, "rs")) {
        let text = tree::text(path)?.unwrap_or_default();
        let ids = text.split("id: \"").skip(1).filter_map(|after| after.split('"').next());
        known.extend(ids.filter(|id| is_check_id(id)).map(str::to_string));
    }
    ensure!(!known.is_empty(), "no checks found in crates/checks/src");
    known.sort();
    known.dedup();
    Ok(known)
}

#[cfg(test)]
mod tests {
    use super::*;

    const GOOD: &str = "//! Film.\n//!\n//! **What.** A\n//! film.\n//! **Equation.** `p = [`X`] **`.\n//! **Valid when.** Thin.\n//! **Source.** Reynolds 1886.\n//! **Checked by.** F1, R2 (arithmetic), IAPWS R6-95.\n//!\n//! More.\n\nfn a() {}\n";

    #[test]
    fn reads_the_five_headings() {
        let header = header(Path::new("a.rs"), GOOD).unwrap().unwrap();
        assert_eq!(header.title, "Film");
        assert_eq!(header.passages, ["A film.", "`p = [`X`] **`.", "Thin.", "Reynolds 1886.", "F1, R2 (arithmetic), IAPWS R6-95."]);
        assert_eq!(check_ids(&header.passages[4]), ["F1", "R2"]);
    }

    #[test]
    fn a_table_has_every_heading_of_every_model() {
        let table = table().unwrap();
        let models = table.matches("    Header {").count();
        assert!(models > 20, "{models}");
        for field in FIELDS {
            assert_eq!(table.matches(&format!("        {field}: \"")).count(), models, "{field}");
        }
        assert!(!table.contains("[`") && !table.contains("super::`"));
    }

    #[test]
    fn refuses_missing_headings_and_passes_ordinary_files() {
        assert!(header(Path::new("a.rs"), &GOOD.replace("**Source.**", "Source")).is_err());
        assert!(header(Path::new("a.rs"), "//! Ordinary.\n").unwrap().is_none());
    }

    #[test]
    fn ids_are_a_letter_digits_and_perhaps_a_letter() {
        assert!(["F1", "E5b", "R12"].iter().all(|id| is_check_id(id)));
        assert!(["f1", "F", "E5B", "R6-95", "unproven", ""].iter().all(|id| !is_check_id(id)));
    }
}
