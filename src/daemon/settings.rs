//! Settings that change while the daemon runs: a good file is taken up at once, a broken one is
//! reported and the old settings stay. Owns when to look; the rules live in `config`.

use std::path::Path;

use crate::base::disk::{Stamp, text};
use crate::config;

use super::house::House;
use super::sheet::Due;

impl House {
    /// The stamp of the configuration file, if there is one.
    pub(super) fn settings_stamp(&self) -> Option<Stamp> {
        let file = self.config.file.as_ref()?;
        let folder = file.parent()?;
        let root = self.disk.root(folder).ok()?;
        let name = Path::new(file.file_name()?);
        // A linked file is judged by its link; editors replace the file itself.
        Some(root.stat(name).ok()??.stamp)
    }

    /// Takes up a changed configuration file.
    pub(super) fn look_at_settings(&mut self) {
        let stamp = self.settings_stamp();
        if stamp.is_none() || stamp == self.settings {
            return;
        }
        self.settings = stamp;
        let Some(file) = self.config.file.clone() else {
            return;
        };
        match config::load(Some(&file)) {
            Err(e) => tracing::error!("{e}\nthe settings before stay in force"),
            Ok(new) if new.folders != self.config.folders => tracing::error!(
                "{}: the folders changed\nhint: stop Stallhand and start it again; until then the settings before stay in force",
                text(&file)
            ),
            Ok(new) => {
                self.most_workers = new.workers.most();
                self.config = new;
                self.due = Due::All;
                tracing::info!("{}: the changed settings are in force", text(&file));
            }
        }
    }
}
