//! Price, allowances, what is not included, cautions.

use crate::words::{listed, many, part, taxed};
use crate::{Block, Section, Told};
use job::Utility;
use plan::price::CostGroup;
use quantity::{Amount, Length, Money, Style};
use std::collections::BTreeSet;

/// The price by parts, and its taxes.
pub fn price(told: &Told) -> Section {
    let price = &told.plan.price;
    let mut rows: Vec<(String, String)> = price
        .parts
        .iter()
        .map(|of| (part(of.group).to_owned(), of.amount.to_string()))
        .collect();
    if !price.taxes.is_empty() {
        rows.push(("Price before tax".to_owned(), told.money(price.total)));
    }
    rows.extend(price.taxes.iter().map(|tax| {
        let rate = Amount::new(tax.rate.to_one(), Style::PriceShare);
        let what = format!(
            "Tax of {} on {} ({})",
            told.show(rate),
            taxed(tax.class),
            tax.base
        );
        (what, tax.amount.to_string())
    }));
    rows.push(("Price".to_owned(), told.money(price.with_tax)));
    let taxes = if price.taxes.is_empty() {
        "No tax is charged on top of it; taxes on what we buy are in the price."
    } else {
        "Taxes are stated by what they are on."
    };
    Section {
        heading: "Price",
        blocks: vec![Block::Rows(rows), Block::Words(taxes.to_owned())],
    }
}

/// Sums in the price that are settled by what is spent.
pub fn allowances(told: &Told) -> Section {
    let lines = told.plan.price.lines.iter();
    let rows: Vec<(String, String)> = lines
        .filter(|line| matches!(line.group, CostGroup::Fee | CostGroup::Disposal))
        .map(|line| (line.what.clone(), line.amount.to_string()))
        .collect();
    let blocks = if rows.is_empty() {
        vec![Block::Words("There are none in the price.".to_owned())]
    } else {
        let words = "The price counts on these sums, overhead and profit apart. They are settled by what is \
                     spent, with the bills:";
        vec![Block::Words(words.to_owned()), Block::Rows(rows)]
    };
    Section {
        heading: "Allowances",
        blocks,
    }
}

/// What the price does not cover.
pub fn not_included(told: &Told, rock_per_m: Option<Money>) -> Section {
    let points = vec![
        rock(told, rock_per_m),
        unmarked(told),
        "Work that the code keeps for licensed trades: the supply cable of the controller, and, where the \
         code asks for it, the tie-in to the water supply and the test of the backflow assembly."
            .to_owned(),
        "Ground that is contaminated, ground water that has to be pumped, and whatever has to be done by order \
         of an authority beyond the permits named."
            .to_owned(),
        "Plants, turf and paving beyond the surfaces listed, and their care after we leave.".to_owned(),
        "Changes asked for after the work has begun. We price them before we do them.".to_owned(),
    ];
    Section {
        heading: "Not included",
        blocks: vec![Block::Points(points)],
    }
}

fn rock(told: &Told, per_m: Option<Money>) -> String {
    let soils: BTreeSet<&str> = told
        .plan
        .network
        .stretches
        .iter()
        .map(|stretch| stretch.ground.soil.texture.label())
        .collect();
    let soils: Vec<String> = soils.into_iter().map(str::to_owned).collect();
    let begin = format!(
        "Rock, and ground harder than described ({}).",
        listed(&soils)
    );
    match per_m {
        Some(per_m) => {
            let price = Amount::new(per_m.to_units(), Style::MoneyPerLength);
            let (number, unit) = price.parts(told.units);
            format!(
                "{begin} Trench in it costs {number} {} {unit} on top, before tax, by the length that we \
                 measure together on site.",
                told.plan.price.currency
            )
        }
        None => format!(
            "{begin} Where we meet it we stop, and agree with you on a price by length before we go on."
        ),
    }
}

fn unmarked(told: &Told) -> String {
    let utilities = &told.job.survey.utilities;
    let unmarked: Vec<String> = utilities
        .iter()
        .filter(|utility| !utility.marked)
        .map(named)
        .collect();
    let known = if unmarked.is_empty() {
        String::new()
    } else {
        format!(
            " Not marked so far, as far as the survey knows: {}.",
            listed(&unmarked)
        )
    };
    format!(
        "Private lines that nobody has marked: lighting, drains, old irrigation, cables to sheds and pools. The \
         locate service marks what belongs to the utilities, seldom what lies behind the meter. Mending what \
         was not marked is not in the price.{known}"
    )
}

fn named(utility: &Utility) -> String {
    format!("{} ({})", utility.id, utility.class.label())
}

/// What the customer should know beforehand.
pub fn cautions(told: &Told) -> Section {
    let schedule = &told.plan.schedule;
    let notice = told.job.practice.utility.notice_days.value as usize;
    let open = schedule
        .days
        .iter()
        .map(|day| day.open)
        .fold(Length::ZERO, Length::max);
    let mut points = vec![
        format!(
            "Before anything is dug a locate request goes to the one-call service, at least {} ahead, and the \
             routes are marked. Around every mark we dig by hand.",
            many(notice, "working day", "working days")
        ),
        "Local codes, permits and the water supplier's rules come before this offer. Where they ask for more, \
         the offer changes with them."
            .to_owned(),
        "We rely on the survey: the lines, levels, soil and pressures that it states. What is found otherwise is \
         shown to you before we go on."
            .to_owned(),
        "Fill settles. Trench lines may sink for a season and want topping up.".to_owned(),
    ];
    if open > Length::ZERO {
        points.push(format!(
            "Up to {} of trench lies open overnight. It is marked and guarded; keep children and animals away.",
            told.show(open.amount())
        ));
    }
    Section {
        heading: "Good to know",
        blocks: vec![Block::Points(points)],
    }
}
