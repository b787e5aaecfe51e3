//! The oven and the product as the plant's config describes them.

use std::fmt;

use reading::{Firing, Line, Product};
use thiserror::Error;

use crate::bake::Bake;
use crate::oven::Oven;

/// Water in lean dough, % (common practice): it enters the heat of warming the dough, and little else.
const USUAL_DOUGH_MOISTURE_PCT: f64 = 43.0;

/// What the config does not say of a product and the balance cannot do without.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub struct MissingInputs {
    /// The product's code.
    pub product: String,
    /// The keys of `[[product]]`, with what to write.
    pub keys: Vec<&'static str>,
}

impl fmt::Display for MissingInputs {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "[[product]] {} has no {}: without it a water balance has no size",
            self.product,
            self.keys.join(" and no ")
        )
    }
}

/// The oven and the bake of a product on a line.
///
/// # Errors
/// The keys of the product that are missing.
pub fn inputs(line: &Line, product: &Product) -> Result<(Oven, Bake), MissingInputs> {
    let keys = [
        (product.dough_kg_per_m, "dough_kg_per_m (or piece_mass_g and pieces_per_m)"),
        (product.bake_loss_pct, "bake_loss_pct"),
        (product.bake_time_min, "bake_time_min"),
    ];
    let missing: Vec<&str> = keys.iter().filter(|(value, _)| value.is_none()).map(|(_, key)| *key).collect();
    let (Some(dough_kg_per_m), Some(bake_loss_pct), Some(bake_time_min)) =
        (product.dough_kg_per_m, product.bake_loss_pct, product.bake_time_min)
    else {
        return Err(MissingInputs { product: product.code.to_string(), keys: missing });
    };
    let zones_m = line.zones.iter().map(|zone| zone.length.0).collect();
    let oven = match line.firing {
        Firing::Direct => Oven::direct(zones_m),
        Firing::Indirect | Firing::Electric => Oven::indirect(zones_m),
    };
    let dough_moisture = product.dough_moisture_pct.unwrap_or(USUAL_DOUGH_MOISTURE_PCT) / 100.0;
    Ok((oven, Bake { dough_kg_per_m, bake_loss: bake_loss_pct / 100.0, bake_time_min, dough_moisture }))
}
