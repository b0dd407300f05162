//! The Huffman-coded data of a JPEG, bit by bit (ITU-T T.81, annexes C and F). Owns codes and markers
//! within the data; refuses to know what coefficients mean.

/// Bytes that may lie unused before the marker that ends a scan.
const SLACK: usize = 64;
/// Bits looked up at once.
const LOOK: u32 = 10;
/// The same for several coefficients at once.
const RUN: u32 = 13;

pub type Broken = &'static str;

/// A Huffman table: codes up to `LOOK` bits by lookup, longer ones by their canonical order.
pub struct Table {
    /// length << 8 | symbol; 0 where the code is longer or invalid.
    look: Box<[u16; 1 << LOOK]>,
    /// Bits of a code and of the value after it; 0 as above.
    whole: Box<[u8; 1 << LOOK]>,
    /// For each length: first code, first index, number of codes.
    long: [(u32, u32, u32); 17],
    symbols: Vec<u8>,
}

impl Table {
    pub fn new(counts: &[u8], symbols: &[u8]) -> Option<Self> {
        let mut look = Box::new([0u16; 1 << LOOK]);
        let mut long = [(0, 0, 0); 17];
        let (mut code, mut index) = (0u32, 0u32);
        for (i, n) in counts.iter().enumerate() {
            let (length, n) = (i as u32 + 1, u32::from(*n));
            long[length as usize] = (code, index, n);
            if code + n > 1 << length {
                return None;
            }
            if length <= LOOK {
                for j in 0..n {
                    let symbol = u16::from(*symbols.get((index + j) as usize)?);
                    let shift = LOOK - length;
                    let from = ((code + j) << shift) as usize;
                    look[from..from + (1 << shift)].fill((length as u16) << 8 | symbol);
                }
            }
            index += n;
            code = (code + n) << 1;
        }
        let mut whole = Box::new([0; 1 << LOOK]);
        for (to, hit) in whole.iter_mut().zip(look.iter()) {
            *to = ((hit >> 8) + (hit & 255).min(16)) as u8;
        }
        (symbols.len() >= index as usize).then(|| Self {
            look,
            whole,
            long,
            symbols: symbols.to_vec(),
        })
    }
}

/// What the next `RUN` bits of a sequential block hold, of which only the length matters: several
/// coefficients where they are short. Bits of the data that they take, `ON` times the places that they
/// go on, and `END` where the block ends with them; 0 where one is to be read by itself.
pub struct Runs(Box<[u16; 1 << RUN]>);

/// Bits that are taken at once at most: twice as many are held after a fill.
const MOST: u32 = 28;
const ON: u16 = 1 << 6;
const END: u16 = 1 << 12;

impl Runs {
    pub fn new(ac: &Table) -> Self {
        let mut runs = Box::new([0u16; 1 << RUN]);
        for (window, entry) in runs.iter_mut().enumerate() {
            let (mut taken, mut on, mut end) = (0u32, 0u32, 0);
            while taken < RUN {
                let next = (window << taken) & ((1 << RUN) - 1);
                let hit = ac.look[next >> (RUN - LOOK)];
                let (length, s) = (u32::from(hit >> 8), u32::from(hit & 255));
                let n = s & 15;
                let step = if n == 0 { 16 } else { (s >> 4) + 1 };
                let last = n == 0 && s != 0xf0;
                if hit == 0 || taken + length > RUN || taken + length + n > MOST {
                    break;
                }
                if !last && on + step > 63 {
                    break;
                }
                taken += length + n;
                if last {
                    end = END;
                    break;
                }
                on += step;
            }
            *entry = taken as u16 + on as u16 * ON + end;
        }
        Self(runs)
    }
}

/// Reads bits up to the next marker; beyond it come zeros, which are counted.
pub struct Bits<'a> {
    bytes: &'a [u8],
    at: usize,
    /// Left-aligned.
    buffer: u64,
    held: u32,
    /// Bits made up after the data's end.
    made_up: u32,
}

impl<'a> Bits<'a> {
    pub fn new(bytes: &'a [u8], at: usize) -> Self {
        Self {
            bytes,
            at,
            buffer: 0,
            held: 0,
            made_up: 0,
        }
    }
    /// Holds 56 to 63 bits then.
    #[inline]
    fn fill(&mut self) {
        const ONES: u64 = 0x0101_0101_0101_0101;
        // Eight bytes at once where none of them is 255. Of the last one that has room only a part may
        // be there; it is not counted, and comes again with the next.
        if let Some(eight) = self.bytes.get(self.at..).and_then(<[u8]>::first_chunk) {
            let word = u64::from_be_bytes(*eight);
            if word & (!word).wrapping_sub(ONES) & (ONES << 7) == 0 {
                self.buffer |= word >> self.held;
                let more = (63 - self.held) / 8;
                self.held += more * 8;
                self.at += more as usize;
                return;
            }
        }
        self.fill_slowly();
    }
    fn fill_slowly(&mut self) {
        while self.held < 56 {
            let byte = match self.bytes.get(self.at) {
                Some(0xff) if self.bytes.get(self.at + 1) == Some(&0) => {
                    self.at += 2;
                    0xff
                }
                Some(0xff) | None => {
                    self.made_up += 8;
                    0
                }
                Some(b) => {
                    self.at += 1;
                    *b
                }
            };
            self.buffer |= u64::from(byte) << (56 - self.held);
            self.held += 8;
        }
    }
    /// At most 32 bits.
    #[inline]
    pub fn take(&mut self, n: u32) -> u32 {
        if n == 0 {
            return 0;
        }
        if self.held < n {
            self.fill();
        }
        let v = (self.buffer >> (64 - n)) as u32;
        self.buffer <<= n;
        self.held -= n;
        v
    }
    #[inline]
    pub fn symbol(&mut self, table: &Table) -> Result<u8, Broken> {
        if self.held < 16 {
            self.fill();
        }
        let hit = table.look[(self.buffer >> (64 - LOOK)) as usize];
        if hit != 0 {
            let n = u32::from(hit >> 8);
            self.buffer <<= n;
            self.held -= n;
            return Ok(hit as u8);
        }
        for length in LOOK + 1..=16 {
            let code = (self.buffer >> (64 - length)) as u32;
            let (first, index, n) = table.long[length as usize];
            if code >= first && code - first < n {
                self.buffer <<= length;
                self.held -= length;
                return Ok(table.symbols[(index + code - first) as usize]);
            }
        }
        Err("its picture data are damaged")
    }
    /// Steps over a DC difference: a code and as many bits as its symbol says.
    #[inline]
    fn step_over(&mut self, dc: &Table) -> Result<(), Broken> {
        self.fill();
        let taken = u32::from(dc.whole[(self.buffer >> (64 - LOOK)) as usize]);
        if taken > 0 {
            self.buffer <<= taken;
            self.held -= taken;
            return Ok(());
        }
        let n = self.symbol(dc)?;
        self.take(u32::from(n.min(16)));
        self.fill();
        Ok(())
    }
    /// Whether more was read than there is.
    #[inline]
    pub fn overrun(&self) -> bool {
        self.made_up > self.held
    }
    /// Steps over the restart marker `n` that must come next.
    pub fn restart(&mut self, n: u8) -> Result<(), Broken> {
        self.seek_marker()?;
        if self.bytes.get(self.at + 1) != Some(&(0xd0 | n)) {
            return Err("parts of its picture data are missing");
        }
        *self = Self::new(self.bytes, self.at + 2);
        Ok(())
    }
    /// Moves to the marker, over fill and a little slack.
    pub fn seek_marker(&mut self) -> Result<(), Broken> {
        let unread = (self.held.saturating_sub(self.made_up) / 8) as usize;
        let from = self.at;
        while let Some(b) = self.bytes.get(self.at) {
            if *b == 0xff && !matches!(self.bytes.get(self.at + 1), Some(0 | 0xff)) {
                break;
            }
            self.at += 1;
        }
        if self.at - from + unread > SLACK {
            return Err("its picture data are damaged");
        }
        Ok(())
    }
    pub fn take_many(&mut self, mut n: u32) {
        while n > 0 {
            let step = n.min(16);
            self.take(step);
            n -= step;
        }
    }
    /// Steps over one block of a sequential scan (T.81, F.2.2).
    #[inline]
    pub fn block(&mut self, dc: &Table, ac: &Table, runs: &Runs) -> Result<(), Broken> {
        self.step_over(dc)?;
        let mut k = 1;
        while k < 64 {
            // At least `MOST` bits are held here: after a difference, after a fill and one run, after a fill.
            let mut fill = false;
            loop {
                if fill {
                    self.fill();
                }
                match self.run(runs, k) {
                    Some((_, true)) => return Ok(()),
                    Some((on, false)) => k = on,
                    None => break,
                }
                fill = !fill;
            }
            let s = self.symbol(ac)?;
            let n = s & 15;
            if n == 0 {
                if s != 0xf0 {
                    return Ok(());
                }
                k += 16;
            } else {
                k += u32::from(s >> 4) + 1;
                if k > 64 {
                    return Err("its picture data are damaged");
                }
                self.take(u32::from(n));
            }
            self.fill();
        }
        Ok(())
    }
    /// Steps over several coefficients of a sequential block from place `k` on: the next place, and
    /// whether the block ended. `None` where one is to be read by itself: it is long, or the last.
    /// At least `MOST` bits must be held.
    #[inline]
    fn run(&mut self, runs: &Runs, k: u32) -> Option<(u32, bool)> {
        let run = runs.0[(self.buffer >> (64 - RUN)) as usize];
        let (taken, on) = (u32::from(run % ON), u32::from(run % END / ON));
        // Short of the last place, so that an end that is not allowed is found one by one.
        (taken > 0 && k + on < 64).then(|| {
            self.buffer <<= taken;
            self.held -= taken;
            (k + on, run >= END)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The table of T.81, K.3.3.1 that differences of DC values have, as any canonical one.
    fn table() -> Table {
        // Symbols of every kind: ends, sixteen zeros, short and long runs of small and large values.
        let symbols = [
            1, 2, 0, 0x11, 3, 0x21, 0xf0, 4, 0x12, 0x51, 5, 0xa1, 0x05, 0xf1, 0x0a, 0x73,
        ];
        let counts = [0, 2, 1, 2, 2, 2, 0, 2, 0, 1, 2, 1, 1, 0, 0, 0];
        Table::new(&counts, &symbols).unwrap()
    }

    /// One block, code by code.
    fn one_by_one(bits: &mut Bits<'_>, table: &Table) -> Result<(), Broken> {
        let difference = bits.symbol(table)?;
        bits.take(u32::from(difference.min(16)));
        let mut k = 1;
        while k < 64 {
            let s = bits.symbol(table)?;
            let n = u32::from(s & 15);
            if n == 0 && s != 0xf0 {
                break;
            }
            k += if n == 0 { 16 } else { u32::from(s >> 4) + 1 };
            if n > 0 && k > 64 {
                return Err("its picture data are damaged");
            }
            bits.take(n);
        }
        Ok(())
    }

    /// Where blocks end, in bits, and whether each is good, read by `block`.
    fn ends(bytes: &[u8], block: impl Fn(&mut Bits<'_>) -> Result<(), Broken>) -> Vec<(u32, bool)> {
        let mut bits = Bits::new(bytes, 0);
        let mut ends = Vec::new();
        while !bits.overrun() && ends.len() < 400 {
            let good = block(&mut bits).is_ok();
            let stuffed = bytes[..bits.at]
                .windows(2)
                .filter(|w| *w == [255, 0])
                .count();
            let read = (bits.at - stuffed) as u32 * 8 + bits.made_up - bits.held;
            ends.push((read, good));
            if !good {
                break;
            }
        }
        ends
    }

    #[test]
    fn coefficients_read_several_at_once_end_where_they_end_one_by_one() {
        let table = table();
        let runs = Runs::new(&table);
        let (mut blocks, mut broken) = (0, 0);
        for seed in 0..3000u32 {
            let mut n = seed.wrapping_mul(0x9e37_79b9) | 1;
            let mut bytes = Vec::new();
            for _ in 0..120 {
                n ^= n << 13;
                n ^= n >> 17;
                n ^= n << 5;
                bytes.push((n >> 8) as u8 & 0xfe);
                if n >> 27 == 0 {
                    bytes.extend([255, 0]);
                }
            }
            let one_by_one = ends(&bytes, |bits| one_by_one(bits, &table));
            let several = ends(&bytes, |bits| bits.block(&table, &table, &runs));
            assert_eq!(several, one_by_one, "{seed}");
            blocks += one_by_one.len();
            broken += usize::from(one_by_one.last().is_some_and(|e| !e.1));
        }
        assert!(blocks > 5_000 && broken > 1_000, "{blocks} {broken}");
    }
}
