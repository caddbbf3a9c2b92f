//! Answers for the crates to the cross-check suite: one JSON object per line in, one out. The
//! questions are described in `tests/crosscheck/protocol.py`.

mod drawings;
mod formulas;
mod ground_questions;
mod json;
mod paths;
mod steady;
mod ties;

use std::io::{self, BufRead, Write};

use anyhow::{Context, Result, bail};
use serde_json::{Value, json};

fn main() -> Result<()> {
    let mut output = io::stdout().lock();
    for line in io::stdin().lock().lines() {
        let answer = answer(&line?).unwrap_or_else(|error| json!({"error": format!("{error:#}")}));
        writeln!(output, "{answer}")?;
        // The suite waits for each answer before it asks on.
        output.flush()?;
    }
    Ok(())
}

fn answer(line: &str) -> Result<Value> {
    let question: Value = serde_json::from_str(line).context("the question is not JSON")?;
    match question["op"]
        .as_str()
        .context("the question has no `op`")?
    {
        "shortest_path" => paths::shortest_path(&question),
        "erode" => ground_questions::erode(&question),
        "reach" => ground_questions::reach(&question),
        "elevation" => ground_questions::elevation(&question),
        "ground_cost" => ground_questions::cost(&question),
        "friction" => formulas::friction(&question),
        "volume" => formulas::volume(&question),
        "to_plane" => drawings::to_plane(&question),
        "write_dxf" => drawings::write_dxf(&question),
        "read_dxf" => drawings::read_dxf(&question),
        "stake" => ties::stake(&question),
        "steady_flow" => steady::flow(&question),
        other => bail!("there is no question `{other}`"),
    }
}
