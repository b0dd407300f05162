//! A photo that ends its worker is held, across restarts, and innocent photos never are.

use std::path::Path;
use std::time::{Duration, Instant};

use crate::workshop::{Workshop, photo};

fn name_of(bytes: &[u8]) -> String {
    blake3::hash(bytes).to_hex()[..16].to_owned()
}

/// One number out of the ledger, beside a running daemon.
fn number(ledger: &Path, sql: &str) -> i64 {
    let db = rusqlite::Connection::open(ledger).unwrap();
    db.busy_timeout(Duration::from_secs(5)).unwrap();
    db.query_row(sql, [], |r| r.get(0)).unwrap_or(0)
}

#[test]
fn a_photo_that_ends_its_worker_twice_is_held_and_innocent_ones_are_delivered() {
    let w = Workshop::new();
    let poison = photo("china", "poison");
    w.put("Mug/a.jpg", &photo("china", "a"));
    w.put("Mug/b.jpg", &poison);
    w.put("Mug/c.jpg", &photo("flower", "c"));
    w.put("bowl.jpg", &photo("flower", "d"));
    w.once_with(&[("STALLHAND_WORKER_POISON", &name_of(&poison))]);
    let held = w.events("held");
    assert_eq!(held.len(), 1);
    assert_eq!(held[0]["reasons"][0], "broke-its-worker");
    assert_eq!(held[0]["source"], "Mug/b.jpg");
    let failed = w.events("failed");
    assert_eq!(failed.len(), 1);
    assert_eq!(failed[0]["source"], "Mug/b.jpg");
    assert_eq!(w.events("delivered").len(), 3);
    assert_eq!(std::fs::read(w.path("held/Mug/b.jpg")).unwrap(), poison);
}

#[test]
fn a_photo_that_ends_its_worker_while_its_header_is_read_is_held_and_innocent_ones_are_not() {
    let w = Workshop::new();
    let poison = photo("china", "poison");
    let name = name_of(&poison);
    let (hang, ledger) = (format!("hang:survey:{name}"), w.path("state/ledger.db"));
    w.put("Mug/b.jpg", &poison);
    // The daemon dies three times with it in hand: that counts once, across restarts.
    for death in 1..=3 {
        let mut child = w.start(&[("STALLHAND_WORKER_POISON", &hang)]);
        let end = Instant::now() + Duration::from_secs(40);
        while w.events("started").len() < death || number(&ledger, "SELECT count(*) FROM hand") == 0
        {
            assert!(Instant::now() < end, "it was never taken in hand");
            std::thread::sleep(Duration::from_millis(20));
        }
        child.kill().unwrap();
        child.wait().unwrap();
    }
    w.put("Mug/a.jpg", &photo("china", "a"));
    w.put("Mug/c.jpg", &photo("flower", "c"));
    w.put("bowl.jpg", &photo("flower", "d"));
    let poisoned = [("STALLHAND_WORKER_POISON", &*format!("survey:{name}"))];
    w.once_with(&poisoned);
    let held = w.events("held");
    assert_eq!(held.len(), 1);
    assert_eq!(held[0]["reasons"][0], "broke-its-worker");
    assert_eq!(held[0]["source"], "Mug/b.jpg");
    assert!(w.events("failed").is_empty());
    assert_eq!(w.events("delivered").len(), 3);
    assert_eq!(std::fs::read(w.path("held/Mug/b.jpg")).unwrap(), poison);
    assert_eq!(number(&ledger, "SELECT count(*) FROM hand"), 0);
    // Put back it is a new request with a clean slate: two deaths more.
    std::fs::rename(w.path("held/Mug/b.jpg"), w.path("inbox/Mug/b.jpg")).unwrap();
    w.once_with(&poisoned);
    assert_eq!((w.events("failed").len(), w.events("held").len()), (1, 2));
    assert_eq!(std::fs::read(w.path("held/Mug/b.jpg")).unwrap(), poison);
}

/// What the ledger still has open of photos in hand, to be made again, or counted as dead.
const OPEN: &str = "SELECT (SELECT count(*) FROM remake) + (SELECT count(*) FROM hand) + (SELECT count(*) FROM death)";

/// A workshop with one photo delivered, that photo, and its output.
fn one_delivered() -> (Workshop, Vec<u8>, Vec<u8>) {
    let w = Workshop::new();
    let poison = photo("china", "poison");
    w.put("a.jpg", &poison);
    w.once();
    let made = std::fs::read(w.path("ready/listing/a.jpg")).unwrap();
    (w, poison, made)
}

/// Kills the daemon so many times while a worker has the photo, and nothing else, in hand.
fn killed_with_it_in_hand(w: &Workshop, poison: &[u8], times: usize) {
    let (hang, ledger) = (
        format!("hang:{}", name_of(poison)),
        w.path("state/ledger.db"),
    );
    // Its header is read first, under another mark.
    let hash = blake3::hash(poison).to_hex();
    let held = format!("SELECT count(*) FROM hand WHERE hash = x'{hash}'");
    let before = w.events("started").len();
    for death in 1..=times {
        let mut child = w.start(&[("STALLHAND_WORKER_POISON", &hang)]);
        let end = Instant::now() + Duration::from_secs(40);
        while w.events("started").len() < before + death || number(&ledger, &held) == 0 {
            assert!(Instant::now() < end, "it was never taken in hand");
            std::thread::sleep(Duration::from_millis(20));
        }
        child.kill().unwrap();
        child.wait().unwrap();
    }
}

#[test]
fn three_deaths_of_the_daemon_with_a_photo_alone_in_hand_count_as_one() {
    let w = Workshop::new();
    let poison = photo("china", "poison");
    let ledger = w.path("state/ledger.db");
    w.put("a.jpg", &poison);
    killed_with_it_in_hand(&w, &poison, 3);
    let counted = "SELECT coalesce(max(counted),0) FROM death";
    assert_eq!(number(&ledger, counted), 0);
    w.put("b.jpg", &photo("flower", "b"));
    // The daemon's three deaths were one; the worker's is the second.
    w.once_with(&[("STALLHAND_WORKER_POISON", &name_of(&poison))]);
    let held = w.events("held");
    assert_eq!(held.len(), 1);
    assert_eq!(held[0]["reasons"][0], "broke-its-worker");
    assert!(w.events("failed").is_empty());
    assert_eq!(w.files("ready"), ["listing/b.jpg"]);
    assert_eq!(std::fs::read(w.path("held/a.jpg")).unwrap(), poison);
}

#[test]
fn a_photo_that_takes_the_daemon_along_six_times_is_held_unread_and_put_back_is_read() {
    let w = Workshop::new();
    let poison = photo("china", "poison");
    w.put("a.jpg", &poison);
    killed_with_it_in_hand(&w, &poison, 6);
    let hang = format!("hang:{}", name_of(&poison));
    w.once_with(&[("STALLHAND_WORKER_POISON", &hang)]);
    let held = w.events("held");
    assert_eq!(held.len(), 1);
    assert_eq!(held[0]["reasons"][0], "broke-its-worker");
    assert_eq!(std::fs::read(w.path("held/a.jpg")).unwrap(), poison);
    std::fs::rename(w.path("held/a.jpg"), w.path("inbox/a.jpg")).unwrap();
    w.once();
    assert_eq!(w.files("ready"), ["listing/a.jpg"]);
}

/// Kills the daemon once while no photo is in its inbox.
fn killed_with_empty_hands(w: &Workshop) {
    let aside = w.path("aside.jpg");
    std::fs::rename(w.path("inbox/a.jpg"), &aside).unwrap();
    let before = w.events("started").len();
    let mut child = w.start(&[]);
    w.wait(|w| w.events("started").len() > before);
    child.kill().unwrap();
    child.wait().unwrap();
    std::fs::rename(&aside, w.path("inbox/a.jpg")).unwrap();
}

#[test]
fn a_death_of_the_daemon_with_nothing_in_hand_breaks_the_row_of_deaths() {
    let w = Workshop::new();
    let poison = photo("china", "poison");
    w.put("a.jpg", &poison);
    let said = || {
        ["row", "counted"].map(|c| {
            let sql = format!("SELECT coalesce(max({c}),0) FROM death");
            number(&w.path("state/ledger.db"), &sql)
        })
    };
    for _ in 0..3 {
        killed_with_it_in_hand(&w, &poison, 2);
        // The first start sees the second death, the second one that nothing was in hand.
        killed_with_empty_hands(&w);
        assert_eq!(said(), [2, 0]);
        killed_with_empty_hands(&w);
        assert_eq!(said(), [0, 0]);
    }
    killed_with_it_in_hand(&w, &poison, 3);
    killed_with_empty_hands(&w);
    assert_eq!(said(), [0, 1]);
    w.once();
    assert_eq!(w.files("ready"), ["listing/a.jpg"]);
    assert!(w.events("held").is_empty());
}

#[test]
fn a_stop_with_a_photo_in_hand_forgives_none_of_its_deaths() {
    let w = Workshop::new();
    let poison = photo("china", "poison");
    w.put("a.jpg", &poison);
    killed_with_it_in_hand(&w, &poison, 3);
    let ledger = w.path("state/ledger.db");
    let counted = || number(&ledger, "SELECT coalesce(max(counted),0) FROM death");
    let hang = format!("hang:{}", name_of(&poison));
    let mut child = w.begin(&[("STALLHAND_WORKER_POISON", &hang)]);
    w.wait(|_| number(&ledger, "SELECT count(*) FROM hand") == 1 && counted() == 1);
    crate::workshop::signal(&child, rustix::process::Signal::TERM);
    assert_eq!(child.wait().unwrap().code(), Some(0));
    assert_eq!(number(&ledger, "SELECT count(*) FROM hand"), 0);
    assert_eq!(counted(), 1);
}

#[test]
fn an_output_whose_making_again_ends_the_daemon_six_times_stays_as_it_is_until_it_is_asked_for() {
    let (w, poison, made) = one_delivered();
    let ask = r#"{"redo":{"names":["a.jpg"],"changed":false}}"#;
    std::fs::write(w.path("state/requests/1.ask"), ask).unwrap();
    killed_with_it_in_hand(&w, &poison, 6);
    let hang = format!("hang:{}", name_of(&poison));
    w.once_with(&[("STALLHAND_WORKER_POISON", &hang)]);
    let told = w.events("ignored");
    assert_eq!(told.len(), 1, "{told:?}");
    let detail = told[0]["detail"].as_str().unwrap();
    assert!(detail.contains("again and again"), "{detail}");
    assert!(std::fs::read(w.path("ready/listing/a.jpg")).unwrap() == made);
    assert_eq!(std::fs::read(w.path("originals/a.jpg")).unwrap(), poison);
    assert_eq!(number(&w.path("state/ledger.db"), OPEN), 0);
    // Asked for again it is tried again.
    w.run(&["redo", "a.jpg"]);
    assert_eq!(w.events("ignored").len(), 1);
    assert_eq!(w.events("delivered").len(), 2);
}

#[test]
fn an_output_whose_making_again_ends_its_worker_is_tried_twice_and_stays() {
    let (w, poison, made) = one_delivered();
    let name = name_of(&poison);
    let out = w.run_with(&["redo", "a.jpg"], &[("STALLHAND_WORKER_POISON", &*name)]);
    let said = String::from_utf8_lossy(&out.stderr);
    assert_eq!(
        said.matches("ended its worker process").count(),
        2,
        "{said}"
    );
    assert_eq!(w.events("ignored").len(), 1);
    assert!(std::fs::read(w.path("ready/listing/a.jpg")).unwrap() == made);
    assert_eq!(number(&w.path("state/ledger.db"), OPEN), 0);
}
