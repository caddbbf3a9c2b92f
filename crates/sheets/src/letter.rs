//! The offer to the customer.

use crate::told::Told;
use crate::{Block, Fact, Page};
use offer::Offer;

/// The offer, the same words as in its text form.
pub fn page(told: &Told) -> Page {
    let price = told.plan.price.ranged.map(|ranged| ranged.rock_per_m);
    let rock = price.filter(|per_m| *per_m > quantity::Money::ZERO);
    let offer = Offer::of(told.job, told.plan, told.units, rock);
    // The job knows neither: they are written on it.
    let mut blocks = vec![Block::Lines(vec![
        vec!["Offered by".to_owned()],
        vec!["Offered to".to_owned()],
        vec!["Property".to_owned()],
    ])];
    for section in offer.sections {
        blocks.push(Block::Heading(section.heading.to_owned()));
        blocks.extend(section.blocks.into_iter().map(block));
    }
    blocks.push(Block::Together(vec![
        Block::Heading("Agreed".to_owned()),
        Block::Lines(vec![
            vec!["For the contractor".to_owned(), "date".to_owned()],
            vec!["For the customer".to_owned(), "date".to_owned()],
        ]),
    ]));
    Page {
        title: "Offer".to_owned(),
        paper: told.paper(),
        blocks,
    }
}

fn block(block: offer::Block) -> Block {
    match block {
        offer::Block::Words(words) => Block::Words(words),
        offer::Block::Points(points) => Block::Points(points),
        offer::Block::Rows(rows) => {
            let facts = rows.into_iter().map(|(name, is)| Fact::new(name, is));
            Block::Facts(facts.collect())
        }
    }
}
