//! The folder of case files: what may be named, read and written, and nothing else.

use std::io::{ErrorKind, Read, Write};
use std::path::{Path, PathBuf};

use axum::http::StatusCode;
use halfmicron::case::MOST_BYTES;

use super::problem::Problem;

/// Longest name of a case file.
pub const LONGEST_NAME: usize = 96;

/// A folder of case files.
#[derive(Debug, Clone)]
pub struct Folder {
    root: PathBuf,
}

/// One file as it was listed.
#[derive(Debug, Clone, PartialEq)]
pub struct Listed {
    /// Name.
    pub name: String,
    /// Size, bytes.
    pub size: u64,
    /// Last change.
    pub modified: std::time::SystemTime,
}

/// What a listing found.
#[derive(Debug, Default)]
pub struct Listing {
    /// Case files, by name.
    pub files: Vec<Listed>,
    /// Files that look like cases and cannot be served, with the reason.
    pub left_out: Vec<(String, String)>,
}

/// The BLAKE3 hash of a text, hexadecimal.
pub fn tag_of(text: &[u8]) -> String {
    blake3::hash(text).to_hex().to_string()
}

/// Why a name is no name of a case file.
pub fn name_fault(name: &str) -> Option<String> {
    let allowed = |c: char| c.is_ascii_alphanumeric() || matches!(c, '.' | '_' | '-');
    let stem = name.strip_suffix(".toml");
    if name.len() > LONGEST_NAME {
        Some(format!("a name has at most {LONGEST_NAME} characters"))
    } else if !name.chars().all(allowed) {
        Some("a name is made of the letters A to Z and a to z, digits, `.`, `_` and `-`".to_owned())
    } else if name.starts_with('.') {
        Some("a name does not begin with a dot".to_owned())
    } else if stem.is_none_or(str::is_empty) {
        Some("a name ends in .toml".to_owned())
    } else if stem.is_some_and(is_device) {
        Some("some systems take this name for a device".to_owned())
    } else {
        None
    }
}

/// Names that one family of systems keeps for devices, whatever follows the first dot.
fn is_device(stem: &str) -> bool {
    let first = stem.split('.').next().unwrap_or_default().to_ascii_lowercase();
    let numbered = |of: &str| first.strip_prefix(of).is_some_and(|rest| rest.len() == 1 && rest.chars().all(|c| c.is_ascii_digit()));
    matches!(first.as_str(), "con" | "prn" | "aux" | "nul") || numbered("com") || numbered("lpt")
}

impl Folder {
    /// A folder that is there.
    ///
    /// # Errors
    /// There is none, or it is a file.
    pub fn open(path: &Path) -> std::io::Result<Self> {
        let root = path.canonicalize()?;
        if root.is_dir() { Ok(Self { root }) } else { Err(ErrorKind::NotADirectory.into()) }
    }

    /// The folder.
    pub fn path(&self) -> &Path {
        &self.root
    }

    /// Every case file.
    ///
    /// # Errors
    /// The folder cannot be read.
    pub fn list(&self) -> Result<Listing, Problem> {
        let mut listing = Listing::default();
        let entries = std::fs::read_dir(&self.root).map_err(|error| cannot("the folder cannot be read", &error))?;
        for entry in entries.flatten() {
            let name = entry.file_name().to_string_lossy().into_owned();
            if !name.ends_with(".toml") || name.starts_with('.') {
                continue;
            }
            match self.listed(&name) {
                Ok(file) => listing.files.push(file),
                Err(reason) => listing.left_out.push((name, reason)),
            }
        }
        listing.files.sort_by(|a, b| a.name.cmp(&b.name));
        listing.left_out.sort();
        Ok(listing)
    }

    fn listed(&self, name: &str) -> Result<Listed, String> {
        if let Some(fault) = name_fault(name) {
            return Err(fault);
        }
        let path = self.existing(name).map_err(|problem| problem.error.message)?;
        let about = path.metadata().map_err(|error| error.to_string())?;
        if about.len() > MOST_BYTES as u64 {
            return Err(format!("it has {} bytes; a case file has at most {MOST_BYTES}", about.len()));
        }
        let modified = about.modified().map_err(|error| error.to_string())?;
        Ok(Listed { name: name.to_owned(), size: about.len(), modified })
    }

    /// Where an existing case file truly lies.
    fn existing(&self, name: &str) -> Result<PathBuf, Problem> {
        let path = self.allowed(name)?;
        let real = path.canonicalize().map_err(|error| match error.kind() {
            ErrorKind::NotFound => no_such_case(name),
            _ => cannot(&format!("{name} cannot be read"), &error),
        })?;
        if real.parent() != Some(&self.root) || !real.is_file() {
            return Err(Problem::new(
                StatusCode::FORBIDDEN,
                "file.outside",
                format!("{name} is no file of this folder"),
                "Put a copy of the file itself into the folder: links that lead out of it and folders are not followed.",
            ));
        }
        Ok(real)
    }

    fn allowed(&self, name: &str) -> Result<PathBuf, Problem> {
        match name_fault(name) {
            None => Ok(self.root.join(name)),
            Some(fault) => Err(Problem::new(StatusCode::BAD_REQUEST, "file.name", fault, "Name the case, e.g., booster-2.toml.")),
        }
    }

    /// The text of a case file.
    ///
    /// # Errors
    /// A name that is none, a file that is not there or cannot be read, or is no text.
    pub fn read(&self, name: &str) -> Result<String, Problem> {
        let path = self.existing(name)?;
        let cannot = |error: std::io::Error| cannot(&format!("{name} cannot be read"), &error);
        let file = std::fs::File::open(path).map_err(cannot)?;
        let mut bytes = Vec::new();
        file.take(MOST_BYTES as u64 + 1).read_to_end(&mut bytes).map_err(cannot)?;
        if bytes.len() > MOST_BYTES {
            return Err(Problem::impossible(
                "file.too-large",
                format!("{name} has more than {MOST_BYTES} bytes"),
                "A case file is a few kilobytes of text: is this the right file?",
            ));
        }
        String::from_utf8(bytes).map_err(|error| {
            let message = format!("{name} is not text in UTF-8: byte {} cannot be read", error.utf8_error().valid_up_to());
            Problem::impossible("file.not-text", message, "Save it as UTF-8 in a text editor.")
        })
    }

    /// Makes a new file; never over another.
    ///
    /// # Errors
    /// A name that is none, a file of that name, or a folder that cannot be written.
    pub fn make(&self, name: &str, text: &str) -> Result<(), Problem> {
        let path = self.allowed(name)?;
        if path.symlink_metadata().is_ok() {
            return Err(already(name));
        }
        self.beside(name, text, None)?.persist_noclobber(&path).map(drop).map_err(|error| match error.error.kind() {
            ErrorKind::AlreadyExists => already(name),
            _ => cannot(&format!("{name} cannot be written"), &error.error),
        })
    }

    /// Replaces a file whose text still has the tag; otherwise the present text comes back.
    ///
    /// # Errors
    /// A name that is none, a file that is not there, or a folder that cannot be written.
    pub fn replace(&self, name: &str, text: &str, tag: &str) -> Result<Result<(), String>, Problem> {
        let path = self.existing(name)?;
        let present = self.read(name)?;
        if tag_of(present.as_bytes()) != tag {
            return Ok(Err(present));
        }
        let permissions = path.metadata().ok().map(|about| about.permissions());
        let written = self.beside(name, text, permissions)?;
        // Writing took its time: what changed meanwhile is not overwritten either.
        let present = self.read(name)?;
        if tag_of(present.as_bytes()) != tag {
            return Ok(Err(present));
        }
        written.persist(&path).map(|_| Ok(())).map_err(|error| cannot(&format!("{name} cannot be written"), &error.error))
    }

    /// The text in a temporary file of the folder, complete on the disk.
    fn beside(&self, name: &str, text: &str, permissions: Option<std::fs::Permissions>) -> Result<tempfile::NamedTempFile, Problem> {
        let fault = |error: std::io::Error| cannot(&format!("{name} cannot be written"), &error);
        let mut builder = tempfile::Builder::new();
        builder.prefix(".halfmicron-").suffix(".tmp");
        #[cfg(unix)]
        builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
        let mut file = builder.tempfile_in(&self.root).map_err(fault)?;
        file.write_all(text.as_bytes()).and_then(|()| file.as_file().sync_all()).map_err(fault)?;
        if let Some(permissions) = permissions {
            file.as_file().set_permissions(permissions).map_err(fault)?;
        }
        Ok(file)
    }
}

/// There is no file of that name.
pub fn no_such_case(name: &str) -> Problem {
    Problem::not_found("file.none", format!("the folder has no {name}"), "GET /api/cases lists the files there are.")
}

fn already(name: &str) -> Problem {
    Problem::new(StatusCode::CONFLICT, "file.there", format!("{name} exists already"), "Choose another name, or open that file.")
}

fn cannot(what: &str, error: &std::io::Error) -> Problem {
    let (status, hint) = match error.kind() {
        ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem => (StatusCode::FORBIDDEN, "Check the permissions of the folder."),
        ErrorKind::StorageFull => (StatusCode::INSUFFICIENT_STORAGE, "Make room on the disk."),
        _ => (StatusCode::INTERNAL_SERVER_ERROR, "Look at the folder and try again."),
    };
    Problem::new(status, "file.fault", format!("{what}: {error}"), hint)
}
