//! The working of what the cut takes up at grade, of ways out, of sides, markers and slack.

use super::{SLOPED, Told, sourced};
use crate::{MarkerKind, Slack, section};
use job::practice::Sides;
use quantity::{Amount, Length, Style};
use working::{Ledger, Working};

const SPARE: &str = "takes every stretch by itself: a way out next door is not counted";

const FLAT: &str = "takes a bow for a flat parabola, and the ends of the pipe for fixed";

/// Puts these figures of a stretch into the ledger.
pub(super) fn put(told: &Told, ledger: &mut Ledger) {
    let mut put = |name: &str, working: Working| ledger.put(told.id(name), working);
    let section = &told.dig.section;
    if told.way.cut.is_open() {
        put("worked_width", told.worked_width());
    }
    if section.egress {
        put("ways_out", told.ways_out());
    }
    if section.sides != Sides::Upright {
        put("sides", told.sides());
    }
    if section.side_slope.to_one() > 0.0 {
        put("slope_volume", told.slope_volume());
    }
    for marker in &section.markers {
        match marker.kind {
            MarkerKind::Tape => put("tape", told.tape(marker.cover)),
            MarkerKind::Tracer => put("tracer", told.tracer(marker.cover)),
        }
    }
    for slack in &told.dig.slack {
        put(&format!("slack.{}", slack.line), told.slack(slack));
        put(&format!("snake.{}", slack.line), told.snake(slack));
    }
}

impl Told<'_> {
    fn worked_width(&self) -> Working {
        let practice = &self.job().practice;
        let class = practice.soil_class_of(self.site.stretch.ground.soil.texture);
        let cut = &self.way.cut;
        let loose = cut.area_below(cut.depth) * class.bank_to_loose.value.to_one();
        let (height, width) = section::windrow(loose, class.repose.value);
        let working = Working::new(
            "width of ground taken up at grade",
            self.dig.section.worked_width.small(),
            "width at grade + set-back + width of the heap; heap of triangular section: height \
             √(A tan repose), width 2 height / tan repose",
            "geometry; set-back 29 CFR 1926.651(j)(2)",
        )
        .with(
            "width at grade",
            cut.top_width.small(),
            self.figure("width"),
        )
        .with("loose area A", loose.amount(), "section × loose over bank")
        .with("height of the heap", height.small(), "arithmetic")
        .with("width of the heap", width.small(), "arithmetic");
        let working = sourced(
            working,
            "set-back",
            &practice.excavation.spoil_setback,
            Length::small,
        );
        self.with_loose_factor(sourced(working, "repose", &class.repose, |a| a.amount()))
            .approximately("takes all the spoil to lie on one side")
    }

    fn ways_out(&self) -> Working {
        let rules = &self.job().practice.excavation;
        let ways_out = &self.dig.section.ways_out;
        let units = self.job().units;
        let at: Vec<String> = ways_out.iter().map(|w| w.amount().show(units)).collect();
        let working = Working::new(
            "ways out",
            Amount::count(ways_out.len()),
            "length / (2 × greatest travel), rounded up, each in the middle of its share",
            "29 CFR 1926.651(c)(2)",
        )
        .with(
            "length",
            self.site.stretch.length.amount(),
            self.figure("length"),
        )
        .with("depth", self.way.cut.depth.small(), self.figure("depth"))
        .with("at, from the beginning", at.join(", "), "arithmetic");
        let working = sourced(
            working,
            "needed from a depth of",
            &rules.egress_depth,
            Length::small,
        );
        let travel = &rules.egress_travel;
        sourced(working, "greatest travel", travel, Length::amount).approximately(SPARE)
    }

    fn sides(&self) -> Working {
        let rules = &self.job().practice.excavation;
        let section = &self.dig.section;
        let mut working = Working::new(
            "how the sides are kept",
            section.sides.label(),
            "the cheapest way that the practice admits, hire left out; a competent person on site \
             decides",
            "29 CFR 1926.652",
        )
        .with("depth", section.depth.small(), self.figure("depth"))
        .with(
            format!("cost {}", section.sides.label()),
            self.way.total.amount(),
            self.figure("cost"),
        );
        if let Some((total, other)) = self.way.other_sides {
            let name = format!("cost {}", other.label());
            working = working.with(name, total.amount(), "the same with that way");
        }
        let names: Vec<&str> = rules.sides.value.0.iter().map(|s| s.label()).collect();
        let working = working.with("admitted", names.join(", "), rules.sides.origin());
        sourced(
            working,
            "needed from a depth of",
            &rules.protection_depth,
            Length::small,
        )
    }

    fn slope_volume(&self) -> Working {
        let cut = &self.way.cut;
        let upright = cut.depth * cut.width * self.site.stretch.length;
        let working = Working::new(
            "spoil in place that the slope of the sides adds",
            (self.dig.earth.bank - upright).amount(),
            "bank - depth × width × length",
            SLOPED,
        )
        .with("bank", self.dig.earth.bank.amount(), self.figure("bank"))
        .with("depth", cut.depth.small(), self.figure("depth"))
        .with("width", cut.width.small(), self.figure("width"));
        self.with_slope(working)
    }

    fn tape(&self, cover: Length) -> Working {
        let rules = &self.job().practice.marking;
        let working = Working::new(
            "depth of the marking tape",
            cover.small(),
            "the practice's depth, or half the cover of what it marks where that is less",
            "common practice",
        )
        .with(
            "over",
            rules_of(&self.dig.section.markers, MarkerKind::Tape),
            rules.tape_over.origin(),
        );
        sourced(working, "depth", &rules.tape_depth, Length::small)
    }

    fn tracer(&self, cover: Length) -> Working {
        let rules = &self.job().practice.marking;
        Working::new(
            "depth of the tracer wire",
            cover.small(),
            "on the pipe; none where a valve wire lies in the same trench",
            "common practice",
        )
        .with(
            "along",
            rules_of(&self.dig.section.markers, MarkerKind::Tracer),
            rules.tracer_along.origin(),
        )
    }

    fn with_cooling(&self, working: Working, slack: &Slack) -> Working {
        let rules = &self.job().practice.expansion;
        let placed = self.layout().placed.iter();
        let material = placed
            .filter(|(t, _)| t.line == slack.line)
            .find_map(|(t, _)| t.material);
        let working = match material {
            Some(material) => sourced(working, "growth α", rules.of(material), |e| e.amount()),
            None => working,
        };
        let working = sourced(working, "laid at", &rules.laid_at, |t| t.amount());
        sourced(working, "coldest", &rules.coldest, |t| t.amount()).with(
            "cooling ΔT",
            Amount::new(rules.cooling(), Style::Warming),
            "laid at - coldest",
        )
    }

    fn slack(&self, slack: &Slack) -> Working {
        let working = Working::new(
            format!("length that {} shrinks by and is laid in more", slack.what),
            slack.added.small(),
            "α L ΔT",
            "thermal expansion",
        )
        .with(
            "length L",
            self.site.stretch.length.amount(),
            self.figure("length"),
        );
        let bought = &self.job().practice.cut.pipe_slack;
        self.with_cooling(working, slack)
            .with(
                "laid in excess by the list",
                Amount::new(bought.value.to_one(), Style::Percent),
                bought.origin(),
            )
            .approximately(FLAT)
    }

    fn snake(&self, slack: &Slack) -> Working {
        let rules = &self.job().practice.expansion;
        let working = Working::new(
            format!("how far {} is laid off the line", slack.what),
            slack.offset.small(),
            "bow × √(3/8 × α ΔT); the bow as the practice has it, or shorter so that the offset has \
             room",
            "ΔL/L = (8/3)(h/L)², length of a flat parabola",
        )
        .with("bow", slack.bow.amount(), "arithmetic")
        .with(
            "room",
            slack.room.small(),
            "width - what the contents take up with the gaps between them",
        );
        let working = sourced(working, "longest bow", &rules.bow, Length::amount);
        let verdict = if slack.fits {
            "fits"
        } else {
            "too narrow: the pipe would be bent too sharply"
        };
        self.with_cooling(working, slack)
            .with("in this trench", verdict, "least radius of a cold bend")
            .approximately(FLAT)
    }
}

fn rules_of(markers: &[crate::Marker], kind: MarkerKind) -> &str {
    let hit = markers.iter().find(|m| m.kind == kind);
    hit.map_or("", |m| m.marks.as_str())
}
