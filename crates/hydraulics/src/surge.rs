//! Surge: the rise of pressure when a valve closes, in closed form.

use crate::water::Water;
use quantity::{Duration, Length, Pressure, Ratio, Velocity};

/// Speed of sound in water without a wall around it, as US plastic-pipe practice takes it, ft/s.
///
/// Source: AWWA M23 and the PPI handbook, surge formula; from memory.
const FREE_WAVE_FPS: f64 = 4660.0;

/// Dimension ratio, outside diameter over wall.
pub fn dimension_ratio(outside: Length, inside: Length) -> Ratio {
    let wall = (outside - inside) * 0.5;
    if wall.to_m() > 0.0 {
        Ratio::one(outside / wall)
    } else {
        Ratio::one(f64::INFINITY)
    }
}

/// Speed of a pressure wave in plastic pipe, a = 4660 ft/s / √(1 + (K/E)·(DR − 2)); `bulk` K is the
/// bulk modulus of water, `modulus` E that of the pipe. Nothing in a pipe without wall.
///
/// Source: AWWA M23 and the PPI handbook, surge formula; from memory. It reproduces a published
/// surge table of PVC and polyethylene pipe to 0.1 psi.
pub fn wave_speed(bulk: Pressure, modulus: Pressure, ratio: Ratio) -> Velocity {
    let yielding = (bulk / modulus) * (ratio.to_one() - 2.0).max(0.0);
    Velocity::fps(FREE_WAVE_FPS / (1.0 + yielding).sqrt())
}

/// Rise of pressure when a velocity is stopped at once, Δp = ρ·a·Δv.
///
/// Source: Joukowsky (1898); from memory.
pub fn joukowsky(water: Water, wave: Velocity, stopped: Velocity) -> Pressure {
    Pressure::pa(water.density_kg_m3 * wave.to_mps() * stopped.to_mps())
}

/// The time that the wave takes to the far end of a pipe and back, 2·L/a; a valve that closes in
/// less closes at once. Infinite if there is no wave.
///
/// Source: any textbook of hydraulics; from memory.
pub fn critical_time(length: Length, wave: Velocity) -> Duration {
    length * 2.0 / wave
}

/// Rise of pressure when the flow through pipes of several bores falls in proportion to time,
/// Δp = 2·ρ·Σ(L·v)/T; infinite for no time.
///
/// Source: Michaud (1878), Δh = 2·L·v/(g·T) for one bore; from memory.
pub fn michaud(
    water: Water,
    pipes: impl IntoIterator<Item = (Length, Velocity)>,
    closure: Duration,
) -> Pressure {
    let moving: f64 = pipes.into_iter().map(|(l, v)| l.to_m() * v.to_mps()).sum();
    Pressure::pa(2.0 * water.density_kg_m3 * moving / closure.to_s())
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::Celsius;

    /// DR, modulus in psi, surge in psi per ft/s: a published table of PVC and polyethylene pipe.
    /// Its row for DR 51 (10.8) does not follow its own formula (10.2) and is left out as a
    /// misprint.
    #[test]
    fn surge_per_foot_a_second_is_that_of_the_published_table() {
        let rows = [
            (41.0, 400_000.0, 11.4),
            (32.5, 400_000.0, 12.8),
            (25.0, 400_000.0, 14.7),
            (21.0, 400_000.0, 16.0),
            (18.0, 400_000.0, 17.4),
            (21.0, 115_000.0, 8.8),
            (17.0, 115_000.0, 9.9),
            (13.5, 115_000.0, 11.3),
            (11.0, 115_000.0, 12.7),
            (9.0, 115_000.0, 14.3),
            (7.3, 115_000.0, 16.3),
        ];
        let water = Water::at(Celsius::c(15.0));
        for (ratio, modulus, psi) in rows {
            let (bulk, modulus) = (Pressure::psi(300_000.0), Pressure::psi(modulus));
            let wave = wave_speed(bulk, modulus, Ratio::one(ratio));
            let surge = joukowsky(water, wave, Velocity::fps(1.0)).to_psi();
            assert!((surge - psi).abs() < 0.1, "DR {ratio}: {surge} for {psi}");
        }
    }

    #[test]
    fn the_wave_returns_after_twice_the_length() {
        let t = critical_time(Length::ft(500.0), Velocity::fps(1193.3));
        assert!((t.to_s() - 0.838_01).abs() < 1e-4);
        let ratio = dimension_ratio(Length::inch(1.315), Length::inch(1.189));
        assert!((ratio.to_one() - 20.873).abs() < 1e-3);
        let bare = dimension_ratio(Length::inch(1.0), Length::inch(1.0));
        let wave = wave_speed(Pressure::psi(3e5), Pressure::psi(4e5), bare);
        assert_eq!(wave, Velocity::ZERO);
    }

    /// 2·L·V/(g·t) with g = 32.2 ft/s², worked by hand: 51.7598 ft.
    #[test]
    fn a_slow_closing_makes_the_rise_of_michaud() {
        let water = Water::at(Celsius::c(15.0));
        let pipe = [(Length::ft(500.0), Velocity::fps(5.0))];
        let head = water.head_of(michaud(water, pipe, Duration::s(3.0)));
        assert!((head.to_ft() / 51.7598 - 1.0).abs() < 1e-3, "{head:?}");
        let halves = [(Length::ft(250.0), Velocity::fps(5.0)); 2];
        let same = water.head_of(michaud(water, halves, Duration::s(3.0)));
        assert!((same - head).to_m().abs() < 1e-9);
    }
}
