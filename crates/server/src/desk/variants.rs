//! Jobs that are kept under a name, to hold the plan against.

use job::steps_between;
use store::{Sort, Variant};

use super::{Desk, Inner, locked};
use crate::problem::Problem;
use crate::view::{self, Kept, Total};

/// Most variants in a job file.
const MOST_VARIANTS: usize = 200;

impl Desk {
    /// Variants with what their plans came to.
    pub fn variants(&self) -> Result<Vec<(Variant, Vec<Total>)>, Problem> {
        let inner = locked(&self.inner);
        let job = inner.read.job.as_ref().ok();
        let units = job.map_or(quantity::Units::Us, |job| job.units);
        let currency = job.map_or("", |job| job.prices.currency.value.as_str());
        let variants = inner.store.variants()?.into_iter().map(|variant| {
            let totals = view::of_variant(&kept_in(&variant), units, currency);
            (variant, totals)
        });
        Ok(variants.collect())
    }

    /// Keeps the job as it is under a name, with what its plan comes to.
    pub fn keep(&self, name: &str) -> Result<(), Problem> {
        let name = name.trim();
        if name.is_empty() || name.chars().count() > 80 {
            return Err(Problem::refused(
                "The variant has no name, or one that is too long",
                "give it a name of 1 to 80 letters",
            ));
        }
        let inner = &mut *locked(&self.inner);
        let done = self.planner.done();
        let done = done.filter(|done| done.version == inner.version);
        let done = done.ok_or_else(|| {
            Problem::refused(
                "The job as it is has no plan yet",
                "wait until it is planned, then keep it",
            )
        })?;
        let variants = inner.store.variants()?;
        if variants.len() >= MOST_VARIANTS && variants.iter().all(|other| other.name != name) {
            return Err(Problem::refused(
                format!("There are {MOST_VARIANTS} variants already"),
                "drop one first",
            ));
        }
        let totals = serde_json::to_string(&view::kept(&done.plan)).unwrap_or_default();
        inner.store.keep(name, inner.version, &totals)?;
        self.show_again(inner);
        Ok(())
    }

    /// Brings the job to a variant.
    pub fn open_variant(&self, name: &str, tab: &str) -> Result<i64, Problem> {
        let version = self.variant(name)?.version;
        let inner = &mut *locked(&self.inner);
        self.notice(inner)?;
        let then = inner.at(version)?;
        let steps = steps_between(&inner.document, &then);
        let label = format!("Opened the variant {name}");
        self.make(inner, (Sort::Return, Some(version)), &label, tab, steps)
    }

    /// Forgets a variant; the versions that led to it stay in the history.
    pub fn drop_variant(&self, name: &str) -> Result<(), Problem> {
        self.variant(name)?;
        let inner = &mut *locked(&self.inner);
        inner.store.forget(name)?;
        self.show_again(inner);
        Ok(())
    }

    fn variant(&self, name: &str) -> Result<Variant, Problem> {
        let variants = locked(&self.inner).store.variants()?;
        let found = variants.into_iter().find(|variant| variant.name == name);
        found.ok_or_else(|| {
            Problem::not_there(
                format!("There is no variant \"{name}\""),
                "it may have been dropped in another window",
            )
        })
    }
}

impl Inner {
    pub(super) fn last_variant(&self) -> Option<Variant> {
        self.store.variants().ok()?.pop()
    }
}

pub(super) fn kept_in(variant: &Variant) -> Vec<Kept> {
    // What an older version of the program kept otherwise is not compared.
    serde_json::from_str(&variant.totals).unwrap_or_default()
}
