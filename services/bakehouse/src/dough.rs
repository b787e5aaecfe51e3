//! The dough on the band: a material line that dries with the time it has spent in the oven.

use std::collections::VecDeque;

use crate::drying::DryingTable;

/// Slices this long keep the jump small when one passes from a zone into the next.
const SLICE_M: f64 = 0.1;

/// A short stretch of band with dough on it.
#[derive(Debug, Clone, Copy)]
struct Slice {
    /// What the band had travelled when this slice's front entered, m.
    entered_at_m: f64,
    kg: f64,
    product: usize,
    /// Time in the oven in nominal bakes of its product, counted faster where it is hotter.
    age: f64,
    /// Share of its bake loss already given off.
    dried: f64,
}

/// How a product dries on this band.
#[derive(Debug, Clone)]
pub(crate) struct Bake {
    pub(crate) table: DryingTable,
    pub(crate) bake_time_s: f64,
    pub(crate) bake_loss: f64,
}

/// What enters the oven.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Feed {
    pub(crate) product: usize,
    pub(crate) kg_per_m: f64,
}

/// Dough that has left the oven.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Baked {
    /// Mass of the dough as it entered, kg.
    pub dough_kg: f64,
    /// Water it lost in the oven, kg.
    pub lost_kg: f64,
}

/// All dough in the oven.
#[derive(Debug, Clone)]
pub(crate) struct DoughLine {
    /// How each product dries.
    bakes: Vec<Bake>,
    /// Where zones begin and end, m from the mouth.
    borders_m: Vec<f64>,
    travelled_m: f64,
    slices: VecDeque<Slice>,
    pub(crate) baked: Baked,
}

impl DoughLine {
    /// A band that has carried this dough at this speed (m/s) for longer than a bake.
    pub(crate) fn full(feed: Feed, bakes: Vec<Bake>, borders_m: Vec<f64>, speed: f64) -> Self {
        let bake = &bakes[feed.product];
        let length_m = borders_m[borders_m.len() - 1];
        let slices = (0..(length_m / SLICE_M) as usize).rev().map(|at| {
            let place_m = at as f64 * SLICE_M;
            let age = place_m / speed / bake.bake_time_s;
            Slice {
                entered_at_m: length_m - place_m,
                kg: feed.kg_per_m * SLICE_M,
                product: feed.product,
                age,
                dried: bake.table.dried(age),
            }
        });
        let slices = slices.collect();
        Self { bakes, borders_m, travelled_m: length_m, slices, baked: Baked::default() }
    }

    /// Moves the band on by one step and adds what evaporates in each zone to `evaporated_kg`.
    /// `pace` is how fast a product ages in a zone, 1 at its wanted temperature.
    pub(crate) fn step(
        &mut self,
        step_s: f64,
        moved_m: f64,
        feed: Option<Feed>,
        pace: impl Fn(usize, usize) -> f64,
        evaporated_kg: &mut [f64],
    ) {
        self.take_in(feed, moved_m);
        self.travelled_m += moved_m;
        let mut zone = self.borders_m.len() - 2;
        for slice in &mut self.slices {
            let place_m = self.travelled_m - slice.entered_at_m;
            while zone > 0 && place_m < self.borders_m[zone] {
                zone -= 1;
            }
            let bake = &self.bakes[slice.product];
            slice.age += step_s / bake.bake_time_s * pace(slice.product, zone);
            let dried = bake.table.dried(slice.age);
            evaporated_kg[zone] += slice.kg * bake.bake_loss * (dried - slice.dried);
            slice.dried = dried;
        }
        self.put_out();
    }

    fn take_in(&mut self, feed: Option<Feed>, moved_m: f64) {
        let Some(feed) = feed else { return };
        let kg = feed.kg_per_m * moved_m;
        match self.slices.back_mut() {
            Some(slice) if slice.product == feed.product && self.travelled_m - slice.entered_at_m < SLICE_M => {
                slice.kg += kg;
            }
            _ => self.slices.push_back(Slice {
                entered_at_m: self.travelled_m,
                kg,
                product: feed.product,
                age: 0.0,
                dried: 0.0,
            }),
        }
    }

    fn put_out(&mut self) {
        let length_m = self.borders_m[self.borders_m.len() - 1];
        while let Some(slice) = self.slices.front() {
            if self.travelled_m - slice.entered_at_m < length_m {
                return;
            }
            self.baked.dough_kg += slice.kg;
            self.baked.lost_kg += slice.kg * self.bakes[slice.product].bake_loss * slice.dried;
            self.slices.pop_front();
        }
    }
}
