//! The house driven by hand through thousands of random lives: photos and corrections arrive in any
//! order, hints come or not, answers come late, the process dies, the disk fails. What stands at the
//! end depends on the photos and the corrections alone.
//!
//! Only pictures that are delivered come in several copies: of two copies of a held one, a correction
//! releases the later alone. `PROPTEST_CASES=100000 cargo test --release --test facts model::` lives longer.

mod cast;
mod life;

use proptest::test_runner::{Config as Runs, TestRunner};

use stallhand::base::disk::Disk;

use cast::{Nature, Photo, SECOND, Step, photos, steps};
use life::Life;

#[test]
fn whatever_happens_on_the_way_the_end_depends_on_the_photos_and_corrections_alone() {
    let cases = std::env::var("PROPTEST_CASES").ok();
    let cases = cases.and_then(|c| c.parse().ok()).unwrap_or(2000);
    let mut runner = TestRunner::new(Runs {
        cases,
        failure_persistence: None,
        max_shrink_iters: 2000,
        ..Runs::default()
    });
    let lived = runner.run(&(photos(), steps()), |(photos, steps)| {
        let mut life = Life::begin(photos);
        for step in &steps {
            life.step(step);
        }
        life.finish_half();
        for i in 0..life.photos.len() {
            life.put(i);
            life.correct(i);
        }
        life.settle();
        life.check();
        life.check_names();
        Ok(())
    });
    if let Err(why) = lived {
        panic!("{why}");
    }
}

/// One that is delivered, two of a listing of which one is corrected, one that is held.
fn four() -> Vec<Photo> {
    let photo = |listing, leaf: &str, nature, word| Photo {
        listing,
        leaf: leaf.into(),
        content: format!("{nature:?} picture {leaf} END"),
        nature,
        captured: None,
        word,
    };
    vec![
        photo("", "a.jpg", Nature::Good, None),
        photo("Mug", "b.jpg", Nature::Good, None),
        photo("Mug", "c.jpg", Nature::Good, Some((105, true))),
        photo("Mug", "d.jpg", Nature::Tight, None),
    ]
}

#[test]
fn a_disk_that_fails_or_is_full_at_any_operation_costs_time_and_no_photo() {
    // EIO and ENOSPC, on a file system that knows an exchange and on one that does not.
    for (errno, bare) in [(5, false), (28, false), (5, true), (28, true)] {
        let mut n = 1;
        loop {
            let mut life = Life::begin(four());
            let disk = Disk::failing(errno, n, n + 1);
            let disk = if bare { disk.bare() } else { disk };
            life.open(disk.clone());
            life.failed = true;
            for i in 0..4 {
                life.put(i);
            }
            life.settle();
            life.check_truth();
            // A word that comes later: outputs are replaced, and a listing is numbered anew.
            life.correct(2);
            life.settle();
            life.check();
            life.check_names();
            if disk.operations() < n {
                break;
            }
            n += 1;
        }
        println!("{n} operations, error {errno}, bare: {bare}");
        assert!(n > 40, "only {n} operations");
    }
}

#[test]
fn a_file_that_keeps_changing_is_told_after_a_minute_and_no_sooner() {
    let photo = Photo {
        listing: "Mug",
        leaf: "a.jpg".into(),
        content: "Good picture END".into(),
        nature: Nature::Good,
        captured: None,
        word: None,
    };
    let mut life = Life::begin(vec![photo]);
    let told = |life: &Life| life.files("state").get("now.json").cloned();
    let now = |life: &Life| life.clock.now();
    for n in 0..75 {
        life.write(0, &"x".repeat(n));
        let t = now(&life);
        if n % 3 > 0 {
            life.step(&Step::Hint(0));
        }
        life.tick();
        // Read in a pause it cannot be decoded: that is waiting too.
        life.answer(0);
        let said = told(&life).is_some_and(|t| t.contains("\"changing\":[\"Mug/a.jpg\"]"));
        assert_eq!(said, t >= 61 * SECOND, "{t:?}");
        life.wait(SECOND);
    }
    life.write(0, "Good picture END");
    life.settle();
    assert_eq!(told(&life), None);
    life.put[0] = true;
    life.check();
}

#[test]
fn what_a_worker_said_of_half_a_photo_is_not_said_of_the_whole_one_that_has_come_since() {
    let photo = |leaf: &str, second, nature| Photo {
        listing: "Mug",
        leaf: leaf.into(),
        content: format!("{nature:?} picture {leaf} \"2026-03-01T09:30:{second}\" END"),
        nature,
        captured: Some(format!("2026-03-01T09:30:{second}")),
        word: None,
    };
    for nature in [Nature::Good, Nature::Poison] {
        let mut life = Life::begin(vec![
            photo("a.jpg", 50, Nature::Good),
            photo("b.jpg", 49, nature),
        ]);
        life.step(&Step::PutHalf(1));
        life.tick();
        life.wait(3 * SECOND);
        life.step(&Step::Scan);
        life.wait(4 * SECOND);
        life.tick();
        let (job, _) = life.jobs.pop().unwrap();
        let half = life.work(&job);
        // A minute later, when such a file is held, the rest has come unseen.
        life.wait(61 * SECOND);
        let now = life.clock.now();
        life.house().done(half, now);
        life.put(0);
        life.settle();
        let lines = life.house().journal_lines();
        let undecodable = |l: &&stallhand::base::record::Record| {
            let codes = l.reasons.as_deref().unwrap_or_default();
            codes.iter().any(|c| c == "undecodable")
        };
        assert_eq!(lines.iter().find(undecodable), None);
        life.check();
        life.check_names();
    }
}
