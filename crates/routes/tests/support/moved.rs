//! The same property drawn elsewhere.

use proptest::strategy::{Strategy, ValueTree};
use proptest::test_runner::TestRunner;
use serde_json::Value;

/// The text of a job with every coordinate turned about the origin by `degrees`, then moved.
pub fn moved(text: &str, degrees: f64, by: (f64, f64)) -> String {
    let mut job: Value = serde_json::from_str(text).expect("a job is JSON");
    let (sin, cos) = degrees.to_radians().sin_cos();
    let features = job["features"].as_array_mut().expect("a job has features");
    for feature in features {
        if let Some(coordinates) = feature["geometry"].get_mut("coordinates") {
            turn(coordinates, &|x, y| {
                (cos * x - sin * y + by.0, sin * x + cos * y + by.1)
            });
        }
    }
    job.to_string()
}

fn turn(value: &mut Value, to: &dyn Fn(f64, f64) -> (f64, f64)) {
    let Some(list) = value.as_array_mut() else {
        return;
    };
    if let [x, y] = list.as_slice()
        && let (Some(x), Some(y)) = (x.as_f64(), y.as_f64())
    {
        let (x, y) = to(x, y);
        *value = serde_json::json!([x, y]);
    } else {
        list.iter_mut().for_each(|inner| turn(inner, to));
    }
}

/// A thing, degrees to turn it, metres to move it.
pub type Moved<T> = (T, f64, (f64, f64));

/// So many things of a kind with a turn and a way for each, the same ones in every run.
pub fn anywhere<T: std::fmt::Debug>(of: impl Strategy<Value = T>, many: u32) -> Vec<Moved<T>> {
    let mut runner = TestRunner::new(super::cases(many));
    let ways = (of, 0.0..360.0, (-200.0..200.0, -200.0..200.0));
    let mut next = || {
        ways.new_tree(&mut runner)
            .expect("nothing is refused")
            .current()
    };
    (0..many).map(|_| next()).collect()
}
