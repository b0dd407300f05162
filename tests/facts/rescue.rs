//! The ledger and the journal survive themselves: damaged, missing, from a newer program, not to be
//! written for a while.

use std::path::PathBuf;

use crate::workshop::{Workshop, photo};

fn ledger(w: &Workshop) -> PathBuf {
    w.path("state/ledger.db")
}

/// Two photos of a listing and a loose one delivered, one held with its note.
fn at_work() -> Workshop {
    let w = Workshop::new();
    w.put("Mug/a.jpg", &photo("china", "a"));
    w.put("Mug/b.jpg", &photo("flower", "b"));
    w.put("bowl.jpg", &photo("china", "c"));
    let whole = photo("flower", "");
    w.put("torn.jpg", &whole[..whole.len() / 2]);
    w.once();
    assert_eq!(w.files("ready").len(), 3);
    assert_eq!(w.files("held"), ["torn.jpg", "torn.jpg.txt"]);
    w
}

fn is_known_again(w: &Workshop, before: &[Vec<u8>]) {
    let contents = |w: &Workshop| -> Vec<Vec<u8>> {
        let all = w.files("ready");
        all.iter()
            .map(|f| std::fs::read(w.path("ready").join(f)).unwrap())
            .collect()
    };
    assert_eq!(contents(w), before, "nothing is made twice");
    let restored = w.events("restored");
    assert_eq!(restored.len(), 1);
    assert!(
        restored[0]["detail"].as_str().unwrap().contains("4 photos"),
        "{}",
        restored[0]
    );
    // The same photos again are known; a new one gets the next number.
    w.put("Mug/a again.jpg", &photo("china", "a"));
    w.put("bowl again.jpg", &photo("china", "c"));
    w.put("Mug/c.jpg", &photo("china", "new"));
    w.put("bowl.jpg", &photo("flower", "another bowl"));
    w.once();
    assert_eq!(
        w.files("ready"),
        [
            "listing/bowl-2.jpg",
            "listing/bowl.jpg",
            "listing/mug/mug-01.jpg",
            "listing/mug/mug-02.jpg",
            "listing/mug/mug-03.jpg"
        ]
    );
    assert_eq!(w.events("delivered").len(), 5);
    let again = w.events("ignored");
    assert_eq!(again.len(), 2);
    assert!(again.iter().all(|l| l["reasons"][0] == "seen-before"));
    // The note of a held photo is still ours: it goes when the photo is put back and is well.
    std::fs::rename(w.path("held/torn.jpg"), w.path("inbox/torn.jpg")).unwrap();
    w.once();
    assert_eq!(w.files("held"), ["torn.jpg", "torn.jpg.txt"]);
    w.is_gapless();
    // An output of ours is replaced in its place, one that she edited is left alone.
    std::fs::write(w.path("ready/listing/mug/mug-02.jpg"), b"hers").unwrap();
    w.run(&["redo", "--changed"]);
    assert_eq!(w.files("ready").len(), 5);
    assert_eq!(
        std::fs::read(w.path("ready/listing/mug/mug-02.jpg")).unwrap(),
        b"hers"
    );
    w.is_gapless();
}

fn outputs(w: &Workshop) -> Vec<Vec<u8>> {
    let all = w.files("ready");
    all.iter()
        .map(|f| std::fs::read(w.path("ready").join(f)).unwrap())
        .collect()
}

#[test]
fn a_damaged_ledger_is_set_aside_and_made_again_from_the_journal() {
    let w = at_work();
    let before = outputs(&w);
    let damaged =
        b"this is no database, whatever it was before, and long enough to be sure".repeat(40);
    std::fs::write(ledger(&w), &damaged).unwrap();
    w.once();
    assert_eq!(
        std::fs::read(w.path("state/ledger-damaged.db")).unwrap(),
        damaged
    );
    is_known_again(&w, &before);
}

#[test]
fn a_ledger_with_a_damaged_page_is_made_again_too() {
    let w = at_work();
    let before = outputs(&w);
    let mut bytes = std::fs::read(ledger(&w)).unwrap();
    let from = 4096.min(bytes.len());
    bytes[from..].fill(0xA5);
    std::fs::write(ledger(&w), &bytes).unwrap();
    w.once();
    is_known_again(&w, &before);
}

#[test]
fn a_ledger_that_is_gone_is_made_again_also_when_killed_while_doing_so() {
    let w = at_work();
    let before = outputs(&w);
    std::fs::remove_file(ledger(&w)).unwrap();
    let mut kills = 0;
    // Removing is the same as killed between setting the old one aside and placing the new one.
    for n in 1..=4 {
        kills += usize::from(w.once_in_trouble(&format!("kill:{n}")).is_none());
        if !w.events("restored").is_empty() {
            break;
        }
    }
    assert!(kills > 0);
    w.once();
    is_known_again(&w, &before);
}

#[test]
fn an_output_that_she_edited_before_the_damage_stays_hers() {
    let w = at_work();
    let hers = w.path("ready/listing/bowl.jpg");
    std::thread::sleep(std::time::Duration::from_millis(2200));
    let mut bytes = std::fs::read(&hers).unwrap();
    let last = bytes.len() - 1;
    bytes[last] ^= 1;
    std::fs::write(&hers, &bytes).unwrap();
    std::fs::remove_file(w.path("ready/listing/mug/mug-01.jpg")).unwrap();
    std::fs::write(ledger(&w), b"no database").unwrap();
    w.once();
    w.run(&["redo"]);
    assert_eq!(std::fs::read(&hers).unwrap(), bytes);
    assert_eq!(
        w.files("ready"),
        ["listing/bowl.jpg", "listing/mug/mug-02.jpg"]
    );
}

#[test]
fn a_ledger_of_a_newer_program_is_refused_in_words_and_left_alone() {
    let w = at_work();
    let db = rusqlite::Connection::open(ledger(&w)).unwrap();
    db.pragma_update(None, "user_version", 99).unwrap();
    drop(db);
    let before = std::fs::read(ledger(&w)).unwrap();
    let out = w.run(&["once"]);
    assert_eq!(out.status.code(), Some(2));
    let words = String::from_utf8_lossy(&out.stderr).into_owned();
    assert!(
        words.contains("format 99") && words.contains("hint: install the newer Stallhand"),
        "{words}"
    );
    assert_eq!(std::fs::read(ledger(&w)).unwrap(), before);
    assert!(w.events("restored").is_empty());
}

#[test]
fn while_the_journal_cannot_be_written_photos_are_delivered_and_the_lines_come_later() {
    let w = Workshop::new();
    // A folder in the place of the month's file: nobody can write it, an administrator neither.
    let now = time::OffsetDateTime::now_utc();
    for month in [now, now + time::Duration::days(1)] {
        let name = format!("{}-{:02}.jsonl", month.year(), u8::from(month.month()));
        std::fs::create_dir_all(w.path("state/journal").join(name)).unwrap();
    }
    w.put("Mug/a.jpg", &photo("china", "a"));
    w.put("bowl.jpg", &photo("flower", "b"));
    w.once();
    assert_eq!(
        w.files("ready"),
        ["listing/bowl.jpg", "listing/mug/mug-01.jpg"]
    );
    assert_eq!(w.files("originals").len(), 2);
    assert!(w.journal().is_empty());
    std::fs::remove_dir_all(w.path("state/journal")).unwrap();
    w.once();
    assert_eq!(w.events("delivered").len(), 2);
    assert_eq!(w.events("started").len(), 2);
    w.is_gapless();
}

#[test]
fn a_damaged_ledger_still_gives_the_lines_that_the_journal_lacks() {
    let w = at_work();
    // As if the last lines had not reached the file, and then the ledger's photos were destroyed.
    let folder = w.path("state/journal");
    let file = folder.join(&w.files("state/journal")[0]);
    let text = std::fs::read_to_string(&file).unwrap();
    let lines: Vec<&str> = text.lines().collect();
    let (kept, lost) = lines.split_at(lines.len() - 2);
    std::fs::write(&file, kept.join("\n") + "\n").unwrap();
    let db = rusqlite::Connection::open(ledger(&w)).unwrap();
    for (i, line) in lost.iter().enumerate() {
        let seq = (kept.len() + i + 1) as i64;
        db.execute("INSERT INTO outbox(seq,line) VALUES (?1,?2)", (seq, line))
            .unwrap();
    }
    let page: i64 = db
        .query_row(
            "SELECT rootpage FROM sqlite_master WHERE name='photo'",
            [],
            |r| r.get(0),
        )
        .unwrap();
    let _: i64 = db
        .query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |r| r.get(0))
        .unwrap();
    drop(db);
    let mut bytes = std::fs::read(ledger(&w)).unwrap();
    let at = (page as usize - 1) * 4096;
    bytes[at..at + 4096].fill(0xA5);
    std::fs::write(ledger(&w), bytes).unwrap();
    w.once();
    assert_eq!(w.events("restored").len(), 1);
    let now = w.journal();
    for (i, line) in lines.iter().enumerate() {
        assert_eq!(
            now[i].to_string(),
            serde_json::from_str::<serde_json::Value>(line)
                .unwrap()
                .to_string()
        );
    }
    w.is_gapless();
}

#[test]
fn a_ledger_of_every_format_that_was_ever_written_opens() {
    for format in 1.. {
        // Written when it was the format: Mug/a.jpg and Mug/b.jpg delivered as 1 and 2, bowl.jpg, one held.
        let frozen = format!(
            "{}/tests/facts/ledgers/format-{format}.db",
            env!("CARGO_MANIFEST_DIR")
        );
        if !std::path::Path::new(&frozen).exists() {
            assert_eq!(format, stallhand::deliver::ledger::VERSION + 1);
            return;
        }
        let w = Workshop::new();
        std::fs::create_dir(w.path("state")).unwrap();
        std::fs::copy(frozen, ledger(&w)).unwrap();
        w.put("Mug/a.jpg", &photo("china", "a"));
        w.put("Mug/c.jpg", &photo("flower", "c"));
        w.once();
        assert_eq!(w.files("ready"), ["listing/mug/mug-03.jpg"], "{format}");
        let again = w.events("ignored");
        assert_eq!(again.len(), 1, "{format}");
        assert_eq!(again[0]["reasons"][0], "seen-before");
    }
}
