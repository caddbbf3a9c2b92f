//! The working of every figure of pulled pipe, for the ledger.

use super::strength::{self, Strand};
use super::{Pit, PitKind, Pull, PulledPipe};
use crate::offers::{Book, Site};
use crate::{Dig, Digging};
use job::{Job, Sourced};
use quantity::{Amount, Length, Ratio, Volume};
use working::{Ledger, Working};

const F1804: &str = "ASTM F1804 (equation and factors from memory)";

const BEHIND_THE_BLADE: &str = "weight and drag are taken as even along the pull; the drag is a \
                                value of custom, and wire pulled in beside the pipe is left out";

/// Puts the workings in; those of the stretch's earth and time are told anew, since they come from
/// its pits.
pub(crate) fn put(book: &Book, sites: &[Site], digging: &Digging, ledger: &mut Ledger) {
    if ledger.is_closed() {
        return;
    }
    for (site, dig) in sites.iter().zip(&digging.digs) {
        if let Some(pull) = &dig.pull {
            let told = Told {
                book,
                site,
                dig,
                pull,
            };
            told.put(ledger);
        }
    }
}

struct Told<'a> {
    book: &'a Book<'a>,
    site: &'a Site<'a>,
    dig: &'a Dig,
    pull: &'a Pull,
}

impl Told<'_> {
    fn job(&self) -> &Job {
        self.book.job
    }

    fn id(&self, name: &str) -> String {
        format!("stretch.{}.{name}", self.site.id)
    }

    fn figure(&self, name: &str) -> String {
        format!("figure {}", self.id(name))
    }

    fn put(&self, ledger: &mut Ledger) {
        if let Some((pipe, strand)) = self.governing() {
            ledger.put(self.id("allowable_tension"), self.allowable(pipe, &strand));
            ledger.put(self.id("tension"), self.tension(pipe, &strand));
            ledger.put(self.id("longest_pull"), self.longest(&strand));
            ledger.put(self.id("bend_radius"), self.bend_radius(pipe));
            ledger.put(self.id("scratch"), self.scratch());
            ledger.put(self.id("scoring"), self.scoring());
        }
        ledger.put(self.id("pits"), self.pits());
        ledger.put(self.id("bank"), self.bank());
        ledger.put(self.id("displaced"), self.displaced());
        ledger.put(self.id("crown"), self.crown());
        ledger.put(self.id("restore"), self.restore());
        ledger.put(self.id("pit_hours"), self.pit_hours());
        if let Some(hours) = ledger.get(&self.id("hours")).cloned() {
            ledger.put(self.id("hours"), self.with_pits(hours));
        }
    }

    /// The pipe that is nearest to its allowable tension.
    fn governing(&self) -> Option<(&PulledPipe, Strand)> {
        let pipe = self.pull.pipes.first()?;
        let slope = self.site.stretch.ground.slope;
        let strands = strength::strands(self.job(), slope, &self.site.layout);
        let strand = strands.into_iter().find(|s| s.line == pipe.line)?;
        Some((pipe, strand))
    }

    fn allowable(&self, pipe: &PulledPipe, strand: &Strand) -> Working {
        let rules = &self.job().practice.pull;
        let working = Working::new(
            format!("tension that {} stands", pipe.what),
            pipe.allowable.amount(),
            "fy × ft × Ty × π × D² × (1/DR - 1/DR²)",
            F1804,
        );
        let working = sourced(working, "fy", &rules.yield_factor, Ratio::amount);
        let working = sourced(working, "ft", &rules.time_factor, Ratio::amount);
        let working = match self.tensile_yield(pipe) {
            Some(value) => working.with("Ty", value.value.amount(), value.origin()),
            None => working,
        };
        working
            .with("D", strand.outside.small(), "pipe table of the practice")
            .with("DR", strand.dimension_ratio.amount(), "outside over wall")
    }

    fn tensile_yield(&self, pipe: &PulledPipe) -> Option<&Sourced<quantity::Pressure>> {
        let things = self.site.layout.placed.iter();
        let (thing, _) = things.into_iter().find(|(t, _)| t.line == pipe.line)?;
        let family = self.job().practice.pipe.get(thing.tube?.family)?;
        let of_material = &self.job().practice.pull.of(family.material)?.tensile_yield;
        Some(family.tensile_yield.as_ref().unwrap_or(of_material))
    }

    fn tension(&self, pipe: &PulledPipe, strand: &Strand) -> Working {
        let rules = &self.job().practice.pull;
        let working = Working::new(
            format!(
                "tension in {} at the end of the hardest pull that passes here",
                pipe.what
            ),
            pipe.tension.amount(),
            "force for a metre × length, × e^(friction × turn) at every turn; the greater of both \
             directions. Force for a metre: weight × (friction + slope) / √(1 + slope²) + drag × \
             π × outside",
            "rope friction (Euler–Eytelwein); drag and friction by custom",
        )
        .with(
            "force for a metre",
            strand.per_metre.amount(),
            "worked out here",
        )
        .with("length", self.pull.length.amount(), "from pit to pit")
        .with(
            "outside",
            strand.outside.small(),
            "pipe table of the practice",
        )
        .with(
            "slope",
            self.site.stretch.ground.slope.amount(),
            "the ground here",
        );
        let drag = &rules.soil_drag;
        let working = working.with("drag", drag.value.amount(), drag.origin());
        let working = sourced(working, "friction", &rules.friction, Ratio::amount);
        working
            .with(
                "allowable",
                pipe.allowable.amount(),
                self.figure("allowable_tension"),
            )
            .approximately(BEHIND_THE_BLADE)
    }

    fn longest(&self, strand: &Strand) -> Working {
        Working::new(
            format!("longest straight pull of {}", strand.what),
            strand.longest().amount(),
            "smaller of (allowable tension / force for a metre, coil × (joints in a pull + 1))",
            "arithmetic",
        )
        .with(
            "allowable tension",
            strand.allowable.amount(),
            self.figure("allowable_tension"),
        )
        .with(
            "force for a metre",
            strand.per_metre.amount(),
            self.figure("tension"),
        )
        .with(
            "coils",
            strand.pieces.amount(),
            "piece of the family, joints of the material",
        )
        .approximately(BEHIND_THE_BLADE)
    }

    fn bend_radius(&self, pipe: &PulledPipe) -> Working {
        let method = self.book.method(self.method());
        let working = Working::new(
            "least radius of a bend of pulled pipe",
            self.pull.least_radius.amount(),
            "larger of (radius over outside by dimension ratio × outside, what the machine pulls \
             round); where joints are pulled in, the ratio with a fitting",
            "PPI handbook of PE pipe chapter 7, minimum cold bend radius",
        );
        let mut working = working.with(
            "of the pipes",
            pipes(self.pull, |p| p.bend_radius).amount(),
            format!("practice pull, bend rows; {}", pipe.what),
        );
        if let Some(radius) = &method.bend_radius {
            working = sourced(working, "of the machine", radius, Length::amount);
        }
        let cut = &self.job().practice.pull.corner_cut;
        sourced(working, "may cut a corner by", cut, Length::small).approximately(
            "a corner is a pit unless an arc of this radius fits into half of the legs beside it and \
             passes it near enough",
        )
    }

    /// Index of the method in the book; the machine of this dig.
    fn method(&self) -> usize {
        let mut all = 0..self.book.len();
        all.find(|m| *self.book.id(*m) == self.dig.method)
            .unwrap_or(self.book.fallback)
    }

    fn scratch(&self) -> Working {
        let rules = &self.job().practice.pull;
        let thinnest = self
            .pull
            .pipes
            .iter()
            .min_by(|a, b| a.wall.total_cmp(&b.wall));
        let (what, wall, scratch) = thinnest.map_or(("", Length::ZERO, Length::ZERO), |p| {
            (p.what.as_str(), p.wall, p.scratch)
        });
        let working = Working::new(
            format!("deepest scratch that {what} may have"),
            scratch.thickness(),
            "share of the wall × wall",
            "PPI Municipal Advisory Board page (handbook chapter 16)",
        )
        .with("wall", wall.thickness(), "pipe table of the practice");
        sourced(working, "share of the wall", &rules.scratch, Ratio::amount)
    }

    fn scoring(&self) -> Working {
        let rules = &self.job().practice.pull.stones;
        let coarse = self.site.stretch.ground.soil.coarse;
        let working = Working::new(
            "what stones may do to pulled pipe",
            self.pull.scoring.words(),
            "by coarse fragments, and by the largest stone over the wall where its size is known",
            "common practice; nothing published leads from stones to the depth of a scratch",
        )
        .with("coarse fragments", coarse.amount(), "the soil here");
        let working = sourced(working, "clean up to", &rules.clean_to, Ratio::amount);
        sourced(working, "pulled up to", &rules.few_to, Ratio::amount)
            .approximately("a table of custom, not a model; look at the first pipe pulled")
    }

    fn pits(&self) -> Working {
        let shares: f64 = self.pull.pits.iter().map(|p| p.share.to_one()).sum();
        let mut working = Working::new(
            "pits of this stretch",
            Amount::ratio(shares),
            "sum of its shares of pits; a pit is shared evenly by the pulled stretches that meet there",
            "common practice",
        );
        for pit in &self.pull.pits {
            working = working.with(name(pit), pit.share.amount(), "its share of the pit");
        }
        let rules = &self.job().practice.pull.pit;
        let working = sourced(working, "length at ends", &rules.end_length, Length::small);
        let working = sourced(working, "width at ends", &rules.end_width, Length::small);
        let working = sourced(working, "length at heads", &rules.tap_length, Length::small);
        let working = sourced(working, "width at heads", &rules.tap_width, Length::small);
        sourced(working, "room below", &rules.below, Length::small)
    }

    fn bank(&self) -> Working {
        let mut working = Working::new(
            "spoil in place, of pits",
            self.dig.earth.bank.amount(),
            "sum over its pits of length × width × depth × share",
            "geometry",
        );
        for pit in &self.pull.pits {
            let from = format!(
                "share {:.2}, figure {}",
                pit.share.to_one(),
                self.id("pits")
            );
            working = working.with(name(pit), pit.bank.amount(), from);
        }
        working
    }

    fn displaced(&self) -> Working {
        let along: Length = self
            .pull
            .pits
            .iter()
            .map(|p| p.length * p.share.to_one())
            .sum();
        let mut working = Working::new(
            "taken up by pipe, wire and cable in its pits",
            self.dig.earth.displaced.amount(),
            "sum of π/4 × outside² × count, × length of its pits × share",
            "geometry",
        );
        for (thing, _) in &self.site.layout.placed {
            let from = format!("{} of it in this stretch", thing.count);
            working = working.with(thing.what.as_str(), thing.outside.small(), from);
        }
        working.with("length of pits", along.amount(), self.figure("pits"))
    }

    fn crown(&self) -> Working {
        let practice = &self.job().practice;
        let tamped = &practice.fill.tamped_share;
        let texture = self.site.stretch.ground.soil.texture;
        let loose = &practice.soil_class_of(texture).bank_to_loose;
        Working::new(
            "fill left proud of grade at its pits, to settle",
            self.dig.earth.crown.small(),
            "backfill × (loose over bank - 1) × (1 - tamped share) / area of its pits at grade",
            "arithmetic on bank and loose volumes",
        )
        .with(
            "backfill",
            self.dig.earth.backfill.amount(),
            self.figure("backfill"),
        )
        .with("loose over bank", loose.value.amount(), loose.origin())
        .with("tamped share", tamped.value.amount(), tamped.origin())
        .with(
            "area of its pits",
            self.pull.pit_area().amount(),
            self.figure("pits"),
        )
        .approximately("takes the fill to settle back to the density of undisturbed ground")
    }

    fn restore(&self) -> Working {
        let spoils = &self.book.method(self.method()).spoils_width;
        let working = Working::new(
            "surface to make good",
            self.dig.earth.restore.amount(),
            "width that the method spoils × length, and of each pit (width - that width) × length × \
             share",
            "arithmetic",
        )
        .with(
            "length",
            self.site.stretch.length.amount(),
            self.figure("length"),
        )
        .with("pits", Amount::count(self.pull.pits.len()), self.figure("pits"));
        sourced(working, "spoiled width", spoils, Length::small)
    }

    fn pit_hours(&self) -> Working {
        let job = self.job();
        let texture = self.site.stretch.ground.soil.texture;
        let output = &job.practice.soil_class_of(texture).hand_output;
        let fill = &job.prices.labour.fill_per_m3;
        Working::new(
            "time to dig and fill its share of the pits by hand",
            self.pull.pit_hours.amount(),
            "bank / (output × people) × stone factor × root factor + bank × time to fill / people",
            "hand excavation outputs by soil",
        )
        .with("bank", self.dig.earth.bank.amount(), self.figure("bank"))
        .with("output of one", output.value.amount(), output.origin())
        .with(
            "time to fill a cubic metre",
            fill.value.amount(),
            fill.origin(),
        )
        .with(
            "people",
            Amount::count(self.dig.crew as usize),
            "the method's crew",
        )
        .with(
            "cost of the pits",
            self.pull.pit_cost.amount(),
            "hours × people × labour hour + surface and hauling",
        )
    }

    fn with_pits(&self, hours: Working) -> Working {
        let formula = format!("{} + time at the pits", hours.formula);
        let inputs = hours.clone();
        Working { formula, ..inputs }.with(
            "time at the pits",
            self.pull.pit_hours.amount(),
            self.figure("pit_hours"),
        )
    }
}

fn pipes(pull: &Pull, of: impl Fn(&PulledPipe) -> Length) -> Length {
    pull.pipes.iter().map(of).fold(Length::ZERO, Length::max)
}

/// A pit in words.
pub(crate) fn name(pit: &Pit) -> String {
    let kind: PitKind = pit.kind;
    match pit.node {
        Some(node) => format!("pit at {node}, {}", kind.words()),
        None => format!(
            "pit at {:.1} m, {:.1} m, {}",
            pit.at.x,
            pit.at.y,
            kind.words()
        ),
    }
}

fn sourced<T: Copy>(
    working: Working,
    name: &str,
    sourced: &Sourced<T>,
    show: impl Fn(T) -> Amount,
) -> Working {
    working.with(name, show(sourced.value), sourced.origin())
}

/// Volume of pits, each counted once.
pub(crate) fn volume(pits: &[&Pit]) -> Volume {
    pits.iter().map(|p| p.bank).sum()
}
