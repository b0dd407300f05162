//! Whether every block of a JPEG is there. Owns a walk through the Huffman-coded scans (ITU-T T.81,
//! annexes F and G) that counts and never computes a pixel; refuses to repair anything.
//!
//! Decoders fill missing blocks with grey, or with noise where data were overwritten; this walk is
//! what tells a whole picture from such a one.

use super::jpeg_bits::{Bits, Broken, Runs, Table};
use super::jpeg_parts::{Bare, Header, Scan};

/// Block counts of one component.
struct Grid {
    /// Blocks of the component's own size, and padded to whole MCUs.
    own: (usize, usize),
    padded: (usize, usize),
    sampling: (usize, usize),
    /// Progressive only: which coefficients are not zero so far, a bit each.
    nonzero: Vec<u64>,
    /// Lowest bit plane seen of each coefficient; 255 for none.
    plane: [u8; 64],
}

/// Walks all scans.
///
/// # Errors
/// What is missing or damaged, to follow the words "the JPEG is incomplete:".
pub fn complete(bare: &Bare) -> Result<(), Broken> {
    let h = &bare.header;
    let mut grids = grids(h);
    let mcus = (
        (h.size.w as usize).div_ceil(8 * h.sampling.0),
        (h.size.h as usize).div_ceil(8 * h.sampling.1),
    );
    let mut tables: [[Option<Table>; 4]; 2] = Default::default();
    for scan in &bare.scans {
        for body in &scan.tables {
            read_tables(&bare.bytes[body.clone()], &mut tables)?;
        }
        walk(bare, scan, mcus, &mut grids, &tables)?;
    }
    let whole = |g: &Grid| g.plane.iter().all(|p| *p == 0);
    if grids.iter().all(whole) {
        Ok(())
    } else {
        Err("its finer parts are missing")
    }
}

fn grids(h: &Header) -> Vec<Grid> {
    let (w, t) = (h.size.w as usize, h.size.h as usize);
    let mcus = (w.div_ceil(8 * h.sampling.0), t.div_ceil(8 * h.sampling.1));
    h.components
        .iter()
        .map(|c| {
            let s = (usize::from(c[1]), usize::from(c[2]));
            let padded = (mcus.0 * s.0, mcus.1 * s.1);
            Grid {
                own: (
                    (w * s.0).div_ceil(h.sampling.0).div_ceil(8),
                    (t * s.1).div_ceil(h.sampling.1).div_ceil(8),
                ),
                padded,
                sampling: s,
                nonzero: if h.progressive {
                    vec![0; padded.0 * padded.1]
                } else {
                    Vec::new()
                },
                plane: [255; 64],
            }
        })
        .collect()
}

fn read_tables(mut body: &[u8], tables: &mut [[Option<Table>; 4]; 2]) -> Result<(), Broken> {
    const BAD: Broken = "its code tables are damaged";
    while let [at, rest @ ..] = body {
        let counts = rest.get(..16).ok_or(BAD)?;
        let n: usize = counts.iter().map(|c| usize::from(*c)).sum();
        let symbols = rest.get(16..16 + n).ok_or(BAD)?;
        let slot = tables
            .get_mut(usize::from(at >> 4))
            .and_then(|t| t.get_mut(usize::from(at & 15)))
            .ok_or(BAD)?;
        *slot = Some(Table::new(counts, symbols).ok_or(BAD)?);
        body = &rest[16 + n..];
    }
    Ok(())
}

/// One component of a scan with its tables.
struct Part<'t> {
    component: usize,
    dc: Option<&'t Table>,
    ac: Option<&'t Table>,
    runs: Option<Runs>,
}

fn walk(
    bare: &Bare,
    scan: &Scan,
    mcus: (usize, usize),
    grids: &mut [Grid],
    tables: &[[Option<Table>; 4]; 2],
) -> Result<(), Broken> {
    const BAD: Broken = "a scan header is damaged";
    let progressive = bare.header.progressive;
    let (from, to) = (scan.spectral.0, scan.spectral.1);
    if progressive && (from > to || to > 63 || (from == 0 && to != 0)) {
        return Err(BAD);
    }
    let mut parts = Vec::new();
    for (component, selectors) in &scan.parts {
        let table = |class: usize, n: u8| tables[class].get(usize::from(n))?.as_ref();
        let g = grids.get_mut(*component).ok_or(BAD)?;
        let span = if progressive { from..=to } else { 0..=63 };
        for k in span {
            let low = if progressive { scan.planes.1 } else { 0 };
            g.plane[k] = g.plane[k].min(low);
        }
        let ac = table(1, selectors & 15);
        parts.push(Part {
            component: *component,
            dc: table(0, selectors >> 4),
            ac,
            runs: ac.filter(|_| !progressive).map(Runs::new),
        });
    }
    if progressive && from > 0 && parts.len() != 1 {
        return Err(BAD);
    }
    let alone = parts.len() == 1;
    let units = if alone {
        let own = grids[parts[0].component].own;
        own.0 * own.1
    } else {
        mcus.0 * mcus.1
    };
    let mut bits = Bits::new(&bare.bytes, scan.data);
    let mut run = 0u32;
    // Tables of the blocks of a unit, sequential only.
    let mut order = Vec::new();
    if !progressive {
        const MISSING: Broken = "its code tables are missing";
        for part in &parts {
            let (dc, ac) = (part.dc.ok_or(MISSING)?, part.ac.ok_or(MISSING)?);
            let runs = part.runs.as_ref().ok_or(MISSING)?;
            let (w, h) = grids[part.component].sampling;
            let blocks = if alone { 1 } else { w * h };
            order.extend(std::iter::repeat_n((dc, ac, runs), blocks));
        }
    }
    for unit in 0..units {
        if scan.restart > 0 && unit > 0 && unit % scan.restart == 0 {
            bits.restart(((unit / scan.restart - 1) % 8) as u8)?;
            run = 0;
        }
        for (dc, ac, runs) in &order {
            bits.block(dc, ac, runs)?;
        }
        for part in parts.iter().filter(|_| progressive) {
            let g = &mut grids[part.component];
            let blocks = if alone { (1, 1) } else { g.sampling };
            for i in 0..blocks.0 * blocks.1 {
                let at = if alone {
                    (unit % g.own.0, unit / g.own.0)
                } else {
                    (
                        unit % mcus.0 * blocks.0 + i % blocks.0,
                        unit / mcus.0 * blocks.1 + i / blocks.0,
                    )
                };
                let nonzero = &mut g.nonzero[at.1 * g.padded.0 + at.0];
                match (from, scan.planes.0) {
                    (0, 0) => {
                        let n = bits.symbol(part.dc.ok_or(BAD)?)?;
                        bits.take(u32::from(n.min(16)));
                    }
                    (0, _) => {
                        bits.take(1);
                    }
                    (_, 0) => first(
                        &mut bits,
                        part.ac.ok_or(BAD)?,
                        (from, to),
                        &mut run,
                        nonzero,
                    )?,
                    _ => refine(
                        &mut bits,
                        part.ac.ok_or(BAD)?,
                        (from, to),
                        &mut run,
                        nonzero,
                    )?,
                }
            }
        }
        if bits.overrun() {
            return Err("parts of its picture data are missing");
        }
    }
    bits.seek_marker()
}

/// First pass over a band of coefficients (T.81, G.1.2.2).
#[inline]
fn first(
    bits: &mut Bits<'_>,
    ac: &Table,
    (from, to): (usize, usize),
    run: &mut u32,
    nonzero: &mut u64,
) -> Result<(), Broken> {
    if *run > 0 {
        *run -= 1;
        return Ok(());
    }
    let mut k = from;
    while k <= to {
        let s = bits.symbol(ac)?;
        let (r, n) = (u32::from(s >> 4), u32::from(s & 15));
        if n == 0 {
            if r < 15 {
                *run = (1 << r) - 1 + bits.take(r);
                return Ok(());
            }
            k += 16;
            continue;
        }
        k += r as usize;
        if k > to {
            return Err("its picture data are damaged");
        }
        bits.take(n);
        *nonzero |= 1 << k;
        k += 1;
    }
    Ok(())
}

/// A later pass that adds one bit of precision (T.81, G.1.2.3).
#[inline]
fn refine(
    bits: &mut Bits<'_>,
    ac: &Table,
    (from, to): (usize, usize),
    run: &mut u32,
    nonzero: &mut u64,
) -> Result<(), Broken> {
    let mut k = from;
    if *run == 0 {
        while k <= to {
            let s = bits.symbol(ac)?;
            let (mut r, n) = (u32::from(s >> 4), s & 15);
            if n == 0 && r < 15 {
                *run = (1 << r) + bits.take(r);
                break;
            }
            if n > 0 {
                bits.take(1);
            }
            while k <= to {
                if *nonzero >> k & 1 == 1 {
                    bits.take(1);
                } else if r == 0 {
                    break;
                } else {
                    r -= 1;
                }
                k += 1;
            }
            if n > 0 {
                if k > to {
                    return Err("its picture data are damaged");
                }
                *nonzero |= 1 << k;
            }
            k += 1;
        }
    }
    if *run > 0 {
        if k <= to {
            let band = (*nonzero >> k) & (u64::MAX >> (63 - (to - k)));
            bits.take_many(band.count_ones());
        }
        *run -= 1;
    }
    Ok(())
}
