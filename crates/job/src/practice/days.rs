//! Crews, their day, the calendar, and what they wait for.

use crate::Sourced;
use crate::sourced::FromScalar;
use jiff::civil::{Date, Time, Weekday};
use quantity::{Duration, Length, Pressure, Ratio};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::PipeMaterial;

/// The working day.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Day {
    /// Working hours of a day.
    pub hours: Sourced<Ratio>,
    /// Working days of a week of hire.
    pub week: Sourced<u32>,
    /// When it begins.
    pub begins: Sourced<TimeOfDay>,
    /// The pause in its middle; not among its hours.
    pub pause: Sourced<Duration>,
    /// Days lost to the weather as a share of the days worked; an allowance beside the plan.
    pub weather: Sourced<Ratio>,
    /// Trench open at evening, length times evenings, that is worth another order of the work; less
    /// counts as the same.
    pub open_step: Sourced<Length>,
    /// What comes first when one order of the work is preferred to another.
    pub first: Sourced<First>,
}

/// What comes first when one order of the work is preferred to another; nothing is ever covered
/// before it is tested.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum First {
    /// Least trench open at evening, then least cost, then the earliest finish.
    OpenTrench,
    /// Least cost, then least trench open at evening, then the earliest finish.
    Cost,
}

/// People who work together.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Crew {
    /// In words.
    pub label: String,
    /// How many.
    pub people: Sourced<u32>,
    /// What they can do.
    pub skills: Sourced<Skills>,
}

/// Which days are worked.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Calendar {
    /// The day on which the dig area is white-lined and the locate request is made; without one the
    /// plan has numbered days and no dates.
    pub request_on: Sourced<OnDate>,
    /// Days of the week that are worked.
    pub weekdays: Sourced<Weekdays>,
    /// Days that are not worked all the same.
    pub holidays: Sourced<Holidays>,
}

/// How long the joints of each material stand before water comes on them.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cure {
    /// Solvent-welded PVC.
    pub pvc: Sourced<Duration>,
    /// Polyethylene with insert fittings.
    pub pe: Sourced<Duration>,
    /// Soldered copper.
    pub copper: Sourced<Duration>,
    /// Threaded steel.
    pub steel: Sourced<Duration>,
}

impl Cure {
    /// The time for a material.
    pub fn of(&self, material: PipeMaterial) -> &Sourced<Duration> {
        match material {
            PipeMaterial::Pvc => &self.pvc,
            PipeMaterial::Pe => &self.pe,
            PipeMaterial::Copper => &self.copper,
            PipeMaterial::Steel => &self.steel,
        }
    }
}

/// The pressure test before anything is covered.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PressureTest {
    /// How long the main holds its pressure.
    pub hold_main: Sourced<Duration>,
    /// How long a circuit is watched.
    pub hold_circuit: Sourced<Duration>,
    /// Pressure on the main over that of the source with nothing running.
    pub pressure: Sourced<Ratio>,
    /// What the gauge may lose meanwhile.
    pub may_lose: Sourced<Pressure>,
}

/// What a crew can do.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Skill {
    /// White-lining and staking.
    Mark,
    /// Digging, pulling, exposing services, sleeves.
    Dig,
    /// Laying and joining pipe, setting valves and heads.
    Pipe,
    /// Wire, cable, controller.
    Wire,
    /// Inspecting, flushing, pressure tests.
    Test,
    /// Filling, tamping, making surfaces good, cleaning up.
    Fill,
}

impl Skill {
    /// All of them.
    pub const ALL: [Self; 6] = [
        Self::Mark,
        Self::Dig,
        Self::Pipe,
        Self::Wire,
        Self::Test,
        Self::Fill,
    ];

    /// Its word in files.
    pub fn word(self) -> &'static str {
        match self {
            Self::Mark => "mark",
            Self::Dig => "dig",
            Self::Pipe => "pipe",
            Self::Wire => "wire",
            Self::Test => "test",
            Self::Fill => "fill",
        }
    }
}

/// What a crew can do; in the file `all`, or words of [`Skill`] with commas.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Skills(pub Vec<Skill>);

impl FromScalar for Skills {
    fn from_scalar(text: &str) -> Result<Self, String> {
        if text.trim() == "all" {
            return Ok(Self(Skill::ALL.to_vec()));
        }
        let words = Skill::ALL.map(Skill::word).join(", ");
        let mut skills = Vec::new();
        for word in items(text) {
            let known = Skill::ALL.into_iter().find(|skill| skill.word() == word);
            skills.push(known.ok_or_else(|| format!("\"{word}\" is none of all, {words}"))?);
        }
        if skills.is_empty() {
            return Err(format!("it names none of all, {words}"));
        }
        skills.sort_unstable();
        skills.dedup();
        Ok(Self(skills))
    }
}

impl FromScalar for First {
    fn from_scalar(text: &str) -> Result<Self, String> {
        match text.trim() {
            "open trench" => Ok(Self::OpenTrench),
            "cost" => Ok(Self::Cost),
            other => Err(format!(
                "\"{other}\" is neither \"open trench\" nor \"cost\""
            )),
        }
    }
}

/// Minutes after midnight; in the file `07:30`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TimeOfDay(pub u32);

impl FromScalar for TimeOfDay {
    fn from_scalar(text: &str) -> Result<Self, String> {
        let wrong = || format!("\"{text}\" is not a time of day such as \"07:30\"");
        let (hour, minute) = text.trim().split_once(':').ok_or_else(wrong)?;
        let read = |part: &str| part.parse::<i8>().map_err(|_| wrong());
        let time = Time::new(read(hour)?, read(minute)?, 0, 0).map_err(|_| wrong())?;
        let [hours, minutes] = [time.hour(), time.minute()].map(|n| u32::from(n.unsigned_abs()));
        Ok(Self(hours * 60 + minutes))
    }
}

/// A day, or none; in the file `2027-04-12` or an empty text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OnDate(pub Option<Date>);

impl FromScalar for OnDate {
    fn from_scalar(text: &str) -> Result<Self, String> {
        if text.trim().is_empty() {
            return Ok(Self(None));
        }
        date(text).map(|date| Self(Some(date)))
    }
}

/// Days in order; in the file dates with commas, or an empty text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Holidays(pub Vec<Date>);

impl FromScalar for Holidays {
    fn from_scalar(text: &str) -> Result<Self, String> {
        let mut days: Vec<Date> = items(text).map(date).collect::<Result<_, _>>()?;
        days.sort_unstable();
        days.dedup();
        Ok(Self(days))
    }
}

/// Days of the week; in the file `Mon, Tue, Wed, Thu, Fri`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Weekdays(pub Vec<Weekday>);

const WEEK: [(&str, Weekday); 7] = [
    ("Mon", Weekday::Monday),
    ("Tue", Weekday::Tuesday),
    ("Wed", Weekday::Wednesday),
    ("Thu", Weekday::Thursday),
    ("Fri", Weekday::Friday),
    ("Sat", Weekday::Saturday),
    ("Sun", Weekday::Sunday),
];

impl FromScalar for Weekdays {
    fn from_scalar(text: &str) -> Result<Self, String> {
        let words = WEEK.map(|(word, _)| word).join(", ");
        let mut days = Vec::new();
        for word in items(text) {
            let known = WEEK.into_iter().find(|(known, _)| *known == word);
            days.push(
                known
                    .ok_or_else(|| format!("\"{word}\" is none of {words}"))?
                    .1,
            );
        }
        if days.is_empty() {
            return Err(format!("it names none of {words}"));
        }
        Ok(Self(days))
    }
}

/// The parts of a text between commas.
fn items(text: &str) -> impl Iterator<Item = &str> {
    text.split(',')
        .map(str::trim)
        .filter(|part| !part.is_empty())
}

fn date(text: &str) -> Result<Date, String> {
    let text = text.trim();
    text.parse()
        .map_err(|_| format!("\"{text}\" is not a day such as \"2027-04-12\""))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texts_are_read_or_named() {
        assert_eq!(TimeOfDay::from_scalar("07:30"), Ok(TimeOfDay(450)));
        for wrong in ["7", "24:00", "7:61", "-1:00", "seven"] {
            assert!(TimeOfDay::from_scalar(wrong).unwrap_err().contains(wrong));
        }
        assert_eq!(OnDate::from_scalar(" "), Ok(OnDate(None)));
        assert!(OnDate::from_scalar("2027-02-30").is_err());
        let days = Holidays::from_scalar("2027-07-05, 2027-05-31, 2027-07-05").unwrap();
        assert_eq!(days.0.len(), 2);
        assert!(days.0[0] < days.0[1]);
        assert_eq!(Weekdays::from_scalar("Mon, Sat").unwrap().0.len(), 2);
        assert!(Weekdays::from_scalar("").is_err() && Weekdays::from_scalar("Monday").is_err());
        assert_eq!(Skills::from_scalar("all").unwrap().0, Skill::ALL);
        assert_eq!(
            Skills::from_scalar("wire, dig").unwrap().0,
            [Skill::Dig, Skill::Wire]
        );
        assert!(Skills::from_scalar("plumb").unwrap_err().contains("plumb"));
    }
}
