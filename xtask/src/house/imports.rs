//! Holds the imports of every crate against the house.

use super::metadata::{Import, Kind, Member};
use super::rooms::{CORE_MAY_USE, MATHEMATICS_MAY_USE, Room, Side};

/// Names every import that the house does not allow, every crate without a place in it, and every
/// place without a crate.
pub fn check(house: &[Room], members: &[Member]) -> Vec<String> {
    let mut breaches = Vec::new();
    for member in members {
        match house.iter().find(|room| room.name == member.name) {
            Some(room) => {
                breaches.extend(
                    member
                        .imports
                        .iter()
                        .filter_map(|import| breach(room, import)),
                );
            }
            None => breaches.push(format!(
                "`{}` has no place in the house: give it one in xtask/src/house/rooms.rs",
                member.name
            )),
        }
    }
    let empty = house
        .iter()
        .filter(|room| !members.iter().any(|member| member.name == room.name));
    breaches.extend(empty.map(|room| {
        format!(
            "`{}` has a place in xtask/src/house/rooms.rs but is no crate: take it out",
            room.name
        )
    }));
    breaches
}

fn breach(room: &Room, import: &Import) -> Option<String> {
    if import.ours {
        own_breach(room, import)
    } else {
        external_breach(room, import)
    }
}

/// Tests and build scripts keep to the direction too: a crate has to be understood, and tested,
/// with what stands before it alone.
fn own_breach(room: &Room, import: &Import) -> Option<String> {
    if room
        .may_import
        .split_whitespace()
        .any(|name| name == import.name)
    {
        return None;
    }
    let allowed = if room.may_import.is_empty() {
        "nothing of ours"
    } else {
        room.may_import
    };
    Some(format!(
        "`{}` imports `{}`{}, against the direction of the house; it may import: {allowed}. Move \
         what it needs to one of these",
        room.name,
        import.name,
        table(import.kind),
    ))
}

/// What tests use from outside is free: it is in no product.
fn external_breach(room: &Room, import: &Import) -> Option<String> {
    let allowed = match room.side {
        Side::Outside => return None,
        _ if import.kind == Kind::Development => return None,
        Side::Core if CORE_MAY_USE.contains(&import.name.as_str()) => return None,
        Side::Core => CORE_MAY_USE.join(" "),
        Side::Mathematics if MATHEMATICS_MAY_USE.contains(&import.name.as_str()) => return None,
        Side::Mathematics => MATHEMATICS_MAY_USE.join(" "),
    };
    Some(format!(
        "`{}` imports the external crate `{}`{}; it may use: {allowed}. Do the I/O or the showing \
         in a crate outside the core, or, if `{}` does neither, add it to CORE_MAY_USE in \
         xtask/src/house/rooms.rs",
        room.name,
        import.name,
        table(import.kind),
        import.name,
    ))
}

fn table(kind: Kind) -> &'static str {
    match kind {
        Kind::Normal => "",
        Kind::Development => " for its tests",
        Kind::Build => " for its build script",
    }
}

#[cfg(test)]
mod tests {
    use std::path::PathBuf;

    use super::super::metadata::{Import, Kind, Member};
    use super::super::rooms::HOUSE;
    use super::check;

    /// The whole house with its allowed imports, and one import more.
    fn breaches_with(name: &str, import: Import) -> Vec<String> {
        let mut members: Vec<Member> = HOUSE.iter().map(|room| member(room.name)).collect();
        for (member, room) in members.iter_mut().zip(&HOUSE) {
            member.imports = room.may_import.split_whitespace().map(ours).collect();
        }
        match members.iter_mut().find(|member| member.name == name) {
            Some(member) => member.imports.push(import),
            None => members.push(Member {
                imports: vec![import],
                ..member(name)
            }),
        }
        check(&HOUSE, &members)
    }

    fn member(name: &str) -> Member {
        Member {
            name: name.into(),
            folder: PathBuf::new(),
            imports: Vec::new(),
        }
    }

    fn ours(name: &str) -> Import {
        Import {
            name: name.into(),
            ours: true,
            kind: Kind::Normal,
        }
    }

    fn external(name: &str) -> Import {
        Import {
            name: name.into(),
            ours: false,
            kind: Kind::Normal,
        }
    }

    #[track_caller]
    fn refused(name: &str, import: Import) {
        let imported = format!("`{}`", import.name);
        let breaches = breaches_with(name, import);
        assert_eq!(breaches.len(), 1, "{breaches:?}");
        assert!(breaches[0].contains(&format!("`{name}`")), "{breaches:?}");
        assert!(breaches[0].contains(&imported), "{breaches:?}");
    }

    #[test]
    fn the_house_with_its_allowed_imports_stands() {
        assert_eq!(
            breaches_with("plan", external("serde")),
            Vec::<String>::new()
        );
    }

    #[test]
    fn a_stage_may_not_import_a_later_stage() {
        refused("hydraulics", ours("digging"));
        refused("job", ours("ground"));
        refused("routes", ours("plan"));
    }

    #[test]
    fn the_core_may_not_import_a_face() {
        refused("plan", ours("drawing"));
        refused("evidence", ours("cli"));
    }

    #[test]
    fn tests_and_build_scripts_keep_to_the_direction() {
        refused(
            "ground",
            Import {
                kind: Kind::Development,
                ..ours("plan")
            },
        );
        refused(
            "ground",
            Import {
                kind: Kind::Build,
                ..ours("plan")
            },
        );
    }

    #[test]
    fn the_core_may_not_do_io_but_its_tests_may() {
        for name in ["anyhow", "clap", "csv", "ctrlc", "tempfile"] {
            refused("price", external(name));
            let for_tests = Import {
                kind: Kind::Development,
                ..external(name)
            };
            assert_eq!(breaches_with("price", for_tests), Vec::<String>::new());
        }
    }

    #[test]
    fn the_general_mathematics_stands_alone() {
        refused("steiner", external("serde"));
        refused("steiner", ours("quantity"));
    }

    #[test]
    fn the_checks_import_nothing_of_ours() {
        refused("xtask", ours("plan"));
    }

    #[test]
    fn an_unknown_crate_and_an_empty_place_are_named() {
        let breaches = breaches_with("gazebo", external("serde"));
        assert_eq!(breaches.len(), 1);
        assert!(
            breaches[0].contains("`gazebo` has no place"),
            "{breaches:?}"
        );
        let breaches = check(&HOUSE[..1], &[]);
        assert!(
            breaches[0].contains("`quantity` has a place"),
            "{breaches:?}"
        );
    }
}
