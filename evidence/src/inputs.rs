//! The inputs of a row: `key=value unit; key=value unit`.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::str::FromStr;

use anyhow::{Context, Result, anyhow, bail};
use geo::{Coord, LineString, Polygon};
use quantity::{Quantity, ReadError};

/// Inputs by their key. An input that no one asked for is an error: it is a slip of the pen.
#[derive(Debug)]
pub struct Inputs<'a> {
    values: BTreeMap<&'a str, &'a str>,
    used: RefCell<BTreeSet<String>>,
}

impl<'a> Inputs<'a> {
    /// Reads them.
    ///
    /// # Errors
    /// If a part is not `key=value`, or a key stands twice.
    pub fn read(text: &'a str) -> Result<Self> {
        let mut values = BTreeMap::new();
        for part in text.split(';').map(str::trim).filter(|p| !p.is_empty()) {
            let (key, value) = part
                .split_once('=')
                .with_context(|| format!("the input \"{part}\" is not written key=value"))?;
            if values.insert(key.trim(), value.trim()).is_some() {
                bail!("the input \"{}\" stands twice", key.trim());
            }
        }
        Ok(Self {
            values,
            used: RefCell::default(),
        })
    }

    /// The text of an input, if it is given.
    pub fn optional(&self, key: &str) -> Option<&'a str> {
        self.used.borrow_mut().insert(key.to_owned());
        self.values.get(key).copied()
    }

    /// The text of an input.
    ///
    /// # Errors
    /// If it is missing.
    pub fn text(&self, key: &str) -> Result<&'a str> {
        self.optional(key)
            .with_context(|| format!("the input \"{key}\" is missing"))
    }

    /// A quantity with its unit.
    ///
    /// # Errors
    /// If it is missing or does not read.
    pub fn get<Q: Quantity + FromStr<Err = ReadError>>(&self, key: &str) -> Result<Q> {
        self.text(key)?
            .parse()
            .map_err(|error: ReadError| anyhow!("{key}: {error}"))
    }

    /// A number without a unit.
    ///
    /// # Errors
    /// If it is missing or does not read.
    pub fn number<N: FromStr>(&self, key: &str) -> Result<N> {
        let text = self.text(key)?;
        text.parse()
            .map_err(|_| anyhow!("{key}: \"{text}\" is not such a number"))
    }

    /// Numbers separated by blanks.
    ///
    /// # Errors
    /// If they are missing or do not read.
    pub fn numbers(&self, key: &str) -> Result<Vec<f64>> {
        numbers(self.text(key)?)
    }

    /// Places in metres, `x y, x y`.
    ///
    /// # Errors
    /// If they are missing or do not read.
    pub fn places(&self, key: &str) -> Result<Vec<Coord>> {
        places(self.text(key)?).with_context(|| key.to_owned())
    }

    /// One place in metres, `x y`.
    ///
    /// # Errors
    /// If it is missing or does not read.
    pub fn place(&self, key: &str) -> Result<Coord> {
        match self.places(key)?.as_slice() {
            [place] => Ok(*place),
            _ => bail!("{key} is not one place"),
        }
    }

    /// Polygons in metres, `x y, x y, x y | x y, ...`; none if the input is not given.
    ///
    /// # Errors
    /// If they do not read.
    pub fn polygons(&self, key: &str) -> Result<Vec<Polygon>> {
        let text = self.optional(key).unwrap_or_default();
        text.split('|')
            .filter(|part| !part.trim().is_empty())
            .map(|part| Ok(Polygon::new(LineString::new(places(part)?), Vec::new())))
            .collect()
    }

    /// The inputs that no one has asked for.
    pub fn left_over(&self) -> Vec<&'a str> {
        let used = self.used.borrow();
        let keys = self.values.keys().copied();
        keys.filter(|key| !used.contains(*key)).collect()
    }
}

fn places(text: &str) -> Result<Vec<Coord>> {
    text.split(',')
        .map(|place| match numbers(place)?.as_slice() {
            [x, y] => Ok(Coord { x: *x, y: *y }),
            _ => bail!("\"{}\" is not a place, which is written x y", place.trim()),
        })
        .collect()
}

fn numbers(text: &str) -> Result<Vec<f64>> {
    text.split_whitespace()
        .map(|word| {
            word.parse()
                .with_context(|| format!("\"{word}\" is not a number"))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::Length;

    #[test]
    fn inputs_are_read_with_their_units_and_slips_are_found() {
        let inputs = Inputs::read("inside=1.049 in; at=1 2, 3 4; colour=red").unwrap();
        assert!((inputs.get::<Length>("inside").unwrap().to_in() - 1.049).abs() < 1e-12);
        assert_eq!(inputs.places("at").unwrap().len(), 2);
        assert_eq!(inputs.left_over(), ["colour"]);
        assert!(inputs.get::<Length>("outside").is_err());
        assert!(inputs.place("at").is_err());
        assert!(Inputs::read("inside 3 in").is_err());
        assert!(Inputs::read("a=1; a=2").is_err());
    }
}
