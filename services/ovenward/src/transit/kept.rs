//! Kept runs: `data_dir/transits/ID.json`, written whole or not at all.

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result};

use super::review::RunReview;

/// The folder of kept runs.
pub(crate) struct KeptRuns {
    folder: PathBuf,
}

impl KeptRuns {
    pub(crate) fn new(data_dir: &Path) -> Self {
        Self { folder: data_dir.join("transits") }
    }

    /// Keeps a run; the same run again takes the place of the one before.
    ///
    /// # Errors
    /// The file cannot be written.
    pub(crate) fn keep(&self, run: &RunReview) -> Result<PathBuf> {
        let path = self.folder.join(format!("{}.json", run.id));
        let write = || -> std::io::Result<()> {
            fs::create_dir_all(&self.folder)?;
            let unfinished = path.with_extension("part");
            fs::write(&unfinished, serde_json::to_vec_pretty(run)?)?;
            fs::rename(&unfinished, &path)
        };
        write().with_context(|| format!("cannot write {}", path.display()))?;
        Ok(path)
    }

    /// Every kept run, by line and time.
    ///
    /// # Errors
    /// A file that cannot be read, by its name.
    pub(crate) fn all(&self) -> Result<Vec<RunReview>> {
        let Ok(entries) = fs::read_dir(&self.folder) else { return Ok(Vec::new()) };
        let mut runs = Vec::new();
        for path in entries.filter_map(|entry| Some(entry.ok()?.path())) {
            if path.extension().is_some_and(|end| end == "json") {
                let text = fs::read(&path).with_context(|| format!("cannot read {}", path.display()))?;
                runs.push(serde_json::from_slice(&text).with_context(|| format!("{} is no run", path.display()))?);
            }
        }
        runs.sort_by(|a: &RunReview, b| (&a.line, a.entered).cmp(&(&b.line, b.entered)));
        Ok(runs)
    }

    /// The one run whose id this is, or holds it.
    ///
    /// # Errors
    /// None or several, with what there is; or a file that cannot be read.
    pub(crate) fn find(&self, id: &str) -> Result<RunReview> {
        let runs = self.all()?;
        if let Some(run) = runs.iter().find(|run| run.id == id) {
            return Ok(run.clone());
        }
        let alike: Vec<&RunReview> = runs.iter().filter(|run| run.id.contains(id)).collect();
        match alike.as_slice() {
            [run] => Ok((*run).clone()),
            [] => anyhow::bail!("there is no run {id:?}; `ovenward transit list` shows them"),
            several => {
                let ids: Vec<&str> = several.iter().map(|run| run.id.as_str()).collect();
                anyhow::bail!("{id:?} may be any of {}", ids.join(", "))
            }
        }
    }
}
