//! Telling job files from others, opening them, and looking whether they are whole.

use rusqlite::backup::Backup;
use rusqlite::config::DbConfig;
use rusqlite::{Connection, ErrorCode, OpenFlags};
use std::fs::{self, File};
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use std::time::Duration;
use tempfile::TempPath;

use crate::rows::Table;
use crate::{Store, StoreError, functions, schema};

/// Largest job file that is opened, bytes: a property with pictures of its plans fits.
pub const LARGEST_FILE: u64 = 1 << 30;

/// How long another program may be at the file before it counts as in use.
const PATIENCE: Duration = Duration::from_secs(3);

/// What an SQLite database begins with (the file format's clause 1.3).
const MAGIC: &[u8] = b"SQLite format 3\0";
/// Where its header says that it keeps a write-ahead log, and with what.
const WRITE_VERSION: usize = 18;
const WRITE_AHEAD: u8 = 2;
/// Where its header names the program that it is of, and the names of GeoPackages.
const APPLICATION: std::ops::Range<usize> = 68..72;
const GEOPACKAGES: [&[u8]; 3] = [b"GPKG", b"GP10", b"GP11"];
const HEADER: usize = 100;

/// What SQLite puts beside a database while it works on it.
const BESIDE: [&str; 3] = ["-journal", "-wal", "-shm"];

/// Whether bytes begin as an SQLite database does.
pub fn is_database(bytes: &[u8]) -> bool {
    bytes.starts_with(MAGIC)
}

/// How often, and after which pauses, a file is looked at that seems damaged while something stands beside it.
const LOOKS: u32 = 10;
const PAUSE: Duration = Duration::from_millis(50);

pub(crate) fn to_change(path: &Path) -> Result<Store, StoreError> {
    let form = form(path)?;
    let left = unsettled(path);
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let mut connection = connected(path, flags)?;
    let unwritten = |source| refused(path, "written", source);
    one_file(&connection, path)?;
    if left {
        schema::settle(&connection).map_err(unwritten)?;
    }
    if form < schema::NEWEST {
        whole(&connection, path)?;
        schema::migrate(&mut connection, Some(form)).map_err(unwritten)?;
    }
    store(path, connection)
}

pub(crate) fn to_read(path: &Path) -> Result<Store, StoreError> {
    let form = form(path)?;
    if unsettled(path) {
        // What a program left half done has to be taken back before anything can be read.
        return to_change(path);
    }
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let mut connection = connected(path, flags)?;
    if form < schema::NEWEST {
        whole(&connection, path)?;
        connection =
            in_memory(&connection, form).map_err(|source| refused(path, "read", source))?;
    }
    store(path, connection)
}

/// A name for a new file beside the one wanted, so that it can take its name in one step.
pub(crate) fn beside(path: &Path) -> Result<TempPath, StoreError> {
    let folder = match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    let mut builder = tempfile::Builder::new();
    builder.prefix(".spadework-").suffix(".gpkg");
    // A file that stays is as open to others as any that the user makes.
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    let made = builder.tempfile_in(folder);
    let file = made.map_err(|source| StoreError::System {
        path: path.to_owned(),
        doing: "written",
        source,
    })?;
    Ok(file.into_temp_path())
}

/// A new job file in place of an empty one.
pub(crate) fn fresh(path: &Path) -> Result<Store, StoreError> {
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let mut connection = connected(path, flags)?;
    one_file(&connection, path)?;
    schema::migrate(&mut connection, None).map_err(|source| refused(path, "written", source))?;
    store(path, connection)
}

fn store(path: &Path, connection: Connection) -> Result<Store, StoreError> {
    whole(&connection, path)?;
    let missing = schema::missing(&connection).map_err(|source| refused(path, "read", source))?;
    if !missing.is_empty() {
        return Err(damaged(path, missing));
    }
    let tables = Table::all(&connection).map_err(|source| refused(path, "read", source))?;
    Ok(Store {
        path: path.to_owned(),
        connection,
        tables,
    })
}

/// A connection that takes nothing in the file for granted.
fn connected(path: &Path, flags: OpenFlags) -> Result<Connection, StoreError> {
    let prepared = || -> rusqlite::Result<Connection> {
        let connection = Connection::open_with_flags(path, flags)?;
        connection.busy_timeout(PATIENCE)?;
        connection.set_db_config(DbConfig::SQLITE_DBCONFIG_DEFENSIVE, true)?;
        connection.set_db_config(DbConfig::SQLITE_DBCONFIG_TRUSTED_SCHEMA, false)?;
        connection.execute_batch(
            "PRAGMA cell_size_check = ON; PRAGMA foreign_keys = ON; PRAGMA synchronous = EXTRA;",
        )?;
        functions::register(&connection)?;
        Ok(connection)
    };
    prepared().map_err(|source| refused(path, "read", source))
}

/// Keeps a job in the one file: a copy of it that was made while a write-ahead log stood beside it would lack
/// the last changes.
fn one_file(connection: &Connection, path: &Path) -> Result<(), StoreError> {
    let mode = connection.query_row("PRAGMA journal_mode = DELETE", [], |row| {
        row.get::<_, String>(0)
    });
    match mode {
        Ok(mode) if mode.eq_ignore_ascii_case("delete") => Ok(()),
        Ok(_) => Err(StoreError::InUse(path.to_owned())),
        Err(source) => Err(refused(path, "written", source)),
    }
}

fn in_memory(connection: &Connection, form: i64) -> rusqlite::Result<Connection> {
    let mut copy = Connection::open_in_memory()?;
    Backup::new(connection, &mut copy)?.run_to_completion(1000, Duration::ZERO, None)?;
    functions::register(&copy)?;
    schema::migrate(&mut copy, Some(form))?;
    Ok(copy)
}

/// Whether everything in the database is as it was written.
fn whole(connection: &Connection, path: &Path) -> Result<(), StoreError> {
    let looked = || -> rusqlite::Result<Vec<String>> {
        let mut statement = connection.prepare("PRAGMA integrity_check(20)")?;
        let rows = statement.query_map([], |row| row.get::<_, String>(0))?;
        let mut found: Vec<String> = rows.collect::<Result<_, _>>()?;
        found.retain(|line| line != "ok");
        let mut statement = connection.prepare("PRAGMA foreign_key_check")?;
        let rows = statement.query_map([], |row| row.get::<_, String>(0))?;
        for table in rows {
            found.push(format!(
                "the table `{}` refers to what is not there",
                table?
            ));
        }
        Ok(found)
    };
    match looked() {
        Ok(found) if found.is_empty() => Ok(()),
        Ok(found) => Err(damaged(path, found)),
        Err(source) => Err(refused(path, "read", source)),
    }
}

/// The form of a job file; an error if it is none, or of no form that is known. Touches nothing.
fn form(path: &Path) -> Result<i64, StoreError> {
    for _ in 1..LOOKS {
        match form_now(path) {
            // Another program may be writing it at this moment.
            Err(StoreError::Damaged { .. } | StoreError::Database { .. }) if unsettled(path) => {
                std::thread::sleep(PAUSE);
            }
            other => return other,
        }
    }
    form_now(path)
}

fn form_now(path: &Path) -> Result<i64, StoreError> {
    let header = header(path)?;
    if !is_database(&header) || header.len() < HEADER {
        return Err(StoreError::NotADatabase(path.to_owned()));
    }
    if !GEOPACKAGES.contains(&&header[APPLICATION]) {
        return Err(foreign(path, "an SQLite database"));
    }
    // A database with a log or a journal beside it would be changed by being looked at: a copy is.
    let untouched = if header[WRITE_VERSION] == WRITE_AHEAD || unsettled(path) {
        Some(copied(path)?)
    } else {
        None
    };
    let looked_at = match &untouched {
        Some((_, copy)) => copy.as_path(),
        None => path,
    };
    let flags = match untouched {
        Some(_) => OpenFlags::SQLITE_OPEN_READ_WRITE,
        None => OpenFlags::SQLITE_OPEN_READ_ONLY,
    };
    let connection = connected(looked_at, flags | OpenFlags::SQLITE_OPEN_NO_MUTEX)?;
    match schema::form(&connection) {
        Err(source) => Err(refused(path, "read", source)),
        Ok(None) => Err(foreign(path, "a GeoPackage")),
        Ok(Some(found)) if found > schema::NEWEST => Err(StoreError::Newer {
            path: path.to_owned(),
            found,
            known: schema::NEWEST,
        }),
        Ok(Some(found)) if !schema::is_known(found) => {
            let what = format!("it says that it is of the form {found}, and there is none");
            Err(damaged(path, vec![what]))
        }
        Ok(Some(found)) => Ok(found),
    }
}

fn header(path: &Path) -> Result<Vec<u8>, StoreError> {
    let unread = |source: io::Error| match source.kind() {
        io::ErrorKind::NotFound => StoreError::NotThere(path.to_owned()),
        _ => StoreError::System {
            path: path.to_owned(),
            doing: "read",
            source,
        },
    };
    let about = fs::metadata(path).map_err(unread)?;
    if !about.is_file() {
        return Err(StoreError::NotADatabase(path.to_owned()));
    }
    if about.len() > LARGEST_FILE {
        let (is, may) = (about.len() >> 20, LARGEST_FILE >> 20);
        return Err(damaged(
            path,
            vec![format!("it is {is} MiB large, and {may} MiB are the most")],
        ));
    }
    let mut header = Vec::new();
    let file = File::open(path).map_err(unread)?;
    file.take(HEADER as u64)
        .read_to_end(&mut header)
        .map_err(unread)?;
    Ok(header)
}

/// Whether something stands beside the file that another program, or one that was killed, has left.
fn unsettled(path: &Path) -> bool {
    BESIDE.iter().any(|end| with_end(path, end).exists())
}

fn with_end(path: &Path, end: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(end);
    PathBuf::from(name)
}

/// A copy of the file, and of what stands beside it, in a folder of its own.
fn copied(path: &Path) -> Result<(tempfile::TempDir, PathBuf), StoreError> {
    let made = || -> io::Result<(tempfile::TempDir, PathBuf)> {
        let folder = tempfile::tempdir()?;
        let copy = folder.path().join("copy.gpkg");
        fs::copy(path, &copy)?;
        for end in BESIDE {
            let beside = with_end(path, end);
            // What is gone by now was put away by the program whose it is.
            if beside.exists() {
                fs::copy(beside, with_end(&copy, end))?;
            }
        }
        Ok((folder, copy))
    };
    made().map_err(|source| StoreError::System {
        path: path.to_owned(),
        doing: "read",
        source,
    })
}

fn foreign(path: &Path, what: &'static str) -> StoreError {
    StoreError::Foreign {
        path: path.to_owned(),
        what,
    }
}

fn damaged(path: &Path, what: Vec<String>) -> StoreError {
    StoreError::Damaged {
        path: path.to_owned(),
        what,
    }
}

/// What a refusal of the database means for the file.
pub(crate) fn refused(path: &Path, doing: &'static str, source: rusqlite::Error) -> StoreError {
    match source.sqlite_error_code() {
        Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => {
            StoreError::InUse(path.to_owned())
        }
        Some(ErrorCode::DatabaseCorrupt) => damaged(path, vec![source.to_string()]),
        Some(ErrorCode::NotADatabase) => StoreError::NotADatabase(path.to_owned()),
        _ => StoreError::Database {
            path: path.to_owned(),
            doing,
            source,
        },
    }
}
