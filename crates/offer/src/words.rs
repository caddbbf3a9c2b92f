//! Words that several parts use.

use job::TaxClass;
use plan::price::CostGroup;

/// So many of something.
pub fn many(n: usize, one: &str, more: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { more })
}

/// Parts as an enumeration: `a`, `a and b`, `a, b and c`.
pub fn listed(parts: &[String]) -> String {
    match parts {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// A part of the price as a customer reads it.
pub fn part(group: CostGroup) -> &'static str {
    match group {
        CostGroup::Labour => "Our work",
        CostGroup::Machine => "Machines",
        CostGroup::Material => "Material",
        CostGroup::Subtrade => "Boring under paving",
        CostGroup::Restoration => "Putting surfaces back, without our work",
        CostGroup::Disposal => "Hauling and tipping",
        CostGroup::Fee => "Permits and locates",
        CostGroup::Other => "Protection of trenches",
        CostGroup::Tax => "Taxes on purchases",
        CostGroup::Contingency => "What cannot be seen beforehand",
    }
}

/// What a tax is on, as a customer reads it.
pub fn taxed(class: TaxClass) -> &'static str {
    match class {
        TaxClass::Labour => "our work",
        TaxClass::Machines => "machines",
        TaxClass::Material => "material",
        TaxClass::Subtrades => "work of others",
        TaxClass::Disposal => "hauling and tipping",
        TaxClass::Fees => "permits and locates",
    }
}
