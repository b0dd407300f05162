//! Spans of time and sizes as she writes them, `3s` and `1MB`. Owns the two spellings; refuses to
//! know which settings use them.

use std::time::Duration;

/// Reads `500ms`, `3s`, `2m` or `1h`; whole or decimal numbers. `None` for anything else.
pub fn parse_duration(text: &str) -> Option<Duration> {
    let (number, unit) = split(text)?;
    let ms = match unit {
        "ms" => 1.0,
        "s" => 1_000.0,
        "m" | "min" => 60_000.0,
        "h" => 3_600_000.0,
        _ => return None,
    };
    let total = (number * ms).round();
    // 2^53: above it an f64 no longer counts single milliseconds.
    (total < 9_007_199_254_740_992.0).then(|| Duration::from_millis(total as u64))
}

/// Reads `900KB`, `1MB`, `1.5GB` (decimal, powers of 1000) or `64MiB`, `1GiB` (powers of 1024);
/// `None` for anything else.
pub fn parse_bytes(text: &str) -> Option<u64> {
    let (number, unit) = split(text)?;
    let factor = match unit.to_ascii_uppercase().as_str() {
        "B" => 1.0,
        "KB" => 1e3,
        "MB" => 1e6,
        "GB" => 1e9,
        "KIB" => 1024.0,
        "MIB" => 1024.0 * 1024.0,
        "GIB" => 1024.0 * 1024.0 * 1024.0,
        _ => return None,
    };
    let total = (number * factor).round();
    (total < 9_007_199_254_740_992.0).then_some(total as u64)
}

/// Writes a span the way `parse_duration` reads it, in the largest unit that keeps it whole.
pub fn show_duration(span: Duration) -> String {
    let ms = span.as_millis();
    match ms {
        0 => "0s".into(),
        _ if ms.is_multiple_of(3_600_000) => format!("{}h", ms / 3_600_000),
        _ if ms.is_multiple_of(60_000) => format!("{}m", ms / 60_000),
        _ if ms.is_multiple_of(1000) => format!("{}s", ms / 1000),
        _ => format!("{ms}ms"),
    }
}

/// Writes a size with at most two decimals, decimal units: `640 KB`, `1.25 MB`.
pub fn show_bytes(bytes: u64) -> String {
    let (value, unit) = match bytes {
        0..1_000 => return format!("{bytes} B"),
        1_000..1_000_000 => (bytes as f64 / 1e3, "KB"),
        1_000_000..1_000_000_000 => (bytes as f64 / 1e6, "MB"),
        _ => (bytes as f64 / 1e9, "GB"),
    };
    let digits = if value >= 100.0 { 0 } else { 2 };
    let text = format!("{value:.digits$}");
    let text = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    };
    format!("{text} {unit}")
}

/// `"1.5 GB"` as (1.5, `GB`); digits and one point only, so no sign, exponent, `inf` or `nan`.
fn split(text: &str) -> Option<(f64, &str)> {
    let text = text.trim();
    let end = text.find(|c: char| !(c.is_ascii_digit() || c == '.'))?;
    let number = text[..end].parse::<f64>().ok()?;
    Some((number, text[end..].trim_start()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spans_and_sizes_read_as_a_person_writes_them() {
        let ms = Duration::from_millis;
        for (text, want) in [
            ("3s", ms(3000)),
            ("500ms", ms(500)),
            ("2m", ms(120_000)),
            ("1.5 h", ms(5_400_000)),
            ("0s", ms(0)),
        ] {
            assert_eq!(parse_duration(text), Some(want), "{text}");
        }
        for (text, want) in [
            ("1MB", 1_000_000),
            ("900 kB", 900_000),
            ("1.5GB", 1_500_000_000),
            ("1GiB", 1 << 30),
            ("12B", 12),
        ] {
            assert_eq!(parse_bytes(text), Some(want), "{text}");
        }
    }

    #[test]
    fn nonsense_is_no_span_and_no_size() {
        for bad in [
            "",
            "3",
            "s",
            "-3s",
            "+3s",
            "3 parsecs",
            "1e9s",
            "infs",
            "nan s",
            "1.2.3s",
            "٣s",
            "99999999999999999h",
        ] {
            assert_eq!(parse_duration(bad), None, "{bad}");
        }
        for bad in ["", "1", "MB", "-1MB", "1M", "1TB", "99999999999GB", "infMB"] {
            assert_eq!(parse_bytes(bad), None, "{bad}");
        }
    }

    #[test]
    fn what_is_shown_reads_back() {
        for ms in [0, 1, 500, 1500, 3000, 60_000, 90_000, 7_200_000] {
            let span = Duration::from_millis(ms);
            assert_eq!(parse_duration(&show_duration(span)), Some(span));
        }
        assert_eq!(show_bytes(999), "999 B");
        assert_eq!(show_bytes(640_000), "640 KB");
        assert_eq!(show_bytes(1_250_000), "1.25 MB");
        assert_eq!(show_bytes(1_000_000), "1 MB");
        assert_eq!(show_bytes(1_200_000_000), "1.2 GB");
    }
}
