//! The few figures by which plans are compared.

use ::plan::{self, Plan};
use quantity::{Amount, Units};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::Fig;
use super::figures::{Reader, shown};

/// Which of two plans is the better by a figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum Better {
    /// The one with less.
    Less,
    /// The one with more.
    More,
}

impl From<plan::totals::Better> for Better {
    fn from(better: plan::totals::Better) -> Self {
        match better {
            plan::totals::Better::Less => Self::Less,
            plan::totals::Better::More => Self::More,
        }
    }
}

/// A figure by which plans are compared.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct Total {
    /// Its name, the same in every plan.
    pub id: String,
    /// What it is.
    pub what: String,
    /// The figure.
    pub fig: Fig,
    /// Its number, SI or currency units.
    pub value: f64,
    /// Which of two plans is the better by it.
    pub better: Better,
}

/// How a plan stands against a variant that was kept.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct Against {
    /// The variant's name.
    pub name: String,
    /// What this plan has more, or less, of each figure.
    pub totals: Vec<Total>,
}

/// A figure as it is kept with a variant.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Kept {
    /// Its name.
    pub id: String,
    /// What it is.
    pub what: String,
    /// The figure.
    pub amount: Amount,
    /// Which of two plans is the better by it.
    pub better: Better,
    /// Asks for its working.
    #[serde(skip)]
    figure: &'static str,
}

/// The figures by which plans are compared, the weightiest first.
pub fn kept(plan: &Plan) -> Vec<Kept> {
    let totals = plan::totals::totals(plan).into_iter();
    let kept = totals.map(|total| Kept {
        id: total.id.to_owned(),
        what: total.what.to_owned(),
        amount: total.amount,
        better: total.better.into(),
        figure: total.figure,
    });
    kept.collect()
}

pub fn totals(kept: &[Kept], reader: Reader<'_>) -> Vec<Total> {
    let totals = kept.iter().map(|kept| Total {
        id: kept.id.clone(),
        what: kept.what.clone(),
        fig: reader.fig(kept.amount, kept.figure),
        value: kept.amount.value,
        better: kept.better,
    });
    totals.collect()
}

/// Figures kept with a variant, in words.
pub fn of_variant(kept: &[Kept], units: Units, currency: &str) -> Vec<Total> {
    let totals = kept.iter().map(|kept| Total {
        id: kept.id.clone(),
        what: kept.what.clone(),
        fig: Fig {
            text: shown(kept.amount, units, currency),
            id: None,
        },
        value: kept.amount.value,
        better: kept.better,
    });
    totals.collect()
}

/// What a plan has more of each figure than a variant.
pub fn against(name: &str, now: &[Kept], then: &[Kept], reader: Reader<'_>) -> Against {
    let totals = now.iter().filter_map(|now| {
        let then = then.iter().find(|then| then.id == now.id)?;
        let more = now.amount.value - then.amount.value;
        let amount = Amount::new(more, now.amount.style);
        let sign = if more > 0.0 { "+" } else { "" };
        Some(Total {
            id: now.id.clone(),
            what: now.what.clone(),
            fig: Fig {
                text: format!("{sign}{}", reader.show(amount)),
                id: None,
            },
            value: more,
            better: now.better,
        })
    });
    Against {
        name: name.to_owned(),
        totals: totals.collect(),
    }
}
