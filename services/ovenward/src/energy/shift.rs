//! The sums of one shift of one line, from its readings.

use std::collections::BTreeMap;
use std::sync::Arc;

use anyhow::Result;
use balance::energy::{Known, Tally, record, tally};
use physics::units::{HumidityRatio, MetrePerMinute};
use reading::{LineIndex, Plant, ShiftInstance, Window};

use super::books::Books;
use crate::config::Settings;
use crate::stored::{LEAD, laid_on_windows};

/// What one shift of one line came to, product by product.
#[derive(Debug, Clone)]
pub(crate) struct ShiftTally {
    pub(crate) line: LineIndex,
    pub(crate) shift: ShiftInstance,
    pub(crate) products: BTreeMap<Option<Arc<str>>, Tally>,
}

impl ShiftTally {
    /// All products together.
    pub(crate) fn whole(&self) -> Tally {
        let mut whole = Tally::default();
        self.products.values().for_each(|tally| whole.merge(tally));
        whole
    }

    /// Good product of this code, t.
    pub(crate) fn tonnes(&self, product: &str, plant: &Plant, settings: &Settings) -> f64 {
        let of = |(code, tally): (&Option<Arc<str>>, &Tally)| {
            let is_it = code.as_deref() == Some(product);
            is_it.then(|| record(tally, plant, self.line, &settings.energy.settings).good_kg).flatten()
        };
        self.products.iter().find_map(of).unwrap_or(0.0) / 1000.0
    }
}

/// Reads a shift. The same readings give the same sums, whichever period was asked for: it always begins as far before
/// the shift as the oven's content goes back.
///
/// # Errors
/// The store cannot be read.
pub(crate) fn shift_tally(books: &Books<'_>, line: LineIndex, shift: &ShiftInstance) -> Result<ShiftTally> {
    let Books { store, plant, settings, normals, balances } = books;
    let readings = store.series(line, shift.starts - LEAD, shift.ends)?;
    let windows = laid_on_windows(plant, line, shift.starts, &settings.detection, [anyhow::Ok(&readings)])?;
    let humidity = |product: &Arc<str>, speed: MetrePerMinute| {
        let zones = normals.get(&(line, product.clone()))?.expect(speed).zones;
        Some(zones.iter().map(|zone| HumidityRatio(zone.ln_humidity.mean.exp())).collect())
    };
    let exhaust = |product: &Arc<str>, window: &Window| balances.get(&(line, product.clone()))?.exhaust_kg_h(window);
    let known = Known { humidity: &humidity, exhaust: &exhaust };
    let products = tally(plant, line, &windows, &readings.numbers, &settings.energy.settings, known);
    Ok(ShiftTally { line, shift: shift.clone(), products })
}
