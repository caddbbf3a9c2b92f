//! What is compared, in words and numbers.

use plan::compare::{InputChange, Stated};
use quantity::{Amount, Length, Money, Units};
use working::Value;

/// Longer words are cut off in a table.
const LONGEST: usize = 34;

/// What is not there.
pub const NONE: &str = "–";

/// A figure, or a dash.
pub fn value(value: Option<&Value>, units: Units) -> String {
    match value {
        Some(Value::Amount(amount)) => amount.show(units),
        Some(Value::Word(word)) => word.clone(),
        None => NONE.to_owned(),
    }
}

/// A difference with its sign; a dash for none.
pub fn change(change: Option<Amount>, units: Units) -> String {
    let Some(change) = change else {
        return String::new();
    };
    signed(change.show(units))
}

/// The same of money.
pub fn money_change(change: Money) -> String {
    signed(change.to_string())
}

fn signed(text: String) -> String {
    let nothing = !text.chars().any(|c| c.is_ascii_digit() && c != '0');
    match text.starts_with('-') {
        _ if nothing => NONE.to_owned(),
        true => text,
        false => format!("+{text}"),
    }
}

/// Both values of an input; of places the first that differs.
pub fn stated(change: &InputChange, units: Units) -> [String; 2] {
    if let (Some(Stated::Places(before)), Some(Stated::Places(after))) =
        (&change.before, &change.after)
    {
        let pairs = before.iter().zip(after);
        let first = pairs.clone().position(|(a, b)| a.distance(*b) > 0.0);
        let at = first.unwrap_or(before.len().min(after.len()));
        let told = |places: &[job::Place]| {
            let place = places
                .get(at)
                .map_or(NONE.to_owned(), |place| at_place(*place, units));
            if places.len() == 1 {
                return place;
            }
            format!("{} places, no. {} at {place}", places.len(), at + 1)
        };
        return [told(before), told(after)];
    }
    [
        one(change.before.as_ref(), units),
        one(change.after.as_ref(), units),
    ]
}

fn one(stated: Option<&Stated>, units: Units) -> String {
    match stated {
        None => NONE.to_owned(),
        Some(Stated::Amount(amount)) => amount.show(units),
        Some(Stated::Word(word)) => cut(word),
        Some(Stated::Places(places)) => match places.as_slice() {
            [place] => at_place(*place, units),
            places => format!("{} places", places.len()),
        },
    }
}

fn at_place(place: job::Place, units: Units) -> String {
    let [x, y] = [place.x, place.y].map(|metres| Length::m(metres).amount().show(units));
    format!("{x}, {y}")
}

fn cut(word: &str) -> String {
    if word.chars().count() <= LONGEST {
        return word.to_owned();
    }
    let begin: String = word.chars().take(LONGEST - 1).collect();
    format!("{begin}…")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn changes_carry_their_sign() {
        assert_eq!(money_change(Money::cents(5)), "+0.05");
        assert_eq!(money_change(Money::cents(-123_456)), "-1,234.56");
        assert_eq!(money_change(Money::ZERO), NONE);
    }

    #[test]
    fn long_words_are_cut() {
        assert_eq!(cut(&"a".repeat(80)).chars().count(), LONGEST);
    }
}
