//! Killed at random, over and over: by a disk operation that ends the process, and from outside.

use std::collections::BTreeSet;
use std::time::Duration;

use crate::workshop::{Workshop, photo};

/// A small generator of our own, so that a run can be repeated (Marsaglia's xorshift, 64 bit).
struct Dice(u64);

impl Dice {
    fn below(&mut self, n: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % n
    }
}

#[derive(Default, Debug)]
struct Tally {
    points: u32,
    photos: usize,
    lost: usize,
    twice: usize,
}

/// Batch after batch of 20 photos, until `points` kills have struck over at least `photos` of them.
fn killed(points: u32, photos: usize, seed: u64) -> Tally {
    let mut dice = Dice(seed);
    let mut t = Tally::default();
    let whole = [photo("china", ""), photo("flower", "")];
    while t.points < points || t.photos < photos {
        let w = Workshop::new();
        let mut wanted = BTreeSet::new();
        for i in 0..20 {
            let bytes = photo(["china", "flower"][i % 2], &format!("{seed}-{i}"));
            assert!(bytes.len() > whole[i % 2].len());
            wanted.insert(blake3::hash(&bytes).to_hex().to_string());
            let folder = ["", "Mug/", "Bowl/"][i % 3];
            w.put(&format!("{folder}{i}.jpg"), &bytes);
        }
        while t.points < points && !w.files("inbox").is_empty() {
            if dice.below(3) == 0 {
                let mut child = w.start(&[]);
                std::thread::sleep(Duration::from_millis(50 + dice.below(1500)));
                child.kill().unwrap();
                child.wait().unwrap();
                t.points += 1;
            } else {
                let n = 1 + dice.below(24);
                t.points += u32::from(w.once_in_trouble(&format!("kill:{n}")).is_none());
            }
        }
        w.once();
        t.photos += wanted.len();
        let mut originals = BTreeSet::new();
        for f in w.files("originals") {
            let bytes = std::fs::read(w.path("originals").join(f)).unwrap();
            if !originals.insert(blake3::hash(&bytes).to_hex().to_string()) {
                t.twice += 1;
            }
        }
        t.lost += wanted.difference(&originals).count();
        let lines = w.events("delivered");
        let told: BTreeSet<String> = lines.iter().map(|l| l["blake3"].to_string()).collect();
        t.twice += lines.len() - told.len();
        let ready = w.files("ready");
        t.lost += wanted.len().saturating_sub(ready.len());
        t.twice += ready.len().saturating_sub(wanted.len());
        for f in &ready {
            let bytes = std::fs::read(w.path("ready").join(f)).unwrap();
            jpeg_decoder::Decoder::new(&bytes[..]).decode().unwrap();
        }
        let seqs: Vec<u64> = w
            .journal()
            .iter()
            .filter_map(|l| l["seq"].as_u64())
            .collect();
        assert_eq!(seqs, (1..=seqs.len() as u64).collect::<Vec<_>>());
        assert_eq!(
            (t.lost, t.twice),
            (0, 0),
            "{t:?}, left: {:?}",
            w.files("held")
        );
    }
    println!("{t:?}");
    t
}

#[test]
fn killed_at_random_points_nothing_is_lost_or_made_twice() {
    let t = killed(30, 20, 0x5EED);
    assert!(t.points >= 30 && t.photos >= 20);
}

#[test]
#[ignore = "takes long: cargo test --release --test facts -- --ignored --nocapture a_thousand_kills"]
fn a_thousand_kills_over_two_hundred_photos_lose_nothing() {
    let t = killed(1000, 200, 0xD1CE);
    assert!(t.points >= 1000 && t.photos >= 200);
}
