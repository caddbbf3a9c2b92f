//! Parts of a plan in words, for the summary and for the tables in files.

use job::{Job, MethodId, Place, ProfitBy, TaxClass};
use plan::Plan;
use plan::digging::Dig;
use plan::price::{CostGroup, Price};
use plan::routes::{NodeId, NodeKind, Stretch, Zone};
use plan::takeoff::ItemGroup;
use quantity::{Amount, Money, Ratio, Style, Units};

/// A node: the feature that stands there, else its number.
pub fn node(job: &Job, plan: &Plan, id: NodeId) -> String {
    let node = plan.network.node(id);
    match &node.what {
        NodeKind::Source(feature)
        | NodeKind::Backflow(feature)
        | NodeKind::Controller(feature)
        | NodeKind::Valve(feature)
        | NodeKind::Outlet(feature) => feature.clone(),
        NodeKind::CableEnd(feature) => match cable_end(job, feature, node.at) {
            Some(number) => format!("{feature}.{number}"),
            None => format!("{feature} {id}"),
        },
        NodeKind::Junction | NodeKind::Change => id.to_string(),
    }
}

/// Which end of a cable lies at a place, counted from 1 in the order of the job.
fn cable_end(job: &Job, cable: &str, at: Place) -> Option<usize> {
    let cable = job.system.cables.iter().find(|c| c.id == cable)?;
    let ends = cable.points.iter().zip(1..);
    ends.min_by(|a, b| a.0.distance(at).total_cmp(&b.0.distance(at)))
        .map(|(_, number)| number)
}

/// What lies in a trench.
pub fn contents(dig: &Dig) -> String {
    let contents = dig.section.contents.iter();
    let words: Vec<&str> = contents.map(|content| content.what.as_str()).collect();
    words.join(" + ")
}

/// A method as the price book calls it.
pub fn method(job: &Job, id: &MethodId) -> String {
    let method = job.prices.method.get(id);
    method.map_or_else(|| id.to_string(), |method| method.label.clone())
}

/// Every method that cannot do a stretch, and why.
pub fn cannot(job: &Job, dig: &Dig) -> String {
    let rejected = dig.rejected.iter();
    let words = rejected.map(|other| format!("{}: {}", method(job, &other.method), other.why));
    words.collect::<Vec<_>>().join(" | ")
}

/// Where one digs by hand.
pub fn zones(stretch: &Stretch) -> String {
    let zones = stretch.ground.zones.iter().map(|zone| match zone {
        Zone::Utility(id) => format!("service {id}"),
        Zone::Roots(id) => format!("roots of {id}"),
        Zone::Structure(id) => format!("close to {id}"),
    });
    zones.collect::<Vec<_>>().join("; ")
}

/// The sleeve of a stretch.
pub fn sleeve(stretch: &Stretch) -> String {
    match &stretch.sleeve {
        None => String::new(),
        Some(sleeve) => match &sleeve.existing {
            Some(id) => format!("{id} under {}", sleeve.paving),
            None => format!("new under {}", sleeve.paving),
        },
    }
}

pub fn item_group(group: ItemGroup) -> &'static str {
    match group {
        ItemGroup::Pipe => "pipe",
        ItemGroup::Fitting => "fittings",
        ItemGroup::Component => "components",
        ItemGroup::Wire => "wire",
        ItemGroup::Sleeve => "sleeves",
        ItemGroup::Ground => "ground",
    }
}

pub fn cost_group(group: CostGroup) -> &'static str {
    match group {
        CostGroup::Labour => "labour",
        CostGroup::Machine => "machines",
        CostGroup::Material => "material",
        CostGroup::Subtrade => "work of others",
        CostGroup::Restoration => "restoration",
        CostGroup::Disposal => "disposal",
        CostGroup::Fee => "permits and locates",
        CostGroup::Other => "other",
        CostGroup::Tax => "taxes on purchases",
        CostGroup::Contingency => "contingency",
    }
}

pub fn tax_class(class: TaxClass) -> &'static str {
    match class {
        TaxClass::Labour => "labour",
        TaxClass::Machines => "machines",
        TaxClass::Material => "material",
        TaxClass::Subtrades => "work of others",
        TaxClass::Disposal => "disposal",
        TaxClass::Fees => "permits and locates",
    }
}

/// The profit by both its names, first the one that the price book states.
pub fn profit(price: &Price) -> String {
    let margin = format!("margin {} of the price", share(price.margin));
    let markup = format!("markup {} on cost with overhead", share(price.markup));
    match price.profit_by {
        ProfitBy::Margin => format!("{margin} = {markup}"),
        ProfitBy::Markup => format!("{markup} = {margin}"),
    }
}

/// A share with two decimals; the same in all units.
pub fn share(share: Ratio) -> String {
    Amount::new(share.to_one(), Style::PriceShare).show(Units::Si)
}

/// A row under the cost lines.
pub struct Sum {
    pub group: &'static str,
    /// The id of its figure without `price.`.
    pub id: String,
    pub class: Option<TaxClass>,
    pub what: String,
    pub amount: Money,
}

/// What makes the price of the cost lines, in the order in which it is added.
pub fn sums(price: &Price) -> Vec<Sum> {
    let row = |group, id: &str, what: String, amount| Sum {
        group,
        id: id.to_owned(),
        class: None,
        what,
        amount,
    };
    let mut rows = vec![
        row("sum", "cost", "cost".to_owned(), price.cost),
        row("added", "overhead", "overhead".to_owned(), price.overhead),
        row(
            "added",
            "profit",
            format!("profit, {}", profit(price)),
            price.profit,
        ),
        row("sum", "total", "price before tax".to_owned(), price.total),
    ];
    rows.extend(price.taxes.iter().map(|tax| {
        let (class, rate) = (tax_class(tax.class), share(tax.rate));
        let what = format!("{rate} on {class}, {}", tax.base);
        let id = format!("tax.{}", tax.class.word());
        Sum {
            class: Some(tax.class),
            ..row("tax", &id, what, tax.amount)
        }
    }));
    rows.push(row(
        "sum",
        "with_tax",
        "price with tax".to_owned(),
        price.with_tax,
    ));
    rows
}
