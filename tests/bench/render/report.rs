//! Middles and rows. Owns arithmetic of the table; refuses to know what it means.

/// The middle value; 0 of nothing.
pub fn median(values: impl IntoIterator<Item = f64>) -> f64 {
    let mut v: Vec<f64> = values.into_iter().collect();
    v.sort_unstable_by(f64::total_cmp);
    match v.len() {
        0 => 0.0,
        n if n % 2 == 1 => v[n / 2],
        n => (v[n / 2 - 1] + v[n / 2]) / 2.0,
    }
}

/// The largest value; 0 of nothing.
pub fn worst(values: impl IntoIterator<Item = f64>) -> f64 {
    values.into_iter().fold(0.0, f64::max)
}

/// User seconds and peak resident KiB of this process so far (Linux; zeros elsewhere).
pub fn used() -> (f64, f64) {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let ticks = stat
        .rsplit(')')
        .next()
        .and_then(|s| s.split_whitespace().nth(11)?.parse::<f64>().ok());
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let peak = status.lines().find_map(|l| {
        l.strip_prefix("VmHWM:")?
            .trim()
            .strip_suffix(" kB")?
            .parse()
            .ok()
    });
    // Linux counts user time in hundredths of a second (USER_HZ).
    (ticks.unwrap_or(0.0) / 100.0, peak.unwrap_or(0.0))
}
