//! The sheets by name.

use crate::told::Told;
use crate::{
    Page, cut_list, days, locate, material, overview, plan_sheets, records, staking, talk, valves,
};

/// A sheet, which may take several pages.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Sheet {
    /// Scope, totals, days, machines, what must be true before the first cut.
    JobOnAPage,
    /// What goes to the notification service.
    Locate,
    /// The plan to scale.
    Plan,
    /// Points to mark, with their ties.
    Staking,
    /// Every stretch in the order in which it is dug.
    CutList,
    /// Circuits and wire.
    ValvesAndWire,
    /// What is ordered, and how it is cut.
    Material,
    /// Who does what when.
    Days,
    /// What is said before work, and what is looked at daily.
    Talk,
    /// Tests and backfill, to fill in.
    Records,
    /// The plan with room for what was really built.
    AsBuilt,
}

impl Sheet {
    /// All of them, in their order.
    pub const ALL: [Self; 11] = [
        Self::JobOnAPage,
        Self::Locate,
        Self::Plan,
        Self::Staking,
        Self::CutList,
        Self::ValvesAndWire,
        Self::Material,
        Self::Days,
        Self::Talk,
        Self::Records,
        Self::AsBuilt,
    ];

    /// Its name in a call.
    pub fn name(self) -> &'static str {
        match self {
            Self::JobOnAPage => "job",
            Self::Locate => "locate",
            Self::Plan => "plan",
            Self::Staking => "staking",
            Self::CutList => "cut-list",
            Self::ValvesAndWire => "valves-and-wire",
            Self::Material => "material",
            Self::Days => "days",
            Self::Talk => "talk",
            Self::Records => "records",
            Self::AsBuilt => "as-built",
        }
    }

    /// The sheet of a name.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|sheet| sheet.name() == name)
    }

    /// Its title on paper.
    pub fn title(self) -> &'static str {
        match self {
            Self::JobOnAPage => "Job on a page",
            Self::Locate => "Locate request",
            Self::Plan => "Plan",
            Self::Staking => "Staking list",
            Self::CutList => "Cut list",
            Self::ValvesAndWire => "Valves and wire",
            Self::Material => "Material",
            Self::Days => "Days",
            Self::Talk => "Toolbox talk and trench check",
            Self::Records => "Test and backfill record",
            Self::AsBuilt => "As built",
        }
    }

    pub(crate) fn pages(self, told: &Told) -> Vec<Page> {
        match self {
            Self::JobOnAPage => overview::pages(told),
            Self::Locate => locate::pages(told),
            Self::Plan => plan_sheets::pages(told),
            Self::Staking => staking::pages(told),
            Self::CutList => cut_list::pages(told),
            Self::ValvesAndWire => valves::pages(told),
            Self::Material => material::pages(told),
            Self::Days => days::pages(told),
            Self::Talk => talk::pages(told),
            Self::Records => records::pages(told),
            Self::AsBuilt => plan_sheets::as_built(told),
        }
    }
}
