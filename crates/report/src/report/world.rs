//! The typesetter's world: one source, one data file, the figures and two typefaces, all in memory.

use std::collections::HashMap;
use std::sync::LazyLock;

use typst::diag::{FileError, FileResult};
use typst::foundations::{Bytes, Datetime, Duration};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World};

static LIBRARY: LazyLock<LazyHash<Library>> = LazyLock::new(|| LazyHash::new(Library::default()));

static FONTS: LazyLock<Vec<Font>> = LazyLock::new(|| {
    let files: [&'static [u8]; 2] =
        [include_bytes!("../../fonts/DejaVuSansCondensed.ttf"), include_bytes!("../../fonts/DejaVuSansCondensed-Bold.ttf")];
    files.into_iter().filter_map(|file| Font::new(Bytes::new(file), 0)).collect()
});

static BOOK: LazyLock<LazyHash<FontBook>> = LazyLock::new(|| LazyHash::new(FontBook::from_fonts(FONTS.iter())));

/// Letters of a text that no embedded typeface can show.
pub(super) fn unknown_letters(text: &str) -> Vec<char> {
    let shown = |letter: char| letter.is_whitespace() || FONTS.iter().all(|font| font.info().coverage.contains(letter as u32));
    let mut unknown: Vec<char> = text.chars().filter(|letter| !shown(*letter)).collect();
    unknown.sort_unstable();
    unknown.dedup();
    unknown
}

/// Files of one document.
pub(super) struct Desk {
    main: Source,
    files: HashMap<FileId, Bytes>,
}

impl Desk {
    /// A document of this source with files beside it; none where a name is no path.
    pub(super) fn new(source: &str, files: impl IntoIterator<Item = (String, Vec<u8>)>) -> Option<Self> {
        let main = Source::new(file_id("main.typ")?, source.to_owned());
        let files: Option<HashMap<FileId, Bytes>> =
            files.into_iter().map(|(name, bytes)| file_id(&name).map(|id| (id, Bytes::new(bytes)))).collect();
        Some(Self { main, files: files? })
    }
}

fn file_id(name: &str) -> Option<FileId> {
    Some(RootedPath::new(VirtualRoot::Project, VirtualPath::new(name).ok()?).intern())
}

impl World for Desk {
    fn library(&self) -> &LazyHash<Library> {
        &LIBRARY
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &BOOK
    }

    fn main(&self) -> FileId {
        self.main.id()
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        if id == self.main.id() { Ok(self.main.clone()) } else { Err(missing(id)) }
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        self.files.get(&id).cloned().ok_or_else(|| missing(id))
    }

    fn font(&self, index: usize) -> Option<Font> {
        FONTS.get(index).cloned()
    }

    /// None: a report carries no date but that of its signature.
    fn today(&self, _offset: Option<Duration>) -> Option<Datetime> {
        None
    }
}

fn missing(id: FileId) -> FileError {
    FileError::NotFound(id.vpath().get_without_slash().into())
}
