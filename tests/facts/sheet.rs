//! The proof sheet as the running program writes it: what it carries of her corrections and remarks,
//! and that a batch touches the pages of its own listings alone.

use std::path::PathBuf;

use rustix::process::Signal;

use crate::load::sample;
use crate::workshop::{Workshop, photo, signal, small};

/// The first page of a listing, by the beginning of its name.
fn page_of(w: &Workshop, listing: &str) -> Option<PathBuf> {
    let starts = format!("listing-{listing}-");
    let files = w.files("state/proof");
    let mut pages = files.into_iter();
    let name = pages.find(|f| f.starts_with(&starts) && f.ends_with(".html"))?;
    Some(w.path("state/proof").join(name))
}

fn text_of(w: &Workshop, listing: &str) -> String {
    let page = page_of(w, listing).map(std::fs::read_to_string);
    page.and_then(Result::ok).unwrap_or_default()
}

#[test]
fn the_page_carries_her_correction_in_force_into_the_next_one() {
    let w = Workshop::new();
    w.put("Mug/a.jpg", &photo("china", ""));
    w.put(
        "Mug/a.jpg.framing.toml",
        b"turn = 90\naccept = true\nsubject = [100, 150, 200, 250]\n[listing]\ncrop = [20, 100, 400, 300]\n",
    );
    w.once();
    let page = text_of(&w, "mug");
    for word in [
        "data-size=\"427 640\"",
        "data-turn=\"90\"",
        "data-accept=\"yes\"",
        "data-told=\"100 150 200 250\"",
        "data-crop=\"20 100 400 300\"",
        "data-given=\"yes\"",
    ] {
        assert!(page.contains(word), "{word}");
    }
}

#[test]
fn of_two_near_twins_the_page_and_the_text_name_the_better() {
    let w = Workshop::with("", "tight = \"hold\"\n");
    w.put("Mug/a copy.jpg", &small(0, ""));
    w.put("Mug/b.jpg", &photo("china", ""));
    w.once();
    let words = "b.jpg is nearly the same, and the better one.";
    assert_eq!(text_of(&w, "mug").matches(words).count(), 1);
    let index = std::fs::read_to_string(w.path("state/proof/index.html")).unwrap();
    assert!(index.contains("1 held") && !index.contains(words));
}

#[test]
fn a_remark_only_lists_a_photo_and_holds_it_where_the_profile_is_strict() {
    let glaring = {
        let whole = photo("china", "");
        let mut decoder = jpeg_decoder::Decoder::new(&whole[..]);
        let mut pixels = decoder.decode().unwrap();
        let info = decoder.info().unwrap();
        pixels.iter_mut().for_each(|v| *v = v.saturating_mul(4));
        let mut c = mozjpeg::Compress::new(mozjpeg::ColorSpace::JCS_RGB);
        c.set_size(usize::from(info.width), usize::from(info.height));
        c.set_fastest_defaults();
        c.set_quality(95.0);
        let mut c = c.start_compress(Vec::new()).unwrap();
        c.write_scanlines(&pixels).unwrap();
        c.finish().unwrap()
    };
    let said = |more: &str, event: &str| {
        let w = Workshop::with("", more);
        w.put("a.jpg", &glaring);
        w.once();
        let lines = w.events(event);
        assert_eq!(lines.len(), 1, "{event}");
        lines[0]["reasons"].to_string()
    };
    assert!(said("", "delivered").contains("burnt-out"));
    assert!(said("strict = true\n", "held").contains("burnt-out"));
}

#[test]
fn a_batch_leaves_the_pages_of_other_listings_alone_and_a_start_looks_at_all() {
    let w = Workshop::new();
    let mut daemon = w.begin(&[]);
    w.wait(|w| w.path("state/proof/index.html").exists());
    w.put("Mug/a.jpg", &photo("china", ""));
    w.wait(|w| text_of(w, "mug").contains("</html>"));
    let mug = page_of(&w, "mug").unwrap();
    let made = std::fs::read_to_string(&mug).unwrap();
    std::fs::write(&mug, "not as it was").unwrap();
    w.put("Bowl/a.jpg", &photo("flower", ""));
    w.wait(|w| text_of(w, "bowl").contains("</html>"));
    let index = || std::fs::read_to_string(w.path("state/proof/index.html")).unwrap();
    w.wait(|_| index().contains("<bdi>Bowl</bdi>"));
    assert!(index().contains("<bdi>Mug</bdi>"));
    assert_eq!(std::fs::read_to_string(&mug).unwrap(), "not as it was");
    signal(&daemon, Signal::TERM);
    daemon.wait().unwrap();
    w.once();
    assert_eq!(std::fs::read_to_string(&mug).unwrap(), made);
    assert!(index().contains("<bdi>Bowl</bdi>") && index().contains("<bdi>Mug</bdi>"));
}

/// Prints what goes into DEVELOPERS.md: the daemon's CPU time for one more batch beside archives.
#[test]
#[ignore = "a measurement: cargo test --release --test facts -- --ignored --nocapture one_more_batch"]
fn one_more_batch_beside_a_large_archive() {
    const BATCHES: u32 = 10;
    for listings in [1u32, 50, 500] {
        let w = Workshop::quick(&[
            ("settle", "20ms"),
            ("listing_settle", "50ms"),
            ("rescan", "1h"),
        ]);
        for i in 0..10 {
            w.put(&format!("Mug 0/{i}.jpg"), &small(i, &format!("{i}")));
        }
        w.once();
        copied(&w, listings);
        let mut daemon = w.begin(&[]);
        let pages = || w.files("state/proof").len();
        w.put("Warm/1.jpg", &small(0, "warm"));
        w.wait(|_| pages() > listings as usize * 11);
        std::thread::sleep(std::time::Duration::from_secs(2));
        let start = sample(daemon.id()).unwrap();
        for n in 0..BATCHES {
            w.put(
                &format!("New {n}/1.jpg"),
                &small(n as usize, &format!("new {n}")),
            );
            w.wait(|w| page_of(w, &format!("new-{n}")).is_some());
            std::thread::sleep(std::time::Duration::from_secs(1));
        }
        let end = sample(daemon.id()).unwrap();
        println!(
            "{} photos in {listings} listings: start {} ms, a batch of one photo {} ms, {} KiB",
            listings * 10,
            start.cpu,
            f64::from((end.cpu - start.cpu) as u32) / f64::from(BATCHES),
            end.resident
        );
        signal(&daemon, Signal::TERM);
        daemon.wait().unwrap();
    }
}

/// Makes the listing `Mug 0` of the ledger and its small pictures into so many.
fn copied(w: &Workshop, listings: u32) {
    let db = rusqlite::Connection::open(w.path("state/ledger.db")).unwrap();
    let pictures = w.path("state/proof/pictures");
    let one = w.files("state/proof/pictures").remove(0);
    let mut sql = String::from("BEGIN;");
    for n in 1..listings {
        sql += &format!(
            "INSERT INTO listing SELECT 'Mug {n}', 'mug-{n}', next FROM listing WHERE name='Mug 0';
             INSERT INTO photo SELECT id+{n}*100, randomblob(32), 'Mug {n}',
               CAST(replace(CAST(source AS TEXT), 'Mug 0', 'Mug {n}') AS BLOB), number, stem, captured,
               state, place, CAST(replace(CAST(path AS TEXT), 'Mug 0', 'Mug {n}') AS BLOB),
               dev, ino, size, mtime, ctime, note, note_hash, facts, correction
               FROM photo WHERE listing='Mug 0';
             INSERT INTO output SELECT photo+{n}*100, profile, replace(path, 'mug-0', 'mug-{n}'), hash,
               next_hash, temp, fingerprint, delivery, reasons, at, former, former_hash
               FROM output WHERE photo<100;"
        );
    }
    db.execute_batch(&(sql + "COMMIT;")).unwrap();
    let mut hashes = db.prepare("SELECT lower(hex(hash)) FROM photo").unwrap();
    let hashes = hashes.query_map([], |r| r.get::<_, String>(0)).unwrap();
    for hash in hashes {
        let to = pictures.join(format!("{}.jpg", &hash.unwrap()[..16]));
        if !to.exists() {
            std::fs::hard_link(pictures.join(&one), to).unwrap();
        }
    }
    for n in 1..listings {
        std::fs::create_dir_all(w.path(&format!("ready/listing/mug-{n}"))).unwrap();
    }
}
