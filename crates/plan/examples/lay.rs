fn main() {
    let n: u32 = std::env::args().nth(1).unwrap().parse().unwrap();
    let job = job::read(&job::sample(n, 1), &job::ReadOptions::default())
        .unwrap()
        .job;
    let ground = ground::Ground::new(&job);
    let t = std::time::Instant::now();
    let r = routes::Router::new(&job, &ground);
    eprintln!("{:?} {}", t.elapsed(), r.unreachable().len());
}
