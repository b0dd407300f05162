//! Hints from the operating system through notify. A hint only says where to look: a lost one
//! costs time, never a photo. Refuses to decide anything.

use std::path::{Path, PathBuf};

use notify::{Config, EventKind, RecommendedWatcher, RecursiveMode, Watcher};

/// Where to look.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Hint {
    /// Something happened at these absolute paths.
    Look(Vec<PathBuf>),
    /// Events were lost or the watch is in doubt: look everywhere.
    Everywhere,
    /// The watched folder itself was renamed or removed: this watch is of no more use.
    Ended,
}

/// Whether an event about a watched folder itself ends its watch.
fn ends(kind: &EventKind) -> bool {
    matches!(
        kind,
        EventKind::Remove(_) | EventKind::Modify(notify::event::ModifyKind::Name(_))
    )
}

/// A live watch; dropping it ends it.
pub struct Watch {
    watcher: RecommendedWatcher,
}

impl Watch {
    /// Watches `folder` with everything below it; hints go to `tell` from another thread.
    ///
    /// # Errors
    /// One sentence. Without a watch the rescan alone finds everything.
    pub fn start(folder: &Path, tell: impl Fn(Hint) + Send + 'static) -> Result<Self, String> {
        let top = folder.to_owned();
        let handle = move |event: notify::Result<notify::Event>| match event {
            // An overflow may carry no path: ask this first.
            Ok(e) if e.need_rescan() => tell(Hint::Everywhere),
            Ok(e) if matches!(e.kind, EventKind::Access(_)) => {}
            Ok(e) if ends(&e.kind) && e.paths.contains(&top) => tell(Hint::Ended),
            Ok(e) => tell(Hint::Look(e.paths)),
            Err(_) => tell(Hint::Everywhere),
        };
        let config = Config::default().with_follow_symlinks(false);
        let mut watcher = RecommendedWatcher::new(handle, config).map_err(|e| e.to_string())?;
        watcher
            .watch(folder, RecursiveMode::Recursive)
            .map_err(|e| match e.kind {
                notify::ErrorKind::MaxFilesWatch => {
                    "the system has no watches left; new photos are found at each rescan".to_owned()
                }
                _ => e.to_string(),
            })?;
        Ok(Self { watcher })
    }
    /// Also watches one more folder, without what is below it.
    ///
    /// # Errors
    /// One sentence.
    pub fn also(&mut self, folder: &Path) -> Result<(), String> {
        self.watcher
            .watch(folder, RecursiveMode::NonRecursive)
            .map_err(|e| e.to_string())
    }
}
