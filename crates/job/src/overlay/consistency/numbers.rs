//! Numbers of rules and prices stay where they mean something. That none is negative was seen to when
//! they were laid over the defaults.

use quantity::{Angle, Celsius, Duration, Quantity};

mod risk;

use super::Faults;
use crate::Sourced;
use crate::overlay::Local;
use crate::practice::{AgedC, Derating, Drawn, PipeFamily, Practice, Pull, Staking};
use crate::prices::{Method, PriceBook, ProfitBy, TaxClass};

/// Most people, days or things that a rule may name; a slip of the finger makes more.
const MOST: f64 = 1_000.0;

/// Where a number has to stay.
#[derive(Clone, Copy)]
enum Range {
    /// It divides something.
    AboveZero,
    /// A share of a price: all of it would make the price endless.
    BelowOne,
    /// A share of a whole.
    Share,
    /// A factor that never makes less.
    FromOne,
    /// From 0 to this, in the SI unit, and in words.
    UpTo(f64, &'static str),
    /// From one to the other, in the SI unit, and in words.
    Between(f64, f64, &'static str),
    /// Above 0 and up to this, in the SI unit, and in words.
    AboveZeroUpTo(f64, &'static str),
}

impl Range {
    fn holds(self, n: f64) -> bool {
        match self {
            Self::AboveZero => n > 0.0,
            Self::BelowOne => (0.0..1.0).contains(&n),
            Self::Share => (0.0..=1.0).contains(&n),
            Self::FromOne => n >= 1.0,
            Self::UpTo(most, _) => (0.0..=most).contains(&n),
            Self::Between(least, most, _) => (least..=most).contains(&n),
            Self::AboveZeroUpTo(most, _) => n > 0.0 && n <= most,
        }
    }

    fn words(self) -> String {
        match self {
            Self::AboveZero => "above 0".to_owned(),
            Self::BelowOne => "from 0 % to below 100 %".to_owned(),
            Self::Share => "from 0 % to 100 %".to_owned(),
            Self::FromOne => "1 or more".to_owned(),
            Self::UpTo(_, most) => format!("from 0 to {most}"),
            Self::Between(_, _, both) => format!("between {both}"),
            Self::AboveZeroUpTo(_, most) => format!("above 0 and not over {most}"),
        }
    }
}

type Row = (String, f64, Range);

fn row<Q: Quantity>(value: &Sourced<Q>, range: Range) -> Row {
    (value.path.clone(), value.value.si(), range)
}

fn count(value: &Sourced<u32>) -> Row {
    let range = Range::AboveZeroUpTo(MOST, "1000");
    (value.path.clone(), f64::from(value.value), range)
}

/// Every number is in its range.
pub(super) fn ranges(local: &Local, faults: &mut Faults) {
    let mut rows = water_rows(&local.practice);
    rows.extend(digging_rows(&local.practice));
    rows.extend(ground_rows(&local.practice));
    rows.extend(pull_rows(&local.practice.pull));
    rows.extend(goods_rows(&local.practice));
    rows.extend(local.practice.pipe.values().flat_map(family_rows));
    rows.extend(risk::rows(&local.practice.risk));
    rows.extend(staking_rows(&local.practice.staking));
    rows.extend(drawn_rows(&local.practice.drawn));
    rows.extend(price_rows(&local.prices));
    rows.extend(local.prices.method.values().flat_map(method_rows));
    for (path, number, range) in rows {
        if !range.holds(number) {
            let words = range.words();
            let mend = format!("write a value {words}");
            faults.range(&path, &format!("is not {words}"), &mend);
        }
    }
}

/// Of water over a head, in metres.
const HIGHEST_HELD: f64 = 100.0;

/// °C·days; no inhabited place has more.
const HARDEST_WINTER: f64 = 10_000.0;

/// A surface does not get colder than the air by more than this.
const MOST_N: f64 = 3.0;

/// No ground lets more heat through, in W/(m·K).
const MOST_HEAT: f64 = 10.0;

/// A margin beyond this is no margin any more, in metres.
const WIDEST_MARGIN: f64 = 100.0;

/// Longer tapes are not made, in metres.
const LONGEST_TAPE: f64 = 200.0;

fn staking_rows(staking: &Staking) -> Vec<Row> {
    let quarter_turn = Range::AboveZeroUpTo(Angle::deg(90.0).si(), "90 deg");
    vec![
        row(
            &staking.tape_length,
            Range::AboveZeroUpTo(LONGEST_TAPE, "200 m"),
        ),
        row(&staking.holding, Range::AboveZeroUpTo(1.0, "1 m")),
        row(&staking.least_crossing, quarter_turn),
        row(&staking.least_turn, quarter_turn),
        row(&staking.untied, Range::Share),
        row(
            &staking.dig_area_margin,
            Range::AboveZeroUpTo(WIDEST_MARGIN, "100 m"),
        ),
    ]
}

fn drawn_rows(drawn: &Drawn) -> Vec<Row> {
    vec![
        row(&drawn.flow, Range::AboveZero),
        row(&drawn.pressure, Range::AboveZero),
        row(&drawn.clear_width, Range::AboveZero),
        row(&drawn.trunk, Range::AboveZero),
        row(&drawn.slope, Range::AboveZero),
        row(&drawn.coarse, Range::Share),
        row(&drawn.inside, Range::AboveZero),
        row(&drawn.favour, Range::BelowOne),
    ]
}

fn water_rows(p: &Practice) -> Vec<Row> {
    // At other temperatures water in the ground is ice, or the pipe does not bear it.
    let liquid = Range::AboveZeroUpTo(Celsius::c(60.0).si(), "60 C");
    vec![
        row(&p.water.velocity.service, Range::AboveZero),
        row(&p.water.velocity.main, Range::AboveZero),
        row(&p.water.velocity.lateral, Range::AboveZero),
        row(&p.water.pressure_spread, Range::AboveZero),
        row(&p.water.flow_spread, Range::AboveZero),
        row(&p.water.exponent, Range::AboveZero),
        row(&p.circuits.rate_tolerance, Range::BelowOne),
        row(&p.circuits.pipe_allowance, Range::Share),
        row(&p.circuits.worth_regrouping, Range::Share),
        row(&p.water.temperature, liquid),
        row(&p.water.bulk_modulus, Range::AboveZero),
        row(&p.pipe_age.years, Range::UpTo(200.0, "200 years")),
        row(&p.surge.closure, Range::UpTo(600.0, "600 s")),
        row(&p.surge.pipe_temperature, liquid),
        row(&p.surge.starts_per_day, Range::UpTo(MOST, "1000")),
        row(
            &p.surge.life_years,
            Range::AboveZeroUpTo(200.0, "200 years"),
        ),
        row(&p.surge.cycle_factor, Range::FromOne),
        row(&p.cold.check_valve, Range::UpTo(HIGHEST_HELD, "100 m")),
        row(&p.cold.air_pressure.pvc, Range::AboveZero),
        row(&p.cold.air_pressure.pe, Range::AboveZero),
        row(&p.cold.air_pressure.metal, Range::AboveZero),
        row(
            &p.frost.freezing_index,
            Range::UpTo(HARDEST_WINTER, "10000 C.days"),
        ),
        row(&p.frost.n_factor, Range::UpTo(MOST_N, "3")),
        row(
            &p.frost.conductivity,
            Range::AboveZeroUpTo(MOST_HEAT, "10 W/(m.K)"),
        ),
        row(&p.wire.voltage_drop, Range::AboveZero),
        row(&p.wire.inrush, Range::AboveZero),
        row(&p.wire.hold, Range::AboveZero),
        row(&p.wire.hold_drop, Range::AboveZero),
        row(&p.wire.two_wire_drop, Range::AboveZero),
        count(&p.wire.valves_at_once),
        row(&p.wire.outside, Range::AboveZero),
        row(&p.wire.cable_outside, Range::AboveZero),
    ]
}

fn digging_rows(p: &Practice) -> Vec<Row> {
    let half_turn = Range::AboveZeroUpTo(Angle::deg(180.0).si(), "180 deg");
    let mut rows = vec![
        row(&p.fill.lift, Range::AboveZero),
        row(&p.fill.tamped_share, Range::Share),
        row(&p.fill.tamped_low, Range::Share),
        row(&p.fill.tamped_high, Range::Share),
        row(&p.fill.moisture_window, Range::Share),
        row(&p.expansion.bow, Range::AboveZero),
        row(&p.cut.bedding_from_coarse, Range::Share),
        row(&p.excavation.egress_travel, Range::AboveZero),
        row(&p.stones.gravelly, Range::Share),
        row(&p.stones.very, Range::Share),
        row(&p.stones.extremely, Range::Share),
        row(&p.stones.slow_gravelly, Range::FromOne),
        row(&p.stones.slow_very, Range::FromOne),
        row(&p.stones.slow_extremely, Range::FromOne),
        row(&p.stones.haul_from, Range::Share),
        row(&p.trench.bend_from, half_turn),
        row(
            &p.trench.least_angle,
            Range::UpTo(Angle::deg(90.0).si(), "90 deg"),
        ),
        count(&p.trench.most_pipes),
        row(&p.takeoff.elbow_from, half_turn),
        row(&p.takeoff.elbow_90_from, half_turn),
        count(&p.takeoff.valves_per_box),
        count(&p.day.week),
        row(&p.day.hours, Range::AboveZeroUpTo(24.0, "24 hours")),
        row(&p.day.pause, Range::UpTo(HALF_DAY, "12 h")),
        row(&p.day.weather, Range::BelowOne),
        row(&p.day.open_step, Range::AboveZero),
        row(&p.test.hold_main, Range::UpTo(HALF_DAY * 2.0, "24 h")),
        row(&p.test.hold_circuit, Range::UpTo(HALF_DAY * 2.0, "24 h")),
        row(&p.test.pressure, Range::AboveZeroUpTo(MOST_TEST, "3")),
    ];
    for cure in [&p.cure.pvc, &p.cure.pe, &p.cure.copper, &p.cure.steel] {
        rows.push(row(cure, Range::UpTo(LONGEST_CURE, "7 days")));
    }
    rows.extend(p.crew.values().map(|crew| count(&crew.people)));
    for class in p.soil_class.values() {
        rows.push(row(&class.bank_to_loose, Range::FromOne));
        rows.push(row(&class.bank_to_compacted, Range::AboveZero));
        rows.push(row(&class.hand_output, Range::AboveZero));
        rows.push(row(&class.loose_low, Range::FromOne));
        rows.push(row(&class.dry_density, Range::AboveZero));
        rows.push(row(&class.optimum, Range::Share));
        // A heap that stands at a right angle is a wall.
        let repose = Range::AboveZeroUpTo(Angle::deg(80.0).si(), "80 deg");
        rows.push(row(&class.repose, repose));
    }
    for step in p.excavation.bench.values() {
        rows.push(row(step, Range::AboveZero));
    }
    for compactor in p.compactor.values() {
        let lifts = compactor.lift.values();
        rows.extend(lifts.map(|lift| row(lift, Range::AboveZero)));
        rows.extend(compactor.passes.values().map(count));
    }
    rows
}

/// In seconds.
const HALF_DAY: f64 = 12.0 * 3600.0;

/// No code asks for more over the working pressure.
const MOST_TEST: f64 = 3.0;

/// In seconds.
const LONGEST_CURE: f64 = 14.0 * HALF_DAY;

/// What the material list divides by, and how much more than the need it may order.
fn goods_rows(p: &Practice) -> Vec<Row> {
    let (list, joining) = (&p.takeoff, &p.joining);
    let long = Range::Between(SHORTEST_ROLL, LONGEST_ROLL, "0.1 m and 100 km");
    let both_sides = |value: &Sourced<u32>| {
        let range = Range::UpTo(2.0, "2");
        (value.path.clone(), f64::from(value.value), range)
    };
    let mut rows = vec![
        row(&list.short_piece, Range::AboveZeroUpTo(1.0, "1 m")),
        both_sides(&list.unions_at_valve),
        both_sides(&list.unions_at_backflow),
        both_sides(&list.swing_joints),
        row(&list.tape_roll, long),
        row(&list.paint_reach, long),
        row(&list.flag_spacing, long),
        count(&list.flag_bundle),
        row(&list.waste.pipe, Range::Share),
        row(&list.waste.fittings, Range::Share),
        row(&list.waste.joining, Range::Share),
        row(&list.waste.wire, Range::Share),
        row(&list.waste.connectors, Range::Share),
        row(&list.waste.marking, Range::Share),
        row(&joining.cement_can, Range::AboveZero),
        row(&joining.primer_can, Range::AboveZero),
        row(&joining.solder_spool, Range::AboveZero),
        row(&joining.flux_jar, Range::AboveZero),
        row(&joining.tape_roll, long),
        count(&joining.clamp_bag),
    ];
    let tables = joining.cement_joints.values();
    rows.extend(tables.map(|joints| row(joints, Range::AboveZero)));
    for spools in [&list.wire_spools, &list.tracer_spools] {
        let lengths = spools.value.0.iter();
        rows.extend(lengths.map(|length| (spools.path.clone(), length.si(), long)));
    }
    rows
}

/// In metres; the list would have no end of shorter ones.
const SHORTEST_ROLL: f64 = 0.1;

/// Nothing is sold on longer rolls, in metres.
const LONGEST_ROLL: f64 = 100_000.0;

fn ground_rows(p: &Practice) -> Vec<Row> {
    let square = Range::UpTo(Angle::deg(90.0).si(), "90 deg");
    let notice = &p.utility.notice_days;
    vec![
        row(&p.roots.hand_factor, Range::FromOne),
        row(&p.utility.crossing_angle, square),
        row(&p.paving.crossing_angle, square),
        row(&p.paving.sleeve_over_bundle, Range::FromOne),
        (
            notice.path.clone(),
            f64::from(notice.value),
            Range::UpTo(MOST, "1000"),
        ),
    ]
}

/// Of a pit dug by hand.
const LARGEST_PIT: f64 = 10.0;

fn pull_rows(p: &Pull) -> Vec<Row> {
    let side = Range::AboveZeroUpTo(LARGEST_PIT, "10 m");
    let mut rows = vec![
        row(&p.yield_factor, Range::Share),
        row(&p.time_factor, Range::Share),
        row(&p.bend_with_fitting, Range::AboveZero),
        row(&p.scratch, Range::Share),
        row(&p.stones.clean_to, Range::Share),
        row(&p.stones.few_to, Range::Share),
        row(&p.pit.end_length, side),
        row(&p.pit.end_width, side),
        row(&p.pit.tap_length, side),
        row(&p.pit.tap_width, side),
        row(&p.pit.usual_spacing, Range::AboveZero),
        row(&p.pit.below, Range::UpTo(LARGEST_PIT, "10 m")),
    ];
    for material in [&p.pe, &p.pvc] {
        let joints = &material.joints;
        rows.push(row(&material.tensile_yield, Range::AboveZero));
        rows.push((
            joints.path.clone(),
            f64::from(joints.value),
            Range::UpTo(MOST, "1000"),
        ));
    }
    rows
}

fn family_rows(family: &PipeFamily) -> Vec<Row> {
    let mut rows = vec![
        row(&family.c, Range::AboveZero),
        row(&family.modulus, Range::AboveZero),
        row(&family.piece, Range::AboveZero),
        row(&family.roughness, Range::UpTo(0.01, "10 mm")),
    ];
    rows.extend(
        family
            .tensile_yield
            .iter()
            .map(|y| row(y, Range::AboveZero)),
    );
    rows
}

/// A share of a cost above this is a slip of the finger.
const TENFOLD: Range = Range::UpTo(10.0, "1000 %");

fn price_rows(prices: &PriceBook) -> Vec<Row> {
    let day = Range::UpTo(Duration::h(24.0).si(), "24 h");
    let labour = &prices.labour;
    let profit = match prices.profit.by.value {
        ProfitBy::Margin => Range::BelowOne,
        ProfitBy::Markup => TENFOLD,
    };
    let mut rows = vec![
        row(&prices.profit.share, profit),
        row(&prices.overhead, TENFOLD),
        row(&prices.labour.burden, TENFOLD),
        row(&prices.contingency.share, Range::Share),
        count(&prices.offer.valid_days),
        row(&prices.pace_depth, Range::AboveZero),
        row(&labour.set_head, day),
        row(&labour.set_valve, day),
        row(&labour.tie_in, day),
        row(&labour.set_controller, day),
        row(&labour.test_each, day),
        row(&labour.inspect_each, day),
        row(&labour.flush_each, day),
        row(&labour.tamp_share, Range::Share),
    ];
    let taxes = TaxClass::ALL.map(|class| prices.tax.of(class));
    rows.extend(taxes.map(|tax| row(&tax.rate, Range::Share)));
    rows
}

/// Of a machine, in metres.
const MOST_ROOM: f64 = 100.0;

fn method_rows(method: &Method) -> Vec<Row> {
    let mut rows = vec![
        row(&method.body_width, Range::AboveZero),
        row(&method.max_coarse, Range::Share),
        count(&method.crew),
    ];
    rows.extend(method.pace.values().map(|pace| row(pace, Range::AboveZero)));
    let room = Range::UpTo(MOST_ROOM, "100 m");
    let rooms = [&method.turning_room, &method.side_room, &method.end_room];
    rows.extend(rooms.into_iter().flatten().map(|stated| row(stated, room)));
    let across = method.max_cross_slope.iter();
    rows.extend(across.map(|slope| row(slope, Range::Share)));
    rows
}

/// What is listed from the smallest on is listed so, and pipe has a wall.
pub(super) fn ascending(local: &Local, faults: &mut Faults) {
    let practice = &local.practice;
    for (key, family) in &practice.pipe {
        let path = format!("practice pipe.{key}.sizes");
        if !family
            .sizes
            .is_sorted_by(|a, b| a.inside < b.inside && a.outside < b.outside)
        {
            faults.range(
                &path,
                "does not ascend",
                "list the sizes from the smallest on",
            );
        }
        let years = |a: &AgedC| a.years.to_one();
        if !family.c_by_age.is_sorted_by(|a, b| years(a) < years(b))
            || family
                .c_by_age
                .iter()
                .any(|a| years(a) <= 0.0 || a.c.to_one() <= 0.0)
        {
            faults.range(
                &format!("practice pipe.{key}.c_by_age"),
                "does not ascend from above 0 years, or has a C that is not above 0",
                "list the ages from the youngest on; new pipe has the C of the family",
            );
        }
        for size in &family.sizes {
            let wall = size.inside.to_m() > 0.0 && size.inside < size.outside;
            if !wall || size.rating.to_pa() <= 0.0 {
                let what = format!("has no wall or no rating in its size {}", size.name);
                faults.range(
                    &path,
                    &what,
                    "inside is below outside, and the rating above 0",
                );
            }
        }
    }
    for (material, rows) in &practice.surge.derating {
        let share = |d: &Derating| d.share.to_one();
        let warmer = rows.is_sorted_by(|a, b| a.at < b.at && share(a) >= share(b));
        if !warmer || rows.iter().any(|d| !(share(d) > 0.0 && share(d) <= 1.0)) {
            faults.range(
                &format!("practice surge.derating.{}", material.key()),
                "does not go from cold to warm, or has a share that rises or is not above 0 % and \
                 up to 100 %",
                "list rows by rising temperature and falling share",
            );
        }
    }
    let gauges = &practice.wire.gauge;
    let thinner_first = gauges.is_sorted_by(|a, b| a.resistance > b.resistance);
    if !thinner_first || gauges.iter().any(|g| g.resistance.si() <= 0.0) {
        let what = "does not go from the thinnest on, or has a gauge without resistance";
        faults.range(
            "practice wire.gauge",
            what,
            "list gauges by falling resistance",
        );
    }
    ordered(
        &[
            &practice.stones.gravelly,
            &practice.stones.very,
            &practice.stones.extremely,
        ],
        faults,
    );
    ordered(
        &[
            &practice.roots.no_dig_per_trunk,
            &practice.roots.radius_per_trunk,
        ],
        faults,
    );
    ordered(
        &[
            &practice.takeoff.elbow_from,
            &practice.takeoff.elbow_90_from,
        ],
        faults,
    );
    let stones = &practice.pull.stones;
    ordered(&[&stones.clean_to, &stones.few_to], faults);
    ordered(&[&stones.small_over_wall, &stones.large_over_wall], faults);
    ordered(
        &[&practice.expansion.coldest, &practice.expansion.laid_at],
        faults,
    );
    for method in local.prices.method.values() {
        if let Some(room) = &method.turning_room {
            ordered(&[&method.body_width, room], faults);
        }
    }
    risk::ascending(&practice.risk, faults);
    let excavation = &practice.excavation;
    ordered(
        &[&excavation.protection_depth, &excavation.engineer_depth],
        faults,
    );
}

/// The values do not fall from one to the next.
fn ordered<Q: Quantity>(values: &[&Sourced<Q>], faults: &mut Faults) {
    for pair in values.windows(2) {
        if pair[0].value.si() > pair[1].value.si() {
            let what = format!("is above {}", pair[1].path);
            faults.range(&pair[0].path, &what, "correct one of the two");
        }
    }
}
