//! price.csv and offer.txt: what they say, and that they sum up.

#![allow(clippy::unwrap_used)] // helpers of tests fail where a test would

mod support;

use serde_json::{Value, json};
use std::fs;
use support::{Yard, small_job};

fn written(job: &Value) -> (Yard, plan::Plan) {
    let yard = Yard::new();
    yard.write("job.json", job.to_string());
    yard.ok(&["plan", "job.json", "--out", "results"]);
    let text = fs::read_to_string(yard.path("results/plan.json")).unwrap();
    let plan = serde_json::from_str(&text).unwrap();
    (yard, plan)
}

/// Every class taxed on the price.
fn taxed() -> Value {
    let mut job = small_job();
    let tax = json!({"rate": "7.25 %", "on": "price"});
    let classes = [
        "labour",
        "machines",
        "material",
        "subtrades",
        "disposal",
        "fees",
    ];
    let taxes: serde_json::Map<String, Value> = classes
        .iter()
        .map(|class| ((*class).to_owned(), tax.clone()))
        .collect();
    job["spadework"]["prices"] = json!({"tax": taxes});
    job
}

fn cents(text: &str) -> i64 {
    let bare: String = text
        .chars()
        .filter(|c| c.is_ascii_digit() || *c == '-')
        .collect();
    bare.parse().unwrap()
}

#[test]
fn the_price_table_sums_to_the_cent() {
    for job in [small_job(), taxed()] {
        let (yard, plan) = written(&job);
        let mut rows = csv::Reader::from_path(yard.path("results/price.csv")).unwrap();
        assert_eq!(&rows.headers().unwrap()[3], "amount_usd");
        let rows: Vec<csv::StringRecord> = rows.records().map(Result::unwrap).collect();
        let of = |id: &str| {
            let row = rows.iter().find(|row| &row[1] == id).unwrap();
            cents(&row[3])
        };
        let sums = ["cost", "overhead", "profit", "total", "with_tax"];
        let is_line = |row: &&csv::StringRecord| !sums.contains(&&row[1]) && &row[0] != "tax";
        let lines: i64 = rows.iter().filter(is_line).map(|row| cents(&row[3])).sum();
        assert_eq!(lines, of("cost"));
        assert_eq!(of("cost") + of("overhead") + of("profit"), of("total"));
        let taxes: i64 = rows
            .iter()
            .filter(|row| &row[0] == "tax")
            .map(|row| cents(&row[3]))
            .sum();
        assert_eq!(of("total") + taxes, of("with_tax"));
        assert_eq!(of("total"), plan.price.total.to_cents());
        assert_eq!(taxes > 0, job == taxed());
    }
}

#[test]
fn the_offer_says_what_where_for_how_much_and_what_not() {
    let (yard, plan) = written(&taxed());
    let offer = fs::read_to_string(yard.path("results/offer.txt")).unwrap();
    assert!(
        offer.lines().all(|line| line.chars().count() <= 78),
        "{offer}"
    );
    for words in [
        "INVENTED PROPERTY",
        "3 heads",
        "1 circuit",
        "1 valve",
        " ft",
        "Price before tax",
        "Tax of 7.25% on our work",
        "Allowances",
        "private lines",
        "Not included",
        "Rock",
        "licensed trades",
        "locate request",
        "Local codes",
        "stands for 30 days",
    ] {
        assert!(offer.contains(words), "{words} is missing in\n{offer}");
    }
    assert!(!offer.to_lowercase().contains("safe"), "{offer}");
    let price = offer.split("\nPrice\n").nth(1).unwrap();
    let parts: i64 = price
        .lines()
        .take_while(|line| !line.contains("Price before tax"))
        .map(|line| cents(line.rsplit("  ").next().unwrap()))
        .sum();
    assert_eq!(parts, plan.price.total.to_cents());
    let si = yard.ok(&["plan", "job.json", "--out", "results", "--units", "si"]);
    assert!(!si.is_empty());
    let offer = fs::read_to_string(yard.path("results/offer.txt")).unwrap();
    assert!(
        offer.contains(" m of route") && offer.contains("L/min"),
        "{offer}"
    );
}

#[test]
fn the_summary_names_margin_and_markup_rightly() {
    let yard = Yard::new();
    let mut job = small_job();
    job["spadework"]["prices"] = json!({"profit": {"by": "markup", "share": "25 %"}});
    yard.write("job.json", job.to_string());
    let out = yard.ok(&["plan", "job.json"]);
    let words = "markup 25.00% on cost with overhead = margin 20.00% of the price";
    let flat = out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat.contains(words), "{out}");
    let why = yard.ok(&["why", "job.json", "price.margin"]);
    assert!(
        why.contains("20.00") && why.contains("markup / (1 + markup)"),
        "{why}"
    );
    let hour = yard.ok(&["why", "job.json", "price.labour_hour"]);
    assert!(
        hour.contains("wage") && hour.contains("burden") && hour.contains("47.88"),
        "{hour}"
    );
}
