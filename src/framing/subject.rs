//! From the product map to the product's box: parts, which of them belong together, and the box with
//! sides below the cell. Owns thresholds and joining; refuses to know crops and profiles.

use super::area::Area;
use super::map::{Map, SIDE};

/// Probability from which a cell counts as product.
pub const LEVEL: f32 = 0.5;
/// The same for where to look closely.
pub const FAINT: f32 = 0.3;
/// The lowest that is read, to see what else might be meant.
pub const FAINTEST: f32 = 0.1;
/// A part with at least this share of the largest part's mass belongs to the product.
const JOIN: f32 = 0.15;
/// Fewer cells than this are noise.
const LEAST_CELLS: usize = 8;

/// One connected part of a map above a level.
struct Part {
    cells: Vec<(usize, usize)>,
    mass: f32,
}

/// The product as one reading of a map shows it.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// px of the source.
    pub area: Area,
    /// Mass of the parts that were left out, as a share of all.
    pub left_out: f64,
    /// Mean probability over the product's cells.
    pub certainty: f64,
}

/// Reads the product's box at a level from a map that lies over `part` of the frame (px); `None` where
/// nothing reaches it.
pub fn read(map: &Map, level: f32, part: Area) -> Option<Reading> {
    let parts = parts(map, level);
    let largest = parts.iter().map(|p| p.mass).fold(0.0, f32::max);
    let total: f32 = parts.iter().map(|p| p.mass).sum();
    let chosen: Vec<&Part> = parts.iter().filter(|p| p.mass >= JOIN * largest).collect();
    let area = chosen
        .iter()
        .map(|p| outline(map, p, level))
        .reduce(Area::union)?;
    let (sx, sy) = (part.w() / SIDE as f64, part.h() / SIDE as f64);
    let (mass, cells) = chosen
        .iter()
        .fold((0.0, 0), |(m, n), p| (m + p.mass, n + p.cells.len()));
    Some(Reading {
        area: Area::new(
            part.x0 + area.x0 * sx,
            part.y0 + area.y0 * sy,
            part.x0 + area.x1 * sx,
            part.y0 + area.y1 * sy,
        ),
        left_out: f64::from(1.0 - mass / total),
        certainty: f64::from(mass / cells as f32),
    })
}

/// Side of the window that is looked at closely, relative to the product's larger side.
const ROUND: f64 = 1.8;
/// The same, as a share of the frame: never less, and from the second on the whole frame.
const WINDOW: (f64, f64) = (0.3, 0.9);

/// The part of the frame (px) that is looked at closely: about the product of the first look, the frame's
/// proportions, the whole frame where nothing was found.
pub fn surroundings(found: Option<Area>, whole: Area) -> Area {
    let Some(a) = found else { return whole };
    let (w, h) = (whole.w(), whole.h());
    let side = ((a.w() / w).max(a.h() / h) * ROUND).max(WINDOW.0);
    if side > WINDOW.1 {
        return whole;
    }
    let (cx, cy) = a.centre();
    let (w1, h1) = (w * side, h * side);
    let (x, y) = (
        (cx - w1 / 2.0).clamp(0.0, w - w1),
        (cy - h1 / 2.0).clamp(0.0, h - h1),
    );
    Area::new(x, y, x + w1, y + h1)
}

/// Mass of the second strongest part at a level relative to the strongest, 0 to 1.
pub fn rival(map: &Map, level: f32) -> f64 {
    let mut masses: Vec<f32> = parts(map, level).iter().map(|p| p.mass).collect();
    masses.sort_by(|a, b| b.total_cmp(a));
    match masses[..] {
        [first, second, ..] => f64::from(second / first),
        _ => 0.0,
    }
}

/// Connected parts (8 neighbours) at or above a level, noise left out.
fn parts(map: &Map, level: f32) -> Vec<Part> {
    let mut seen = vec![false; SIDE * SIDE];
    let mut out = Vec::new();
    for start in 0..SIDE * SIDE {
        if seen[start] || map.cells()[start] < level {
            continue;
        }
        seen[start] = true;
        let mut cells = vec![(start % SIDE, start / SIDE)];
        let mut next = 0;
        while let Some(&(x, y)) = cells.get(next) {
            next += 1;
            for ny in y.saturating_sub(1)..=(y + 1).min(SIDE - 1) {
                for nx in x.saturating_sub(1)..=(x + 1).min(SIDE - 1) {
                    let i = ny * SIDE + nx;
                    if !seen[i] && map.cells()[i] >= level {
                        seen[i] = true;
                        cells.push((nx, ny));
                    }
                }
            }
        }
        if cells.len() >= LEAST_CELLS {
            let mass = cells.iter().map(|&(x, y)| map.at(x, y)).sum();
            out.push(Part { cells, mass });
        }
    }
    out
}

/// Box of a part in cells, its sides where the map crosses the level between two cell centres; a part
/// in the outermost cell reaches the frame's border.
fn outline(map: &Map, part: &Part, level: f32) -> Area {
    let mut area = Area::new(f64::MAX, f64::MAX, f64::MIN, f64::MIN);
    // Distance from the cell's centre to the crossing, towards a neighbour below the level.
    let reach = |inside: f32, outside: Option<f32>| match outside {
        None => 0.5,
        Some(o) if o >= level => 0.5,
        Some(o) => f64::from((inside - level) / (inside - o)).min(1.0),
    };
    for &(x, y) in &part.cells {
        let v = map.at(x, y);
        let (cx, cy) = (x as f64 + 0.5, y as f64 + 0.5);
        let left = (x > 0).then(|| map.at(x - 1, y));
        let right = (x + 1 < SIDE).then(|| map.at(x + 1, y));
        let up = (y > 0).then(|| map.at(x, y - 1));
        let down = (y + 1 < SIDE).then(|| map.at(x, y + 1));
        area.x0 = area.x0.min(cx - reach(v, left));
        area.x1 = area.x1.max(cx + reach(v, right));
        area.y0 = area.y0.min(cy - reach(v, up));
        area.y1 = area.y1.max(cy + reach(v, down));
    }
    area
}

#[cfg(test)]
mod tests {
    use super::*;

    fn map(f: impl Fn(usize, usize) -> f32) -> Map {
        Map::new((0..SIDE * SIDE).map(|i| f(i % SIDE, i / SIDE)).collect())
    }

    #[test]
    fn a_side_lies_where_the_map_crosses_the_level_between_two_cells() {
        let m = map(|x, y| match (x, y) {
            (40, 50..60) => 0.25, // the crossing of 0.5 lies a third of a cell short of cell 40's centre
            (41..60, 50..60) => 1.0,
            _ => 0.0,
        });
        let r = read(&m, 0.5, Area::new(0.0, 0.0, 160.0, 160.0)).unwrap();
        assert!(
            (r.area.x0 - (41.5 - 2.0 / 3.0)).abs() < 1e-6,
            "{:?}",
            r.area
        );
        assert!((r.area.x1 - 60.0).abs() < 1e-6, "{:?}", r.area);
    }

    #[test]
    fn a_pair_is_joined_and_a_crumb_is_left_out() {
        let m = map(|x, y| {
            let on = (20..50).contains(&x) && (60..100).contains(&y)
                || (80..110).contains(&x) && (60..100).contains(&y)
                || (140..144).contains(&x) && (20..24).contains(&y);
            f32::from(u8::from(on))
        });
        let a = read(&m, 0.5, Area::new(0.0, 0.0, 1600.0, 1600.0))
            .unwrap()
            .area;
        assert_eq!(
            (a.x0.round(), a.y0.round(), a.x1.round(), a.y1.round()),
            (200.0, 600.0, 1100.0, 1000.0)
        );
    }

    #[test]
    fn a_second_thing_of_nearly_the_same_strength_is_a_rival() {
        let two = |small: usize| {
            map(|x, y| {
                let first = (20..40).contains(&x) && (60..80).contains(&y);
                let second = (90..90 + small).contains(&x) && (60..80).contains(&y);
                f32::from(u8::from(first || second))
            })
        };
        assert!((rival(&two(18), 0.5) - 0.9).abs() < 1e-6);
        assert_eq!(rival(&two(0), 0.5), 0.0);
    }

    #[test]
    fn the_window_of_the_close_look_holds_the_product_inside_the_frame() {
        let whole = Area::new(0.0, 0.0, 4000.0, 3000.0);
        let cup = Area::new(10.0, 2400.0, 810.0, 2990.0);
        let w = surroundings(Some(cup), whole);
        assert!(whole.contains(w) && w.contains(cup), "{w:?}");
        assert!((w.w() / w.h() - 4.0 / 3.0).abs() < 1e-9 && w.w() < 1600.0);
        let large = Area::new(500.0, 200.0, 3000.0, 2700.0);
        assert_eq!(surroundings(Some(large), whole), whole);
        assert_eq!(surroundings(None, whole), whole);
    }

    #[test]
    fn an_empty_map_shows_no_product() {
        assert_eq!(
            read(&map(|_, _| 0.1), 0.5, Area::new(0.0, 0.0, 9.0, 9.0)),
            None
        );
    }
}
