//! The world in which sheets are typeset: our templates, our fonts, and what a sheet shows.
//!
//! Nothing else is within reach: no clock, no file of the machine, no package.

use crate::SheetError;
use std::collections::BTreeMap;
use std::sync::LazyLock;
use typst::diag::{FileError, FileResult, SourceDiagnostic};
use typst::foundations::{Bytes, Datetime, Duration};
use typst::layout::{Abs, Em};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook, FontInstance, FontVariant, FontVariations};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World};

/// The template that every document begins with.
const MAIN: &str = "/book.typ";

/// All templates.
const TEMPLATES: [(&str, &str); 3] = [
    (MAIN, include_str!("../templates/book.typ")),
    ("/blocks.typ", include_str!("../templates/blocks.typ")),
    ("/table.typ", include_str!("../templates/table.typ")),
];

const FONTS: [&[u8]; 4] = [
    notosans::REGULAR_TTF,
    notosans::BOLD_TTF,
    notosans::ITALIC_TTF,
    notosans::BOLD_ITALIC_TTF,
];

/// What is the same for every document, and takes a moment to make.
struct Fixed {
    library: LazyHash<Library>,
    book: LazyHash<FontBook>,
    fonts: Vec<Font>,
    /// The first of them, to measure by.
    plain: Option<FontInstance>,
}

static FIXED: LazyLock<Fixed> = LazyLock::new(|| {
    let fonts = FONTS.iter().flat_map(|data| Font::iter(Bytes::new(*data)));
    let fonts: Vec<Font> = fonts.collect();
    Fixed {
        library: LazyHash::new(Library::default()),
        book: LazyHash::new(FontBook::from_fonts(&fonts)),
        plain: fonts.first().map(plain),
        fonts,
    }
});

/// How far words run in the font of the sheets, without kerning, in parts of its size.
pub fn run_of(words: &str) -> f64 {
    let Some(font) = &FIXED.plain else {
        return 0.0;
    };
    let advance = |letter: char| {
        let glyph = font.ttf().glyph_index(letter)?;
        font.x_advance(glyph.0).map(Em::get)
    };
    words.chars().filter_map(advance).sum()
}

fn plain(font: &Font) -> FontInstance {
    let size = Abs::pt(10.0);
    font.clone()
        .instantiate(FontVariant::default(), size, &FontVariations::default())
}

/// Our templates with the data and the drawings of one document.
pub struct SheetWorld {
    main: FileId,
    templates: BTreeMap<&'static str, Source>,
    files: BTreeMap<String, Bytes>,
    /// What the document is told apart by: its content.
    name: String,
}

/// What the templates read.
const DATA: &str = "/data.json";

impl SheetWorld {
    /// A world with data, and with drawings by their path.
    pub fn of(data: String, drawings: Vec<(String, String)>) -> Result<Self, SheetError> {
        let mut templates = BTreeMap::new();
        for (path, text) in TEMPLATES {
            templates.insert(path, Source::new(file(path)?, text.to_owned()));
        }
        let name = data.clone();
        let files = drawings.into_iter().chain([(DATA.to_owned(), data)]);
        Ok(Self {
            main: file(MAIN)?,
            templates,
            files: files
                .map(|(path, text)| (path, Bytes::from_string(text)))
                .collect(),
            name,
        })
    }

    /// The document as a PDF; the same one gives the same bytes.
    pub fn pdf(&self) -> Result<Vec<u8>, SheetError> {
        let set = typst::compile(self);
        let document = set.output.map_err(|errors| refused(&errors))?;
        let options = typst_pdf::PdfOptions {
            ident: typst::foundations::Smart::Custom(self.name.clone()),
            creator: typst::foundations::Smart::Custom(Some("Spadework".to_owned())),
            tagged: false,
            ..typst_pdf::PdfOptions::default()
        };
        let pdf = typst_pdf::pdf(&document, &options).map_err(|errors| refused(&errors))?;
        // What was worked out for this document is of little use for the next.
        typst::comemo::evict(KEPT);
        Ok(pdf)
    }
}

/// Documents for which the typesetter keeps what it has worked out.
const KEPT: usize = 1;

fn file(path: &str) -> Result<FileId, SheetError> {
    let path = VirtualPath::new(path).map_err(|e| SheetError::Typesetting(format!("{e:?}")))?;
    Ok(FileId::new(RootedPath::new(VirtualRoot::Project, path)))
}

fn refused(errors: &[SourceDiagnostic]) -> SheetError {
    let words = errors.iter().map(|error| error.message.to_string());
    SheetError::Typesetting(words.collect::<Vec<_>>().join("; "))
}

impl World for SheetWorld {
    fn library(&self) -> &LazyHash<Library> {
        &FIXED.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &FIXED.book
    }

    fn main(&self) -> FileId {
        self.main
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        let path = id.get().vpath();
        let source = self.templates.get(path.get_with_slash());
        source.cloned().ok_or_else(|| not_there(path))
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        let path = id.get().vpath();
        let file = self.files.get(path.get_with_slash());
        file.cloned().ok_or_else(|| not_there(path))
    }

    fn font(&self, index: usize) -> Option<Font> {
        FIXED.fonts.get(index).cloned()
    }

    fn today(&self, _: Option<Duration>) -> Option<Datetime> {
        None
    }
}

fn not_there(path: &VirtualPath) -> FileError {
    FileError::NotFound(path.get_with_slash().into())
}
