//! The header of a drawing: version, code page, unit.

use encoding_rs::Encoding;
use job::Finding;

use super::SUBJECT;
use super::tags::{Tag, Tags};
use crate::Unit;

/// What the header says.
#[derive(Debug, Default)]
pub(crate) struct Head {
    pub version: Option<String>,
    pub code_page: Option<String>,
    pub unit_code: Option<i64>,
}

impl Head {
    /// Reads the tags of the section up to its end.
    pub fn read(tags: &mut Tags<'_>) -> Result<Self, Vec<Finding>> {
        let mut head = Self::default();
        let mut variable = Vec::new();
        while let Some(tag) = tags.next()? {
            if tag.is(0, "ENDSEC") {
                return Ok(head);
            }
            if tag.code == 9 {
                variable = tag.value.to_ascii_uppercase();
            } else {
                head.variable(&variable, &tag);
            }
        }
        Err(super::tags::cut_off(tags.line()))
    }

    fn variable(&mut self, name: &[u8], tag: &Tag<'_>) {
        let text = || Some(String::from_utf8_lossy(tag.value).to_ascii_uppercase());
        match name {
            b"$ACADVER" => self.version = text(),
            b"$DWGCODEPAGE" => self.code_page = text(),
            b"$INSUNITS" => self.unit_code = tag.whole(),
            _ => {}
        }
    }

    /// How texts are encoded: UTF-8 from the version of 2007 on, else by the code page.
    pub fn encoding(&self, notes: &mut Vec<String>) -> &'static Encoding {
        let page = self.code_page.as_deref().unwrap_or_default();
        if self
            .version
            .as_deref()
            .is_some_and(|version| version >= "AC1021")
            || page == "UTF-8"
            || page == "UTF8"
        {
            return encoding_rs::UTF_8;
        }
        let number = page.trim_start_matches("ANSI_").trim_start_matches("DOS");
        let label = match number {
            "932" => "shift_jis",
            "936" => "gbk",
            "949" => "euc-kr",
            "950" => "big5",
            "874" => "windows-874",
            "" => "windows-1252",
            _ => page,
        };
        let label = if label == page {
            format!("windows-{number}")
        } else {
            label.to_owned()
        };
        Encoding::for_label(label.as_bytes()).unwrap_or_else(|| {
            let page = crate::report::shown(page);
            notes.push(format!(
                "its code page {page} is not known; Windows-1252 was taken"
            ));
            encoding_rs::WINDOWS_1252
        })
    }

    /// The unit of the coordinates, and what is to be said about it.
    pub fn unit(
        &self,
        asked: Option<Unit>,
        target: Unit,
    ) -> Result<(Unit, Option<String>), Vec<Finding>> {
        // The values of $INSUNITS.
        let said = match self.unit_code {
            None | Some(0) => None,
            Some(1) => Some(Unit::Inch),
            Some(2) => Some(Unit::Foot),
            Some(4) => Some(Unit::Millimetre),
            Some(5) => Some(Unit::Centimetre),
            Some(6) => Some(Unit::Metre),
            Some(10) => Some(Unit::Yard),
            Some(14) => Some(Unit::Decimetre),
            Some(21) => Some(Unit::SurveyFoot),
            Some(code) if asked.is_none() => {
                return Err(vec![Finding::error(
                    "dxf-unit",
                    SUBJECT,
                    format!(
                        "its header has the unit code {code} in $INSUNITS, which is no unit of a garden"
                    ),
                    "say in which unit it is drawn: in, ft, us-ft, yd, mm, cm, dm or m",
                )]);
            }
            Some(_) => None,
        };
        Ok(match (asked, said) {
            (Some(asked), Some(said)) if asked != said => {
                let note = format!(
                    "its header says {}; {} was asked for",
                    said.name(),
                    asked.name()
                );
                (asked, Some(note))
            }
            (Some(asked), _) => (asked, None),
            (None, Some(said)) => (said, Some(format!("unit of the drawing: {}", said.name()))),
            (None, None) => {
                let name = target.name();
                let note = format!(
                    "its header names no unit; {name} was taken, the job's own. Check a length"
                );
                (target, Some(note))
            }
        })
    }
}
