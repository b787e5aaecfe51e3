//! A rate change reviewed by a learned balance.

use balance::Balance;
use balance::review::{ALLOWED_CHANCE, NOT_CONFIGURED, Prices, Question, Remedy, RemedyKind, Review, review};

use crate::history::{history, learn, many_speeds};

fn priced() -> Prices {
    Prices {
        currency: Some("GBP".into()),
        gas_per_kwh: Some(0.045),
        electricity_per_kwh: Some(0.19),
        margin_per_tonne: Some(140.0),
        hours_per_year: Some(1_200.0),
        zone_per_m: Some(30_000.0),
        capital_years: Some(10.0),
        electric_oven: false,
        burner_efficiency: 1.0,
    }
}

fn learned() -> Balance {
    learn(&history(&many_speeds())).unwrap()
}

/// At so many times the usual speed.
fn asked(balance: &Balance, faster: f64, prices: &Prices, zone3_limit_pct: Option<f64>) -> Review {
    review(&Question {
        balance,
        normal: None,
        speed_m_min: faster * balance.record().usual.speed_m_min,
        zone3_limit_pct,
        steam_section_m: Some(1.2),
        prices,
    })
}

#[test]
fn a_faster_band_is_likely_to_carry_moisture_and_each_remedy_says_what_it_does_about_it() {
    let balance = learned();
    let review = asked(&balance, 1.3, &priced(), None);
    assert!(review.outside_history_pct > 5.0);
    assert!(review.usual.carryover_chance_pct < 100.0 * ALLOWED_CHANCE, "{}", review.usual.carryover_chance_pct);
    assert!(review.untouched.carryover_chance_pct > 50.0, "{}", review.untouched.carryover_chance_pct);
    let (untouched, open) = (review.carried.untouched_m_min.unwrap(), review.carried.exhaust_open_m_min.unwrap());
    assert!(untouched > review.usual_speed_m_min && untouched < review.speed_m_min, "{untouched}");
    assert!(open > untouched, "{open} for {untouched}");
    assert_eq!(review.remedies.len(), 5);
    for remedy in &review.remedies {
        let chance = remedy.profile.carryover_chance_pct;
        assert_eq!(remedy.suffices, chance <= 100.0 * ALLOWED_CHANCE + 0.05, "{remedy:?}");
        assert!(chance <= review.untouched.carryover_chance_pct + 1e-9, "{:?} makes it worse", remedy.kind);
        assert!(!remedy.reason.is_empty() && !remedy.settings.is_empty(), "{remedy:?}");
    }
    let of = |kind| review.remedies.iter().find(|remedy| remedy.kind == kind).unwrap();
    let slow = of(RemedyKind::SlowBand);
    assert!(slow.suffices && slow.lost_t_h > 0.0 && slow.lost_margin_per_h.unwrap() > 0.0);
    // It is slowed no more than it must be.
    assert!((slow.settings[0].to / untouched - 1.0).abs() < 1e-3, "{} for {untouched}", slow.settings[0].to);
    assert!(of(RemedyKind::ShortenSteam).further_kwh_h < 0.0, "steam is not made and not heated");
    let open = of(RemedyKind::OpenExhaust);
    assert!(open.suffices && open.further_kwh_h > 0.0 && open.lost_t_h.abs() < 1e-9, "{open:?}");
    assert!(
        open.settings.iter().all(|setting| setting.to > setting.from && setting.to <= 95.0 && setting.zone > Some(1))
    );
    opened_alone(&review, open);
    let hotter = of(RemedyKind::RaiseTemperature);
    let (loss, before) = (hotter.profile.bake_loss_pct, review.untouched.bake_loss_pct);
    assert!(loss > before && before < 10.5, "{loss} % for {before} %: a faster band dries less, a hotter one more");
    let dough_t_h = 13.0 * review.speed_m_min * 60.0 / 1000.0;
    assert!((hotter.lost_t_h - dough_t_h * (loss - before) / 100.0).abs() < 1e-9, "{hotter:?}");
    assert_eq!(hotter.lost_margin_per_h, Some(140.0 * hotter.lost_t_h), "what evaporates is not sold");
    let built = of(RemedyKind::AddZone);
    assert!(built.capital.unwrap() > 0.0);
    assert_eq!(built.capital_per_year.unwrap() * 10.0, built.capital.unwrap());
}

/// One zone alone is opened further than all together, and moves none but itself and, less, its neighbours.
fn opened_alone(review: &Review, together: &Remedy) {
    assert_eq!(together.zones_alone.len(), 2, "every zone but the first, which is to stay wet");
    for alone in &together.zones_alone {
        let zone = alone.setting.zone.unwrap();
        let joint = together.settings.iter().find(|setting| setting.zone == Some(zone)).unwrap();
        assert!(alone.setting.to > joint.to && alone.setting.to <= 95.0 + 1e-9, "{alone:?} for {joint:?}");
        assert_eq!(alone.suffices, alone.carryover_chance_pct <= 100.0 * ALLOWED_CHANCE + 0.05);
        assert!(alone.further_kwh_h > 0.0);
        let drier = |index: usize| 1.0 - alone.moisture_pct[index] / review.untouched.zones[index].moisture_pct;
        let others = (0..3).filter(|index| index + 1 != zone).map(drier).fold(0.0, f64::max);
        assert!(drier(zone - 1) > others && others > 0.0, "zone {zone}: {} {others}", drier(zone - 1));
    }
}

#[test]
fn those_that_suffice_come_first_and_among_them_what_earns_most() {
    let balance = learned();
    let review = asked(&balance, 1.3, &priced(), None);
    let order: Vec<(bool, f64)> =
        review.remedies.iter().map(|remedy| (remedy.suffices, remedy.net_gain_per_year.unwrap())).collect();
    assert!(
        order.windows(2).all(|pair| (pair[0].0 && !pair[1].0) || (pair[0].0 == pair[1].0 && pair[0].1 >= pair[1].1)),
        "{order:?}"
    );
    assert!(review.not_configured.is_empty());
}

#[test]
fn a_price_that_is_not_configured_is_said_and_not_invented() {
    let balance = learned();
    let review = asked(&balance, 1.3, &Prices { burner_efficiency: 1.0, ..Prices::default() }, None);
    assert!(
        review.remedies.iter().all(|remedy| remedy.net_gain_per_year.is_none() && remedy.lost_margin_per_h.is_none())
    );
    for key in ["gas_per_kwh", "margin_per_tonne", "hours_per_year", "zone_per_m", "capital_years"] {
        let told = review.not_configured.iter().find(|told| told.contains(key));
        assert!(told.is_some_and(|told| told.contains(NOT_CONFIGURED)), "{key}: {:?}", review.not_configured);
    }
    // Energy needs no price: opening the exhaust, which keeps the output, comes before slowing the band.
    let place = |kind| review.remedies.iter().position(|remedy| remedy.kind == kind);
    assert!(place(RemedyKind::OpenExhaust) < place(RemedyKind::SlowBand));
}

#[test]
fn the_hard_limit_of_zone_3_is_never_exceeded_by_what_is_normal() {
    let balance = learned();
    let usual = asked(&balance, 1.0, &priced(), None);
    let limit = usual.usual.zones[2].moisture_pct - 0.5;
    let limited = asked(&balance, 1.0, &priced(), Some(limit));
    assert_eq!(limited.ceilings[0].moisture_pct, limit);
    assert!(limited.usual.carryover_chance_pct > 50.0);
    assert_eq!(limited.carried.untouched_m_min, None, "not even the usual speed is carried");
    // Nothing has to be slowed or built where nobody asks for more than usual.
    assert!(limited.remedies.iter().all(|remedy| !matches!(remedy.kind, RemedyKind::SlowBand | RemedyKind::AddZone)));
}

#[test]
fn the_same_question_gives_the_same_bytes() {
    let written = |balance: &Balance| serde_json::to_string(&asked(balance, 1.2, &priced(), Some(14.0))).unwrap();
    let balance = learned();
    assert_eq!(written(&balance), written(&Balance::from_json(&balance.to_json()).unwrap()));
}
