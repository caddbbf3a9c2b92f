//! The working of every figure of this stage, for the ledger.

mod cut;
mod fill;

use crate::contents::Layout;
use crate::offers::{Book, Site, Way};
use crate::{Dig, Digging, Hire, Rental, reasons, section, work};
use job::prices::MethodKind;
use job::{Job, Sourced};
use quantity::{Amount, Area, Duration, Length, Money, Style, Volume};
use rayon::prelude::*;
use routes::Network;
use working::{Ledger, Working};

const SLOPED: &str = "geometry of a simply sloped trench, 29 CFR 1926 Subpart P Appendix B";

const SETTLES: &str = "takes the fill to settle back to the density of undisturbed ground";

/// Puts the working of every figure into the ledger.
pub(crate) fn put(
    book: &Book,
    network: &Network,
    sites: &[Site],
    digging: &Digging,
    ledger: &mut Ledger,
) {
    if ledger.is_closed() {
        return;
    }
    let stretches: Vec<(&Site, &Dig)> = sites.iter().zip(&digging.digs).collect();
    let told: Vec<Ledger> = (stretches.par_chunks(AT_ONCE))
        .map(|some| {
            let mut ledger = Ledger::new();
            for (site, dig) in some {
                stretch(book, site, dig, &mut ledger);
            }
            ledger
        })
        .collect();
    told.into_iter().for_each(|told| ledger.extend(told));
    for hire in &digging.hires {
        hired(book, hire, digging, ledger);
    }
    totals(network, digging, ledger);
    by_method(digging, ledger);
}

/// The figures of so many stretches are told one after the other, beside those of others.
const AT_ONCE: usize = 16;

/// The figures of one stretch.
fn stretch(book: &Book, site: &Site, dig: &Dig, ledger: &mut Ledger) {
    let way = match site.ways.iter().find(|w| *book.id(w.method) == dig.method) {
        Some(way) => way.clone(),
        None => reasons::chosen_way(book, site, None),
    };
    let told = Told {
        book,
        site,
        dig,
        way: &way,
    };
    let mut put = |name: &str, working: Working| ledger.put(told.id(name), working);
    put("length", told.length());
    put("method", told.method());
    put("depth", told.depth());
    put("width", told.width());
    put("restore", told.restore());
    put("hours", told.hours());
    put("cost", told.cost());
    if way.cut.side_slope.to_one() > 0.0 {
        put("top_width", told.top_width());
    }
    put("bank", told.bank());
    put("loose", told.loose());
    put("backfill", told.backfill());
    put("surplus", told.surplus());
    put("crown", told.crown());
    if dig.earth.displaced > Volume::ZERO {
        put("displaced", told.displaced());
    }
    if dig.earth.bedding > Volume::ZERO {
        put("bedding", told.bedding());
    }
    if dig.earth.haul > Volume::ZERO {
        put("haul", told.haul());
    }
    cut::put(&told, ledger);
    fill::put(&told, ledger);
}

/// One stretch and what was chosen for it.
struct Told<'a> {
    book: &'a Book<'a>,
    site: &'a Site<'a>,
    dig: &'a Dig,
    way: &'a Way,
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

    fn layout(&self) -> &Layout<'_> {
        &self.site.layout
    }

    fn kind(&self) -> MethodKind {
        self.book.method(self.way.method).kind
    }

    fn soil(&self) -> String {
        feature(&self.site.stretch.ground.soil_id)
    }

    fn method_input(&self, working: Working) -> Working {
        working.with("method", self.dig.method.0.as_str(), self.figure("method"))
    }

    fn length(&self) -> Working {
        let what = "length of the stretch";
        let amount = self.site.stretch.length.amount();
        Working::new(
            what,
            amount,
            "sum of the legs of its centre line",
            "geometry",
        )
        .with(
            "legs",
            Amount::count(self.site.stretch.path.len().max(1) - 1),
            "the route",
        )
    }

    fn method(&self) -> Working {
        let mut working = Working::new(
            "method of the stretch",
            self.dig.method.0.as_str(),
            format!(
                "the method in the cheapest plan of all; {}",
                self.dig.reason
            ),
            "comparison of all sets of machines, hire included",
        );
        for way in &self.site.ways {
            let label = &self.book.method(way.method).label;
            working = working.with(
                format!("cost by {label}, hire left out"),
                way.total.amount(),
                "arithmetic on price book and practice",
            );
        }
        for rejected in &self.dig.rejected {
            let from = format!("{} cannot", rejected.method);
            working = working.with(rejected.method.0.as_str(), rejected.why.as_str(), from);
        }
        working
    }

    fn depth(&self) -> Working {
        let (kind, cut) = (self.kind(), &self.way.cut);
        let amount = cut.depth.small();
        if kind == MethodKind::Surface {
            let rule = "pinned on the surface: nothing is dug";
            return self.method_input(Working::new("depth", amount, rule, "arithmetic"));
        }
        let working = Working::new(
            "depth from grade",
            amount,
            "deepest of (cover + height of what lies there), + bedding",
            "arithmetic on cover rules",
        );
        let mut working = self.method_input(working);
        if let Some((thing, _)) = self.layout().placed.get(self.layout().governs) {
            working = sourced(working, "cover", thing.cover, Length::small).with(
                format!("height of {}", thing.what),
                thing.high().small(),
                "what lies in this stretch",
            );
        }
        if cut.bedding > Length::ZERO {
            working = sourced(
                working,
                "bedding",
                &self.job().practice.cut.bedding,
                Length::small,
            )
            .with(
                "coarse fragments",
                Amount::new(
                    self.site.stretch.ground.soil.coarse.to_one(),
                    Style::Percent,
                ),
                self.soil(),
            );
        }
        working
    }

    fn width(&self) -> Working {
        let cut = &self.way.cut;
        if !cut.is_open() {
            let rule = "no trench is opened";
            return self.method_input(Working::new(
                "width at the floor",
                cut.width.small(),
                rule,
                "arithmetic",
            ));
        }
        let by = self.book.method(self.way.method);
        let rules = &self.job().practice.cut;
        let widths: Vec<String> = by
            .cut_width
            .value
            .0
            .iter()
            .map(|w| w.small().show(self.job().units))
            .collect();
        let working = Working::new(
            "width at the floor",
            cut.width.small(),
            "narrowest cut into which the contents fit: sum of their widths + gaps between + gaps \
             at both sides; by hand as wide as needed",
            "common practice",
        );
        let working = self
            .method_input(working)
            .with(
                "needed",
                self.layout().width.small(),
                format!("{} side by side", self.layout().abreast),
            )
            .with("widths it cuts", widths.join(", "), by.cut_width.origin());
        let working = sourced(working, "gap between", &rules.gap_between, Length::small);
        sourced(
            working,
            "gap at the side",
            &rules.gap_at_side,
            Length::small,
        )
    }

    fn top_width(&self) -> Working {
        let working = Working::new(
            "width at grade",
            self.way.cut.top_width.small(),
            "width + 2 × slope × depth; benched: × (benches - 1)/benches",
            SLOPED,
        )
        .with("width", self.way.cut.width.small(), self.figure("width"))
        .with("depth", self.way.cut.depth.small(), self.figure("depth"));
        self.with_slope(working)
    }

    fn with_slope(&self, working: Working) -> Working {
        let practice = &self.job().practice;
        let class = practice.soil_class_of(self.site.stretch.ground.soil.texture);
        let working = match section::slope_rule(&practice.excavation, class) {
            Some(rule) if self.way.cut.side_slope.to_one() > 0.0 => working.with(
                "slope of the sides, horizontal over vertical",
                rule.value.amount(),
                rule.origin(),
            ),
            _ => working,
        };
        match section::bench_rule(practice, &self.site.stretch.ground.soil) {
            Some(rule) if self.way.cut.benches > 0 => {
                let benches = Amount::count(self.way.cut.benches as usize);
                sourced(working, "height of a bench, at most", rule, Length::small).with(
                    "benches",
                    benches,
                    "depth / height, rounded up",
                )
            }
            _ => working,
        }
    }

    fn bank(&self) -> Working {
        let cut = &self.way.cut;
        let working = Working::new(
            "spoil in place",
            self.dig.earth.bank.amount(),
            "depth × (width + slope × depth) × length; benched: slope × (benches - 1)/benches",
            SLOPED,
        )
        .with("depth", cut.depth.small(), self.figure("depth"))
        .with("width", cut.width.small(), self.figure("width"))
        .with(
            "length",
            self.site.stretch.length.amount(),
            self.figure("length"),
        );
        self.with_slope(working)
    }

    fn loose(&self) -> Working {
        self.with_loose_factor(
            Working::new(
                "spoil dug out",
                self.dig.earth.loose.amount(),
                "bank × loose over bank",
                "earthwork conversion by soil class",
            )
            .with("bank", self.dig.earth.bank.amount(), self.figure("bank")),
        )
    }

    fn with_loose_factor(&self, working: Working) -> Working {
        let texture = self.site.stretch.ground.soil.texture;
        let class = self.job().practice.soil_class_of(texture);
        let factor = &class.bank_to_loose;
        working.with("loose over bank", factor.value.amount(), factor.origin())
    }

    fn displaced(&self) -> Working {
        let mut working = Working::new(
            "taken up by pipe, wire and cable",
            self.dig.earth.displaced.amount(),
            "sum of π/4 × outside² × count, × length",
            "geometry",
        );
        for (thing, _) in &self.layout().placed {
            let from = format!("{} of it in this stretch", thing.count);
            working = working.with(thing.what.as_str(), thing.outside.small(), from);
        }
        working.with(
            "length",
            self.site.stretch.length.amount(),
            self.figure("length"),
        )
    }

    fn bedding(&self) -> Working {
        let practice = &self.job().practice;
        let working = Working::new(
            "bedding and stone-free fill brought in, in place",
            self.dig.earth.bedding.amount(),
            "strip under the pipe × width × length; in stony soil up to the haunch over the pipe, \
             less what lies in it",
            "common practice",
        )
        .with("width", self.way.cut.width.small(), self.figure("width"))
        .with(
            "length",
            self.site.stretch.length.amount(),
            self.figure("length"),
        );
        let working = sourced(working, "bedding", &practice.cut.bedding, Length::small);
        sourced(
            working,
            "haunch",
            &practice.cut.haunch_over_pipe,
            Length::small,
        )
        .with(
            "stony from",
            Amount::new(practice.stones.haul_from.value.to_one(), Style::Percent),
            practice.stones.haul_from.origin(),
        )
    }

    fn backfill(&self) -> Working {
        let earth = &self.dig.earth;
        Working::new(
            "spoil that goes back, as bank volume",
            earth.backfill.amount(),
            "bank - surplus",
            "volumes close: bank = backfill + surplus",
        )
        .with("bank", earth.bank.amount(), self.figure("bank"))
        .with("surplus", earth.surplus.amount(), self.figure("surplus"))
    }

    fn surplus(&self) -> Working {
        let earth = &self.dig.earth;
        let mut working = Working::new(
            "spoil left over, as bank volume",
            earth.surplus.amount(),
            "taken up by pipe, wire and cable + bedding; the crown uses the loose excess up",
            "arithmetic",
        );
        let parts = [("displaced", earth.displaced), ("bedding", earth.bedding)];
        for (name, volume) in parts.iter().filter(|(_, v)| *v > Volume::ZERO) {
            working = working.with(*name, volume.amount(), self.figure(name));
        }
        working.approximately(SETTLES)
    }

    fn haul(&self) -> Working {
        let earth = &self.dig.earth;
        self.with_loose_factor(
            Working::new(
                "spoil to haul off, loose",
                earth.haul.amount(),
                "surplus × loose over bank; on lawn redone, bed and bare soil spoil without many \
                 stones is spread instead",
                "common practice",
            )
            .with("surplus", earth.surplus.amount(), self.figure("surplus")),
        )
    }

    fn crown(&self) -> Working {
        let earth = &self.dig.earth;
        let tamped = &self.job().practice.fill.tamped_share;
        let at_grade: Area = self.way.cut.top_width * self.site.stretch.length;
        self.with_loose_factor(
            Working::new(
                "fill left proud of grade, to settle",
                earth.crown.small(),
                "backfill × (loose over bank - 1) × (1 - tamped share) / area at grade",
                "arithmetic on bank and loose volumes",
            )
            .with("backfill", earth.backfill.amount(), self.figure("backfill"))
            .with("tamped share", tamped.value.amount(), tamped.origin())
            .with(
                "area at grade",
                at_grade.amount(),
                "width at grade × length",
            ),
        )
        .approximately(SETTLES)
    }

    fn restore(&self) -> Working {
        let spoils = &self.book.method(self.way.method).spoils_width;
        let working = Working::new(
            "surface to make good",
            self.dig.earth.restore.amount(),
            "larger of (width at grade, width that the method spoils) × length",
            "arithmetic",
        )
        .with(
            "width at grade",
            self.way.cut.top_width.small(),
            self.figure("width"),
        )
        .with(
            "length",
            self.site.stretch.length.amount(),
            self.figure("length"),
        );
        sourced(working, "spoiled width", spoils, Length::small)
    }

    fn hours(&self) -> Working {
        let job = self.job();
        let by = self.book.method(self.way.method);
        let ground = &self.site.stretch.ground;
        let (stones, origin) = job.practice.stone_factor(ground.soil.coarse);
        let working = if by.kind == MethodKind::Hand {
            self.hand_hours()
        } else {
            self.machine_hours()
        };
        let setup = work::setup_share(by.setup.value, self.site.stretch.length, self.way.run);
        self.method_input(working)
            .with("stone factor", Amount::ratio(stones), origin)
            .with("setting up", setup.amount(), by.setup.origin())
            .with(
                "run",
                show_run(self.way.run, self.site.stretch.length).amount(),
                "stretches in line that this method can do",
            )
            .approximately("setting up is shared along the run as if all of it went in this way")
    }

    fn hand_hours(&self) -> Working {
        let job = self.job();
        let ground = &self.site.stretch.ground;
        let output = &job.practice.soil_class_of(ground.soil.texture).hand_output;
        let crew = &self.book.method(self.way.method).crew;
        Working::new(
            "digging time",
            self.dig.hours.amount(),
            "bank / (output × people) × stone factor × root factor + setting up",
            "hand excavation outputs by soil",
        )
        .with("bank", self.dig.earth.bank.amount(), self.figure("bank"))
        .with("output of one", output.value.amount(), output.origin())
        .with("people", Amount::count(crew.value as usize), crew.origin())
        .with(
            "root factor",
            Amount::ratio(work::root_factor(job, ground)),
            job.practice.roots.hand_factor.origin(),
        )
    }

    fn machine_hours(&self) -> Working {
        let job = self.job();
        let class = &job.practice.texture[&self.site.stretch.ground.soil.texture];
        let by = self.book.method(self.way.method);
        let working = Working::new(
            "machine time",
            self.dig.hours.amount(),
            "length / pace × stone factor × max(1, depth / pace depth) + setting up; through a \
             sleeve that is there only setting up, on the surface no stone factor",
            "common practice",
        )
        .with(
            "length",
            self.site.stretch.length.amount(),
            self.figure("length"),
        )
        .with("depth", self.way.cut.depth.small(), self.figure("depth"));
        let working = match by.pace.get(&class.value) {
            Some(pace) => working.with(
                format!("pace in {}", class.value),
                Amount::new(pace.value.to_mps(), Style::Pace),
                pace.origin(),
            ),
            None => working,
        };
        sourced(working, "pace depth", &job.prices.pace_depth, Length::small)
    }

    fn cost(&self) -> Working {
        let labour = &self.job().prices.labour;
        let mut working = Working::new(
            "cost of the stretch, hire left out",
            self.dig.cost.amount(),
            "sum of its parts, each to the cent",
            "arithmetic",
        )
        .with("hours", self.dig.hours.amount(), self.figure("hours"))
        .with(
            "people",
            Amount::count(self.dig.crew as usize),
            "the method's crew",
        )
        .with("labour hour", labour.hour().amount(), labour.hour_origin());
        for (name, money) in self.way.cost.parts() {
            if money != Money::ZERO {
                working = working.with(name, money.amount(), "price book");
            }
        }
        working
    }
}

/// A run is at least the stretch itself.
fn show_run(run: Length, length: Length) -> Length {
    run.max(length)
}

fn feature(id: &str) -> String {
    if id.is_empty() {
        "job, where no soil is given".to_owned()
    } else {
        format!("job feature {id}")
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

/// The figures of one machine.
fn hired(book: &Book, hire: &Hire, digging: &Digging, ledger: &mut Ledger) {
    let Some(rental) = book.rentals.iter().find(|rental| rental.id == hire.machine) else {
        return;
    };
    let id = |name: &str| format!("hire.{}.{name}", hire.machine);
    let stretches = digging
        .digs
        .iter()
        .filter(|dig| rental.methods.contains(&dig.method));
    let hours = Working::new(
        format!("time of the {}", hire.label),
        hire.hours.amount(),
        "sum over its stretches",
        "arithmetic",
    )
    .with(
        "stretches",
        Amount::count(stretches.count()),
        "figures stretch.*.hours",
    )
    .with("length", hire.length.amount(), "figures stretch.*.length");
    let day = &book.job.practice.day.hours;
    let days = Working::new(
        format!("working days of the {}", hire.label),
        Amount::new(f64::from(hire.days), Style::Days),
        "hours / hours of a day, rounded up, at least 1",
        "arithmetic",
    )
    .with(
        "hours",
        hire.hours.amount(),
        format!("figure {}", id("hours")),
    )
    .with(
        "hours of a day",
        Duration::h(day.value.to_one()).amount(),
        day.origin(),
    );
    ledger.put(id("hours"), hours);
    ledger.put(id("days"), days);
    ledger.put(id("cost"), hire_cost(rental, hire, digging));
    if let Some(without) = hire.without {
        ledger.put(id("without"), without_machine(hire, without));
    }
}

fn hire_cost(rental: &Rental, hire: &Hire, digging: &Digging) -> Working {
    let prices = rental.hire;
    let optional = [
        ("hire for an hour", &prices.hour),
        ("hire for a week", &prices.week),
    ];
    let mut working = Working::new(
        format!("hire of the {}", hire.label),
        hire.cost.amount(),
        "the cheapest weeks, days and hours that cover its hours, and mobilisation; the machines, \
         their terms and the method of every stretch are chosen together at the least total",
        "branch and bound over machines, terms and methods; every set of machines is accounted for",
    )
    .with("term", hire.term.as_str(), "the search")
    .with(
        "hours",
        hire.hours.amount(),
        format!("figure hire.{}.hours", hire.machine),
    )
    .with(
        "hire for a day",
        prices.day.value.amount(),
        prices.day.origin(),
    );
    for (name, price) in optional {
        if let Some(price) = price {
            working = working.with(name, price.value.amount(), price.origin());
        }
    }
    let fee = &prices.mobilisation;
    working
        .with("mobilisation", fee.value.amount(), fee.origin())
        .with(
            "sets of machines",
            Amount::count(digging.sets_compared as usize),
            "the price book",
        )
        .with(
            "left open by the search",
            digging.gap.amount(),
            "cost of the best choice found - its bound",
        )
}

fn without_machine(hire: &Hire, without: Money) -> Working {
    Working::new(
        format!(
            "what the trenches would cost more without the {}",
            hire.label
        ),
        without.amount(),
        "least cost of digging without it - least cost with it",
        "the same search with this machine left out",
    )
    .with(
        "its own cost",
        hire.cost.amount(),
        format!("figure hire.{}.cost", hire.machine),
    )
}

/// What each method puts in.
fn by_method(digging: &Digging, ledger: &mut Ledger) {
    for used in &digging.methods {
        let count = Amount::count(used.stretches);
        let mut put = |name: &str, label: String, amount: Amount| {
            let from = format!("figures stretch.*.{name}");
            let working = Working::new(label, amount, "sum over its stretches", "arithmetic");
            let working = working.with("stretches put in by it", count, from);
            ledger.put(format!("method.{}.{name}", used.method), working);
        };
        let label = &used.label;
        let length = format!("length put in by {label}");
        put("length", length, used.puts_in.amount());
        let cost = format!("cost of what {label} puts in, hire left out");
        put("cost", cost, used.cost.amount());
    }
}

/// The totals over all stretches.
fn totals(network: &Network, digging: &Digging, ledger: &mut Ledger) {
    let count = Amount::count(network.stretches.len());
    let mut put = |name: &str, label: &str, amount: Amount| {
        let from = format!("figures stretch.*.{name}");
        let working = Working::new(label, amount, "sum over all stretches", "arithmetic");
        ledger.put(
            format!("dig.{name}"),
            working.with("stretches", count, from),
        );
    };
    let sum = |of: &dyn Fn(&Dig) -> Volume| digging.digs.iter().map(of).sum::<Volume>().amount();
    put("bank", "spoil in place", sum(&|d| d.earth.bank));
    put("loose", "spoil dug out", sum(&|d| d.earth.loose));
    put(
        "displaced",
        "taken up by pipe, wire and cable",
        sum(&|d| d.earth.displaced),
    );
    put(
        "bedding",
        "bedding brought in, in place",
        sum(&|d| d.earth.bedding),
    );
    put(
        "backfill",
        "spoil that goes back, as bank volume",
        sum(&|d| d.earth.backfill),
    );
    put(
        "surplus",
        "spoil left over, as bank volume",
        sum(&|d| d.earth.surplus),
    );
    put("haul", "spoil to haul off, loose", sum(&|d| d.earth.haul));
    put("spread", "spoil to spread, loose", sum(&|d| d.fill.spread));
    put(
        "delivered",
        "bedding and clean fill as delivered, loose",
        sum(&|d| d.fill.delivered),
    );
    let water: Volume = digging.digs.iter().map(|d| d.fill.water).sum();
    put("water", "water for the fill", water.liquid());
    let sod: Area = digging.digs.iter().map(|d| d.fill.sod).sum();
    put("sod", "sod to lift, keep and relay", sod.amount());
    let area: Area = digging.digs.iter().map(|d| d.earth.restore).sum();
    put("restore", "surface to make good", area.amount());
    let hours: Duration = digging.digs.iter().map(|d| d.hours).sum();
    put("hours", "digging and machine time", hours.amount());
    let stretches = digging.stretch_cost();
    let hire = digging.hire_cost();
    let cost = Working::new(
        "cost of digging, hire included",
        (stretches + hire).amount(),
        "stretches + hire",
        "arithmetic",
    )
    .with("stretches", stretches.amount(), "figures stretch.*.cost")
    .with("hire", hire.amount(), "figures hire.*.cost");
    ledger.put("dig.cost", cost);
}
