//! Answers that are files.

use axum::http::{HeaderValue, header};
use axum::response::{IntoResponse, Response};

/// A file to be kept, named after the title of its case.
pub fn attachment(title: &str, ending: &str, kind: &'static str, bytes: Vec<u8>) -> Response {
    let disposition = format!("attachment; filename=\"{}.{ending}\"", file_name(title));
    let disposition = HeaderValue::from_str(&disposition).unwrap_or(HeaderValue::from_static("attachment"));
    ([(header::CONTENT_TYPE, HeaderValue::from_static(kind)), (header::CONTENT_DISPOSITION, disposition)], bytes).into_response()
}

/// A title as a file name: letters and digits of ASCII, everything else a hyphen.
pub fn file_name(title: &str) -> String {
    let mut name = String::new();
    for letter in title.chars().take(60) {
        match letter {
            letter if letter.is_ascii_alphanumeric() => name.push(letter.to_ascii_lowercase()),
            _ if !name.is_empty() && !name.ends_with('-') => name.push('-'),
            _ => {}
        }
    }
    let name = name.trim_end_matches('-');
    if name.is_empty() { "case".to_owned() } else { name.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn titles_become_plain_names() {
        assert_eq!(file_name("Saltmere works: brine booster P-101"), "saltmere-works-brine-booster-p-101");
        assert_eq!(file_name("../../\"\r\n\u{e4}"), "case");
    }
}
