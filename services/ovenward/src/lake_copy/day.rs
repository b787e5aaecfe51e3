//! A day: its sealed readings as they are, and of each shift that ended on it the table and when what was baked.

use std::sync::Arc;

use ::lake::{Kind, NewObject, Object, folder_name};
use anyhow::Result;
use reading::{LineIndex, ShiftInstance, Timestamp};
use shift_profile::Stretch;
use tokio::task::block_in_place;

use super::{Due, LakeCopy, Sent};
use crate::stored;
use crate::table::{self, Column};

/// When one product was baked without a break, within one shift.
struct StretchOfShift {
    site: Arc<str>,
    line: Arc<str>,
    shift: ShiftInstance,
    stretch: Stretch,
}

const STRETCHES: &[Column<StretchOfShift>] = &[
    Column::text("site", "The site's id.", |row| Some(row.site.to_string())),
    Column::text("line", "The line's id.", |row| Some(row.line.to_string())),
    Column::text("date", "Local date on which the shift began.", |row| Some(row.shift.date.to_string())),
    Column::text("shift", "The shift's name.", |row| Some(row.shift.name.to_string())),
    Column::text("product", "Code of the product that was baked.", |row| Some(row.stretch.product.to_string())),
    Column::time("starts", "The first moment.", |row| Some(row.stretch.starts)),
    Column::time("ends", "The first moment after it.", |row| Some(row.stretch.ends)),
];

impl LakeCopy {
    /// Brings everything of a day there; `None` if a file was joined or dropped meanwhile.
    pub(super) async fn bring_day(&self, due: &Due, sent: &mut Sent) -> Result<Option<Vec<Object>>> {
        let mut objects = Vec::new();
        for file in &due.files {
            let Some(bytes) = block_in_place(|| self.store.read_sealed(file))? else { return Ok(None) };
            let name = file.path.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
            let new = NewObject {
                kind: Kind::Readings,
                folders: format!("line={}/date={}", file.line, file.date),
                name,
                ending: "parquet",
                bytes,
                line: Some(file.line.clone()),
                rows: Some(file.rows),
            };
            objects.push(self.bring(new, sent).await?);
        }
        for shift in &due.shifts {
            for line in (0..self.plant.lines.len()).map(LineIndex) {
                // One line at a time, so that a stop of the service need not wait for a hundred.
                for new in block_in_place(|| self.tables(line, shift))? {
                    objects.push(self.bring(new, sent).await?);
                }
            }
        }
        objects.sort_by(|one, other| one.path.cmp(&other.path));
        Ok(Some(objects))
    }

    /// The table of a shift and its stretches of baking; nothing if nothing was baked.
    fn tables(&self, line: LineIndex, shift: &ShiftInstance) -> Result<Vec<NewObject>> {
        let detection = &self.settings.detection;
        let baking = stored::shift_baking(&self.store, &self.normals, &self.plant, line, shift, detection)?;
        if baking.rows.is_empty() {
            return Ok(Vec::new());
        }
        let id = &self.plant.lines[line.0].id;
        let within = |stretch: &Stretch| -> Option<StretchOfShift> {
            let (starts, ends): (Timestamp, Timestamp) =
                (stretch.starts.max(shift.starts), stretch.ends.min(shift.ends));
            let stretch = Stretch { product: stretch.product.clone(), starts, ends };
            let (site, line, shift) = (self.plant.site.clone(), id.clone(), shift.clone());
            (starts < ends).then_some(StretchOfShift { site, line, shift, stretch })
        };
        let stretches: Vec<StretchOfShift> = baking.stretches.iter().filter_map(within).collect();
        let object = |kind, bytes, rows: usize| NewObject {
            kind,
            folders: format!("line={id}/date={}", shift.date),
            name: folder_name(&shift.name),
            ending: "parquet",
            bytes,
            line: Some(id.to_string()),
            rows: Some(rows as u64),
        };
        let mut table = Vec::new();
        shift_profile::write_parquet(&baking.rows, &mut table)?;
        let mut list = Vec::new();
        table::write_parquet(STRETCHES, &stretches, &mut list)?;
        Ok(vec![object(Kind::Shifts, table, baking.rows.len()), object(Kind::Stretches, list, stretches.len())])
    }
}
