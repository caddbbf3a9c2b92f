//! Closing valves in small networks: the highest pressures, the findings, and whether what a finding
//! asks for would pass.

mod site;

use hydraulics::Hydraulics;
use job::Finding;
use proptest::prelude::*;
use quantity::{Celsius, Duration, Flow, Pressure, Ratio};
use site::{Site, rules};

/// A row of two heads behind a main of 10 m and a service of 5 m.
fn row(family: &str, closure: f64) -> Site {
    let mut site = Site::new();
    site.job.system.source.main_pipe = family.into();
    site.job.practice.surge.closure.value = Duration::s(closure);
    site.row(1, 2, 5.0, 6.0, 20.0);
    site
}

fn finding<'a>(result: &'a Hydraulics, rule: &str) -> &'a Finding {
    let found = result.findings.iter().find(|f| f.rule == rule);
    found.unwrap_or_else(|| panic!("{rule} is missing among {:?}", rules(result)))
}

/// The number behind a word in a text.
fn number_after(text: &str, words: &str) -> f64 {
    let at = text
        .find(words)
        .unwrap_or_else(|| panic!("{words} in {text}"));
    let rest = text[at + words.len()..].trim_start();
    let digits = |c: &char| c.is_ascii_digit() || *c == '.';
    let number: String = rest.chars().take_while(digits).collect();
    number
        .parse()
        .unwrap_or_else(|_| panic!("no number behind {words} in {text}"))
}

#[test]
fn at_once_the_rise_is_that_of_joukowsky_and_the_line_packs_on_top() {
    let (result, ledger) = row("pvc_sch40", 0.0).size();
    let closing = &result.surge.closings[0];
    assert!(closing.rise >= closing.at_once * 0.995, "{closing:?}");
    assert!(closing.rise <= closing.at_once * 1.6, "{closing:?}");
    assert_eq!(closing.gradual, closing.at_once);
    let strain = &result.surge.strains[0];
    assert!(strain.peak > Pressure::psi(80.0) && strain.life_used.is_some());
    for id in [
        "circuit.C1.surge",
        "circuit.C1.surge_peak",
        "circuit.C1.surge_critical",
        "circuit.C1.surge_at_once",
        "circuit.C1.surge_gradual",
        "circuit.C1.surge_rise",
    ] {
        assert!(ledger.get(id).is_some(), "{id}");
    }
    let pipe = &result.pipes[strain.pipe];
    for figure in ["peak", "rating", "life_used"] {
        let line = result.pipes[strain.pipe].line;
        let name = ["service", "main"][line.min(1)];
        let id = format!("pipe.{}.{name}.{figure}", pipe.stretch);
        assert!(ledger.get(&id).is_some(), "{id}");
    }
}

#[test]
fn a_slow_valve_leaves_little_more_than_the_pressure_at_rest() {
    let (result, _) = row("pvc_sch40", 20.0).size();
    let circuit = &result.circuits[0];
    let rest = Pressure::psi(80.0);
    assert!(circuit.surge_peak >= rest);
    assert!(
        circuit.surge_peak <= rest + Pressure::psi(1.0),
        "{circuit:?}"
    );
    assert!(!rules(&result).contains(&"surge-over-rating"));
}

#[test]
fn what_a_finding_asks_for_passes() {
    let one_size = |closure: f64| {
        let mut site = row("pe_sidr15", closure);
        site.only_size("pe_sidr15", "1-1/4 in");
        site
    };
    let (result, _) = one_size(0.0).size();
    let over = finding(&result, "surge-over-rating");
    assert!(over.what.contains("100.0 psi"), "{}", over.what);
    let slow = number_after(&over.mend, "not less than");
    let (slower, _) = one_size(slow).size();
    assert!(!rules(&slower).contains(&"surge-over-rating"), "{slow} s");
    let most = number_after(&over.mend, "not more than");
    let mut less = one_size(0.0);
    for outlet in &mut less.job.system.outlets {
        outlet.flow = Flow::gpm(most * 0.495);
    }
    let (less, _) = less.size();
    assert!(!rules(&less).contains(&"surge-over-rating"), "{most} gpm");
}

#[test]
fn pressure_at_rest_above_the_rating_asks_for_a_regulator() {
    let mut site = row("pe_sidr15", 0.5);
    site.job.system.source.static_pressure = Pressure::psi(120.0);
    let (result, _) = site.size();
    let over = finding(&result, "surge-over-rating");
    assert!(over.what.contains("at rest alone"), "{}", over.what);
    assert!(over.mend.contains("regulator"));
}

#[test]
fn warm_pipe_keeps_the_published_share_of_its_rating() {
    let mut site = row("pvc_sdr21", 0.5);
    site.job.practice.surge.pipe_temperature.value = Celsius::c(110.0 / 1.8 - 32.0 / 1.8);
    let (result, _) = site.size();
    let rating = result.circuits[0].rating;
    assert!((rating.to_psi() - 100.0).abs() < 0.1, "{rating:?}");
    site.job.practice.surge.pipe_temperature.value = Celsius::c(60.5);
    let (result, _) = site.size();
    assert!(rules(&result).contains(&"pipe-too-warm"));
}

#[test]
fn pvc_that_is_started_too_often_wears_out() {
    let mut site = row("pvc_sdr21", 0.0);
    let calm = site.size().0;
    assert!(!rules(&calm).contains(&"surge-recurring"));
    site.job.practice.surge.starts_per_day.value = Ratio::one(200.0);
    let (worn, _) = site.size();
    let found = finding(&worn, "surge-recurring");
    let (a, b) = (&calm.surge.strains[0], &worn.surge.strains[0]);
    let (a, b) = (a.life_used.unwrap().to_one(), b.life_used.unwrap().to_one());
    assert!((b / a / 200.0 - 1.0).abs() < 1e-9 && b > 1.0);
    // Cycles: 200 × 365 × 50 × 2.
    assert!(found.what.contains("7300000 cycles"), "{}", found.what);
    assert!(found.mend.contains("peaks of not more than"));
    // Polyethylene has no such law here.
    let (pe, _) = row("pe_dr9", 0.0).size();
    assert!(pe.surge.strains.iter().all(|s| s.life_used.is_none()));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn no_pipe_ends_below_what_it_has_at_rest(
        closure in 0.0..4.0_f64,
        gpm in 0.5..14.0_f64,
        psi in 40.0..110.0_f64,
    ) {
        let mut site = row("pvc_sch40", closure);
        site.job.system.source.static_pressure = Pressure::psi(psi);
        site.job.system.source.residual_pressure = Pressure::psi(psi * 0.8);
        for outlet in &mut site.job.system.outlets {
            outlet.flow = Flow::gpm(gpm);
        }
        let (result, _) = site.size();
        for strain in &result.surge.strains {
            prop_assert!(strain.peak.to_psi() >= psi - 1e-6);
            prop_assert!(strain.peak.to_psi().is_finite());
        }
        let circuit = &result.circuits[0];
        prop_assert!(circuit.surge >= Pressure::ZERO);
    }
}
