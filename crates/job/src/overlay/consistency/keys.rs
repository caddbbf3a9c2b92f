//! Every key that one table names has its entry in the other.

use std::collections::{BTreeMap, BTreeSet};

use super::Faults;
use crate::overlay::Local;
use crate::practice::{Compactor, PipeMaterial, Skill, nominal};
use crate::prices::{MethodKind, TaxOn};
use crate::{Moisture, SurfaceKind, Texture};
use quantity::Length;

const TEXTURES: [Texture; 12] = [
    Texture::Sand,
    Texture::LoamySand,
    Texture::SandyLoam,
    Texture::Loam,
    Texture::SiltLoam,
    Texture::Silt,
    Texture::SandyClayLoam,
    Texture::ClayLoam,
    Texture::SiltyClayLoam,
    Texture::SandyClay,
    Texture::SiltyClay,
    Texture::Clay,
];

/// Some crew can do each kind of work.
pub(super) fn skills(local: &Local, faults: &mut Faults) {
    let crews = &local.practice.crew;
    for skill in Skill::ALL {
        if !crews.values().any(|c| c.skills.value.0.contains(&skill)) {
            let what = format!("has nobody who can \"{}\"", skill.word());
            let mend = format!("give one of {} this skill", listed(crews.keys()));
            faults.missing("practice crew", &what, &mend);
        }
    }
}

/// Each texture is dug like a soil class that is there, and each class may be cut to a slope.
pub(super) fn soils(local: &Local, faults: &mut Faults) {
    let practice = &local.practice;
    let classes = listed(practice.soil_class.keys());
    for texture in TEXTURES {
        let Some(class) = practice.texture.get(&texture) else {
            let path = format!("practice texture ({})", texture.label());
            faults.missing(
                &path,
                "has no soil class",
                &format!("give one of {classes}"),
            );
            continue;
        };
        if !practice.soil_class.contains_key(&class.value) {
            let what = format!(
                "names the soil class \"{}\", and there is none",
                class.value
            );
            faults.missing(&class.path, &what, &format!("use one of {classes}"));
        }
    }
    for class in practice.soil_class.values() {
        let kind = &class.excavation_type;
        if !practice.excavation.slope.contains_key(&kind.value) {
            let types = listed(practice.excavation.slope.keys());
            let what = format!("is \"{}\", which has no slope", kind.value);
            faults.missing(&kind.path, &what, &format!("use one of {types}"));
        }
    }
    for (name, class) in &practice.soil_class {
        for moisture in [Moisture::Dry, Moisture::Moist, Moisture::Wet] {
            if !class.moisture.contains_key(&moisture) {
                let path = format!("practice soil_class.{name}.moisture");
                let mend = "give dry, moist and wet";
                faults.missing(&path, "has not every state of moisture", mend);
            }
        }
    }
    let import = &practice.fill.import_class;
    if !practice.soil_class.contains_key(&import.value) {
        let what = format!(
            "names the soil class \"{}\", and there is none",
            import.value
        );
        faults.missing(&import.path, &what, &format!("use one of {classes}"));
    }
}

/// A tax on what is bought needs something that is bought.
pub(super) fn taxes(local: &Local, faults: &mut Faults) {
    let on = &local.prices.tax.labour.on;
    if on.value == TaxOn::Purchase {
        let what = "is \"purchase\", and a crew's own work is not bought";
        let mend = "write \"price\"; what an employer pays on wages is labour.burden";
        faults.range(&on.path, what, mend);
    }
}

/// Each table of cover by size has sizes for keys.
pub(super) fn table_sizes(local: &Local, faults: &mut Faults) {
    let (cover, joining) = (&local.practice.cover, &local.practice.joining);
    let keys = [
        ("cover.exposed_from", sizes_of(&cover.exposed_from)),
        ("cover.quiet_from", sizes_of(&cover.quiet_from)),
        ("joining.cement_joints", sizes_of(&joining.cement_joints)),
        ("joining.clamps", sizes_of(&joining.clamps)),
        ("joining.solder", sizes_of(&joining.solder)),
    ];
    for (name, table) in keys {
        for size in table.into_iter().filter(|size| nominal(size).is_none()) {
            let path = format!("practice {name}.{size}");
            let mend = "write a nominal size such as \"1-1/4 in\" or \"DN 63\"";
            faults.stray(&path, "is no size of pipe", mend);
        }
    }
}

fn sizes_of<T>(table: &BTreeMap<String, T>) -> Vec<&str> {
    table.keys().map(String::as_str).collect()
}

/// Each soil class is tamped with something, and whatever tamps it knows its passes.
pub(super) fn compactors(local: &Local, faults: &mut Faults) {
    let practice = &local.practice;
    for (key, compactor) in &practice.compactor {
        let path = format!("practice compactor.{key}.passes");
        for class in compactor.lift.keys() {
            if !compactor.passes.contains_key(class) {
                let what = format!("has no passes in {class}");
                faults.missing(&path, &what, "give a number of passes for each lift");
            }
        }
    }
    for class in practice.soil_class.keys() {
        let narrow = |c: &Compactor| c.least_width.value <= Length::ZERO;
        let mut any = practice.compactor.values();
        if !any.any(|c| narrow(c) && c.lift.contains_key(class)) {
            let what = format!("has nothing to tamp {class} with in a narrow trench");
            let mend = "let a hand tool stand with a least width of 0";
            faults.missing("practice compactor", &what, mend);
        }
    }
}

/// Each size of each family has a price, and no price is for a size that is not there.
pub(super) fn pipes(local: &Local, faults: &mut Faults) {
    for (key, family) in &local.practice.pipe {
        let sizes: BTreeSet<&String> = family.sizes.iter().map(|s| &s.name).collect();
        if sizes.len() < family.sizes.len() || sizes.is_empty() {
            let path = format!("practice pipe.{key}.sizes");
            faults.missing(&path, "is empty or has a name twice", "name each size once");
        }
        let prices = local.prices.pipe.get(key);
        for size in &sizes {
            if prices.is_none_or(|p| !p.contains_key(*size)) {
                let path = format!("prices pipe.{key}.{size}");
                faults.missing(&path, "has no price", "give its price per metre");
            }
        }
        for size in prices.into_iter().flat_map(|p| p.keys()) {
            if !sizes.contains(size) {
                let path = format!("prices pipe.{key}.{size}");
                let mend = format!("sizes of the family: {}", listed(&sizes));
                faults.stray(
                    &path,
                    "is a price for a size that the family has not",
                    &mend,
                );
            }
        }
    }
    for key in local.prices.pipe.keys() {
        if !local.practice.pipe.contains_key(key) {
            let mend = format!("families: {}", listed(local.practice.pipe.keys()));
            let path = format!("prices pipe.{key}");
            faults.stray(
                &path,
                "prices a family that the practice file has not",
                &mend,
            );
        }
    }
}

/// Each gauge has a price, and no price is for a gauge that is not there.
pub(super) fn wires(local: &Local, faults: &mut Faults) {
    let gauges: BTreeSet<&String> = local.practice.wire.gauge.iter().map(|g| &g.name).collect();
    if gauges.is_empty() {
        faults.missing("practice wire.gauge", "is empty", "name at least one gauge");
    }
    for gauge in &gauges {
        if !local.prices.wire.contains_key(*gauge) {
            let path = format!("prices wire.{gauge}");
            faults.missing(&path, "has no price", "give its price per metre");
        }
    }
    for gauge in local.prices.wire.keys().filter(|g| !gauges.contains(g)) {
        let path = format!("prices wire.{gauge}");
        let mend = format!("gauges: {}", listed(&gauges));
        faults.stray(&path, "is a price for a gauge that is not there", &mend);
    }
}

/// Each surface can be put back, and machines drive over it or not.
pub(super) fn surfaces(local: &Local, faults: &mut Faults) {
    for surface in SurfaceKind::ALL {
        if !local.practice.travel.surface.contains_key(&surface) {
            let path = format!("practice travel.surface ({})", surface.label());
            let mend = "write \"free\", \"protected\" or \"never\"";
            faults.missing(&path, "says nothing of machines", mend);
        }
        if !local.prices.restore.contains_key(&surface) {
            let path = format!("prices restore ({})", surface.label());
            faults.missing(&path, "has no price", "give its price per square metre");
        }
        if !local.prices.labour.restore_per_m2.contains_key(&surface) {
            let path = format!("prices labour.restore_per_m2 ({})", surface.label());
            faults.missing(&path, "has no time", "give its time, such as \"6 min\"");
        }
    }
}

/// There is a way to dig by hand and one to pass under paving, and each machine has its pace in each
/// soil.
pub(super) fn methods(local: &Local, faults: &mut Faults) {
    let classes = &local.practice.soil_class;
    for (id, method) in &local.prices.method {
        let path = format!("prices method.{id}");
        if method.materials.is_empty() {
            let mend = "name at least one pipe material: \"pvc\", \"pe\"";
            faults.missing(&format!("{path}.materials"), "is empty", mend);
        }
        for class in classes.keys() {
            if method.kind != MethodKind::Hand && !method.pace.contains_key(class) {
                let path = format!("{path}.pace.{class}");
                faults.missing(&path, "has no pace", "give it, such as \"30 m/h\"");
            }
        }
        if let Some(carrier) = &method.carrier
            && !local.prices.carrier.contains_key(carrier)
        {
            let mend = format!("carriers: {}", listed(local.prices.carrier.keys()));
            let path = format!("{path}.carrier");
            faults.stray(&path, "names a carrier that is not there", &mend);
        }
        for class in method.pace.keys().filter(|c| !classes.contains_key(*c)) {
            let mend = format!("soil classes: {}", listed(classes.keys()));
            let path = format!("{path}.pace.{class}");
            faults.stray(&path, "is a pace in a soil class that is not there", &mend);
        }
    }
    for material in PipeMaterial::ALL {
        for (kind, word) in [(MethodKind::Hand, "hand"), (MethodKind::Sleeve, "sleeve")] {
            let mut methods = local.prices.method.values();
            if !methods.any(|m| m.kind == kind && m.materials.contains(&material)) {
                let what = format!("has no method of the kind \"{word}\" for every pipe material");
                let mend = "without it some pipe cannot be laid; let one stand with all materials";
                faults.missing("prices method", &what, mend);
            }
        }
    }
}

fn listed<T: AsRef<str>>(names: impl IntoIterator<Item = T>) -> String {
    let names: Vec<String> = names.into_iter().map(|n| n.as_ref().to_owned()).collect();
    names.join(", ")
}
