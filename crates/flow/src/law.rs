//! How the head falls along a link, and what an outlet gives.

/// How the head falls along a link.
///
/// The loss rises with the flow and is 0 for none, or it is a gain: then it rises from a negative
/// value, as of a pump.
pub trait Law {
    /// Head lost at a flow, negative for a flow that runs backward; and how the loss rises with the
    /// flow there, not negative.
    fn at(&self, flow: f64) -> (f64, f64);

    /// Head lost at a flow.
    fn loss(&self, flow: f64) -> f64 {
        self.at(flow).0
    }

    /// How the loss rises with the flow.
    fn slope(&self, flow: f64) -> f64 {
        self.at(flow).1
    }
}

/// Loss that follows a power of the flow, and a loss at fittings that follows its square:
/// r q |q|ⁿ⁻¹ + m q |q|.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Power {
    /// r, above 0.
    pub resistance: f64,
    /// n, at least 1: 1.852 by Hazen and Williams.
    pub exponent: f64,
    /// m, not negative.
    pub minor: f64,
}

impl Law for Power {
    fn at(&self, flow: f64) -> (f64, f64) {
        let size = flow.abs();
        let steep = self.resistance * size.powf(self.exponent - 1.0);
        let minor = self.minor * size;
        let loss = ((steep + minor) * size).copysign(flow);
        (loss, self.exponent * steep + 2.0 * minor)
    }
}

/// An outlet: k hⁿ at a head h above its own height, nothing below it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outlet {
    /// k, above 0.
    pub factor: f64,
    /// n, above 0: 0.5 of a plain nozzle.
    pub exponent: f64,
    /// Head above its height from which on the flow rises no more, where it is regulated.
    pub regulated: Option<f64>,
}

impl Outlet {
    /// Flow at a head above its height.
    pub fn flow(&self, head: f64) -> f64 {
        let most = self.regulated.unwrap_or(f64::INFINITY);
        self.factor * head.clamp(0.0, most.max(0.0)).powf(self.exponent)
    }

    /// The most that it gives.
    pub fn most(&self) -> f64 {
        self.regulated.map_or(f64::INFINITY, |head| self.flow(head))
    }
}

/// As a link from the node to its height, neither at rest nor regulated; mirrored for a flow backward.
impl Law for Outlet {
    fn at(&self, flow: f64) -> (f64, f64) {
        let power = 1.0 / self.exponent;
        let share = flow.abs() / self.factor;
        let steep = share.powf(power - 1.0);
        ((steep * share).copysign(flow), power / self.factor * steep)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn slope_by_steps(law: &impl Law, flow: f64) -> f64 {
        let step = 1e-6 * flow.abs().max(1e-6);
        (law.loss(flow + step) - law.loss(flow - step)) / (2.0 * step)
    }

    proptest! {
        #[test]
        fn slopes_are_those_of_the_losses(
            flow in prop_oneof![-0.1..-1e-4_f64, 1e-4..0.1_f64],
            resistance in 1.0..1e6_f64, exponent in 1.0..2.0_f64, minor in 0.0..1e4_f64,
        ) {
            let law = Power { resistance, exponent, minor };
            let by_steps = slope_by_steps(&law, flow);
            prop_assert!((law.slope(flow) / by_steps - 1.0).abs() < 1e-5);
        }

        #[test]
        fn an_outlet_gives_what_its_loss_takes(
            factor in 1e-5..1e-2_f64, exponent in 0.3..1.5_f64, head in 0.01..50.0_f64,
            regulated in prop::option::of(0.5..40.0_f64),
        ) {
            let outlet = Outlet { factor, exponent, regulated };
            let flow = outlet.flow(head);
            prop_assert!(flow <= outlet.most());
            if flow < outlet.most() {
                prop_assert!((outlet.loss(flow) / head - 1.0).abs() < 1e-9);
                let by_steps = slope_by_steps(&outlet, flow);
                prop_assert!((outlet.slope(flow) / by_steps - 1.0).abs() < 1e-3);
            }
            prop_assert!(outlet.flow(-head).abs() < f64::MIN_POSITIVE);
        }
    }
}
