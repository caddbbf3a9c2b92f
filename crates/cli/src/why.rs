//! `spadework why`: how a figure came about.

use crate::args::WhyArgs;
use crate::failure::Failure;
use crate::table::wrapped;
use crate::{Answer, input, progress};
use quantity::{Style, Units};
use working::{Ledger, Value, Working};

pub fn run(args: &WhyArgs, progress: bool) -> Result<Answer, Failure> {
    let job = input::job(&args.job)?.job;
    let plan = progress::plan(&job, progress)?;
    let units = args.units.map_or(job.units, Units::from);
    let ledger = &plan.workings;
    let reader = Reader {
        units,
        currency: &plan.price.currency,
    };
    match (&args.list, &args.figure) {
        (Some(prefix), _) => list(ledger, prefix.as_deref().unwrap_or(""), &reader),
        (None, Some(id)) => figure(ledger, id, &reader),
        (None, None) => Err(Failure::input(
            "no figure is named",
            "name one, or list them with --list",
        )),
    }
}

fn list(ledger: &Ledger, prefix: &str, reader: &Reader) -> Result<Answer, Failure> {
    let mut out = String::new();
    for (id, working) in ledger.iter().filter(|(id, _)| id.starts_with(prefix)) {
        out += &format!("{id} = {}\n", reader.shown(&working.value));
    }
    if out.is_empty() {
        return Err(unknown(ledger, prefix, "no figure's id begins with"));
    }
    Ok(Answer::of(out))
}

/// With more figures behind it than this, a working names them only.
const TOLD_BEHIND: usize = 4;

/// The working of a figure, and those of the figures behind it if they are few.
fn figure(ledger: &Ledger, id: &str, reader: &Reader) -> Result<Answer, Failure> {
    let working = ledger
        .get(id)
        .ok_or_else(|| unknown(ledger, id, "the plan has no figure"))?;
    let mut out = format!("{id}\n");
    out += &text(working, reader, "  ");
    let mut behind: Vec<(&str, &Working)> = Vec::new();
    for input in &working.inputs {
        let of = input.from.strip_prefix("figure ");
        let found = of.and_then(|of| Some((of, ledger.get(of)?)));
        behind.extend(found.filter(|(of, _)| *of != id && behind.iter().all(|b| b.0 != *of)));
    }
    if behind.len() > TOLD_BEHIND {
        out += "\n  each figure named above has its own working: spadework why JOB ID\n";
        return Ok(Answer::of(out));
    }
    for (of, behind) in behind {
        out += &format!("\n  {of}\n");
        out += &text(behind, reader, "    ");
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

fn text(working: &Working, reader: &Reader, indent: &str) -> String {
    let value = reader.shown(&working.value);
    let deeper = format!("{indent}    ");
    let mut out = wrapped(&format!("{} = {value}", working.label), indent, &deeper);
    let mut say = |what: &str, words: &str| {
        if !words.is_empty() {
            out += &wrapped(words, &format!("{indent}{what:<12}"), &deeper);
        }
    };
    say("formula", &working.formula);
    for input in &working.inputs {
        let value = reader.shown(&input.value);
        say(
            "  with",
            &format!("{} = {value}   ({})", input.name, input.from),
        );
    }
    say("source", &working.source);
    say("approximate", &working.approximate);
    out
}

/// Who reads: in which units and which money.
struct Reader<'a> {
    units: Units,
    currency: &'a str,
}

impl Reader<'_> {
    fn shown(&self, value: &Value) -> String {
        let amount = match value {
            Value::Amount(amount) => amount,
            Value::Word(word) => return word.clone(),
        };
        let text = amount.show(self.units);
        match amount.style {
            Style::Money => format!("{text} {}", self.currency),
            Style::MoneyPerLength
            | Style::MoneyPerArea
            | Style::MoneyPerVolume
            | Style::MoneyPerHour => text.replacen(' ', &format!(" {} ", self.currency), 1),
            _ => text,
        }
    }
}
