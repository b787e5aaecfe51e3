//! `[[product]]`: what is baked, and what the trade knows of it before anything is learned.

use reading::{Product, Shape};

use super::key::{Choice, Key, Number};
use super::section::Section;

const CODE: Key = Key::required("code", "\"T800\"");
const NAME: Key = Key::optional("name", "\"Tin loaf 800 g\"");
const DOUGH: Number = Number::optional("dough_kg_per_m", "13.0").within(0.1, 200.0, "kg of dough per m of band");
const PIECE_MASS: Number = Number::optional("piece_mass_g", "890").within(1.0, 10_000.0, "g of dough");
const PIECES: Number = Number::optional("pieces_per_m", "14.6").within(0.1, 5000.0, "pieces per m of band");
const BAKE_LOSS: Number = Number::optional("bake_loss_pct", "10.5").within(0.0, 40.0, "% of dough mass");
const DOUGH_MOISTURE: Number = Number::optional("dough_moisture_pct", "42").within(5.0, 70.0, "% of dough mass");
const BAKE_TIME: Number = Number::optional("bake_time_min", "24").within(0.5, 240.0, "min");
const ZONE_3_LIMIT: Number = Number::optional("max_zone3_moisture_pct", "12").within(0.5, 95.0, "% vol");
const SHAPE: Choice<Shape> = Choice {
    key: Key::optional("shape", "\"steamed\""),
    words: &[("steamed", Shape::Steamed), ("mid-peak", Shape::MidPeak), ("learned", Shape::Learned)],
};

pub(super) fn read_all(sections: &[Section<'_>]) -> Vec<Product> {
    let mut products: Vec<Product> = Vec::new();
    for section in sections {
        let Some(product) = read(section) else { continue };
        if products.iter().any(|other| other.code == product.code) {
            let message = format!("there are two products {:?}", product.code);
            section.faults().add(section.at_key(CODE.name), message, "another code, as the plant sends it");
        }
        products.push(product);
    }
    products
}

fn read(section: &Section<'_>) -> Option<Product> {
    let code = section.text(&CODE).map(|code| code.into_inner());
    let name = section.text(&NAME).map(|name| name.into_inner());
    let dough_kg_per_m = read_dough(section);
    let bake_loss_pct = section.number(&BAKE_LOSS);
    let dough_moisture_pct = section.number(&DOUGH_MOISTURE);
    let bake_time_min = section.number(&BAKE_TIME);
    let max_zone3_moisture_pct = section.number(&ZONE_3_LIMIT);
    let shape = section.choice(&SHAPE).map_or(Shape::Learned, |shape| shape.into_inner());
    section.finish();
    if let (Some(loss), Some(water)) = (bake_loss_pct, dough_moisture_pct)
        && loss >= water
    {
        let message = format!("bake_loss_pct = {loss} is more water than the dough has ({water} %)");
        section.faults().add(section.at_key(BAKE_LOSS.key.name), message, BAKE_LOSS.advice());
    }
    let code = code?;
    Some(Product {
        name: name.unwrap_or_else(|| code.clone()),
        code: code.into(),
        dough_kg_per_m,
        bake_loss_pct,
        dough_moisture_pct,
        bake_time_min,
        max_zone3_moisture_pct,
        shape,
    })
}

/// Dough per metre of band: stated, or from the pieces.
fn read_dough(section: &Section<'_>) -> Option<f64> {
    let has = |number: &Number| section.value(number.key.name).is_some();
    let (dough, mass, pieces) = (section.number(&DOUGH), section.number(&PIECE_MASS), section.number(&PIECES));
    if has(&DOUGH) && (has(&PIECE_MASS) || has(&PIECES)) {
        let message = "dough_kg_per_m and the pieces both say how much dough lies on the band";
        let advice = "either dough_kg_per_m, or piece_mass_g and pieces_per_m";
        section.faults().add(section.at_key(DOUGH.key.name), message, advice);
    }
    match (has(&PIECE_MASS), has(&PIECES)) {
        (true, false) => section.faults().add(
            section.at_key(PIECE_MASS.key.name),
            "piece_mass_g says nothing without pieces_per_m",
            PIECES.advice(),
        ),
        (false, true) => section.faults().add(
            section.at_key(PIECES.key.name),
            "pieces_per_m says nothing without piece_mass_g",
            PIECE_MASS.advice(),
        ),
        _ => {}
    }
    dough.or_else(|| Some(mass? / 1000.0 * pieces?))
}
