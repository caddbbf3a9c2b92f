//! How long a stretch takes by a method, and what that costs without hire.

use crate::Earthwork;
use crate::contents::Layout;
use crate::fill::delivered_over_placed;
use crate::section::Cut;
use job::practice::Sides;
use job::prices::MethodKind;
use job::{Job, Method};
use quantity::{DigRate, Duration, Length, Money, Ratio, Velocity, Volume};
use routes::{Stretch, StretchGround, Zone};

/// Time to dig a bank volume by hand: V / (people × output of one) × stone factor × root factor.
///
/// The output is that of a trench not deeper than 1.5 m; deeper ones take longer than this says.
pub fn hand_time(
    bank: Volume,
    output: DigRate,
    people: u32,
    stone_factor: f64,
    root_factor: f64,
) -> Duration {
    bank / (output * f64::from(people.max(1))) * (stone_factor * root_factor)
}

/// Time of a machine along the ground: L / pace × stone factor × max(1, depth / pace depth).
pub fn machine_time(
    length: Length,
    pace: Velocity,
    stone_factor: f64,
    depth: Length,
    pace_depth: Length,
) -> Duration {
    length / pace * (stone_factor * depth_factor(depth, pace_depth))
}

/// How much slower a machine is below the depth down to which it keeps its pace; at least 1.
pub fn depth_factor(depth: Length, pace_depth: Length) -> f64 {
    if pace_depth > Length::ZERO {
        (depth / pace_depth).max(1.0)
    } else {
        1.0
    }
}

/// A stretch's share of the time to set up at a run: as its length to the run's.
pub fn setup_share(setup: Duration, length: Length, run: Length) -> Duration {
    if run > length {
        setup * (length / run)
    } else {
        setup
    }
}

/// Time factor of roots: that of the practice in a root zone, else 1.
pub fn root_factor(job: &Job, ground: &StretchGround) -> f64 {
    if ground.zones.iter().any(|z| matches!(z, Zone::Roots(_))) {
        job.practice.roots.hand_factor.value.to_one()
    } else {
        1.0
    }
}

/// Time of digging, boring or pulling without setting up. Nothing for a sleeve that exists already.
pub fn time_at_work(
    job: &Job,
    method: &Method,
    ground: &StretchGround,
    length: Length,
    cut: &Cut,
    bank: Volume,
) -> Duration {
    let (stones, _) = job.practice.stone_factor(ground.soil.coarse);
    let class = &job.practice.texture[&ground.soil.texture].value;
    if method.kind == MethodKind::Hand {
        let output = job
            .practice
            .soil_class_of(ground.soil.texture)
            .hand_output
            .value;
        let roots = root_factor(job, ground);
        return hand_time(bank, output, method.crew.value, stones, roots);
    }
    let Some(pace) = method.pace.get(class) else {
        // Such a method is never feasible; see `feasible`.
        return Duration::ZERO;
    };
    let stones = if method.kind == MethodKind::Surface {
        1.0
    } else {
        stones
    };
    let straight = machine_time(
        length,
        pace.value,
        stones,
        cut.depth,
        job.prices.pace_depth.value,
    );
    straight * widening(cut)
}

/// What a stretch costs by a method, without hire, each part to the cent.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Cost {
    /// Labour at digging or at the machine.
    pub dig: Money,
    /// Fuel.
    pub fuel: Money,
    /// Labour of filling and tamping.
    pub fill: Money,
    /// Labour of making the surface good.
    pub restore_labour: Money,
    /// Material of making the surface good.
    pub restore_material: Money,
    /// Bedding and stone-free fill brought in.
    pub bedding: Money,
    /// Hauling.
    pub haul: Money,
    /// Shoring.
    pub shoring: Money,
    /// A new sleeve with its boring, or pins on the surface.
    pub material: Money,
}

impl Cost {
    /// The parts with their names, in the order in which they are told.
    pub fn parts(&self) -> [(&'static str, Money); 9] {
        [
            ("digging labour", self.dig),
            ("fuel", self.fuel),
            ("filling labour", self.fill),
            ("restoration labour", self.restore_labour),
            ("restoration material and sub-trade", self.restore_material),
            ("bedding", self.bedding),
            ("hauling and tipping", self.haul),
            ("shoring", self.shoring),
            ("sleeve or pins", self.material),
        ]
    }

    /// Part by part with another.
    #[must_use]
    pub fn plus(&self, other: &Self) -> Self {
        Self {
            dig: self.dig + other.dig,
            fuel: self.fuel + other.fuel,
            fill: self.fill + other.fill,
            restore_labour: self.restore_labour + other.restore_labour,
            restore_material: self.restore_material + other.restore_material,
            bedding: self.bedding + other.bedding,
            haul: self.haul + other.haul,
            shoring: self.shoring + other.shoring,
            material: self.material + other.material,
        }
    }

    /// Their sum.
    pub fn total(&self) -> Money {
        self.parts().into_iter().map(|(_, money)| money).sum()
    }
}

/// The cost of a stretch that takes `hours` by a method and moves `earth`.
pub fn cost(
    job: &Job,
    method: &Method,
    stretch: &Stretch,
    cut: &Cut,
    earth: &Earthwork,
    hours: Duration,
) -> Cost {
    let book = &job.prices;
    let labour = |time: Duration| book.labour.hour().times(time.to_h());
    let restore_time = book.labour.restore_per_m2.get(&stretch.ground.surface);
    let area = earth.restore.to_m2();
    let sides = if cut.sides == Sides::Shored {
        (cut.depth * stretch.length).to_m2() * 2.0
    } else {
        0.0
    };
    let soil = &stretch.ground.soil;
    let class = job.practice.soil_class_of(soil.texture);
    let spoil = class.loose_density(soil.moisture);
    Cost {
        dig: labour(hours * f64::from(method.crew.value)),
        fuel: method.fuel_hour.value.times(hours.to_h()),
        fill: labour(book.labour.fill_per_m3.value * earth.bank.to_m3()),
        restore_labour: labour(restore_time.map_or(Duration::ZERO, |time| time.value * area)),
        restore_material: book.restored(stretch.ground.surface).times(area),
        bedding: book
            .earth
            .bedding
            .value
            .times(earth.bedding.to_m3() * delivered_over_placed(&job.practice)),
        haul: book.earth.away(earth.haul, spoil),
        shoring: book.earth.shoring.value.times(sides),
        material: material(job, method, stretch),
    }
}

fn material(job: &Job, method: &Method, stretch: &Stretch) -> Money {
    let metres = stretch.length.to_m();
    let has_sleeve = stretch
        .sleeve
        .as_ref()
        .is_some_and(|s| s.existing.is_some());
    match method.kind {
        MethodKind::Sleeve if !has_sleeve => job.prices.new_sleeve().times(metres),
        MethodKind::Surface => job.prices.item.pins.value.times(metres),
        _ => Money::ZERO,
    }
}

/// Machine or digging time of a stretch with its share of setting up.
pub fn hours(
    job: &Job,
    method: &Method,
    stretch: &Stretch,
    cut: &Cut,
    bank: Volume,
    run: Length,
) -> Duration {
    let existing = stretch
        .sleeve
        .as_ref()
        .is_some_and(|s| s.existing.is_some());
    let setup = setup_share(method.setup.value, stretch.length, run);
    if existing && method.kind == MethodKind::Sleeve {
        return setup;
    }
    time_at_work(job, method, &stretch.ground, stretch.length, cut, bank) + setup
}

/// The cuts that a method makes for what lies in a stretch, one for each way of keeping the sides that
/// the practice admits: the first that it names and the others. For a machine that cuts no width wide
/// enough, the width that would be needed.
pub fn cuts_by(
    job: &Job,
    method: &Method,
    ground: &StretchGround,
    layout: &Layout,
) -> (Cut, Vec<Cut>) {
    use crate::section::{cut_width, trenches, unopened};
    match method.kind {
        MethodKind::Surface => (unopened(Length::ZERO), Vec::new()),
        MethodKind::Pull | MethodKind::Sleeve => (unopened(layout.underside), Vec::new()),
        MethodKind::Hand | MethodKind::Trench => {
            let width = |needed| cut_width(&method.cut_width.value, needed).unwrap_or(needed);
            trenches(&job.practice, &ground.soil, layout, width)
        }
    }
}

/// How much more earth a machine moves than from an upright trench on the same floor; 1 for that and
/// where nothing is opened.
pub fn widening(cut: &Cut) -> f64 {
    if cut.is_open() {
        (cut.width + cut.top_width) * 0.5 / cut.width
    } else {
        1.0
    }
}

/// Whether a soil's stones slow the digging, for words.
pub fn is_slowed(job: &Job, coarse: Ratio) -> bool {
    job.practice.stone_factor(coarse).0 > 1.0
}
