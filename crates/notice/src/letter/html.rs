//! The mail as HTML: tables and inline styles alone, since that is what every mail program shows.

use std::fmt::Write;

use alert::Priority;
use alert::advice::CAUTION;
use reading::{Plant, Timestamp};

use super::picture::{self, ACT, INK, QUIET, RULE};
use crate::channel::Notice;
use crate::words;

/// Of a medium alert; never without its word.
const WATCH: &str = "#8a5800";

pub(super) fn of(notices: &[Notice], plant: &Plant, now: Timestamp) -> String {
    let mut body = String::new();
    match notices {
        [notice] => whole(&mut body, notice, plant, now),
        _ => {
            for notice in notices {
                brief(&mut body, notice, plant, now);
            }
            small(&mut body, CAUTION);
        }
    }
    small(&mut body, &super::foot(plant));
    format!(
        "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\">\
         <meta name=\"viewport\" content=\"width=device-width\"><meta name=\"color-scheme\" content=\"light\"></head>\n\
         <body style=\"margin:0;padding:16px;background:#f3f3f0;color:{INK};\
         font:16px/1.5 'Segoe UI',Helvetica,Arial,sans-serif\">\n\
         <table role=\"presentation\" width=\"100%\" cellpadding=\"0\" cellspacing=\"0\" style=\"max-width:600px;margin:0 auto\">\
         <tr><td style=\"padding:20px 24px;background:#ffffff;border:1px solid {RULE}\">\n{body}</td></tr></table>\n\
         </body></html>\n"
    )
}

// What is written goes to a String, which takes everything.

fn whole(body: &mut String, notice: &Notice, plant: &Plant, now: Timestamp) {
    let alert = &notice.alert;
    title(body, notice, plant, 20);
    paragraphs(body, notice, plant, now);
    body.push_str(&picture::of(&alert.zones));
    if alert.stands() && !alert.advice.is_empty() {
        body.push_str(
            "<p style=\"margin:20px 0 4px;font-weight:600\">What to try, first things first</p>\n\
             <ol style=\"margin:0 0 12px;padding-left:24px\">\n",
        );
        for advice in &alert.advice {
            let _ = writeln!(body, "<li style=\"margin:4px 0\">{}</li>", escaped(advice.text()));
        }
        body.push_str("</ol>\n");
    }
    small(body, &alert.caution);
    small(body, &super::particulars(notice, plant));
}

fn brief(body: &mut String, notice: &Notice, plant: &Plant, now: Timestamp) {
    title(body, notice, plant, 17);
    paragraphs(body, notice, plant, now);
    small(body, &super::particulars(notice, plant));
    let _ = writeln!(
        body,
        "<div style=\"border-top:1px solid {RULE};margin:16px 0;font-size:1px;line-height:1px\">&nbsp;</div>"
    );
}

/// Line and finding; in a colour only while a person must look.
fn title(body: &mut String, notice: &Notice, plant: &Plant, size: u8) {
    let alert = &notice.alert;
    let colour = match (alert.stands(), alert.priority) {
        (false, _) => INK,
        (true, Priority::High) => ACT,
        (true, Priority::Medium) => WATCH,
    };
    let subject = escaped(&words::subject(notice, plant));
    let _ = writeln!(
        body,
        "<h1 style=\"margin:0 0 8px;font-size:{size}px;line-height:1.3;font-weight:600;color:{colour}\">{subject}</h1>"
    );
}

fn paragraphs(body: &mut String, notice: &Notice, plant: &Plant, now: Timestamp) {
    let said =
        [super::late(notice, plant, now), Some(notice.alert.message.clone()), Some(words::standing(notice, plant))];
    for sentence in said.into_iter().flatten() {
        let _ = writeln!(body, "<p style=\"margin:0 0 8px\">{}</p>", escaped(&sentence));
    }
}

fn small(body: &mut String, text: &str) {
    let _ = writeln!(body, "<p style=\"margin:8px 0 0;font-size:13px;color:{QUIET}\">{}</p>", escaped(text));
}

/// Text that stands between tags: names come from the plant, and comments from people.
fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}
