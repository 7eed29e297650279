//! How long the embedded sheets take to load. Printed, not asserted: the
//! figure depends on the machine. `cargo test -p matewell-sheets --test load_time -- --nocapture`

#[test]
#[expect(clippy::disallowed_methods, reason = "the figure is for people; nothing is decided with it")]
fn loading_takes() {
    let mut milliseconds: Vec<f64> = (0..20)
        .map(|_| {
            let start = std::time::Instant::now();
            assert!(matewell_sheets::Sheets::embedded().is_ok());
            start.elapsed().as_secs_f64() * 1e3
        })
        .collect();
    milliseconds.sort_by(f64::total_cmp);
    println!("embedded sheets: median {:.2} ms, best {:.2} ms", milliseconds[10], milliseconds[0]);
}
