//! Parts of a plan in words that several sheets use.

use crate::told::Told;
use plan::crew::{Ahead, WorkDay};
use plan::digging::{self, Hire};
use plan::routes::StretchId;
use quantity::{Length, Style};

/// The days on which a machine is there, a carrier with any of its attachments.
pub fn on_site(told: &Told, hire: &Hire) -> String {
    let rentals = digging::rentals(told.job);
    let methods = rentals.iter().find(|rental| rental.id == hire.machine);
    let methods = methods.map_or(&[][..], |rental| &rental.methods);
    let windows = told.plan.schedule.windows.iter();
    let windows = windows.filter(|window| methods.contains(&window.machine));
    let spans = windows.map(|window| {
        let (first, last) = (day_short(told, window.first), day_short(told, window.last));
        match window.first == window.last {
            true => first,
            false => format!("{first} to {last}"),
        }
    });
    spans.collect::<Vec<_>>().join(", ")
}

/// A working day by its number, with its date where the job gives a calendar.
pub fn day_named(told: &Told, number: u32) -> String {
    match date_of(told, number) {
        Some(date) => format!("day {number}, {date}"),
        None => format!("day {number}"),
    }
}

/// The same by its date alone where there is one.
fn day_short(told: &Told, number: u32) -> String {
    date_of(told, number).map_or_else(|| format!("day {number}"), str::to_owned)
}

fn date_of<'a>(told: &Told<'a>, number: u32) -> Option<&'a str> {
    let days = &told.plan.schedule.days;
    let day = days.iter().find(|day| day.day == number)?;
    day.date.as_deref()
}

/// The days of what comes before the first on site.
pub fn ahead_when(ahead: &Ahead) -> String {
    if let Some((first, last)) = &ahead.dates {
        return match first == last {
            true => first.clone(),
            false => format!("{first} to {last}"),
        };
    }
    // Day 1 is the first on site, day 0 the working day before it.
    let before =
        |day: i32| crate::told::many((1 - day).max(0) as usize, "working day", "working days");
    let (first, last) = ahead.days;
    match first == last {
        true => format!("{} before day 1", before(first)),
        false => format!("from {} to {} before day 1", before(first), before(last)),
    }
}

/// Names with commas between; three and more in a row as the first and the last, such as `S3–S7`.
pub fn stretches(ids: &[StretchId]) -> String {
    let mut sorted = ids.to_vec();
    sorted.sort_unstable();
    sorted.dedup();
    let rows = sorted.chunk_by(|one, next| one.0 + 1 == next.0);
    let names = rows.map(|row| match row {
        [first, _, .., last] => format!("{first}–{last}"),
        few => {
            let names: Vec<String> = few.iter().map(ToString::to_string).collect();
            names.join(", ")
        }
    });
    names.collect::<Vec<_>>().join(", ")
}

/// How much trench stands open at the evening of a day, and where.
pub fn open(told: &Told, day: &WorkDay) -> String {
    if day.open <= Length::ZERO {
        return "no trench open at evening".to_owned();
    }
    format!(
        "open at evening: {} ({})",
        told.show(day.open.amount()),
        stretches(&day.open_stretches)
    )
}

/// A depth or width as one sets it on a tape, with its unit.
pub fn on_tape(told: &Told, length: Length) -> String {
    let unit = told.unit(Style::SmallLength);
    format!("{} {unit}", layers::on_tape(length, told.units))
}

/// With a capital in front and a full stop behind.
pub fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    let first = letters.next().map(|c| c.to_uppercase().to_string());
    let mut out = first.unwrap_or_default() + letters.as_str();
    if !out.ends_with('.') {
        out.push('.');
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stretches_in_a_row_are_told_by_their_ends() {
        let told =
            |ids: &[u32]| stretches(&ids.iter().map(|id| StretchId(*id)).collect::<Vec<_>>());
        assert_eq!(told(&[]), "");
        assert_eq!(told(&[4, 0, 1]), "S1, S2, S5");
        assert_eq!(told(&[2, 3, 4, 8, 10, 11]), "S3–S5, S9, S11, S12");
    }

    #[test]
    fn a_sentence_has_a_capital_and_a_stop() {
        assert_eq!(sentence("open trenches"), "Open trenches.");
        assert_eq!(sentence(""), ".");
    }
}
