//! The quantisation tables of a quality. Owns how they are scaled and rounded; refuses to know the
//! encoder and the picture.
//!
//! Entries are whole numbers, and where a low one is rounded the other way a file jumps by up to 5 %
//! (bench, quality 70 to 92), so that no quality fills a budget. Here an entry and its mirror image are
//! rounded the other way at different qualities, and what rounding adds to the bytes or takes from
//! them is given back by rounding middle frequencies the other way, in the manner of error diffusion
//! (Floyd and Steinberg 1976): the jumps left are 0.5 % on busy pictures and 1.4 % on the plainest.

/// The base table: Klein, Silverstein and Carney 1992, as in mozjpeg (`jcparam.c`), the best of its
/// nine on the bench at equal score. Rows of 8, lowest frequency first.
#[rustfmt::skip]
const BASE: [u16; 64] = [
    10, 12, 14, 19, 26, 38, 57, 86,
    12, 18, 21, 28, 35, 41, 54, 76,
    14, 21, 25, 32, 44, 63, 92, 136,
    19, 28, 32, 41, 54, 75, 107, 157,
    26, 35, 44, 54, 70, 95, 132, 190,
    38, 41, 63, 75, 95, 125, 170, 239,
    57, 54, 92, 107, 132, 170, 227, 312,
    86, 76, 136, 157, 190, 239, 312, 419,
];

/// How much finer colour is quantised than light. Measured on the bench: 1 % fewer bytes at equal
/// score at quality 80, half a percent more at 90.
const COLOUR_FINER: f64 = 2.0;

/// How much finer the lowest frequency is quantised, fading out over the first rows and columns by the
/// weights that mozjpeg gives its own low frequencies.
const LOWEST_FINER: f64 = 0.8;
#[rustfmt::skip]
const LOW: [f64; 19] = [
    1.00, 0.85, 0.55, 0.0, 0.0, 0.0, 0.0, 0.0,
    0.85, 0.75, 0.10, 0.0, 0.0, 0.0, 0.0, 0.0,
    0.55, 0.10, 0.05,
];

/// How much coarser entries above the diagonal are than their mirror images, in light, and finer in
/// colour: only so much that both are not rounded the other way at once.
const APART: f64 = 1.025 * 1.025;

/// Diagonals of the block that have a share in the bytes worth counting.
const DIAGONALS: usize = 10;
/// By how much the logarithm of the bytes falls for each unit of the logarithm of a diagonal's entries,
/// in light and in colour at 4:2:0, where the base table is scaled by so much: means of 13 of the
/// bench's photos, encoded by libjpeg-turbo.
#[rustfmt::skip]
const WORTH: [(f64, [f64; DIAGONALS], [f64; DIAGONALS]); 4] = [
    (0.2, [0.022, 0.066, 0.063, 0.091, 0.094, 0.092, 0.060, 0.028, 0.016, 0.007],
          [0.009, 0.030, 0.029, 0.030, 0.014, 0.009, 0.006, 0.004, 0.002, 0.000]),
    (0.3, [0.031, 0.088, 0.105, 0.120, 0.099, 0.060, 0.036, 0.023, 0.012, 0.005],
          [0.009, 0.034, 0.038, 0.017, 0.010, 0.008, 0.005, 0.003, 0.001, 0.000]),
    (0.4, [0.038, 0.120, 0.121, 0.127, 0.080, 0.040, 0.029, 0.019, 0.009, 0.003],
          [0.015, 0.041, 0.024, 0.014, 0.009, 0.007, 0.005, 0.003, 0.001, 0.000]),
    (0.6, [0.048, 0.158, 0.144, 0.096, 0.048, 0.036, 0.025, 0.015, 0.006, 0.002],
          [0.012, 0.043, 0.021, 0.012, 0.009, 0.007, 0.004, 0.002, 0.000, 0.000]),
];
/// First diagonal whose entries are rounded the other way to give back what others added.
const GIVING: usize = 2;

/// One table: rows of 8, lowest frequency first, entries 1 to 255.
pub type Table = [u32; 64];

/// The tables for light and for colour at a quality, 1 to 100, fractional: the base table times the
/// customary scaling, 50/q below 50 and (100 - q)/50 above (Independent JPEG Group, `jcparam.c`).
pub fn of(quality: f64) -> [Table; 2] {
    trimmed(quality, 0.0)
}

/// The tables of a quality with entries of middle frequencies in light rounded the other way, until
/// the file should weigh `by` more than it does as it is (a logarithm, small; what comes of
/// it may be up to twice as much): what lies between two qualities whose files are a jump apart.
pub fn trimmed(quality: f64, by: f64) -> [Table; 2] {
    let light = wanted(quality, APART.sqrt());
    let colour = wanted(quality + COLOUR_FINER, APART.sqrt().recip());
    let colour_worth = worth(scaling(quality + COLOUR_FINER)).1;
    let light_worth = worth(scaling(quality)).0;
    let colour_table = colour.map(nearest);
    let over = excess(&colour_table, &colour, &colour_worth);
    let mut light_table = light.map(nearest);
    let over = over + excess(&light_table, &light, &light_worth);
    give_back(&mut light_table, &light, &light_worth, over);
    if by != 0.0 {
        give_back(&mut light_table, &light, &light_worth, by);
    }
    [light_table, colour_table]
}

/// Rounds entries of middle frequencies the other way, the least decided first, until the bytes are
/// no longer `over` what the unrounded tables would give (as a logarithm of them, negative).
fn give_back(table: &mut Table, wanted: &[f64; 64], worth: &[f64; DIAGONALS], mut over: f64) {
    let off = |i: usize, t: u32| wanted[i] - f64::from(t);
    let mut order: Vec<usize> = (0..64)
        .filter(|&i| (GIVING..DIAGONALS).contains(&diagonal(i)) && off(i, table[i]) != 0.0)
        .collect();
    let least_decided = |a: &usize, b: &usize| {
        let [a, b] = [a, b].map(|&i| off(i, table[i]).abs());
        b.total_cmp(&a)
    };
    order.sort_by(least_decided);
    for i in order {
        let other = if off(i, table[i]) > 0.0 {
            table[i] + 1
        } else {
            table[i] - 1
        };
        if !(1..=255).contains(&other) {
            continue;
        }
        let step = share(i, worth) * (f64::from(other) / f64::from(table[i])).ln();
        if (over + step).abs() < over.abs() {
            (table[i], over) = (other, over + step);
        }
    }
}

/// The unrounded table of a quality, entries 1 to 255.
fn wanted(quality: f64, apart: f64) -> [f64; 64] {
    let (low, high) = (scaling(quality + LOWEST_FINER), scaling(quality));
    std::array::from_fn(|i| {
        let weight = LOW.get(i).copied().unwrap_or(0.0);
        let side = match (i % 8).cmp(&(i / 8)) {
            std::cmp::Ordering::Greater => apart,
            std::cmp::Ordering::Equal => 1.0,
            std::cmp::Ordering::Less => apart.recip(),
        };
        let scaled = f64::from(BASE[i]) * (low * weight + high * (1.0 - weight)) * side;
        scaled.clamp(1.0, 255.0)
    })
}

fn nearest(wanted: f64) -> u32 {
    wanted.round() as u32
}

fn scaling(quality: f64) -> f64 {
    let q = quality.clamp(1.0, 100.0);
    if q < 50.0 {
        50.0 / q
    } else {
        (100.0 - q) / 50.0
    }
}

fn diagonal(i: usize) -> usize {
    i % 8 + i / 8
}

/// What one entry is worth: its part of its diagonal.
fn share(i: usize, worth: &[f64; DIAGONALS]) -> f64 {
    let d = diagonal(i);
    let entries = (d + 1).min(15 - d) as f64;
    worth.get(d).map_or(0.0, |w| w / entries)
}

/// How much coarser a table is than the unrounded one, weighed by what its entries are worth.
fn excess(table: &Table, wanted: &[f64; 64], worth: &[f64; DIAGONALS]) -> f64 {
    let of = |i: usize| share(i, worth) * (f64::from(table[i]) / wanted[i]).ln();
    (0..64).map(of).sum()
}

/// What diagonals are worth where the base table is scaled by `scale`, light and colour.
fn worth(scale: f64) -> ([f64; DIAGONALS], [f64; DIAGONALS]) {
    let log = scale.clamp(WORTH[0].0, WORTH[3].0).ln();
    let above = WORTH[1..3].iter().filter(|w| w.0.ln() < log).count();
    let [a, b] = [&WORTH[above], &WORTH[above + 1]];
    let t = (log - a.0.ln()) / (b.0 / a.0).ln();
    let mix = |a: &[f64; DIAGONALS], b: &[f64; DIAGONALS]| {
        std::array::from_fn(|d| a[d] * (1.0 - t) + b[d] * t)
    };
    (mix(&a.1, &b.1), mix(&a.2, &b.2))
}

#[cfg(test)]
mod tests {
    use super::*;
    use mozjpeg::qtable::KleinSilversteinCarney;

    #[test]
    fn the_base_table_is_that_of_the_encoder() {
        assert_eq!(
            format!("{KleinSilversteinCarney:?}"),
            format!("QTable{{coeffs:{BASE:?}}}")
        );
    }

    #[test]
    fn every_entry_is_one_of_the_two_whole_numbers_beside_the_unrounded_one() {
        for step in 0..=990 {
            let q = 1.0 + f64::from(step) / 10.0;
            let [light, colour] = of(q);
            let exact = [
                wanted(q, APART.sqrt()),
                wanted(q + COLOUR_FINER, APART.sqrt().recip()),
            ];
            for (table, exact) in [light, colour].iter().zip(&exact) {
                for (t, e) in table.iter().zip(exact) {
                    assert!((1..=255).contains(t), "{q}: {t}");
                    assert!((f64::from(*t) - e).abs() < 1.0, "{q}: {t} for {e}");
                }
            }
        }
    }

    #[test]
    fn a_trim_moves_what_the_tables_are_worth_the_way_it_is_asked_to() {
        for step in 0..=220 {
            let q = 70.0 + f64::from(step) / 10.0;
            let (exact, worth) = (wanted(q, APART.sqrt()), worth(scaling(q)).0);
            let [light, colour] = of(q);
            for by in [-0.004, 0.004] {
                let [trim, same] = trimmed(q, by);
                assert!(same == colour, "{q} {by}");
                let moved = excess(&light, &exact, &worth) - excess(&trim, &exact, &worth);
                assert!((0.2..1.8).contains(&(moved / by)), "{q} {by}: {moved}");
            }
        }
    }

    #[test]
    fn what_rounding_adds_is_given_back_but_for_a_few_thousandths_of_the_bytes() {
        let (mut plain, mut given) = (0.0f64, 0.0f64);
        for step in 0..=1100 {
            let q = 70.0 + f64::from(step) / 50.0;
            let [light, colour] = of(q);
            let worth_of = |q: f64| worth(scaling(q));
            let exact = wanted(q, APART.sqrt());
            let exact_colour = wanted(q + COLOUR_FINER, APART.sqrt().recip());
            let own = excess(&colour, &exact_colour, &worth_of(q + COLOUR_FINER).1);
            let over = |t: &Table| own + excess(t, &exact, &worth_of(q).0);
            plain = plain.max(over(&exact.map(nearest)).abs());
            given = given.max(over(&light).abs());
        }
        assert!(plain > 0.015, "{plain}");
        assert!(given < 0.004, "{given}");
    }
}
