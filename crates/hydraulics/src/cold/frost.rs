//! How deep the ground freezes.

use job::practice::SoilClass;
use job::{Basis, Job, Moisture, Sourced};
use quantity::{Amount, Conductivity, DegreeDays, Density, Length, Ratio, Style};
use std::borrow::Cow;
use working::{Ledger, Working};

/// Latent heat of freezing water, J/kg: 144 Btu/lb.
///
/// Source: UFC 3-130-06, L = 144 γd w/100, read in code of a university.
const ICE_J_PER_KG: f64 = 144.0 * 2_326.0;

const DAY_S: f64 = 86_400.0;

/// Latent heat of the water in a volume of soil, J/m³, by its dry density and its water by dry mass.
pub fn latent_heat(dry: Density, water: Ratio) -> f64 {
    ICE_J_PER_KG * dry.to_kg_per_m3() * water.to_one()
}

/// Depth to which ground freezes, x = √(2·k·F/L), k the conductivity of the frozen ground, F the
/// freezing index of its surface, L the latent heat of its water by volume in J/m³. It leaves out the
/// heat of the ground itself and of that below, so it is an upper bound.
///
/// Source: Stefan's formula as in UFC 3-130-06, read in code of a university.
pub fn stefan(conductivity: Conductivity, index: DegreeDays, latent: f64) -> Length {
    if latent <= 0.0 {
        return Length::ZERO;
    }
    let (k, f) = (conductivity.to_w_per_mk(), index.to_c_days());
    Length::m((2.0 * k.max(0.0) * f.max(0.0) * DAY_S / latent).sqrt())
}

/// How deep the ground of a job freezes: the depth that is given, else by Stefan's formula where a
/// freezing index is given, else 0.
pub fn frost_depth(job: &Job) -> Sourced<Length> {
    let given = &job.practice.cover.frost_depth;
    match from_index(job) {
        Some(found) if given.value <= Length::ZERO => Sourced {
            value: found.depth,
            source: "Stefan's formula from the freezing index, figure cold.frost_depth".to_owned(),
            basis: Basis::Computed,
            path: given.path.clone(),
        },
        _ => given.clone(),
    }
}

/// The job with its depth of frost filled in, so that every stage reads the same.
pub fn with_frost_depth(job: &Job) -> Cow<'_, Job> {
    let depth = frost_depth(job);
    if depth == job.practice.cover.frost_depth {
        return Cow::Borrowed(job);
    }
    let mut job = job.clone();
    job.practice.cover.frost_depth = depth;
    Cow::Owned(job)
}

/// What Stefan's formula gives.
struct FromIndex<'a> {
    depth: Length,
    class: &'a SoilClass,
    water: &'a Sourced<Ratio>,
}

fn from_index(job: &Job) -> Option<FromIndex<'_>> {
    let frost = &job.practice.frost;
    let surface = frost.freezing_index.value * frost.n_factor.value.to_one();
    if surface <= DegreeDays::ZERO {
        return None;
    }
    let soils = job.survey.soils.iter();
    let mut classes: Vec<&SoilClass> = soils
        .map(|s| job.practice.soil_class_of(s.soil.texture))
        .collect();
    if classes.is_empty() {
        classes.extend(job.practice.soil_class.values());
    }
    let mut deepest: Option<FromIndex> = None;
    for class in classes {
        let Some(water) = class.moisture.get(&Moisture::Moist) else {
            continue;
        };
        let latent = latent_heat(class.dry_density.value, water.value);
        let depth = stefan(frost.conductivity.value, surface, latent);
        if deepest.as_ref().is_none_or(|d| depth > d.depth) {
            deepest = Some(FromIndex {
                depth,
                class,
                water,
            });
        }
    }
    deepest
}

/// Its working; gives the depth.
pub(super) fn put(job: &Job, ledger: &mut Ledger) -> Length {
    let depth = frost_depth(job);
    if depth.value <= Length::ZERO {
        return depth.value;
    }
    let label = "Depth of frost";
    let found = from_index(job).filter(|found| found.depth == depth.value);
    let working = match found {
        None => Working::new(label, depth.value.small(), "as given", depth.origin()),
        Some(FromIndex { class, water, .. }) => {
            let frost = &job.practice.frost;
            Working::new(
                label,
                depth.value.small(),
                "√(2·k·n·F/L), L = 144 Btu/lb × dry density × water by dry mass",
                "Stefan's formula as in UFC 3-130-06",
            )
            .with(
                "freezing index F of the air",
                frost.freezing_index.value.amount(),
                frost.freezing_index.origin(),
            )
            .with(
                "n, of the surface over the air",
                frost.n_factor.value.amount(),
                frost.n_factor.origin(),
            )
            .with(
                "conductivity k of the frozen ground",
                frost.conductivity.value.amount(),
                frost.conductivity.origin(),
            )
            .with(
                format!("dry density, {}", class.label),
                class.dry_density.value.amount(),
                class.dry_density.origin(),
            )
            .with(
                format!("water in moist {}", class.label),
                Amount::new(water.value.to_one(), Style::Percent),
                water.origin(),
            )
            .approximately(
                "an upper bound for that soil: the heat of the ground is left out; of the job's soils \
                 the one that freezes deepest. The local authority's depth comes first",
            )
        }
    };
    ledger.put("cold.frost_depth", working);
    depth.value
}

#[cfg(test)]
mod tests {
    use super::*;

    /// k = 1.5 W/(m·K), 300 °C·days, L = 334e3 × 1700 × 0.15 J/m³: 0.955509 m, worked by hand.
    #[test]
    fn frost_goes_as_deep_as_in_the_worked_case() {
        let k = Conductivity::w_per_mk(1.5);
        let depth = stefan(k, DegreeDays::c_days(300.0), 334e3 * 1700.0 * 0.15);
        assert!((depth.to_m() - 0.955_509).abs() < 1e-6);
        assert_eq!(stefan(k, DegreeDays::c_days(300.0), 0.0), Length::ZERO);
        assert_eq!(stefan(k, DegreeDays::c_days(-3.0), 1e8), Length::ZERO);
    }

    /// x = √(48·k·nF/L), L = 144 γd w/100, in ft, Btu, lb, °F and h.
    #[test]
    fn frost_is_that_of_the_formula_in_customary_units() {
        let cases = [
            (100.0_f64, 15.0_f64, 0.72_f64, 2500.0_f64),
            (110.0, 10.0, 0.80, 800.0),
            (95.0, 20.0, 0.65, 300.0),
        ];
        for (dry, water, k, index) in cases {
            let by_hand = (48.0 * k * index / (144.0 * dry * water / 100.0)).sqrt();
            let latent = latent_heat(Density::pcf(dry), Ratio::percent(water));
            let depth = stefan(
                Conductivity::btu_per_hftf(k),
                DegreeDays::f_days(index),
                latent,
            );
            assert!((depth.to_ft() / by_hand - 1.0).abs() < 1e-6, "{dry}");
        }
    }
}
