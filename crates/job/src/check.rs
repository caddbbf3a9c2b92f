//! The rules that a job is held against, each by itself in the file of its matter.

use crate::Finding;
use crate::draft::Draft;
use crate::overlay::Local;

mod circuits;
mod components;
mod decisions;
mod equipment;
mod extent;
mod ground;
mod grouping;
mod heads;
mod ids;
mod inside;
mod outside;
mod pipes;
mod together;
mod utilities;
mod water;

/// A rule looks at the draft and adds what it finds.
type Rule = fn(&Draft, &Local, &mut Vec<Finding>);

/// In the order in which one mends: what a feature is, where it lies, what it belongs to.
const RULES: [Rule; 38] = [
    ids::duplicate_id,
    extent::far_away,
    ground::boundary_count,
    ground::boundary_empty,
    ground::no_surface_elsewhere,
    ground::no_soil_elsewhere,
    ground::obstacle_outline,
    ground::no_access,
    equipment::baseline_count,
    outside::component_outside,
    outside::feature_outside,
    inside::component_in_obstacle,
    decisions::component_in_keep_out,
    equipment::source_count,
    equipment::backflow_count,
    equipment::controller_count,
    equipment::no_controller,
    circuits::no_circuit,
    circuits::unknown_circuit,
    circuits::valves_of_circuit,
    circuits::circuit_without_heads,
    together::unknown_partner,
    grouping::no_manifold,
    grouping::too_many_manifolds,
    grouping::head_beyond_test,
    grouping::unknown_pipe_of_laterals,
    pipes::unknown_pipe_of_main,
    pipes::unknown_service_size,
    pipes::unknown_pipe_of_circuit,
    water::residual_not_below_static,
    water::flow_beyond_test,
    water::pressure_beyond_static,
    heads::heads_coincide,
    decisions::unknown_line,
    decisions::unknown_method,
    decisions::favour_too_great,
    utilities::not_located,
    utilities::not_marked,
];

/// Two places nearer than this are the same, metres: a survey tells no millimetres apart.
const SAME_PLACE: f64 = 1e-3;

/// Holds a draft against every rule.
pub(crate) fn all(draft: &Draft, local: &Local, out: &mut Vec<Finding>) {
    for rule in RULES {
        rule(draft, local, out);
    }
}
