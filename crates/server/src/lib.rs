//! The planner: a page over one job file, served on the machine itself.
//!
//! [`serve`] lays an open job file on a desk, plans it on a thread of its own, and answers the page that is built into
//! the program. Every change is in the file before it is acknowledged; every open page hears of it. Requests from
//! elsewhere than the machine itself are refused unless the network was let in, and then want a code.
//!
//! Works out nothing of the trade: what the page shows is the plan, in words and in the units of the job.

mod api;
mod desk;
mod event;
mod guard;
mod page;
mod planner;
mod problem;
mod serving;
#[cfg(test)]
mod tests;
mod view;

pub use serving::{Notice, Options, ServeError, Stop, serve};

/// The description of all requests, as OpenAPI (JSON): what the page's own types are made from.
pub fn description() -> String {
    // A description is plain data, which can always be written.
    let text = api::description().to_pretty_json();
    text.unwrap_or_default() + "\n"
}
