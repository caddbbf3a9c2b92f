//! Layers of a whole plan.

use crate::{Cell, Holds, Shape, Sort, of};
use job::ReadOptions;
use quantity::Units;
use std::collections::BTreeSet;
use std::ops::ControlFlow;

#[test]
fn every_row_fits_its_layer() {
    let job = job::read(job::DEMO_COURTYARD, &ReadOptions::default())
        .unwrap()
        .job;
    let plan = plan::plan(&job, &|_| ControlFlow::Continue(())).unwrap();
    let job = plan.planned(&job);
    for units in [Units::Us, Units::Si] {
        let layers = of(&job, &plan, units);
        assert_eq!(layers, of(&job, &plan, units));
        let names: BTreeSet<&str> = layers.iter().map(|layer| layer.name.as_str()).collect();
        assert_eq!(names.len(), layers.len());
        for layer in &layers {
            let columns: Vec<&str> = layer.columns.iter().map(|c| c.name.as_str()).collect();
            for name in columns.iter().chain([&layer.name.as_str()]) {
                let plain = name.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'_');
                assert!(plain && !["id", "geom", "fid"].contains(name), "{name}");
            }
            assert_eq!(columns.iter().collect::<BTreeSet<_>>().len(), columns.len());
            let ids: BTreeSet<&str> = layer.rows.iter().map(|row| row.id.as_str()).collect();
            assert_eq!(ids.len(), layer.rows.len(), "{}", layer.name);
            for row in &layer.rows {
                let sort = match row.shape {
                    Shape::Point(_) => Sort::Point,
                    Shape::Line(_) => Sort::Line,
                    Shape::Area(_) => Sort::Area,
                };
                assert_eq!(sort, layer.sort);
                assert_eq!(
                    row.cells.len(),
                    layer.columns.len(),
                    "{} {}",
                    layer.name,
                    row.id
                );
                for (cell, column) in row.cells.iter().zip(&layer.columns) {
                    let fits = match cell {
                        Cell::Empty => true,
                        Cell::Text(_) => column.holds == Holds::Text,
                        Cell::Whole(_) => column.holds == Holds::Whole,
                        Cell::Real(_) => column.holds == Holds::Real,
                        Cell::Flag(_) => column.holds == Holds::Flag,
                    };
                    assert!(fits, "{} {} {}: {cell:?}", layer.name, row.id, column.name);
                }
            }
        }
        let rows = |name: &str| {
            layers
                .iter()
                .find(|l| l.name == name)
                .map_or(0, |l| l.rows.len())
        };
        assert_eq!(rows("plan_stretch"), plan.network.stretches.len());
        assert_eq!(rows("plan_stake"), plan.staking.points.len());
        assert_eq!(rows("plan_outlet"), job.system.outlets.len());
    }
}
