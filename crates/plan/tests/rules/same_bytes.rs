//! The same job gives the same bytes, on one thread or on two.

use crate::{plan_of, read};

fn bytes(text: &str) -> Vec<u8> {
    serde_json::to_vec(&plan_of(&read(text)).unwrap()).unwrap()
}

fn on_threads(threads: usize, text: &str) -> Vec<u8> {
    let pool = rayon::ThreadPoolBuilder::new()
        .num_threads(threads)
        .build()
        .unwrap();
    pool.install(|| bytes(text))
}

#[test]
fn two_plans_of_a_job_are_the_same() {
    for text in [
        job::DEMO.to_owned(),
        job::DEMO_COURTYARD.to_owned(),
        job::sample(60, 5),
    ] {
        assert!(bytes(&text) == bytes(&text));
    }
}

#[test]
fn one_thread_and_two_give_the_same() {
    for text in [job::DEMO.to_owned(), job::sample(60, 5)] {
        assert!(on_threads(1, &text) == on_threads(2, &text));
    }
}
