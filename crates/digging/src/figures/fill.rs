//! The working of how a trench is filled.

use super::{SETTLES, Told, sourced};
use crate::fill::{Tamping, delivered_over_placed, tamping};
use crate::{FillMoisture, earth};
use job::practice::SoilClass;
use quantity::{Amount, Area, Length, Ratio, Style, Volume};
use working::{Ledger, Working};

/// Puts these figures of a stretch into the ledger.
pub(super) fn put(told: &Told, ledger: &mut Ledger) {
    let practice = &told.job().practice;
    let soil = &told.site.stretch.ground.soil;
    let Some(tamping) = tamping(practice, soil, &told.way.cut) else {
        return;
    };
    let fill = &told.dig.fill;
    let mut put = |name: &str, working: Working| ledger.put(told.id(name), working);
    put("lifts", told.lifts(&tamping));
    put("passes", told.passes(&tamping));
    put("placed", told.placed());
    put("crown_low", told.crown_low());
    put("crown_high", told.crown_high());
    put("settles", told.settles());
    put("water", told.water());
    if fill.water > Volume::ZERO {
        put("water_per_lift", told.water_per_lift());
    }
    if fill.delivered > Volume::ZERO {
        put("delivered", told.delivered());
    }
    if fill.spread > Volume::ZERO {
        put("spread", told.spread());
    }
    if fill.sod > Area::ZERO {
        put("sod", told.sod());
    }
}

impl Told<'_> {
    fn class(&self) -> &SoilClass {
        let texture = self.site.stretch.ground.soil.texture;
        self.job().practice.soil_class_of(texture)
    }

    fn at_grade(&self) -> Area {
        self.way.cut.top_width * self.site.stretch.length
    }

    fn lifts(&self, tamping: &Tamping) -> Working {
        let cut = &self.way.cut;
        let by_class = tamping.compactor.lift.get(self.class_name());
        let working = Working::new(
            "lifts",
            Amount::count(tamping.lifts as usize),
            "(depth - bedding) / lift, rounded up; the lift of the tool, not over the greatest one",
            "arithmetic",
        )
        .with("depth", cut.depth.small(), self.figure("depth"))
        .with("bedding", cut.bedding.small(), self.figure("depth"));
        let greatest = &self.job().practice.fill.lift;
        let working = sourced(working, "greatest lift", greatest, Length::small);
        let working = match by_class {
            Some(lift) => sourced(working, "lift of the tool", lift, Length::small),
            None => working,
        };
        working.with("each then", self.dig.fill.lift.small(), "arithmetic")
    }

    fn class_name(&self) -> &str {
        let texture = self.site.stretch.ground.soil.texture;
        &self.job().practice.texture[&texture].value
    }

    fn passes(&self, tamping: &Tamping) -> Working {
        let tool = tamping.compactor;
        let working = Working::new(
            "passes over each lift",
            Amount::count(tamping.passes as usize),
            "by soil, of the tool with the fewest passes in all that fits into the trench",
            "common practice",
        )
        .with("tool", tool.label.as_str(), "practice compactor")
        .with("width", self.way.cut.width.small(), self.figure("width"))
        .with(
            "lifts",
            Amount::count(tamping.lifts as usize),
            self.figure("lifts"),
        );
        let working = sourced(
            working,
            "narrowest trench",
            &tool.least_width,
            Length::small,
        );
        match tool.passes.get(self.class_name()) {
            Some(passes) => working.with(
                "passes",
                Amount::count(passes.value as usize),
                passes.origin(),
            ),
            None => working,
        }
    }

    fn placed(&self) -> Working {
        let tamped = &self.job().practice.fill.tamped_share;
        let class = self.class();
        let over = earth::placed_over_bank(class.bank_to_loose.value, tamped.value);
        self.with_loose_factor(
            Working::new(
                "spoil as it stands after tamping",
                self.dig.fill.placed.amount(),
                "backfill × (1 + (loose over bank - 1) × (1 - tamped share)); placed + taken up + \
                 brought in = bank + crown",
                "arithmetic on bank and loose volumes",
            )
            .with(
                "backfill",
                self.dig.earth.backfill.amount(),
                self.figure("backfill"),
            )
            .with("tamped share", tamped.value.amount(), tamped.origin())
            .with(
                "dry density in place",
                class.dry_density.value.amount(),
                class.dry_density.origin(),
            )
            .with(
                "dry density as placed",
                (class.dry_density.value / over).amount(),
                "dry density in place × backfill / placed",
            ),
        )
    }

    fn crown_low(&self) -> Working {
        let (class, rules) = (self.class(), &self.job().practice.fill);
        let working = self.crown_at("the least crown", self.dig.fill.crown_low);
        let working = sourced(working, "loose over bank", &class.loose_low, Ratio::amount);
        sourced(working, "tamped share", &rules.tamped_high, Ratio::amount)
    }

    fn crown_high(&self) -> Working {
        let (class, rules) = (self.class(), &self.job().practice.fill);
        let working = self.crown_at("the most crown", self.dig.fill.crown_high);
        let working = sourced(working, "loose over bank", &class.loose_high, Ratio::amount);
        sourced(working, "tamped share", &rules.tamped_low, Ratio::amount)
    }

    fn crown_at(&self, what: &str, crown: Length) -> Working {
        Working::new(
            format!("{what} that may settle to grade"),
            crown.small(),
            "backfill × (loose over bank - 1) × (1 - tamped share) / area at grade, with the factors \
             at the end of their range; never on the other side of the crown itself",
            "arithmetic on bank and loose volumes",
        )
        .with(
            "backfill",
            self.dig.earth.backfill.amount(),
            self.figure("backfill"),
        )
        .with("crown", self.dig.earth.crown.small(), self.figure("crown"))
        .with(
            "area at grade",
            self.at_grade().amount(),
            "width at grade × length",
        )
        .approximately(SETTLES)
    }

    fn settles(&self) -> Working {
        self.with_loose_factor(
            Working::new(
                "how far it sinks if filled level and not tamped",
                self.dig.fill.settles.small(),
                "backfill × (1 - 1 / loose over bank) / area at grade",
                "arithmetic on bank and loose volumes",
            )
            .with(
                "room for spoil in the trench",
                self.dig.earth.backfill.amount(),
                self.figure("backfill"),
            )
            .with(
                "area at grade",
                self.at_grade().amount(),
                "width at grade × length",
            ),
        )
        .approximately(SETTLES)
    }

    fn water(&self) -> Working {
        let class = self.class();
        let soil = &self.site.stretch.ground.soil;
        let window = &self.job().practice.fill.moisture_window;
        let percent = |r: Ratio| Amount::new(r.to_one(), Style::Percent);
        let formula = match self.dig.fill.moisture {
            FillMoisture::Dry => "backfill × dry density × (optimum - present), 1 kg to the litre",
            FillMoisture::Near => "none: the spoil is within the window around its optimum",
            FillMoisture::Wet => "none: the spoil is too wet and has to dry first",
        };
        let working = Working::new(
            "water for the fill",
            self.dig.fill.water.liquid(),
            formula,
            "water by dry mass",
        )
        .with(
            "backfill",
            self.dig.earth.backfill.amount(),
            self.figure("backfill"),
        );
        let density = &class.dry_density;
        let working = sourced(working, "dry density", density, |d| d.amount());
        let working = sourced(working, "optimum", &class.optimum, percent);
        let working = match class.moisture.get(&soil.moisture) {
            Some(present) => sourced(working, "present", present, percent),
            None => working,
        };
        sourced(working, "window", window, percent).approximately(
            "by soil class, not by a test; squeeze a handful: it holds together and does not wet \
             the hand",
        )
    }

    fn water_per_lift(&self) -> Working {
        let fill = &self.dig.fill;
        Working::new(
            "water for each lift",
            fill.water_per_lift.liquid(),
            "water / lifts",
            "arithmetic",
        )
        .with("water", fill.water.liquid(), self.figure("water"))
        .with(
            "lifts",
            Amount::count(self.dig.earth.lifts as usize),
            self.figure("lifts"),
        )
        .approximately("takes every lift to hold as much; sloped sides hold more near grade")
    }

    fn delivered(&self) -> Working {
        let practice = &self.job().practice;
        let import = &practice.fill.import_class;
        let fill = &self.dig.fill;
        Working::new(
            "bedding and clean fill as delivered, loose",
            fill.delivered.amount(),
            "in place × loose over bank / compacted over bank",
            "earthwork conversion by soil class",
        )
        .with(
            "in place",
            (fill.bedding + fill.clean).amount(),
            self.figure("bedding"),
        )
        .with("class", import.value.as_str(), import.origin())
        .with(
            "loose over in place",
            Amount::ratio(delivered_over_placed(practice)),
            "practice soil_class",
        )
    }

    fn spread(&self) -> Working {
        let earth = &self.dig.earth;
        self.with_loose_factor(
            Working::new(
                "spoil to spread beside the trench, loose",
                self.dig.fill.spread.amount(),
                "surplus × loose over bank",
                "common practice",
            )
            .with("surplus", earth.surplus.amount(), self.figure("surplus")),
        )
    }

    fn sod(&self) -> Working {
        let margin = &self.job().practice.fill.sod_margin;
        let fill = &self.dig.fill;
        let working = Working::new(
            "sod to lift, keep and relay",
            fill.sod.amount(),
            "(width at grade + 2 × margin) × length",
            "common practice",
        )
        .with(
            "width at grade",
            self.way.cut.top_width.small(),
            self.figure("width"),
        )
        .with("width of sod", fill.sod_width.small(), "arithmetic")
        .with(
            "length",
            self.site.stretch.length.amount(),
            self.figure("length"),
        );
        sourced(working, "margin", margin, Length::small)
    }
}
