//! What is built in: samples and schemas.

use crate::args::{SampleArgs, SchemaOf};
use crate::failure::Failure;
use crate::{Answer, demo};

pub fn sample(args: &SampleArgs) -> Result<Answer, Failure> {
    let text = job::sample(args.heads, args.seed);
    let Some(file) = &args.out else {
        return Ok(Answer::of(text));
    };
    demo::write_new(file, &text, "sample")?;
    Ok(Answer {
        err: format!("wrote {}\n", file.display()),
        ..Answer::default()
    })
}

pub fn schema(of: SchemaOf) -> Result<Answer, Failure> {
    let schema = match of {
        SchemaOf::Job => job::schema(),
        SchemaOf::Plan => schemars::schema_for!(plan::Plan).to_value(),
        SchemaOf::Planner => return Ok(Answer::of(server::description())),
    };
    // A value of JSON is written by its own `Display`, which does not fail.
    Ok(Answer::of(format!("{schema:#}\n")))
}
