//! What people have done about an alert.

use crate::html::Element;
use crate::page::alert::Alert;
use crate::page::clock::Clock;

/// Who has acknowledged an alert, and what people have to say about it.
pub(crate) fn part(alert: &Alert, clock: &Clock) -> Element {
    let acknowledged = match (&alert.acknowledged_by, &alert.acknowledged_at) {
        (Some(by), Some(at)) => Element::new("li")
            .child(Element::new("strong").text("Acknowledged"))
            .text(format_args!(" by {by} at "))
            .child(clock.element(at)),
        _ => Element::of("li", "unanswered", "Nobody has acknowledged it."),
    };
    let comments = alert.comments.iter().map(|comment| {
        Element::new("li").child(clock.element(&comment.at)).text(format_args!(" {}: {}", comment.by, comment.text))
    });
    Element::of("ul", "answer", "").child(acknowledged).children(comments)
}
