//! A listing as a set: its order and numbers, the text beside its outputs.

use std::collections::HashMap;

use crate::workshop::{Workshop, photo};

/// Photos of one listing whose outputs differ, as their corrections say; each delivered before the next.
fn one_by_one(names: &[&str]) -> Workshop {
    let w = Workshop::new();
    for (i, name) in names.iter().enumerate() {
        let word = format!("[listing]\ncrop = [{}, 20, 400, 300]\n", 10 + 20 * i);
        w.put(&format!("Mug/{name}.framing.toml"), word.as_bytes());
        w.put(&format!("Mug/{name}"), &photo("china", name));
        assert_eq!(w.once(), 0);
    }
    w
}

/// Which photo each output of the listing shows, by its bytes.
struct Known(HashMap<blake3::Hash, String>);

impl Known {
    fn of(w: &Workshop) -> Self {
        let told = w.events("delivered").into_iter().map(|l| {
            let bytes = std::fs::read(w.path("ready").join(l["output"].as_str().unwrap())).unwrap();
            let source = l["source"].as_str().unwrap().to_owned();
            (blake3::hash(&bytes), source)
        });
        Self(told.collect())
    }
    /// File names of the listing with the photos they show, `?` for what is none of ours.
    fn shown(&self, w: &Workshop) -> Vec<String> {
        let files = w.files("ready/listing/mug").into_iter();
        let files = files.filter(|f| !f.ends_with(".part"));
        files
            .map(|f| {
                let bytes = std::fs::read(w.path("ready/listing/mug").join(&f)).unwrap();
                let source = self.0.get(&blake3::hash(&bytes));
                let leaf = source.map_or("?", |s| s.trim_start_matches("Mug/"));
                format!("{} {leaf}", f.trim_start_matches("mug-"))
            })
            .collect()
    }
}

#[test]
fn redo_of_a_listing_numbers_it_anew_by_her_order_and_then_by_the_camera() {
    let w = one_by_one(&["d.jpg", "c.jpg", "b.jpg", "a.jpg"]);
    let known = Known::of(&w);
    let before = [
        "01.jpg d.jpg",
        "02.jpg c.jpg",
        "03.jpg b.jpg",
        "04.jpg a.jpg",
    ];
    assert_eq!(known.shown(&w), before);
    w.run(&["redo"]);
    assert_eq!(known.shown(&w), before, "only a listing that is named");
    assert_eq!(w.run(&["redo", "Mug"]).status.code(), Some(0));
    assert_eq!(
        known.shown(&w),
        [
            "01.jpg a.jpg",
            "02.jpg b.jpg",
            "03.jpg c.jpg",
            "04.jpg d.jpg"
        ]
    );
    let renamed: Vec<(String, String)> = w
        .events("delivered")
        .iter()
        .filter(|l| l["replaces"].is_string() && l["replaces"] != l["output"])
        .map(|l| (l["replaces"].to_string(), l["output"].to_string()))
        .collect();
    assert_eq!(renamed.len(), 4, "{renamed:?}");
    // Her own order, in originals too; the others follow.
    let order = "order = [\"c.jpg\", \"nobody.jpg\", \"d.jpg\"]\n";
    std::fs::write(w.path("originals/Mug/listing.toml"), order).unwrap();
    let out = w.run(&["redo", "Mug"]);
    let words = String::from_utf8_lossy(&out.stderr).into_owned();
    assert!(
        words.contains("nobody.jpg is the name of no photo"),
        "{words}"
    );
    assert_eq!(
        known.shown(&w),
        [
            "01.jpg c.jpg",
            "02.jpg d.jpg",
            "03.jpg a.jpg",
            "04.jpg b.jpg"
        ]
    );
    // What is told later speaks of the new names, and the next photo gets the next number.
    let story = w.run(&["why", "mug-01"]);
    assert!(String::from_utf8_lossy(&story.stdout).contains("Mug/c.jpg"));
    w.put("Mug/e.jpg", &photo("flower", "e"));
    w.once();
    assert_eq!(w.files("ready/listing/mug").len(), 5);
    assert!(w.path("ready/listing/mug/mug-05.jpg").exists());
}

#[test]
fn what_she_edited_or_put_there_keeps_its_name_and_what_she_deleted_stays_away() {
    let w = one_by_one(&["e.jpg", "d.jpg", "c.jpg", "b.jpg", "a.jpg"]);
    let known = Known::of(&w);
    let file = |n: &str| w.path("ready/listing/mug").join(n);
    std::fs::write(file("mug-02.jpg"), b"edited").unwrap();
    std::fs::remove_file(file("mug-05.jpg")).unwrap();
    std::fs::write(file("mug-05.jpg"), b"another picture of hers").unwrap();
    std::fs::remove_file(file("mug-03.jpg")).unwrap();
    std::fs::write(file("mug-06.png"), b"a drawing").unwrap();
    let out = w.run(&["redo", "Mug"]);
    let words = String::from_utf8_lossy(&out.stdout).into_owned();
    // d.jpg was edited and a.jpg has hers in its place: both keep their numbers.
    assert_eq!(
        known.shown(&w),
        [
            "01.jpg b.jpg",
            "02.jpg ?",
            "03.jpg e.jpg",
            "05.jpg ?",
            "06.png ?"
        ]
    );
    assert_eq!(std::fs::read(file("mug-02.jpg")).unwrap(), b"edited");
    assert!(words.contains("mug-02.jpg: you edited it"), "{words}");
    assert!(words.contains("mug-04.jpg: you deleted it"), "{words}");
    // Named itself, each is made again: the deleted one under its number, the edited one beside hers.
    w.run(&["redo", "Mug/c.jpg", "mug-02"]);
    assert_eq!(
        known.shown(&w),
        [
            "01.jpg b.jpg",
            "02-2.jpg d.jpg",
            "02.jpg ?",
            "03.jpg e.jpg",
            "04.jpg c.jpg",
            "05.jpg ?",
            "06.png ?"
        ]
    );
    w.once();
    assert_eq!(std::fs::read(file("mug-02.jpg")).unwrap(), b"edited");
}

#[test]
fn killed_at_any_disk_operation_a_renumbering_leaves_every_output_exactly_once() {
    let template = one_by_one(&["d.jpg", "c.jpg", "b.jpg", "a.jpg"]);
    let order = "order = [\"c.jpg\", \"b.jpg\", \"a.jpg\"]\n";
    std::fs::write(template.path("inbox/Mug/listing.toml"), order).unwrap();
    let known = Known::of(&template);
    let before = known.shown(&template);
    // A circle of four.
    let after = [
        "01.jpg c.jpg",
        "02.jpg b.jpg",
        "03.jpg a.jpg",
        "04.jpg d.jpg",
    ];
    let (mut untouched, mut struck) = (0, 0);
    for n in 1..=9 {
        let w = template.copy();
        let ended = w.run_with(
            &["redo", "Mug"],
            &[("STALLHAND_DISK_TROUBLE", &format!("kill:{n}"))],
        );
        assert_eq!(ended.status.code(), None, "it is killed at {n}");
        let now = known.shown(&w);
        let mut photos: Vec<&str> = now.iter().map(|l| &l[7..]).collect();
        photos.sort_unstable();
        assert_eq!(photos, ["a.jpg", "b.jpg", "c.jpg", "d.jpg"], "{n}: {now:?}");
        struck += usize::from(now != before && now != after);
        w.once();
        let now = known.shown(&w);
        assert!(now == before || now == after, "{n}: {now:?}");
        let told = w.events("delivered").len();
        // One line each when it is renamed, and another for what was made again before the end came.
        let right = if now == before { 4..=4 } else { 8..=12 };
        assert!(right.contains(&told), "{n}: {told} lines");
        if now == before {
            untouched += 1;
            w.run(&["redo", "--changed", "Mug"]);
            assert_eq!(known.shown(&w), after, "{n}");
        }
    }
    assert!(struck >= 2 && untouched >= 2, "{struck} {untouched}");
}

#[test]
fn a_text_beside_the_outputs_tells_their_order_and_is_hers_once_she_touches_it() {
    let w = Workshop::with("", "wish = 5\n");
    w.put("Mug/b.jpg", &photo("china", ""));
    w.put("bowl.jpg", &photo("china", "bowl"));
    w.once();
    let file = w.path("ready/listing/mug/LISTING.txt");
    let read = || std::fs::read_to_string(&file).unwrap();
    let line = |text: &str, name: &str| -> String {
        let l = text.lines().find(|l| l.contains(name));
        l.unwrap_or_else(|| panic!("{name} in {text}")).to_owned()
    };
    let first = read();
    assert!(
        line(&first, "mug-01.jpg").starts_with("  1  mug-01.jpg"),
        "{first}"
    );
    assert!(first.contains("fewer photos than"), "{first}");
    assert!(
        !w.path("ready/listing/LISTING.txt").exists(),
        "not for loose photos"
    );
    // A photo more, and one that is held.
    w.put("Mug/a.jpg", &photo("flower", ""));
    let whole = photo("flower", "torn");
    w.put("Mug/torn.jpg", &whole[..whole.len() / 2]);
    w.once();
    let second = read();
    assert!(
        line(&second, "mug-02.jpg").starts_with("  2  mug-02.jpg"),
        "{second}"
    );
    assert!(
        second.contains("Held, so not here:") && second.contains("torn.jpg"),
        "{second}"
    );
    // Renumbered: what is told follows.
    let bytes = std::fs::read(w.path("ready/listing/mug/mug-01.jpg")).unwrap();
    w.run(&["redo", "--changed", "Mug"]);
    assert_eq!(
        std::fs::read(w.path("ready/listing/mug/mug-02.jpg")).unwrap(),
        bytes
    );
    let third = read();
    let size = |t: &str, name: &str| line(t, name).split_whitespace().last().map(str::to_owned);
    let weight = |t: &str, name: &str| line(t, name)[..40.min(line(t, name).len())].to_owned();
    assert_ne!(weight(&second, "mug-01"), weight(&third, "mug-01"));
    assert!(size(&third, "mug-01").is_some());
    // Hers from now on.
    std::fs::write(&file, "my own notes").unwrap();
    w.put("Mug/c.jpg", &photo("china", "c"));
    w.once();
    assert_eq!(read(), "my own notes");
    std::fs::remove_file(&file).unwrap();
    w.put("Mug/d.jpg", &photo("china", "d"));
    w.once();
    assert!(!file.exists(), "she deleted it");
    w.run(&["redo", "Mug"]);
    assert!(
        read().contains("mug-04.jpg"),
        "named, it is put there again"
    );
    let hidden = std::fs::read_dir(file.parent().unwrap()).unwrap();
    let hidden = hidden.filter(|e| {
        e.as_ref()
            .unwrap()
            .file_name()
            .to_string_lossy()
            .starts_with('.')
    });
    assert_eq!(hidden.count(), 0);
}
