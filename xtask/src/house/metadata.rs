//! What `cargo metadata --no-deps` says about the crates of the workspace.

use std::path::PathBuf;

use anyhow::{Context, Result};
use serde_json::Value;

/// A crate of the workspace.
#[derive(Debug, PartialEq, Eq)]
pub struct Member {
    pub name: String,
    pub folder: PathBuf,
    pub imports: Vec<Import>,
}

/// A dependency that a manifest declares.
#[derive(Debug, PartialEq, Eq)]
pub struct Import {
    pub name: String,
    pub ours: bool,
    pub kind: Kind,
}

/// In which table of the manifest a dependency stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    Normal,
    Development,
    Build,
}

/// Reads the members of the workspace, in the order in which cargo names them.
pub fn read(json: &[u8]) -> Result<Vec<Member>> {
    let metadata: Value = serde_json::from_slice(json).context("cargo metadata is not JSON")?;
    list(&metadata, "packages")?.iter().map(member).collect()
}

fn member(package: &Value) -> Result<Member> {
    let mut folder = PathBuf::from(text(package, "manifest_path")?);
    folder.pop();
    Ok(Member {
        name: text(package, "name")?.to_owned(),
        folder,
        imports: list(package, "dependencies")?
            .iter()
            .map(import)
            .collect::<Result<_>>()?,
    })
}

fn import(dependency: &Value) -> Result<Import> {
    Ok(Import {
        name: text(dependency, "name")?.to_owned(),
        // Cargo gives a path only to a dependency that is not from a registry.
        ours: dependency.get("path").is_some_and(Value::is_string),
        kind: match dependency.get("kind").and_then(Value::as_str) {
            Some("dev") => Kind::Development,
            Some("build") => Kind::Build,
            _ => Kind::Normal,
        },
    })
}

fn list<'a>(value: &'a Value, member: &str) -> Result<&'a Vec<Value>> {
    value
        .get(member)
        .and_then(Value::as_array)
        .with_context(|| format!("cargo metadata has no list `{member}`"))
}

fn text<'a>(value: &'a Value, member: &str) -> Result<&'a str> {
    value
        .get(member)
        .and_then(Value::as_str)
        .with_context(|| format!("cargo metadata has no text `{member}`"))
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::{Import, Kind, read};

    #[test]
    fn a_member_and_its_imports_are_read() {
        let json = br#"{"packages":[{"name":"routes","manifest_path":"/h/routes/Cargo.toml",
            "dependencies":[{"name":"ground","kind":null,"path":"/h/ground"},
                            {"name":"proptest","kind":"dev"}]}]}"#;
        let members = read(json).unwrap();
        assert_eq!(members.len(), 1);
        assert_eq!(members[0].name, "routes");
        assert_eq!(members[0].folder, Path::new("/h/routes"));
        let ground = Import {
            name: "ground".into(),
            ours: true,
            kind: Kind::Normal,
        };
        let proptest = Import {
            name: "proptest".into(),
            ours: false,
            kind: Kind::Development,
        };
        assert_eq!(members[0].imports, [ground, proptest]);
    }

    #[test]
    fn something_else_than_metadata_is_an_error() {
        assert!(read(b"{}").is_err());
        assert!(read(b"cargo").is_err());
    }
}
