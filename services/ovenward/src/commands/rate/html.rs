//! The review as one sheet of HTML that needs nothing else, to look at, print and sign.

use std::io::{self, Write};

use balance::review::Remedy;

use super::{Sheet, picture, text};

const STYLE: &str = include_str!("sheet.css");

pub(super) fn write(sheet: &Sheet<'_>, out: &mut dyn Write) -> io::Result<()> {
    let review = sheet.review;
    let title = format!("Rate change {} {}", sheet.line.name, sheet.product.name);
    writeln!(
        out,
        "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><meta name=\"viewport\" \
         content=\"width=device-width\"><title>{0}</title><style>{STYLE}</style></head><body><main>\n<h1>{0}</h1>",
        escaped(&title)
    )?;
    writeln!(
        out,
        "<p class=\"asked\"><b>{:.2} m/min</b>, bake time {:.1} min: {:+.1} % against the usual {:.2} m/min</p>",
        review.speed_m_min,
        review.bake_time_min,
        sheet.faster_pct(),
        review.usual_speed_m_min
    )?;
    verdict(sheet, out)?;
    writeln!(out, "<section><h2>What the zones hold</h2>{}", picture::profiles(review))?;
    paragraphs(&text::where_from(review), "small", out)?;
    writeln!(out, "</section><section><h2>Highest speed carried</h2>")?;
    paragraphs(&text::carried(review), "", out)?;
    writeln!(out, "</section><section><h2>What can be done, best first</h2>")?;
    for (place, one) in review.remedies.iter().enumerate() {
        remedy(place + 1, one, sheet, out)?;
    }
    writeln!(out, "</section>")?;
    for (heading, told) in [("The history cannot tell", &review.untold), ("Not configured", &review.not_configured)] {
        if !told.is_empty() {
            writeln!(out, "<section><h2>{heading}</h2><ul class=\"small\">")?;
            told.iter().try_for_each(|line| writeln!(out, "<li>{}</li>", escaped(line)))?;
            writeln!(out, "</ul></section>")?;
        }
    }
    writeln!(out, "<section><h2>Agreed</h2><table class=\"sign\"><tr><th></th><th>name</th><th>time</th></tr>")?;
    for role in ["production", "process", "maintenance"] {
        writeln!(out, "<tr><th>{role}</th><td></td><td></td></tr>")?;
    }
    writeln!(out, "</table></section><p class=\"small\">{}</p></main></body></html>", escaped(review.caution))
}

/// What a person has to see first: colour only where somebody has to act, and never colour alone.
fn verdict(sheet: &Sheet<'_>, out: &mut dyn Write) -> io::Result<()> {
    let review = sheet.review;
    let chance = review.untouched.carryover_chance_pct;
    let carries = chance <= review.carried.accepted_chance_pct;
    let (class, said) = match carries {
        true => ("fine", "The oven carries this speed with nothing touched but the band."),
        false => ("act", "! Moisture is likely to be carried past zone 2 if nothing is touched but the band."),
    };
    writeln!(
        out,
        "<p class=\"verdict {class}\">{said} Chance of carryover {}{}.</p>",
        text::chance(chance),
        if review.outside_history_pct > 0.05 { "; extrapolated" } else { "" }
    )
}

fn remedy(place: usize, remedy: &Remedy, sheet: &Sheet<'_>, out: &mut dyn Write) -> io::Result<()> {
    let mark = if remedy.suffices { "suffices" } else { "does not suffice alone" };
    let class = if remedy.suffices { "remedy" } else { "remedy short" };
    writeln!(out, "<article class=\"{class}\"><h3>{place}. {} <small>{mark}</small></h3>", remedy.kind.name())?;
    writeln!(out, "{}<dl>", picture::bars(&remedy.profile, sheet.review))?;
    for (term, told) in [
        ("set", text::settings(&remedy.settings)),
        ("alone", text::alone(remedy).join("; or ")),
        ("holds", text::holds(&remedy.profile)),
        ("takes", text::takes(remedy)),
        ("money", text::money(remedy, sheet.currency())),
        ("why", remedy.reason.clone()),
        ("mind", remedy.caution.to_owned()),
    ]
    .iter()
    .filter(|(_, told)| !told.is_empty())
    {
        writeln!(out, "<dt>{term}</dt><dd>{}</dd>", escaped(told))?;
    }
    writeln!(out, "</dl></article>")
}

fn paragraphs(told: &[String], class: &str, out: &mut dyn Write) -> io::Result<()> {
    told.iter().try_for_each(|line| writeln!(out, "<p class=\"{class}\">{}</p>", escaped(line.trim())))
}

pub(super) fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}
