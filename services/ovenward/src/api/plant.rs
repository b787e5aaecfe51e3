//! The plant as the config describes it, and what its signals say.

use reading::{Firing, Quality, Reading, Value};
use web::api::{Line, Lines, Product, Signal, Zone};

use super::Api;

impl Api {
    pub(super) fn describe_lines(&self) -> Lines {
        let plant = &self.plant;
        let line = |line: &reading::Line| Line {
            id: line.id.to_string(),
            name: line.name.clone(),
            firing: match line.firing {
                Firing::Direct => "direct",
                Firing::Indirect => "indirect",
                Firing::Electric => "electric",
            }
            .into(),
            length_m: line.length().0,
            zones: (1..).zip(&line.zones).map(|(zone, it)| Zone { zone, length_m: it.length.0 }).collect(),
        };
        let product = |product: &reading::Product| Product {
            code: product.code.to_string(),
            name: product.name.clone(),
            bake_time_min: product.bake_time_min,
            max_zone3_moisture_pct: product.max_zone3_moisture_pct,
        };
        Lines {
            site: plant.site.to_string(),
            name: plant.name.clone(),
            time_zone: plant.shifts.time_zone().name().into(),
            shifts: plant.shifts.names().map(ToString::to_string).collect(),
            items: plant.lines.iter().map(line).collect(),
            products: plant.products.iter().map(product).collect(),
        }
    }

    pub(super) fn describe_signals(&self) -> Vec<Signal> {
        self.recent.signals().into_iter().map(|(id, last)| self.signal(self.plant.signals.get(id), last)).collect()
    }

    fn signal(&self, signal: &reading::Signal, last: Option<Reading>) -> Signal {
        let age = last.as_ref().map(|last| (self.clock.now() - last.time).as_seconds().max(0.0));
        let without_end = signal.max_age.0 == i64::MAX;
        let max_age_s = (!without_end).then(|| signal.max_age.as_seconds());
        let (value, text) = match last.as_ref().map(|last| &last.value) {
            Some(Value::Number(raw)) => (Some(raw * signal.scale + signal.offset), None),
            Some(Value::Text(text)) => (None, Some(text.to_string())),
            None => (None, None),
        };
        Signal {
            tag: signal.tag.to_string(),
            topic: signal.topic.clone(),
            quantity: signal.quantity.name().into(),
            unit: signal.unit.name.into(),
            line: self.plant.lines[signal.line.0].id.to_string(),
            zone: signal.zone,
            value,
            text,
            time: last.as_ref().map(|last| last.time.to_string()),
            age_s: age,
            quality: last.as_ref().map(|last| quality(last.quality).into()),
            max_age_s,
            state: match age {
                None => "unheard",
                Some(age) if max_age_s.is_some_and(|most| age > most) => "old",
                Some(_) => "fresh",
            }
            .into(),
        }
    }
}

fn quality(quality: Quality) -> &'static str {
    match quality {
        Quality::Good => "good",
        Quality::Uncertain => "uncertain",
        Quality::Bad => "bad",
    }
}
