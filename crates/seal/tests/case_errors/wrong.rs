//! Wrong case files, one for each kind of mistake: every one is refused with its place, the range or choices, and the fix.

use std::path::Path;

use halfmicron::case::{self, CaseErrors};

/// Name and bytes of every file, in the order of names.
#[allow(clippy::disallowed_methods)] // a test may read its own files
fn files() -> Vec<(String, Vec<u8>)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/case_errors/files");
    let mut files: Vec<(String, Vec<u8>)> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .map(|path| (path.file_name().unwrap().to_string_lossy().into_owned(), std::fs::read(&path).unwrap()))
        .collect();
    files.sort();
    files
}

fn refused(bytes: &[u8]) -> Option<CaseErrors> {
    case::parse_bytes(bytes).and_then(|case| case.model()).err()
}

#[test]
fn every_wrong_file_is_refused_where_it_is_wrong() {
    let files = files();
    assert!(files.len() >= 60, "{}", files.len());
    let mut report = String::new();
    let mut faults = Vec::new();
    for (name, bytes) in &files {
        let text = String::from_utf8_lossy(bytes);
        let Some(errors) = refused(bytes) else {
            faults.push(format!("{name}: accepted"));
            continue;
        };
        report.push_str(&format!("=== {name}\n{}", errors.plain_text(name, &text)));
        for diagnostic in errors.diagnostics() {
            let span = diagnostic.span.clone().expect("an error of a file has a place in it");
            if span.start > bytes.len() || span.end > bytes.len() || span.start > span.end {
                faults.push(format!("{name}: {span:?} lies outside the file"));
            }
            if diagnostic.message.is_empty() || diagnostic.help.is_empty() {
                faults.push(format!("{name}: no message or no fix: {diagnostic:?}"));
            }
        }
        if let Some(expected) = text.lines().find_map(|line| line.strip_prefix("# expect: ")) {
            let (code, path) = expected.split_once(' ').unwrap();
            let path = if path == "-" { "" } else { path };
            let found = errors.diagnostics().iter().any(|d| d.code == code.trim() && d.path == path);
            if !found {
                faults.push(format!("{name}: expected {expected}, found\n{}", errors.plain_text(name, &text)));
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    insta::assert_snapshot!("wrong_files", report);
}

#[test]
fn several_mistakes_are_reported_together() {
    let (_, bytes) = files().into_iter().find(|(name, _)| name == "several-at-once.toml").unwrap();
    let paths: Vec<String> = refused(&bytes).unwrap().diagnostics().into_iter().map(|d| d.path).collect();
    for path in ["duty.normal.pressure", "seal.spring_force", "limits", "rotating_ring.section.1", "stationary_ring.roughness"] {
        assert!(paths.iter().any(|found| found == path), "{path} is not among {paths:?}");
    }
}

#[test]
fn a_file_of_ten_megabytes_is_refused_by_its_size() {
    let bytes = b"# padding\n".repeat(1_000_000);
    let errors = refused(&bytes).unwrap();
    assert_eq!(errors.diagnostics()[0].code, "case.too-large");
    assert!(errors.to_string().contains("10000000"), "{errors}");
}
