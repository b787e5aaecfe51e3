//! Rate changes: reviewed and kept as the commands review and keep them.

use balance::{LOOKED_AT_AFTER, Role, Signature};
use reading::{Line, Product};
use serde_json::json;
use web::api::{
    Moment, Party, Person, Proposal, Rate, RateAnswers, RateChange, RateQuestion, RateReview, Refusal, RemedyKind,
};

use super::same::{same, same_and};
use super::{Api, conflict, failed, timestamp};
use crate::commands::rate;
use crate::failure::Failure;
use crate::rate_changes;

impl RateAnswers for Api {
    fn rate_review(&self, question: &RateQuestion) -> Result<RateReview, Refusal> {
        let (.., review) = self.reviewed(question)?;
        let currency = self.settings.costs.as_ref().map(|costs| &costs.currency);
        same_and(&review, [("currency", json!(currency))])
    }

    fn rate_sheet(&self, question: &RateQuestion) -> Result<String, Refusal> {
        let (line, product, review) = self.reviewed(question)?;
        rate::sheet(&self.settings, line, product, &review).map_err(failed)
    }

    fn rate_changes(&self, line: Option<&str>) -> Result<Vec<RateChange>, Refusal> {
        if let Some(line) = line {
            self.line(line)?;
        }
        let changes = rate_changes::all(&self.store).map_err(failed)?.into_iter().rev();
        changes.filter(|change| line.is_none_or(|line| line == change.line)).map(|change| told(&change)).collect()
    }

    fn rate_change(&self, id: &str) -> Result<RateChange, Refusal> {
        let found = rate_changes::all(&self.store).map_err(failed)?.into_iter().find(|change| change.id == id);
        let found = found.ok_or_else(|| {
            Refusal::NotFound(format!("There is no rate change {id}. /api/v1/rate-changes lists them."))
        })?;
        told(&found)
    }

    fn propose_rate_change(&self, person: &Person, proposal: &Proposal) -> Result<RateChange, Refusal> {
        let (line, product, review) = self.reviewed(&proposal.question)?;
        let remedy = proposal.remedy.map(|kind: RemedyKind| same(&kind)).transpose()?;
        let signed = Signature { by: person.0.clone(), at: self.clock.now() };
        let proposed = rate::proposed(&self.store, &review, line, product, remedy, &proposal.reason, signed);
        told(&proposed.map_err(conflict)?)
    }

    fn agree_to_rate_change(&self, person: &Person, id: &str, role: Party) -> Result<RateChange, Refusal> {
        self.rate_change(id)?;
        let role: Role = same(&role)?;
        let now = self.clock.now();
        told(&rate_changes::changed(&self.store, id, |change| change.agree(role, &person.0, now)).map_err(conflict)?)
    }

    fn make_rate_change(&self, person: &Person, id: &str, at: Option<Moment>) -> Result<RateChange, Refusal> {
        self.rate_change(id)?;
        let now = self.clock.now();
        let at = at.map_or(now, timestamp);
        if at > now {
            let detail =
                format!("{at} has not come yet. Write a time that is over in \"at\", or leave it out for now.");
            return Err(Refusal::Wrong(detail));
        }
        told(&rate_changes::changed(&self.store, id, |change| change.make(&person.0, at)).map_err(conflict)?)
    }

    fn look_at_rate_change(&self, person: &Person, id: &str) -> Result<RateChange, Refusal> {
        self.rate_change(id)?;
        let looked = rate::looked_at(&self.settings, &self.store, id, &person.0, self.clock.now());
        told(&looked.map_err(without_data)?)
    }
}

impl Api {
    /// The review that is asked for, with the line and the product that it is about.
    fn reviewed(&self, question: &RateQuestion) -> Result<(&Line, &Product, balance::review::Review), Refusal> {
        let (_, line) = self.line(&question.line)?;
        let product = self.plant.product(&question.product).ok_or_else(|| {
            let known: Vec<&str> = self.plant.products.iter().map(|product| &*product.code).collect();
            Refusal::NotFound(format!("There is no product {:?}. Write one of {}.", question.product, known.join(", ")))
        })?;
        let speed = match question.asked {
            Rate::Speed(speed) => speed,
            Rate::BakeTime(minutes) => line.speed_for_bake_time(minutes).0,
        };
        let review = rate::reviewed(&self.settings, line, product, speed).map_err(|failure| match failure {
            Failure::NoData(why) => Refusal::Conflict(why),
            failure => super::refusal(failure),
        })?;
        Ok((line, product, review))
    }
}

/// A record with how far it has come.
fn told(change: &balance::RateChange) -> Result<RateChange, Refusal> {
    let look_from = change.made.as_ref().map(|made| made.at + LOOKED_AT_AFTER);
    same_and(
        change,
        [("state", json!(change.state())), ("not_agreed", json!(change.not_agreed())), ("look_from", json!(look_from))],
    )
}

/// The record is there: data that are not are in the way of a step.
fn without_data(failure: Failure) -> Refusal {
    match failure {
        Failure::NoData(why) => Refusal::Conflict(why),
        failure => conflict(failure),
    }
}
