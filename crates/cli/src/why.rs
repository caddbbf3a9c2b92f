//! `spadework why`: how a figure came about.

use crate::args::WhyArgs;
use crate::failure::Failure;
use crate::table::wrapped;
use crate::{Answer, input, progress};
use quantity::Units;
use working::{Ledger, Value, Working};

pub fn run(args: &WhyArgs) -> Result<Answer, Failure> {
    let job = input::job(&args.job)?.job;
    let plan = progress::plan(&job)?;
    let units = args.units.map_or(job.units, Units::from);
    let ledger = &plan.workings;
    match (&args.list, &args.figure) {
        (Some(prefix), _) => list(ledger, prefix.as_deref().unwrap_or(""), units),
        (None, Some(id)) => figure(ledger, id, units),
        (None, None) => Err(Failure::input(
            "no figure is named",
            "name one, or list them with --list",
        )),
    }
}

fn list(ledger: &Ledger, prefix: &str, units: Units) -> Result<Answer, Failure> {
    let mut out = String::new();
    for (id, working) in ledger.iter().filter(|(id, _)| id.starts_with(prefix)) {
        out += &format!("{id} = {}\n", shown(&working.value, units));
    }
    if out.is_empty() {
        return Err(unknown(ledger, prefix, "no figure's id begins with"));
    }
    Ok(Answer::of(out))
}

fn figure(ledger: &Ledger, id: &str, units: Units) -> Result<Answer, Failure> {
    let working = ledger
        .get(id)
        .ok_or_else(|| unknown(ledger, id, "the plan has no figure"))?;
    let mut out = format!("{id}\n");
    out += &text(working, units, "  ");
    let mut told = vec![id];
    for input in &working.inputs {
        let Some(of) = input.from.strip_prefix("figure ") else {
            continue;
        };
        let Some(behind) = ledger.get(of).filter(|_| !told.contains(&of)) else {
            continue;
        };
        told.push(of);
        out += &format!("\n  {of}\n");
        out += &text(behind, units, "    ");
    }
    Ok(Answer::of(out))
}

fn unknown(ledger: &Ledger, id: &str, what: &str) -> Failure {
    let near = ledger.nearest(id, 5).join(", ");
    Failure::input(
        format!("{what} \"{id}\""),
        format!("nearest are {near}; --list lists them all"),
    )
}

fn text(working: &Working, units: Units, indent: &str) -> String {
    let value = shown(&working.value, units);
    let deeper = format!("{indent}    ");
    let mut out = wrapped(&format!("{} = {value}", working.label), indent, &deeper);
    let mut say = |what: &str, words: &str| {
        if !words.is_empty() {
            out += &wrapped(words, &format!("{indent}{what:<12}"), &deeper);
        }
    };
    say("formula", &working.formula);
    for input in &working.inputs {
        let value = shown(&input.value, units);
        say(
            "  with",
            &format!("{} = {value}   ({})", input.name, input.from),
        );
    }
    say("source", &working.source);
    say("approximate", &working.approximate);
    out
}

fn shown(value: &Value, units: Units) -> String {
    match value {
        Value::Amount(amount) => amount.show(units),
        Value::Word(word) => word.clone(),
    }
}
