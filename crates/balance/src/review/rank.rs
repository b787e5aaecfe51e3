//! The order of remedies, and the reason for it.

use super::profile::Profile;
use super::remedy::Remedy;

/// Those that suffice before those that do not; among them by what an hour earns, or where prices are missing by output
/// and then by energy; what is equal keeps the order of practice, in which steam comes first and building last.
pub(super) fn ranked(mut remedies: Vec<Remedy>, usual: &Profile) -> Vec<Remedy> {
    remedies.sort_by(|one, other| {
        let gains = one.net_gain_per_year.zip(other.net_gain_per_year);
        let builds = |remedy: &Remedy| remedy.capital != Some(0.0);
        let by_gain = match gains {
            Some((one, other)) => other.total_cmp(&one),
            None => builds(one)
                .cmp(&builds(other))
                .then_with(|| tonnes(one).cmp(&tonnes(other)))
                .then_with(|| one.further_kwh_h.total_cmp(&other.further_kwh_h)),
        };
        other.suffices.cmp(&one.suffices).then(by_gain)
    });
    let first = remedies.first().cloned();
    for (place, remedy) in remedies.iter_mut().enumerate() {
        remedy.reason = reason(place, remedy, first.as_ref(), usual);
    }
    remedies
}

/// Lost output to 10 kg/h: less is no difference.
fn tonnes(remedy: &Remedy) -> i64 {
    (100.0 * remedy.lost_t_h).round() as i64
}

fn reason(place: usize, remedy: &Remedy, first: Option<&Remedy>, usual: &Profile) -> String {
    if !remedy.suffices {
        return format!(
            "alone it does not suffice: at its limit the chance of carryover is still {:.0} %",
            remedy.profile.carryover_chance_pct
        );
    }
    if place == 0 {
        let why = match remedy.net_gain_per_year {
            Some(_) => "of those that suffice it earns most in a year",
            None => {
                "of those that suffice it keeps the most output, and then takes the least energy; prices are not configured"
            }
        };
        return why.into();
    }
    let Some(first) = first.filter(|first| first.suffices) else { return String::new() };
    match remedy.net_gain_per_year.zip(first.net_gain_per_year) {
        Some((gain, best)) => format!("it suffices, and earns {:.0} less in a year than the first", best - gain),
        None if remedy.capital != Some(0.0) => "it suffices, and has to be built".into(),
        None if tonnes(remedy) > tonnes(first) => {
            format!("it suffices, for {:.2} t/h of output less than asked for", remedy.lost_t_h)
        }
        None => format!(
            "it suffices, at {:.0} kWh/t instead of {:.0} as usually run",
            remedy.profile.energy.bought_kwh_t, usual.energy.bought_kwh_t
        ),
    }
}
